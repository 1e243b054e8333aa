"""Young minus adult of invented lakes, through the command, against the formulas written out here."""

from __future__ import annotations

import json
import re
from pathlib import Path

import numpy as np
import pytest
import scipy.stats
from conftest import Runner
from lakes_support import add_catch, add_lake, add_panel, add_survey
from report_support import reported_without_figures
from sqlalchemy.orm import Session
from tests_support import database  # noqa: F401  (numbers: SQLite alone; both engines give the same document)

from geneticlog.rules.schemes import two_groups

# invented: length in inches -> (fish caught, Florida alleles of 76 of its typed fish)
UNEVEN = {
    7.0: (30, (14, 16, 15, 17, 14, 18, 16, 15)),
    10.0: (210, (14, 16, 15, 17, 14, 18, 16, 15)),
    13.0: (320, (15, 14, 16, 18, 17, 14, 15, 17)),
    16.0: (20, (44, 50, 46, 47, 49, 45, 48, 44)),
    21.0: (5, (58, 62, 60, 59, 61)),
}


def lake_of(session: Session, classes: dict[float, tuple[int, tuple[int, ...]]], **survey: object) -> None:
    add_catch(session, add_survey(session, add_lake(session), **survey), classes, add_panel(session))


def reported(run: Runner, *options: object) -> dict:
    return json.loads(run("report", "lake", "HERON", *options, "--json").stdout)


def weighted(classes: dict[float, tuple[int, tuple[int, ...]]], lengths: list[float]) -> float:
    return float(
        np.average(
            [np.mean(classes[one][1]) / 76 for one in lengths], weights=[classes[one][0] for one in lengths]
        )
    )


def test_each_side_is_weighted_to_its_own_catch(run: Runner, session: Session, tmp_path: Path) -> None:
    lake_of(session, UNEVEN)
    document = reported_without_figures(run, tmp_path)
    told = document["surveys"][0]["young_minus_adult"]
    young, adult = weighted(UNEVEN, [7.0, 10.0]), weighted(UNEVEN, [13.0, 16.0, 21.0])
    assert (told["young_mean"], told["adult_mean"]) == pytest.approx((young, adult), abs=1e-12)
    assert told["difference"] == pytest.approx(young - adult, abs=1e-12)
    as_swabbed = [
        np.mean(sum((UNEVEN[one][1] for one in side), ())) / 76 for side in ([7.0, 10.0], [13.0, 16.0, 21.0])
    ]
    assert as_swabbed[0] - as_swabbed[1] < -0.25
    assert told["low"] < -0.03 < told["high"] < 0.15
    assert (told["n_young"], told["n_adult"]) == (16, 21)
    assert told["basis"] == "each side weighted to the catch of its own size classes"
    assert any("each weighted to the sizes caught" in sentence for sentence in document["summary"])
    page = re.sub("<[^>]+>", "", (tmp_path / "heron.html").read_text(encoding="utf-8"))
    assert "Young minus adult, each side weighted to the catch of its own size classes" in page


@pytest.mark.parametrize("shift", [0, 3, 6])
def test_p_is_below_a_twentieth_where_the_interval_leaves_0_out(
    run: Runner, session: Session, shift: int
) -> None:
    classes = {
        10.0: (50, (14, 9, 21, 17, 11, 18, 16, 15)),
        13.0: (40, tuple(k + shift for k in (15, 10, 20, 18, 12, 14, 15, 17))),
        16.0: (40, tuple(k + shift for k in (14, 10, 20, 17, 19, 15, 18, 12))),
    }
    lake_of(session, classes)
    told = reported(run)["surveys"][0]["young_minus_adult"]
    assert (told["p"] < 0.05) == (told["low"] > 0 or told["high"] < 0)
    assert 0 < told["p"] <= 1


def test_a_size_without_a_result_is_told_with_the_share_it_leaves(run: Runner, session: Session) -> None:
    lake_of(session, {**UNEVEN, 16.0: (80, ())})
    document = reported(run)
    told = document["surveys"][0]["young_minus_adult"]
    assert told["young_share_of_catch_covered"] == 1
    assert told["adult_share_of_catch_covered"] == pytest.approx(325 / 405)
    assert any(
        "of the adult fish caught 80 % are in sizes with a result" in one for one in document["summary"]
    )


def test_one_size_class_against_one_is_near_welchs_test(run: Runner, session: Session) -> None:
    """scipy `ttest_ind(equal_var=False)`; the guard only widens it."""
    young, adult = (2, 9, 4, 6, 3, 8), (11, 7, 13, 9, 12, 15, 5)
    lake_of(
        session,
        {10.0: (40, young), 16.0: (60, adult)},
        scheme=two_groups("largemouth_bass", adult_from=12.0, unit="in").to_json(),
    )
    told = reported(run)["surveys"][0]["young_minus_adult"]
    theirs = scipy.stats.ttest_ind(young, adult, equal_var=False)
    low, high = theirs.confidence_interval()
    assert told["difference"] == pytest.approx((np.mean(young) - np.mean(adult)) / 76, abs=1e-12)
    assert theirs.pvalue < told["p"] < 5 * theirs.pvalue
    assert told["low"] < low / 76 < high / 76 < told["high"]
    assert told["basis"] == "one size class against another"
