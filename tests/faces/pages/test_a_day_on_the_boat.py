"""A day on the boat in a real browser, 390 x 844: both orders, undo, the link cut, the server killed in the middle."""

from __future__ import annotations

import json
from pathlib import Path

import cv2
import numpy as np
import pytest
from browser_support import DESK, PHONE, accessibility_faults, opened, wider_than_the_screen
from conftest import Runner
from label_camera import Light, photograph, printed_dots
from pages_support import free_port, served
from playwright.sync_api import Browser, Page, expect

from geneticlog.faces.label.stocks import load_stocks

SURVEY = "HERON-2026"
FRACTIONS = {"1/4": "a quarter", "1/2": "a half", "3/4": "three quarters"}


@pytest.fixture
def day(run_on_sqlite: Runner) -> tuple[Runner, list[str]]:
    run = run_on_sqlite
    run("office", "add", "TH")
    run("lake", "add", "HERON", "Heron Lake")
    run("plan", "HERON", "--wanted", 3)
    run("survey", "open", "HERON", "2026-05-12", "--code", SURVEY)
    printed = run("label", "print", "-n", 40, "--survey", SURVEY, "--out", f"{run.database}.pdf", "--json")
    return run, json.loads(printed.stdout)["vials"]


def measure(page: Page, length: str) -> None:
    whole, _, fraction = length.partition(" ")
    for digit in whole:
        page.get_by_role("button", name=digit, exact=True).click()
    if fraction:
        page.get_by_role("button", name=FRACTIONS[fraction], exact=True).click()


def scan(page: Page, code: str, ends_with: str = "Enter") -> None:
    """A scanner types the code in no time and sends a key, or none."""
    page.keyboard.type(code)
    if ends_with:
        page.keyboard.press(ends_with)


def stored(run: Runner) -> dict[str | None, str]:
    fish = json.loads(run("fish", "list", SURVEY, "--json").stdout)["fish"]
    return {(one["vials"] or [None])[0]: f"{one['length']:g}" for one in fish}


def held(page: Page, n: int, refused: int = 0) -> None:
    expect(page.locator("#held")).to_have_text(f"{n} held, {refused} refused", timeout=30_000)


def test_a_day_with_nothing_lost_shifted_or_stored_twice(
    browser: Browser, day: tuple[Runner, list[str]], tmp_path: Path
) -> None:
    run, vials = day
    port = free_port()
    address = f"http://127.0.0.1:{port}/boat/{SURVEY}"
    wanted: dict[str | None, str] = {}
    with served(run.database, port), opened(browser, address, PHONE) as page:
        expect(page.locator("#crew")).to_contain_text("Ada Test", timeout=20_000)
        # measure first, a scanner that sends Enter, Tab or nothing
        for vial, length, number, ends in zip(
            vials, ("16 1/2", "12", "9 1/4"), ("16.5", "12", "9.25"), ("Enter", "Tab", ""), strict=False
        ):
            measure(page, length)
            expect(page.locator("#banner")).to_contain_text("SWAB:")
            scan(page, vial, ends)
            expect(page.locator("#s-length")).to_have_text("–")
            wanted[vial] = number
        held(page, 0)
        # vial first
        scan(page, vials[3])
        expect(page.locator("#s-vial")).to_have_text(vials[3])
        measure(page, "17 3/4")
        page.get_by_role("button", name="Store fish").click()
        wanted[vials[3]] = "17.75"
        held(page, 0)
        # a wrong scan is refused and the fish waits on the card
        measure(page, "13")
        scan(page, vials[4][:-1] + ("A" if vials[4][-1] != "A" else "B"))
        expect(page.locator("#said")).to_contain_text("does not check", timeout=20_000)
        page.get_by_role("button", name="Clear").click()
        # undo takes the last out, redo brings it back
        measure(page, "14")
        scan(page, vials[5])
        held(page, 0)
        page.get_by_role("button", name="Last ten").click()
        page.get_by_role("button", name="Undo").click()
        expect(page.locator("#ten")).not_to_contain_text("14 in")
        page.get_by_role("button", name="Redo").click()
        expect(page.locator("#ten")).to_contain_text("14 in", timeout=20_000)
        wanted[vials[5]] = "14"
        page.get_by_role("button", name="Fish", exact=True).click()
        # a photo of the label
        stock = load_stocks(None)["roll-2-300"]
        shot = photograph(
            printed_dots(stock, vials[6]), stock, vials[6], Light(tilted=15.0), np.random.default_rng(3)
        )
        photo = tmp_path / "label.png"
        cv2.imwrite(str(photo), shot)
        measure(page, "15")
        page.locator("#photo").set_input_files(str(photo))
        expect(page.locator("#s-length")).to_have_text("–", timeout=60_000)
        wanted[vials[6]] = "15"
        held(page, 0)
        # the last four characters, from the free labels
        measure(page, "11")
        page.get_by_role("button", name="Pick vial").click()
        page.locator("#four").fill(vials[7][-4:])
        page.get_by_role("button", name=vials[7], exact=True).click()
        wanted[vials[7]] = "11"
        held(page, 0)
        assert stored(run) == wanted
        # the link is cut for three fish, and the page says what it holds
        page.context.set_offline(True)
        for vial, length in zip(vials[8:11], ("10", "18", "19"), strict=True):
            measure(page, length)
            scan(page, vial)
            wanted[vial] = length
        held(page, 3)
        page.locator("#trip-key").click()
        expect(page.locator("#link")).to_contain_text("cannot be reached")
        page.locator("#trip-key").click()
        page.context.set_offline(False)
        held(page, 0)
        assert stored(run) == wanted
        # the server is killed while a fish is on its way; a terminal logs meanwhile
        page.context.set_offline(True)
        measure(page, "20")
        scan(page, vials[11])
        wanted[vials[11]] = "20"
        held(page, 1)
    run("fish", "log", SURVEY, input=f"{vials[12]} 21 in\n")
    wanted[vials[12]] = "21"
    with served(run.database, port), opened(browser, address, PHONE) as page:
        expect(page.locator("#crew")).to_contain_text("Ada Test", timeout=20_000)
        # a new context has an empty store: this is another device, and numbers go on
        measure(page, "22")
        scan(page, vials[13])
        wanted[vials[13]] = "22"
        held(page, 0)
    del wanted[vials[11]]  # that device was switched off before it handed over
    assert stored(run) == wanted


