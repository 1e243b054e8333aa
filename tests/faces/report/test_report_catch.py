"""What a report says of the whole catch when size classes were swabbed unevenly."""

from __future__ import annotations

import csv
import json
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
import scipy.optimize
from conftest import Runner
from lakes_support import (
    add_catch,
    add_fish,
    add_lake,
    add_panel,
    add_result,
    add_survey,
    add_typed,
    add_vial,
)
from report_support import reported_without_figures
from sqlalchemy.orm import Session
from tests_support import database  # noqa: F401  (the words and files of a report: SQLite alone)

from geneticlog.rules.schemes import five_length

# invented: carriers live in the commonest size, of which as many were typed as of the others
CARRIERS_YOUNG = {6.0: (160, [38] * 7 + [0]), **{length: (8, [0] * 8) for length in (10.0, 13.0, 16.0, 21.0)}}


def a_lake(session: Session, classes: dict, code: str = "HERON-2026", **survey: object) -> None:
    add_catch(session, add_survey(session, add_lake(session), code, **survey), classes, add_panel(session))


def reported(run: Runner, out: Path | None = None) -> Any:
    """The document of the report; its page and tables are written where there is a folder for them."""
    if out is not None:
        return reported_without_figures(run, out)
    return json.loads(run("report", "lake", "HERON", "--json").stdout)


def hidden(caught: list[int], typed: list[int]) -> float:
    """The largest share of the catch that is absent from the fish typed one time in twenty, as scipy finds it."""
    w, n = np.array(caught) / sum(caught), np.array(typed)
    found = scipy.optimize.minimize(
        lambda x: -w @ x,
        np.full(len(w), 0.01),
        bounds=[(0, 1 - 1e-9)] * len(w),
        constraints={"type": "ineq", "fun": lambda x: n @ np.log1p(-x) - np.log(0.05)},
        method="SLSQP",
        options={"ftol": 1e-12, "maxiter": 500},
    )
    return float(-found.fun)


def test_what_unevenly_spread_swabs_cannot_see(run: Runner, session: Session, tmp_path: Path) -> None:
    a_lake(session, CARRIERS_YOUNG)
    document = reported(run, tmp_path)
    survey = document["surveys"][0]
    theirs = hidden([160, 8, 8, 8, 8], [8] * 5)
    assert theirs > 3 * (1 - 0.05 ** (1 / 40))
    assert survey["swabbed"]["unseen"] == pytest.approx(theirs, abs=1e-6)
    assert survey["catch_weighted"]["unseen"] == survey["swabbed"]["unseen"]
    assert survey["young_minus_adult"]["young_share_unseen"] == pytest.approx(
        hidden([160, 8], [8, 8]), abs=1e-6
    )
    assert survey["young_minus_adult"]["adult_share_unseen"] == pytest.approx(1 - 0.05 ** (1 / 24))
    assert pd.read_csv(tmp_path / "heron_surveys.csv").iloc[0]["share_unseen"] == survey["swabbed"]["unseen"]
    said = f"makes up as much as {100 * theirs:.0f} % of the catch, where its sizes are those of which few were typed"
    assert any(said in sentence for sentence in document["summary"])


def test_a_size_that_was_caught_and_not_typed_hides_its_fish(run: Runner, session: Session) -> None:
    a_lake(session, {10.0: (40, [5] * 8), 13.0: (60, [])})
    survey = reported(run)["surveys"][0]
    assert survey["swabbed"]["unseen"] == pytest.approx(0.6 + 0.4 * (1 - 0.05 ** (1 / 8)))


def test_fish_without_a_size_are_caught_and_not_covered(
    run: Runner, session: Session, tmp_path: Path
) -> None:
    lake, panel = add_lake(session), add_panel(session)
    catch = {10.0: (10, [5, 9, 12, 3, 8, 6, 10, 7, 4, 9]), 13.0: (10, [6, 11, 9, 14, 5, 8, 7, 12, 10, 3])}
    add_catch(session, add_survey(session, lake, "HERON-2024", date(2024, 4, 9)), catch, panel)
    add_catch(session, add_survey(session, lake), {**catch, None: (400, [])}, panel)
    document = reported(run, tmp_path)
    first, second = document["surveys"]
    assert first["catch_weighted"]["share_of_catch_covered"] == 1
    assert first["catch_weighted"]["guard"] == ""
    assert second["catch_weighted"]["share_of_catch_covered"] == pytest.approx(20 / 420)
    assert second["catch_weighted"]["guard"] == "part of the catch"
    assert second["catch_weighted"]["mean"] == first["catch_weighted"]["mean"]
    assert second["swabbed"]["unseen"] > 400 / 420
    change = document["changes"][0]
    assert (change["earlier_covered"], change["later_covered"]) == pytest.approx((1, 20 / 420))
    assert any("make up only 5 % of the catch of HERON-2026" in note for note in change["notes"])
    assert "weighted over the sizes with a result, 4.8 % of the catch" in document["summary"][0]
    page = (tmp_path / "heron.html").read_text(encoding="utf-8")
    assert "Not in the weighted mean: 400 fish caught without a size class." in page


