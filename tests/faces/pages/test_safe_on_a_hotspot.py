"""Who is answered, and what a page elsewhere, a forged name, a replayed code or a bad upload get."""

from __future__ import annotations

import asyncio
import io
import json
import random
import re
import shutil
import sqlite3
import ssl
from collections.abc import Iterator, MutableMapping
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from itertools import chain, repeat
from pathlib import Path
from typing import Any

import httpx2 as httpx
import pytest
import trustme
from anyio.from_thread import start_blocking_portal
from conftest import Runner
from lakes_support import add_lake, add_survey, add_typed
from pages_support import BOAT, HERE, client, free_port, served
from sqlalchemy import Engine, event
from sqlalchemy.orm import Session
from starlette.testclient import TestClient

from geneticlog.faces.pages import guard

PAGES = [
    "/",
    "/inbox",
    "/shipments",
    "/returns",
    "/lakes",
    "/vial",
    "/labels",
    "/devices",
    "/coverage/HERON-2026",
    "/boat/HERON-2026",
    "/boat/HERON-2026/state",
]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory, sqlite_template: Path) -> Path:
    """A survey with a few labels, made once and copied for each test."""
    file = tmp_path_factory.mktemp("made") / "made.sqlite"
    shutil.copy(sqlite_template, file)
    run = Runner(str(file))
    run("office", "add", "TH")
    run("lake", "add", "HERON", "Heron <b>Lake</b>")
    run("survey", "open", "HERON", "2026-05-12", "--code", "HERON-2026")
    run("label", "print", "-n", 5, "--survey", "HERON-2026", "--out", f"{file}.pdf")
    return file


@pytest.fixture
def database(made: Path, tmp_path: Path) -> str:
    return str(shutil.copy(made, tmp_path / "test.sqlite"))


def paired(database: str, access: str = "write") -> TestClient:
    """A phone on the hotspot that was paired by the laptop."""
    shown = client(database).post("/devices/pair", data={"access": access}).text
    code = shown.split("/pair?code=")[1].split("<")[0]
    phone = client(database, host=BOAT, peer="192.0.2.50")
    welcome = phone.post("/pair", data={"code": code, "person": "Bo", "device": "phone"})
    assert welcome.status_code == 303, welcome.text
    phone.headers["x-code"] = code
    return phone


@pytest.mark.parametrize("page", PAGES)
def test_this_machine_is_answered_and_a_stranger_is_sent_to_pairing(database: str, page: str) -> None:
    assert client(database).get(page).status_code == 200
    stranger = client(database, host=BOAT, peer="192.0.2.50").get(page)
    assert (stranger.status_code, stranger.headers["location"]) == (303, "/pair")
    # by this machine's own address, but from elsewhere
    assert client(database, peer="192.0.2.50").get(page).status_code == 303
    # nobody is at this machine behind a proxy
    assert client(database, person=None).get(page).status_code == 303


@pytest.mark.parametrize("page", PAGES)
def test_every_answer_carries_the_policy_and_no_script_of_others(database: str, page: str) -> None:
    answer = client(database).get(page)
    policy = answer.headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "script-src 'self'" in policy
    scripts = policy.split("script-src ")[1].split(";")[0]
    assert "unsafe" not in (scripts if page == "/lakes" else policy)  # figures have style attributes
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert answer.headers["cache-control"] == "no-store"
    assert "<b>Lake" not in answer.text
    assert (
        "//"
        not in answer.text.replace("http://www.w3.org", "").replace(f"http://{BOAT}", "").split("<body")[0]
    )


@pytest.mark.parametrize("host", ["evil.test", "evil.test:8765", "127.0.0.1", "localhost.evil.test:8765", ""])
def test_a_name_that_was_pointed_at_this_machine_is_refused(database: str, host: str) -> None:
    assert client(database).get("/", headers={"host": host}).status_code == 421


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "http://evil.test"},
        {"origin": "null"},
        {"origin": ""},
        {"origin": f"http://{HERE}.evil.test"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
    ],
)
@pytest.mark.parametrize("path", ["/labels", "/boat/HERON-2026/fish", "/devices/pair", "/inbox/F1", "/pair"])
def test_a_page_elsewhere_cannot_write(database: str, path: str, headers: dict[str, str]) -> None:
    answer = client(database).post(path, data={"n": "1", "stock": "letter-wrap"}, headers=headers)
    assert answer.status_code == 403
    assert Runner(database)("label", "reprint", "--run", 2, fails=3)


