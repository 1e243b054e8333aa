"""A column that says in each row the unit of the share beside it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import replace

from geneticlog.rules.lab_return.cells.percent_or_fraction import COUNT, unit_in_heading
from geneticlog.rules.lab_return.sheet.account_items import answers_about
from geneticlog.rules.lab_return.sheet.reading import Column, Question, Row
from geneticlog.rules.lab_return.words.headings import plain
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.lab_return.words.roles import ColumnRole

_SHARES = (ColumnRole.Q, ColumnRole.OTHER_Q)
_UNIT = re.compile(r"(?:result )?(?:units?(?: of (?:measure(?:ment)?|results?))?|uom)")


def of_units(heading: str) -> bool:
    """Return whether a column is headed as one of units."""
    return _UNIT.fullmatch(plain(heading)) is not None


def unit_of_shares(text: str) -> str:
    """Return percent or fraction for a unit in a cell; the empty text for any other."""
    unit = unit_in_heading(text)
    return "" if unit == COUNT else unit


def only_units(heading: str, texts: Iterable[str]) -> bool:
    """Return whether a column is one of units, all of them those of shares."""
    return of_units(heading) and all(map(unit_of_shares, texts))


def with_unit_column(
    columns: list[Column],
    questions: list[Question],
    rows: Sequence[Row],
    data: Sequence[int],
    layout: Layout,
) -> tuple[list[Column], list[Question]]:
    """Return the columns, the shares in the units that a column of units says, and the questions that are left.

    It is asked about where the heading says another unit, or where a row with a share has none.
    """
    beside = next((one for one in columns if not one.role and of_units(one.heading)), None)
    shares = [one for one in columns if one.role in _SHARES and one.role not in layout.units]
    if beside is None or not shares or any(one.own_units for one in shares):
        return columns, questions
    if layout.changes_nothing(beside.heading) or layout.casts_doubt(beside.heading):
        return columns, questions
    texts = {n: beside.text_in(rows[n - 1]) for n in data}
    if not any(texts.values()) or not only_units(beside.heading, filter(None, texts.values())):
        return columns, questions
    made = {share.number: _in_units(share, beside, rows, texts) for share in shares}
    if not all(made.values()):
        text = f"column {beside.named} says units that do not go with column {shares[0].named}"
        asked = Question(text, answers_about(beside.heading, hold_first=True), f"column {beside.letter}")
        return columns, [*questions, asked]
    made[beside.number] = replace(beside, why="it says the unit of each share")
    settled = {("unit", one.role) for one in shares}
    left = [one for one in questions if not {choice[:2] for choice in one.choices} <= settled]
    return [made.get(one.number) or one for one in columns], left


def _in_units(share: Column, beside: Column, rows: Sequence[Row], texts: dict[int, str]) -> Column | None:
    """A share in the units beside it; None where its heading says another, or where a value has none."""
    valued = [n for n in texts if any(letter.isdigit() for letter in share.text_in(rows[n - 1]))]
    units = {n: unit_of_shares(texts[n]) for n in valued}
    kinds, in_heading = sorted(set(units.values())), unit_in_heading(share.heading)
    if not kinds or "" in kinds or (in_heading and kinds != [in_heading]):
        return None
    evidence = f"column {beside.named} says so in each row"
    if len(kinds) == 1:
        return replace(share, unit=kinds[0], evidence=evidence)
    words = " and ".join(f"{kind} in {list(units.values()).count(kind)} rows" for kind in kinds)
    own = tuple((n, n, unit) for n, unit in units.items())
    return replace(share, unit=words, evidence=evidence, own_units=own)
