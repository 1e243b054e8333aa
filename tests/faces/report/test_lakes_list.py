"""The list of lakes as a page to work with: state, reason and next step, chosen and sorted, printed whole."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import html5lib
import pypdfium2
import pytest
from browser_support import DESK, PHONE, accessibility_faults, opened, wider_than_the_screen
from conftest import Runner
from lake_situations import add_stories
from lakes_support import NOW, add_fish, add_lake, add_survey, add_typed, add_vial
from sqlalchemy.orm import Session

from geneticlog.faces.app.numbers_in_words import percent
from geneticlog.faces.report.paper import lakes_pdf
from geneticlog.faces.report.portfolio import change_cell, lakes_html
from geneticlog.rules.lakes.next_step import NOTHING_DUE, next_step
from geneticlog.rules.lakes.state import State
from geneticlog.rules.stamp import Stamp
from geneticlog.rules.statistics.estimates import unseen_share
from geneticlog.work.portfolio.working_list import ListedLake, working_list

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

TODAY = date(2026, 5, 12)
MANY = [0.1, 0.2, 0.3, 0.2, 0.1, 0.15, 0.25, 0.2, 0.3, 0.1, 0.2, 0.2]
HTML = "{http://www.w3.org/1999/xhtml}"


def some_lakes(session: Session, n_more: int = 0) -> list[ListedLake]:
    """One lake of each kind, and more calm ones."""
    add_lake(
        session, "NEVER", "Never </script><b>surveyed</b>", owner="Bea & Sons (invented)", county="Birch"
    )
    calm = add_lake(session, "CALM", "Calm Lake", owner="Ash Estate (invented)", county="Alder")
    add_typed(session, add_survey(session, calm, "CALM-1", date(2026, 4, 1)), [(13.0, q) for q in MANY])
    rose = add_lake(session, "ROSE", "Rose Lake", owner="Ash Estate (invented)", county="Birch")
    for year, more in ((2024, 0.0), (2026, 0.3)):
        survey = add_survey(session, rose, f"ROSE-{year}", date(year, 4, 1))
        add_typed(session, survey, [(13.0, q + more) for q in MANY])
    waits = add_lake(session, "WAITS", "Waits Lake")
    for _ in range(3):
        add_vial(session, add_fish(session, add_survey(session, waits, f"W-{_}", date(2026, 4, 1 + _)), 13.0))
    few = add_lake(session, "FEW", "Few Lake")
    add_typed(session, add_survey(session, few, "FEW-1", date(2022, 4, 1)), [(13.0, 0.2), (13.0, 0.4)])
    for at in range(n_more):
        lake = add_lake(session, f"M{at}", f"More {at}")
        add_typed(
            session, add_survey(session, lake, f"M{at}-1", date(2026, 4, 1)), [(13.0, q) for q in MANY[:5]]
        )
    session.commit()
    return working_list(session, today=TODAY)


def test_state_reason_and_next_step_of_each_lake(session: Session) -> None:
    found = {one.line.lake: one for one in some_lakes(session)}
    assert {code: str(one.state) for code, one in found.items()} == {
        "NEVER": "never swabbed", "CALM": "known", "ROSE": "known", "WAITS": "swabbed, not sent",
        "FEW": "too few to read",
    }  # fmt: skip
    assert {code: one.next_step for code, one in found.items()} == {
        "NEVER": "swab for the first time", "CALM": NOTHING_DUE, "ROSE": NOTHING_DUE, "WAITS": "send the samples",
        "FEW": "swab more fish",
    }  # fmt: skip
    assert found["ROSE"].reasons == ("the share rose by 30 points since 2024",)
    assert found["WAITS"].last_survey_on == date(2026, 4, 3)


@pytest.mark.parametrize(
    ("state", "more", "step"),
    [
        (State.KNOWN, {"n_open": 2}, "decide 2 findings"),
        (State.PARTLY, {"n_open": 0, "n_held": 1}, "decide what is held"),
        (State.PARTLY, {"n_open": 0}, "wait for the rest from the lab"),
        (State.KNOWN, {"n_open": 0, "old": True, "fell": True}, "survey again"),
        (State.KNOWN, {"n_open": 0, "fell": True}, "survey again to confirm the fall"),
        (State.ALL_FAILED, {"n_open": 0}, "swab again"),
    ],
)
def test_the_next_step(state: State, more: dict[str, Any], step: str) -> None:
    assert next_step(state, **more) == step


@pytest.mark.parametrize(
    ("change", "low", "high", "said"),
    [
        (0.3, 0.2201, 0.3799, ("+30", "+22 to +38")),
        (-0.3, -0.3799, -0.2201, ("−30", "−22 to −38")),
        (0.02, -0.0501, 0.0901, ("+2", "−6 to +10")),
        (0.22, 0.0001, 0.4299, ("+22", "under +1 to +43")),
        (-0.22, -0.4299, -0.0001, ("−22", "under −1 to −43")),
        (0.0, 0.0, 0.0, ("0", "0 to 0")),
    ],
)
def test_a_change_is_told_in_one_unit(change: float, low: float, high: float, said: tuple[str, str]) -> None:
    assert change_cell(change, low, high) == said


def test_the_page_is_valid_and_what_was_typed_cannot_leave_its_place(sqlite_session: Session) -> None:
    text = lakes_html(some_lakes(sqlite_session), stamp=Stamp(NOW, "Ada <i>Test</i>"))
    page: Any = html5lib.HTMLParser(strict=True).parse(text)
    assert "http" not in text
    carried = next(one for one in page.iter(f"{HTML}script") if one.get("type") == "application/json")
    rows = json.loads(carried.text)["rows"]
    names = [row["lake"] for row in rows]
    of_rose = next(row for row in rows if row["code"] == "ROSE")
    assert of_rose["miss"].replace("\u00a0", " ") == f"could miss {percent(unseen_share(of_rose['n']))}"
    assert "Never </script><b>surveyed</b>" in names
    assert not list(page.iter(f"{HTML}i"))


def rows_of(page: Page) -> list[str]:
    return page.locator("#list tbody th").evaluate_all("all => all.map((one) => one.firstChild.textContent)")


def test_the_list_is_sorted_chosen_and_printed_whole(
    sqlite_session: Session, tmp_path: Path, browser: Browser
) -> None:
    lakes = some_lakes(sqlite_session, n_more=120)
    file = tmp_path / "lakes.html"
    file.write_text(
        lakes_html(lakes, stamp=Stamp(NOW, "Ada Test"), links={"CALM": "calm/calm.html"}), encoding="utf-8"
    )
    with opened(browser, str(file), DESK) as page:
        assert len(rows_of(page)) < len(lakes)  # drawn as they are needed
        assert rows_of(page)[0] == lakes[0].line.name
        assert accessibility_faults(page) == []
        page.get_by_role("button", name="Share of ancestry").click()
        assert rows_of(page)[0] == "Rose Lake"
        assert page.locator("th[data-key=share]").get_attribute("aria-sort") == "descending"
        page.get_by_role("button", name="Lake", exact=True).click()
        assert rows_of(page)[:4] == ["Calm Lake", "Few Lake", "More 0", "More 1"]
        page.get_by_label("State", exact=True).select_option("never swabbed")
        assert rows_of(page) == ["Never </script><b>surveyed</b>"]
        assert page.get_by_role("status").inner_text() == "1 of 125 lakes"
        page.get_by_role("button", name="Show all").click()
        page.wait_for_function("document.querySelectorAll('#list tbody tr').length > 40")
        page.get_by_label("County", exact=True).select_option("Birch")
        page.get_by_label("Owner", exact=True).select_option("Ash Estate (invented)")
        assert rows_of(page) == ["Rose Lake"]
        assert "+30" in page.locator("#list tbody").inner_text()
        page.get_by_role("button", name="Show all").click()
        page.get_by_label("Lake, owner or words").fill("calm")
        page.wait_for_function("document.querySelectorAll('#list tbody tr').length === 1")
        assert page.locator("#list tbody a").get_attribute("href") == "calm/calm.html"
        page.get_by_role("button", name="Show all").click()
        page.wait_for_function("document.querySelectorAll('#list tbody tr').length > 40")
        page.pdf(path=str(tmp_path / "printed.pdf"), format="Letter", landscape=True)
    pages = [one.get_textpage().get_text_range() for one in pypdfium2.PdfDocument(tmp_path / "printed.pdf")]
    assert all(
        "Needs attention" in text for text in pages if "More " in text
    )  # headings on every page of rows
    assert all(any(f"More {at}\r" in text or f"More {at}\n" in text for text in pages) for at in range(120))


def test_the_list_fits_a_phone_with_the_reason_near_the_top(
    sqlite_session: Session, tmp_path: Path, browser: Browser
) -> None:
    file = tmp_path / "lakes.html"
    file.write_text(lakes_html(some_lakes(sqlite_session), stamp=Stamp(NOW, "Ada Test")), encoding="utf-8")
    with opened(browser, str(file), PHONE) as page:
        assert not wider_than_the_screen(page)
        assert accessibility_faults(page) == []
        card = page.locator("#list tbody tr").first
        tops = [
            card.locator(f"td[data-name={name}]").bounding_box()["y"]
            for name in ("Attention", "State", "Next")
        ]
        assert tops == sorted(tops)
        page.get_by_label("Sort by", exact=True).select_option("lake")
        assert rows_of(page)[0] == "Calm Lake"


def test_the_reports_are_written_beside_the_list_and_linked(
    run_on_sqlite: Runner, tmp_path: Path, sqlite_session: Session
) -> None:
    some_lakes(sqlite_session)
    out = tmp_path / "out"
    run_on_sqlite("report", "lakes", "--out", out, "--with-reports")
    assert (out / "calm" / "calm.html").is_file()
    assert not (out / "never").exists()  # never surveyed: there is nothing to report
    assert '"link":"calm/calm.html"' in (out / "lakes.html").read_text(encoding="utf-8")
    text = "".join(page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(out / "lakes.pdf"))
    assert "Calm Lake" in text
    assert "the share rose by 30 points" in text.replace("\r\n", " ")
    run_on_sqlite("report", "lakes", "--with-reports", fails=2)
    given = report_names(run_on_sqlite)
    assert len(given) == len([path for path in out.iterdir() if path.is_dir()]) > 1
    before = {path: path.read_bytes() for path in out.rglob("*.html")}
    last = max(path for path in before if path.parent != out)
    last.write_text("changed by somebody", encoding="utf-8")
    told = run_on_sqlite("report", "lakes", "--out", out, "--with-reports", fails=4).output
    assert f"holds {last.name}" in told
    assert {path: path.read_bytes() for path in before} == {**before, last: b"changed by somebody"}
    assert report_names(run_on_sqlite) == given


def report_names(run: Runner) -> list[str]:
    return sorted(one["report"] for one in json.loads(run("report", "list", "--json").stdout)["reports"])


def test_a_lake_without_results_needs_attention_for_the_state_of_its_samples(sqlite_session: Session) -> None:
    add_stories(sqlite_session)
    sqlite_session.commit()
    found = {one.line.name: one for one in working_list(sqlite_session, today=TODAY)}
    for name in ("Never swabbed", "Not sent", "At the lab", "All failed"):
        assert found[name].reasons[0] == found[name].state_words, name
    assert found["Four fish"].reasons[0] == str(found["Four fish"].state)
    assert found["At the lab"].reasons == ("at the lab since 2026-05-02 (3 fish)",)
    assert not any("no result yet" in reason for one in found.values() for reason in one.reasons)


def test_lakes_are_in_the_order_of_their_numbers_and_no_cell_is_cut_on_paper(sqlite_session: Session) -> None:
    numbers = (10, 2, 1, 33, 4, 5, 6, 7)
    for at in numbers:
        lake = add_lake(sqlite_session, f"L{at}", f"Lake {at} with " + "a name so long " * 6)
        for year in (2024, 2026):
            survey = add_survey(sqlite_session, lake, f"L{at}-{year}", date(year, 4, 1), gear=f"gear {year}")
            add_typed(sqlite_session, survey, [(length, q) for length in (6.5, 13.0) for q in MANY[:5]])
    sqlite_session.commit()
    lakes = working_list(sqlite_session, today=TODAY)
    assert [one.line.lake for one in lakes] == [f"L{at}" for at in sorted(numbers)]
    pdf = pypdfium2.PdfDocument(lakes_pdf(lakes, stamp=Stamp(NOW, "Ada Test"), paper="us-letter"))
    names, last_lines = ends_of(pdf[0], "Lake"), ends_of(pdf[0], "gear")
    assert len(names) == len(last_lines) == len(numbers)  # two rows of four cells
    assert min(bottom for bottom, _ in last_lines[:4]) > max(top for _, top in names[4:])


def ends_of(page: pypdfium2.PdfPage, word: str) -> list[tuple[float, float]]:
    """Return bottom and top of each place where a word stands on a page, from the top down."""
    text, found = page.get_textpage(), []
    search = text.search(word, match_case=True)
    while (place := search.get_next()) is not None:
        _, bottom, _, top = text.get_charbox(place[0])
        found.append((bottom, top))
    return sorted(found, reverse=True)
