"""Class against class in a lake's report, and lake against lake: one engine, the same numbers everywhere."""

from __future__ import annotations

import csv
import io
import json
import re
import zipfile
from datetime import date
from pathlib import Path

import numpy as np
import pytest
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
from scipy import stats
from sqlalchemy.orm import Session
from tests_support import database  # noqa: F401  (numbers and words: SQLite alone; what they rest on is tested on both in test_what_counts)

from geneticlog.rules.schemes import two_groups

NORTHERN, MIXED, SWARM = (
    [0, 1, 2, 1, 0, 1, 0, 2],
    [38, 36, 40, 35, 39, 41, 37, 38],
    [20, 25, 31, 18, 22, 28, 16, 24],
)


def test_which_size_classes_differ_is_said_and_is_the_same_in_page_tables_and_json(
    run_on_sqlite: Runner, sqlite_session: Session, tmp_path: Path
) -> None:
    session = sqlite_session
    lake, panel = add_lake(session), add_panel(session)
    survey = add_survey(session, lake)
    add_catch(
        session, survey, {9.5: (60, NORTHERN), 13.0: (30, SWARM), 16.0: (20, MIXED), 21.0: (1, [40])}, panel
    )
    session.commit()
    document = reported_without_figures(run_on_sqlite, tmp_path)
    told = document["surveys"][0]["class_differences"]
    # memorable has one fish: no interval, no pair
    assert [(one["larger"], one["smaller"]) for one in told] == [
        ("quality", "stock"), ("preferred", "stock"), ("preferred", "quality"),
    ]  # fmt: skip
    for one, (larger, smaller) in zip(
        told, ((SWARM, NORTHERN), (MIXED, NORTHERN), (MIXED, SWARM)), strict=True
    ):
        a, b = np.array(larger) / 76, np.array(smaller) / 76
        assert one["difference"] == pytest.approx(a.mean() - b.mean(), abs=1e-12)
        assert (one["p"] < 0.05) == (one["low"] > 0 or one["high"] < 0)
        # the guard only widens: the interval holds Welch's own, as scipy gives it
        plain = stats.ttest_ind(a, b, equal_var=False).confidence_interval()
        assert one["low"] <= plain.low + 1e-12
        assert one["high"] >= plain.high - 1e-12
    assert [one["p_holm"] for one in told] == pytest.approx(
        [float(p) for p in _holm([one["p"] for one in told])], rel=1e-12
    )
    page = (tmp_path / "heron.html").read_text(encoding="utf-8").replace("\u00a0", " ")
    assert "Size classes that differ, of 3 pairs: preferred has" in page
    rows = list(
        csv.DictReader(io.StringIO((tmp_path / "heron_class_differences.csv").read_text(encoding="utf-8")))
    )
    for row, one in zip(rows, told, strict=True):
        for name in ("difference", "low", "high", "p", "p_holm"):
            assert float(row[name]) == one[name]
    with zipfile.ZipFile(tmp_path / "heron.xlsx") as book:
        assert 'name="class_differences"' in book.read("xl/workbook.xml").decode()


def _holm(p: list[float]) -> list[float]:
    from statsmodels.stats.multitest import multipletests

    return list(multipletests(p, method="holm")[1])


def test_one_class_each_is_young_against_adult_to_the_last_digit(
    run_on_sqlite: Runner, sqlite_session: Session
) -> None:
    lake, panel = add_lake(sqlite_session), add_panel(sqlite_session)
    survey = add_survey(sqlite_session, lake, scheme=two_groups("largemouth_bass", 12, "in").to_json())
    add_typed(
        sqlite_session,
        survey,
        [(9.0, n / 76) for n in SWARM] + [(14.0, n / 76) for n in NORTHERN],
        panel=panel,
    )
    sqlite_session.commit()
    survey = json.loads(run_on_sqlite("report", "lake", "HERON", "--json").stdout)["surveys"][0]
    (pair,), contrast = survey["class_differences"], survey["young_minus_adult"]
    assert (-pair["difference"], -pair["high"], -pair["low"], pair["p"]) == (
        contrast["difference"], contrast["low"], contrast["high"], contrast["p"],
    )  # fmt: skip


def three_lakes(session: Session) -> None:
    panel = add_panel(session)
    for at, (code, young, adult) in enumerate(
        (("HERON", NORTHERN, SWARM), ("OSPREY", SWARM, MIXED), ("TEAL", NORTHERN, SWARM))
    ):
        survey = add_survey(
            session, add_lake(session, code, code.title()), f"{code}-26", date(2026, 4, 9 + at)
        )
        few = code == "TEAL"  # the same fish, caught in other numbers
        add_catch(session, survey, {9.5: (20 if few else 80, young), 13.0: (80 if few else 20, adult)}, panel)
    session.commit()


