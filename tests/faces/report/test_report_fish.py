"""Every fish one by one: ``report fish``, the section of the lake report, and the fish sheet."""

from __future__ import annotations

import csv
import json
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import openpyxl
import pypdfium2
import pytest
from conftest import Runner
from lakes_support import NOW, add_fish, add_lake, add_panel, add_result, add_survey, add_typed, add_vial
from office_support import an_office
from report_support import reported_without_figures
from scipy.optimize import minimize
from scipy.stats import binom
from sqlalchemy.orm import Session
from tests_support import database  # noqa: F401  (the words and files of a report: SQLite alone)

from geneticlog.faces.report.every_fish import every_fish_blocks
from geneticlog.rules.stamp import Stamp
from geneticlog.store.tables import Genotype
from geneticlog.work.report.gather import gather_lake

NORTHERN, FLORIDA = "northern", "Florida"
# (length, q, H) at 60 loci: northern, F1, F2, backcross, one later cross
FISH = [(10.5, 0.0, 0.0), (11.0, 0.5, 1.0), (13.0, 0.5, 0.5), (13.5, 0.25, 0.5), (14.0, 0.15, 0.1667)]
CALLS = [0] * 30 + [1] * 28 + [None] * 2  # a first backcross, counted locus by locus


def a_lake(session: Session, **taxa: str) -> None:
    panel = add_panel(session, "P60", 60, **taxa)
    survey = add_survey(session, add_lake(session))
    add_typed(session, survey, FISH, n_loci=60, panel=panel)
    add_result(session, add_vial(session, add_fish(session, survey, 15.0)), 0.5, None, 60, panel)
    add_result(session, add_vial(session, add_fish(session, survey, 15.1)), 0.25, 0.5, 8, panel)
    add_result(session, add_vial(session, add_fish(session, survey, 15.2)), 0.26, 0.5, 60, panel)
    add_result(session, add_vial(session, add_fish(session, survey, 15.3)), 0.26, 0.5, None, panel)
    typed = add_result(
        session, add_vial(session, add_fish(session, survey, 15.4)), 28 / 116, 28 / 58, 58, panel
    )
    session.add_all(Genotype(result_id=typed.id, marker=f"M{i}", n_alleles=x) for i, x in enumerate(CALLS))
    add_vial(session, add_fish(session, survey, 15.5))
    session.commit()


def every_fish(run: Runner, *more: str) -> Any:
    return json.loads(run("report", "fish", "heron-2026", "--json", *more).stdout)


def test_each_fish_with_all_that_its_loci_carry(run: Runner, session: Session) -> None:
    a_lake(session)
    told = every_fish(run)
    assert (told["n_swabbed"], told["n_resulted"], told["interval_drop"], told["miscall_rate"]) == (
        11,
        10,
        2,
        0.005,
    )
    fish = {one["number"]: one for one in told["fish"]}
    assert [one["accepted"] for one in told["fish"]] == [
        NORTHERN, "F1", "F2", "backcross to northern", None, None, None, None, None, "backcross to northern",
    ]  # fmt: skip
    assert [one["why"] for one in told["fish"][4:9]] == [
        "generation not resolved", "no heterozygosity", "too few loci", "q, H and loci fit no whole loci",
        "loci not stated",
    ]  # fmt: skip
    assert [one["ancestry_class"] for one in told["fish"]] == [
        NORTHERN, "F1", "intergrade", "intergrade", "intergrade", "undetermined", "undetermined", "intergrade",
        "intergrade", "intergrade",
    ]  # fmt: skip
    assert told["too_few_loci"] == [7]
    # the interval's ends lie 2 log units below the best, by scipy's binomial
    best = binom.logpmf(30, 120, 0.25)
    for edge in (fish[4]["low"], fish[4]["high"]):
        assert best - binom.logpmf(30, 120, edge) == pytest.approx(2, abs=1e-5)
    assert fish[9]["low"] is None
    assert fish[8]["low"] < 0.26 < fish[8]["high"]
    # the six log-likelihoods, written out: half and half of 0 and 1 alleles, each misread with a chance of .005
    e = 0.005
    none, one = 0.5 * (1 - e) ** 2 + 0.5 * e * (1 - e), 0.5 * 2 * e * (1 - e) + 0.5 * ((1 - e) ** 2 + e**2)
    assert fish[4]["likelihoods"]["backcross to northern"] == pytest.approx(
        30 * math.log(none) + 30 * math.log(one)
    )
    assert fish[4]["loci_by_alleles"] == [30, 30, 0]
    assert fish[4]["margin"] == pytest.approx(
        fish[4]["likelihoods"]["backcross to northern"] - fish[4]["likelihoods"]["F2"]
    )
    # genotypes where the lab gave them: counted, and the call rate with them
    assert fish[10]["counted_from"] == "genotypes"
    assert fish[10]["loci_by_alleles"] == [30, 28, 0]
    assert fish[10]["call_rate"] == pytest.approx(58 / 60)
    assert fish[10]["counted_q"] == pytest.approx(28 / 116)
    assert fish[10]["call_rate_from"] == "genotypes"
    assert fish[4]["counted_from"] == "q, H and loci"
    assert (fish[4]["call_rate"], fish[4]["call_rate_from"]) == (1.0, "loci of the panel")
    assert fish[7]["call_rate"] == pytest.approx(8 / 60)
    assert (fish[9]["call_rate"], fish[9]["call_rate_from"]) == (None, None)


