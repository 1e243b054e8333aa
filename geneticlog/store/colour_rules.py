"""Rules by which a workbook colours its cells (conditional formats): where they apply, and what they say.

Scales, bars and icons show how large a value is, and stripes follow the rows; neither says anything against a sample,
so they are left out. Whether a rule's condition holds is not worked out.
"""

from __future__ import annotations

import html
import re
import struct
from collections.abc import Iterable, Iterator, Mapping
from xml.etree import ElementTree

from geneticlog.store.beside_cells import cells_of

Rule = tuple[int, int, int, int, str]  # first row and column, last row and column, from 1; what it says
SHOWS_SIZE = ("colorScale", "dataBar", "iconSet")
MOST_RULES = 200  # of one sheet
CONDITIONAL_FORMAT = 0x01B0  # the record of a range in the old binary format ([MS-XLS] 2.4.56)
_BLOCK = re.compile(
    rb'<(?:\w+:)?conditionalFormatting\b[^>]*?sqref="([^"]+)"[^>]*>(.*?)</(?:\w+:)?conditionalFormatting>',
    re.DOTALL,
)
_RULE = re.compile(rb"<(?:\w+:)?cfRule\b([^>]*?)(?:/>|>(.*?)</(?:\w+:)?cfRule>)", re.DOTALL)
_FORMULA = re.compile(rb"<(?:\w+:)?formula>(.*?)</(?:\w+:)?formula>", re.DOTALL)
_OPERATORS = {"lessThan": "<", "greaterThan": ">", "equal": "=", "notEqual": "<>", "lessThanOrEqual": "<=",
              "greaterThanOrEqual": ">="}  # fmt: skip


def rules_of_xlsx(part: bytes) -> tuple[Rule, ...]:
    """Return the rules of the XML of a sheet (ECMA-376 Part 1, 18.3.1.18)."""
    if b"conditionalFormatting" not in part:
        return ()
    rules: list[Rule] = []
    for block in _BLOCK.finditer(part):
        for rule in _RULE.finditer(block[2]):
            given = dict(re.findall(r'(\w+)="([^"]*)"', rule[1].decode("utf-8", "replace")))
            formulas = [
                html.unescape(one.decode("utf-8", "replace")) for one in _FORMULA.findall(rule[2] or b"")
            ]
            if given.get("type") in SHOWS_SIZE or any(_is_stripes(formula) for formula in formulas):
                continue
            operator = given.get("operator", "")
            said = " ".join([_OPERATORS.get(operator, operator) or given.get("type", ""), *formulas]).strip()
            rules += [(*place, said) for text in block[1].decode().split() if (place := cells_of(text))]
    return tuple(rules[:MOST_RULES])


def rules_of_ods(table: ElementTree.Element) -> tuple[Rule, ...]:
    """Return the rules of a table of an open document, as the office suites that write them keep them."""
    rules: list[Rule] = []
    for element in table.iter():
        if element.tag.rpartition("}")[2] != "conditional-format":
            continue
        given = {key.rpartition("}")[2]: value for key, value in element.attrib.items()}
        where = [
            re.sub(r"\$?'?[^.':]*'?\.", "", text) for text in given.get("target-range-address", "").split()
        ]
        for child in element:
            if child.tag.rpartition("}")[2] != "condition":
                continue
            said = next((value for key, value in child.attrib.items() if key.endswith("}value")), "")
            if not _is_stripes(said):
                rules += [(*place, said) for text in where if (place := cells_of(text))]
    return tuple(rules[:MOST_RULES])


def rules_of_styles(of_cells: Mapping[str, Iterable[tuple[int, int]]]) -> tuple[Rule, ...]:
    """Return the rules that styles of an open document hold, one for each run of cells down a column.

    of_cells
        The cells, by row and column from 1, to which each condition applies.
    """
    rules: list[Rule] = []
    for style, places in of_cells.items():
        if _is_stripes(style):
            continue
        for row, column in sorted(places, key=lambda place: place[::-1]):
            top, left, bottom, _, text = rules[-1] if rules else (0, 0, 0, 0, "")
            if (left, bottom, text) == (column, row - 1, style):
                rules[-1] = (top, column, row, column, style)
            else:
                rules.append((row, column, row, column, style))
    return tuple(rules[:MOST_RULES])


def rules_of_xls(records: Iterable[tuple[str, int, bytes]]) -> Iterator[tuple[str, Rule]]:
    """Yield the sheet and the range of each rule of the old format; ``records``: sheet, number and data."""
    for sheet, number, data in records:
        if number == CONDITIONAL_FORMAT and len(data) >= 12:
            first, last, left, right = struct.unpack_from("<4H", data, 4)
            yield sheet, (first + 1, left + 1, last + 1, right + 1, "a condition")


def _is_stripes(formula: str) -> bool:
    return re.search(r"\bROW\s*\(\s*\)", formula, re.IGNORECASE) is not None and "MOD" in formula.upper()
