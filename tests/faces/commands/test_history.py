"""The life of a finding, a shipment and a survey, and the export of every decision for an audit."""

from __future__ import annotations

import csv
from pathlib import Path

from conftest import Runner
from reconcile_support import document, messy, of_kind, read, reconciled, typed


def test_the_life_of_a_finding_shows_its_row_and_each_decision(run: Runner, tmp_path: Path) -> None:
    vials = messy(run, tmp_path)
    (failed,) = of_kind(reconciled(run)[1], "failed")
    run("decide", failed, "accept", "--why", "dry")
    run("decide", failed, "resample", "--why", "wanted after all")
    told = document(run, "history", failed.lower())
    assert (told["finding"], told["title"]) == (failed, f"{vials[1]} gave no result, 'ND' (row 3).")
    assert told["facts"] == [f"return.csv, row 3: Sample ID = {vials[1]}; Florida proportion = ND"]
    did = [(one["what"], one["why"]) for one in told["life"]]
    assert did[0][0].startswith("opened: ")
    assert did[1:] == [
        ("decided: accept", "dry"), ("decided: resample (was accept)", "wanted after all"),
    ]  # fmt: skip
    assert f"Finding {failed}:" in run("history", failed).stdout
    assert document(run, "finding", "show", failed) == told
    run("history", "F999", fails=3)
    assert "does not check" in run("history", "NOSUCH", fails=4).stderr


def test_the_life_of_a_shipment_and_of_a_survey(run: Runner, tmp_path: Path) -> None:
    vials = messy(run, tmp_path)
    (stranger,) = of_kind(reconciled(run)[1], "unexpected")
    run("decide", stranger, "match", vials[2], "--why", "the lab misread the label")
    run("return", "withdraw", "return.csv", "--why", "another lake's")
    run("shipment", "close", "SHIP-1", "--why", "lost at the lab")
    run("correct", "fish", "HERON-2026", 2, "--site", "cove", "--why", "from the sheet")
    life = [one["what"] for one in document(run, "history", "ship-1")["life"]]
    for said in (
        "packed for lab QUILL: 6 vials placed", "sent 2026-06-01 00:00: 6 vials",
        "return.csv read: 8 rows, 3 with a result, 1 without, 2 held",
        f"finding {stranger} decided: match {vials[2]}", "the reading of return.csv withdrawn: 7 results no"
        " longer count", "closed",
    ):  # fmt: skip
        assert said in life, said
    assert any(said.startswith(f"finding {stranger} closed itself") for said in life)
    survey = document(run, "history", "HERON-2026")
    said = [one["what"] for one in survey["life"]]
    assert said[0] == "survey opened"
    assert "fish 2 corrected: site: (none) -> cove" in said
    assert "shipment SHIP-1 sent 2026-06-01 00:00: 6 vials" in said
    assert "Heron Lake" in survey["facts"][0]
    # shown in the order in which it happened
    for told in (survey, document(run, "history", "SHIP-1")):
        moments = [one["at"] for one in told["life"]]
        assert moments == sorted(moments)


def test_every_decision_and_correction_is_exported_also_those_that_no_longer_hold(
    run: Runner, tmp_path: Path
) -> None:
    vials = messy(run, tmp_path)
    (failed,) = of_kind(reconciled(run)[1], "failed")
    run("decide", failed, "accept", "--why", "dry")
    run("decide", failed, "resample", "--why", "wanted after all")
    run("correct", "result", vials[0], "--failed", "contaminated", "--why", "the lab's letter")
    read(run, tmp_path, [typed(vials[1], 20)], "again.csv")
    run("return", "withdraw", "again.csv", "--why", "another lake's")
    out = tmp_path / "audit.csv"
    run("report", "decisions", fails=2)
    assert "decisions and corrections" in run("report", "decisions", "--out", out).stdout
    assert "there already" in run("report", "decisions", "--out", out, fails=4).stderr
    with out.open(encoding="utf-8-sig", newline="") as text:
        rows = list(csv.DictReader(text))
    of_failed = [row for row in rows if row["about"] == failed]
    assert [(row["did"], row["why"], row["by"]) for row in of_failed[:2]] == [
        ("decided: accept", "dry", "Ada Test"), ("decided: resample (was accept)", "wanted after all", "Ada Test"),
    ]  # fmt: skip
    assert [row["in_force"] for row in of_failed][-1] == "yes"
    assert {row["in_force"] for row in of_failed[:-1]} == {"no"}
    assert (of_failed[0]["file"], of_failed[0]["rows"], of_failed[0]["lake"]) == ("return.csv", "3", "HERON")
    assert [row["why"] for row in rows if row["about"] == vials[0]] == ["the lab's letter"]
    assert [row["did"] for row in rows if row["about_kind"] == "shipment"] == [
        "the reading of again.csv withdrawn: 1 result no longer counts"
    ]
    assert len(document(run, "report", "decisions")["decisions"]) == len(rows)


def test_the_row_of_a_lab_keeps_what_it_said_after_a_correction(
    run_on_sqlite: Runner, tmp_path: Path
) -> None:
    run = run_on_sqlite
    vials = messy(run, tmp_path)
    before = next(
        one["what"] for one in document(run, "history", vials[0])["life"] if "row 2 of" in one["what"]
    )
    run(
        "correct",
        "result",
        vials[0],
        "--q",
        "0.5",
        "--heterozygosity",
        "0.5",
        "--why",
        "the lab's letter",
        "--yes",
    )
    run("correct", "result", vials[0], "--q", "0.25", "--why", "its second letter", "--yes")
    life = [one["what"] for one in document(run, "history", vials[0])["life"]]
    assert f"{before}, corrected since" in life
    assert len([one for one in life if one.startswith("result corrected")]) == 2
    run("return", "withdraw", "return.csv", "--why", "another lake")
    life = [
        one["what"] for one in document(run, "history", vials[3])["life"]
    ]  # two rows of the file are about it
    assert (
        len([one for one in life if "row " in one and "of return.csv" in one and "finding" not in one]) == 2
    )
    assert life.count("the reading of return.csv was withdrawn") == 1