def test_a_code_pairs_one_device_once(database: str) -> None:
    phone = paired(database)
    cookie = phone.cookies.jar.__iter__().__next__()
    assert cookie.has_nonstandard_attr("HttpOnly")
    assert cookie.get_nonstandard_attr("SameSite") == "strict"
    assert phone.get("/").status_code == 200
    again = client(database, host=BOAT, peer="192.0.2.51")
    said = again.post("/pair", data={"code": phone.headers["x-code"], "person": "Eve", "device": "other"})
    assert said.status_code == 409
    assert "was used" in said.text
    # a server that starts again knows the phone
    other = client(database, host=BOAT, peer="192.0.2.50")
    other.cookies = phone.cookies
    assert other.get("/").status_code == 200


def test_pairing_is_tried_a_few_times_a_minute_only_whichever_process_answers(database: str) -> None:
    processes = [client(database, host=BOAT, peer="192.0.2.66") for _ in range(2)]
    codes = [
        processes[n % 2].post("/pair", data={"code": f"guess{n}", "person": "Eve", "device": "e"}).status_code
        for n in range(14)
    ]
    assert codes == [409] * 10 + [429] * 4


def test_a_device_that_only_looks_stores_nothing(database: str) -> None:
    phone = paired(database, "look")
    assert phone.get("/coverage/HERON-2026").status_code == 200
    body = {"id": "0123456789abcdef0123", "length": "16 in"}
    said = phone.post("/boat/HERON-2026/fish", json=body, headers={"accept": "application/json"})
    assert (said.status_code, said.json()["fault"]) == (403, "This device may only look.")
    boat = phone.get("/boat/HERON-2026").text
    assert 'data-writes="no"' in boat
    key = boat.split('id="trip-key"')[1].split("</button>")[0]
    assert 'class="lake">Heron ' in key  # whose fish they are, always in sight
    everybody = client(database, read_only=True)
    assert everybody.post("/boat/HERON-2026/fish", json=body).status_code == 403


def test_a_revoked_or_unused_device_is_known_no_more(database: str) -> None:
    from geneticlog.store.engine import database_url, one_transaction, open_engine
    from geneticlog.work.devices.devices import list_devices

    phone = paired(database)
    run = Runner(database)
    listed = json.loads(run("serve", "--devices", "--json").stdout)["devices"]
    assert [(one["device"], one["person"], one["in_use"]) for one in listed] == [("phone", "Bo", True)]
    engine = open_engine(database_url(database))
    with one_transaction(engine) as session:
        [device] = list_devices(session)
        device.used_at -= timedelta(minutes=6)  # a look later than that renews it
        before = device.ends_at
    assert phone.get("/").status_code == 200
    with one_transaction(engine, writes=False) as session:
        assert list_devices(session)[0].ends_at > before
    run("serve", "--revoke", "phone")
    assert phone.get("/").status_code == 303
    run("serve", "--revoke", "phone", fails=3)
    engine.dispose()


def test_two_devices_of_one_name_are_told_apart(database: str) -> None:
    one, other = paired(database), paired(database)
    for n, phone in enumerate((one, other)):
        body = {"id": f"{n:032}", "length": "16 in"}
        assert phone.post("/boat/HERON-2026/fish", json=body).status_code == 200
    with sqlite3.connect(database) as there:
        by = {one for (one,) in there.execute("SELECT logged_by FROM fish")}
    there.close()
    assert by == {"Bo (phone)", "Bo (phone 2)"}
    devices = json.loads(Runner(database)("serve", "--devices", "--json").stdout)["devices"]
    assert sorted(device["device"] for device in devices) == ["phone", "phone 2"]


