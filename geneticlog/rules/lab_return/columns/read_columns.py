"""The heading of a lab's file, and what each of its columns is taken for, and why.

Nothing is guessed where two readings are possible: then there is a Question, and a person answers it once;
the answer is kept in the lab's Layout. Rows are sequences of (text, kind) pairs, as store/sheets.py reads
them.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from typing import Any

from geneticlog.errors import SheetFault
from geneticlog.rules.lab_return.cells.cells import decimal_mark
from geneticlog.rules.lab_return.cells.mangled import mangled_code
from geneticlog.rules.lab_return.columns.clusters import exchanged_by_taxon
from geneticlog.rules.lab_return.columns.column_roles import DOUBTED, assign_roles, questions_of_columns
from geneticlog.rules.lab_return.columns.column_units import Block, with_units
from geneticlog.rules.lab_return.columns.genotype_columns import with_genotypes
from geneticlog.rules.lab_return.columns.odd_loci import ask_about_odd_loci
from geneticlog.rules.lab_return.columns.share_of_taxa import with_share_of_taxa
from geneticlog.rules.lab_return.columns.unit_columns import with_unit_column
from geneticlog.rules.lab_return.columns.whose_share import (
    ask_whose_share,
    turned_round,
    what_the_other_leaves,
    without_that_of_taxa,
)
from geneticlog.rules.lab_return.sheet.heading_rows import find_heading
from geneticlog.rules.lab_return.sheet.lines import HEADING_AGAIN, condemns
from geneticlog.rules.lab_return.sheet.parts import Part
from geneticlog.rules.lab_return.sheet.reading import (
    Column,
    Question,
    Reading,
    Row,
    is_code,
    lacks_its_check,
    listed,
)
from geneticlog.rules.lab_return.sheet.sample_rows import Table, part_rows, rows_above
from geneticlog.rules.lab_return.words.headings import Taxa, plain, recognise
from geneticlog.rules.lab_return.words.layout import Layout, column_letter
from geneticlog.rules.lab_return.words.roles import PROPORTIONS, ColumnRole
from geneticlog.rules.lab_return.words.vocabulary import CONTROL
from geneticlog.rules.result.result_states import Verdict


class NoCodes(SheetFault):
    """A sheet of results has no column of vial codes."""


LEAST_WORDS = 4  # of a sentence in the row of the heading
SAMPLED = 400  # data rows whose values are looked at to tell a column of codes


def read_columns(
    rows: Sequence[Row],
    layout: Layout,
    *,
    file: str,
    sheet: str = "",
    hidden: Collection[int] = (),
    parts: Sequence[Part] = (),
) -> Reading:
    """Return how a sheet is to be read.

    hidden
        The numbers, from 1, of columns that are out of sight.
    parts
        Its parts that have headings of their own, where there are several.

    raises
        SheetFault where no heading is found, no column holds vial codes, no column holds a result, a column
        that the layout names is absent, or a second table begins further down.
    """
    top, n_rows, headings = find_heading(rows, layout, file, sheet)
    _refuse_per_mille(headings, layout, file, sheet, top)
    width = max((len(row) for row in rows), default=0)
    headings = headings + [""] * (width - len(headings))
    body = rows[top - 1 + n_rows :] if top else rows
    sample = [row for row in body[: SAMPLED * 2] if any(kind != "empty" for _, kind in row)][:SAMPLED]
    questions: list[Question] = []
    recognised = assign_roles(headings, sample, layout, questions, file, sheet, hidden)
    recognised = with_share_of_taxa(recognised, headings, sample, layout)
    columns = [
        Column(i + 1, " ".join(heading.split()), found.role, found.why)
        for i, (heading, found) in enumerate(zip(headings, recognised, strict=True))
        if found.why or heading.strip() or any(len(row) > i and row[i][1] != "empty" for row in sample)
    ]
    columns, layout = with_genotypes(columns, sample, layout, questions, file, sheet)
    questions += ask_about_odd_loci(columns, layout)
    questions += questions_of_columns(recognised, headings, body, layout)
    columns, layout = what_the_other_leaves(columns, layout, questions)
    columns, layout = exchanged_by_taxon(columns, layout)
    vial = next((column.number - 1 for column in columns if column.role == ColumnRole.VIAL), None)
    if "vial" not in layout.columns:
        _refuse_without_codes(sample, vial, headings, file, sheet)
    if not any(_gives_what_is_needed(choice) for question in questions for choice in question.choices):
        _refuse_without_what_is_needed(columns, headings, sample, layout.taxa, (file, sheet, top))
    if vial is None:
        data, other_rows = list[int](), rows_above(rows, top)
    else:
        carrying = _carrying(columns)
        data, other_rows = part_rows(rows, Table(file, sheet, top, n_rows, vial, carrying, layout.taxa))
    other_rows = sorted([*other_rows, *_sentences_in_heading(columns, rows, data, top, layout)])
    sampled = [() if _of_the_lab(rows[number - 1], vial) else rows[number - 1] for number in data]
    texts = {
        column.number: [
            row[column.number - 1] if len(row) >= column.number else ("", "empty") for row in sampled
        ]
        for column in columns
        if column.role in (*PROPORTIONS, ColumnRole.N_LOCI)
    }
    decimal, evidence = _decimal_of(texts, layout)
    parts = parts or _pages(top, other_rows, len(rows))
    columns, missing = with_units(columns, texts, decimal, layout, questions, _blocks(parts, data))
    columns, questions = with_unit_column(columns, questions, rows, data, layout)
    whose = ask_whose_share(columns, rows, data, other_rows, decimal, layout)
    questions = without_that_of_taxa(questions, whose, columns, rows, data, layout)
    columns = turned_round(_judged(columns, questions), layout)
    return Reading(
        file=file,
        sheet=sheet,
        layout=layout,
        heading_row=top,
        heading_rows=n_rows,
        columns=tuple(columns),
        decimal=decimal,
        decimal_evidence=evidence,
        data_rows=tuple(data),
        other_rows=tuple(other_rows),
        missing=missing,
        questions=(*questions, *whose),
    )


def _of_the_lab(row: Row, vial: int | None) -> bool:
    """Whether a row is a control that the laboratory put on the plate: its share is no fish's, and says no unit."""
    text = row[vial][0] if vial is not None and len(row) > vial else ""
    return not is_code(text) and _CONTROL.search(plain(text)) is not None


