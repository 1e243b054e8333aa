"""Phones on the boat's hotspot in a real browser: two devices and a terminal, the camera, a page that means harm."""

from __future__ import annotations

import json
import shutil
import socket
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from threading import Thread

import cv2
import numpy as np
import pytest
from boat_support import SURVEY, opened_survey, photo_of, ready, stored, words
from browser_support import PHONE, accessibility_faults, launched, opened, wider_than_the_screen
from conftest import Runner
from label_camera import Light, photograph, printed_dots
from pages_support import free_port, served
from playwright.sync_api import Browser, Page, expect

from geneticlog.faces.label.stocks import load_stocks
from geneticlog.rules.boat.sitting import Card, Sitting


@dataclass
class Boat:
    """A served survey: the page of this machine, and the same on the hotspot under a name of its own."""

    run: Runner
    vials: list[str]
    port: int
    home: str
    there: str


@pytest.fixture(scope="module")
def boat(tmp_path_factory: pytest.TempPathFactory, sqlite_template: Path) -> Iterator[Boat]:
    database = tmp_path_factory.mktemp("boat") / "boat.sqlite"
    shutil.copy(sqlite_template, database)
    run, port = Runner(str(database)), free_port()
    vials = opened_survey(run)
    with served(run.database, port, "--name", "boat.test"):
        yield Boat(run, vials, port, f"http://127.0.0.1:{port}", f"http://boat.test:{port}")


@pytest.fixture(scope="module")
def phone(tmp_path_factory: pytest.TempPathFactory, boat: Boat, browser: Browser) -> Iterator[Browser]:
    """A browser that finds the hotspot's name, with a camera that looks at the tenth label."""
    film, code = tmp_path_factory.mktemp("camera") / "label.y4m", boat.vials[9]
    stock = load_stocks(None)["roll-2-300"]
    light = Light(pixels=(9.0, 9.0), blur=0.2)
    shot = photograph(printed_dots(stock, code), stock, code, light, np.random.default_rng(4))
    frame = cv2.resize(cv2.copyMakeBorder(shot, 40, 40, 150, 150, cv2.BORDER_CONSTANT, value=200), (640, 480))
    grey = bytes([128]) * (320 * 240 * 2)
    film.write_bytes(
        b"YUV4MPEG2 W640 H480 F10:1 Ip A1:1 C420jpeg\n" + (b"FRAME\n" + frame.tobytes() + grey) * 3
    )
    options = [
        "--host-resolver-rules=MAP *.test 127.0.0.1",
        "--use-fake-device-for-media-stream",
        "--use-fake-ui-for-media-stream",
        f"--use-file-for-fake-video-capture={film}",
    ]
    with launched(browser.browser_type, options) as running:
        yield running


def test_two_devices_and_a_terminal_see_each_other_and_share_the_numbers(phone: Browser, boat: Boat) -> None:
    before = stored(boat.run)
    first = max(before, default=0)
    with opened(phone, f"{boat.home}/boat/{SURVEY}", PHONE) as one:
        code = paired_code(one, boat)
        with opened(phone, f"{boat.there}/pair?code={code}", PHONE) as other:
            other.get_by_label("Your name").fill("Bo")
            other.get_by_label("A name for this device").fill("phone")
            other.get_by_role("button", name="Pair").click()
            other.goto(f"{boat.there}/boat/{SURVEY}")
            measurer, recorder = ready(one), ready(other, "Bo")
            # on a plain hotspot: no camera stream and no reload without the server, and the page says so
            expect(other.locator("#camera-key")).to_be_hidden()
            expect(other.locator("#reload")).to_contain_text("Do not reload")
            measurer.measure("16")
            recorder.measure("12")
            expect(one.locator("#others")).to_contain_text("Bo (phone): 12 in", timeout=20_000)
            expect(other.locator("#others")).to_contain_text("Ada Test (this machine): 16 in", timeout=20_000)
            terminal_has_open(boat, "14 in")
            for n in range(3):
                crew = (measurer, recorder)[n % 2]
                if n == 2:
                    crew.measure("17")
                crew.scan(boat.vials[n])
                crew.gone()
                crew.held(0)  # stored, before the next one takes a number
            boat.run("fish", "log", SURVEY, input=f"{boat.vials[3]} 13 in\n")
            # both add to one fish in the well: what they add is merged by part, and a second vial is refused
            measurer.measure("9")
            measurer.touch("To the well")
            measurer.held(0)
            for crew in (measurer, recorder):
                crew.view("well")
                crew.page.get_by_role("button", name=f"Vial or weight of fish {first + 5}").click()
            measurer.weigh("0", "6")
            measurer.touch("Store fish")
            measurer.held(0)
            recorder.scan(boat.vials[4])
            recorder.held(0)
            # a photo on the plain page is decoded by the server; a cap on another vial is refused
            recorder.measure("18")
            other.locator("#photo").set_input_files(two_labels(boat))
            expect(other.locator("#said")).to_contain_text("do not belong together", timeout=20_000)
            other.locator("#pick").click()
            expect(other.locator("#next")).to_have_text("18 in")  # the fish's numbers stay in sight
            file = photo_of(boat.vials[5], Path(boat.run.database).parent, 9)
            other.locator("#picture").set_input_files(file)
            recorder.gone()
            recorder.held(0)
    there = [
        words(16, None, boat.vials[0]), words(12, None, boat.vials[1]), words(17, None, boat.vials[2]),
        words(13, None, boat.vials[3]), words(9, 0.375, boat.vials[4]), words(18, None, boat.vials[5]),
    ]  # fmt: skip
    assert stored(boat.run) == before | dict(enumerate(there, start=first + 1))
    assert "Bo (phone)" in boat.run("history", boat.vials[1]).output