def test_what_is_done_names_person_and_device(database: str) -> None:
    phone = paired(database)
    body = {"id": "0123456789abcdef0123", "length": "16 in"}
    done = phone.post("/boat/HERON-2026/fish", json=body, headers={"accept": "application/json"})
    assert done.json()["doing"] == "stored", done.text
    from sqlalchemy import text

    from geneticlog.store.engine import database_url, open_engine

    engine = open_engine(database_url(database))
    with engine.connect() as connection:
        assert connection.execute(text("SELECT logged_by FROM fish")).scalar() == "Bo (phone)"
    engine.dispose()
    # one that the device held for a while keeps the device's time too
    late = {"id": "1123456789abcdef0123", "length": "12 in", "at": "2026-05-12T15:04:00.000Z"}
    assert phone.post("/boat/HERON-2026/fish", json=late).status_code == 200
    told = Runner(database)("history", "HERON-2026").output
    there = datetime(2026, 5, 12, 15, 4, tzinfo=UTC).astimezone()  # history speaks in local time
    assert f"fish 2 handed over by the device, entered there at {there:%Y-%m-%d %H:%M}" in " ".join(
        told.split()
    )
    for wrong in (
        {"tissue": "scale"},
        {"medium": "gin"},
        {"fate": "eaten"},
        {"id": "x"},
        {"n_fish": 0},
        {"length": []},
    ):
        body = {"id": "2123456789abcdef0123", "length": "12 in", **wrong}
        assert phone.post("/boat/HERON-2026/fish", json=body).status_code == 409, wrong


def test_a_body_is_bounded_and_bad_uploads_stop_nothing(database: str) -> None:
    at = client(database)
    assert at.post("/labels", content=b"x" * 70_000).status_code == 413
    assert at.post("/photo", headers={"content-length": "99999999999"}, content=b"x").status_code == 413
    said = at.post(
        "/photo",
        files={"photo": ("a.png", b"\x89PNG\r\n\x1a\nrubbish")},
        headers={"accept": "application/json"},
    )
    assert said.status_code == 409
    assert "not a picture" in said.json()["fault"]
    assert at.get("/").status_code == 200


@pytest.mark.parametrize(
    ("path", "kind", "bounds"),
    [
        ("/photo", "image/png", {"UPLOAD_SECONDS": 0.3}),
        ("/returns/look", "text/csv", {"UPLOAD_SECONDS": 0.3}),
        ("/labels", "text/plain", {"SECONDS": 0.3, "UPLOAD_SECONDS": 3600}),
    ],
)
def test_a_body_that_drips_for_ever_is_ended_by_the_time_bound(
    database: str, monkeypatch: pytest.MonkeyPatch, path: str, kind: str, bounds: dict[str, float]
) -> None:
    for name, seconds in bounds.items():
        monkeypatch.setattr(guard, name, seconds)
    at = client(database)
    head = (
        f'--b\r\ncontent-disposition: form-data; name="photo"; filename="a"\r\ncontent-type: {kind}\r\n\r\n'
    )
    headers = {
        "host": HERE,
        "origin": f"http://{HERE}",
        "accept": "application/json",
        "content-length": "60000",
    }
    headers["content-type"] = "multipart/form-data; boundary=b"
    scope = {
        "type": "http", "method": "POST", "path": path, "raw_path": path.encode(), "query_string": b"",
        "headers": [(name.encode(), value.encode()) for name, value in headers.items()], "http_version": "1.1",
        "scheme": "http", "server": ("127.0.0.1", 8765), "client": ("127.0.0.1", 50000), "root_path": "",
    }  # fmt: skip
    answer: list[MutableMapping[str, Any]] = []
    pieces = chain([head.encode()], repeat(b"x"))  # never all of it, never long without a byte

    async def receive() -> MutableMapping[str, Any]:
        await asyncio.sleep(0.01)
        return {"type": "http.request", "body": next(pieces), "more_body": True}

    async def send(message: MutableMapping[str, Any]) -> None:
        answer.append(message)

    async def ended() -> None:
        async with asyncio.timeout(60):  # far above the bound: without it this test would not end
            await at.app(scope, receive, send)

    with start_blocking_portal() as elsewhere:  # a browser's test leaves a loop running in this thread
        elsewhere.call(ended)
    assert answer[0]["status"] == 408
    assert json.loads(answer[1]["body"]) == {"fault": "This took too long to come; try again."}
    assert at.get("/").status_code == 200