def test_a_killed_server_costs_no_fish(browser: Browser, day: tuple[Runner, list[str]]) -> None:
    run, vials = day
    port = free_port()
    with (
        served(run.database, port) as server,
        opened(browser, f"http://127.0.0.1:{port}/boat/{SURVEY}", PHONE) as page,
    ):
        expect(page.locator("#crew")).to_contain_text("Ada Test", timeout=20_000)
        measure(page, "16")
        scan(page, vials[0])
        held(page, 0)
        server.kill()
        server.wait()
        for vial, length in zip(vials[1:3], ("12", "13"), strict=True):
            measure(page, length)
            scan(page, vial)
        held(page, 2)
        with served(run.database, port):
            held(page, 0)
    assert stored(run) == {vials[0]: "16", vials[1]: "12", vials[2]: "13"}


def test_two_devices_on_one_survey_see_each_other_and_share_the_numbers(
    browser: Browser, day: tuple[Runner, list[str]]
) -> None:
    run, vials = day
    port = free_port()
    address = f"http://127.0.0.1:{port}/boat/{SURVEY}"
    with (
        served(run.database, port),
        opened(browser, address, PHONE) as one,
        opened(browser, address, PHONE) as other,
    ):
        for page in (one, other):
            expect(page.locator("#crew")).to_contain_text("Ada Test", timeout=20_000)
        for n in range(4):
            page = (one, other)[n % 2]
            measure(page, str(11 + n))
            scan(page, vials[n])
        held(one, 0)
        held(other, 0)
        one.get_by_role("button", name="Last ten").click()
        expect(one.locator("#ten")).to_contain_text("14 in", timeout=20_000)
    numbers = [one["fish"] for one in json.loads(run("fish", "list", SURVEY, "--json").stdout)["fish"]]
    assert sorted(numbers) == [1, 2, 3, 4]


@pytest.mark.parametrize("size", [PHONE, DESK])
def test_every_page_passes_the_accessibility_rules_and_fits_the_screen(
    browser: Browser, day: tuple[Runner, list[str]], size: tuple[int, int]
) -> None:
    run, vials = day
    run("fish", "log", SURVEY, input=f"{vials[0]} 16 in\n")
    port = free_port()
    pages = (
        "/",
        f"/coverage/{SURVEY}",
        "/inbox",
        "/lakes",
        f"/vial?code={vials[0]}",
        "/labels",
        "/devices",
        "/pair",
    )
    with served(run.database, port):
        for path in (*pages, f"/boat/{SURVEY}"):
            with opened(browser, f"http://127.0.0.1:{port}{path}", size) as page:
                assert accessibility_faults(page) == [], path
                assert not wider_than_the_screen(page), path


def test_the_keys_of_the_boat_are_large_and_its_page_is_small(
    browser: Browser, day: tuple[Runner, list[str]]
) -> None:
    run, _ = day
    port = free_port()
    with served(run.database, port), opened(browser, f"http://127.0.0.1:{port}/boat/{SURVEY}", PHONE) as page:
        sizes = page.evaluate(
            "[...document.querySelectorAll('#fish .k, nav .k')].map(k => k.getBoundingClientRect())"
            ".map(b => [b.width, b.height])"
        )
        assert len(sizes) == 24
        assert min(min(pair) for pair in sizes) >= 92
        sent = page.evaluate(
            "performance.getEntries().filter(e => e.transferSize).reduce((sum, e) => sum + e.transferSize, 0)"
        )
        assert 0 < sent < 100_000


def test_a_phone_is_paired_by_the_form_and_revoked_by_the_button(
    browser: Browser, day: tuple[Runner, list[str]]
) -> None:
    run, _ = day
    port = free_port()
    with served(run.database, port), opened(browser, f"http://127.0.0.1:{port}/devices", DESK) as page:
        page.get_by_role("button", name="Pair a device that logs").click()
        code = page.locator("code.address").first.inner_text().split("code=")[1]
        page.goto(f"http://127.0.0.1:{port}/pair?code={code}")
        page.get_by_label("Your name").fill("Bo")
        page.get_by_label("A name for this device").fill("phone")
        page.get_by_role("button", name="Pair").click()
        expect(page.get_by_role("heading", level=1)).to_have_text("Surveys")
        page.goto(f"http://127.0.0.1:{port}/devices")
        page.get_by_role("button", name="Revoke phone").click()
        expect(page.get_by_role("cell", name="over")).to_be_visible()