# The interface of the Shape Detection draft (WICG), which headless Chromium on Linux does not have. It sees one label,
# what is no label, or cap and side that differ, as the test says.
DETECTOR = """window.BarcodeDetector = class {
  static async getSupportedFormats() { return ["qr_code"]; }
  async detect() { return (window.seen || []).map(text => ({rawValue: text})); }
};"""


def test_the_camera_reads_a_label_and_a_phone_that_reads_symbols_sends_no_picture_unless_in_doubt(
    phone: Browser, boat: Boat
) -> None:
    # the film of the camera shows the tenth vial, which is free here and on a fish below
    with opened(phone, f"{boat.home}/boat/{SURVEY}", PHONE) as page:
        crew = ready(page)
        page.keyboard.type("23")  # with keys of the machine itself, and so is the code of the fish before
        page.wait_for_timeout(200)
        page.keyboard.type(boat.vials[10])
        page.keyboard.press("Enter")
        crew.gone()
        crew.measure("23")
        crew.touch("Camera")
        crew.gone()
        crew.held(0)
        expect(page.locator("#ten")).to_contain_text("TH 000 00A")
    assert words(23, None, boat.vials[9]) in stored(boat.run).values()
    with opened(phone, f"{boat.home}/boat/{SURVEY}", PHONE) as page:
        assert page.evaluate("() => !window.BarcodeDetector"), "the browser has it now: test that one"
        page.add_init_script(DETECTOR)
        page.reload()
        crew = ready(page)
        sent: list[str] = []
        page.on("request", lambda one: sent.append(one.url) if "photo" in one.url else None)
        page.evaluate("code => { window.seen = [code, code]; }", boat.vials[11])
        crew.measure("21")
        crew.touch("Camera")
        crew.gone()
        crew.held(0)
        assert not sent
        # two labels in sight: the server looks too, and what it reads is taken (the camera looks at the tenth)
        page.evaluate("codes => { window.seen = codes; }", [boat.vials[11], boat.vials[12]])
        crew.measure("22")
        crew.touch("Camera")
        expect(page.locator("#said")).to_contain_text("is already on fish", timeout=20_000)
        expect(page.locator("#said")).to_contain_text("correct that fish under Last ten")
        assert sent
    assert words(21, None, boat.vials[11]) in stored(boat.run).values()


def test_a_phone_that_only_looks_sees_the_tally_and_has_no_keys_to_enter(phone: Browser, boat: Boat) -> None:
    with opened(phone, f"{boat.home}/boat/{SURVEY}", PHONE) as page:
        code = paired_code(page, boat, "Pair a device that only looks")
        page.goto(f"{boat.there}/pair?code={code}")
        page.get_by_label("Your name").fill("Dee")
        page.get_by_label("A name for this device").fill("owner's phone")
        page.get_by_role("button", name="Pair").click()
        page.goto(f"{boat.there}/boat/{SURVEY}")
        expect(page.locator("#crew")).to_contain_text("looking only", timeout=20_000)
        expect(page.locator("#banner")).to_have_text("This device only looks")
        expect(page.locator("#classes .tile").first).to_be_visible()
        page.locator("nav .k[data-view=last]").click()
        for name in ("Undo", "Correct fish", "Camera", "7", "Fish"):
            expect(page.get_by_role("button", name=name)).to_have_count(0)
        page.keyboard.type("12")
        assert accessibility_faults(page) == []
        expect(page.locator("#s-length")).to_have_text("–")