def test_the_aic_is_that_of_a_free_model_found_by_another_optimiser(
    run_on_sqlite: Runner, tmp_path: Path
) -> None:
    from geneticlog.store.engine import one_transaction, open_engine

    engine = open_engine(f"sqlite:///{run_on_sqlite.database}")
    with one_transaction(engine) as session:
        a_lake(session)
    engine.dispose()
    e = 0.005
    misread = [
        [(1 - e) ** 2, 2 * e * (1 - e), e**2],
        [e * (1 - e), (1 - e) ** 2 + e**2, e * (1 - e)],
        [e**2, 2 * e * (1 - e), (1 - e) ** 2],
    ]
    for fish in every_fish(run_on_sqlite)["fish"]:
        loci = fish["loci_by_alleles"]
        if loci is None:
            continue

        def minus_log(q_and_h: Any, loci: list[int] = loci) -> float:
            q, h = q_and_h
            true = [1 - q - h / 2, h, q - h / 2]
            if min(true) < 0:
                return 1e6
            seen = [sum(share * row[x] for share, row in zip(true, misread, strict=True)) for x in range(3)]
            return -sum(n * math.log(chance) for n, chance in zip(loci, seen, strict=True) if n)

        starts = [(0.5, 0.5), (0.02, 0.02), (0.98, 0.02), (0.5, 0.98), (0.25, 0.48)]
        tight = {"xatol": 1e-10, "fatol": 1e-10, "maxiter": 4000}
        free = -min(minimize(minus_log, start, method="Nelder-Mead", options=tight).fun for start in starts)
        best = max(fish["likelihoods"].values())
        assert fish["aic_difference"] == pytest.approx((2 - 2 * best) - (4 - 2 * free), abs=2e-3), fish[
            "number"
        ]


def test_the_screen_shows_one_table_within_eighty_columns(run: Runner, session: Session) -> None:
    a_lake(session)
    said = run("report", "fish", "HERON-2026").stdout
    tables = said.split("Classes by the rule set")[0]
    assert max(map(len, tables.splitlines())) <= 80
    line = next(row.split() for row in said.splitlines() if row.split()[:2] == ["4", "13.5"])
    assert line == [
        "4",
        "13.5",
        "quality",
        "0.250",
        "0.18–0.33",
        "0.50",
        "60",
        "100",
        "intergrade",
        "backcross",
        "to",
    ]
    words = " ".join(said.split())
    assert "within 2 log units" in words
    assert "0.005 of alleles taken to be misread" in words
    assert "at least 50 informative loci are asked for: 1 of these 7 has fewer" in words
    assert "fewer than 12 loci, and so undetermined whatever their q: fish 7 (8)" in words
    assert "Fish 6: no heterozygosity was given" in words
    assert "Fish 8: q and H fit no whole loci" in words
    assert "“house default” of 2026-05-01" in words
    assert "Below 90 %, and to be read with care: fish 7 (13 %)" in words
    assert "1 swabbed fish has no counted result and is not shown." in words