def own_certificate(folder: Path, name: str) -> tuple[Path, Path, Path]:
    """Write a certificate for 127.0.0.1, its key, and the certificate of the authority that signed it."""
    authority = trustme.CA()
    issued = authority.issue_cert("127.0.0.1")
    certificate, key, root = folder / f"{name}.pem", folder / f"{name}.key", folder / f"{name}.root"
    issued.cert_chain_pems[0].write_to_path(str(certificate))
    issued.private_key_pem.write_to_path(str(key))
    authority.cert_pem.write_to_path(str(root))
    return certificate, key, root


def test_a_certificate_of_ones_own_makes_it_https(database: str, tmp_path: Path) -> None:
    certificate, key, root = own_certificate(tmp_path, "own")
    _, other_key, _ = own_certificate(tmp_path, "other")
    run = Runner(database)
    wrong = run.tried("serve", "--certificate", certificate, "--key", other_key)
    assert wrong.exit_code != 0
    assert "are not a certificate with its key" in wrong.output
    alone = run.tried("serve", "--certificate", certificate)
    assert alone.exit_code != 0
    assert "go together" in alone.output
    port, trusting = free_port(), ssl.create_default_context(cafile=str(root))
    words = ("--certificate", str(certificate), "--key", str(key))
    with served(database, port, *words, trusting=trusting):
        here = f"127.0.0.1:{port}"
        with httpx.Client(
            base_url=f"https://{here}", verify=trusting, headers={"origin": f"https://{here}"}
        ) as at:
            assert "HERON-2026" in at.get("/").text
            shown = at.post("/devices/pair", data={"access": "write"}).text
            code = re.findall(rf"https://{here}/pair\?code=([\w-]+)", shown)[0]
            welcome = at.post("/pair", data={"code": code, "person": "Bo", "device": "phone"})
            assert welcome.status_code == 303
            assert "secure" in welcome.headers["set-cookie"].lower().split("; ")
        with pytest.raises(httpx.ConnectError, match=r"(?i)certificate"):  # one that nobody here trusts
            httpx.get(f"https://{here}/", verify=ssl.create_default_context())
        with pytest.raises(httpx.TransportError):  # nothing is answered in the clear
            httpx.get(f"http://{here}/")


def bad_pictures() -> list[bytes]:
    """200 files that are no photo of a label, most of them broken pictures."""
    from PIL import Image

    whole = []
    for kind in ("PNG", "JPEG", "GIF", "BMP", "TIFF", "WEBP"):
        made = io.BytesIO()
        Image.new("L", (64, 48), 130).save(made, kind)
        whole.append(made.getvalue())
    bomb = io.BytesIO()
    Image.new("1", (20_000, 20_000)).save(bomb, "PNG")
    chance = random.Random(7)
    broken = []
    for n in range(196):
        content = bytearray(whole[n % len(whole)])
        for _ in range(1 + n % 9):
            content[chance.randrange(8, len(content))] = chance.randrange(256)
        broken.append(bytes(content[: len(content) if n % 3 else chance.randrange(1, len(content))]))
    return [b"", b"<svg onload='x'/>", b"PK\x03\x04" * 50, bomb.getvalue(), *broken]


def test_two_hundred_bad_uploads_stop_nothing(database: str) -> None:
    at = client(database)
    pictures = bad_pictures()
    assert len(pictures) == 200
    for content in pictures:
        said = at.post("/photo", files={"photo": ("a.png", content)}, headers={"accept": "application/json"})
        assert said.status_code == 409, said.text
        assert re.search("picture|symbol", said.json()["fault"])
    assert at.get("/").status_code == 200
    for content in (b"", b"PK\x03\x04rubbish", b"\xd0\xcf\x11\xe0" * 40, b"<table><tr><td>x"):
        look = at.post("/returns/look", data={"shipment": "SH-9"}, files={"file": ("../../x.xlsx", content)})
        assert look.status_code in {404, 409, 422}


