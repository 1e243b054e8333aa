"""What a workbook says beside its values: hidden rows and columns, colours, comments, formulas without a value.

The reader of values (python-calamine) shows a formula that was never calculated, and #N/A, as an empty cell; an empty
cell in a lab's file means something else. Nor does it show what is struck through, coloured, hidden, commented on or
formatted as a percentage. The XML of XLSX and of open documents is looked through for those marks alone (openpyxl and
odfpy would build every cell as an object, ten times the time of a large sheet); for the old binary format xlrd reads
them, the one kept library that knows its formats.
"""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Iterator
from posixpath import dirname, join, normpath
from xml.etree import ElementTree

from geneticlog.errors import SheetFault
from geneticlog.rules.lab_return.cells.formulas import relative
from geneticlog.store import properties
from geneticlog.store.beside_cells import (
    NAME,
    Area,
    Note,
    cells_of,
    of_xlsx_drawing,
    of_xlsx_messages,
    of_xlsx_pages,
)
from geneticlog.store.cell_styles import CellStyles, has_strike, read_styles
from geneticlog.store.charts import of_xlsx_chart
from geneticlog.store.colour_rules import rules_of_xlsx
from geneticlog.store.marks import Marks, in_percent, local

MOST_BYTES = 1_500_000_000  # of one unpacked part; far above any real sheet, far below a packed bomb
MOST_CELLS = (
    60_000_000  # of the rectangle between A1 and the last filled cell, which the value reader lays out whole
)
WORTH_A_LOOK = re.compile(
    rb"""<(?:\w+:)?f[ >/]|hidden="(?:1|true)"|t="e"|\bt='e'|\bht="[0-2](?:\.\d+)?"|\bwidth="0(?:\.\d+)?["]"""
)
LOW, NARROW = 3.0, 0.7  # points of a row, and characters of a column, below which nothing of it is seen
Shared = dict[str, tuple[str, str]]  # by number: a formula as written, and as seen from its cell


def read_marks(content: bytes, file_name: str) -> dict[str, Marks]:
    """Return the marks of each sheet by its name.

    Raises SheetFault for a package that is damaged or unpacks to an unreasonable size.
    """
    if content.startswith(b"\xd0\xcf\x11\xe0"):
        from geneticlog.store.xls_marks import xls_marks

        return xls_marks(content)
    if not content.startswith(b"PK"):
        return {}
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as package:
            names = {part.filename: part.file_size for part in package.infolist()}
            if any(size > MOST_BYTES for size in names.values()):
                raise SheetFault("the workbook unpacks to more than a table can be", file=file_name)
            if "xl/workbook.xml" in names:
                return _of_xlsx(package, set(names), file_name)
            if "content.xml" in names:
                from geneticlog.store.ods_marks import open_document_marks

                return open_document_marks(package)
    except (
        zipfile.BadZipFile,
        ElementTree.ParseError,
        KeyError,
        OSError,
        EOFError,
        ValueError,
        RuntimeError,
    ):
        problem = "the workbook is damaged or locked"
        raise SheetFault(problem, file=file_name, way_out="ask for it again, or save it again") from None
    return {}


def _of_xlsx(package: zipfile.ZipFile, names: set[str], file_name: str) -> dict[str, Marks]:
    styles, whole = read_styles(package), properties.of_xlsx(package)
    book = ElementTree.fromstring(package.read("xl/workbook.xml"))
    by_sheet: dict[str, Marks] = {}
    of_charts: list[Note] = []  # of sheets that are nothing but a chart
    for sheet, part in _parts(package, book):
        if part not in names:
            continue
        marks = _sheet_marks(package.read(part), sheet, file_name, styles)
        by_sheet[sheet] = _with_comments(package, part, marks, names)
        if "chartsheet" in part:
            of_charts += by_sheet[sheet].notes
    for marks in by_sheet.values():
        marks.notes = (*marks.notes, *of_charts)
        marks.properties = whole
    for sheet, area in _names(book):
        if sheet in by_sheet:
            by_sheet[sheet].areas += (area,)
    return by_sheet


def _names(book: ElementTree.Element) -> Iterator[tuple[str, Area]]:
    """The sheet and cells of each name that a person gave to a range (built-in names begin with _xlnm)."""
    for element in book.iter():
        name = element.get("name", "")
        if local(element.tag) != "definedName" or name.startswith("_xl"):
            continue
        sheet, _, cells = (element.text or "").rpartition("!")
        if place := cells_of(cells):
            yield sheet.strip("'").replace("''", "'"), (*place, NAME, name)


def _links(package: zipfile.ZipFile, path: str) -> Iterator[tuple[str, str, str]]:
    """The id, kind and target of each part that a part of the package leads to."""
    rels = join(dirname(path), "_rels", f"{path.rpartition('/')[2]}.rels")
    if rels not in package.namelist():
        return
    for link in ElementTree.fromstring(package.read(rels)):
        target = link.get("Target", "")
        whole = target.lstrip("/") if target.startswith("/") else normpath(join(dirname(path), target))
        yield link.get("Id", ""), link.get("Type", "").rpartition("/")[2], whole


