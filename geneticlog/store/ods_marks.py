"""The marks of an open document: struck through, coloured, hidden, commented on, in percent, never calculated."""

from __future__ import annotations

import re
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from xml.etree import ElementTree

from geneticlog.store import properties
from geneticlog.store.beside_cells import (
    NAME,
    Area,
    cells_of,
    messages_of_open_document,
    of_open_document,
    of_open_pages,
)
from geneticlog.store.cell_styles import NO_TEXT, SHOWS, WHITE_TEXT, words_beside_number
from geneticlog.store.charts import objects_in, of_open_chart
from geneticlog.store.colour_rules import rules_of_ods, rules_of_styles
from geneticlog.store.marks import Marks, in_percent, local

PLAIN = ("", "transparent", "#000000", "#ffffff")
NO_FILL = ("", "transparent", "#ffffff")
MOST_REPEATED = 10_000  # of one cell or row: those that fill a sheet to its end are empty


def open_document_marks(package: zipfile.ZipFile) -> dict[str, Marks]:
    """Return the marks of each sheet by its name. Raises KeyError or ParseError for a damaged package."""
    names = set(package.namelist())
    root = ElementTree.fromstring(package.read("content.xml"))
    of_styles = ElementTree.fromstring(package.read("styles.xml")) if "styles.xml" in names else None
    whole = properties.of_open_document(package.read("meta.xml")) if "meta.xml" in names else ()
    looks = _looks([root] if of_styles is None else [of_styles, root])
    of_pages = of_open_pages(of_styles) if of_styles is not None else ()
    by_sheet: dict[str, Marks] = {}
    for table in root.iter():
        if local(table.tag) == "table" and (name := _attribute(table, "name")) is not None:
            marks = by_sheet.setdefault(name, Marks())
            of_cells: dict[str, list[tuple[int, int]]] = {}
            columns = _columns(table, marks)
            for row, line in _lines(table):
                _look_at_row(line, row, marks, looks, columns, of_cells)
            marks.rules = (*rules_of_ods(table), *rules_of_styles(of_cells))
            marks.notes = (*of_open_document(table), *of_pages)
            for folder in objects_in(table):
                if (part := f"{folder}/content.xml") in names:
                    marks.notes += of_open_chart(package.read(part))
            marks.properties = whole
            marks.is_protected = _attribute(table, "protected") == "true"
            marks.settle()
    for sheet, area in (*messages_of_open_document(root), *_names(root)):
        if sheet in by_sheet:
            by_sheet[sheet].areas += (area,)
    return by_sheet


def _names(root: ElementTree.Element) -> Iterator[tuple[str, Area]]:
    """The sheet and cells of each name that a person gave to a range."""
    for element in root.iter():
        if local(element.tag) == "named-range" and (name := _attribute(element, "name")):
            sheet, _, cells = (_attribute(element, "cell-range-address") or "").partition(".")
            if place := cells_of(re.sub(r":\$?[^:]*\.", ":", cells)):
                yield sheet.lstrip("$").strip("'").replace("''", "'"), (*place, NAME, name)


@dataclass(frozen=True)
class _Look:
    struck: bool = False
    colour: str = ""
    conditions: tuple[str, ...] = ()
    shows_nothing: bool = False


NUMBERS = (
    "number",
    "scientific-number",
    "fraction",
    "day",
    "month",
    "year",
    "hours",
    "minutes",
    "seconds",
    "boolean",
)


def _silent_formats(roots: list[ElementTree.Element]) -> set[str]:
    """The names of number formats that put no number in a cell, as ;;; does."""
    return {
        _attribute(element, "name") or ""
        for root in roots
        for element in root.iter()
        if local(element.tag) in ("number-style", "percentage-style", "currency-style")
        and not any(local(part.tag) in (*NUMBERS, "map") for part in element)
    }


def _looks(roots: list[ElementTree.Element]) -> dict[str, _Look]:
    """What each style of the document looks like, its parent's look where it has none of its own."""
    styles = {
        name: element
        for root in roots
        for element in root.iter()
        if local(element.tag) == "style" and (name := _attribute(element, "name"))
    }

    silent = _silent_formats(roots)

    def look(name: str | None, depth: int = 0) -> _Look:
        element = styles.get(name or "")
        if element is None or depth > 20:
            return _Look()
        parent = look(_attribute(element, "parent-style-name"), depth + 1)
        struck, fill, ink = parent.struck, "", ""
        for each in element.iter():
            line = _attribute(each, "text-line-through-style") or _attribute(each, "text-line-through-type")
            if line is not None:
                struck = line != "none"
            fill = _attribute(each, "background-color") or fill
            ink = _attribute(each, "color") or ink
        conditions = tuple(
            value for each in element if local(each.tag) == "map" and (value := _attribute(each, "condition"))
        )
        own = next((colour.lstrip("#").upper() for colour in (fill, ink) if colour.lower() not in PLAIN), "")
        if ink.lower() == "#ffffff" and fill.lower() in NO_FILL:
            own = WHITE_TEXT
        colour = own or ("" if fill or ink else parent.colour)
        form = _attribute(element, "data-style-name")
        shows_nothing = form in silent if form is not None else parent.shows_nothing
        return _Look(struck, colour, conditions or parent.conditions, shows_nothing)

    return {name: look(name) for name in styles}


