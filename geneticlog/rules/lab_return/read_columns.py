"""The heading of a lab's file, and what each of its columns is taken for, and why.

Nothing is guessed where two readings are possible: then there is a Question, and a person answers it once;
the answer is kept in the lab's Layout. Rows are sequences of (text, kind) pairs, as store/sheets.py reads
them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Sequence
from dataclasses import replace

from geneticlog.errors import SheetFault
from geneticlog.rules.lab_return.cells import decimal_mark
from geneticlog.rules.lab_return.column_roles import assign_roles, questions_of_columns, with_genotypes
from geneticlog.rules.lab_return.column_units import with_units
from geneticlog.rules.lab_return.heading_rows import find_heading
from geneticlog.rules.lab_return.headings import PROPORTIONS
from geneticlog.rules.lab_return.layout import Layout, column_letter
from geneticlog.rules.lab_return.mangled import mangled_code
from geneticlog.rules.lab_return.reading import Column, Question, Reading, Row, is_code, listed
from geneticlog.rules.lab_return.sample_rows import part_rows
from geneticlog.rules.lab_return.whose_share import ask_whose_share

SAMPLED = 400  # data rows whose values are looked at to tell a column of codes


def read_columns(
    rows: Sequence[Row], layout: Layout, *, file: str, sheet: str = "", hidden: Collection[int] = ()
) -> Reading:
    """Return how a sheet is to be read.

    hidden
        The numbers, from 1, of columns that are out of sight.

    raises
        SheetFault where no heading is found, no column holds vial codes, no column holds a result, a column
        that the layout names is absent, or a second table begins further down.
    """
    top, n_rows, headings = find_heading(rows, layout, file, sheet)
    width = max((len(row) for row in rows), default=0)
    headings = headings + [""] * (width - len(headings))
    body = rows[top - 1 + n_rows :] if top else rows
    sample = [row for row in body[: SAMPLED * 2] if any(kind != "empty" for _, kind in row)][:SAMPLED]
    questions: list[Question] = []
    said = assign_roles(headings, sample, layout, questions, file, sheet, hidden)
    columns = [
        Column(i + 1, " ".join(heading.split()), found.role, found.why)
        for i, (heading, found) in enumerate(zip(headings, said, strict=True))
        if found.why or heading.strip() or any(len(row) > i and row[i][1] != "empty" for row in sample)
    ]
    columns, layout = with_genotypes(columns, sample, layout, questions, file, sheet)
    questions += questions_of_columns(said, headings, body, layout)
    vial = next((column.number - 1 for column in columns if column.role == "vial"), None)
    if vial is not None and "vial" not in layout.columns:
        _refuse_without_codes(sample, vial, headings, file, sheet)
    carrying = [c.number - 1 for c in columns if c.role not in ("", "vial", "failure")]
    if vial is None and not questions:
        raise SheetFault(
            "no column holds vial codes",
            file=file,
            sheet=sheet or None,
            row=top or None,
            way_out=f"name it with --column vial=HEADING (columns are {listed(headings)})",
        )
    if not any(c.role in ("q", "marker") for c in columns) and not questions:
        taxa = layout.taxa
        # One minus the other share is no q where the panel tells a third lineage apart, so it is not taken.
        other = next((f" (column {c.heading or c.letter} has the {taxa.other_taxon} ones)"
                      for c in columns if c.role == "other_q"), "")  # fmt: skip
        raise SheetFault(
            f"no column holds the share of {taxa.taxon} alleles{other}, nor genotypes",
            file=file,
            sheet=sheet or None,
            row=top or None,
            way_out=("ask the lab for that column, or " if other else "")
            + f"name it with --column q=HEADING (columns are {listed(headings)})",
        )
    data, other_rows = part_rows(rows, top, n_rows, headings, vial, carrying, layout.taxa, file, sheet)
    texts = {
        column.number: [
            row[column.number - 1] if len(row) >= column.number else ("", "empty")
            for row in (rows[number - 1] for number in data)
        ]
        for column in columns
        if column.role in (*PROPORTIONS, "n_loci")
    }
    decimal, evidence = layout.decimal, "the layout says so"
    if not decimal:
        decimal, evidence = decimal_mark(
            Counter(text for cells in texts.values() for text, kind in cells if kind == "text")
        )
    columns, missing = with_units(columns, texts, decimal, layout, questions)
    of_column = {question.key for question in questions}
    columns = [
        replace(
            column,
            standing="asked"
            if f"column {column.letter}" in of_column
            else "used"
            if column.role
            else "harmless",
        )
        for column in columns
    ]
    questions += ask_whose_share(columns, rows, data, other_rows, decimal, layout)
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
        questions=tuple(questions),
    )


def _refuse_without_codes(
    sample: Sequence[Row], vial: int, headings: Sequence[str], file: str, sheet: str
) -> None:
    cells = [row[vial] for row in sample if len(row) > vial and row[vial][1] != "empty"]
    if not cells or any(is_code(text) for text, _ in cells):
        return
    changed = sum(1 for text, kind in cells if mangled_code(text, kind))
    why = f"; {changed} look changed by a spreadsheet program" if changed else ""
    raise SheetFault(
        f"none of its values is a vial code (the first is {cells[0][0]!r}{why})",
        file=file,
        sheet=sheet or None,
        column=headings[vial] or column_letter(vial + 1),
        way_out="ask for a file with the codes as on the labels, or name the column with --column vial=HEADING",
    )
