"""Sheets that are put right before they are read: codes over two columns, tables on their side, merged words."""

from __future__ import annotations

from typing import Any

import pytest
from return_tables import CODES

from geneticlog.errors import SheetFault
from geneticlog.store.sheets import Cell, Sheet
from geneticlog.work.lab_return.sheets.merged_words import with_merged_words
from geneticlog.work.lab_return.sheets.put_together import with_codes_of_two_columns, with_whole_codes
from geneticlog.work.lab_return.sheets.side_by_side import refuse_side_by_side
from geneticlog.work.lab_return.sheets.turned import turned

A, B, C, D, E, F = CODES[:6]


def sheet(*lines: str, **more: Any) -> Sheet:
    return Sheet(
        "Results",
        [[Cell(cell, "text" if cell else "empty") for cell in line.split("|")] for line in lines],
        **more,
    )


def texts(made: Sheet) -> list[str]:
    return ["|".join(cell.text for cell in row) for row in made.rows]


def parted(code: str, *at: int) -> str:
    ends = [*at, len(code)]
    return "|".join(code[first:last] for first, last in zip([0, *at], ends, strict=True))


@pytest.mark.parametrize(
    ("lines", "made"),
    [
        # office and number; the code goes beside what follows
        (["Office|No|Share", *(f"{parted(code, 2)}|0.2" for code in (A, B, C))],
         ["|Office No|Share", *(f"|{code}|0.2" for code in (A, B, C))]),
        (["Office|No|Check|Share", *(f"{parted(code, 2, 8)}|0.2" for code in (A, B, C))],
         ["||Office No Check|Share", *(f"||{code}|0.2" for code in (A, B, C))]),
        (["Share|Office|No", *(f"0.2|{parted(code, 2)}" for code in (A, B, C))],
         ["Share|Office No|", *(f"0.2|{code}|" for code in (A, B, C))]),  # nothing follows
        (["Office|No|Share", *(f"{parted(code, 2)}|0.2" for code in (A, B))], None),  # two
        (["Office|No|Share", *(f"{parted(code, 2)}|0.2" for code in (A, B, B))], None),  # twice
        (["Office|No|Share", *(f"{parted(code, 2)}|0.2" for code in (A, B, C)), "BG|12|0.2"], None),  # no code
        (["Office|No|Share", *(f"{parted(code, 2)}|0.2" for code in (A, B, C)), "BG||0.2"],
         ["|Office No|Share", *(f"|{code}|0.2" for code in (A, B, C)), "BG||0.2"]),
        (["Office|No|Whole", *(f"{parted(code, 2)}|{code}" for code in (A, B, C))], None),  # whole ones, too
        (["A|B|C|D", *(f"{parted(a, 2)}|{parted(b, 2)}" for a, b in ((A, D), (B, E), (C, F)))], None),  # two ways
    ],
)  # fmt: skip
def test_codes_in_neighbouring_columns(lines: list[str], made: list[str] | None) -> None:
    put = with_whole_codes(sheet(*lines))
    assert texts(put) == (made or lines)
    assert bool(put.put_together) == bool(made)
    for where, why in put.put_together:
        assert (where[:8], why[:23]) == ("columns ", "put together they are 3")


@pytest.mark.parametrize(
    ("lines", "made"),
    [
        (["Vial|Other|Share", f"{A}||.2", f"{B}||.2", f"{C}||.2", f"|{D}|.3", f"|{E}|.3", f"|{F}|.3"],
         ["Vial|Other|Share", f"{A}||.2", f"{B}||.2", f"{C}||.2", f"{D}||.3", f"{E}||.3", f"{F}||.3"]),
        (["Vial|Other|Share", f"{A}||.2", f"{B}||.2", f"{C}||.2", f"|{D}|.3", f"|{E}|.3"], None),  # two of a kind
        (["Vial|Other|Share", f"{A}||.2", f"{B}||.2", f"{C}|{F}|.2", f"|{D}|.3", f"|{E}|.3", f"|{F}|.3"], None),
        (["Vial|Other|Share", f"{A}|x|.2", f"{B}||.2", f"{C}||.2", f"|{D}|.3", f"|{E}|.3", f"|{F}|.3"], None),
        ([f"{A}||.2", f"{B}||.2", f"{C}||.2", f"|{D}|.3", f"|{E}|.3", f"|{F}|.3"], None),  # no heading
        (["Vial|Share", f"{A}|.2", f"{B}|.2", f"{C}|.2"], None),
        (["V|W|X", f"{A}||", f"{B}||", f"{C}||", f"|{D}|", f"|{E}|", f"|{F}|", f"||{A}"], None),  # three columns
    ],
)  # fmt: skip
def test_codes_in_one_of_two_columns(lines: list[str], made: list[str] | None) -> None:
    put = with_codes_of_two_columns(sheet(*lines))
    assert texts(put) == (made or lines)
    assert [where for where, _ in put.put_together] == (["columns A and B"] if made else [])


