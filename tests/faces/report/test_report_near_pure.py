"""``report lake`` of a lake that is all but northern: one allele in one of eight fish, all of them swabbed."""

from __future__ import annotations

import csv
from datetime import date
from pathlib import Path

import pytest
from conftest import Runner
from lakes_support import add_lake, add_panel, add_survey, add_typed
from report_support import reported_without_figures
from scipy.stats import beta, t
from sqlalchemy.orm import Session
from tests_support import database  # noqa: F401  (the words and files of a report: SQLite alone)


def test_the_catch_weighted_interval_is_that_of_the_fish_where_all_were_swabbed(
    run: Runner, session: Session, tmp_path: Path
) -> None:
    survey = add_survey(session, add_lake(session), "HERON-2026", date(2026, 4, 9))
    panel = add_panel(session, "P40", 40)
    add_typed(
        session, survey, [(10.5, q) for q in (0.0125, 0, 0, 0)] + [(13.0, 0)] * 4, n_loci=40, panel=panel
    )
    session.commit()
    found = reported_without_figures(run, tmp_path)["surveys"][0]
    # the guarded interval of eight fish, written out: 8.04 fish with the guard, 640 alleles
    p, p_m = 0.0125 / 8, (0.0125 + 0.02) / 8.04
    v_m = ((0.0125**2 + 0.02) / 8.04 - p_m**2) * 8.04 / 7.04
    n_eff = p_m * (1 - p_m) * 8 / v_m * (t.ppf(0.975, 639) / t.ppf(0.975, 7)) ** 2
    high = beta.ppf(0.975, n_eff * p + 1, n_eff * (1 - p))
    assert high == pytest.approx(0.379, abs=5e-4)
    for number in (found["swabbed"], found["catch_weighted"]):
        assert number["mean"] == pytest.approx(p)
        assert number["low"] == 0  # the beta quantile is 3e-133, which is no share of a lake
        assert number["high"] == pytest.approx(high, abs=1e-9)
    texts = [path.read_text(encoding="utf-8") for path in tmp_path.rglob("*.csv")]
    cells = [cell for text in texts for row in csv.reader(text.splitlines()) for cell in row]
    assert "0.0015625" in cells
    assert not [cell for cell in cells if "e-" in cell or cell.startswith("0.99999999")]
