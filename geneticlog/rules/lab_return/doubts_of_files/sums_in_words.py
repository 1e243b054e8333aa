"""Sentences and sheets that sum a lab's table up: whether its values come to what they say."""

from __future__ import annotations

import re
from collections.abc import Sequence

from geneticlog.rules.lab_return.cells.cells import Number, number
from geneticlog.rules.lab_return.doubts_of_files.lines_against import (
    LEAST_VALUES,
    SUMS,
    is_near,
    sets_of_shares,
)
from geneticlog.rules.lab_return.sheet.reading import Reading, Row
from geneticlog.rules.lab_return.words.headings import Taxa, plain, taxa_named
from geneticlog.rules.lab_return.words.roles import ColumnRole
from geneticlog.rules.lab_return.words.vocabulary import words_of

LEAST_PURE = 0.9  # of a taxon's alleles, in a fish that a lab may call pure
LEAST_COUNTED = 0.8  # of the values, in a number of fish: duplicates and blanks are perhaps left out
_AROUND = words_of(
    """
    the a an of in all for is was were are and from to between share shares q allele alleles ancestry percent
    percentage proportion fraction lake sample samples fish vials individuals specimens genotyped typed analysed
    analyzed scored successfully overall value values largemouth bass reported n no number ranged range ranges pure
    failed failures did not total
    """
)
_WORD = re.compile(r"[^\W\d_]+")
_FIGURE = re.compile(r"(?<![\w.,-])\d+(?:[.,]\d+)?(?![.,]?\w)")


def sum_in_words(reading: Reading, rows: Sequence[Row], line: str) -> tuple[bool, str] | None:
    """Return whether what a sentence sums up is so, and what it says otherwise, in words that follow "which".

    None for a sentence that sums up nothing, says more than that, or is of what the table does not show.
    """
    q, taxa = reading.column(ColumnRole.Q), reading.layout.taxa
    words = set(_WORD.findall(line.casefold()))
    kinds = words & SUMS.keys()
    figures = [figure for text in _FIGURE.findall(line) if (figure := number(text, reading.decimal or "."))]
    known = _AROUND | taxa.words[0] | taxa.words[1] | SUMS.keys()
    sets = [values for values in sets_of_shares(reading, rows) if values]
    counted_otherwise = reading.layout.taxon_of_q == taxa.other_taxon
    if q is None or counted_otherwise or words - known or not figures or not sets:
        return None
    if len(sets[0]) < LEAST_VALUES or q.unit not in ("", "percent", "fraction"):
        return None
    if words & {"failed", "failures"}:
        return _failed(reading, rows, sets, figures) if not kinds and "pure" not in words else None
    if "pure" in words:
        return _pure(sets, figures, taxa_named(plain(line), taxa), taxa) if not kinds else None
    if taxa_named(plain(line), taxa)[1]:
        return None
    if words & {"ranged", "range", "ranges"} and len(figures) == 2 and not kinds:
        return _of_kinds(sets, {"min": figures[0], "max": figures[1]})
    of_fish = [figure for figure in figures[:-1] if not _may_be_counted(figure.value, reading, sets)]
    return _of_kinds(sets, {kinds.pop(): figures[-1]}) if len(kinds) == 1 and not of_fish else None


def sum_of_sheet(reading: Reading, rows: Sequence[Row], lines: Sequence[str]) -> tuple[str, str]:
    """Return the line of another sheet that sums the table up otherwise than it is, and how; empty texts for none.

    That is a line in words, or the one row of a table with a column for each sum; several rows are of parts.
    """
    for line in lines:
        so = sum_in_words(reading, rows, line.replace(" | ", ": "))
        if so and so[1]:
            return line, so[1]
    cells = [line.split(" | ") for line in lines]
    if len(cells) < 2 or len([one for one in cells if len(one) == len(cells[-1])]) != 2:
        return "", ""
    heading = next(one for one in cells if len(one) == len(cells[-1]))
    values = dict(zip(heading, cells[-1], strict=True))
    sets = [some for some in sets_of_shares(reading, rows) if some]
    for head, text in values.items():
        figure = number(text, ".") or number(text, reading.decimal or ".")
        if figure is None:
            continue
        if plain(head) == "n" and sets and not _may_be_counted(figure.value, reading, sets):
            return lines[-1], f"says n {text}, and the table has {len(sets[0])} values"
        so = sum_in_words(reading, rows, f"{head}: {text}") if plain(head) != "n" else None
        if so and so[1]:
            return lines[-1], so[1]
    return "", ""


def _may_be_counted(figure: float, reading: Reading, sets: Sequence[Sequence[float]]) -> bool:
    """Whether a number may be that of the fish, the values or the samples of the table."""
    return LEAST_COUNTED * min(map(len, sets)) <= figure <= len(reading.data_rows) + 1


def _of_kinds(sets: Sequence[Sequence[float]], sums: dict[str, Number]) -> tuple[bool, str]:
    """Whether means and limits are those of the values, and the first that is not."""
    for kind, figure in sums.items():
        own = [SUMS[kind](values) for values in sets]
        if not any(is_near(figure, value, kind, max(sets[0])) for value in own):
            return False, f"says {kind} {figure.plain}, and the values come to {own[0]:.4g}"
    return True, ""


def _failed(
    reading: Reading, rows: Sequence[Row], sets: Sequence[Sequence[float]], figures: Sequence[Number]
) -> tuple[bool, str] | None:
    """Whether so many samples have no value; fewer are perhaps without the blanks, and all may be left out."""
    without = len(reading.data_rows) - len(sets[0])
    if len(figures) != 1 or not without or figures[0].value < without:
        return None
    if figures[0].value == without:
        return True, ""
    return False, f"says {figures[0].plain} failed samples, and {without} have no value"


def _pure(
    sets: Sequence[Sequence[float]], figures: Sequence[Number], named: tuple[bool, bool], taxa: Taxa
) -> tuple[bool, str] | None:
    """Whether so many fish may be called pure."""
    if len(figures) != 1 or named[0] == named[1]:
        return None
    whole = 100.0 if max(sets[0]) > 1 else 1.0
    name = taxa.taxon if named[0] else taxa.other_taxon
    for values in sets:
        shares = [value / whole if named[0] else 1 - value / whole for value in values]
        least, most = sum(share >= 1 for share in shares), sum(share >= LEAST_PURE for share in shares)
        if least <= figures[0].value <= most:
            return True, ""
    most = sum((v / whole if named[0] else 1 - v / whole) >= LEAST_PURE for v in sets[0])
    return False, (
        f"says {figures[0].plain} pure {name} fish, and {most} values are {100 * LEAST_PURE:.0f} % {name} or more"
    )
