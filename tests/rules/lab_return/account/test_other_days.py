"""Days of collecting that are not those of the fish, and counts of alleles that leave some out."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import pytest

from geneticlog.rules.finding.finding_kinds import FindingKind
from geneticlog.rules.lab_return.account.other_jobs import (
    Job,
    rows_of_odd_dates,
    rows_of_other_days,
    rows_of_other_shipments,
    rows_too_early,
)
from geneticlog.rules.lab_return.cells.percent_or_fraction import COUNT
from geneticlog.rules.lab_return.columns.read_columns import read_columns
from geneticlog.rules.lab_return.drafts.counted_of import note_other_sums
from geneticlog.rules.lab_return.drafts.drafts import Drafter
from geneticlog.rules.lab_return.sheet.reading import Reading, Row
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.lab_return.words.roles import ColumnRole
from geneticlog.rules.vialcode import mint

PLAIN, IN_ALLELES = Layout(), Layout(units={ColumnRole.Q: COUNT})
CODES = [code for serial in range(1, 60) if (code := mint("BG", serial))]


def read(
    headings: Sequence[str], columns: Sequence[Sequence[str]], layout: Layout = PLAIN
) -> tuple[Reading, list[Row]]:
    rows: list[Row] = [[("Vial ID", "text"), *((heading, "text") for heading in headings)]]
    rows += [
        [(code, "text"), *((cell, "text") for cell in cells)]
        for code, cells in zip(CODES, zip(*columns, strict=True), strict=False)
    ]
    return read_columns(rows, layout, file="return.csv"), rows


@pytest.mark.parametrize(
    ("days", "rows"),
    [
        (["2026-05-12"] * 8, []),
        (["2026-05-14"] * 8, []),  # two days are one outing
        (["2026-05-12"] * 6 + ["2026-05-15"] * 2, [6, 7]),
        (["2026-05-12"] * 5 + ["2026-05-15"] * 3, []),  # so many that it is some other day of the lab's
        (["2026-06-11"] * 8, [0, 1, 2, 3, 4, 5, 6, 7]),  # all, and by thirty days
        (["2026-06-10"] * 8, []),
        (["2026-06-11"] * 7 + ["2026-05-13"], []),
        (["2026-05-12"] * 3 + [""] * 5, []),
        (["2026-05-12"] * 3 + ["2026-06-15"] + [""] * 4, [3]),
        (["2026-05-12"] * 2 + ["2026-06-15"] + [""] * 5, []),  # three days say too little
    ],
)
def test_rows_of_another_day_than_their_fish(days: list[str], rows: list[int]) -> None:
    reading, table = read(["Florida proportion", "Date collected"], [["0.25"] * len(days), days])
    caught = dict.fromkeys(range(2, len(days) + 2), date(2026, 5, 12))
    doubts = rows_of_other_days(reading, table, lambda: caught)
    assert sorted(row - 2 for row in doubts) == rows
    for row, (words,) in doubts.items():
        assert (
            words == (f"column Date collected says {days[row - 2]!r}, and its fish was caught on 2026-05-12")
            or "2026-05-12" in words
        )
    assert rows_of_other_days(reading, table, dict) == {}


@pytest.mark.parametrize(
    ("florida", "northern", "held"),
    [
        ([19, 38, 0, 76], [57, 38, 76, 0], []),
        ([19, 38, 0, 70], [57, 38, 76, 4], [3]),
        ([19, 30, 10, 70], [57, 30, 10, 4], [1, 2, 3]),  # one in four is whole
        ([19, 30, 10, 70, 5], [57, 30, 10, 4, 5], []),  # one in five is not enough
        ([19, 38, 0], [57, 38, 70], []),  # three rows say too little
        ([19, 38, 0, 76], [57, 39, 76, 0], []),  # more than all: it is something else
    ],
)
def test_two_counts_that_make_less_than_all_alleles(
    florida: list[int], northern: list[int], held: list[int]
) -> None:
    loci = ["38"] * len(florida)
    reading, rows = read(
        ["Florida alleles", "Other", "Loci scored"],
        [[str(n) for n in florida], [str(n) for n in northern], loci],
        IN_ALLELES,
    )
    drafts = list(Drafter(reading).drafts(rows))
    note_other_sums(drafts, reading, rows)
    marked = {d.row - 2: n.facts["mark"] for d in drafts for n in d.noted if n.kind == FindingKind.MARKED}
    assert sorted(marked) == held
    for at, mark in marked.items():
        assert f"make {florida[at] + northern[at]} alleles, not those of 38 loci" in str(mark)


HARMLESS = Layout(harmless=frozenset({"date genotyped", "shipment"}))
SHARES = [f"0.{i}5" for i in range(10)]
JOB = Job("SW-2026", caught_from=date(2026, 9, 15))


def doubted(doubts: dict[int, list[str]]) -> list[int]:
    return sorted(row - 2 for row in doubts)


@pytest.mark.parametrize("layout", [PLAIN, HARMLESS])
@pytest.mark.parametrize(
    ("days", "early", "odd"),
    [
        (["2026-10-12"] * 10, [], []),
        (["2026-10-12"] * 9 + ["2026-09-02"], [9], []),  # before the fish were caught
        (["2026-10-12"] * 9 + ["2027-10-12"], [], [9]),
        (["2026-10-12"] * 5 + ["2027-10-12"] * 5, [], []),  # half of them are another day's work
        (["2026-10-12"] * 6 + ["2027-10-12"] + [""] * 3, [], []),
    ],
)
def test_days_of_work_in_a_few_rows_whatever_a_person_says_of_the_column(
    layout: Layout, days: list[str], early: list[int], odd: list[int]
) -> None:
    reading, table = read(["Florida proportion", "Date genotyped"], [SHARES, days], layout)
    assert doubted(rows_too_early(reading, table, JOB)) == early
    assert doubted(rows_of_odd_dates(reading, table)) == odd


def test_a_column_of_days_that_are_all_too_early_may_be_called_harmless() -> None:
    for layout, n in ((PLAIN, 10), (HARMLESS, 0)):
        reading, table = read(["Florida proportion", "Date genotyped"], [SHARES, ["2026-09-02"] * 10], layout)
        assert len(rows_too_early(reading, table, JOB)) == n


@pytest.mark.parametrize("layout", [PLAIN, HARMLESS])
@pytest.mark.parametrize(
    ("shipments", "rows"),
    [
        (["SW-2026"] * 10, []),
        (["SW-2026"] * 5 + ["SW-2025"] * 5, [5, 6, 7, 8, 9]),
        (["SW-2025"] * 10, list(range(10))),
        (["SW-2026"] * 9 + ["SW-2025"], []),  # one row is told by its own rule
        (["7711"] * 10, []),  # the lab's number
    ],
)
def test_rows_of_another_shipment(layout: Layout, shipments: list[str], rows: list[int]) -> None:
    reading, table = read(["Florida proportion", "Shipment"], [SHARES, shipments], layout)
    assert doubted(rows_of_other_shipments(reading, table, JOB)) == rows
