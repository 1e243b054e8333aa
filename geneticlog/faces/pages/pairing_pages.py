"""Pairing: the laptop shows a symbol, a phone scans it, a person gives a name; the phone is then known for a shift."""

from __future__ import annotations

from collections.abc import Awaitable, Callable

from anyio import to_thread
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from geneticlog.errors import Refused, StoreUnready
from geneticlog.faces.pages.house import House, Visit, caller, give_session, page, said
from geneticlog.rules.stamp import Stamp
from geneticlog.work.devices.devices import list_devices, may_try, offer_pairing, pair, revoke


def offered(visit: Visit) -> Response:
    """Show a fresh one-time code as symbol and address; for somebody who may write."""
    from geneticlog.faces.pages.symbol import symbol_data_url

    house, request = visit.house, visit.request
    writes = visit.field("access") != "look"
    token = house.write(
        lambda session: offer_pairing(session, writes=writes, stamp=Stamp(house.now(), visit.who.by))
    )
    bases = house.addresses or (f"{request.url.scheme}://{request.headers['host']}",)
    addresses = [f"{base}/pair?code={token}" for base in bases]
    return visit.page(
        "pairing.html", title="Pair a device", symbol=symbol_data_url(addresses[0]), addresses=addresses, writes=writes
    )  # fmt: skip


def devices(visit: Visit) -> Response:
    """List the devices, with a button to revoke each."""
    now = visit.house.now()
    devices = visit.house.look(
        lambda session: [
            (
                device.name,
                device.person,
                device.writes,
                device.paired_at,
                device.used_at,
                device.revoked_at is None and device.ends_at > now,
            )
            for device in list_devices(session)
        ]
    )
    return visit.page("devices.html", title="Devices", devices=devices)


def revoked(visit: Visit) -> Response:
    """End the sessions of a device."""
    name = visit.field("device")
    visit.house.write(lambda session: revoke(session, name, stamp=visit.stamp))
    return RedirectResponse("/devices", 303)


def asked(house: House) -> Callable[[Request], Awaitable[Response]]:
    """Return the handler of the page a phone opens by scanning the symbol."""

    async def answer(request: Request) -> Response:
        return page(
            "pair.html",
            who=None,
            title="Pair this device",
            code=request.query_params.get("code", ""),
            fault="",
        )

    return answer


def taken(house: House) -> Callable[[Request], Awaitable[Response]]:
    """Return the handler that uses the one-time code; tries are counted by address, over all processes."""

    async def answer(request: Request) -> Response:
        form = await request.form(max_files=0, max_fields=5)
        code, person, device = (str(form.get(name, "")) for name in ("code", "person", "device"))
        address = caller(house, request)
        try:
            if not await to_thread.run_sync(
                house.write,
                lambda session: may_try(session, address, now=house.now()),
                limiter=house.threads,
            ):
                return said(request, 429, "Too many tries; wait a minute and scan a new code.")
            secret, _ = await to_thread.run_sync(
                house.write,
                lambda session: pair(session, code, device=device, person=person, now=house.now()),
                limiter=house.threads,
            )
        except StoreUnready as fault:
            return said(request, 503, str(fault))
        except Refused as fault:
            return page(
                "pair.html", who=None, http_status=409, title="Pair this device", code=code, fault=str(fault)
            )
        welcome = RedirectResponse("/", 303)
        give_session(welcome, secret, house)
        return welcome

    return answer


def first_pairing(house: House, by: str) -> tuple[str, str]:
    """Return the address of a fresh one-time code for a device that logs, and its symbol for a terminal."""
    from geneticlog.faces.pages.symbol import symbol_for_terminal

    token = house.write(lambda session: offer_pairing(session, writes=True, stamp=Stamp(house.now(), by)))
    address = f"{house.addresses[0]}/pair?code={token}"
    return address, symbol_for_terminal(address)
