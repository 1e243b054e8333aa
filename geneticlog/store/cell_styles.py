"""What the formats of an XLSX workbook's cells say: struck through, coloured, shown in percent."""

from __future__ import annotations

import re
import zipfile
from collections.abc import Mapping
from dataclasses import dataclass, field
from xml.etree import ElementTree

PERCENT_FORMATS = frozenset({"9", "10"})  # ECMA-376 Part 1, 18.8.30: 0% and 0.00%
WHITES = frozenset({"FFFFFF", "theme 0", "indexed 9"})
PLAIN_COLOURS = frozenset(
    {"FFFFFF", "000000", "theme 0", "theme 1", "indexed 64", "indexed 65", "indexed 8", "indexed 9"}
)


SHOWS = "a format that shows "
WHITE_TEXT, NO_TEXT = "white text", "a format that shows nothing"  # what puts a value out of sight


@dataclass(frozen=True)
class CellStyles:
    """Numbers of the cell formats (``s`` of a cell), and of the shared texts, that say something of a value."""

    struck: frozenset[str] = frozenset()
    struck_texts: frozenset[str] = frozenset()
    percent: frozenset[str] = frozenset()
    colours: Mapping[str, str] = field(default_factory=dict)

    def worth_a_look(self, part: bytes) -> bool:
        """Whether a sheet may hold such a cell, before its XML is taken apart."""
        if self.struck_texts or b"strike" in part:
            return True
        formats = sorted({*self.struck, *self.percent, *self.colours})
        if not formats:
            return False
        numbers = b"|".join(number.encode() for number in formats)
        return re.search(rb"""\bs=["'](?:%s)["']""" % numbers, part) is not None


def read_styles(package: zipfile.ZipFile) -> CellStyles:
    """Return what the formats of a workbook say. Raises KeyError or ParseError for a damaged one."""
    names = set(package.namelist())
    struck: set[str] = set()
    percent: set[str] = set()
    colours: dict[str, str] = {}
    texts: set[str] = set()
    if "xl/styles.xml" in names:
        root = ElementTree.fromstring(package.read("xl/styles.xml"))
        fonts, fills = _children(root, "fonts"), _children(root, "fills")
        crossed = {str(i) for i, one in enumerate(_children(root, "borders")) if _is_crossed_out(one)}
        own = {
            form.get("numFmtId", "")
            for form in _children(root, "numFmts")
            if "%" in re.sub(r'"[^"]*"|\\.', "", form.get("formatCode", ""))
        }
        silent = {
            form.get("numFmtId", "")
            for form in _children(root, "numFmts")
            if re.fullmatch(r";+", form.get("formatCode", "").replace('""', ""))
        }
        shown = {form.get("numFmtId", ""): words for form in _children(root, "numFmts")
                 if (words := text_shown(form.get("formatCode", "")))}  # fmt: skip
        for i, form in enumerate(_children(root, "cellXfs")):
            font, fill = int(form.get("fontId", "0")), int(form.get("fillId", "0"))
            if (font < len(fonts) and has_strike(fonts[font])) or form.get("borderId") in crossed:
                struck.add(str(i))
            if form.get("numFmtId") in PERCENT_FORMATS | own:
                percent.add(str(i))
            colour = _fill(fills[fill]) if fill < len(fills) else ""
            ink = _colour(fonts[font], "color", of_text=True) if font < len(fonts) else ""
            if form.get("numFmtId") in silent:
                colour = NO_TEXT
            if literal := shown.get(form.get("numFmtId", "")):
                colour = f"{SHOWS}{literal!r}"
            if colour := colour or ink:
                colours[str(i)] = colour
    if "xl/sharedStrings.xml" in names and b"strike" in (part := package.read("xl/sharedStrings.xml")):
        for i, text in enumerate(ElementTree.fromstring(part)):
            if has_strike(text):
                texts.add(str(i))
    return CellStyles(frozenset(struck), frozenset(texts), frozenset(percent), colours)


def _is_crossed_out(border: ElementTree.Element) -> bool:
    """Whether a line goes from corner to corner of a cell (ECMA-376 Part 1, 18.8.4)."""
    across = any(border.get(name) in ("1", "true") for name in ("diagonalUp", "diagonalDown"))
    lines = [each for each in border if each.tag.rpartition("}")[2] == "diagonal"]
    return across and any(line.get("style", "none") != "none" for line in lines)


def words_beside_number(shown: str) -> str:
    """Return the words or marks beside the number that a cell shows, or in its place; "" for a number and its unit."""
    bare = re.sub(r"[\d.,'\s%+\-\u2212\u00a0\u202f]+|(?<=\d)E[+-]?(?=\d)", " ", shown).strip()
    return "" if bare.casefold().strip(" .") in _UNITS or not re.search(r"[^\W\d_]|[*†‡?!]", bare) else bare


def text_shown(code: str) -> str:
    """Return the words or marks that a number format puts beside a value, or in its place: FAIL, or a star; no unit.

    A comma behind the last digit shows the thousandth of a value ([MS-XLS] and ECMA-376 Part 1, 18.8.31).
    """
    literals = [quoted or escaped for quoted, escaped in re.findall(r'"([^"]*)"|\\(.)', code)]
    rest = re.sub(r'"[^"]*"|\\.|\[[^\]]*\]|General', "", code)
    if re.search("[ymdhs]", rest, re.IGNORECASE):
        return ""  # of a date, as in 3 de mayo
    words = ["a thousandth"] if re.search(r"[0#?],+(?![0#?,])", rest) else []
    words += [text.strip() for text in literals if re.search(r"[^\W\d_]|[*†‡?!]", text)]
    return ", ".join(text for text in words if text.casefold().strip(" .") not in _UNITS)


_UNITS = {
    "mm",
    "cm",
    "m",
    "in",
    "g",
    "kg",
    "lb",
    "oz",
    "ng",
    "ul",
    "µl",
    "ml",
    "ng/ul",
    "ng/µl",
    "x",
    "n",
    "%",
}
_UNITS |= {"percent", "pct", "loci", "snps", "snp", "markers"}


def _children(root: ElementTree.Element, name: str) -> list[ElementTree.Element]:
    return [child for group in root if group.tag.rpartition("}")[2] == name for child in group]


def _fill(fill: ElementTree.Element) -> str:
    pattern = next((each for each in fill.iter() if each.tag.rpartition("}")[2] == "patternFill"), None)
    if pattern is None or pattern.get("patternType", "none") in ("none", "gray125"):
        return ""
    return _colour(pattern, "fgColor")


def _colour(element: ElementTree.Element, name: str, *, of_text: bool = False) -> str:
    """The colour of a fill or a font, "" for black and none, and for the white of a fill."""
    for each in element.iter():
        if each.tag.rpartition("}")[2] == name:
            rgb = each.get("rgb", "")[-6:].upper()
            colour = rgb or next(
                (f"{key} {each.get(key)}" for key in ("theme", "indexed") if each.get(key)), ""
            )
            if of_text and colour in WHITES:
                return WHITE_TEXT
            return "" if colour in PLAIN_COLOURS else colour
    return ""


def has_strike(element: ElementTree.Element) -> bool:
    """Return whether a font, or any piece of a text, has a line through it."""
    return any(
        each.tag.rpartition("}")[2] in ("strike", "dstrike") and each.get("val", "1") not in ("0", "false")
        for each in element.iter()
    )