def test_another_pair_of_taxa_is_named_in_its_own_words(
    run: Runner, session: Session, tmp_path: Path
) -> None:
    a_lake(session, taxon="spotted", other_taxon="smallmouth")
    told = every_fish(run)
    reported_without_figures(run, tmp_path)
    page = (
        (tmp_path / "heron.html")
        .read_text(encoding="utf-8")
        .split('id="fish-heading"')[1]
        .split("Methods,")[0]
    )
    for words in (json.dumps(told), run("report", "fish", "HERON-2026").stdout, page):
        assert "smallmouth" in words
        assert NORTHERN not in words
        assert FLORIDA not in words
    assert told["classes"][0] == "smallmouth"
    assert told["fish"][3]["accepted"] == "backcross to smallmouth"
    with (tmp_path / "heron_fish.csv").open(encoding="utf-8-sig", newline="") as file:
        assert "log_likelihood_backcross_to_spotted" in next(csv.reader(file))


def test_the_lake_report_has_every_fish_on_page_paper_and_sheet(
    run: Runner, session: Session, tmp_path: Path
) -> None:
    a_lake(session)
    out = tmp_path / "out"
    run("report", "lake", "HERON", "--out", out)
    told = {one["number"]: one for one in every_fish(run)["fish"]}
    page = (out / "heron.html").read_text(encoding="utf-8")
    section = page.split('id="fish-heading"')[1].split("Methods,")[0]
    assert section.count("generation not resolved</td>") == 1
    assert "backcross to northern</td>" in section
    assert f"{told[4]['low']:.3f} to {told[4]['high']:.3f}" in section
    words = " ".join(
        one.get_textpage().get_text_bounded() for one in pypdfium2.PdfDocument(out / "heron.pdf")
    )
    assert "Fish of survey HERON-2026" in words
    assert "generation not resolved" in words
    sheet = openpyxl.load_workbook(out / "heron.xlsx")["fish"]
    headings, *rows = sheet.values
    for row in rows:
        held = dict(zip(headings, row, strict=True))
        fish = told[held["fish"]]
        assert held["generation"] == fish["accepted"]
        for column, key in (("q_low", "low"), ("q_high", "high"), ("margin", "margin")):
            assert held[column] == (fish[key] if fish[key] is None else pytest.approx(fish[key], rel=1e-12))
        for name in ("northern", "Florida", "F1", "F2", "backcross to northern", "backcross to Florida"):
            value = held[f"log_likelihood_{name.replace(' ', '_')}"]
            likelihood = (fish["likelihoods"] or {}).get(name)
            assert value == (likelihood if likelihood is None else pytest.approx(likelihood, rel=1e-12))


def test_the_rule_set_decides_how_many_loci_are_enough(run: Runner, session: Session, tmp_path: Path) -> None:
    a_lake(session)
    file = tmp_path / "few.toml"
    default = run("ruleset", "show", "--toml").stdout
    file.write_text(default.replace("house default", "few").replace("= 12", "= 6"), encoding="utf-8")
    run("ruleset", "add", file)
    assert every_fish(run, "--rule-set", "few")["too_few_loci"] == []
    assert every_fish(run, "--rule-set", "few")["fish"][6]["ancestry_class"] == "intergrade"


def test_a_survey_without_results_and_one_that_is_not_there(run: Runner, session: Session) -> None:
    survey = add_survey(session, add_lake(session))
    add_vial(session, add_fish(session, survey, 12.0))
    session.commit()
    assert "1 fish was swabbed; none has a result" in run("report", "fish", "HERON-2026").stdout
    assert every_fish(run)["fish"] == []
    assert "HERON-2026" in run("report", "fish", "HERON-2020", fails=3).stderr