def test_a_page_elsewhere_can_write_nothing_and_a_forged_name_gets_nothing(
    phone: Browser, boat: Boat
) -> None:
    before = stored(boat.run)
    with hostile_page(boat) as address, opened(phone, f"{boat.home}/boat/{SURVEY}", PHONE) as page:
        code = paired_code(page, boat)
        page.goto(f"{boat.there}/pair?code={code}")
        page.get_by_label("Your name").fill("Eve's victim")
        page.get_by_label("A name for this device").fill("tablet")
        page.get_by_role("button", name="Pair").click()
        page.goto(address)
        expect(page.locator("#done")).to_have_text("tried", timeout=20_000)  # by script
        page.get_by_role("button", name="Win a boat").click()  # by a form
        expect(page.locator("body")).to_contain_text("another page", timeout=20_000)
        page.goto(f"{boat.there}/pair?code={code}")  # the code again
        page.get_by_label("Your name").fill("Eve")
        page.get_by_label("A name for this device").fill("other")
        page.get_by_role("button", name="Pair").click()
        expect(page.get_by_role("alert")).to_contain_text("was used")
    with socket.create_connection(("127.0.0.1", boat.port), timeout=10) as line:
        line.sendall(b"GET / HTTP/1.1\r\nHost: evil.test\r\nConnection: close\r\n\r\n")
        assert line.recv(200).startswith(b"HTTP/1.1 421")
    assert stored(boat.run) == before


@contextmanager
def hostile_page(boat: Boat) -> Iterator[str]:
    """A page of another origin that knows every address of ours and posts to it."""
    target = f"{boat.there}/boat/{SURVEY}/fish"
    card = json.dumps({"id": "0" * 32, "length": "20 in", "vial": boat.vials[20]})
    html = f"""<!doctype html><p id="done"></p>
<form method="post" enctype="text/plain" action="{target}"><input type="hidden" name='{card[:-1]}, "x": "' value='"}}'>
<button>Win a boat</button></form><script>
const all = {{method: "POST", body: {card!r}, credentials: "include"}};
const send = (more) => fetch("{target}", {{...all, ...more}}).catch(() => 0);
Promise.all([send({{mode: "no-cors"}}), send({{headers: {{"content-type": "application/json"}}}})])
  .then(() => {{ document.getElementById("done").textContent = "tried"; }});
</script>""".encode()

    class Page(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            self.send_response(200)
            self.send_header("content-type", "text/html")
            self.end_headers()
            self.wfile.write(html)

        def log_message(self, *_: object) -> None:
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Page)
    Thread(target=server.serve_forever, daemon=True).start()
    try:
        yield f"http://evil.test:{server.server_port}/"
    finally:
        server.shutdown()
        server.server_close()


def test_keys_are_large_contrast_is_high_and_the_page_is_small(phone: Browser, boat: Boat) -> None:
    with opened(phone, f"{boat.home}/boat/{SURVEY}", PHONE) as page:
        crew = ready(page)
        crew.measure("9")
        crew.touch("To the well")
        crew.held(0)
        for name in ("fish", "well", "tally", "last", "trip", "picker"):
            if name in ("trip", "picker"):
                page.locator({"trip": "#trip-key", "picker": "#pick"}[name]).click()
            else:
                crew.view(name)
            sizes = page.evaluate(
                "[...document.querySelectorAll('button, select, input:not([type=file]), label.k, a.k')]"
                ".map(k => k.getBoundingClientRect()).filter(b => b.width > 1).map(b => [b.width, b.height])"
            )
            assert min(min(pair) for pair in sizes) >= 92, name
            assert accessibility_faults(page) == [], name
            assert accessibility_faults(page, "color-contrast-enhanced") == [], name  # 7:1
            assert not wider_than_the_screen(page), name
            if name == "trip":
                crew.view("fish")
        sent = page.evaluate(
            "performance.getEntries().filter(e => e.transferSize && !e.name.includes('/state'))"
            ".reduce((sum, e) => sum + e.transferSize, 0)"
        )
        assert 10_000 < sent < 100_000


