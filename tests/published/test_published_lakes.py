"""The report of two published lakes shows their mean and interval.

Fish: Silliman K, Zhao H, Justice M, Thongda W, Bowen B, Peatman E (2021) Evolutionary Applications 14:2815-2830,
doi:10.1111/eva.13314, the per-fish table issued with it: 30 fish of Lake Ouachita, Arkansas, and 9 of Allatoona,
Georgia. Their lengths were not published; all are entered here at one invented length. The plain Korn-Graubard limits
of the first are those of svyciprop(method = "beta") in the R package survey 4.1; the guarded limits, which the report
shows, were computed from the formula apart from this program.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from conftest import Runner
from lakes_support import add_lake, add_panel, add_survey, add_typed
from report_support import reported_without_figures
from sqlalchemy.orm import Session
from statsmodels.stats.proportion import proportion_confint
from tests_support import database  # noqa: F401  (numbers: SQLite alone; both engines give the same document)

OUACHITA = (
    [0] * 8 + [1] * 2 + [2] * 3 + [3] * 3 + [4] + [5] * 2 + [7, 8, 9, 10] + [13] * 2 + [14] * 2 + [23, 33, 34]
)
ALLATOONA = [35, 31, 27, 35, 26, 34, 27, 38, 29]

LAKES = [
    pytest.param(
        OUACHITA, 38, 0.0916667, 0.0509584, 0.1491500, "0.092", "0.051 to 0.149", id="Ouachita, 30 fish"
    ),
    pytest.param(
        ALLATOONA, 35, 0.4476190, 0.3921646, 0.5040562, "0.448", "0.392 to 0.504", id="Allatoona, 9 fish"
    ),
]


@pytest.mark.parametrize(("alleles", "n_loci", "mean", "low", "high", "printed_mean", "printed"), LAKES)
def test_the_report_shows_the_published_mean_and_interval(
    run: Runner, session: Session, tmp_path: Path, alleles: list[int], n_loci: int, mean: float, low: float,
    high: float, printed_mean: str, printed: str,
) -> None:  # fmt: skip
    lake = add_lake(session)
    survey = add_survey(session, lake)
    panel = add_panel(session, f"P{n_loci}", n_loci)
    add_typed(session, survey, [(13.0, k / (2 * n_loci)) for k in alleles], n_loci, panel)
    session.commit()
    document = reported_without_figures(run, tmp_path)
    found = document["surveys"][0]["swabbed"]
    assert found["n"] == len(alleles)
    # as far as 2 % misread alleles could have moved them, the most where no rate is known: p = e + (1 - 2e) q
    reached = [(limit - 0.02) / (1 - 2 * 0.02) for limit in (low, high)]
    limits = (min(low, reached[0]), max(high, reached[1]))
    assert (found["mean"], found["low"], found["high"]) == pytest.approx((mean, *limits), abs=1e-6)
    page = (tmp_path / "heron.html").read_text()
    assert page.count(f">{printed_mean}<") >= 2  # its size class, and the lake
    assert f">{printed}<" in page  # of the size class, which leaves misreading aside


def test_carriers_of_ouachita_as_in_the_wilson_table(run: Runner, session: Session) -> None:
    # 17 of 30 fish have at most 4 Florida alleles of 76, which misreading 2 % of alleles explains; the interval of the
    # other 13 of 30 by statsmodels 0.15
    survey = add_survey(session, add_lake(session))
    add_typed(session, survey, [(13.0, k / 76) for k in OUACHITA])
    session.commit()
    row = json.loads(run("report", "lake", "HERON", "--json").stdout)["surveys"][0]["classes"][2]
    assert sum(k > 4 for k in OUACHITA) == row["n_carriers"] == 13
    low, high = proportion_confint(13, 30, method="wilson")
    assert (row["carriers_low"], row["carriers_high"]) == pytest.approx((low, high), abs=1e-9)
