"""``geneticlog serve``: the pages, on this machine or for the phones on the boat's hotspot."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from geneticlog.errors import GeneticlogError
from geneticlog.faces.app.desk import Desk, ShowCommand, say_table
from geneticlog.rules.sentences import n_of
from geneticlog.settings import local_time

if TYPE_CHECKING:
    from socket import socket

    from geneticlog.faces.pages.house import House

PORT = 8765


@click.command(cls=ShowCommand)
@click.option("--lan", is_flag=True, help="Serve the phones of this network too; each has to be paired.")
@click.option("--port", type=click.IntRange(1, 65535), default=PORT, show_default=True)
@click.option("--name", "names", multiple=True, help="Another host name for this machine, as behind a proxy.")
@click.option("--behind-proxy", is_flag=True, help="Behind a proxy: every device has to be paired.")
@click.option("--read-only", is_flag=True, help="Nothing can be stored through these pages.")
@click.option("--certificate", type=click.Path(path_type=Path), help="For https: certificate file (PEM).")
@click.option("--key", type=click.Path(path_type=Path), help="For https: its private key (PEM).")
@click.option("--devices", is_flag=True, help="List the paired devices and exit.")
@click.option("--revoke", metavar="DEVICE", help="End the sessions of a device and exit.")
@click.pass_obj
def serve(
    desk: Desk,
    /,
    lan: bool,
    port: int,
    names: tuple[str, ...],
    behind_proxy: bool,
    read_only: bool,
    certificate: Path | None,
    key: Path | None,
    devices: bool,
    revoke: str | None,
) -> None:
    """Serve the pages: for the boat's phones and the office's desk.

    Without --lan only this machine is answered (127.0.0.1), and needs no pairing. With --lan a symbol is shown to scan
    with a phone; it works once, for 10 minutes. More symbols: the page Devices.

    \b
    geneticlog serve
    geneticlog serve --lan
    geneticlog serve --behind-proxy --name bass.office.example
    """
    if devices or revoke:
        _devices(desk, revoke)
        return
    _refuse_unreadable(certificate, key)
    try:
        import uvicorn

        from geneticlog.faces.pages.house import House
        from geneticlog.faces.pages.server import pages
    except ImportError as fault:
        raise GeneticlogError(
            f"the pages need more packages ({fault.name}); install them with: pip install 'geneticlog[serve]'"
        ) from fault
    scheme = "https" if certificate or behind_proxy else "http"
    there = addresses_of_this_machine() if lan else []
    hosts, bases = _named(scheme, there, names, port, behind_proxy)
    house = House(
        desk.engine,
        None if behind_proxy else desk.by,
        read_only=read_only,
        secure=scheme == "https",
        addresses=bases,
        behind_proxy=behind_proxy,
    )
    line = _line("0.0.0.0" if lan else "127.0.0.1", port)
    _say_where(desk, house, scheme, port)
    config = uvicorn.Config(
        pages(house, hosts), ssl_certfile=certificate, ssl_keyfile=key, log_level="warning", access_log=False,
        server_header=False, proxy_headers=False, timeout_keep_alive=15, limit_concurrency=200,
    )  # fmt: skip
    uvicorn.Server(config).run(sockets=[line])


def _refuse_unreadable(certificate: Path | None, key: Path | None) -> None:
    import ssl

    if (certificate is None) != (key is None):
        raise click.UsageError("--certificate and --key go together")
    if certificate is None or key is None:
        return
    for file in (certificate, key):
        if not file.is_file():
            raise GeneticlogError(f"there is no file {file}; name the PEM file")
    try:
        ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER).load_cert_chain(certificate, key, password="")
    except (ssl.SSLError, OSError, ValueError) as fault:
        raise GeneticlogError(
            f"{certificate} and {key} are not a certificate with its key; give both as PEM, the key without a password"
        ) from fault


def _named(
    scheme: str, addresses: list[str], names: tuple[str, ...], port: int, behind_proxy: bool
) -> tuple[list[str], tuple[str, ...]]:
    """Return the hosts under which the pages are served, and the addresses that a symbol for pairing may hold."""
    here = ["127.0.0.1", "localhost", "[::1]"]
    hosts = [*(f"{host}:{port}" for host in (*here, *addresses, *names)), *names]
    bases = [f"{scheme}://{host}:{port}" for host in addresses]
    bases += [f"{scheme}://{name}" if behind_proxy else f"{scheme}://{name}:{port}" for name in names]
    return hosts, tuple(bases)


def _line(host: str, port: int) -> socket:
    """Return the socket to listen on. Raises GeneticlogError where the port is taken."""
    from socket import create_server

    try:
        return create_server((host, port))
    except OSError as fault:
        raise GeneticlogError(
            f"port {port} is taken on this machine, perhaps by geneticlog serve itself; choose another with --port"
        ) from fault


def _say_where(desk: Desk, house: House, scheme: str, port: int) -> None:
    """Say where the pages are, and show the symbol that pairs the first phone."""
    from geneticlog.faces.pages.pairing_pages import first_pairing

    if house.behind_proxy:
        click.echo(f"The proxy's side: http://127.0.0.1:{port}/. Stop with Ctrl-C.")
    else:
        click.echo(f"Open {scheme}://127.0.0.1:{port}/ on this machine. Stop with Ctrl-C.")
    if house.addresses:
        address, symbol = first_pairing(house, desk.by)
        click.echo("Scan this with a phone; it works once, for 10 minutes:")
        click.echo(symbol)
        click.echo(address)
        if len(house.addresses) > 1:
            click.echo(f"This machine is on other networks too: {', '.join(house.addresses[1:])}")


def addresses_of_this_machine() -> list[str]:
    """Return the addresses under which other devices of the network reach this machine."""
    import contextlib
    import socket

    addresses = []
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asked:
        try:
            asked.connect(
                ("192.0.2.1", 9)
            )  # a documentation address (RFC 5737): nothing is sent, a route is chosen
            addresses.append(str(asked.getsockname()[0]))
        except OSError:  # no route at all
            pass
    with contextlib.suppress(OSError):
        addresses += [
            str(one[4][0]) for one in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)
        ]
    return [one for one in dict.fromkeys(addresses) if not one.startswith("127.")]


def _devices(desk: Desk, revoke: str | None) -> None:
    from geneticlog.work.devices.devices import list_devices
    from geneticlog.work.devices.devices import revoke as end

    if revoke:
        with desk.writing() as session:
            n = end(session, revoke, stamp=desk.stamp())
        desk.show(
            {"device": revoke, "revoked": n},
            lambda: click.echo(f"{revoke}: {n_of(n, 'session')} ended."),
        )
        return
    now = desk.now()
    with desk.reading() as session:
        listed: list[dict[str, Any]] = [
            {
                "device": device.name,
                "person": device.person,
                "writes": device.writes,
                "paired_at": device.paired_at,
                "used_at": device.used_at,
                "in_use": device.revoked_at is None and device.ends_at > now,
            }
            for device in list_devices(session)
        ]

    def say() -> None:
        if not listed:
            click.echo("No device was paired yet.")
            return
        rows = [
            [
                device["device"],
                device["person"],
                "log" if device["writes"] else "look",
                local_time(device["used_at"]),
                "in use" if device["in_use"] else "over",
            ]
            for device in listed
        ]
        say_table(["device", "person", "may", "last used", "state"], rows)

    desk.show({"devices": listed}, say)
