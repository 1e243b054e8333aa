"""A return against what the office knows of its fish, and genotypes of what is no locus of the panel."""

from __future__ import annotations

import random
import shutil
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from conftest import Runner
from return_support import MOMENT, a_shipment, as_stored, csv_file, nearly
from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.errors import GeneticlogError
from geneticlog.rules.lab_return.doubts_of_files.turned_tables import turned_tables
from geneticlog.rules.lab_return.drafts.draft import Draft
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.stamp import Stamp
from geneticlog.store.engine import open_engine
from geneticlog.store.tables import Finding, Result, ShipmentPosition, Vial
from geneticlog.work.events import find_shipment
from geneticlog.work.lab_return.known_before.expected import Expected
from geneticlog.work.lab_return.known_before.like_before import Before
from geneticlog.work.lab_return.read_return import LabFile, read_return
from geneticlog.work.result.panel_error import panel_errors, say_known

ALLELES = [
    0,
    1,
    76,
    16,
    23,
    31,
    36,
    44,
    52,
    61,
    69,
    75,
]  # two northern fish, a Florida one, and a swarm; of 76
SHARES = [k / 76 for k in ALLELES]
KNOWN = {0: "northern", 1: "northern", 2: "Florida"}
ADA = Stamp(MOMENT, "Ada")


@pytest.fixture
def shipped(sqlite_template: Path, tmp_path: Path) -> Iterator[tuple[Session, list[str]]]:
    file = tmp_path / "known.sqlite"
    shutil.copy(sqlite_template, file)
    engine = open_engine(f"sqlite:///{file}")
    with Session(engine) as session:
        codes = a_shipment(session, len(ALLELES), panel_loci=38)
        for i, kind in KNOWN.items():
            vial = session.scalars(select(Vial).where(Vial.code == codes[i])).one()
            say_known(session, vial, kind, "brood stock of an invented hatchery", stamp=ADA)
        session.commit()
        yield session, codes
    engine.dispose()


def read(session: Session, rows: list[list[Any]], layout: Layout | None = None) -> None:
    read_return(session, LabFile(csv_file(rows), "return.csv"), "SH-1", stamp=ADA, layout=layout)


def shares(codes: list[str], q: list[float]) -> list[list[Any]]:
    return [["Sample", "Florida"], *([code, f"{share:.4f}"] for code, share in zip(codes, q, strict=True))]


def test_a_column_turned_round_is_asked_about_and_answered_by_the_taxon(
    shipped: tuple[Session, list[str]],
) -> None:
    session, codes = shipped
    turned = shares(codes, [1 - q for q in SHARES])
    with pytest.raises(GeneticlogError, match=r"3 of 3 fish known to be pure.*--taxon northern"):
        read(session, turned)
    session.rollback()
    # a hasty answer lets none of the known fish pass
    read(session, turned, Layout(harmless=frozenset({"reference fish"})))
    assert [as_stored(session, codes)[i] for i in KNOWN] == ["held"] * 3
    session.rollback()
    read(session, turned, Layout(taxon_of_q="northern", harmless=frozenset({"the taxon of the heading"})))
    assert as_stored(session, codes) == nearly(dict(enumerate(SHARES)))


def test_one_known_fish_that_is_another_waits_and_no_rate_is_made_of_it(
    shipped: tuple[Session, list[str]],
) -> None:
    session, codes = shipped
    read(session, shares(codes, [0.42, *SHARES[1:]]))
    stored = as_stored(session, codes)
    assert stored == nearly({**dict(enumerate(SHARES)), 0: "held"})
    (error,) = panel_errors(session).values()
    assert error.rate.high <= 0.1


@pytest.mark.parametrize("answer", ["sexid", "loci named otherwise"])
def test_a_sex_marker_is_left_out_when_a_person_says_so(
    answer: str, shipped: tuple[Session, list[str]]
) -> None:
    session, codes = shipped
    rng = random.Random(20260512)
    rows: list[list[Any]] = [["Sample", *(f"Msal{i:02}" for i in range(1, 38)), "SexID"]]
    q = {}
    for i, code in enumerate(codes):
        p = {"northern": 0.0, "Florida": 1.0}.get(KNOWN.get(i, ""), SHARES[i])
        calls = [(rng.random() < p) + (rng.random() < p) for _ in range(37)]
        sex = i % 2
        every = calls if answer == "sexid" else [*calls, sex]
        q[i] = sum(every) / (2 * len(every))
        rows.append([code, *calls, sex])
    counted = Layout(counted="Florida", coding="counts")
    with pytest.raises(GeneticlogError, match=r"1 of 38 columns of genotypes \(SexID\).*--harmless SexID"):
        read(session, rows, counted)
    session.rollback()
    read(session, rows, Layout(counted="Florida", coding="counts", harmless=frozenset({answer})))
    stored = as_stored(session, codes)
    assert [i for i, value in stored.items() if value == pytest.approx(q[i], abs=6e-4)] == list(q)


