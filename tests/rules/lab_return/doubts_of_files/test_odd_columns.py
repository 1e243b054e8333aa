"""Columns of a whole file that cannot be what they are headed, and lines that the rows contradict."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import pytest

from geneticlog.rules.finding.finding_kinds import FindingKind
from geneticlog.rules.lab_return.columns.column_roles import assign_roles
from geneticlog.rules.lab_return.columns.read_columns import read_columns
from geneticlog.rules.lab_return.doubts_of_files.lines_against import doubt_in_line
from geneticlog.rules.lab_return.doubts_of_files.odd_columns import (
    against_its_heading,
    below_one_allele,
    same_twice,
    what_is_left,
)
from geneticlog.rules.lab_return.drafts.draft import Draft
from geneticlog.rules.lab_return.drafts.drafts import Drafter
from geneticlog.rules.lab_return.drafts.unit_in_doubt import note_mostly_impossible
from geneticlog.rules.lab_return.sheet.reading import Question, Row
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.lab_return.words.roles import ColumnRole
from geneticlog.rules.result.result_states import Outcome
from geneticlog.rules.vialcode import mint

CODES = [code for serial in range(1, 60) if (code := mint("BG", serial))]
SHARES = [0.10, 0.25, 0.31, 0.44, 0.52, 0.63, 0.71, 0.88]  # mean 0.48


def drafts_of(
    shares: Sequence[float], mixed: Sequence[float | None] = (), n_loci: int | None = None
) -> list[Draft]:
    of = mixed or [None] * len(shares)
    return [
        Draft(i, "", None, Outcome.TYPED, q=q, heterozygosity=h, n_loci=n_loci)
        for i, (q, h) in enumerate(zip(shares, of, strict=True))
    ]


def read(rows: list[list[Any]], layout: Layout) -> Any:
    cells: list[Row] = [[(str(one), "text" if str(one) else "empty") for one in row] for row in rows]
    return read_columns(cells, layout, file="return.csv"), cells


def test_the_same_column_twice() -> None:
    assert same_twice(drafts_of(SHARES, SHARES))
    assert not same_twice(drafts_of(SHARES, [*SHARES[:-1], 0.2]))
    assert not same_twice(drafts_of([0.0] * 8, [0.0] * 8))
    assert not same_twice(drafts_of(SHARES[:5], SHARES[:5]))


@pytest.mark.parametrize(
    ("heading", "other", "asks"),
    [
        ("Florida raw", [1 - q for q in SHARES], True),
        ("Florida raw", [100 * (1 - q) for q in SHARES], False),  # in another unit, they make no whole
        ("Florida raw", SHARES, False),
        ("Florida raw", [*SHARES[:4], *(1 - q for q in SHARES[4:])], False),
        ("1 - Florida", [1 - q for q in SHARES], False),
    ],
)
def test_two_columns_of_one_taxon_that_make_a_whole(heading: str, other: list[float], asks: bool) -> None:
    layout = Layout(columns={ColumnRole.Q: "Florida"}, answered=frozenset({ColumnRole.Q}))
    rows = [["Vial", "Florida", heading]]
    rows += [[code, f"{q:.2f}", f"{b:.2f}"] for code, q, b in zip(CODES, SHARES, other, strict=False)]
    assert bool(what_is_left(*read(rows, layout))) is asks


@pytest.mark.parametrize(
    ("shares", "loci", "panel", "asks"),
    [
        ([q / 100 for q in SHARES], None, 38, True),
        ([q / 100 for q in SHARES], 38, None, True),
        ([q / 100 for q in SHARES], None, None, False),
        ([q / 10 for q in SHARES], 38, None, False),
        ([0.0] * 8, 38, None, False),
        ([0.002] * 8, 38, None, False),  # one number, as a program gives for a pure fish
    ],
)
def test_shares_below_one_allele(
    shares: list[float], loci: int | None, panel: int | None, asks: bool
) -> None:
    assert bool(below_one_allele(drafts_of(shares, n_loci=loci), panel)) is asks


@pytest.mark.parametrize(
    ("heading", "taxon", "more", "asks"),
    [
        ("Florida", "northern", [], True),
        ("Florida", "Florida", [], False),
        ("q", "northern", [], False),
        ("Florida", "northern", [["Shares are of northern alleles."]], False),
        ("Florida", "northern", [["Northern reference", "0.99"]], False),
        ("Florida", "northern", [["Florida reference", "0.99"]], True),
    ],
)
def test_a_taxon_against_the_heading(heading: str, taxon: str, more: list[list[str]], asks: bool) -> None:
    rows = [["Vial", heading], *([code, f"{q:.2f}"] for code, q in zip(CODES, SHARES, strict=False)), *more]
    reading, cells = read(rows, Layout(taxon_of_q=taxon))
    assert bool(against_its_heading(list(Drafter(reading).drafts(cells)), reading)) is asks


@pytest.mark.parametrize(
    ("line", "words"),
    [
        (["Mean", "0.48"], ""),
        (["Mean", "48"], ""),  # in percent
        (["Mean", "0.31"], "says mean 0.31, and the values come to 0.48"),
        (["Max", "0.88"], ""),
        (["Max", "0.71"], "says max 0.71, and the values come to 0.88"),
        (["n", "8"], ""),
        (["n", "5"], "says 5 samples, and there are 8"),
        (["Number of samples: 9"], ""),  # a blank that gave nothing
        (["Number of samples: 12"], "says 12 samples, and there are 8"),
        (["Loci", "38"], ""),
        (["Loci", "12"], "says 12 loci, and the panel has 38"),
        (["Species", "Micropterus salmoides"], ""),
        (["Species", "Micropterus dolomieu"], "names another species than the panel's"),
        (["Contact", "12"], ""),
    ],
)
def test_lines_that_the_rows_contradict(line: list[str], words: str) -> None:
    rows = [
        ["Vial", "Florida"],
        *([code, f"{q:.2f}"] for code, q in zip(CODES, SHARES, strict=False)),
        [],
        line,
    ]
    reading, cells = read(rows, Layout())
    assert doubt_in_line(reading, cells, 38)(" | ".join(line)) == words


def test_a_line_of_fewer_loci_than_the_rows_have() -> None:
    rows: list[list[Any]] = [["Loci: 12"], ["Vial", "Florida", "Loci scored"]]
    rows += [[code, f"{q:.2f}", 36] for code, q in zip(CODES, SHARES, strict=False)]
    assert doubt_in_line(*read(rows, Layout()), 12)("Loci: 12") == "says 12 loci, and the rows have up to 36"


@pytest.mark.parametrize(
    ("written", "held"),
    [
        (["1.2", "1.5", "1.9"], True),
        (["1.2"], False),  # one typing error
        (["999", "999", "999"], False),  # which stands for no result
    ],
)
def test_a_column_of_which_many_values_cannot_be(written: list[str], held: bool) -> None:
    drafts = drafts_of([*SHARES, *[None] * len(written)])  # type: ignore[list-item]
    for draft, text in zip(drafts[len(SHARES) :], written, strict=True):
        draft.note(FindingKind.IMPOSSIBLE_VALUE, role=ColumnRole.Q, written=text)
    note_mostly_impossible(drafts)
    assert all(draft.held is held for draft in drafts[: len(SHARES)])


@pytest.mark.parametrize("heading", ["Florida?", "Florida†"])
def test_a_mark_behind_a_heading_is_asked_about(heading: str) -> None:
    questions: list[Question] = []
    columns = assign_roles(
        ["Vial", heading], [[(CODES[0], "text"), ("0.2", "text")]], Layout(), questions, "r.csv", ""
    )
    assert columns[1].strange == (heading[-1],)
    assert columns[1].role == ColumnRole.NOT_USED


def test_totals_of_parts_of_a_table() -> None:
    each = [[code, f"{q:.2f}"] for code, q in zip(CODES, SHARES, strict=False)]
    own = [["Mean plate 1", "0.195"], ["Max plate 1", "0.31"]], [["Mean plate 2", "0.63"], ["Mean", "0.48"]]
    rows = [["Vial", "Florida"], *each[:3], *own[0], *each[3:], *own[1]]
    reading, cells = read(rows, Layout())
    doubt = doubt_in_line(reading, cells, 38)
    assert [doubt(" | ".join(line)) for part in own for line in part] == [
        "says mean 0.195, and the values come to 0.48", "", "", ""
    ]  # fmt: skip


def test_a_mean_of_low_shares_is_no_percent() -> None:
    rows = [
        ["Vial", "Florida"],
        *([code, f"{q / 40:.4f}"] for code, q in zip(CODES, SHARES, strict=False)),
        ["Mean", "0.31"],
    ]
    assert (
        doubt_in_line(*read(rows, Layout()), 38)("Mean | 0.31")
        == "says mean 0.31, and the values come to 0.012"
    )
