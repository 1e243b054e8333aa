"""Findings of every kind are listed, and each says where it stands and who decided what, when and why."""

from __future__ import annotations

import csv
import re
from pathlib import Path

import openpyxl
from conftest import Runner
from office_support import NOW
from reconcile_support import document, messy, of_kind, q, read, reconciled, sent, speaking, typed
from sqlalchemy import select

from geneticlog.rules.stamp import Stamp
from geneticlog.store.engine import database_url, one_transaction, open_engine
from geneticlog.store.tables import Survey
from geneticlog.work.finding.open_finding import About, open_finding


def a_doubt_of_the_log(run: Runner) -> None:
    engine = open_engine(database_url(run.database))
    with one_transaction(engine) as session:
        survey = session.scalars(select(Survey)).one()
        open_finding(
            session, key="odd:1", kind="doubtful_measurement", text="fish 1: 30 in is long.",
            stamp=Stamp(NOW, "Ada Test"), about=About(survey.id),
        )  # fmt: skip
    engine.dispose()


def test_findings_are_listed_by_lake_survey_and_shipment_with_whom_they_wait_for(
    run: Runner, tmp_path: Path
) -> None:
    messy(run, tmp_path)
    reconciled(run)
    a_doubt_of_the_log(run)

    def listed(*arguments: object) -> dict[str, str]:
        there = document(run, "finding", "list", *arguments)["findings"]
        return {one["kind"]: one["waits_for"] for one in there}

    every = listed()
    assert every == {
        "failed": "the biologist", "missing": "the lab", "unexpected": "the office", "conflicting": "the lab",
        "duplicate_row": "the office", "doubtful_measurement": "the crew",
    }  # fmt: skip
    assert listed("--lake", "HERON") == listed("--survey", "heron-2026") == every
    assert set(every) - set(listed("--shipment", "SHIP-1")) == {"doubtful_measurement"}
    run("finding", "list", "--lake", "NOWHERE", fails=3)
    (failed,) = [
        one["finding"] for one in document(run, "finding", "list")["findings"] if one["kind"] == "failed"
    ]
    run("finding", "decide", failed, "accept", "--why", "the swab was dry")
    assert "failed" not in listed("--open")
    shown = run("finding", "list").stdout
    assert "accept by Ada Test" in shown
    assert all(word in shown for word in ("swab", "dry"))  # the reason may take two lines
    assert "open, waits for the lab" in shown


def test_a_finding_names_its_file_sheet_and_who_decided_it(run: Runner, tmp_path: Path) -> None:
    a, b, *_ = sent(run)
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "Plate 1"
    for row in (["Sample ID", "Florida proportion", "Loci scored"], [a, float(q(10)), 38], [b, "ND", None]):
        sheet.append(row)
    book.save(tmp_path / "lab.xlsx")
    run("return", "read", tmp_path / "lab.xlsx", "--shipment", "SHIP-1")
    _, findings = reconciled(run)
    (failed,) = of_kind(findings, "failed")
    (missing, *_) = of_kind(findings, "missing")
    assert (findings[failed]["file"], findings[failed]["sheet"]) == ("lab.xlsx", "Plate 1")
    assert findings[missing]["file"] is None  # it is in no file
    run("decide", failed, "resample", "--why", "a dry swab")
    decided = reconciled(run)[1][failed]
    assert (decided["decided_by"], decided["why"]) == ("Ada Test", "a dry swab")
    assert decided["decided_at"]
    out = tmp_path / "list.csv"
    run("reconcile", "SHIP-1", "--out", out)
    with out.open(encoding="utf-8-sig", newline="") as text:
        rows = {row["finding"]: row for row in csv.DictReader(text)}
    assert (rows[failed]["sheet"], rows[failed]["decided_by"], rows[failed]["why"]) == (
        "Plate 1", "Ada Test", "a dry swab",
    )  # fmt: skip
    assert re.fullmatch(r"\d{4}-\d\d-\d\d \d\d:\d\d.*", rows[failed]["decided_at"])  # local, to the minute
    assert rows[missing]["waits_for"] == "the lab"


def test_a_vial_that_never_arrived_and_comes_back_typed_is_held(run: Runner, tmp_path: Path) -> None:
    a, b, c, d, *_ = sent(run)
    run(
        "shipment", "arrive", "SHIP-1", "--missing", a, "--broken", b, "--note", f"{b}=crushed", "--leaked", c
    )
    owed = document(run, "shipment", "resample", "SHIP-1")["resample"]
    assert sorted(vial for one in owed for vial in one["vials"]) == sorted([a, b])  # before any return
    read(run, tmp_path, [typed(a, 10), typed(b, 20), typed(c, 30)])
    counts, findings = reconciled(run)
    assert (counts["held"], counts["matched"]) == (2, 1)
    missing, broken = of_kind(findings, "returned_though_gone")
    assert "missing on arrival" in findings[missing]["text"]
    assert "broken on arrival, yet it gives a result (crushed)" in findings[broken]["text"]
    run("finding", "decide", missing, "accept", "--why", "found in the next box")
    assert speaking(run, a)[0][0] == "current"
    # after closing, what has not come back is owed
    run("shipment", "close", "SHIP-1", "--why", "the lab has no more")
    owed = document(run, "shipment", "resample", "SHIP-1")["resample"]
    assert d in [vial for one in owed for vial in one["vials"]]
    # and what comes after all says so
    read(run, tmp_path, [typed(d, 12)], "late.csv")
    (late,) = of_kind(reconciled(run)[1], "shipment_closed")
    assert "was closed on" in reconciled(run)[1][late]["text"]
    assert speaking(run, d)[0][0] == "current"


def test_what_a_closed_shipment_without_a_return_lost_is_owed(run: Runner) -> None:
    vials = sent(run, n_fish=3)
    assert document(run, "shipment", "resample")["resample"] == []
    run("shipment", "close", "SHIP-1", "--why", "lost in the post")
    owed = document(run, "shipment", "resample")["resample"]
    assert sorted(vial for one in owed for vial in one["vials"]) == sorted(vials)
