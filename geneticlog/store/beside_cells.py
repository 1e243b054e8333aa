"""What a workbook says in no cell: boxes of text on a sheet, and the head and foot of its printed pages."""

from __future__ import annotations

import html
import re
import struct
from collections.abc import Iterable, Iterator
from xml.etree import ElementTree

Note = tuple[str, str]  # where it is, and what it says
BOX, HEAD, FOOT = "a box of text", "the head of the page", "the foot of the page"
MOST_NOTES = 100  # of one sheet
HEADER, FOOTER, OBJECT, TEXT_OBJECT, CONTINUE = 0x0014, 0x0015, 0x005D, 0x01B6, 0x003C  # [MS-XLS] 2.3
COMMENT = 0x19  # the kind of object that is a comment of a cell
_PAGE = re.compile(rb"<(?:\w+:)?(?:odd|even|first)(Header|Footer)[^<>]*>([^<]+)</")
# codes of fonts, colours and fields in the head of a page (ECMA-376 Part 1, 18.3.1.46)
_CODES = re.compile(r'&(?:"[^"]*"|K[0-9A-Fa-f]{6}|K\d\d[+-]\d{3}|\d{1,3}|[A-Za-z])')


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
    """Yield the sheet and the note of each head, foot and box of text of the old format."""
    kind, length = COMMENT, 0
    for sheet, number, data in records:
        if number in (HEADER, FOOTER) and len(data) > 3:
            text = _words(data[3:].decode("utf-16-le" if data[2] & 1 else "latin-1", "replace"))
            if text:
                yield sheet, (HEAD if number == HEADER else FOOT, text)
        elif number == OBJECT and len(data) >= 6:
            kind = struct.unpack_from("<H", data, 4)[0]
        elif number == TEXT_OBJECT and len(data) >= 12:
            length = struct.unpack_from("<H", data, 10)[0]
        elif number == CONTINUE and length and kind != COMMENT and data:
            text = data[1:].decode("utf-16-le" if data[0] & 1 else "latin-1", "replace")[:length]
            length = 0
            if text.strip():
                yield sheet, (BOX, " ".join(text.split()))


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
