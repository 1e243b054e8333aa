"""The list of lakes in a real browser: first paint, a sort, a filter; beside the same table as plain static HTML.

    python tests/benchmarks/lakes_page.py [LAKES] [--write]

Medians of five loads and of five of each press, in Chromium, headless, without a disk cache. "To paint" is from the
press to the frame after it. The static page holds every row of the same list and sorts by moving its rows.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

from portfolio import NOW, fill
from results import save
from sqlalchemy.orm import Session

sys.path.insert(0, str(Path(__file__).parent.parent))
from browser_support import DESK, opened, started

from geneticlog.faces.report.portfolio import lakes_html
from geneticlog.rules.stamp import Stamp
from geneticlog.store.engine import open_engine
from geneticlog.store.migrate import upgrade
from geneticlog.work.portfolio.working_list import working_list

TO_PAINT = """(press) => new Promise((done) => {
  const start = performance.now();
  new Function(press)();
  requestAnimationFrame(() => setTimeout(() => done(performance.now() - start), 0));
})"""
FIRST_PAINT = "() => performance.getEntriesByName('first-contentful-paint')[0].startTime"
SORT = "document.querySelector('th[data-key={key}] button').click()"
FILTER = """const field = document.getElementById('f-text'); field.value = '{text}';
field.dispatchEvent(new Event('change', {{bubbles: true}}))"""


def static_page(page: Any) -> str:
    """Return the same table with every row in it, and a sort that moves the rows."""
    page.evaluate("() => window.dispatchEvent(new Event('beforeprint'))")
    table = page.evaluate("() => document.getElementById('list').outerHTML")
    style = page.evaluate("() => [...document.querySelectorAll('style')].map((s) => s.outerHTML).join('')")
    script = """<script>
    document.querySelectorAll('#list thead button').forEach((button, at) => button.addEventListener('click', () => {
      const body = document.querySelector('#list tbody');
      const text = (row) => row.cells[at].textContent;
      [...body.rows].sort((a, b) => text(a).localeCompare(text(b), 'en', {numeric: true}))
        .forEach((row) => body.appendChild(row));
    }));
    document.addEventListener('change', (event) => {
      const words = event.target.value.toLowerCase();
      [...document.querySelector('#list tbody').rows].forEach((row) => {
        row.hidden = !row.textContent.toLowerCase().includes(words);
      });
    });</script>"""
    search = '<input id="f-text" aria-label="words">'
    return f"<!DOCTYPE html><html lang=en><meta charset=utf-8><title>static</title>{style}{search}{table}{script}"


def measured(browser: Any, file: Path) -> list[str]:
    loads, sorts, filters = [], [], []
    for _ in range(5):
        with opened(browser, str(file), DESK) as page:
            page.wait_for_selector("#list tbody tr")
            loads.append(page.evaluate(FIRST_PAINT))
            for key in ("share", "lake", "step", "on", "why"):
                sorts.append(page.evaluate(TO_PAINT, SORT.format(key=key)))
            for text in ("1", "lake 12", ""):
                filters.append(page.evaluate(TO_PAINT, FILTER.format(text=text)))
            nodes = page.evaluate("() => document.getElementsByTagName('*').length")
    ms: Callable[[list[float]], str] = lambda values: f"{statistics.median(values):.0f} ({max(values):.0f})"  # noqa: E731
    return [f"{file.stat().st_size / 1e6:.2f}", f"{nodes:,}", ms(loads), ms(sorts), ms(filters)]


def main() -> None:
    n_lakes = next((int(word) for word in sys.argv[1:] if word.isdigit()), 2000)
    with tempfile.TemporaryDirectory() as name, started() as browser:
        folder = Path(name)
        engine = open_engine(f"sqlite:///{folder}/size.sqlite", enforce_links=False)
        upgrade(engine)
        fill(engine, n_lakes, 20)
        with Session(engine) as session:
            listed = working_list(session, today=NOW.date())
        engine.dispose()
        page_file, static_file = folder / "lakes.html", folder / "static.html"
        page_file.write_text(lakes_html(listed, stamp=Stamp(NOW, "x")), encoding="utf-8")
        with opened(browser, str(page_file), DESK) as page:
            static_file.write_text(static_page(page), encoding="utf-8")
        rows = [
            ("the list", measured(browser, page_file)),
            ("plain static table", measured(browser, static_file)),
        ]
    save(
        "lakes_page",
        [
            f"{n_lakes:,} lakes; milliseconds, median (worst)",
            "",
            "| page | MB | nodes | first paint | a sort, to paint | a filter, to paint |",
            "|---|---|---|---|---|---|",
            *(f"| {name} | {' | '.join(cells)} |" for name, cells in rows),
        ],
    )


if __name__ == "__main__":
    main()
