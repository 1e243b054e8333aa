"""What a workbook says in no cell: boxes of text on a sheet, the head and foot of its printed pages, and the messages
that a cell shows to a person who enters something."""

from __future__ import annotations

import html
import re
import struct
from collections.abc import Iterable, Iterator
from xml.etree import ElementTree

Note = tuple[str, str]  # where it is, and what it says
Area = tuple[
    int, int, int, int, str, str
]  # first row and column, last row and column, from 1; what says it, the text
BOX, HEAD, FOOT = "a box of text", "the head of the page", "the foot of the page"
CHART = "a chart"
MOST_NOTES = 100  # of one sheet
HEADER, FOOTER, OBJECT, TEXT_OBJECT, CONTINUE = 0x0014, 0x0015, 0x005D, 0x01B6, 0x003C  # [MS-XLS] 2.3
VALIDATION, SERIES_TEXT = 0x01BE, 0x100D  # of cells; of a chart
MESSAGE, NAME = "the input message", "the name"  # of cells
COMMENT = 0x19  # the kind of object that is a comment of a cell
_PAGE = re.compile(rb"<(?:\w+:)?(?:odd|even|first)(Header|Footer)[^<>]*>([^<]+)</")
# codes of fonts, colours and fields in the head of a page (ECMA-376 Part 1, 18.3.1.46)
_CODES = re.compile(r'&(?:"[^"]*"|K[0-9A-Fa-f]{6}|K\d\d[+-]\d{3}|\d{1,3}|[A-Za-z])')
_VALIDATION = re.compile(
    rb"<(?:\w+:)?dataValidation\b([^>]*?)(?:/>|>(.*?)</(?:\w+:)?dataValidation>)", re.DOTALL
)
_SAYS = re.compile(r'\b(promptTitle|prompt|errorTitle|error)="([^"]*)"')
_CELLS = re.compile(r"\$?([A-Z]{1,3})\$?(\d{1,7})(?::\$?([A-Z]{1,3})\$?(\d{1,7}))?")
_COLUMNS = re.compile(r"\$?([A-Z]{1,3}):\$?([A-Z]{1,3})")
LAST_ROW = 1_048_576


def cells_of(text: str) -> tuple[int, int, int, int] | None:
    """Return the rows and columns of a range such as B2:D9, $B$2 or B:B, from 1."""
    if whole := _COLUMNS.fullmatch(text.strip().upper()):
        return 1, column_number(whole[1]), LAST_ROW, column_number(whole[2])
    corners = _CELLS.fullmatch(text.strip().upper())
    if not corners:
        return None
    left, top = column_number(corners[1]), int(corners[2])
    return top, left, int(corners[4] or top), column_number(corners[3]) if corners[3] else left


def column_number(letters: str) -> int:
    """Return the number of a column, from 1, of its letters."""
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - 64
    return number


def of_xlsx_messages(part: bytes) -> tuple[Area, ...]:
    """Return what the cells of a sheet say to a person who enters something there, from its XML."""
    if b"dataValidation" not in part:
        return ()
    areas: list[Area] = []
    for rule in _VALIDATION.finditer(part):
        given = rule[1].decode("utf-8", "replace")
        if not (text := _said(one for _, one in _SAYS.findall(given))):
            continue
        inside = re.search(rb"<(?:\w+:)?sqref>([^<]*)<", rule[2] or b"")
        of_cells = re.search(r'sqref="([^"]*)"', given)
        ranges = inside[1].decode() if inside else of_cells[1] if of_cells else ""
        areas += [(*place, MESSAGE, text) for cells in ranges.split() if (place := cells_of(cells))]
    return tuple(areas[:MOST_NOTES])


def _said(texts: Iterable[str]) -> str:
    """Texts of a message as one, each once."""
    bare = [
        " ".join(html.unescape(text).replace("_x000a_", " ").replace("_x000d_", " ").split())
        for text in texts
    ]
    return "; ".join(dict.fromkeys(filter(None, bare)))


def of_xlsx_pages(part: bytes) -> tuple[Note, ...]:
    """Return what the head and foot of the pages of a sheet say, from its XML."""
    if b"headerFooter" not in part:
        return ()
    notes = [
        (HEAD if kind == b"Header" else FOOT, _words(html.unescape(text.decode("utf-8", "replace"))))
        for kind, text in _PAGE.findall(part)
    ]
    return tuple(dict.fromkeys(note for note in notes if note[1]))


def of_xlsx_drawing(part: bytes) -> tuple[Note, ...]:
    """Return what the boxes of text of a drawing say (DrawingML: a:t in txBody)."""
    notes: list[Note] = []
    for element in ElementTree.fromstring(part).iter():
        if _local(element.tag) == "txBody":
            lines = [child for child in element if _local(child.tag) == "p"]
            texts = [
                "".join(each.text or "" for each in line.iter() if _local(each.tag) == "t") for line in lines
            ]
            if text := " ".join(" ".join(texts).split()):
                notes.append((BOX, text))
    return tuple(notes[:MOST_NOTES])


