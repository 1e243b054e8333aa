"""A whole day on the boat in a real browser, 390 x 844: 60 fish, and every one of them stored, none twice."""

from __future__ import annotations

import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest
from boat_support import SURVEY, Crew, opened_survey, photo_of, ready, stored, words
from browser_support import PHONE, opened
from conftest import Runner
from pages_support import free_port, served
from playwright.sync_api import Browser, expect

WEIGHTS = {
    "16 1/2": ("2", "13"),
    "7": ("0", "3"),
    "18": ("3", "8"),
    "9 1/4": ("0", "6"),
    "11 1/2": ("0", "13"),
}
LENGTHS = ["16 1/2", "12", "9 1/4", "14 3/8", "7", "21 3/4", "11 1/2", "13", "18", "15 1/4"]


@pytest.fixture
def day(tmp_path: Path, sqlite_template: Path) -> tuple[Runner, list[str]]:
    database = tmp_path / "boat.sqlite"
    shutil.copy(sqlite_template, database)
    run = Runner(str(database))
    return run, opened_survey(run)


def measured_first(crew: Crew, vials: list[str]) -> None:
    """20 fish, the vial scanned after the length; every fourth weighed; scanners that send Enter, Tab or nothing."""
    for n, vial in enumerate(vials[:20]):
        before = crew.touches
        entered = LENGTHS[n % 10]
        length = crew.measure(entered)
        expect(crew.page.locator("#banner")).to_contain_text(
            "SWAB"
        )  # wanted, or not needed: said before the swab
        weight = crew.weigh(*WEIGHTS[entered]) if n % 4 == 0 else None
        assert crew.touches - before <= (8 if weight else 4)
        crew.scan(vial, ("Enter", "Tab", "")[n % 3])
        crew.gone()
        crew.wanted.append(words(length, weight, vial))


def photographed(crew: Crew, vials: list[str], folder: Path) -> None:
    """Six labels photographed: sharp, blurred, tilted, with glare; and one whose cap is of another vial."""
    lights: list[dict[str, object]] = [
        {}, {"blur": 0.4}, {"tilted": 25.0}, {"glare": 0.02}, {"blur": 0.3, "tilted": 15.0}, {"noise": 14.0},
    ]  # fmt: skip
    for n, (vial, light) in enumerate(zip(vials[20:26], lights, strict=True)):
        length = crew.measure("15")
        crew.page.locator("#photo").set_input_files(photo_of(vial, folder, 3 + n, **light))
        crew.gone()
        crew.wanted.append(words(length, None, vial))


def wrong_scans(crew: Crew, vials: list[str]) -> None:
    """A smeared code, a vial of another fish, a label of nobody: refused with the reason, and the fish waits."""
    for code, said in (
        (vials[26][:-1] + ("A" if vials[26][-1] != "A" else "B"), "does not check"),
        (vials[0], "is already on fish 1"),
        ("BG4F7Q2KR", "not from this office"),
    ):
        crew.measure("13")
        crew.scan(code)
        expect(crew.page.locator("#said")).to_contain_text(said, timeout=20_000)
        crew.touch("Clear")
    crew.held(0)


def undone(crew: Crew, vials: list[str]) -> None:
    """Undo takes the last fish out, redo brings it back; one is corrected, with a reason typed."""
    crew.measure("85")
    expect(crew.page.locator("#banner")).to_have_text("85 in cannot be: measure again")
    crew.touch("Clear")
    length = crew.measure("14")
    crew.scan(vials[26])
    crew.gone()
    crew.view("last")
    ten = crew.page.locator("#ten")
    expect(ten).to_contain_text("14 in")
    crew.touch("Undo")
    expect(ten).not_to_contain_text("14 in")
    crew.touch("Redo")
    expect(ten).to_contain_text("14 in")
    crew.page.get_by_role("button", name="Correct fish").first.click()
    crew.page.get_by_label("Weight, lb").fill("1 lb 8 oz")
    crew.page.get_by_label("Another reason, typed").fill("weighed later")
    crew.touch("The typed reason")
    expect(ten).to_contain_text("1.5 lb")
    crew.view("fish")
    crew.wanted.append(words(length, 1.5, vials[26]))


