"""An office: two processes on one PostgreSQL behind a proxy, each request to the other one in turn."""

from __future__ import annotations

import http.client
import itertools
import json
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from threading import Thread

import httpx2 as httpx
import pytest
from boat_support import SURVEY, opened_survey
from conftest import Runner
from pages_support import free_port

from geneticlog.settings import shipped_folder

NAME = "bass.office.example"


@contextmanager
def proxy(ports: list[int]) -> Iterator[int]:
    """A small reverse proxy: it keeps the Host, adds the caller's address, and takes the processes in turn."""
    turn = itertools.cycle(ports)

    class Hop(BaseHTTPRequestHandler):
        protocol_version = "HTTP/1.1"

        def pass_on(self) -> None:
            body = self.rfile.read(int(self.headers.get("content-length") or 0))
            told = self.headers.get("x-forwarded-for")
            caller = self.headers.get("x-test-caller", self.client_address[0])
            own = {name: value for name, value in self.headers.items() if name.lower() != "x-forwarded-for"}
            own["X-Forwarded-For"] = ", ".join(filter(None, [told, caller]))
            onward = http.client.HTTPConnection("127.0.0.1", next(turn), timeout=60)
            onward.request(self.command, self.path, body, own)
            answer = onward.getresponse()
            content = answer.read()
            self.send_response(answer.status)
            for name, value in answer.getheaders():
                if name.lower() not in {"content-length", "transfer-encoding", "connection", "date"}:
                    self.send_header(name, value)
            self.send_header("content-length", str(len(content)))
            self.end_headers()
            self.wfile.write(content)
            onward.close()

        do_GET = do_POST = pass_on

        def log_message(self, *_: object) -> None:
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Hop)
    server.daemon_threads = True
    Thread(target=server.serve_forever, daemon=True).start()
    try:
        yield server.server_port
    finally:
        server.shutdown()
        server.server_close()


@contextmanager
def process(database: str, port: int) -> Iterator[str]:
    """The program behind the proxy; gives the address it offers for pairing."""
    environment = {**os.environ, "GENETICLOG_DATABASE": database, "GENETICLOG_PERSON": "Ada Test"}
    words = ["serve", "--behind-proxy", "--name", NAME, "--port", str(port)]
    running = subprocess.Popen(
        [sys.executable, "-u", "-m", "geneticlog", *words], env=environment, stdout=subprocess.PIPE,
        cwd=Path(__file__).parents[3], text=True, encoding="utf-8",
    )  # fmt: skip
    assert running.stdout is not None
    try:
        address = next(line.strip() for line in running.stdout if "/pair?code=" in line)
        for _ in range(200):
            try:
                httpx.get(
                    f"http://127.0.0.1:{port}/static/style.css",
                    headers={"host": NAME},
                    timeout=5,
                    verify=False,
                )
                break
            except httpx.TransportError:
                pass
        yield address
    finally:
        running.kill()
        running.wait()
        running.stdout.close()


class Device:
    """A browser as the proxy sees it: it keeps its cookie, and sends what a page of ours sends."""

    def __init__(self, port: int, caller: str) -> None:
        self.base = f"http://127.0.0.1:{port}"
        self.headers = {"host": NAME, "origin": f"https://{NAME}", "x-test-caller": caller}

    def send(self, way: str, path: str, **more: object) -> httpx.Response:
        answer = httpx.request(way, self.base + path, headers=self.headers, timeout=60, verify=False, **more)  # type: ignore[arg-type]
        if cookie := answer.headers.get("set-cookie"):
            assert re.search(r"HttpOnly.*SameSite=strict.*Secure|Secure", cookie)
            self.headers["cookie"] = cookie.split(";")[0]
        return answer

    def pair(self, address: str, name: str) -> None:
        code = address.split("code=")[1]
        welcome = self.send("POST", "/pair", data={"code": code, "person": name, "device": f"desk of {name}"})
        assert welcome.status_code == 303, welcome.text


@pytest.mark.parametrize("database", ["postgresql"], indirect=True)
def test_two_processes_are_one_office(run: Runner) -> None:
    vials = opened_survey(run, 20)
    ports = [free_port(), free_port()]
    with ExitStack() as stack:
        addresses = [stack.enter_context(process(run.database, port)) for port in ports]
        through = stack.enter_context(proxy(ports))
        assert addresses[-1].startswith(f"https://{NAME}/pair?code=")
        ada, bo, eve = (Device(through, f"198.51.100.{n}") for n in (7, 8, 9))
        # nobody is at this machine, and guesses are counted for the address they come from, not for the proxy
        assert ada.send("GET", "/").headers["location"] == "/pair"
        guesses = [
            eve.send("POST", "/pair", data={"code": f"g{n}", "person": "E", "device": "e"}) for n in range(12)
        ]
        assert [one.status_code for one in guesses] == [409] * 10 + [429] * 2  # counted over both processes
        ada.pair(addresses[-1], "Ada")
        offered = ada.send("POST", "/devices/pair", data={"access": "write"}).text
        bo.pair(re.findall(r"https://[^<]*code=[\w-]+", offered)[0], "Bo")
        # an open card is seen through both processes, and so is what is stored
        card = f"/boat/{SURVEY}"
        assert ada.send("POST", f"{card}/open", json={"words": "16 in"}).status_code == 200
        for _ in ports:
            assert [one["words"] for one in bo.send("GET", f"{card}/state").json()["others"]] == ["16 in"]
        for n, device in enumerate([ada, bo, ada, bo]):
            fish = {"id": f"{n:032}", "length": f"{12 + n} in", "vial": vials[n]}
            for _ in ports:  # the second time to the other process: it is there already
                assert device.send("POST", f"{card}/fish", json=fish).json()["fish"] == n + 1
        assert bo.send("GET", f"{card}/state").json()["others"] == []
        # a file dropped in one process is answered and stored in the other
        run("lab", "add", "QUILL", "Quillback Genotyping (invented)")
        run("panel", "add", "QB38", "Thirty-eight loci", "--loci", 38)
        run("shipment", "pack", "SH-1", "--survey", SURVEY, "--lab", "QUILL", "--panel", "QB38")
        run("shipment", "send", "SH-1", "--carrier", "a carrier")
        sheet = "Sample ID,% Florida,% Northern\n" + "".join(f"{vial},25,75\n" for vial in vials[:4])
        dropped = ada.send(
            "POST", "/returns/look", data={"shipment": "SH-1"}, files={"file": ("r.csv", sheet)}
        )
        place = dropped.headers["location"]
        for _ in ports:
            assert "Store it" in ada.send("GET", place).text
            assert bo.send("GET", place).status_code == 404  # it is Ada's
        assert ada.send("POST", f"{place}/store", data={"x": "1"}).status_code == 200
        # a forged name, and a page elsewhere
        bo.headers["host"] = "evil.test"
        assert [bo.send("GET", "/").status_code for _ in ports] == [421, 421]
        ada.headers["origin"] = "https://evil.test"
        assert [ada.send("POST", f"{card}/open", json={"words": "x"}).status_code for _ in ports] == [
            403,
            403,
        ]
    counts = json.loads(run("reconcile", "SH-1", "--json").stdout)["counts"]
    assert (counts["sent"], counts["returned"]) == (4, 4)
    assert shipped_folder("demo_data").is_dir()
