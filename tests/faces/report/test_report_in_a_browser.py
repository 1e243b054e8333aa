"""The pages of the reports in a real browser, at the size of a desk and of a phone."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from browser_support import DESK, PHONE, accessibility_faults, cut_tables, opened, wider_than_the_screen
from conftest import Runner
from lakes_support import add_lake, add_stocking, add_survey, add_typed
from sqlalchemy.orm import Session

from geneticlog.store.engine import database_url, open_engine

if TYPE_CHECKING:
    from playwright.sync_api import Browser

YOUNG, ADULT = [0.0, 0.03, 0.05, 0.5, 0.5, 0.1, 0.0, 0.08], [0.0, 0.02, 0.0, 0.06, 0.04, 0.0, 0.03, 0.01]


@pytest.fixture
def heron(run_on_sqlite: Runner) -> Runner:
    """A lake of two surveys with a stocking between them."""
    engine = open_engine(database_url(run_on_sqlite.database))
    with Session(engine) as session:
        lake = add_lake(session)
        for code, on in (("HERON-2024", date(2024, 4, 9)), ("HERON-2026", date(2026, 4, 9))):
            survey = add_survey(session, lake, code, on)
            fish = [(6.5, q, 2 * q) for q in YOUNG] + [(13.0, q, q) for q in ADULT]
            add_typed(session, survey, fish)
        add_stocking(session, lake, date(2025, 5, 1), 5000)
        session.commit()
    engine.dispose()
    return run_on_sqlite


def test_a_lake_report_fits_a_phone_and_passes_the_checks_of_accessibility(
    heron: Runner, tmp_path: Path, browser: Browser
) -> None:
    heron("report", "lake", "HERON", "--out", tmp_path)
    for size in (DESK, PHONE):
        with opened(browser, str(tmp_path / "heron.html"), size) as page:
            assert page.title() == "Heron Lake: Florida bass ancestry"
            assert not wider_than_the_screen(page)
            assert size == PHONE or not cut_tables(page)
            assert accessibility_faults(page) == []