def test_lakes_are_compared_as_their_reports_and_the_list_tell_them(run: Runner, session: Session) -> None:
    three_lakes(session)
    document = json.loads(run("report", "compare", "HERON", "osprey", "TEAL", "--json").stdout)
    listed = {one["lake"]: one for one in json.loads(run("report", "lakes", "--json").stdout)["lakes"]}
    for one in document["lakes"]:
        report = json.loads(run("report", "lake", one["lake"], "--json").stdout)["surveys"][0][
            "catch_weighted"
        ]
        for name in ("mean", "low", "high"):
            assert one["catch_weighted"][name] == report[name] == listed[one["lake"]][name]
    mean = {one["lake"]: one["catch_weighted"]["mean"] for one in document["lakes"]}
    pairs = {(one["first"], one["second"]): one for one in document["pairs"]}
    assert list(pairs) == [("HERON", "OSPREY"), ("HERON", "TEAL"), ("OSPREY", "TEAL")]
    for (first, second), one in pairs.items():
        assert one["difference"] == pytest.approx(mean[second] - mean[first], abs=1e-12)
        assert (one["p"] < 0.05) == (one["low"] > 0 or one["high"] < 0)
        assert one["p_holm"] >= one["p"]
    # Teal has Heron's fish, caught in other numbers: they differ as caught, and not at the same sizes
    sizes = pairs["HERON", "TEAL"]
    assert sizes["low"] > 0.05
    assert sizes["same_sizes"]["difference"] == pytest.approx(0, abs=1e-12)
    assert any("no clear difference is left" in line for line in sizes["sentences"])
    # the other way round is the same with the other sign
    (back,) = json.loads(run("report", "compare", "TEAL", "HERON", "--json").stdout)["pairs"]
    assert (back["difference"], back["low"], back["high"], back["p"]) == (
        -sizes["difference"], -sizes["high"], -sizes["low"], sizes["p"],
    )  # fmt: skip
    said = run("report", "compare", "HERON", "OSPREY").stdout.replace("\n", " ")
    assert len(re.findall(r"\d\.\d %\s+\d+\.\d to \d+\.\d %", said)) == 2  # a share and its ends alike
    assert "OSPREY has 2" in said
    assert "more Florida than HERON" in said
    small = run("report", "compare", "HERON", "TEAL", "--matters", "50").stdout
    assert "TEAL has" in small


def test_a_lake_whose_share_is_misread_alleles_is_named(
    run_on_sqlite: Runner, sqlite_session: Session
) -> None:
    panel = add_panel(sqlite_session)
    for code, alleles in (("PURE", [0, 1] * 14 + [2, 3]), ("SWARM", SWARM)):
        survey = add_survey(sqlite_session, add_lake(sqlite_session, code, code.title()), f"{code}-26")
        add_catch(sqlite_session, survey, {9.5: (40, alleles)}, panel)
    said = " ".join(run_on_sqlite("report", "compare", "PURE", "SWARM").stdout.split())
    assert "PURE shows no Florida: misread alleles alone explain its share. SWARM has" in said


def test_lakes_that_cannot_be_compared_are_refused(run_on_sqlite: Runner, sqlite_session: Session) -> None:
    session = sqlite_session
    three_lakes(session)
    add_lake(session, "EMPTY", "Empty")
    panel = add_panel(session, "SPSM", 20, taxon="spotted", other_taxon="smallmouth")
    other = add_survey(session, add_lake(session, "SPOT", "Spot"), "SPOT-26")
    add_typed(session, other, [(10.5, 0.2)] * 6, 20, panel)
    gills = add_survey(session, add_lake(session, "GILL", "Gill"), "GILL-26", species="bluegill")
    fish = add_fish(session, gills, 7.5, species="bluegill")
    add_result(session, add_vial(session, fish), 0.2, panel=add_panel(session))
    session.commit()
    for named, fails, said in (
        (("HERON",), 2, "two lakes or more"),
        (("HERON", "HERON"), 4, "each once"),
        (("HERON", "NIX"), 3, "no lake 'NIX'"),
        (("HERON", "EMPTY"), 3, "EMPTY has no fish with a result"),
        (("HERON", "SPOT"), 4, "two things"),
        (("HERON", "GILL"), 4, "two kinds of fish"),
    ):
        assert said in run_on_sqlite("report", "compare", *named, fails=fails).stderr
