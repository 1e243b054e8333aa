"""The boat's page in a real browser: touches and time a fish by the browser's own clock, size, first paint.

    python tests/benchmarks/boat_page.py [--write]

390 x 844, Chromium, headless. A hand in a glove is a pause of 0.7 s before each touch and of 1.5 s before a scan (our
own guess, no source); the page's part is what the browser's clock counts from the scan until the card is empty again,
and until the server's word of the fish is on the screen. First paint: the processor slowed four times, nothing cached.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

from results import save

sys.path.insert(0, str(Path(__file__).parent.parent))
sys.path.insert(0, str(Path(__file__).parent.parent / "faces" / "pages"))
from boat_support import SURVEY, Crew, opened_survey, ready
from browser_support import PHONE, opened, started
from conftest import Runner
from pages_support import free_port, served

from geneticlog.store.engine import open_engine
from geneticlog.store.migrate import upgrade

TOUCH, SCAN = 700, 1500  # milliseconds a hand takes before it touches, or scans
N = 5
CLOCK = """() => {
  const gone = document.getElementById("s-length"), said = document.getElementById("said");
  window.at = {};
  new MutationObserver(() => { if (gone.textContent === "–") window.at.gone = performance.now(); })
    .observe(gone, {childList: true, characterData: true, subtree: true});
  new MutationObserver(() => { if (said.textContent.startsWith("fish")) window.at.said = performance.now(); })
    .observe(said, {childList: true, characterData: true, subtree: true});
  addEventListener("keydown", () => { window.at.scan = window.at.scan || performance.now(); }, true);
  addEventListener("pointerdown", () => { window.at.first = window.at.first || performance.now(); }, true);
}"""


class GlovedCrew(Crew):
    """A crew that takes its time before each touch."""

    def touch(self, name: str) -> None:
        self.page.wait_for_timeout(TOUCH)
        super().touch(name)


def one_fish(
    crew: GlovedCrew, vial: str, length: str, weight: tuple[str, str] | None, vial_first: bool
) -> list[float]:
    """Return touches, seconds in all, milliseconds to an empty card, milliseconds to the server's word."""
    page = crew.page
    page.evaluate("() => { window.at = {}; }")
    before = crew.touches
    if vial_first:
        crew.scan(vial)
    crew.measure(length)
    if weight:
        crew.weigh(*weight)
    page.wait_for_timeout(SCAN)
    if vial_first:
        page.evaluate("() => { window.at.scan = performance.now(); }")
        crew.touch("Store fish")
    else:
        page.evaluate("() => { window.at.scan = 0; }")
        crew.scan(vial)
    while not page.evaluate("() => Boolean(window.at.said && window.at.gone)"):
        page.wait_for_timeout(20)
    at = page.evaluate("() => window.at")
    start = at["first"] - TOUCH
    end = at["said"]
    since = at["scan"] + (TOUCH if vial_first else 0)
    return [crew.touches - before, (end - start) / 1000, at["gone"] - since, end - since]


def measured(crew: GlovedCrew, vials: list[str]) -> list[str]:
    crew.page.evaluate(CLOCK)
    ways: list[tuple[str, str, tuple[str, str] | None, bool]] = [
        ("length, then scan", "16", None, False),
        ("length with a half, then scan", "16 1/2", None, False),
        ("length with three eighths, then scan", "16 3/8", None, False),
        ("length and weight, then scan", "16", ("2", "9"), False),
        ("length with three eighths and weight, then scan", "16 3/8", ("2", "13"), False),
        ("scan, then length", "16 1/2", None, True),
    ]
    rows = []
    for name, length, weight, vial_first in ways:
        each = [one_fish(crew, vials.pop(0), length, weight, vial_first) for _ in range(N)]
        touches, seconds, gone, said = zip(*each, strict=True)
        ms: Callable[[Any], str] = lambda values: f"{statistics.median(values):.0f} ({max(values):.0f})"  # noqa: E731
        rows.append(
            f"| {name} | {max(touches):.0f} | {statistics.median(seconds):.1f} ({max(seconds):.1f}) |"
            f" {ms(gone)} | {ms(said)} |"
        )
    return rows


def loads(browser: Any, address: str) -> tuple[list[float], dict[str, int]]:
    """Return the first paints on a slowed processor, and the bytes that came for each part of the page."""
    paints = []
    for _ in range(N):
        with opened(browser, address.partition("/boat/")[0] + "/pair", PHONE) as page:
            page.context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": 4})
            page.goto(address)
            page.wait_for_function("() => performance.getEntriesByName('first-contentful-paint').length")
            paints.append(
                page.evaluate("() => performance.getEntriesByName('first-contentful-paint')[0].startTime")
            )
            parts = page.evaluate(
                "() => Object.fromEntries(performance.getEntries().filter(e => e.transferSize)"
                ".map(e => [new URL(e.name).pathname, e.transferSize]))"
            )
    return paints, parts


def main() -> None:
    with tempfile.TemporaryDirectory() as name, started() as browser:
        database = str(Path(name) / "boat.sqlite")
        engine = open_engine(f"sqlite:///{database}", enforce_links=False)
        upgrade(engine)
        engine.dispose()
        vials = opened_survey(Runner(database), 60, wanted=40)
        address = f"http://127.0.0.1:{(port := free_port())}/boat/{SURVEY}"
        with served(database, port):
            paints, parts = loads(browser, address)
            with opened(browser, address, PHONE) as page:
                ready(page)
                rows = measured(GlovedCrew(page), vials)
    sizes = ", ".join(f"{path.rpartition('/')[2]} {n / 1000:.1f}" for path, n in sorted(parts.items()))
    save(
        "boat_page",
        [
            f"First paint, processor slowed four times: {statistics.median(paints):.0f} ms (worst of {N}:"
            f" {max(paints):.0f} ms). Sent: {sum(parts.values()) / 1000:.1f} kB ({sizes}).",
            "",
            f"Median (worst) of {N} fish; a pause of {TOUCH / 1000} s before a touch, {SCAN / 1000} s before the scan.",
            "",
            "| way | touches | seconds a fish, to the server's word | ms to an empty card | ms to the server's word |",
            "|---|---|---|---|---|",
            *rows,
        ],
    )


if __name__ == "__main__":
    main()
