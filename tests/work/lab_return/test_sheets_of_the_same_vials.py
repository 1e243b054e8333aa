"""Sheets of one file about the same vials: other values are one question, the same values none; and what stands in the
row of the heading without being one.
"""

from __future__ import annotations

import io
from collections.abc import Callable
from typing import Any

import openpyxl
import pytest
from openpyxl.styles import Border, Side
from return_support import codes, csv_file

from geneticlog.rules.lab_return.words.headings import answer_key
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.store.sheets import read_sheets
from geneticlog.work.lab_return.known_before.expected import Expected
from geneticlog.work.lab_return.understand import Understood, understand

ALLELES = [23, 5, 75, 16, 2, 31, 61, 44, 52, 36, 69, 9]  # Florida alleles of 76
CODES = codes(len(ALLELES))
HEAD = ["Sample", "Florida", "Loci scored"]
Rows = list[list[Any]]


def rows(share: Callable[[int], float], *, head: list[str] = HEAD) -> Rows:
    return [
        head,
        *([code, share(k), 38][: len(head)] for code, k in zip(CODES, ALLELES, strict=True)),
    ]


RIGHT = rows(lambda k: round(k / 76, 4))


def workbook(sheets: dict[str, Rows], change: Callable[[Any], object] = lambda _: None) -> bytes:
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, table in sheets.items():
        page = book.create_sheet(name)
        for row in table:
            page.append(row)
    change(book)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def read(content: bytes, **answers: Any) -> Understood:
    return understand(content, "return.xlsx", Layout(**answers), Expected())


def asked(understood: Understood) -> list[str]:
    return [f"{question.text} {question.options}" for question in understood.reading.questions]


OTHER = rows(lambda k: round((7 * k + 3) % 77 / 76, 4))
SHORT = rows(lambda k: round((7 * k + 3) % 77 / 76, 2), head=HEAD[:2])


@pytest.mark.parametrize(
    ("sheets", "first", "second"),
    [
        ({"v1": OTHER, "v2": RIGHT}, "v2", "v1"),
        ({"Final": RIGHT, "Draft": OTHER}, "Final", "Draft"),
        ({"Calls": RIGHT, "Overview": SHORT}, "Calls", "Overview"),
    ],
)
def test_sheets_of_other_values_are_one_question_that_a_sheet_answers(
    sheets: dict[str, Rows], first: str, second: str
) -> None:
    content = workbook(sheets)
    question = asked(read(content))[0]
    assert "hold 12 of the same vials, 12 of them with other values (BG 000 001 J: " in question
    assert "0.3026 in " in question
    assert f"--sheet {first} or --sheet {second}" in question
    one_of_them = read(content, sheets=(first,))
    assert [draft.q for draft in one_of_them.drafts] == [row[1] for row in RIGHT[1:]], asked(one_of_them)


def test_a_sheet_of_the_same_values_is_no_question_and_a_few_other_runs_are_no_second_table() -> None:
    for again in (
        rows(lambda k: round(k / 76, 2), head=HEAD[:2]),
        rows(lambda k: round(100 * k / 76, 1), head=["Sample", "Florida %"]),
    ):
        for names in (("Results", "Data of the chart"), ("Data of the chart", "Results")):
            tables = dict(
                zip(names, (RIGHT, again) if names[0] == "Results" else (again, RIGHT), strict=True)
            )
            understood = read(workbook(tables))
            assert [draft.q for draft in understood.drafts] == [row[1] for row in RIGHT[1:]], asked(
                understood
            )
    plates = workbook(
        {"Plate 1": RIGHT[:9], "Plate 2": [HEAD, *RIGHT[9:], [CODES[0], 0.5, 38], [CODES[1], 0.6, 38]]}
    )
    assert not [question for question in asked(read(plates)) if "--sheet" in question]


def test_a_sentence_in_the_row_of_the_heading_is_a_line() -> None:
    for text, answers in (
        ("All values count the northern alleles", "--taxon northern"),
        ("void - do not use", "--hold"),
        ("DRAFT", "--hold"),
    ):
        table = csv_file([[*HEAD, "", text], *RIGHT[1:]])
        (question,) = asked(read(table))
        assert question.startswith(f"row 1 says {text!r}")
        assert question.split("values mean? ")[1].startswith(answers)
        held = read(table, against=frozenset({answer_key(text)}))
        assert all(draft.held for draft in held.drafts)
    for text in ("Remarks", "Extra", "Florida %"):  # an empty column
        with_it = [[*HEAD, text], *([*row, ""] for row in RIGHT[1:])]
        assert len(read(csv_file(with_it)).drafts) == len(CODES), text


def test_cells_crossed_out_by_a_border_are_struck_and_rows_too_low_to_be_seen_are_hidden() -> None:
    def change(book: Any) -> None:
        page = book["Results"]
        page["B3"].border = Border(diagonal=Side(style="thin"), diagonalUp=True)
        page["B4"].border = Border(left=Side(style="thin"))
        page.row_dimensions[5].height = 0.5
        page.row_dimensions[6].height = 15
        page.column_dimensions["C"].width = 0.3

    (sheet,) = read_sheets(workbook({"Results": RIGHT}, change), "return.xlsx")
    assert sheet.struck == {(3, 2)}
    assert sheet.hidden_rows == {5}
    assert sheet.hidden_columns == {3}


def genotypes(last: int | None = None) -> Rows:
    """A sheet of the 38 genotypes of each vial, as numbers of Florida alleles; the last row has ``last`` of them."""
    table: Rows = [["Vial code", *(f"LMB{j + 1:02}" for j in range(38))]]
    for i, (code, k) in enumerate(zip(CODES, ALLELES, strict=True)):
        k = last if last is not None and code == CODES[-1] else k
        places = [(7 * j + 5 * i) % 38 for j in range(38)]
        table.append([code, *(min(2, max(0, k - 2 * place)) for place in places)])
    return table


def test_a_sheet_of_genotypes_is_held_against_the_shares_of_the_same_vials() -> None:
    done = read(workbook({"Results": RIGHT, "Genotypes": genotypes()}))
    assert asked(done) == []
    assert [round(draft.q or 0, 4) for draft in done.drafts] == [round(k / 76, 4) for k in ALLELES]
    assert all(draft.heterozygosity is not None and not draft.held for draft in done.drafts)
    other = read(workbook({"Genotypes": genotypes(last=(ALLELES[-1] + 30) % 76), "Results": RIGHT}))
    assert asked(other) == []
    assert [draft.held for draft in other.drafts] == [False] * (len(CODES) - 1) + [True]
    fewer = read(workbook({"Results": RIGHT, "Genotypes": genotypes()[:-1]}))
    assert asked(fewer)  # not of the same vials
    noted = read(workbook({"Results": RIGHT, "Genotypes": [*genotypes(), ["Do not use these values"]]}))
    assert any("Do not use" in question for question in asked(noted))
