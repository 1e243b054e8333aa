"""Several sheets with the same headings, one a plate, taken together as the one table that they are."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from geneticlog.errors import SheetFault
from geneticlog.rules.lab_return.columns.read_columns import read_columns
from geneticlog.rules.lab_return.sheet.heading_rows import find_heading
from geneticlog.rules.lab_return.sheet.parts import Part
from geneticlog.rules.lab_return.sheet.reading import Reading
from geneticlog.rules.lab_return.sheet.sheet_rows import SheetRows, step_for
from geneticlog.rules.lab_return.words.headings import plain
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.store.sheets import Cell, Sheet

Shape = tuple[tuple[int, str], ...]


def shape_of(sheet: Sheet, layout: Layout, file: str) -> Shape | None:
    """Return the headings of a sheet with their columns; None where it has no heading."""
    try:
        _, _, headings = find_heading(sheet.rows, layout, file, sheet.name)
    except SheetFault:
        return None
    return tuple((i, plain(text)) for i, text in enumerate(headings) if text.strip())


def in_its_place(fault: SheetFault, numbering: SheetRows) -> SheetFault:
    """Return a fault of a return of several sheets or tables with the sheet, and the row in it."""
    if not numbering.sheets:
        return fault
    sheet, row = numbering.place(fault.row) if fault.row else (None, fault.row)
    return SheetFault(
        fault.problem, file=fault.file, sheet=sheet or fault.sheet, row=row, column=fault.column, way_out=fault.way_out
    )  # fmt: skip


def _parts_of(sheet: Sheet, start: int, step: int) -> list[Part]:
    """The tables of a sheet, mostly one, as parts of a return in which its rows come after a row."""
    return [
        replace(
            part,
            name=f"{sheet.name}, {part.name}" if part.name else sheet.name,
            first=start + part.first,
            last=start + min(part.last, step - 1),
        )
        for part in sheet.parts or (Part("", 1, step - 1),)
    ]


def _moved_down(sheet: Sheet, by: int, last: int) -> Sheet:
    """A sheet with all its marks some rows further down, ranges up to the last row that it can have there."""
    return replace(
        sheet,
        hidden_rows=frozenset(by + row for row in sheet.hidden_rows),
        struck=frozenset((by + row, column) for row, column in sheet.struck),
        colours={(by + row, column): colour for (row, column), colour in sheet.colours.items()},
        comments={(by + row, column): text for (row, column), text in sheet.comments.items()},
        merged=tuple((by + top, left, by + bottom, right) for top, left, bottom, right in sheet.merged),
        rules=tuple(
            (by + a, left, min(by + b, last), right, text) for a, left, b, right, text in sheet.rules
        ),
        areas=tuple(_down(sheet.areas, by, last)),
        formulas=tuple(_down(sheet.formulas, by, last)),
        to_ask=tuple((key, text, by + a, min(by + b, last)) for key, text, a, b in sheet.to_ask),
    )


Said = tuple[int, int, int, int, str, str]  # an area, and two texts about it


def _down(areas: Iterable[Said], by: int, last: int) -> Iterator[Said]:
    for top, left, bottom, right, what, text in areas:
        yield by + top, left, min(by + bottom, last), right, what, text


def stack(read: Sequence[tuple[Sheet, Reading]], layout: Layout, file: str) -> tuple[Sheet, Reading]:
    """Return sheets of one shape as one sheet, with its reading.

    Units, decimal mark and what a column holds are judged over all of them together. Rows keep their number in their
    own sheet, those of the second sheet 1,000 on (or 10,000, where a sheet is as long), and so forth; titles and
    headings of the later sheets are no samples.
    """
    numbering = SheetRows(
        tuple(sheet.name for sheet, _ in read), step_for(max(len(sheet.rows) for sheet, _ in read))
    )
    rows: list[list[Cell]] = []
    moved: list[Sheet] = []
    parts: list[Part] = []
    titles: list[tuple[int, str]] = []
    for place, (sheet, reading) in enumerate(read):
        start = numbering.number(place, 0)
        parts += _parts_of(sheet, start, numbering.step)
        head = reading.heading_row - 1 + reading.heading_rows if place and reading.heading_row else 0
        rows += [[]] * (start + head - len(rows))
        rows += sheet.rows[head:]
        titles += [(start + row, text) for row, text in reading.other_rows if row <= head]
        moved.append(_moved_down(sheet, start, start + numbering.step - 1))
    stacked = replace(
        moved[0],
        name=", ".join(numbering.sheets),
        rows=rows,
        hidden_rows=frozenset().union(*(sheet.hidden_rows for sheet in moved)),
        struck=frozenset().union(*(sheet.struck for sheet in moved)),
        hidden_columns=frozenset().union(*(sheet.hidden_columns for sheet in moved)),
        colours={place: colour for sheet in moved for place, colour in sheet.colours.items()},
        comments={place: text for sheet in moved for place, text in sheet.comments.items()},
        merged=tuple(area for sheet in moved for area in sheet.merged),
        rules=tuple(rule for sheet in moved for rule in sheet.rules),
        areas=tuple(area for sheet in moved for area in sheet.areas),
        formulas=tuple(run for sheet in moved for run in sheet.formulas),
        to_ask=tuple(asks for sheet in moved for asks in sheet.to_ask),
        notes=tuple(dict.fromkeys(note for sheet in moved for note in sheet.notes)),
        parts=tuple(parts),
    )
    try:
        reading = read_columns(
            stacked.rows,
            layout,
            file=file,
            sheet=stacked.name,
            hidden=stacked.hidden_columns,
            parts=stacked.parts,
        )
    except SheetFault as fault:
        raise in_its_place(fault, numbering) from None
    others = sorted([*reading.other_rows, *titles])
    return stacked, replace(reading, other_rows=tuple(others), sheet_rows=numbering)
