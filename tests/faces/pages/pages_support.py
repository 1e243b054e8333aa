"""A served database for tests: the pages in this process for requests, in a process of their own for a browser."""

from __future__ import annotations

import os
import socket
import ssl
import subprocess
import sys
import time
import weakref
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from starlette.testclient import TestClient

from geneticlog.faces.pages.house import House
from geneticlog.faces.pages.server import pages
from geneticlog.store.engine import database_url, open_engine

HERE = "127.0.0.1:8765"
BOAT = "192.0.2.7:8765"  # a documentation address, as if on a hotspot


def client(
    database: str,
    *,
    person: str | None = "Ada Test",
    host: str = HERE,
    peer: str = "127.0.0.1",
    **options: object,
) -> TestClient:
    """A client of the pages, from this machine or from another one; it sends what a page of ours would."""
    engine = open_engine(database_url(database))
    house = House(engine, person, addresses=(f"http://{BOAT}",), **options)  # type: ignore[arg-type]
    found = TestClient(
        pages(house, [HERE, BOAT]),  # type: ignore[arg-type]
        base_url=f"http://{host}",
        client=(peer, 50000),
        follow_redirects=False,
        raise_server_exceptions=False,
    )
    found.headers["origin"] = f"http://{host}"
    found.engine = engine  # type: ignore[attr-defined]
    weakref.finalize(found, engine.dispose)
    return found


def free_port() -> int:
    with socket.socket() as asked:
        asked.bind(("127.0.0.1", 0))
        return int(asked.getsockname()[1])


@contextmanager
def served(
    database: str, port: int, *words: str, trusting: ssl.SSLContext | None = None
) -> Iterator[subprocess.Popen[bytes]]:
    """The program serving in a process of its own; killed at the end, as a battery would.

    trusting: where it serves over https, what its certificate is checked against.
    """
    environment = {**os.environ, "GENETICLOG_DATABASE": database, "GENETICLOG_PERSON": "Ada Test"}
    start = [sys.executable, "-m", "geneticlog", "serve", "--port", str(port), *words]
    server = subprocess.Popen(
        start,
        env=environment,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        cwd=Path(__file__).parents[3],
    )
    try:
        for _ in range(3_000):
            try:
                socket.create_connection(("127.0.0.1", port), timeout=1).close()
                break
            except OSError:
                time.sleep(0.02)
        else:
            raise AssertionError("the server did not start")
        yield server
    finally:
        server.kill()
        server.wait()