def test_a_locked_database_is_said_and_the_page_may_send_again(database: str) -> None:
    at = client(database, longest_wait=0.2)
    fish = {"id": "0123456789abcdef0123", "length": "16 in"}
    asks = {"accept": "application/json"}
    other = sqlite3.connect(database, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    try:
        said = at.post("/boat/HERON-2026/fish", json=fish, headers=asks)
        assert at.get("/boat/HERON-2026/state").status_code == 200  # looking goes on
    finally:
        other.execute("ROLLBACK")
        other.close()
    assert said.status_code == 503
    assert "another program has been writing" in said.json()["fault"]
    assert at.post("/boat/HERON-2026/fish", json=fish, headers=asks).json()["doing"] == "stored"


@contextmanager
def full_disk(engine: Engine) -> Iterator[None]:
    """Let the database's file grow no further than two pages from now."""

    def bound(connection: sqlite3.Connection, _: object) -> None:
        n_pages = connection.execute("PRAGMA page_count").fetchone()[0]
        connection.execute(f"PRAGMA max_page_count = {n_pages + 2}")

    engine.dispose()
    event.listen(engine.pool, "connect", bound)
    yield
    event.remove(engine.pool, "connect", bound)
    engine.dispose()


def test_a_full_disk_is_said_and_nothing_is_half_written(database: str) -> None:
    at = client(database)
    asks = {"accept": "application/json"}
    with full_disk(at.engine):  # type: ignore[attr-defined]
        answers = [
            at.post(
                "/boat/HERON-2026/fish", headers=asks,
                json={"id": f"{n:032}", "length": "16 in", "remarks": "r" * 290},
            )
            for n in range(40)
        ]  # fmt: skip
    refused = [n for n, one in enumerate(answers) if one.status_code != 200]
    assert refused
    assert {answers[n].status_code for n in refused} == {503}
    assert "the disk is full" in answers[refused[0]].json()["fault"]
    run = Runner(database)
    n_there = len(json.loads(run("fish", "list", "HERON-2026", "--json").stdout)["fish"])
    assert n_there == 40 - len(refused)
    for n in refused:  # there is room again: what was held is handed over
        fish = {"id": f"{n:032}", "length": "16 in"}
        assert at.post("/boat/HERON-2026/fish", headers=asks, json=fish).json()["doing"] == "stored"
    run("database", "check")


def test_no_path_of_a_request_reaches_a_file(database: str) -> None:
    at = client(database)
    for path in ("/static/..%2f..%2fhouse.py", "/static/%2e%2e/house.py", "/static/house.py", "/static/"):
        assert at.get(path).status_code == 404


def test_faults_say_nothing_of_the_machine(database: str) -> None:
    at = client(database)
    for path in ("/coverage/NOWHERE", "/lakes/NOWHERE", "/inbox/F99", "/vial?code=XX", "/nothing"):
        said = at.get(path)
        assert said.status_code in {404, 409}
        assert "Traceback" not in said.text
        assert database not in said.text


def test_a_report_given_by_the_pages_is_kept(run_on_sqlite: Runner, sqlite_session: Session) -> None:
    add_typed(sqlite_session, add_survey(sqlite_session, add_lake(sqlite_session)), [(13.0, 0.1)] * 5)
    add_lake(sqlite_session, "BARE", "Never surveyed")
    sqlite_session.commit()
    at = client(run_on_sqlite.database)
    assert 'action="/lakes/HERON/give"' in at.get("/lakes/HERON").text
    assert json.loads(run_on_sqlite("report", "list", "--json").stdout)["reports"] == []  # only looked at
    given = at.post("/lakes/heron/give")
    assert given.status_code == 200
    assert given.content.startswith(b"%PDF")
    assert given.headers["content-disposition"] == 'attachment; filename="heron-R1.pdf"'
    (kept,) = json.loads(run_on_sqlite("report", "list", "--json").stdout)["reports"]
    assert (kept["report"], kept["lake"], kept["written_by"]) == ("R1", "HERON", "Ada Test (this machine)")
    assert at.post("/lakes/BARE/give").status_code == 409
    assert at.post("/lakes/HERON/give", headers={"origin": "http://elsewhere.test"}).status_code == 403
    assert len(json.loads(run_on_sqlite("report", "list", "--json").stdout)["reports"]) == 1
