"""A lab's file that names another lake of the database than the one of the vials it is about."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from return_support import MOMENT, a_shipment, csv_file
from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.errors import GeneticlogError
from geneticlog.rules.lab_return.account.other_lakes import lakes_by_name
from geneticlog.rules.lab_return.words.headings import plain
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.stamp import Stamp
from geneticlog.store.tables import Lake, Result
from geneticlog.work.lab_return.read_return import LabFile, read_return

STAMP = Stamp(MOMENT, "Ada")
N = 6


@pytest.fixture
def shipped(sqlite_session: Session) -> tuple[Session, list[str]]:
    """A shipment from Heron Lake beside two other lakes, one of whose names has the first in it."""
    codes = a_shipment(sqlite_session, N)
    sqlite_session.scalars(select(Lake)).one().name = "Heron Lake"
    for code, name in (("OSPREY", "Osprey Lake"), ("OLDH", "Old Heron Lake Pond"), ("PON", "Pond")):
        sqlite_session.add(Lake(uid=code, code=code, name=name, added_at=MOMENT, added_by="Ada"))
    sqlite_session.commit()
    return sqlite_session, codes


def a_file(codes: list[str], waters: list[str], *above: str) -> LabFile:
    rows: list[list[Any]] = [[line] for line in above]
    rows.append(["Sample ID", "Water body", "Florida proportion", "Loci"])
    rows += [[code, waters[i], f"{7 * i / 76:.4f}", 38] for i, code in enumerate(codes)]
    return LabFile(csv_file(rows), "return.csv")


def standings(session: Session) -> list[str]:
    return [str(result.standing) for result in session.scalars(select(Result).order_by(Result.id))]


def test_a_row_that_names_another_lake_is_held(shipped: tuple[Session, list[str]]) -> None:
    session, codes = shipped
    waters = ["Heron Lake", "HERON LAKE", "Heron", "osprey lake", "pond", ""]
    read_return(session, a_file(codes, waters), "SH-1", stamp=STAMP)
    assert standings(session) == ["current"] * 3 + ["held"] + ["current"] * 2


def test_a_person_can_say_that_the_column_changes_nothing(shipped: tuple[Session, list[str]]) -> None:
    session, codes = shipped
    layout = Layout(harmless=frozenset({"water body"}))
    read_return(session, a_file(codes, ["Osprey Lake"] * N), "SH-1", stamp=STAMP, layout=layout)
    assert standings(session) == ["current"] * N


def test_a_title_that_names_another_lake_is_asked_about(shipped: tuple[Session, list[str]]) -> None:
    session, codes = shipped
    title = "Project: Osprey Lake, 2025 collection"
    with pytest.raises(GeneticlogError, match="names another lake than that of these vials") as fault:
        read_return(session, a_file(codes, [""] * N, title), "SH-1", stamp=STAMP)
    assert "--harmless" in str(fault.value)
    assert "--hold" in str(fault.value)
    assert not standings(session)
    held = Layout(against=frozenset({plain(title)}))
    read_return(session, a_file(codes, [""] * N, title), "SH-1", stamp=STAMP, layout=held)
    assert standings(session) == ["held"] * N


def test_a_title_of_both_lakes_is_about_these_vials_too(shipped: tuple[Session, list[str]]) -> None:
    session, codes = shipped
    both = "Project: Heron Lake and Osprey Lake"
    read_return(session, a_file(codes, [""] * N, both), "SH-1", stamp=STAMP)
    assert standings(session) == ["current"] * N


def test_an_older_report_does_not_take_the_place_of_a_newer_one(shipped: tuple[Session, list[str]]) -> None:
    session, codes = shipped
    blank = [""] * N
    read_return(session, a_file(codes, blank, "Date: 2026-05-12"), "SH-1", stamp=STAMP)
    older = a_file(codes, blank, "Date: 2026-05-11")
    older = replace(older, content=older.content.replace(b"0.0921", b"0.1921"))
    with pytest.raises(GeneticlogError, match=r"dated 2026-05-12, and this one 2026-05-11.*Say --hold"):
        read_return(session, older, "SH-1", stamp=STAMP)
    session.rollback()
    ahead = a_file(codes, blank, "Date: 2027-05-14")
    with pytest.raises(GeneticlogError, match="after the day on which the file is read"):
        read_return(session, ahead, "SH-1", stamp=STAMP)


@pytest.mark.parametrize(
    ("text", "other"),
    [("Osprey Lake", "osprey lake"), ("OSPREY-2025", "osprey"), ("Heron Lake", ""), ("Lake", ""), ("", ""),
     ("ospreys", ""), ("Heron Lake, see Osprey Lake", "")],
)  # fmt: skip
def test_names_are_found_as_whole_words(text: str, other: str) -> None:
    lakes = lakes_by_name(
        ["HERON", "Heron Lake"], ["HERON", "Heron Lake", "OSPREY", "Osprey Lake", "Lake", "ab"]
    )
    assert lakes.other_in(text) == other
    assert lakes_by_name([], []).other_in(text) == ""
