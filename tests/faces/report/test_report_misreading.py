"""What misread alleles, sites and several years do to the report of a lake."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from conftest import Runner
from lakes_support import add_fish, add_lake, add_panel, add_result, add_survey, add_vial
from report_support import page_without_figures
from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.rules.genetics.misread_mean import corrected
from geneticlog.rules.intervals import clopper_pearson
from geneticlog.rules.strata import catch_weighted
from geneticlog.store.engine import database_url, open_engine
from geneticlog.store.tables import Lake

MISREAD = [0, 1] * 14 + [2, 3]  # alleles of 76 in thirty pure fish, 1 in 114 misread


def put(
    run: Runner,
    on: date,
    alleles: list[int],
    sites: list[str] | None = None,
    panel: str = "P38",
    **of_panel: float,
) -> None:
    """Add a survey of fish of one size with so many Florida alleles of 76 each."""
    engine = open_engine(database_url(run.database))
    with Session(engine) as session:
        lake = session.scalar(select(Lake)) or add_lake(session)
        typed_with = add_panel(session, panel)
        for name, value in of_panel.items():
            setattr(typed_with, name, value)
        survey = add_survey(session, lake, f"HERON-{on}", on)
        for at, k in enumerate(alleles):
            fish = add_fish(session, survey, 9.0)
            fish.site = sites[at] if sites else None
            add_result(session, add_vial(session, fish), k / 76, min(k, 76 - k) / 38, 38, typed_with)
        session.commit()
    engine.dispose()


def reported(run: Runner, *more: str) -> tuple[dict[str, Any], str]:
    """The document, and the words of the page."""
    document = json.loads(run("report", "lake", "HERON", "--json", *more).stdout)
    return document, page_without_figures(run, stocking_steps="--stocking-steps" in more)


def test_misreading_alone_explains_a_pure_lake_and_makes_no_carriers(
    run_on_sqlite: Runner, tmp_path: Path
) -> None:
    run = run_on_sqlite
    put(run, date(2026, 4, 9), MISREAD, miscall_rate=0.01, miscall_high=0.012)
    document, page = reported(run)
    told = document["surveys"][-1]
    assert told["carriers"]["n_carriers"] == 0
    assert told["misreading"]["explains_alone"] is True
    assert (told["misreading"]["source"], told["misreading"]["high"]) == ("stated", 0.012)
    weighted = told["catch_weighted"]
    # misread pure fish say no more than clean ones: none of 30 is of another kind
    assert (weighted["low"], weighted["high"]) == pytest.approx((0.0, clopper_pearson(0, 30).high))
    line = json.loads(run("report", "lakes", "--json").stdout)["lakes"][0]
    assert (line["low"], line["high"]) == (weighted["low"], weighted["high"])
    assert weighted["mean"] == pytest.approx(sum(MISREAD) / 76 / 30)  # a spreadsheet finds it again
    assert told["misreading"]["corrected_mean"] == pytest.approx(corrected(weighted["mean"], 0.01))
    assert "Misread alleles alone explain this" in page
    # every face says so: the first page, the list and its page, and a comparison; the swabbed mean reaches out too
    assert document["answer"][0] == (
        "How much? No Florida ancestry is shown: the little that was read may be misreading alone. It could be as high"
        " as 12 %."
    )
    assert (told["swabbed"]["low"], told["swabbed"]["high"]) == (weighted["low"], weighted["high"])
    assert line["swabbed"] == told["swabbed"]
    assert line["misreading_alone"]
    assert told["catch_weighted"]["misreading_alone"]
    run("report", "lakes", "--out", tmp_path)
    assert "no Florida shown (0 to 12 %)" in (tmp_path / "lakes.html").read_text(encoding="utf-8")
    # of 30 fish that may all be of one kind, the interval reaches as far as a kind that they could miss
    assert ". The interval accounts for it" in " ".join(document["summary"])
    # nothing is fitted over them
    associations = {
        (row["p"], row["slope"], row["guard"]) for row in told["ancestry_length_condition"] if row["n"]
    }
    assert associations == {(None, None, "misread alleles alone")}
    assert "At 38 loci a carrier has at least 4 Florida alleles of 76" in page
    assert {fish["carrier"] for fish in json.loads(json.dumps(told.get("fish", [])))} <= {False}


@pytest.mark.parametrize(("kind", "word"), [(0, "Florida"), (76, "northern")])
def test_two_panels_that_misread_apart_make_no_change(run_on_sqlite: Runner, kind: int, word: str) -> None:
    run = run_on_sqlite
    clean, misread = [kind] * 30, [abs(kind - k) for k in [0, 1, 1, 2, 3] * 6]
    put(run, date(2024, 4, 9), clean, panel="SURE", miscall_rate=0.001, miscall_high=0.002)
    put(run, date(2026, 4, 9), misread, miscall_rate=0.015, miscall_high=0.03)
    document, _ = reported(run)
    (change,) = document["changes"]
    assert change["p"] < 0.05
    assert change["misreading_alone"]
    assert (
        "Since 2024, at the same sizes of fish: what differs may be misreading alone."
        in document["answer"][2]
    )
    assert f"How much? No {word} ancestry is shown: " in document["answer"][0]
    assert "but misread alleles alone may explain it" in document["summary"][3]
    line = json.loads(run("report", "lakes", "--json").stdout)["lakes"][0]
    assert (line["change_p"], line["change_misreading_alone"]) == (change["p"], True)
    assert not [why for why in line["reasons"] if "fell" in why or "rose" in why or "fallen" in why]


def test_a_change_beyond_what_two_panels_could_misread_is_one(run_on_sqlite: Runner) -> None:
    run = run_on_sqlite
    put(run, date(2024, 4, 9), [0] * 30, panel="SURE", miscall_rate=0.001, miscall_high=0.002)
    put(run, date(2026, 4, 9), [10, 12, 8, 14, 11] * 6, miscall_rate=0.015, miscall_high=0.03)
    document, _ = reported(run)
    (change,) = document["changes"]
    assert not change["misreading_alone"]
    assert (
        "Since 2024, at the same sizes of fish: the lake up 14 points (12 to 16 points). Compare"
        in document["answer"][2]
    )


def test_classes_by_cut_off_and_carriers_by_likelihood_are_set_side_by_side(run_on_sqlite: Runner) -> None:
    put(run_on_sqlite, date(2026, 4, 9), [*[0, 1] * 14, 2, 5])
    document, page = reported(run_on_sqlite)
    assert document["surveys"][-1]["carriers"]["n_carriers"] == 1
    assert "no more Florida alleles than that; of 30 pure fish 1 may pass for a carrier by chance." in page
    put(
        run_on_sqlite, date(2026, 6, 9), [10, 20, 30, 4, 4, 25]
    )  # 4 of 76 are above 5 % and misread by 2 % at most
    page = reported(run_on_sqlite)[1]
    assert "which may differ near a cut-off: 2 fish are intergrade or F1 and no carrier." in page


def test_an_f1_is_a_carrier_and_no_misreading(run_on_sqlite: Runner) -> None:
    put(run_on_sqlite, date(2026, 4, 9), [*MISREAD, 38])
    document, page = reported(run_on_sqlite)
    told = document["surveys"][-1]
    assert (told["carriers"]["n_carriers"], told["misreading"]["explains_alone"]) == (1, False)
    assert told["misreading"]["source"] == "assumed"
    assert "Misread alleles alone" not in page
    assert "No site is logged with these fish" in page


def test_an_interval_reaches_as_far_as_the_highest_rate_could_have_moved_it(run_on_sqlite: Runner) -> None:
    alleles = [12, 20, 26, 8, 31, 15, 22, 18, 27, 11]
    put(run_on_sqlite, date(2026, 4, 9), alleles, miscall_rate=0.01, miscall_high=0.03)
    weighted = reported(run_on_sqlite)[0]["surveys"][-1]["catch_weighted"]
    plain = catch_weighted({"stock": [k / 76 for k in alleles]}, {"stock": len(alleles)}, 38)
    assert plain.low is not None
    # at a rate e a mean p is read as p (1 - e) + (1 - p) e
    assert weighted["low"] == pytest.approx((plain.low - 0.03) / (1 - 2 * 0.03))
    assert (weighted["mean"], weighted["high"]) == pytest.approx((plain.mean, plain.high))


@pytest.mark.parametrize(("n_sites", "leads"), [(6, True), (4, False)])
def test_the_interval_follows_six_sites_and_says_so_of_fewer(
    run_on_sqlite: Runner, n_sites: int, leads: bool
) -> None:
    by_site = [2, 30, 5, 40, 10, 22][:n_sites]
    alleles = [k for k in by_site for _ in range(5)]
    sites = [f"cove {at}" for at in range(n_sites) for _ in range(5)]
    put(run_on_sqlite, date(2026, 4, 9), alleles, sites, miscall_rate=0.0, miscall_high=0.0)
    document, page = reported(run_on_sqlite)
    told = document["surveys"][-1]
    assert (told["sites"]["n_sites"], told["sites"]["leads"]) == (n_sites, leads)
    assert told["sites"]["design_effect"] > 4  # five fish of a site tell as much as one
    assert (
        told["sites"]["design_effect_low"]
        < told["sites"]["design_effect"]
        < told["sites"]["design_effect_high"]
    )
    plain = catch_weighted({"stock": [k / 76 for k in alleles]}, {"stock": len(alleles)}, 38)
    width = told["catch_weighted"]["high"] - told["catch_weighted"]["low"]
    assert (width > 1.3 * (plain.high - plain.low)) == leads  # type: ignore[operator]
    line = json.loads(run_on_sqlite("report", "lakes", "--json").stdout)["lakes"][0]
    assert (line["low"], line["high"]) == (told["catch_weighted"]["low"], told["catch_weighted"]["high"])
    said = "of the mean and of differences allow for it" if leads else "the interval does not allow for it"
    assert said in page
    # a plan takes fish as single, and says so where they are not
    note = f"Fish of one site were alike in HERON-2026-04-09 (design effect {told['sites']['design_effect']:.1f})"
    assert (note in page) is leads
    planned = " ".join(run_on_sqlite("plan", "HERON", "--look").stdout.split())
    assert (note in planned) is leads


BY_SITE = [2, 30, 5, 40, 10, 22]


def test_fish_without_a_site_are_no_site_of_their_own(run_on_sqlite: Runner) -> None:
    of_panel = {"miscall_rate": 0.0, "miscall_high": 0.0}
    logged = [k for k in BY_SITE[:5] for _ in range(5)]
    put(
        run_on_sqlite,
        date(2024, 4, 9),
        [*logged, 12, 14, 9, 30, 22],
        [f"cove {at // 5}" for at in range(25)] + [""] * 5,
        **of_panel,
    )
    put(run_on_sqlite, date(2025, 4, 9), [12, 14, 9, 30, 22, 5], ["dam"] * 3 + [""] * 3, **of_panel)
    put(
        run_on_sqlite,
        date(2026, 4, 9),
        [3, 2, 30, 31, 5, 22, 9, 14],
        ["dam"] * 2 + ["inlet"] + ["cove"] + [""] * 4,
        **of_panel,
    )
    document, page = reported(run_on_sqlite)
    five, one, half = document["surveys"]
    # five sites and fish of unknown ones are not six sites
    assert (
        five["sites"]["n_sites"],
        five["sites"]["n_logged"],
        five["sites"]["n_without"],
        five["sites"]["leads"],
    ) == (5, 25, 5, False)
    assert five["sites"]["design_effect"] > 2
    assert one["sites"]["design_effect"] is None  # one site and no site are not two clusters
    assert half["sites"]["design_effect"] is not None
    assert "alike" in page


@pytest.mark.parametrize(
    ("sites", "why"),
    [
        (["dam"] * 3 + [""] * 5, "that takes 3 sites"),
        (["dam"] * 4 + ["inlet"] * 4, "that takes 3 sites"),
        (["dam", "inlet", "cove"] + [""] * 5, "only 3 of 8 fish have a site logged"),
    ],
)
def test_how_alike_fish_of_a_site_are_cannot_be_told_from_few_sites(
    run_on_sqlite: Runner, sites: list[str], why: str
) -> None:
    put(run_on_sqlite, date(2026, 4, 9), [3, 2, 30, 31, 5, 22, 9, 14], sites)
    document, page = reported(run_on_sqlite)
    assert document["surveys"][0]["sites"]["design_effect"] is None
    assert f"It is not clear whether fish of one site are alike ({why})" in page
    assert "Design effect" not in page


def test_young_of_one_site_are_warned_of_as_perhaps_one_brood(run_on_sqlite: Runner) -> None:
    put(run_on_sqlite, date(2026, 4, 9), [10, 30, 12, 28, 21, 19], ["dam"] * 4 + ["inlet"] * 2)
    _, page = reported(run_on_sqlite)
    assert "4 of 6 young fish are from one site, dam: perhaps one brood" in page
    assert "4 of the 6 young were caught at one place and may be one brood." in page


def test_five_surveys_have_a_change_per_year(run_on_sqlite: Runner) -> None:
    run = run_on_sqlite
    for at, year in enumerate((2018, 2020, 2022, 2024, 2026)):
        put(run, date(year, 4, 9), [5 * at + k for k in (4, 6, 8, 5, 7, 6, 9, 3, 5, 7)])
    run("lake", "stocked", "HERON", "2021-06-01", "Florida", "-n", 500)
    document, page = reported(run)
    change = document["through_years"]["change"]
    assert (change["n_surveys"], change["df"]) == (5, 3)
    assert change["slope"] == pytest.approx(5 / 76 / 2, rel=0.02)
    assert change["low"] < change["slope"] < change["high"]
    assert change["steps"] == []
    assert "Over 5 surveys since 2018 the Florida share rose by 3.3 points a year" in page
    ends = f"({int(100 * change['low'])} to {int(100 * change['high']) + 1} points)."
    assert document["answer"][2].endswith(f"Since 2018: up 3 points a year {ends}")
    document, page = reported(run, "--stocking-steps")
    (step,) = document["through_years"]["change"]["steps"]
    assert step[0] == "stocking of 2021-06-01"
    assert "At the stocking of 2021-06-01 the line rises by" in page


def test_a_change_between_two_pure_surveys_is_not_told_as_one_of_the_lake(run_on_sqlite: Runner) -> None:
    run = run_on_sqlite
    put(run, date(2024, 4, 9), [0] * 30, miscall_rate=0.01, miscall_high=0.012)
    put(run, date(2026, 4, 9), MISREAD)
    document, _ = reported(run)
    (change,) = document["changes"]
    assert change["low"] > 0
    assert "but misread alleles alone may explain it" in " ".join(document["summary"])
    assert "rose" not in " ".join(document["summary"])
    assert document["answer"][2].endswith("fish: what differs may be misreading alone.")