_CONTROL = re.compile(rf"\b(?:{CONTROL}|pos|positive)\b")


def _decimal_of(texts: Mapping[int, Sequence[tuple[str, str]]], layout: Layout) -> tuple[str, str]:
    """The decimal mark of the numbers that are read, and why."""
    if layout.decimal:
        return layout.decimal, "the layout says so"
    return decimal_mark(Counter(text for cells in texts.values() for text, kind in cells if kind == "text"))


def _sentences_in_heading(
    columns: Sequence[Column], rows: Sequence[Row], data: Sequence[int], top: int, layout: Layout
) -> list[tuple[int, str]]:
    """What stands in the row of the heading over a column without values, and is no heading, as lines of the sheet."""
    lines = []
    for column in columns:
        text = column.heading
        is_heading = column.role and len(text.split()) < LEAST_WORDS
        if not text or is_heading or any(column.text_in(rows[n - 1]) for n in data):
            continue
        meant = recognise(text, layout.taxa)
        plainly = meant is not None and not meant.strange and len(text.split()) < LEAST_WORDS
        if not plainly and (len(text.split()) >= LEAST_WORDS or condemns(text)):
            lines.append((top, text))
    return lines


def _carrying(columns: Sequence[Column]) -> list[int]:
    """The places, from 0, of the columns of what a lab found."""
    not_found = (ColumnRole.NOT_USED, ColumnRole.VIAL, ColumnRole.FAILURE)
    return [column.number - 1 for column in columns if column.role not in not_found]


def _pages(top: int, other_rows: Sequence[tuple[int, str]], last: int) -> list[Part]:
    """The parts of a table whose heading comes again, none where it does not."""
    again = [row for row, text in other_rows if text == HEADING_AGAIN]
    ends = [*(row - 1 for row in again), last]
    return (
        [Part(f"row {row}", row, end) for row, end in zip((top, *again), ends, strict=True)] if again else []
    )


