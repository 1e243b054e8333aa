"""The marks of the old binary workbook format: struck through, coloured, hidden, commented on, in percent.

xlrd reads cell formats, which python-calamine does not show. Neither shows whether a value is a formula's, so the
records of the stream are looked through for formulas ([MS-XLS] 2.4.127) whose value is 0.
"""

from __future__ import annotations

import contextlib
import io
import re
import struct
from collections.abc import Iterable, Iterator
from typing import Any

from geneticlog.store import properties
from geneticlog.store.beside_cells import (
    CONTINUE,
    FOOTER,
    HEADER,
    NAME,
    OBJECT,
    SERIES_TEXT,
    TEXT_OBJECT,
    VALIDATION,
    Area,
    Note,
    of_xls,
)
from geneticlog.store.cell_styles import NO_TEXT, SHOWS, WHITE_TEXT, text_shown
from geneticlog.store.colour_rules import CONDITIONAL_FORMAT, rules_of_xls
from geneticlog.store.marks import Marks, in_percent

A_FORMULA = "a formula"
FORMULA, BOUND_SHEET = 0x0006, 0x0085
SAYING = (
    FORMULA, CONDITIONAL_FORMAT, HEADER, FOOTER, OBJECT, TEXT_OBJECT, CONTINUE, VALIDATION, SERIES_TEXT,
)  # fmt: skip
NO_VALUE = (
    bytes(8),
    b"\x03\0\0\0\0\0\xff\xff",
)  # the number 0, and the empty text: what is written uncalculated
WHITE = (1, 9)
AUTOMATIC = (0x40, 0x41, 0x7FFF, 8, 9)  # colours of the system, black and white


def xls_marks(content: bytes) -> dict[str, Marks]:
    """Return the marks of each sheet by its name; {} for a file that xlrd cannot read: the value reader says so."""
    import xlrd

    try:
        book = xlrd.open_workbook(file_contents=content, formatting_info=True)
        by_sheet = {sheet.name: _sheet_marks(book, sheet) for sheet in book.sheets()}
        records = list(_records_of_sheets(content))
        for name, row, column, no_value, code in _formulas(records):
            if name in by_sheet:
                written = _as_text(book, code, row, column)
                by_sheet[name].put_formula(row, column, written, is_zero=no_value)
        for name, area in _names(book):
            by_sheet[name].areas += (area,)
        for name, note in of_xls(records):
            if name in by_sheet:
                by_sheet[name].notes += (note,)
        for name, rule in rules_of_xls(records):
            if name in by_sheet:
                by_sheet[name].rules += (rule,)
    except MemoryError:
        raise
    except Exception:  # whatever a damaged record makes of it; the value reader judges the file
        return {}
    whole = _properties(content)
    for marks in by_sheet.values():
        marks.properties = whole
        marks.settle()
    return by_sheet


def _properties(content: bytes) -> tuple[Note, ...]:
    from xlrd.compdoc import CompDoc

    try:
        return properties.of_xls(CompDoc(content))
    except MemoryError:
        raise
    except Exception:  # a damaged summary says nothing, and no value is in it
        return ()


def _names(book: Any) -> Iterator[tuple[str, Area]]:
    """The sheet and cells of each name that a person gave to a range."""
    for name in book.name_obj_list:
        if name.builtin or name.hidden or name.macro:
            continue
        try:
            page, top, bottom, left, right = name.area2d(clipped=False)
        except Exception:  # a name of a number, of several ranges or of nothing
            continue
        yield page.name, (top + 1, left + 1, bottom, right, NAME, name.name)


def _as_text(book: Any, code: bytes, row: int, column: int) -> str:
    """A formula as it is written, or "a formula" where xlrd cannot say it."""
    from xlrd.formula import decompile_formula

    try:
        with contextlib.redirect_stdout(io.StringIO()):
            text = decompile_formula(book, code, len(code), 0, row - 1, column - 1)
    except Exception:  # of a kind that it does not know
        return A_FORMULA
    return re.sub(r"(?<=\d)\.0(?!\d)", "", text) if text else A_FORMULA


