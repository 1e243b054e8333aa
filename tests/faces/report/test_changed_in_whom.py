"""Whether a lake is changing and in whom: two looks are two tests, and the lake's own change stands first."""

from __future__ import annotations

import csv
import io
import json
from datetime import date
from pathlib import Path

from conftest import Runner
from lakes_support import NOW, add_catch, add_lake, add_panel, add_survey
from report_support import reported_without_figures
from sqlalchemy.orm import Session
from statsmodels.stats.multitest import multipletests

from geneticlog.faces.report.portfolio import list_data
from geneticlog.work.portfolio.working_list import working_list

YOUNG, ADULT = 9.5, 13.0
BEFORE = [8, 20, 14, 26, 10, 18, 22, 16]  # Florida alleles of 76 of eight fish


def put(session: Session, code: str, young_more: int, adult_more: int = 0) -> None:
    """Add a lake of which the young have that many alleles more in the second survey."""
    lake, panel = add_lake(session, code, code.title()), add_panel(session)
    for year, young, adult in ((2024, 0, 0), (2026, young_more, adult_more)):
        survey = add_survey(session, lake, f"{code}-{year}", date(year, 4, 9))
        catch = {YOUNG: (50, [k + young for k in BEFORE]), ADULT: (50, [k + adult for k in BEFORE])}
        add_catch(session, survey, catch, panel)


def test_a_change_of_the_young_alone_is_one_of_two_looks(
    run_on_sqlite: Runner, sqlite_session: Session, tmp_path: Path
) -> None:
    run = run_on_sqlite
    for code, young, adult in (("CHANCE", 7, 0), ("CLEAR", 16, 0), ("BOTH", 6, 6)):
        put(sqlite_session, code, young, adult)
    told = {code: reported_without_figures(run, tmp_path, code) for code in ("CHANCE", "CLEAR", "BOTH")}
    line = {code: document["answer"][2].split("whom? ")[1] for code, document in told.items()}
    summary = {code: " ".join(document["summary"]) for code, document in told.items()}
    listed = {one["lake"]: one for one in json.loads(run("report", "lakes", "--json").stdout)["lakes"]}
    for code, document in told.items():
        (change,) = document["changes"]
        ages = [change["young"], change["adult"]]
        by_statsmodels = multipletests([one["p"] for one in ages], method="holm")[1]
        assert [one["p_holm"] for one in ages] == [float(p) for p in by_statsmodels]
        assert (listed[code]["young"], listed[code]["adult"]) == tuple(ages)
        (row,) = csv.DictReader(io.StringIO((tmp_path / f"{code.lower()}_changes.csv").read_text("utf-8")))
        assert [float(row[f"{name}_p_holm"]) for name in ("young", "adult")] == [
            one["p_holm"] for one in ages
        ]

    young = told["CHANCE"]["changes"][0]["young"]
    assert young["low"] > 0
    assert young["p"] < 0.05 <= young["p_holm"]
    assert line["CHANCE"].startswith("Since 2024, at the same sizes of fish: no clear change of the lake (−")
    assert "young up 9 points (under 1 to 19 points), which may be chance." in line["CHANCE"]
    assert "next time" in line["CHANCE"]  # what would show it
    assert "adults" not in line["CHANCE"]
    assert "Of these alone: young 9.2 points (95 % interval +0.3 to" in summary["CHANCE"]
    assert "chance is not ruled out); adults 0.0 points" in summary["CHANCE"]

    assert "; young up 21 points (" in line["CLEAR"]
    assert "; adults no clear change (" in line["CLEAR"]
    assert "chance" not in line["CLEAR"] + summary["CLEAR"].split("Of these alone")[1].split(").")[0]

    # together they show what neither does alone: the lake's own change is told, and in whom is not
    assert line["BOTH"].startswith("Since 2024, at the same sizes of fish: the lake up 8 points (")
    assert "; in whom is not clear." in line["BOTH"]

    rows = list_data(working_list(sqlite_session, today=NOW.date()), today=NOW.date(), links={})["rows"]
    cells = {row["code"]: {name: ends for name, _, ends in row["changes"]} for row in rows}
    assert cells["CHANCE"]["young"] == "under +1 to +19; may be chance"
    assert "chance" not in cells["CLEAR"]["young"] + cells["CHANCE"]["adult"]

    # of two lakes likewise, over the young and the adults of every pair that is shown
    document = json.loads(run("report", "compare", "CHANCE", "CLEAR", "BOTH", "--json").stdout)
    ages = [pair[name] for pair in document["pairs"] for name in ("young", "adult")]
    by_statsmodels = multipletests([one["p"] for one in ages], method="holm")[1]
    assert [one["p_holm"] for one in ages] == [float(p) for p in by_statsmodels]
    assert "after Holm" in " ".join(document["pairs"][0]["sentences"])