def _blocks(parts: Sequence[Part], data: Sequence[int]) -> list[Block]:
    return [(part, [i for i, n in enumerate(data) if part.first <= n <= part.last]) for part in parts]


def _judged(columns: Sequence[Column], questions: Sequence[Question]) -> list[Column]:
    """Return each column with what the account of the file says of it."""
    asked = {question.key for question in questions}

    def standing(column: Column) -> Verdict:
        if f"column {column.letter}" in asked:
            return Verdict.ASKED
        if column.why == DOUBTED:
            return Verdict.HELD
        return Verdict.USED if column.role else Verdict.HARMLESS

    return [replace(column, standing=standing(column)) for column in columns]


def _gives_what_is_needed(choice: tuple[str, str, str]) -> bool:
    """Whether an answer may give a sheet its vial codes, or its shares."""
    setting, role, _ = choice
    return setting in ("counted", "taxon") or (
        setting == "column" and role in (ColumnRole.VIAL, ColumnRole.Q, ColumnRole.OTHER_Q)
    )


def _refuse_without_what_is_needed(
    columns: Sequence[Column],
    headings: list[str],
    sample: Sequence[Row],
    taxa: Taxa,
    where: tuple[str, str, int],
) -> None:
    """Refuse a sheet without vial codes, or without a share or genotypes."""
    file, sheet, top = where
    place: dict[str, Any] = {"file": file, "sheet": sheet or None, "row": top or None}
    if not any(column.role == ColumnRole.VIAL for column in columns):
        its_columns = f"columns are {listed(headings)}"
        way_out = f"name it with --column vial=HEADING ({its_columns})"
        if not any(is_code(text) for row in sample for text, _ in row):
            way_out = f"ask the lab for a table with our codes in a column ({its_columns})"
        raise NoCodes("no column holds vial codes", **place, way_out=way_out)
    if any(column.role in (ColumnRole.Q, ColumnRole.MARKER) for column in columns):
        return
    other = any(
        column.role == ColumnRole.OTHER_Q for column in columns
    )  # with a third lineage, or q is what it leaves
    raise SheetFault(
        f"no column holds the share of {taxa.taxon} alleles, nor genotypes",
        **place,
        way_out=("ask the lab for that column, or " if other else "")
        + f"name it with --column q=HEADING (columns are {listed(headings)})",
    )


def _refuse_per_mille(headings: Sequence[str], layout: Layout, file: str, sheet: str, top: int) -> None:
    for heading in headings:
        if re.search(r"‰|\bper ?mill?e?\b|\bpromille\b", heading.casefold()) and not layout.changes_nothing(
            heading
        ):
            raise SheetFault(
                "its numbers are per mille, which is no unit of shares here",
                file=file,
                sheet=sheet or None,
                row=top or None,
                column=" ".join(heading.split()),
                way_out="ask the lab for percent, or divide them by ten under a heading in percent",
            )


def _refuse_without_codes(
    sample: Sequence[Row], vial: int | None, headings: Sequence[str], file: str, sheet: str
) -> None:
    if vial is None:
        return
    cells = [row[vial] for row in sample if len(row) > vial and row[vial][1] != "empty"]
    if not cells or any(is_code(text) for text, _ in cells):
        return
    changed = sum(1 for text, kind in cells if mangled_code(text, kind))
    why = f"; {changed} look changed by a spreadsheet program" if changed else ""
    if 2 * sum(lacks_its_check(text) for text, _ in cells) > len(cells):
        why = "; they seem to be codes without their last character, by which a code is checked"
    elif all(text.strip().isdecimal() for text, _ in cells):
        why = "; they are the numbers of a list, and nothing says which vial has which"
    raise SheetFault(
        f"none of its values is a vial code (the first is {cells[0][0]!r}{why})",
        file=file,
        sheet=sheet or None,
        column=headings[vial] or column_letter(vial + 1),
        way_out="ask for a file with the codes as on the labels",
    )
