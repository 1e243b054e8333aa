"""Which result of a vial is corrected, and what a correction changes with it."""

from __future__ import annotations

from typing import Any

import pytest
from return_support import MOMENT, a_shipment, csv_file
from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.errors import NotFound, Refused
from geneticlog.rules.stamp import Stamp
from geneticlog.store.tables import Result, Vial
from geneticlog.work.lab_return.read_return import LabFile, read_return
from geneticlog.work.result.correct_result import correct_result

STAMP = Stamp(MOMENT, "Ada")


def a_vial(session: Session, rows: list[list[object]], n: int = 2) -> tuple[Vial, list[str]]:
    codes = a_shipment(session, n)
    table = [[codes[int(str(at))], *more] for at, *more in rows]
    content = csv_file([["Vial", "Florida proportion", "Loci scored"], *table])
    read_return(session, LabFile(content, "return.csv"), "SH-1", stamp=STAMP)
    return session.scalars(select(Vial).where(Vial.code == codes[0])).one(), codes


def results(session: Session, vial: Vial) -> list[Result]:
    return list(session.scalars(select(Result).where(Result.vial_id == vial.id).order_by(Result.id)))


def correct(session: Session, vial: Vial, **changes: Any) -> None:
    correct_result(session, vial, changes, why="copied wrongly", stamp=STAMP)


def test_of_two_that_contradict_each_other_none_is_corrected(sqlite_session: Session) -> None:
    vial, _ = a_vial(sqlite_session, [[0, 0.25, 38], [0, 0.5, 38], [1, 0.75, 38]])
    assert [str(one.standing) for one in results(sqlite_session, vial)] == ["held", "held"]
    with pytest.raises(Refused, match="has 2 contradictory results; first decide which one is right"):
        correct(sqlite_session, vial, q=0.75)


@pytest.mark.parametrize("at", [0, 1])
def test_the_current_result_is_corrected_and_not_the_one_that_waits(sqlite_session: Session, at: int) -> None:
    vial, _ = a_vial(sqlite_session, [[0, 0.25, 38], [0, 0.5, 38], [1, 0.75, 38]])
    results(sqlite_session, vial)[at].standing = "current"
    sqlite_session.flush()
    correct(sqlite_session, vial, q=0.75)
    assert [one.q for one in results(sqlite_session, vial)] == [
        0.75 if i == at else q for i, q in enumerate((0.25, 0.5))
    ]


def test_one_that_waits_alone_is_corrected(sqlite_session: Session) -> None:
    vial, _ = a_vial(sqlite_session, [[0, 0.5, 38], [1, 0.75, 38]])
    result = results(sqlite_session, vial)[0]
    result.standing, result.fish_id = "held", None
    sqlite_session.flush()
    correct(sqlite_session, vial, q=0.25)
    assert [one.q for one in results(sqlite_session, vial)] == [0.25]


def test_a_vial_without_a_result_and_a_correction_without_a_reason_are_refused(
    sqlite_session: Session,
) -> None:
    vial, codes = a_vial(sqlite_session, [[0, 0.25, 38], [1, 0.75, 38]], n=3)
    third = sqlite_session.scalars(select(Vial).where(Vial.code == codes[2])).one()
    with pytest.raises(NotFound, match="has no result to correct"):
        correct(sqlite_session, third, q=0.5)
    with pytest.raises(Refused, match="give the reason"):
        correct_result(sqlite_session, vial, {"q": 0.5}, why=" ", stamp=STAMP)
    with pytest.raises(Refused, match="a result has no colour to correct"):
        correct(sqlite_session, vial, colour="red")


def test_a_failure_takes_the_value_away_and_a_value_the_failure(sqlite_session: Session) -> None:
    vial, _ = a_vial(sqlite_session, [[0, 0.25, 38], [1, 0.75, 38]])
    (result,) = results(sqlite_session, vial)
    assert result.fish_id == vial.fish_id
    correct(sqlite_session, vial, failure="no DNA")
    assert (str(result.outcome), result.q, result.failure, result.fish_id) == ("failed", None, "no DNA", None)
    correct(sqlite_session, vial, q=0.5, n_loci=38)
    assert (str(result.outcome), result.q, result.failure, result.fish_id) == (
        "typed",
        0.5,
        None,
        vial.fish_id,
    )
