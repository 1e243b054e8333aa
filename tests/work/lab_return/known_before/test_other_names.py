"""A lab's file that names a client, a project or a water which nobody here knows."""

from __future__ import annotations

from typing import Any

import pytest
from return_support import MOMENT, a_shipment, csv_file
from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.errors import GeneticlogError
from geneticlog.rules.lab_return.account.other_names import names_known
from geneticlog.rules.lab_return.words.headings import answer_key, plain
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.stamp import Stamp
from geneticlog.store.tables import Lake, Office, Result
from geneticlog.work.lab_return.read_return import LabFile, read_return

STAMP = Stamp(MOMENT, "Ada")
N = 6
KNOWN = names_known(
    [
        "Heron Lake",
        "HRN",
        "Ada Reed",
        "State Fisheries West",
        "Quillback Lab",
        "SH-1",
        None,
        "Sorrel Fen Waters (invented)",
    ]
)


@pytest.mark.parametrize(
    "line",
    ["Project: Egret Pond 2026", "Client: Bluegill Fishing Club", "CLIENT | M. Tarn", "Lake: Egret",
     "Client: Harrow Creek",
     "Egret Pond, spring survey",
     "Water body = Pond Egret", "Results for Egret Reservoir", "Proyecto: Lago Egret"],
)  # fmt: skip
def test_a_line_with_a_strange_name_is_doubted(line: str) -> None:
    assert KNOWN.doubt_in(line)
    assert not names_known([]).doubt_in(line)


@pytest.mark.parametrize(
    "line",
    ["Project: Heron Lake 2026", "Client: A. Reed", "Client: Sorrel Fen",
     "Client: State Fisheries West, Heron office", "Lake: HRN",
     "Project: bass genetics 2026", "Project: P-26-114", "Heron Lake, spring survey", "Egret Genotyping, Pond Street 5",
     "12 Egret Lake Road", "Egret Lake, FL 32801", "Lake City", "Species: Micropterus salmoides", "Panel: Marsh 38",
     "Customer no. 5512", "Analyst: M. Tarn", "Quillback Lab, Egret Lake", ""],
)  # fmt: skip
def test_known_names_addresses_and_plain_words_are_not(line: str) -> None:
    assert not KNOWN.doubt_in(line)


@pytest.fixture
def shipped(sqlite_session: Session) -> tuple[Session, list[str]]:
    codes = a_shipment(sqlite_session, N)
    lake = sqlite_session.scalars(select(Lake)).one()
    lake.name, lake.code = "Heron Lake", "HRN"
    sqlite_session.add(Office(prefix="BG", name="State Fisheries West"))
    sqlite_session.add(Lake(uid="o", code="OSPREY", name="Osprey Lake", added_at=MOMENT, added_by="Ada"))
    sqlite_session.commit()
    return sqlite_session, codes


def a_file(codes: list[str], heading: str, names: list[str], *above: str) -> LabFile:
    rows: list[list[Any]] = [[line] for line in above]
    rows.append(["Sample ID", heading, "Florida proportion", "Loci"])
    rows += [[code, names[i % len(names)], f"{7 * i / 76:.4f}", 38] for i, code in enumerate(codes)]
    return LabFile(csv_file(rows), "return.csv")


def read(shipped: tuple[Session, list[str]], file: LabFile, **answers: frozenset[str]) -> list[str]:
    """What stands of each result, or what is asked."""
    session, _ = shipped
    try:
        read_return(session, file, "SH-1", stamp=STAMP, layout=Layout(**answers))  # type: ignore[arg-type]
    except GeneticlogError as fault:
        session.rollback()
        return [str(fault)]
    standings = [str(one.standing) for one in session.scalars(select(Result).order_by(Result.id))]
    session.rollback()
    return standings


def test_a_strange_name_in_a_column_is_asked_about_once(shipped: tuple[Session, list[str]]) -> None:
    file = a_file(shipped[1], "Client", ["State Fisheries West", "Bluegill Club"])
    (asked,) = read(shipped, file)
    assert asked.count("Bluegill Club") == 3  # in the question and its two answers
    assert "which is no water, client or project that is known of these vials" in asked
    name = frozenset({answer_key("Bluegill Club")})
    assert read(shipped, file, harmless=name) == ["current"] * N
    assert read(shipped, file, against=name) == ["current", "held"] * 3


def test_a_long_strange_name_is_shown_by_its_first_sixty_characters(
    shipped: tuple[Session, list[str]],
) -> None:
    long = "Bluegill Club of the upper county, its friends and all of their guests"
    (asked,) = read(shipped, a_file(shipped[1], "Client", ["State Fisheries West", long]))
    assert f"says {long[:60]!r} in " in asked


@pytest.mark.parametrize(
    ("heading", "names", "n"),
    [("Lake", ["Heron Lake", "heron", "HRN", "Heron - north cove", "Osprey Lake", ""], 0), ("Lake", ["Egret"], 1),
     ("Site", ["dam", "north cove"], 0), ("Site", ["Egret Pond"], 1), ("Lab ID", ["Egret"], 0), ("Species", ["LMB"], 0),
     ("Project", ["Bass 2026", "P-14"], 0), ("Water body", ["Ibis", "Egret", "Tern", "Teal", "Coot"], 1)],
)  # fmt: skip
def test_only_names_that_are_not_known_are_asked_about(
    heading: str, names: list[str], n: int, shipped: tuple[Session, list[str]]
) -> None:
    came_to = read(shipped, a_file(shipped[1], heading, names))
    assert (len(came_to) == 1) == bool(n)


def test_a_strange_project_above_the_table_is_asked_about(shipped: tuple[Session, list[str]]) -> None:
    line = "Project: Egret Pond 2026"
    (asked,) = read(shipped, a_file(shipped[1], "Tube", ["a"], line))
    assert "names no water, client or project that is known of these vials" in asked
    assert (
        read(shipped, a_file(shipped[1], "Tube", ["a"], line), against=frozenset({answer_key(line)}))
        == ["held"] * N
    )


@pytest.mark.parametrize(
    ("line", "is_other"),
    [
        ("Kestrel Molecular", True),
        ("KESTREL MOLECULAR, report of analysis", True),
        ("Drumlin Genotyping for Kestrel Molecular", False),
        ("Kestrel", False),
        ("Molecular methods of the kestrel", False),
        ("Sequencing", False),  # a lab's name of one word is a word of the trade
    ],
)
def test_a_line_that_names_another_lab_of_the_list(line: str, is_other: bool) -> None:
    labs = ["Kestrel Molecular (invented)", "Sequencing", "Drumlin Genotyping"]
    names = names_known(["Drumlin Genotyping (invented)", None], labs)
    assert names.names_other_lab(plain(line)) is is_other
    assert names.doubt_in(line) == (
        "names another lab of yours than the one that has these vials" if is_other else ""
    )


@pytest.mark.parametrize(
    ("line", "is_strange"),
    [
        ("Client: Tern County Hatchery", True),
        ("Client: Pinewater County Fisheries", False),
        ("Client: 12 Main Street, Tern County", False),  # an address
        ("Tern County Hatchery", False),
    ],
)
def test_a_client_whose_name_has_a_county(line: str, is_strange: bool) -> None:
    assert bool(names_known(["Pinewater Fisheries Office"]).doubt_in(line)) is is_strange
