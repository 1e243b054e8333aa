"""Which rows of a sheet are samples, and what the others are: notes, totals, headings, further tables."""

from __future__ import annotations

from typing import Any

import pytest
from return_tables import CODES, PLAIN, SHARES, N, read

from geneticlog.errors import SheetFault
from geneticlog.rules.finding.finding_kinds import FindingKind
from geneticlog.rules.lab_return.cells.cells import number
from geneticlog.rules.lab_return.doubts_of_files.class_probabilities import class_probabilities
from geneticlog.rules.lab_return.drafts.draft import Draft
from geneticlog.rules.lab_return.drafts.few_called import hold_few_called, note_other_loci
from geneticlog.rules.lab_return.drafts.longer_codes import (
    KEY,
    ask_about_codes,
    code_beside,
    codes_among,
    word_before_all,
)
from geneticlog.rules.lab_return.sheet.reading import Row
from geneticlog.rules.lab_return.sheet.sample_rows import SecondTable, Table, part_rows, rows_above
from geneticlog.rules.lab_return.words.headings import Taxa
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.vialcode import printed

HEAD = "Vial|Florida|Loci|Note"
TABLE = Table("return.csv", "", 1, 1, 0, (1, 2), Taxa())
FOUR = [f"{code}|.2|38|" for code in CODES[:4]]


def rows_of(*lines: str) -> list[Row]:
    return [
        [(cell, "empty" if not cell else "number" if number(cell) else "text") for cell in line.split("|")]
        for line in lines
    ]


@pytest.mark.parametrize(
    ("line", "other"),
    [
        (f"{CODES[5]}|.2|38|", None),
        (f"{CODES[5]}|||", None),  # a vial without a value
        ("X12|.2|38|", None),  # no code, and a value
        ("|.2|38|", None),  # a value without a code
        ("|||", ""),
        ("", ""),
        ("|||a note", "a note"),  # nothing in a column of results
        ("thanks to all|||", "thanks to all"),
        ("thanks|||", None),  # one word may be a name
        ("thanks||| to you", None),
        ("Total|||", "Total"),
        ("Total|||4", "Total | 4"),
        ("Total|.2|38|", "Total | .2 | 38"),
        ("|Total|38|", "Total | 38"),
        ("|two fish were swapped||", "two fish were swapped"),  # a sentence in another column
        ("|two fish||", None),
        ("the end, of it|and all the rest||", "the end, of it, and all the rest"),  # parted at its commas
        ("the end|of it all|38|", None),
        ("the end|rest||", None),
        ("keep|keep|keep|", "keep | keep | keep"),  # a word in each column of results
        ("keep|keep||", None),
        ("keep|failed|keep|", None),
        ("|keep these|all of them|", "keep these | all of them"),  # words where all others have numbers
        ("|keep these||", None),
        ("|failed|failed|", None),
        (HEAD, "the heading again"),
        ("Vial|Florida|Loci", "the heading again"),
        ("Vial|Loci|Florida|", SecondTable),
        ("Tube|Northern|Loci scored|", SecondTable),
        ("|Florida|38|", SheetFault),  # a word of a heading among the values
        ("|Florida alleles of all|38|", None),
    ],
)
def test_rows_that_are_no_sample(line: str, other: str | type[Exception] | None) -> None:
    rows = rows_of(HEAD, *FOUR, line, f"{CODES[7]}|.3|37|")
    if isinstance(other, type):
        with pytest.raises(other):
            part_rows(rows, TABLE)
        return
    data, others = part_rows(rows, TABLE)
    assert data == ([2, 3, 4, 5, 6, 7] if other is None else [2, 3, 4, 5, 7])
    assert others == ([(6, other)] if other else [])


def test_a_further_line_of_the_heading_is_refused_with_the_way_out() -> None:
    rows = rows_of(HEAD, "Tube|Florida share|Loci scored|", *FOUR)
    with pytest.raises(SheetFault, match="a further line of the heading") as fault:
        part_rows(rows, TABLE)
    assert "heading_row = 1 and heading_rows = 2" in str(fault.value)


