"""What one cell of a column of shares or counts holds: its value, or what is wrong with it."""

from __future__ import annotations

from typing import NamedTuple

from geneticlog.rules.finding.finding_kinds import FindingKind
from geneticlog.rules.lab_return.cells.cells import missing_meaning, number, number_of_other_mark
from geneticlog.rules.lab_return.cells.mangled import mangled_value


class CellValue(NamedTuple):
    """A value as a share of one, or as a count; None with what is wrong, or with a word for no result.

    half_digit
        half of its last digit, in the same unit.
    how
        what is wrong, in words.
    of
        what a ratio is counted out of.
    """

    value: float | None
    half_digit: float
    fault: FindingKind | None
    how: str
    word: str | None
    of: int | None = None


NOTHING = CellValue(None, 0.0, None, "", "")


def value_in(cell: tuple[str, str], unit: str, decimal: str, missing: frozenset[str]) -> CellValue:
    """Return the share or count that a cell holds.

    cell
        what it says, and what kind of cell it is.
    unit
        of its column: percent, fraction or count.
    missing
        further words of the lab for no result.
    """
    text, kind = cell
    if kind == "formula":
        return CellValue(None, 0.0, FindingKind.FORMULA_WITHOUT_VALUE, "", None)
    if kind == "error":
        return CellValue(None, 0.0, FindingKind.CELL_ERROR, "", None)
    if kind == "empty":
        return NOTHING
    if text.strip().casefold() in missing:  # what a person calls no result is none, a number such as 99 too
        return CellValue(None, 0.0, None, "", text.strip())
    if how := mangled_value(text, kind):
        return CellValue(None, 0.0, FindingKind.MANGLED_VALUE, how, None)
    figure = number(text, "." if kind == "number" else decimal)
    other = figure is None and kind != "number"
    if other:
        figure = number_of_other_mark(text, decimal)
    if figure is None:
        if missing_meaning(text, missing) is not None:
            return CellValue(None, 0.0, None, "", text.strip())
        return CellValue(None, 0.0, FindingKind.UNREADABLE_VALUE, "", None)
    if unit == "count" and figure.of is None:
        if figure.signed or not figure.value.is_integer() or figure.value < 0:
            return CellValue(
                None, 0.0, FindingKind.IMPOSSIBLE_VALUE, "a whole number of alleles or loci", None
            )
        return CellValue(figure.value, 0.0, None, "", None)
    value, half = figure.as_fraction(unit == "percent")
    if not -1e-9 <= value <= 1 + 1e-9:
        limits = "0 to 100" if unit == "percent" or figure.signed else "0 to 1"
        return CellValue(None, 0.0, FindingKind.IMPOSSIBLE_VALUE, limits, None)
    fault = FindingKind.NEGATIVE_ZERO if value <= 0 and figure.plain.startswith("-") else None
    fault = fault or (FindingKind.OTHER_DECIMAL_MARK if other else None)
    return CellValue(min(max(value, 0.0), 1.0), half, fault, "", None, figure.of)
