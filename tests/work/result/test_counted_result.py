"""One result at most speaks for a fish, and it is the right one."""

from __future__ import annotations

from random import Random

from return_support import MOMENT, a_shipment, csv_file
from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.rules.stamp import Stamp
from geneticlog.store.tables import Fish, Result, Vial
from geneticlog.work.lab_return.read_return import LabFile, read_return
from geneticlog.work.result.counted_result import settle


def read(session: Session, rows: list[list[object]]) -> None:
    content = csv_file([["Vial", "Florida proportion"], *rows])
    read_return(session, LabFile(content, "return.csv"), "SH-1", stamp=Stamp(MOMENT, "Ada"))


def speaking(session: Session) -> dict[int, str]:
    found = session.execute(
        select(Fish.number, Vial.code)
        .join(Result, Result.fish_id == Fish.id)
        .join(Vial, Vial.id == Result.vial_id)
    )
    return {number: code for number, code in found}  # noqa: C416 - rows are no plain pairs to mypy


def set_standing(session: Session, code: str, standing: str) -> None:
    vial = session.scalars(select(Vial).where(Vial.code == code)).one()
    for result in session.scalars(select(Result).where(Result.vial_id == vial.id)):
        result.standing, result.fish_id = standing, None
    settle(session, [vial.id])


def test_the_sample_speaks_before_its_blind_duplicate_and_a_blank_never(session: Session) -> None:
    sample, other, duplicate, blank = a_shipment(session, 2, duplicates=1, blanks=1)
    read(session, [[duplicate, 0.26], [sample, 0.25], [blank, 0.5], [other, "ND"]])
    assert speaking(session) == {1: sample}
    set_standing(session, sample, "rejected")
    assert speaking(session) == {1: duplicate}
    set_standing(session, duplicate, "held")
    assert speaking(session) == {}
    set_standing(session, sample, "current")
    assert speaking(session) == {1: sample}


def test_a_sample_that_comes_later_takes_the_word_from_its_duplicate(session: Session) -> None:
    sample, other, duplicate = a_shipment(session, 2, duplicates=1)
    read(session, [[duplicate, 0.26], [other, 0.75]])
    assert speaking(session) == {1: duplicate, 2: other}
    read(session, [[sample, 0.25]])
    assert speaking(session) == {1: sample, 2: other}


def test_an_emptied_vial_no_longer_speaks_for_its_fish(session: Session) -> None:
    sample, _, duplicate = a_shipment(session, 2, duplicates=1)
    read(session, [[duplicate, 0.26], [sample, 0.25]])
    vial = session.scalars(select(Vial).where(Vial.code == sample)).one()
    vial.fish_id = vial.fish_n = None
    vial.standing = "printed"
    settle(session, [vial.id])
    assert speaking(session) == {1: duplicate}


def test_a_long_return_tells_how_far_it_is_and_stores_every_row(session: Session) -> None:
    codes = a_shipment(session, 5_200)
    told: list[tuple[int, int]] = []
    drawn = Random(3)  # no series: values that repeat down a whole column are held
    rows = [[code, f"{drawn.randrange(77) / 76:.4f}"] for code in codes]
    content = csv_file([["Vial", "Florida proportion"], *rows])
    done = read_return(
        session,
        LabFile(content, "return.csv"),
        "SH-1",
        stamp=Stamp(MOMENT, "Ada"),
        progress=lambda n, of: told.append((n, of)),
    )
    assert done.n_typed == 5_200
    assert len(speaking(session)) == 5_200
    assert told == sorted(told)
    assert told[-1] == (10_400, 10_400)
    assert len(told) > 3