def test_an_error_larger_than_any_share_can_have_is_held_though_the_column_is_harmless(
    shipped: tuple[Session, list[str]],
) -> None:
    """A share of .0526 has a standard deviation of at most the root of .0526 x .9474, .2233."""
    session, codes = shipped
    errors = [0.02] * 3 + [0.05, 0.05, 0.44, 0.97, *[0.05] * 5]
    q = [*SHARES[:3], *SHARES[3:5], 4 / 76, *SHARES[6:]]
    rows = [
        ["Sample", "Florida", "SE"],
        *([c, f"{a:.4f}", e] for c, a, e in zip(codes, q, errors, strict=True)),
    ]
    read(session, rows, Layout(harmless=frozenset({"se"})))
    stored = as_stored(session, codes)
    assert [i for i, value in stored.items() if value == "held"] == [5, 6]


def test_a_column_that_names_the_taxon_of_each_share_is_one_question(
    shipped: tuple[Session, list[str]],
) -> None:
    session, codes = shipped
    rows: list[list[Any]] = [["Sample", "Taxon", "q", "260/280"]]
    for code, q in zip(codes, SHARES, strict=True):
        taxon = ("Florida", q) if q > 0.5 else ("Northern", 1 - q)
        rows.append([code, taxon[0], f"{taxon[1]:.4f}", 1.84])
    with pytest.raises(GeneticlogError, match="the taxon that column Taxon names in each row") as fault:
        read(session, rows)
    assert "2 questions" not in str(fault.value)
    session.rollback()
    read(session, rows, Layout(taxon_of_q="each row"))
    assert as_stored(session, codes) == nearly(dict(enumerate(SHARES)))


def test_shares_sorted_beside_vials_in_our_order_or_pasted_twice_are_asked_about(
    sqlite_database: str,
) -> None:
    engine = open_engine(f"sqlite:///{sqlite_database}")
    with Session(engine) as session:
        codes = a_shipment(session, 20)
        dealt = random.Random(20260512).sample(codes, len(codes))
        for position, vial in session.execute(select(ShipmentPosition, Vial.code).join(Vial)):
            position.position = str(dealt.index(vial) + 101)
        session.commit()
        rng = random.Random(1)
        values = [rng.randrange(8, 69) / 76 for _ in dealt]
        with pytest.raises(GeneticlogError, match="in the order in which we sent them"):
            read(session, shares(dealt, sorted(values)))
        session.rollback()
        twice = rng.sample([k / 76 for k in range(8, 68, 6)] * 2, len(dealt))
        with pytest.raises(GeneticlogError, match="each of 10 shares occurs exactly twice among 20 vials"):
            read(session, shares(dealt, twice))
        session.rollback()
        read(session, shares(dealt, values))
        held = [value for value in as_stored(session, dealt).values() if value == "held"]
    engine.dispose()
    assert not held


def test_a_kind_that_the_result_contradicts_is_refused_until_the_result_is_taken_out(
    run: Runner, sqlite_database: str
) -> None:
    engine = open_engine(f"sqlite:///{sqlite_database}")
    with Session(engine) as session:
        codes = a_shipment(session, len(ALLELES), panel_loci=38)
        read(session, shares(codes, SHARES))
        session.commit()
    engine.dispose()
    base = ("--database", sqlite_database)
    run(*base, "panel", "known", codes[0], "northern", "--why", "brood stock")
    wrong = ("panel", "known", codes[6], "northern", "--why", "brood stock")
    refused = run(*base, *wrong, fails=4)
    assert "has a result of q 0.474, which no misreading makes of a fish that is northern" in refused.stderr
    run(*base, "correct", "result", codes[6], "--failed", "exchanged at the lab", "--why", "asked them")
    run(*base, *wrong)


