"""What a row of a lab's file says of one vial: its outcome, its numbers, and what is noted of it."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from geneticlog.rules.lab_return.columns.read_columns import read_columns
from geneticlog.rules.lab_return.columns.third_lineage import check_third
from geneticlog.rules.lab_return.drafts.draft import Draft
from geneticlog.rules.lab_return.drafts.drafts import Drafter
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.vialcode import mint, printed

CODES = [code for serial in range(1, 60) if (code := mint("BG", serial))]
HEADINGS = ("Vial ID", "Florida proportion", "Loci scored", "Heterozygosity", "Class")
PLAIN = [[code, "0.2500", 38, "0.5000", ""] for code in CODES[20:30]]


def drafts(
    headings: Sequence[str], rows: Sequence[Sequence[object]], panel_loci: int | None = None
) -> list[Draft]:
    table = [[(heading, "text") for heading in headings]]
    table += [
        [
            (str(cell), "empty" if cell == "" else "text" if isinstance(cell, str) else "number")
            for cell in row
        ]
        for row in rows
    ]
    reading = read_columns(table, Layout(), file="return.csv")
    return list(Drafter(reading, (), panel_loci).drafts(table))


def kinds(draft: Draft) -> list[str]:
    return [str(noted.kind) for noted in draft.noted]


@pytest.mark.parametrize(
    ("cells", "typed", "numbers", "noted", "held"),
    [
        (["0.2500", 38, "0.5000", "F2"], True, (0.25, 38, 0.5, "F2"), [], False),
        (["0.2500", 38, "0.5000", "failed"], True, (0.25, 38, 0.5, None), ["lab_says_no"], True),
        (["0.2500", 38, "0.5000", ""], True, (0.25, 38, 0.5, None), [], False),
        (["", 38, "", ""], False, (None, 38, None, None), ["failed"], False),
        (["failed", 0, "", ""], False, (None, None, None, None), ["failed"], False),
        (["failed", 38, "0.5", ""], False, (None, 38, None, None), ["failed"], False),
        (["0.2500", "38 of 40", "0.5000", ""], True, (0.25, 38, 0.5, None), [], False),
        (["0.2500", "n/a", "0.5000", ""], True, (0.25, None, 0.5, None), [], False),
        (["0.2500", 0, "0.5000", ""], True, (0.25, None, 0.5, None), ["zero_for_missing"], True),
        (["0.2500", "many", "0.5000", ""], True, (0.25, None, 0.5, None), ["unreadable_value"], True),
        (["0.2500", -3, "0.5000", ""], True, (0.25, None, 0.5, None), ["impossible_value"], True),
        (["0.2500", 37.5, "0.5000", ""], True, (0.25, None, 0.5, None), ["impossible_value"], True),
        (["0.2500", 1_000_000, "0.5000", ""], True, (0.25, None, 0.5, None), ["impossible_value"], True),
        (["1.2000", 38, "0.5000", ""], True, (None, 38, 0.5, None), ["impossible_value"], True),
        (["0.2500", 38, "1.5000", ""], True, (0.25, 38, None, None), ["impossible_value"], True),
        # 0.13 of 76 alleles is no whole number, and H is at most 2 q
        (["0.1300", 38, "0.5000", ""], True, (0.13, 38, 0.5, None), ["breaks_bound", "off_grid"], True),
        (["0.5000", 38, "0.5263", "northern"], True, (0.5, 38, 0.5263, "northern"), ["class_disagrees"], False),
        (["0.9474", 38, "0.1053", "northern"], True, (0.9474, 38, 0.1053, "northern"), ["class_contradicts"], True),
        (["0.0526", 38, "0.1053", "Florida"], True, (0.0526, 38, 0.1053, "Florida"), ["class_contradicts"], True),
        (
            ["0.4868", 38, "0.1316", "F1"], True, (0.4868, 38, 0.1316, "F1"), ["f1_label_low_heterozygosity"], False,
        ),
        (["0.5000", 38, "1.0000", "F1"], True, (0.5, 38, 1.0, "F1"), [], False),
    ],
)  # fmt: skip
def test_what_a_row_says(
    cells: list[object], typed: bool, numbers: tuple[object, ...], noted: list[str], held: bool
) -> None:
    draft = drafts(HEADINGS, [[CODES[0], *cells], *PLAIN])[0]
    assert (draft.outcome == "typed", draft.q, draft.n_loci, draft.heterozygosity, draft.lab_class) == (
        typed,
        *numbers,
    )
    assert (kinds(draft), draft.held) == (noted, held)


@pytest.mark.parametrize(
    ("written", "code", "noted"),
    [
        ("'", None, ["unreadable_code"]),
        (" ", None, ["no_code"]),
        (CODES[1], CODES[1], []),
        (printed(CODES[1]), CODES[1], []),
        (CODES[1].lower(), CODES[1], ["code_respelled"]),
        ("bg-" + CODES[2][2:], CODES[2], ["code_respelled"]),
        (CODES[3] + " A01", CODES[3], ["code_respelled"]),
        (CODES[4] + "-2", CODES[4], ["longer_code"]),
        ("1.2E+05", None, ["mangled_code"]),
    ],
)
def test_a_code_as_it_was_written(written: str, code: str | None, noted: list[str]) -> None:
    first = drafts(HEADINGS, [[written, "0.25", 38, "0.5", ""], *PLAIN])[0]
    assert (first.written, first.code, kinds(first), first.held) == (
        written,
        code,
        noted,
        noted == ["longer_code"],
    )


def test_counts_of_alleles_are_shares_of_the_loci_scored() -> None:
    headings = ("Vial ID", "Florida alleles", "Loci scored")
    rows = [[code, n, 38] for code, n in zip(CODES, (0, 19, 76, 77, 38, 4, 9, 12), strict=False)]
    read = drafts(headings, rows)
    assert [draft.q for draft in read] == [0.0, 0.25, 1.0, None, 0.5, 4 / 76, 9 / 76, 12 / 76]
    assert kinds(read[3]) == ["count_out_of"]
    assert read[3].noted[0].facts["wanted"] == 76


def test_loci_are_those_of_the_call_rate_where_the_panel_is_known() -> None:
    headings = ("Vial ID", "Florida proportion", "Call rate")
    rows = [[code, "0.2500", "0.95"] for code in CODES[:6]]
    assert {draft.n_loci for draft in drafts(headings, rows, 40)} == {38}
    assert {draft.n_loci for draft in drafts(headings, rows)} == {None}


@pytest.mark.parametrize(
    ("third", "noted"), [(None, False), (0.0, False), (0.0499, False), (0.05, True), (1.0, True)]
)
def test_from_a_twentieth_of_a_third_lineage_on_a_fish_waits(third: float | None, noted: bool) -> None:
    assert bool(check_third(third)) is noted