def in_the_well(crew: Crew, vials: list[str]) -> None:
    """Three fish wait: one gets its vial, one its weight and its vial, one is released after a warning."""
    for length in ("8", "8 1/2", "26"):
        crew.measure(length)
        crew.touch("To the well")
        crew.gone()
    crew.view("well")
    wait = crew.page.locator("#waiting .tile")
    expect(wait).to_have_count(3)
    wait.first.get_by_role("button", name="Vial or weight").click()
    crew.scan(vials[27])
    crew.view("well")
    expect(wait).to_have_count(2)
    wait.first.get_by_role("button", name="Vial or weight").click()
    for name in ("0", "point"):  # a slip, taken back
        crew.touch(name)
    crew.touch("delete")
    crew.touch("delete")
    crew.weigh("0", "5")
    crew.scan(vials[28])
    crew.view("well")
    expect(wait).to_have_count(1)
    wait.first.get_by_role("button", name="Release").click()
    expect(crew.page.locator("#ask-text")).to_contain_text("trophy is still short")
    crew.touch("Release it")
    expect(wait).to_have_count(0)
    crew.view("fish")
    crew.wanted += [words(8, None, vials[27]), words(8.5, 5 / 16, vials[28]), words(26)]


def in_trouble(crew: Crew, vials: list[str], run: Runner, server: subprocess.Popen[bytes]) -> None:
    """Two fish while another program holds the database, one while the disk takes nothing: held, said, then stored."""
    other = sqlite3.connect(run.database, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    for n, length in enumerate(("13", "14")):
        value = crew.measure(length)
        crew.scan(vials[57 + n])
        crew.gone()
        crew.wanted.append(words(value, None, vials[57 + n]))
    crew.held(2)
    other.execute("ROLLBACK")
    other.close()
    crew.held(0)
    if sys.platform != "linux":  # nothing else can take the room from a running program
        return
    import resource

    was = resource.prlimit(server.pid, resource.RLIMIT_FSIZE, (0, resource.RLIM_INFINITY))
    value = crew.measure("18")
    crew.scan(vials[59])
    expect(crew.page.locator("#said")).to_contain_text("disk", timeout=20_000)
    crew.held(1)
    resource.prlimit(server.pid, resource.RLIMIT_FSIZE, was)
    crew.held(0)
    crew.wanted.append(words(value, None, vials[59]))


def what_holds(crew: Crew) -> None:
    """Say once on the trip page what the swabs are kept in and where the boat is."""
    crew.page.locator("#trip-key").click()
    crew.page.locator("#medium").select_option("ethanol")
    crew.page.locator("#site").fill("run 2")
    crew.view("fish")
    expect(crew.page.locator("#next")).to_have_text("ethanol, run 2")


def without_a_server(crew: Crew, vials: list[str], run: Runner, port: int) -> None:
    """Five fish and a reload of the page while no server runs; a terminal logs one fish meanwhile."""
    for n, length in enumerate(("10", "17", "19 1/2", "12", "23")):
        value = crew.measure(length)
        crew.scan(vials[29 + n])
        crew.gone()
        crew.wanted.append(words(value, None, vials[29 + n]))
    crew.held(5, link=False)
    crew.page.once("dialog", lambda asked: asked.accept())  # something is unsent: the page warns, and goes
    crew.page.reload()
    crew.held(5, link=False)  # the shell comes back on a secure origin, and what was held with it
    run("fish", "log", SURVEY, input=f"{vials[34]} 21 in\n")
    crew.wanted.append(words(21, None, vials[34]))


def cut_off(crew: Crew, vials: list[str]) -> None:
    """Ten fish while the link is cut, two of them only measured; nothing is stored twice when it is back."""
    crew.page.context.set_offline(True)
    for n in range(8):
        length = crew.measure(LENGTHS[n])
        crew.scan(vials[35 + n])
        crew.gone()
        crew.wanted.append(words(length, None, vials[35 + n]))
    for length in ("5", "6"):
        value = crew.measure(length)
        crew.touch("No swab, release")
        expect(crew.page.locator("#ask-text")).to_contain_text("substock is still short")
        crew.touch("Release it")
        crew.gone()
        crew.wanted.append(words(value))
    crew.held(10, link=False)
    crew.page.locator("#trip-key").click()
    expect(crew.page.locator("#link")).to_contain_text("cannot be reached")
    crew.view("fish")
    crew.page.context.set_offline(False)
    crew.held(0)


def vial_first(crew: Crew, vials: list[str]) -> None:
    """The other order: the scan of the next vial closes the fish before it; some are picked by four characters."""
    for n in range(14):
        before = crew.touches
        if n < 11:
            crew.scan(vials[43 + n])
        else:
            crew.page.locator("#pick").click()
            crew.page.locator("#four").fill(vials[43 + n][-4:])
            crew.touch(f"{vials[43 + n][-4:]}, vial {vials[43 + n]}")
        expect(crew.page.locator("#s-vial")).to_have_text(vials[43 + n])
        length = crew.measure(LENGTHS[n % 10])
        assert crew.touches - before <= 5  # with the label's tile
        crew.wanted.append(words(length, None, vials[43 + n]))
    crew.touch("Store fish")
    crew.held(0)


def tallied(crew: Crew) -> None:
    """A long press on a size adds fish that were only measured."""
    crew.view("tally")
    stock = crew.page.locator("#classes .tile", has_text="stock (8")
    stock.click(delay=700)
    crew.touch("4")
    expect(stock).to_contain_text("caught")
    crew.held(0)
    crew.view("fish")
    crew.wanted.append(words(None, n_fish=4, size="stock"))


def test_a_day_of_sixty_fish_is_stored_whole_and_none_of_it_twice(
    browser: Browser, day: tuple[Runner, list[str]], tmp_path: Path
) -> None:
    run, vials = day
    port = free_port()
    with (
        served(run.database, port) as server,
        opened(browser, f"http://127.0.0.1:{port}/boat/{SURVEY}", PHONE) as page,
    ):
        crew = ready(page)
        what_holds(crew)
        measured_first(crew, vials)
        photographed(crew, vials, tmp_path)
        wrong_scans(crew, vials)
        undone(crew, vials)
        in_the_well(crew, vials)
        in_trouble(crew, vials, run, server)
        expect(page.locator("#reload")).to_contain_text("comes back")
        server.kill()  # -9, as a flat battery
        server.wait()
        without_a_server(crew, vials, run, port)
        with served(run.database, port):
            crew.held(0)
            cut_off(crew, vials)
            run("correct", "survey", SURVEY, "--order", "vial,length", "--why", "two people now")
            page.locator("#trip-key").click()
            expect(page.locator("#order")).to_contain_text("vial first", timeout=20_000)
            crew.view("fish")
            vial_first(crew, vials)
            tallied(crew)
            second = page.get_by_role("button", name="Second vial of fish").first
            crew.view("last")
            second.click()
            crew.scan(vials[60])
            crew.held(0)
            crew.wanted[-2] += f" {vials[60]}"
            crew.wanted[-2] = words_sorted(crew.wanted[-2])
    there = stored(run)
    assert sorted(there.values()) == sorted(crew.wanted)
    assert len(there) == 64  # 62 fish and a tally by the page, one by the terminal
    with closing(sqlite3.connect(run.database)) as database:
        kept = database.execute(
            "SELECT medium, count(*) FROM vial WHERE fish_id IS NOT NULL GROUP BY medium ORDER BY 2"
        )
        assert [medium for medium, _ in kept] == [None, "ethanol"]  # the terminal's, and the page's
        [(n,)] = database.execute("SELECT count(*) FROM fish WHERE site = 'run 2'")
        assert n == 63


def words_sorted(fish: str) -> str:
    parts = fish.split()
    vials = sorted(part for part in parts if len(part) == 9)
    return " ".join([part for part in parts if len(part) != 9] + vials)
