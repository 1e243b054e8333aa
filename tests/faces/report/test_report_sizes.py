"""What the lake report says of the sizes caught (PSD) and of too few heterozygous loci."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from conftest import Runner
from lakes_support import add_fish, add_lake, add_survey, add_typed
from report_support import page_without_figures
from scipy import stats
from sqlalchemy import select
from sqlalchemy.orm import Session
from statsmodels.stats.proportion import proportion_confint
from tests_support import database  # noqa: F401  (the words and files of a report: SQLite alone)

from geneticlog.rules.schemes import inch_groups, two_groups
from geneticlog.store.tables import Result

# invented: substock 9.0 x 6 aside, 12 fish of stock length, 8 of quality, 4 preferred, 1 memorable
CATCH = [(7.5, 6), (9.0, 12), (12.0, 8), (15.5, 3), (20.0, 1), (19.9, 1)]


def reported(run: Runner) -> tuple[dict[str, Any], str]:
    """The last survey of the document, and the words of the page."""
    document = json.loads(run("report", "lake", "HERON", "--json").stdout)
    return document["surveys"][-1], page_without_figures(run)


@pytest.mark.parametrize(
    "scheme",
    [None, inch_groups("largemouth_bass", 6, 20, 2), two_groups("largemouth_bass", 12, "in")],
    ids=["five lengths", "inch groups", "young and adult"],
)
def test_psd_of_a_catch_with_its_wilson_intervals(
    run: Runner, session: Session, tmp_path: Path, scheme: Any
) -> None:
    held = {} if scheme is None else {"scheme": scheme.to_json()}
    survey = add_survey(session, add_lake(session), **held)
    for length, n in CATCH:
        add_fish(session, survey, length, n_fish=n)
    session.commit()
    told, page = reported(run)
    run("report", "lake", "HERON", "--out", tmp_path)
    sizes = told["size_structure"]
    assert (sizes["n_stock"], sizes["n_substock"], sizes["n_left_out"]) == (25, 6, 0)
    for row, n in zip(sizes["indices"], (13, 5, 1, 0), strict=True):
        assert row["value"] == pytest.approx(100 * n / 25)
        low, high = proportion_confint(n, 25, method="wilson")
        assert (row["low"], row["high"]) == pytest.approx((100 * low, 100 * high))
        assert row["guard"] == ""
    low, high = (100 * end for end in proportion_confint(13, 25, method="wilson"))
    assert f"PSD 12 in 52 {low:.0f} to {high:.0f} 13 25 enough fish" in page
    assert "6 substock fish are in none of them" in page
    table = pd.read_csv(tmp_path / "heron_size_structure.csv")
    assert list(table["index"]) == ["PSD", "PSD-P", "PSD-M", "PSD-T"]
    assert list(table["value"]) == [row["value"] for row in sizes["indices"]]


def test_a_fish_is_judged_in_the_unit_it_was_measured_in(run: Runner, session: Session) -> None:
    # 11.9 in is below the 12 in of quality length, 302 mm is above its 300 mm: two tables, rounded apart
    survey = add_survey(session, add_lake(session))
    add_fish(session, survey, 11.9)
    metric = add_fish(session, survey, 11.9)
    metric.length, metric.length_unit, metric.length_mm, metric.size_class = 302.0, "mm", 302.0, "quality"
    session.commit()
    told, _ = reported(run)
    assert told["size_structure"]["indices"][0]["n_at_least"] == 1


def test_few_stock_fish_are_said_and_none_has_no_index(run: Runner, session: Session) -> None:
    lake = add_lake(session)
    survey = add_survey(session, lake)
    add_fish(session, survey, 7.0, n_fish=30)
    session.commit()
    told, page = reported(run)
    assert {(row["value"], row["low"], row["guard"]) for row in told["size_structure"]["indices"]} == {
        (None, None, "no fish of stock length")
    }
    add_fish(session, survey, 13.0, n_fish=19)
    add_fish(session, survey, None)
    session.commit()
    told, page = reported(run)
    assert told["size_structure"]["indices"][0]["guard"] == "under 20 fish of stock length"
    assert "1 fish caught without a length or a size class are left out" in page


def test_classes_of_its_own_without_lengths_have_no_psd(run: Runner, session: Session) -> None:
    scheme = two_groups("largemouth_bass", 12, "in")
    survey = add_survey(session, add_lake(session), scheme=scheme.to_json())
    add_fish(session, survey, 13.0)
    add_fish(session, survey, None, n_fish=7).size_class = "young"
    session.commit()
    told, page = reported(run)
    assert told["size_structure"]["indices"] == []
    assert "7 fish were tallied in size classes of the survey&#39;s own" in page


def test_a_species_without_published_lengths_says_so(run: Runner, session: Session) -> None:
    scheme = two_groups("alabama_bass", 12, "in")
    survey = add_survey(session, add_lake(session), species="alabama_bass", scheme=scheme.to_json())
    add_fish(session, survey, 13.0, species="alabama_bass")
    session.commit()
    told, page = reported(run)
    assert told["size_structure"]["indices"] == []
    assert "No published length limits are known for Alabama bass" in page


def test_another_lineage_is_flagged_with_its_fish_its_hint_and_its_second_sign(
    run: Runner, session: Session
) -> None:
    # as the sample "MYS" of Silliman K et al. (2021) Evolutionary Applications 14:2815-2830: every q .6, every H 0
    add_typed(session, add_survey(session, add_lake(session)), [(10.5, 0.6, 0.0)] * 11)
    session.commit()
    told, page = reported(run)
    found = told["heterozygosity"]
    assert (found["n"], found["deficit"], found["flag"]) == (11, pytest.approx(1), "third lineage")
    assert found["below_marker_variance"] is True
    assert (found["deficit_low"], found["deficit_high"]) == (None, None)
    assert "Flag: possible third lineage, other species or failed assay. The 11 fish with q and H" in page
    assert "the fish are nearly alike, as another lineage or a placeholder in the file is" in page
    assert "A second sign: q varies less over fish than the markers alone" in page


def test_two_pure_kinds_are_told_from_another_lineage(run: Runner, session: Session) -> None:
    fish = [(10.5, 0.02, 0.04)] * 9 + [(10.5, 0.97, 0.05)] * 8 + [(10.5, 0.5, 1.0)]
    add_typed(session, add_survey(session, add_lake(session)), fish)
    session.commit()
    told, page = reported(run)
    found = told["heterozygosity"]
    assert (found["flag"], found["n"]) == ("mixture", 18)
    assert found["deficit_low"] < found["deficit"] < found["deficit_high"]
    assert "the fish fall into two near-pure groups" in page
    assert "most fish are nearly pure" in page
    assert "is not there" in page


def test_a_parent_kind_beside_crosses_is_not_told_as_nearly_pure_fish(
    run_on_sqlite: Runner, sqlite_session: Session
) -> None:
    fish = [(10.5, 0.27, 0.36)] * 14 + [(10.5, 0.0, 0.0)] * 9 + [(10.5, 1.0, 0.0)] * 5
    add_typed(sqlite_session, add_survey(sqlite_session, add_lake(sqlite_session)), fish)
    sqlite_session.commit()
    told, page = reported(run_on_sqlite)
    assert told["heterozygosity"]["flag"] == "mixture"
    assert "single fish have what their own ancestry calls for" in page
    assert "nearly pure" not in page


def test_too_few_fish_raise_no_flag_and_say_so(run: Runner, session: Session) -> None:
    add_typed(session, add_survey(session, add_lake(session)), [(10.5, 0.6, 0.0)] * 9)
    session.commit()
    told, page = reported(run)
    assert (told["heterozygosity"]["flag"], told["flag"]) == ("", None)
    assert "under 10 fish: no flag is raised" in page


@pytest.mark.parametrize("h", [0.0, 1.0])
def test_mean_heterozygosity_has_its_interval_and_its_fish(h: float, run: Runner, session: Session) -> None:
    # nine fish alike: Clopper and Pearson's limits of none or all of nine, from statsmodels
    add_typed(session, add_survey(session, add_lake(session)), [(10.5, 0.5, h)] * 9)
    session.commit()
    found = reported(run)[0]["heterozygosity"]
    low, high = proportion_confint(9 * h, 9, method="beta")
    assert (found["mean"], found["n"]) == (h, 9)
    assert (found["mean_low"], found["mean_high"]) == pytest.approx((low, high), abs=1e-9)


def test_mean_heterozygosity_by_the_guarded_form(run: Runner, session: Session) -> None:
    shares = [0.2, 0.4, 0.5, 0.3, 0.6, 0.45]
    add_typed(session, add_survey(session, add_lake(session)), [(10.5, 0.4, h) for h in shares])
    session.commit()
    found = reported(run)[0]["heterozygosity"]
    n, w, h = len(shares), 0.02, np.array(shares)
    m = n + 2 * w
    middle = (h.sum() + w) / m
    variance = ((h**2).sum() + w) / m - middle**2
    loci = found_loci(session)
    ratio = stats.t.ppf(0.975, n * loci - 1) / stats.t.ppf(0.975, n - 1)
    n_eff = middle * (1 - middle) * n / (variance * m / (m - 1)) * ratio**2
    p = h.mean()
    low = stats.beta.ppf(0.025, n_eff * p, n_eff * (1 - p) + 1)
    high = stats.beta.ppf(0.975, n_eff * p + 1, n_eff * (1 - p))
    assert (found["mean_low"], found["mean_high"]) == pytest.approx((low, high), abs=1e-9)


def found_loci(session: Session) -> int:
    return session.scalars(select(Result.n_loci).distinct()).one() or 0


def test_the_ends_of_the_sizes_are_classes_with_enough_fish(
    run_on_sqlite: Runner, sqlite_session: Session
) -> None:
    q = {6.5: [0.9] * 3, 9.0: [0.3] * 6, 16.0: [0.25, 0.3, 0.35, 0.2, 0.3], 21.0: [0.1] * 2}
    fish = [(length, one) for length, some in q.items() for one in some]
    add_typed(sqlite_session, add_survey(sqlite_session, add_lake(sqlite_session)), fish)
    sqlite_session.commit()
    summary = json.loads(run_on_sqlite("report", "lake", "HERON", "--json").stdout)["summary"]
    assert re.search(r"the mean is 30\.0 % in stock .* and 28\.0 % in preferred", summary[1])
    assert summary[1].endswith("too few or none to say in substock and memorable.")


@pytest.mark.parametrize(("n", "few"), [(7, "stock, memorable"), (8, "memorable"), (1, "memorable")])
def test_differences_of_size_classes_of_few_fish_are_called_less_reliable(
    run: Runner, session: Session, n: int, few: str
) -> None:
    of_each = [(9.0, n), (20.5, 4), (13.0, 9)]
    typed = [(length, 0.1 + length / 40 + at / 50) for length, fish in of_each for at in range(fish)]
    add_typed(session, add_survey(session, add_lake(session)), typed)
    session.commit()
    _, page = reported(run)
    assert f"size classes of 2 to 7 fish ({few}) are less reliable" in page


def test_nothing_is_said_of_few_fish_where_every_size_class_has_eight(run: Runner, session: Session) -> None:
    typed = [(length, length / 40 + at / 50) for length in (9.0, 13.0) for at in range(8)]
    add_typed(session, add_survey(session, add_lake(session)), typed)
    session.commit()
    assert "are less reliable" not in reported(run)[1]