def _sheet_marks(book: Any, sheet: Any) -> Marks:
    marks = Marks()
    marks.hidden_rows.update(row + 1 for row, told in sheet.rowinfo_map.items() if told.hidden)
    marks.hidden_columns.update(column + 1 for column, told in sheet.colinfo_map.items() if told.hidden)
    for (row, column), note in sheet.cell_note_map.items():
        if note.text.strip():
            marks.comments[row + 1, column + 1] = note.text.strip()
    for row in range(sheet.nrows):
        for column in range(sheet.row_len(row)):
            cell = sheet.cell(row, column)
            if cell.ctype in (0, 6):  # empty, or a format alone
                continue
            form, place = book.xf_list[cell.xf_index], (row + 1, column + 1)
            fonts = [
                form.font_index,
                *(font for _, font in sheet.rich_text_runlist_map.get((row, column), ())),
            ]
            if any(book.font_list[font].struck_out for font in fonts):
                marks.struck.add(place)
            colour = form.background.pattern_colour_index if form.background.fill_pattern == 1 else None
            if colour is None or colour in AUTOMATIC:
                colour = book.font_list[form.font_index].colour_index
            unseen = _unseen(
                book.format_map[form.format_key].format_str, colour, form.background.fill_pattern
            )
            if unseen:
                marks.colours[place] = unseen
            elif colour not in AUTOMATIC and (rgb := book.colour_map.get(colour)):
                marks.colours[place] = "".join(f"{part:02X}" for part in rgb)
            in_percents = cell.ctype == 2 and "%" in book.format_map[form.format_key].format_str
            if in_percents and (shown := in_percent(repr(cell.value))):
                marks.cells[place] = (shown, "number")
    return marks


def _unseen(form: str, colour: int, fill: int) -> str:
    """What of a value a person does not see as it is: it has a format that shows nothing or words, or is white."""
    if re.fullmatch(";+", form):
        return NO_TEXT
    if words := text_shown(form):
        return f"{SHOWS}{words!r}"
    return WHITE_TEXT if colour in WHITE and fill == 0 else ""


def _records(content: bytes) -> Any:
    """Each record of the workbook's stream: its place, number and data."""
    from xlrd.compdoc import CompDoc

    document = CompDoc(content)
    stream, base, length = document.locate_named_stream("Workbook")
    if not stream:
        stream, base, length = document.locate_named_stream("Book")
    at = 0
    while stream and at + 4 <= length:
        number, size = struct.unpack_from("<HH", stream, base + at)
        yield at, number, stream[base + at + 4 : base + at + 4 + size]
        at += 4 + size


def _records_of_sheets(content: bytes) -> Iterator[tuple[str, int, bytes]]:
    """The sheet, number and data of each record that says something of a formula or a format."""
    starts: list[tuple[int, str]] = []
    for at, number, data in _records(content):
        if number == BOUND_SHEET and len(data) > 8:
            length, wide = data[6], data[7] & 1
            text = data[8 : 8 + length * (2 if wide else 1)].decode("utf-16-le" if wide else "latin-1")
            starts.append((struct.unpack_from("<I", data)[0], text))
        elif number in SAYING:
            yield (
                next((text for start, text in sorted(starts, reverse=True) if start <= at), ""),
                number,
                data,
            )


def _formulas(records: Iterable[tuple[str, int, bytes]]) -> Iterator[tuple[str, int, int, bool, bytes]]:
    """The sheet, row and column of each formula, whether it has no value, and the formula as the file keeps it."""
    for name, number, data in records:
        if number == FORMULA and len(data) >= 22:
            row, column = struct.unpack_from("<HH", data)
            length = struct.unpack_from("<H", data, 20)[0]
            yield name, row + 1, column + 1, data[6:14] in NO_VALUE, data[22 : 22 + length]
