"""Which sheet of a lab's file holds the results, and how it is read."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from geneticlog.errors import SheetFault
from geneticlog.rules.cells import number
from geneticlog.rules.columns import read_columns
from geneticlog.rules.layout import Layout
from geneticlog.rules.reading import Reading
from geneticlog.store.sheets import Sheet


def find_lab_sheet(sheets: Sequence[Sheet], layout: Layout, file: str) -> tuple[Sheet, Reading]:
    """Return the sheet that holds results, with its reading.

    Hidden sheets are taken only when the layout names them. Raises SheetFault when no sheet can be read, with
    the fault of the likeliest, and when several can.
    """
    if layout.sheet:
        named = [
            sheet for sheet in sheets if sheet.name.strip().casefold() == layout.sheet.strip().casefold()
        ]
        if not named:
            there = ", ".join(sheet.name for sheet in sheets if sheet.name) or "none with a name"
            raise SheetFault(f"there is no sheet {layout.sheet!r}; its sheets are {there}", file=file)
        return named[0], _read(named[0], sheets, layout, file)
    shown = [sheet for sheet in sheets if sheet.filled and not sheet.hidden]
    readable: list[tuple[Sheet, Reading]] = []
    faults: list[SheetFault] = []
    for sheet in shown:
        try:
            readable.append((sheet, _read(sheet, sheets, layout, file)))
        except SheetFault as fault:
            faults.append(fault)
    with_rows = [(sheet, reading) for sheet, reading in readable if reading.data_rows or reading.questions]
    if len(with_rows) == 1 or (len(readable) == 1 and not with_rows):
        return (with_rows or readable)[0]
    if with_rows:
        names = ", ".join(sheet.name for sheet, _ in with_rows)
        raise SheetFault(
            f"{len(with_rows)} sheets hold results: {names}",
            file=file,
            way_out="name one with --sheet, or put the rows on one sheet",
        )
    if not faults:
        raise SheetFault(
            "every sheet that is filled in is hidden", file=file, way_out="name the right one with --sheet"
        )
    raise faults[0] if len(faults) == 1 else max(faults, key=lambda fault: fault.row or 0)


def _read(sheet: Sheet, sheets: Sequence[Sheet], layout: Layout, file: str) -> Reading:
    reading = read_columns(sheet.rows, layout, file=file, sheet=sheet.name)
    if sheet.separator == "," and reading.heading_row:
        _refuse_split_numbers(sheet, reading, file)
    doubts = [
        f"sheet {other.name} is {'hidden' if other.hidden else 'not the one that holds results'} and is not read"
        for other in sheets
        if other is not sheet and other.filled
    ]
    first = reading.data_rows[0] if reading.data_rows else 0
    last = reading.data_rows[-1] if reading.data_rows else 0
    merged = [f"{top}" for top, _, bottom, _ in sheet.merged if first and bottom >= first and top <= last]
    if merged:
        doubts.append(
            f"merged cells among the samples, at row {', '.join(merged[:8])}: only the first has a value"
        )
    return replace(reading, doubts=(*reading.doubts, *doubts))


def _refuse_split_numbers(sheet: Sheet, reading: Reading, file: str) -> None:
    """Raise SheetFault where a comma that parts columns seems to be a decimal comma as well.

    A row is then longer than the heading, and a number stands beyond the last heading, or two whole numbers
    are neighbours where further cells follow; a remark with a comma of its own makes neither.
    """
    width = max(len(sheet.rows[reading.heading_row - 1 + i]) for i in range(reading.heading_rows))
    long = []
    for row_number in reading.data_rows:
        if len(sheet.rows[row_number - 1]) <= width:
            continue
        row = [cell.text.strip() for cell in sheet.rows[row_number - 1]]
        beyond = [text for text in row[width:] if text]
        whole = any(a.isdecimal() and b.isdecimal() for a, b in pairwise(row))
        if beyond and (whole or any(number(text) for text in beyond)):
            long.append(row_number)
    if long:
        rows = "1 row has" if len(long) == 1 else f"{len(long)} rows have"
        raise SheetFault(
            f"{rows} more cells than the heading, which has {width}; decimal commas seem to stand among the commas"
            " that part its columns",
            file=file,
            row=long[0],
            way_out="save it again with semicolons or tabs between the columns, or with decimal points",
        )
