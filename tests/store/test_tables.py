"""Wrong states are impossible in the database itself, whoever writes to it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pytest
from sqlalchemy import text
from sqlalchemy.exc import DatabaseError
from sqlalchemy.orm import Session

ROWS = [
    "INSERT INTO lake (id, uid, code, name, added_at, added_by)"
    " VALUES (1, 'u1', 'HERON', 'Heron Lake', '2026-05-01 10:00:00', 'Ada')",
    "INSERT INTO survey (id, uid, code, lake_id, surveyed_on, gear, species, length_unit, weight_unit, scheme,"
    " opened_at, opened_by) VALUES (1, 'u2', 'HERON-2026', 1, '2026-05-12', 'boat electrofishing',"
    " 'largemouth_bass', 'in', 'lb', '{}', '2026-05-12 09:00:00', 'Ada')",
    "INSERT INTO vial (id, code, standing, role) VALUES (1, 'BG4F7Q2KR', 'printed', 'sample')",
    "INSERT INTO vial (id, code, standing, role) VALUES (2, 'BG000001J', 'printed', 'sample')",
    "INSERT INTO vial (id, code, standing, role, void_why) VALUES (3, 'BG00000ZP', 'void', 'sample', 'smeared')",
    "INSERT INTO event (id, uid, at, by, verb, subject_kind, subject)"
    " VALUES (1, 'u5', '2026-05-12 15:00:00', 'Ada', 'filled', 'vial', 'BG4F7Q2KR')",
]


def a_fish(number: int, n_fish: int = 1, length: float = 16.5) -> str:
    return (
        "INSERT INTO fish (id, uid, survey_id, number, n_fish, species, length, length_unit, length_mm, logged_at,"
        f" logged_by) VALUES ({number}, 'f{number}', 1, {number}, {n_fish}, 'largemouth_bass', {length}, 'in',"
        f" {length * 25.4}, '2026-05-12 15:00:00', 'Ada')"
    )


def a_result(q: float | None = 0.3, **columns: Any) -> str:
    values: Mapping[str, Any] = {"vial_id": 1, "outcome": "typed", "standing": "current", "q": q, **columns}
    said = ", ".join("NULL" if value is None else repr(value) for value in values.values())
    return f"INSERT INTO result ({', '.join(values)}) VALUES ({said})"


FILL = "UPDATE vial SET standing = 'filled', fish_id = {fish}, fish_n = 1 WHERE id = {vial}"
IMPOSSIBLE = {
    "a vial filled twice": [a_fish(1), a_fish(2), FILL.format(fish=1, vial=1), FILL.format(fish=2, vial=1)],
    "a vial on a tally of several fish": [a_fish(1, n_fish=4), FILL.format(fish=1, vial=1)],
    "a filled vial without a fish": ["UPDATE vial SET standing = 'filled' WHERE id = 1"],
    "a void vial put to use": ["UPDATE vial SET standing = 'printed', void_why = NULL WHERE id = 3"],
    "a vial void without a reason": ["UPDATE vial SET standing = 'void' WHERE id = 1"],
    "a vial whose code is changed": ["UPDATE vial SET code = 'BG00002T7' WHERE id = 1"],
    "a vial deleted": ["DELETE FROM vial WHERE id = 1"],
    "a negative length": [a_fish(1, length=-3)],
    "a fish of four metres": [a_fish(1, length=157.5)],
    "a tally of no fish": [a_fish(1, n_fish=0)],
    "two fish of one number": [a_fish(1), a_fish(2), "UPDATE fish SET number = 1 WHERE id = 2"],
    "a length without a unit": [a_fish(1), "UPDATE fish SET length_unit = NULL WHERE id = 1"],
    "a fish of no survey": [a_fish(1), "UPDATE fish SET survey_id = 99 WHERE id = 1"],
    "q above 1": [a_result(1.7)],
    "q below 0": [a_result(-0.1)],
    "a failed sample with a q": [a_result(0.3, outcome="failed")],
    "a current result without q": [a_result(None)],
    "two results that speak for one fish": [a_fish(1), a_result(fish_id=1), a_result(fish_id=1)],
    "a superseded result that speaks": [a_fish(1), a_result(fish_id=1, standing="superseded")],
    "an event changed": ["UPDATE event SET by = 'Bob' WHERE id = 1"],
    "an event deleted": ["DELETE FROM event WHERE id = 1"],
}


@pytest.mark.parametrize("wrong", IMPOSSIBLE)
def test_a_wrong_state_is_refused(wrong: str, session: Session) -> None:
    for statement in ROWS + IMPOSSIBLE[wrong][:-1]:
        session.execute(text(statement))
    with pytest.raises(DatabaseError):
        session.execute(text(IMPOSSIBLE[wrong][-1]))


def test_a_fish_may_have_two_vials_and_a_correction_may_empty_one(session: Session) -> None:
    for statement in (*ROWS, a_fish(1), a_fish(2), FILL.format(fish=1, vial=1), FILL.format(fish=1, vial=2)):
        session.execute(text(statement))
    session.execute(text("UPDATE vial SET standing = 'printed', fish_id = NULL, fish_n = NULL WHERE id = 2"))
    session.execute(text(FILL.format(fish=2, vial=2)))
    filled = session.execute(
        text("SELECT code, fish_id FROM vial WHERE fish_id IS NOT NULL ORDER BY id")
    ).all()
    assert [tuple(row) for row in filled] == [("BG4F7Q2KR", 1), ("BG000001J", 2)]
