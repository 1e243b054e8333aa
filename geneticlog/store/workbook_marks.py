"""What a workbook says beside its values: hidden rows, formulas without a value, error cells.

The reader of values (python-calamine) shows a formula that was never calculated, and #N/A, as an empty cell;
an empty cell in a lab's file means something else. So the two XML formats are looked through for those marks
alone. Nor does it show that a cell is struck through.
"""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass, field
from posixpath import join, normpath
from xml.etree import ElementTree

from geneticlog.errors import SheetFault
from geneticlog.store.struck_cells import Struck, has_strike, read_struck

MOST_BYTES = 1_500_000_000  # of one unpacked part; far above any real sheet, far below a packed bomb
MOST_CELLS = (
    60_000_000  # of the rectangle between A1 and the last filled cell, which the value reader lays out whole
)
WORTH_A_LOOK = re.compile(rb"""<(?:\w+:)?f[ >/]|hidden="(?:1|true)"|t="e"|\bt='e'""")


@dataclass
class Marks:
    """Hidden rows, the cells, by (row, column) from 1, whose text and kind the value reader does not show, and
    those that are struck through."""

    hidden_rows: set[int] = field(default_factory=set)
    cells: dict[tuple[int, int], tuple[str, str]] = field(default_factory=dict)
    struck: set[tuple[int, int]] = field(default_factory=set)


def read_marks(content: bytes, file_name: str) -> dict[str, Marks]:
    """Return the marks of each sheet by its name; nothing for a format that is not a package of XML.

    Raises SheetFault for a package that is damaged or unpacks to an unreasonable size.
    """
    if not content.startswith(b"PK"):
        return {}
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as package:
            names = {part.filename: part.file_size for part in package.infolist()}
            if any(size > MOST_BYTES for size in names.values()):
                raise SheetFault("the workbook unpacks to more than a table can be", file=file_name)
            if "xl/workbook.xml" in names:
                struck = read_struck(package)
                return {
                    sheet: _sheet_marks(package.read(part), sheet, file_name, struck)
                    for sheet, part in _parts(package)
                    if part in names
                }
            if "content.xml" in names:
                return _open_document_marks(package.read("content.xml"))
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
        raise SheetFault(problem, file=file_name, way_out="ask for it again, or save it anew") from None
    return {}


def _local(tag: str) -> str:
    return tag.rpartition("}")[2]


def _attribute(element: ElementTree.Element, name: str) -> str | None:
    return next((value for key, value in element.attrib.items() if _local(key) == name), None)


def _parts(package: zipfile.ZipFile) -> Iterator[tuple[str, str]]:
    links = ElementTree.fromstring(package.read("xl/_rels/workbook.xml.rels"))
    target = {link.get("Id"): link.get("Target", "") for link in links}
    for element in ElementTree.fromstring(package.read("xl/workbook.xml")).iter():
        if _local(element.tag) == "sheet":
            link = next((v for k, v in element.attrib.items() if k.endswith("}id")), None)
            path = target.get(link, "")
            yield (
                element.get("name", ""),
                path.lstrip("/") if path.startswith("/") else normpath(join("xl", path)),
            )


def _sheet_marks(part: bytes, sheet: str, file_name: str, struck: Struck) -> Marks:
    marks = Marks()
    last = re.findall(rb'<(?:\w+:)?row [^<>]{0,400}?\br="(\d+)"', part[-200_000:])
    if last and re.search(rb'r="[A-Z]{3}\d', part) and int(last[-1]) * 703 > MOST_CELLS:
        raise SheetFault(
            "a cell far outside the table is filled in",
            file=file_name,
            sheet=sheet,
            way_out="delete the empty-looking rows and columns around the table and save it again",
        )
    if not WORTH_A_LOOK.search(part) and not struck.worth_a_look(part):
        return marks
    row = column = 0
    for _, element in ElementTree.iterparse(io.BytesIO(part), events=("end",)):
        tag = _local(element.tag)
        if tag == "c":
            if place := re.fullmatch(r"([A-Z]{1,3})(\d+)", element.get("r", "")):
                row, column = int(place[2]), _column_number(place[1])
                parts = {_local(child.tag): child.text or "" for child in element}
                if "f" in parts and not parts.get("v") and "is" not in parts:
                    marks.cells[row, column] = (f"={parts['f']}", "formula")
                elif element.get("t") == "e":
                    marks.cells[row, column] = (parts.get("v", "#ERROR"), "error")
                if _is_struck(element, parts, struck):
                    marks.struck.add((row, column))
            element.clear()
        elif tag == "row":
            if element.get("hidden") in ("1", "true"):
                marks.hidden_rows.add(int(element.get("r", "0")))
            element.clear()
    return marks


def _is_struck(cell: ElementTree.Element, parts: dict[str, str], struck: Struck) -> bool:
    if not parts:
        return False  # an empty cell that has a format
    text = parts.get("v") if cell.get("t") == "s" else None
    return cell.get("s", "") in struck.formats or text in struck.texts or has_strike(cell)


def _column_number(letters: str) -> int:
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - 64
    return number


def _open_document_marks(part: bytes) -> dict[str, Marks]:
    found: dict[str, Marks] = {}
    if b'"collapse"' not in part and b'"filter"' not in part and b"table:formula" not in part:
        return found
    for table in ElementTree.fromstring(part).iter():
        if _local(table.tag) != "table" or (name := _attribute(table, "name")) is None:
            continue
        marks, row = found.setdefault(name, Marks()), 0
        for line in (element for element in table.iter() if _local(element.tag) == "table-row"):
            times = int(_attribute(line, "number-rows-repeated") or 1)
            if _attribute(line, "visibility") in ("collapse", "filter") and times < 100_000:
                marks.hidden_rows.update(range(row + 1, row + times + 1))
            column = 0
            for cell in line:
                wide = int(_attribute(cell, "number-columns-repeated") or 1)
                formula = _attribute(cell, "formula")
                shown = "".join(cell.itertext())
                if formula is not None and not shown and _attribute(cell, "value") is None:
                    marks.cells[row + 1, column + 1] = (
                        f"={formula.partition(':')[2].lstrip('=')}",
                        "formula",
                    )
                elif formula is not None and shown.startswith("#"):
                    marks.cells[row + 1, column + 1] = (shown, "error")
                column += wide
            row += times
    return found