def test_rows_above_a_heading_and_long_lines() -> None:
    rows = rows_of("A title||of 2", "", "|".join(["word"] * 60), "a" * 150 + "|" + "b" * 150, HEAD)
    assert rows_above(rows, 5) == [(1, "A title | of 2"), (3, "word"), (4, "a" * 150 + " | " + "b" * 47)]
    assert rows_above(rows, 1) == rows_above(rows, 0) == []
    data, others = part_rows([*rows, *rows_of(*FOUR)], Table("return.csv", "", 5, 1, 0, (1, 2), Taxa()))
    assert (data, [n for n, _ in others]) == ([6, 7, 8, 9], [1, 3, 4])


PURE = [f"{float(q) * 0.5:.3f}" for q in SHARES]
OTHER = [f"{float(q) * 0.3:.3f}" for q in SHARES]
CROSS = [f"{1 - float(a) - float(b):.3f}" for a, b in zip(PURE, OTHER, strict=True)]


@pytest.mark.parametrize(
    ("headings", "columns", "says"),
    [
        (["Florida", "Northern", "F1"], [PURE, OTHER, CROSS], True),
        (["Florida", "Northern", "F1"], [*(each[:4] for each in (PURE, OTHER, CROSS))], True),
        (["Florida", "Northern", "F1"], [*(each[:3] for each in (PURE, OTHER, CROSS))], False),
        (["Florida", "Northern", "F1"], [PURE, OTHER, [*CROSS[:9], "0.5"]], True),  # nine of ten
        (["Florida", "Northern", "F1"], [PURE, OTHER, [*CROSS[:8], "0.5", "0.5"]], False),
        (["Florida", "Northern", "F1"], [SHARES, [f"{1 - float(q):.2f}" for q in SHARES], ["0.00"] * N], False),
        (["Florida", "Northern", "Lane"], [PURE, OTHER, CROSS], False),
        (["Florida %", "Northern %", "BC1"],
         [[f"{100 * float(one):.1f}" for one in each] for each in (PURE, OTHER, CROSS)], True),
    ],
)  # fmt: skip
def test_probabilities_of_classes(headings: list[str], columns: list[list[str]], says: bool) -> None:
    kept = Layout(taxon_of_q="Florida", harmless=frozenset({"f1", "bc1", "lane"}))
    reading, rows = read(headings, columns, kept)
    words = class_probabilities(reading, rows)
    assert bool(words) is says
    if says:
        whole = 100 if "%" in headings[0] else 1
        named = ", ".join(map(repr, headings))
        assert words.startswith(f"columns {named} make {whole} together")


def scored(*loci: int | None, call_rate: float | None = None) -> list[Draft]:
    return [Draft(i, "", None, q=0.5, n_loci=n, call_rate=call_rate) for i, n in enumerate(loci)]


@pytest.mark.parametrize(
    ("loci", "panel", "held"),
    [
        ((38, 38, 8), 40, []),  # a fifth
        ((38, 38, 7), 40, [2]),
        ((38, 38, 7), None, [2]),  # of the most that the file has
        ((38, 38, 8), None, []),
        ((7, 7, 38, 38), 40, [0, 1]),
        ((7, 7, 7, 38, 38), 40, []),  # most of the lab's fish
        ((38, None, 7, 38), 40, [2]),
        ((), 40, []),
        ((38, 38, 7), 20, [2]),
    ],
)
def test_fish_of_few_loci_are_held(loci: tuple[int | None, ...], panel: int | None, held: list[int]) -> None:
    drafts = scored(*loci)
    drafts[-1:] = [draft for draft in drafts[-1:] if draft.note(FindingKind.LOW_CALL_RATE) is None]
    hold_few_called(drafts, panel)
    kinds = [[noted.kind for noted in draft.noted] for draft in drafts]
    assert [i for i, of in enumerate(kinds) if FindingKind.CALL_RATE_TOO_LOW in of] == held
    for i in held:
        assert FindingKind.LOW_CALL_RATE not in kinds[i]
        wanted = max(panel or 0, 38)
        assert drafts[i].noted[-1].facts["scored"] == f"{loci[i]} of {wanted} loci"


def test_a_fish_without_a_share_or_with_a_call_rate_is_not_held_by_its_loci() -> None:
    drafts = [*scored(38, 38), *scored(7, call_rate=0.18), Draft(9, "", None, n_loci=7)]
    hold_few_called(drafts, 40)
    assert not any(draft.noted for draft in drafts)


