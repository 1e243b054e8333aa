"""Reports that went out: kept, looked at again when what they rest on changes, and marked in list and inbox."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

import pytest
from conftest import Runner
from lakes_support import add_lake, add_survey, add_typed
from sqlalchemy import select, text
from sqlalchemy.exc import DatabaseError
from sqlalchemy.orm import Session

from geneticlog.rules.report.outdated import Basis, Counted, verdict_on
from geneticlog.store.tables import Result, Vial

THEN = Basis(
    {"A": Counted("H#1", "stock", 0.2, 0.4, 38), "B": Counted("H#2", "stock", 0.3, 0.4, 38)},
    {"H": {"stock": 10, "": 2}},
)


@pytest.mark.parametrize(
    ("now", "changes", "n_newer"),
    [
        (THEN, (), 0),
        (
            Basis({**THEN.results, "C": Counted("I#1", "stock", 0.5)}, {**THEN.caught, "I": {"stock": 1}}),
            (),
            1,
        ),
        (Basis({"A": THEN.results["A"]}, THEN.caught), ("1 result that no longer counts: B",), 0),
        (Basis({}, THEN.caught), ("2 results that no longer count: A, B",), 0),
        (
            Basis({**THEN.results, "A": Counted("H#1", "stock", 0.25, 0.4, 38)}, THEN.caught),
            ("1 result changed: A from 20.0 % to 25.0 %",),
            0,
        ),
        (
            Basis({**THEN.results, "A": Counted("H#1", "stock", 0.2, 0.3, 38)}, THEN.caught),
            ("1 result with other heterozygosity or loci: A",),
            0,
        ),
        (
            Basis({**THEN.results, "A": Counted("H#1", "quality", 0.2, 0.4, 38)}, THEN.caught),
            ("1 fish of another size class: fish H#1 from stock to quality",),
            0,
        ),
        (Basis(THEN.results, {"H": {"stock": 9, "": 2}}), ("1 catch corrected: H from 12 to 11 fish",), 0),
    ],
)
def test_what_makes_a_report_outdated(now: Basis, changes: tuple[str, ...], n_newer: int) -> None:
    verdict = verdict_on(THEN, now)
    assert (verdict.changes, verdict.n_newer, verdict.outdated) == (changes, n_newer, bool(changes))


def test_an_owner_who_was_told_a_number_must_be_told_again(
    run: Runner, session: Session, tmp_path: Path
) -> None:
    lake = add_lake(session)
    survey = add_survey(session, lake, "HERON-2026", date(2026, 4, 9))
    add_typed(session, survey, [(13.0, q) for q in (0.1, 0.2, 0.3, 0.4, 0.5, 0.6)])
    session.commit()
    assert "No report was sent out yet." in run("report", "list").stdout
    json.loads(run("report", "lake", "HERON", "--json").stdout)  # only looked at: nothing is kept
    assert json.loads(run("report", "list", "--json").stdout) == {"reports": []}
    assert "Kept in the record as R1." in run("report", "lake", "HERON", "--out", tmp_path).stdout
    (first,) = json.loads(run("report", "list", "--json").stdout)["reports"]
    assert (first["lake"], first["written_by"], first["outdated"]) == ("HERON", "Ada Test", False)
    assert first["told"][0].startswith("How much? 35 %")
    assert json.loads(run("inbox", "--json").stdout)["reports"] == []
    result = session.scalars(select(Result).order_by(Result.id)).first()
    assert result is not None
    vial = session.scalars(select(Vial.code).where(Vial.id == result.vial_id)).one()
    result.standing, result.fish_id = "rejected", None
    session.commit()
    said = run("report", "list").stdout
    assert f"outdated: 1 result that no longer counts: {vial}" in " ".join(said.split())
    assert "1 lake whose owner should get a new report" in said
    (waits,) = json.loads(run("inbox", "--json").stdout)["reports"]
    assert (waits["lake"], waits["report"]) == ("HERON", "R1")
    assert "Reports to send again" in run("inbox").stdout
    run("report", "lake", "HERON", "--out", tmp_path)
    listed = json.loads(run("report", "list", "--json").stdout)["reports"]
    assert [(one["report"], one["outdated"], one["replaced"], one["tell_again"]) for one in listed] == [
        ("R2", False, False, False),
        ("R1", True, True, False),
    ]
    assert json.loads(run("report", "list", "--outdated", "--json").stdout) == {"reports": []}
    assert json.loads(run("report", "list", "--lake", "heron", "--json").stdout)["reports"] == listed
    run("report", "list", "--lake", "NONE", fails=3)


def test_a_report_that_went_out_is_never_changed(run: Runner, session: Session, tmp_path: Path) -> None:
    add_typed(session, add_survey(session, add_lake(session)), [(13.0, 0.1)] * 5)
    session.commit()
    run("report", "lake", "HERON", "--out", tmp_path)
    for change in ("UPDATE kept_report SET told = '[]'", "DELETE FROM kept_report"):
        with pytest.raises(DatabaseError, match="a report that went out is never"):
            session.execute(text(change))
        session.rollback()


@pytest.mark.parametrize("database", ["sqlite"], indirect=True)
def test_a_report_that_cannot_be_written_is_not_kept(run: Runner, session: Session, tmp_path: Path) -> None:
    add_typed(session, add_survey(session, add_lake(session)), [(13.0, 0.1)] * 5)
    session.commit()
    (tmp_path / "heron.html").write_text("of another hand")
    run("report", "lake", "HERON", "--out", tmp_path, fails=4)
    assert json.loads(run("report", "list", "--json").stdout) == {"reports": []}
    assert [path.name for path in tmp_path.glob("heron*")] == ["heron.html"]


def test_reports_are_kept_through_a_copy_of_the_database(
    run: Runner, session: Session, tmp_path: Path
) -> None:
    add_typed(session, add_survey(session, add_lake(session)), [(13.0, 0.1), (13.0, 0.2)] * 3)
    session.commit()
    run("report", "lake", "HERON", "--out", tmp_path / "out")
    before = json.loads(run("report", "list", "--json").stdout)
    copy = Runner(str(tmp_path / "copy.sqlite"))
    run("database", "copy", run.database, copy.database)
    assert json.loads(copy("report", "list", "--json").stdout) == before
    copy("correct", "fish", "HERON-2026", 1, "--length", "6.5", "--why", "measured again")
    (told,) = json.loads(copy("report", "list", "--json").stdout)["reports"]
    assert told["changes"] == ["1 fish of another size class: fish HERON-2026#1 from quality to substock"]
    assert json.loads(run("report", "list", "--json").stdout) == before


@pytest.mark.parametrize("database", ["sqlite"], indirect=True)
def test_what_comes_in_from_a_boat_makes_a_report_outdated(
    run: Runner, session: Session, tmp_path: Path
) -> None:
    add_typed(session, add_survey(session, add_lake(session)), [(13.0, 0.1), (13.0, 0.2)] * 3)
    session.commit()
    run("office", "set", "BG")
    run("report", "lake", "HERON", "--out", tmp_path / "out")
    boat = Runner(str(tmp_path / "boat.sqlite"))
    boat("database", "upgrade")
    run("carry", "out", "HERON-2026", tmp_path / "out.carry")
    boat("carry", "in", tmp_path / "out.carry")
    assert json.loads(boat("report", "list", "--json").stdout) == {"reports": []}  # they stay at the office
    run("carry", "in", tmp_path / "out.carry")
    assert not json.loads(run("report", "list", "--json").stdout)["reports"][0]["outdated"]
    boat("correct", "fish", "HERON-2026", 2, "--length", "6.5", "--why", "the boat's sheet says so")
    boat("carry", "out", "HERON-2026", tmp_path / "back.carry")
    run("carry", "in", tmp_path / "back.carry")
    (waits,) = json.loads(run("inbox", "--json").stdout)["reports"]
    assert "fish HERON-2026#2 from quality to substock" in waits["text"]