@pytest.mark.parametrize(
    ("lines", "made"),
    [
        ([f"Vial|{A}|{B}|{C}", "Florida|.2|.3|.4"], ["Vial|Florida", f"{A}|.2", f"{B}|.3", f"{C}|.4"]),
        (["A title||of 2", f"Vial|{A}|{B}|{C}", "Florida|.2|.3"],
         ["A title", "of 2", "Vial|Florida", f"{A}|.2", f"{B}|.3", f"{C}|"]),
        ([f"Vial|{A}|{B}", "Florida|.2|.3"], None),  # two codes
        ([f"Vial|{A}|{B}|{C}|{D}|x", "Florida|.2|.3|.4|.5|.6"],
         ["Vial|Florida", f"{A}|.2", f"{B}|.3", f"{C}|.4", f"{D}|.5", "x|.6"]),  # four of five
        ([f"Vial|{A}|{B}|{C}|x", "Florida|.2|.3|.4|.5"], None),  # three of four
        ([f"Vial|{A}|{B}|{C}", f"Again|{A}|.3|.4"], None),  # codes elsewhere
        ([f"Vial|{A}|{B}|{C}"], None),
        ([f"Vial|{A}|{B}|{C}", *["Florida|.2|.3|.4"] * 399], "400"),
        ([f"Vial|{A}|{B}|{C}", *["Florida|.2|.3|.4"] * 400], None),
        ([*["-"] * 29, f"Vial|{A}|{B}|{C}"], "30"),
        ([*["-"] * 30, f"Vial|{A}|{B}|{C}"], None),
    ],
)  # fmt: skip
def test_a_table_on_its_side(lines: list[str], made: list[str] | str | None) -> None:
    put = turned(sheet(*lines))
    assert put.turned is (made is not None)
    if not isinstance(made, str):
        assert texts(put) == (made or lines)


def test_marks_turn_with_their_table() -> None:
    put = turned(
        sheet(
            "A title", f"Vial|{A}|{B}|{C}", "Florida|.2|.3|.4", struck=frozenset({(3, 2), (1, 1)}),
            merged=((1, 1, 1, 4),),
            colours={(3, 3): "red", (1, 1): "blue"}, comments={(3, 4): "low"}, hidden_rows=frozenset({3, 1}),
            hidden_columns=frozenset({2}), rules=((3, 1, 3, 4, "low"),),
        )
    )  # fmt: skip
    # the title is row 1; column B (our A) is row 3, and the row of shares is column 2
    assert put.struck == {(3, 2)}
    assert (put.colours, put.comments) == ({(4, 2): "red"}, {(5, 2): "low"})
    assert (put.hidden_rows, put.hidden_columns, put.merged) == ({3}, {2}, ())
    assert [text for *_, text in put.rules] == ["low"]


@pytest.mark.parametrize(
    ("merged", "made"),
    [
        ((3, 3, 4, 3), [".2|low", ".3|low", ".4|"]),
        ((3, 3, 9, 3), [".2|low", ".3|low", ".4|low"]),  # beyond the last row
        ((3, 3, 3, 4), [".2|low", ".3|", ".4|"]),  # over columns of one row
        ((3, 2, 5, 2), [".2|low", ".3|", ".4|"]),  # a value is one row's
        ((2, 3, 4, 3), [".2|low", ".3|", ".4|"]),  # from the heading on
        ((4, 3, 5, 3), [".2|low", ".3|", ".4|"]),  # an empty one
    ],
)
def test_words_that_are_merged_over_samples(merged: tuple[int, int, int, int], made: list[str]) -> None:
    lines = ["A title||", "Vial|Florida|Note", f"{A}|.2|low", f"{B}|.3|", f"{C}|.4|"]
    put = with_merged_words(sheet(*lines, merged=(merged,)))
    assert [text.split("|", 1)[1] for text in texts(put)[2:]] == made
    short = with_merged_words(sheet(*lines[:3], B, merged=((3, 3, 4, 3),)))
    assert texts(short)[3] == f"{B}||low"
    assert texts(with_merged_words(sheet("a|b", "c|", merged=((1, 2, 2, 2),)))) == ["a|b", "c|"]


@pytest.mark.parametrize(
    ("lines", "refused"),
    [
        (["Vial|Share||Vial|Share", f"{A}|.2||{B}|.3"], True),
        (["Vial|Share||Vial|Share", f"{A}|.2||{A}|.3"], False),  # the same vials
        (["Vial|Share||Vial|Class", f"{A}|.2||{B}|F1"], False),
        (["Vial|Share|Vial|Share", f"{A}|.2|{B}|.3"], False),  # no room between them
        (["Vial||Vial", f"{A}||{B}"], False),  # one column each
        ([f"{A}|.2||{B}|.3", f"{C}|.2||{D}|.3"], False),  # no heading
        (["A title", "Vial|Share||Vial|Share|Note", f"{A}|.2||{B}|.3"], True),
    ],
)
def test_two_tables_side_by_side(lines: list[str], refused: bool) -> None:
    if not refused:
        refuse_side_by_side(sheet(*lines), "return.csv")
        return
    with pytest.raises(
        SheetFault, match="two tables are side by side, in columns A to B and D to E"
    ) as fault:
        refuse_side_by_side(sheet(*lines), "return.csv")
    assert f"row {len(lines) - 1}" in str(fault.value)