def test_a_fish_by_the_keyboard_alone(phone: Browser, boat: Boat) -> None:
    with opened(phone, f"{boat.home}/boat/{SURVEY}", PHONE) as page:
        crew = ready(page)
        page.keyboard.type("7", delay=120)
        expect(page.locator("#s-length")).to_have_text("7 in")
        for _ in range(40):
            page.keyboard.press("Tab")
            if page.evaluate("document.activeElement.id") == "measured":
                break
        page.keyboard.press("Enter")
        if page.locator("#ask").is_visible():
            page.keyboard.press("Tab") if page.evaluate(
                "document.activeElement.textContent"
            ) != "Release it" else None
            page.keyboard.press("Enter")
        crew.gone()
        crew.held(0)
        page.keyboard.type("TH0")  # half a code is no digits
        expect(page.locator("#said")).to_contain_text("scan it again")
        expect(page.locator("#s-length")).to_have_text("–")
        while page.evaluate("document.activeElement.dataset.view") != "tally":
            page.keyboard.press("Tab")
        page.keyboard.press("Enter")
        while not page.evaluate("document.activeElement.textContent").startswith("trophy"):
            page.keyboard.press("Shift+Tab")
        page.keyboard.press("Enter")
        expect(page.locator("#ask-text")).to_contain_text("How many trophy")
        page.keyboard.press("Enter")  # the first answer: 1
        crew.held(0)
    assert words(7) in stored(boat.run).values()


def test_what_is_not_handed_over_is_warned_of_when_the_page_closes(phone: Browser, boat: Boat) -> None:
    with opened(phone, f"{boat.home}/boat/{SURVEY}", PHONE) as page:
        crew = ready(page)
        warned: list[str] = []
        page.on("dialog", lambda asked: (warned.append(asked.type), asked.dismiss()))
        page.context.set_offline(True)
        crew.measure("7")
        crew.touch("To the well")
        crew.held(1, link=False)
        page.close(run_before_unload=True)
        crew.held(1, link=False)  # it is still open
        assert warned == ["beforeunload"]
        page.context.set_offline(False)
        crew.held(0)


def paired_code(page: Page, boat: Boat, which: str = "Pair a device that logs") -> str:
    page.goto(f"{boat.home}/devices")
    page.get_by_role("button", name=which).click()
    code = page.locator("code.address").first.inner_text().split("code=")[1]
    page.goto(f"{boat.home}/boat/{SURVEY}")
    return code


def terminal_has_open(boat: Boat, text: str) -> None:
    """Leave a card open at a terminal, as a flat battery does; the devices show it."""
    from datetime import UTC, datetime

    from geneticlog.rules.boat.logline import read_line
    from geneticlog.rules.stamp import Stamp
    from geneticlog.store.engine import database_url, one_transaction, open_engine
    from geneticlog.work.boat.log_card import card_rules, keep_open_card
    from geneticlog.work.events import find_survey

    engine = open_engine(database_url(boat.run.database))
    with one_transaction(engine) as session:
        survey = find_survey(session, SURVEY)
        line = read_line(text, survey.length_unit, survey.weight_unit)
        sitting = Sitting(card_rules(survey), Card("0" * 32, (line,)))
        keep_open_card(session, survey, sitting, "terminal", stamp=Stamp(datetime.now(UTC), "Cy"))
    engine.dispose()


def two_labels(boat: Boat) -> str:
    stock, chance = load_stocks(None)["roll-2-300"], np.random.default_rng(5)
    light = Light(pixels=(6.0, 6.0), turned=0.0)
    both = [photograph(printed_dots(stock, code), stock, code, light, chance) for code in boat.vials[7:9]]
    high = max(one.shape[0] for one in both)
    filled = [
        cv2.copyMakeBorder(one, 0, high - one.shape[0], 40, 40, cv2.BORDER_CONSTANT, value=200)
        for one in both
    ]
    file = Path(boat.run.database).parent / "two.png"
    cv2.imwrite(str(file), np.hstack(filled))
    return str(file)