def _parts(package: zipfile.ZipFile, book: ElementTree.Element) -> Iterator[tuple[str, str]]:
    target = {key: path for key, _, path in _links(package, "xl/workbook.xml")}
    for element in book.iter():
        if local(element.tag) == "sheet":
            link = next((v for k, v in element.attrib.items() if k.endswith("}id")), "")
            yield element.get("name", ""), target.get(link, "")


def _with_comments(package: zipfile.ZipFile, part: str, marks: Marks, names: set[str]) -> Marks:
    for _, kind, path in _links(package, part):
        if kind == "drawing" and path in names:
            marks.notes += of_xlsx_drawing(package.read(path))
            for _, of_drawing, chart in _links(package, path):
                if of_drawing.startswith("chart") and chart in names:
                    marks.notes += of_xlsx_chart(package.read(chart))
        if kind != "comments" or path not in names:
            continue
        for element in ElementTree.fromstring(package.read(path)).iter():
            if local(element.tag) == "comment" and (place := _place(element.get("ref", ""))):
                text = "".join(each.text or "" for each in element.iter() if local(each.tag) == "t").strip()
                if text:
                    marks.comments[place] = text
    return marks


def _sheet_marks(part: bytes, sheet: str, file_name: str, styles: CellStyles) -> Marks:
    marks = Marks(rules=rules_of_xlsx(part), notes=of_xlsx_pages(part), areas=of_xlsx_messages(part))
    marks.is_protected = b"sheetProtection" in part
    last = re.findall(rb'<(?:\w+:)?row [^<>]{0,400}?\br="(\d+)"', part[-200_000:])
    if last and re.search(rb'r="[A-Z]{3}\d', part) and int(last[-1]) * 703 > MOST_CELLS:
        raise SheetFault(
            "a cell far outside the table is filled in",
            file=file_name,
            sheet=sheet,
            way_out="delete the empty-looking rows and columns around the table and save it again",
        )
    if not WORTH_A_LOOK.search(part) and not styles.worth_a_look(part):
        return marks
    shared: Shared = {}
    for _, element in ElementTree.iterparse(io.BytesIO(part), events=("end",)):
        tag = local(element.tag)
        if tag == "c":
            if place := _place(element.get("r", "")):
                _look_at(element, place, marks, styles, shared)
            element.clear()
        elif tag == "row":
            if element.get("hidden") in ("1", "true") or _is_thin(element.get("ht")):
                marks.hidden_rows.add(int(element.get("r", "0")))
            element.clear()
        elif tag == "col" and (
            element.get("hidden") in ("1", "true") or _is_thin(element.get("width"), NARROW)
        ):
            first, last_one = int(element.get("min", "1")), int(element.get("max", "1"))
            marks.hidden_columns.update(range(first, min(last_one, first + 1000) + 1))
    marks.settle()
    return marks


def _is_thin(size: str | None, least: float = LOW) -> bool:
    """Whether a row or a column is there and so small that nobody sees what it holds."""
    return size is not None and float(size) < least


def _look_at(
    cell: ElementTree.Element, place: tuple[int, int], marks: Marks, styles: CellStyles, shared: Shared
) -> None:
    parts = {local(child.tag): child.text or "" for child in cell}
    if not parts:
        return  # an empty cell that has a format
    form, kind = cell.get("s", ""), cell.get("t", "n")
    if "f" in parts and not parts.get("v") and "is" not in parts:
        marks.cells[place] = (f"={parts['f']}", "formula")
    elif kind == "e":
        marks.cells[place] = (parts.get("v", "#ERROR"), "error")
    elif form in styles.percent and kind == "n" and (shown := in_percent(parts.get("v", ""))):
        marks.cells[place] = (shown, "number")
    if "f" in parts:
        value = parts.get("v", "")
        written, seen = _shared_formula(cell, place, parts["f"], shared)
        marks.put_formula(*place, written, is_zero=kind == "n" and value in ("", "0"), seen=seen)
        if kind == "n" and value == "0":
            marks.cells.pop(place, None)  # settle puts it back where the column was calculated
    text = parts.get("v") if kind == "s" else None
    if form in styles.struck or text in styles.struck_texts or has_strike(cell):
        marks.struck.add(place)
    if form in styles.colours:
        marks.colours[place] = styles.colours[form]


def _shared_formula(
    cell: ElementTree.Element, place: tuple[int, int], written: str, shared: Shared
) -> tuple[str, str]:
    """The formula of a cell as written and as seen from it; of cells filled down, that of the first."""
    number = next((child.get("si", "") for child in cell if local(child.tag) == "f"), "")
    if number and written:
        shared[number] = (written, relative(written, *place))
    return shared.get(number, (written, "")) if number else (written, "")


def _place(reference: str) -> tuple[int, int] | None:
    """The row and column, from 1, of a reference such as B3."""
    reference_parts = re.fullmatch(r"([A-Z]{1,3})(\d+)", reference)
    if not reference_parts:
        return None
    number = 0
    for letter in reference_parts[1]:
        number = number * 26 + ord(letter) - 64
    return int(reference_parts[2]), number