def test_more_fish_than_paper_can_hold_are_left_to_the_sheet(sqlite_session: Session) -> None:
    a_lake(sqlite_session)
    lake = gather_lake(sqlite_session, "HERON", stamp=Stamp(NOW, "Ada Test"))
    assert lake.main is not None
    kinds = [block["kind"] for block in every_fish_blocks(lake, lake.main)]
    assert kinds == ["table", "list"]
    many = replace(lake.main, fish=lake.main.fish * 50)
    first, *others = every_fish_blocks(lake, many)
    assert "500 fish have a result, too many to print one by one" in first["text"]
    assert "heron_fish.csv" in first["text"]
    assert [block["kind"] for block in others] == ["list"]


def test_an_export_and_a_vials_history_tell_the_same_of_a_fish(
    run: Runner, session: Session, tmp_path: Path
) -> None:
    a_lake(session)
    run("office", "set", "BG")
    run("report", "export", "--out", tmp_path)
    with (tmp_path / "fish.csv").open(encoding="utf-8", newline="") as file:
        rows = {int(row["number"]): row for row in csv.DictReader(file)}
    told = every_fish(run)["fish"]
    for fish in told:
        row = rows[fish["number"]]
        assert row["generation"] == (fish["accepted"] or fish["why"])
        assert (row["ancestry_class"], row["counted_from"]) == (
            fish["ancestry_class"],
            fish["counted_from"] or "",
        )
        for column, key in (("q_low", "low"), ("margin", "margin"), ("aic_difference", "aic_difference")):
            assert (float(row[column]) if row[column] else None) == fish[key]
        result = json.loads(run("history", fish["vial"], "--json").stdout)["results"][0]
        for key in ("low", "high", "ancestry_class"):
            assert result[key] == fish[key]
        assert result["generation"] == row["generation"]
        assert result["rule_set"] == "house default, 2026-05-01"
    assert rows[11]["generation"] == ""
    said = run("history", told[9]["vial"]).stdout
    assert "H 0.483, 58 loci: intergrade; backcross to northern" in said
    assert "class by house default, 2026-05-01; interval of q: within 2 log units of the likeliest" in said


@pytest.mark.parametrize(
    ("heading", "cells", "rate", "whence"),
    [
        pytest.param("Loci", "36", 36 / 38, "loci of the panel", id="loci scored"),
        pytest.param("Call rate", "0.92", 0.92, "the lab", id="the lab's own"),
        pytest.param(
            "Well", "A1", None, None, id="neither: the panel's number is taken and tells of no call"
        ),
    ],
)
def test_a_call_rate_says_where_it_comes_from(
    run_on_sqlite: Runner, tmp_path: Path, heading: str, cells: str, rate: float | None, whence: str | None
) -> None:
    vials = an_office(run_on_sqlite.database, n_fish=3)
    run_on_sqlite("shipment", "pack", "SHIP-1", "--lab", "QUILL", "--panel", "QB38", *vials)
    run_on_sqlite("shipment", "send", "SHIP-1", "--at", "2026-06-01")
    file = tmp_path / "return.csv"
    rows = [["Sample", "Florida", "Het", heading], *([vial, "0.2500", "0.5000", cells] for vial in vials)]
    file.write_text("\n".join(",".join(row) for row in rows), encoding="utf-8")
    run_on_sqlite("return", "read", file, "--shipment", "SHIP-1", "--harmless", "not whole numbers")
    survey = json.loads(run_on_sqlite("survey", "list", "--json").stdout)["surveys"][0]["survey"]
    for fish in json.loads(run_on_sqlite("report", "fish", survey, "--json").stdout)["fish"]:
        assert (fish["call_rate"], fish["call_rate_from"]) == (rate and pytest.approx(rate), whence)
        assert fish["n_loci"] is not None