def test_every_species_is_compared_with_its_own_earlier_surveys(
    run: Runner, session: Session, tmp_path: Path
) -> None:
    lake, panel = add_lake(session), add_panel(session)
    for year, species, alleles in (
        (2022, "largemouth_bass", [8, 12, 10, 9, 11, 14]),
        (2023, "smallmouth_bass", [50, 54, 52, 49, 55, 53]),
        (2024, "largemouth_bass", [20, 24, 22, 21, 19, 23]),
        (2026, "smallmouth_bass", [51, 53, 50, 54, 52, 55]),
    ):
        scheme = five_length(species).to_json()
        survey = add_survey(session, lake, f"HERON-{year}", date(year, 4, 9), species=species, scheme=scheme)
        for k in alleles:
            add_result(
                session,
                add_vial(session, add_fish(session, survey, 13.0, species=species)),
                k / 76,
                panel=panel,
            )
    session.commit()
    document = reported(run, tmp_path)
    told = [(one["earlier"], one["later"], one["species"]) for one in document["changes"]]
    assert told == [
        ("HERON-2022", "HERON-2024", "largemouth_bass"),
        ("HERON-2023", "HERON-2026", "smallmouth_bass"),
    ]
    assert abs(document["changes"][1]["difference"]) < 0.02
    assert list(pd.read_csv(tmp_path / "heron_changes.csv")["species"]) == [species for _, _, species in told]
    page = (tmp_path / "heron.html").read_text(encoding="utf-8")
    assert "The figures show smallmouth bass alone." in page
    assert "never with another species" in page
    first = json.loads(run("report", "lake", "HERON", "--survey", "HERON-2023", "--json").stdout)
    assert any(
        "No earlier survey of smallmouth bass has results" in sentence for sentence in first["summary"]
    )


def test_carriers_are_told_by_the_catch_and_not_by_the_fish_typed(
    run: Runner, session: Session, tmp_path: Path
) -> None:
    a_lake(session, CARRIERS_YOUNG)
    document = reported(run, tmp_path)
    told = document["surveys"][0]["carriers"]
    assert (told["n_carriers"], told["n"]) == (7, 40)
    assert told["mean"] == pytest.approx(7 / 8 * 160 / 192)
    assert told.keys() - {"n_carriers"} == document["surveys"][0]["catch_weighted"].keys() - {
        "misreading_alone"
    }
    assert told.keys() == {
        "n_carriers", "mean", "low", "high", "n", "share_of_catch_covered", "guard", "unseen"
    }  # fmt: skip
    assert told["low"] > 0.35  # of 7 in 40 typed fish alone Wilson's limits would be 0.09 to 0.32
    with (tmp_path / "heron_surveys.csv").open(encoding="utf-8", newline="") as file:
        row = next(csv.DictReader(file))  # pandas before 3 rounds the last digit
    assert [float(row[f"weighted_carriers{end}"]) for end in ("", "_low", "_high")] == [
        told["mean"],
        told["low"],
        told["high"],
    ]
    first = document["summary"][0]
    assert (
        "7 of 40 fish carry more Florida alleles than misreading explains (weighted to the sizes caught: 72.9 % of the "
        "fish, 95 %" in first
    )
    page = (tmp_path / "heron.html").read_text(encoding="utf-8")
    assert "of the fish typed, not of the lake" in page
    assert "all fish typed" in page
    weighted = document["surveys"][0]["catch_weighted"]
    assert f">{weighted['mean']:.3f}<" in page
    assert f">{weighted['low']:.3f} to {weighted['high']:.3f}<" in page


def test_first_generation_crosses_are_told_by_the_catch(run: Runner, session: Session) -> None:
    survey, panel = add_survey(session, add_lake(session)), add_panel(session)
    for length, crossed in ((6.0, 6), (13.0, 0), (16.0, 0)):
        add_typed(
            session,
            survey,
            [(length, 0.5, 1.0)] * crossed + [(length, 0.0, 0.0)] * (8 - crossed),
            panel=panel,
        )
    add_fish(session, survey, 6.0, n_fish=176)
    session.commit()
    said = "6 of 24 fish look like a first-generation cross, F1 (weighted to the sizes caught: 69.0 % of the fish"
    assert any(said in sentence for sentence in reported(run)["summary"])


def test_no_carrier_among_few_fish_of_a_common_size_leaves_much_open(run: Runner, session: Session) -> None:
    a_lake(session, {6.0: (160, [0] * 8), 10.0: (8, [0] * 8), 13.0: (8, [0] * 8)})
    document = reported(run)
    told = document["surveys"][0]
    assert told["carriers"]["high"] > told["swabbed"]["unseen"] > 0.25
    said = f"and {100 * told['carriers']['high']:.0f} % of its fish may carry some"
    assert said in document["summary"][0]
    assert f"as high as {100 * told['catch_weighted']['high']:.0f} %" in document["summary"][0]