def of_open_document(table: ElementTree.Element) -> tuple[Note, ...]:
    """Return what boxes and shapes with text say in a table of an open document."""
    notes = []
    for element in table.iter():
        if "drawing" in element.tag and (text := _paragraphs(element)):
            notes.append((BOX, text))
    return tuple(notes[:MOST_NOTES])


def messages_of_open_document(root: ElementTree.Element) -> Iterator[tuple[str, Area]]:
    """Yield the sheet and the message of each rule for what may be entered into cells of an open document."""
    for rule in root.iter():
        if _local(rule.tag) != "content-validation":
            continue
        base = next((value for key, value in rule.attrib.items() if _local(key) == "base-cell-address"), "")
        sheet, _, cell = base.rpartition(".")
        texts = []
        for child in rule:
            if _local(child.tag) in ("help-message", "error-message"):
                texts += [value for key, value in child.attrib.items() if _local(key) == "title"]
                texts.append(_paragraphs(child))
        if (message := _said(texts)) and (place := cells_of(cell)):
            # which cells have it is written at each of them; its first one names the column
            yield (
                sheet.lstrip("$").strip("'").replace("''", "'"),
                (1, place[1], LAST_ROW, place[3], MESSAGE, message),
            )


def of_open_pages(styles: ElementTree.Element) -> tuple[Note, ...]:
    """Return what the heads and feet of the pages of an open document say, fields (page, date) left out."""
    notes = []
    for element in styles.iter():
        name = _local(element.tag)
        if name.startswith(("header", "footer")) and "properties" not in name and "style" not in name:
            parts = [element, *(child for child in element if _local(child.tag).startswith("region"))]
            if text := " ".join(filter(None, map(_paragraphs, parts))):
                notes.append((HEAD if name.startswith("header") else FOOT, text))
    return tuple(dict.fromkeys(notes))


def of_xls(records: Iterable[tuple[str, int, bytes]]) -> Iterator[tuple[str, Note]]:
    """Yield the sheet and the note of each head, foot, box of text, message and text of a chart of the old format."""
    kind, length = COMMENT, 0
    for sheet, number, data in records:
        if number in (HEADER, FOOTER) and len(data) > 3:
            text = _words(data[3:].decode("utf-16-le" if data[2] & 1 else "latin-1", "replace"))
            if text:
                yield sheet, (HEAD if number == HEADER else FOOT, text)
        elif number == VALIDATION and (message := _said(_texts_of(data, 4, 4))):
            yield sheet, (f"{MESSAGE} of cells", message)
        elif number == SERIES_TEXT and len(data) > 4:
            text = data[4:].decode("utf-16-le" if data[3] & 1 else "latin-1", "replace")
            if text.strip("\0 "):
                yield sheet, (CHART, " ".join(text.strip("\0").split()))
        elif number == OBJECT and len(data) >= 6:
            kind = struct.unpack_from("<H", data, 4)[0]
        elif number == TEXT_OBJECT and len(data) >= 12:
            length = struct.unpack_from("<H", data, 10)[0]
        elif number == CONTINUE and length and kind != COMMENT and data:
            text = data[1:].decode("utf-16-le" if data[0] & 1 else "latin-1", "replace")[:length]
            length = 0
            if text.strip():
                yield sheet, (BOX, " ".join(text.split()))


def _texts_of(data: bytes, at: int, n: int) -> Iterator[str]:
    """The texts that follow each other in a record ([MS-XLS] 2.5.294), an empty one being one character 0."""
    for _ in range(n):
        if at + 3 > len(data):
            return
        length, wide = struct.unpack_from("<H", data, at)[0], data[at + 2] & 1
        size = length * (2 if wide else 1)
        text = data[at + 3 : at + 3 + size].decode("utf-16-le" if wide else "latin-1", "replace")
        yield text.strip("\0")
        at += 3 + size


def _words(text: str) -> str:
    return " ".join(_CODES.sub(" ", text).replace("&&", "&").split())


def _paragraphs(element: ElementTree.Element) -> str:
    """The text of the paragraphs right below an element, without that of fields in them."""
    texts: list[str] = []
    for line in (child for child in element if _local(child.tag) == "p"):
        texts.append(line.text or "")
        for each in line:
            texts += [each.text or "" if _local(each.tag) == "span" else " ", each.tail or ""]
        texts.append(" ")
    return " ".join("".join(texts).split())


def _local(tag: str) -> str:
    return tag.rpartition("}")[2]