def test_values_of_another_shipment_of_the_lab_beside_these_codes_are_held(
    shipped: tuple[Session, list[str]],
) -> None:
    session, codes = shipped
    rng = random.Random(20260512)
    before = [rng.randint(5, 70) / 76 for _ in range(20)]
    other = a_shipment(session, 20, code="SH-0", first=5000, panel_loci=38)
    first, second = (find_shipment(session, code) for code in ("SH-1", "SH-0"))
    second.lab, second.panel = first.lab, first.panel
    read_return(session, LabFile(csv_file(shares(other, before)), "first.csv"), "SH-0", stamp=ADA)
    read(session, shares(codes, [*SHARES[:3], *before[4 : 4 + len(codes) - 3]]))
    held = session.scalars(select(Vial.code).join(Result).where(Result.standing == "held"))
    assert set(held) == set(codes)  # the pure ones beside them, too
    (text,) = session.scalars(select(Finding.text).where(Finding.kind == "copied_down"))
    assert text.startswith("Rows 2 to 13: 12 vials have the values of shipment SH-0 in the same order")


CLUSTERS = Layout(taxon_of_q="Florida", answered=frozenset({"q", "other_q"}))
NUMBERED = frozenset({"clusters of each table"})


def test_numbered_clusters_of_several_tables_are_asked_about_unless_known_fish_show_them(
    shipped: tuple[Session, list[str]],
) -> None:
    session, codes = shipped
    heading = ["Sample", "Cluster 1", "Cluster 2"]
    rows = [[code, f"{q:.3f}", f"{1 - q:.3f}"] for code, q in zip(codes, SHARES, strict=True)]
    turned = [[code, f"{1 - q:.3f}", f"{q:.3f}"] for code, q in zip(codes, SHARES, strict=True)]
    wanted = r"1 of 2 tables \(the table headed in row 8\) has no fish of known kind.*clusters of each table"
    with pytest.raises(GeneticlogError, match=wanted):
        read(session, [heading, *rows[:6], heading, *turned[6:]], CLUSTERS)
    session.rollback()
    # a known fish that is turned round takes its table with it
    read(
        session,
        [heading, *rows[:2], *rows[3:7], heading, turned[2], *turned[7:]],
        replace(CLUSTERS, harmless=NUMBERED),
    )
    stored = as_stored(session, codes)
    assert [i for i, value in stored.items() if value == "held"] == [2, *range(7, len(codes))]
    session.rollback()
    first, second = [*rows[:2], *rows[3:7]], [rows[2], *rows[7:]]  # a known fish in each
    read(session, [heading, *first, heading, *second], CLUSTERS)
    assert as_stored(session, codes) == nearly({i: round(q, 3) for i, q in enumerate(SHARES)})


@pytest.mark.parametrize(("turned", "asked"), [(True, True), (False, False)])
def test_a_table_whose_fish_lie_as_far_on_the_other_side_is_asked_about(turned: bool, asked: bool) -> None:
    rng = random.Random(20260512)
    every = [sum(rng.random() < 0.24 for _ in range(76)) / 76 for _ in range(24)]
    drafts = [Draft(n, "", None, q=1 - q if turned and n > 13 else q) for n, q in enumerate(every, 2)]
    tables = {"sheet A": drafts[:12], "sheet B": drafts[12:]}
    words = turned_tables(tables, {draft.row: 7 for draft in drafts})
    assert bool(words) == asked
    assert not turned_tables(tables, {draft.row: 7 + (draft.row > 13) for draft in drafts})  # two waters


def test_doubts_about_a_whole_file_are_one_finding_that_names_each_row_once(
    shipped: tuple[Session, list[str]],
) -> None:
    session, codes = shipped
    turned = shares(codes, [1 - q for q in SHARES])
    held = frozenset({"reference fish", "two sheets were exchanged"})
    read(session, [*turned, ["Two sheets were exchanged"]], Layout(against=held))
    (text,) = session.scalars(select(Finding.text).where(Finding.kind == "file_in_doubt"))
    assert text.startswith("Rows 2 to 13: ")
    assert "have the share of the other taxon" in text
    assert "does the column count" not in text  # what is asked is no part of what is seen
    assert "Two sheets were exchanged" in text


def test_two_shipments_of_one_file_are_each_held_against_their_own_waters() -> None:
    drafts = [Draft(n, "", f"V{n}", q=0.2 if n < 20 else 0.7) for n in range(40)]
    codes = [frozenset(f"V{n}" for n in part) for part in (range(20), range(20, 40))]
    low, high = Before(40, 0.0, 0.3), Before(40, 0.6, 0.9)
    assert not Expected(befores=((codes[0], low), (codes[1], high))).unlike_before(drafts)
    exchanged = Expected(befores=((codes[0], high), (codes[1], low))).unlike_before(drafts)
    assert exchanged.startswith("20 of 20 shares are outside what this lab and panel gave")
