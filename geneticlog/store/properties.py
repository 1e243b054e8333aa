"""What a workbook says of itself as a document: title, subject, keywords, status, comments, others."""

from __future__ import annotations

import struct
import zipfile
from collections.abc import Iterator
from typing import Any
from xml.etree import ElementTree

from geneticlog.store.beside_cells import Note

PROPERTY = "the document's"  # title, subject …
_CORE = {
    "title": "title", "subject": "subject", "keywords": "key word", "keyword": "key word", "category": "category",
    "contentStatus": "status", "description": "description", "version": "version",
}  # fmt: skip
_XLS = {2: "title", 3: "subject", 5: "key word", 6: "description"}  # [MS-OLEPS] 2.25.1
_TEXT, _WIDE_TEXT = 0x1E, 0x1F  # kinds of value ([MS-OLEPS] 2.15)


def of_xlsx(package: zipfile.ZipFile) -> tuple[Note, ...]:
    """Return what the properties of an XLSX workbook say (core properties of ECMA-376 Part 2, and its own)."""
    names, notes = set(package.namelist()), list[Note]()
    if "docProps/core.xml" in names:
        notes += _core(ElementTree.fromstring(package.read("docProps/core.xml")))
    if "docProps/custom.xml" in names:
        for element in ElementTree.fromstring(package.read("docProps/custom.xml")):
            text = " ".join("".join(element.itertext()).split())
            if text and not element.get("name", "").startswith("_"):  # those of programs begin so
                notes.append((f"{PROPERTY} property", f"{element.get('name', '')}: {text}"))
    return tuple(dict.fromkeys(notes))


def of_open_document(part: bytes) -> tuple[Note, ...]:
    """Return what ``meta.xml`` of an open document says."""
    root = ElementTree.fromstring(part)
    notes = list(_core(root))
    for element in root.iter():
        if _local(element.tag) == "user-defined" and (text := "".join(element.itertext()).strip()):
            name = next((value for key, value in element.attrib.items() if _local(key) == "name"), "")
            notes.append((f"{PROPERTY} property", f"{name}: {text}"))
    return tuple(dict.fromkeys(notes))


def _core(root: ElementTree.Element) -> Iterator[Note]:
    for element in root.iter():
        what = _CORE.get(_local(element.tag))
        if what and (text := " ".join("".join(element.itertext()).split())):
            yield f"{PROPERTY} {what}", text


def of_xls(document: Any) -> tuple[Note, ...]:
    """Return what the summary of a workbook of the old format says ([MS-OLEPS]); ``document``: xlrd's CompDoc."""
    stream, base, length = document.locate_named_stream("\x05SummaryInformation")
    if not stream or length < 48:
        return ()
    data = bytes(stream[base : base + length])
    start = struct.unpack_from("<I", data, 44)[0]
    n = min(struct.unpack_from("<I", data, start + 4)[0], 100)
    notes = []
    for i in range(n):
        number, offset = struct.unpack_from("<II", data, start + 8 + 8 * i)
        at = start + offset
        kind, size = struct.unpack_from("<II", data, at)
        if number in _XLS and kind in (_TEXT, _WIDE_TEXT):
            wide = kind == _WIDE_TEXT
            raw = data[at + 8 : at + 8 + size * (2 if wide else 1)]
            text = raw.decode("utf-16-le" if wide else "cp1252", "replace").strip("\0 ")
            if text:
                notes.append((f"{PROPERTY} {_XLS[number]}", " ".join(text.split())))
    return tuple(notes)


def _local(tag: str) -> str:
    return tag.rpartition("}")[2]
