"""Sheets of one file that give the same vials other values: which of them is meant is for a person to say."""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import combinations

from geneticlog.rules.lab_return.account.account_of_marks import name_casts_doubt
from geneticlog.rules.lab_return.cells.cells import number
from geneticlog.rules.lab_return.sheet.reading import Question, Reading, code_in
from geneticlog.rules.lab_return.words.headings import plain, recognise
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.lab_return.words.roles import ColumnRole
from geneticlog.rules.vialcode import printed
from geneticlog.store.sheets import Sheet

Read = tuple[Sheet, Reading]
LEAST_SHARED = 0.5  # of the vials of the smaller sheet; a few that were run again are findings one by one
LEAST_OTHER = 2  # vials of other values
PERCENTS = 1.5  # the largest value from which a column is in percent


def question_of_sheets(read: Sequence[Read], layout: Layout) -> list[Question]:
    """Ask which sheet is meant where two of them give most of the same vials other values; the likelier one first."""
    for first, later in combinations(read, 2):
        shares = _shares(*first), _shares(*later)
        shared = [code for code in shares[0] if code in shares[1]]
        other = [code for code in shared if _differ(shares[0][code], shares[1][code])]
        smaller = min(map(len, shares))
        if len(shared) < LEAST_SHARED * smaller or len(other) < LEAST_OTHER:
            continue
        names = [first[0].name, later[0].name]
        written = [f"{its[other[0]][0]} in {name}" for its, name in zip(shares, names, strict=True)]
        text = (
            f"sheets {names[0]} and {names[1]} hold {len(shared)} of the same vials, {len(other)} of them with other"
            f" values ({printed(other[0])}: {' and '.join(written)}): which one is meant?"
        )
        likely = sorted(
            names, key=lambda name: (name_casts_doubt("sheet", name, layout), _minus_version(name))
        )
        return [Question(text, tuple(("sheet", "", name) for name in likely))]
    return []


def the_more_exact(read: Sequence[Read]) -> Read:
    """Return of sheets with the same values the one whose values are written with more digits."""
    return min(read, key=lambda one: sum(half for *_, half in _shares(*one).values()))


def is_of_results(sheet: Sheet, layout: Layout) -> bool:
    """Whether a sheet has vial codes below a heading that names the share of a taxon."""
    first = next((n for n, row in enumerate(sheet.rows) if any(code_in(cell.text) for cell in row)), 0)
    heads = [cell.text for cell in sheet.rows[first - 1]] if first else []
    meant = [recognise(text, layout.taxa, plain(" ".join(heads))) for text in heads]
    return any(one and one.role in (ColumnRole.Q, ColumnRole.OTHER_Q) for one in meant)


def says_the_same(other: Sheet, sheet: Sheet, reading: Reading) -> bool:
    """Whether the results of another sheet are those that are read, vial by vial, at the digits written there."""
    first = next((n for n, row in enumerate(other.rows) if any(code_in(cell.text) for cell in row)), 0)
    if not first:
        return False
    heads = [cell.text for cell in other.rows[first - 1]]
    known = plain(" ".join(heads))
    roles = [one.role if (one := recognise(text, reading.layout.taxa, known)) else "" for text in heads]
    if roles.count(ColumnRole.Q) != 1:
        return False
    column, read = roles.index(ColumnRole.Q), _shares(sheet, reading)
    values = {}
    for row in other.rows[first:]:
        code = next((code for cell in row if (code := code_in(cell.text))), "")
        figure = number(row[column].text, reading.decimal) if len(row) > column else None
        if code and figure:
            values[code] = figure
    is_percent = any(figure.value > PERCENTS for figure in values.values())
    return len(values) >= LEAST_OTHER and all(
        code in read and not _differ(read[code], ("", *figure.as_fraction(is_percent)))
        for code, figure in values.items()
    )


def _minus_version(name: str) -> int:
    """Minus the number at the end of a name: of v1 and v2 the later is likelier."""
    digits = re.search(r"(\d{1,4})\W*$", name)
    return -int(digits[1]) if digits else 0


def _shares(sheet: Sheet, reading: Reading) -> dict[str, tuple[str, float, float]]:
    """The share of each vial as written, as a fraction, and half its last digit; of a vial in two rows the first."""
    vial, q = reading.column(ColumnRole.VIAL), reading.column(ColumnRole.Q)
    if vial is None or q is None:
        return {}
    values = {}
    for n in reading.data_rows:
        row = sheet.rows[n - 1]
        text, code = q.text_in(row), code_in(vial.text_in(row))
        figure = number(text, reading.decimal)
        if code and figure and code not in values:
            values[code] = (text, figure)
    is_percent = any(figure.value > PERCENTS for _, figure in values.values())
    return {code: (text, *figure.as_fraction(is_percent)) for code, (text, figure) in values.items()}


def _differ(a: tuple[str, float, float], b: tuple[str, float, float]) -> bool:
    """Whether two shares are more apart than their digits."""
    return abs(a[1] - b[1]) > a[2] + b[2] + 1e-9