@pytest.mark.parametrize(("more", "of", "once"), [(2, 4, False), (3, 6, True), (3, 7, False), (4, 4, True)])
def test_more_loci_than_the_panel_has(more: int, of: int, once: bool) -> None:
    drafts = scored(*[38] * of)
    for draft in drafts[:more]:
        draft.note(FindingKind.MORE_LOCI_THAN_PANEL)
        draft.note(FindingKind.OFF_GRID)
    note_other_loci(drafts)
    kind = FindingKind.OTHER_LOCI if once else FindingKind.MORE_LOCI_THAN_PANEL
    assert [[noted.kind for noted in draft.noted] for draft in drafts] == [
        [kind, FindingKind.OFF_GRID] if i < more else [] for i in range(of)
    ]


A, B = CODES[:2]


@pytest.mark.parametrize(
    ("text", "codes"),
    [
        ("", {}),
        (A, {A: ""}),
        (printed(A), {A: ""}),
        (f"{A}_rerun", {A: "rerun"}),
        (f"{A}rerun", {A: "rerun"}),
        (f"{A}b", {A: "b"}),
        (f"{A}x", {}),
        (f"ACME-{A}", {A: "ACME"}),
        (f"{A} and {B}", {A: f"and {B}", B: f"{A} and"}),
        (f"see {A[:3]} {A[3:6]} {A[6:]} now", {A: "see now"}),
        ("-".join([A[:2], A[2:4], A[4:6], A[6:]]), {A: ""}),
        ("-".join([A[:2], A[2:4], A[4:6], A[6:8], A[8:]]), {}),  # five groups
        ("no code at all", {}),
    ],
)
def test_codes_in_a_longer_text(text: str, codes: dict[str, str]) -> None:
    assert codes_among(text) == codes
    assert code_beside(text) == (next(iter(codes.items())) if len(codes) == 1 else None)


@pytest.mark.parametrize(
    ("texts", "word"),
    [
        ([f"ACME-{code}" for code in CODES[:3]], "ACME"),
        ([f"ACME-{code}" for code in CODES[:2]], ""),  # two are too few
        ([f"ACME-{code}" for code in CODES[:3]] + ["blank"], "ACME"),
        ([f"ACME-{code}" for code in CODES[:3]] + [f"OTHER-{CODES[4]}"], ""),
        ([f"ACME-{code}" for code in CODES[:3]] + [CODES[4]], ""),  # one without it
        ([f"{code}-ACME" for code in CODES[:3]], ""),  # behind the code
        ([f"rerun-{code}" for code in CODES[:3]], ""),  # it casts doubt
        ([f"ACME 2-{code}" for code in CODES[:3]], ""),  # two words
        ([], ""),
    ],
)
def test_a_word_before_all_codes(texts: list[str], word: str) -> None:
    assert word_before_all(texts, Layout()) == word


@pytest.mark.parametrize(
    ("longer", "of", "kept", "asks"),
    [
        (3, 6, {}, False),  # half of them are held one by one
        (4, 6, {}, True),
        (4, 6, {"harmless": frozenset({KEY})}, False),
        (4, 6, {"against": frozenset({KEY})}, False),
        (0, 0, {}, False),
    ],
)
def test_codes_with_something_beside_them(longer: int, of: int, kept: dict[str, Any], asks: bool) -> None:
    drafts = [Draft(i, f"{code}_2", code) for i, code in enumerate(CODES[:of])]
    for draft in drafts[:longer]:
        draft.note(FindingKind.LONGER_CODE)
    questions = ask_about_codes(drafts, Layout(**kept))
    assert len(questions) == asks
    assert all(
        q.text.startswith(f"{longer} codes have something beside them (first '{A}_2')") for q in questions
    )
    assert PLAIN.against == frozenset()


def test_a_line_below_the_numbers_of_the_lab_that_was_split_at_its_comma_is_no_sample() -> None:
    lines = ["Lab no.|Vial|Florida", *(f"D{1001 + i}|{code}|.2" for i, code in enumerate(CODES[:6]))]
    below = ["D1002-D1004 still in the queue| figures from the pilot.|", "D1007| a new fish|", "D1008|X12|.3"]
    rows: list[Row] = [
        [(text, "text" if text else "empty") for text in line.split("|")] for line in [*lines, *below]
    ]
    data, other = part_rows(rows, Table("r.csv", "", 1, 1, 1, (2,), Taxa()))
    assert data == [*range(2, 8), 9, 10]
    assert other == [(8, "D1002-D1004 still in the queue, figures from the pilot.")]
