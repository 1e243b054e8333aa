"""Which cell formats and texts of an XLSX workbook are struck through: a value that somebody took back by hand."""

from __future__ import annotations

import re
import zipfile
from dataclasses import dataclass
from xml.etree import ElementTree


@dataclass(frozen=True)
class Struck:
    """Numbers of the cell formats (``s`` of a cell) and of the shared texts that are struck through."""

    formats: frozenset[str] = frozenset()
    texts: frozenset[str] = frozenset()

    def worth_a_look(self, part: bytes) -> bool:
        """Whether a sheet may hold such a cell, before its XML is taken apart."""
        if self.texts or b"strike" in part:
            return True
        if not self.formats:
            return False
        numbers = b"|".join(number.encode() for number in sorted(self.formats))
        return re.search(rb"""\bs=["'](?:%s)["']""" % numbers, part) is not None


def read_struck(package: zipfile.ZipFile) -> Struck:
    """Return what is struck through in a workbook. Raises KeyError or ParseError for a damaged one."""
    names = set(package.namelist())
    formats: set[str] = set()
    texts: set[str] = set()
    if "xl/styles.xml" in names and b"strike" in (part := package.read("xl/styles.xml")):
        root = ElementTree.fromstring(part)
        fonts = [has_strike(font) for font in _children(root, "fonts")]
        for number, form in enumerate(_children(root, "cellXfs")):
            font = int(form.get("fontId", "0"))
            if font < len(fonts) and fonts[font]:
                formats.add(str(number))
    if "xl/sharedStrings.xml" in names and b"strike" in (part := package.read("xl/sharedStrings.xml")):
        for number, text in enumerate(ElementTree.fromstring(part)):
            if has_strike(text):
                texts.add(str(number))
    return Struck(frozenset(formats), frozenset(texts))


def _children(root: ElementTree.Element, name: str) -> list[ElementTree.Element]:
    return [child for group in root if group.tag.rpartition("}")[2] == name for child in group]


def has_strike(element: ElementTree.Element) -> bool:
    """Return whether a font, or any piece of a text, has a line through it."""
    return any(
        each.tag.rpartition("}")[2] == "strike" and each.get("val", "1") not in ("0", "false")
        for each in element.iter()
    )