def _lines(table: ElementTree.Element) -> Iterator[tuple[int, ElementTree.Element]]:
    """The rows of a table with their number; a row that is repeated comes once for each number."""
    row = 0
    for line in (element for element in table.iter() if local(element.tag) == "table-row"):
        times = int(_attribute(line, "number-rows-repeated") or 1)
        for i in range(times if times <= MOST_REPEATED else 0):
            yield row + i + 1, line
        row += times


def _columns(table: ElementTree.Element, marks: Marks) -> list[str | None]:
    """Note the hidden columns; return the style that each column gives to cells without one of their own."""
    styles: list[str | None] = []
    for element in table.iter():
        if local(element.tag) == "table-column":
            wide = min(int(_attribute(element, "number-columns-repeated") or 1), MOST_REPEATED)
            if _attribute(element, "visibility") in ("collapse", "filter"):
                marks.hidden_columns.update(range(len(styles) + 1, len(styles) + wide + 1))
            styles += [_attribute(element, "default-cell-style-name")] * wide
    return styles


def _look_at_row(
    line: ElementTree.Element,
    row: int,
    marks: Marks,
    looks: dict[str, _Look],
    columns: list[str | None],
    of_cells: dict[str, list[tuple[int, int]]],
) -> None:
    if _attribute(line, "visibility") in ("collapse", "filter"):
        marks.hidden_rows.add(row)
    of_row, column = _attribute(line, "default-cell-style-name"), 0
    for cell in line:
        wide = int(_attribute(cell, "number-columns-repeated") or 1)
        for i in range(column, column + wide if wide <= MOST_REPEATED else 0):
            usual = of_row or (columns[i] if i < len(columns) else None)
            look = looks.get(_attribute(cell, "style-name") or usual or "", _Look())
            if _look_at_cell(cell, (row, i + 1), marks, look, looks):
                for condition in look.conditions:
                    of_cells.setdefault(condition, []).append((row, i + 1))
        column += wide


def _look_at_cell(
    cell: ElementTree.Element, place: tuple[int, int], marks: Marks, own: _Look, looks: dict[str, _Look]
) -> bool:
    """Note the marks of a cell, and tell whether it shows something; ``own`` is the look of the whole cell."""
    comment = next((child for child in cell if local(child.tag) == "annotation"), None)
    if comment is not None and (text := _text_of(comment)):
        marks.comments[place] = text
    texts = [child for child in cell if local(child.tag) == "p"]
    shown = "".join("".join(text.itertext()) for text in texts)
    formula, value = _attribute(cell, "formula"), _attribute(cell, "value")
    if formula is not None:
        written = in_common_form(formula)
        if not shown and value is None:
            marks.cells[place] = (f"={written}", "formula")
        elif shown.startswith("#"):
            marks.cells[place] = (shown, "error")
        marks.put_formula(*place, written, is_zero=value in (None, "0") and not shown.strip("0.% "))
    elif _attribute(cell, "value-type") == "percentage" and value and (percent := in_percent(value)):
        marks.cells[place] = (percent, "number")
    if not shown:
        if value is not None and own.shows_nothing:
            marks.colours[place] = NO_TEXT
        return False
    if _attribute(cell, "value-type") in ("float", "percentage") and (words := words_beside_number(shown)):
        marks.colours[place] = f"{SHOWS}{words!r}"
    names = [
        _attribute(span, "style-name") for text in texts for span in text.iter() if local(span.tag) == "span"
    ]
    seen = [own, *(looks.get(name or "", _Look()) for name in names)]
    if any(look.struck for look in seen):
        marks.struck.add(place)
    if place not in marks.colours and (colour := next((look.colour for look in seen if look.colour), "")):
        marks.colours[place] = colour
    return True


def in_common_form(formula: str) -> str:
    """Return a formula of an open document (OpenFormula: ``of:=[.A2]*2``) as other workbooks write it."""
    bare = formula.partition(":=")[2] if ":=" in formula else formula.lstrip("=")
    parts = re.split(r'("[^"]*")', bare)
    for i in range(0, len(parts), 2):
        plain = re.sub(r"\[\$?('[^']*'|[^\[\].']*)\.([^\[\]]*)\]", _reference, parts[i])
        parts[i] = plain.replace(";", ",")
    return "".join(parts)


def _reference(found: re.Match[str]) -> str:
    cells = re.sub(r":\$?[^:]*\.", ":", found[2])
    return f"{found[1]}!{cells}" if found[1] else cells


def _text_of(comment: ElementTree.Element) -> str:
    return " ".join("".join(p.itertext()) for p in comment if local(p.tag) == "p").strip()


def _attribute(element: ElementTree.Element, name: str) -> str | None:
    return next((value for key, value in element.attrib.items() if local(key) == name), None)
