"""Percent, fraction or count, decimal mark and words for no result: how the numbers of a lab's file are written."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from geneticlog.rules.lab_return.cells import Number, missing_meaning, number
from geneticlog.rules.lab_return.headings import counted_in_alleles
from geneticlog.rules.lab_return.layout import Layout
from geneticlog.rules.lab_return.percent_or_fraction import (
    FRACTION,
    PERCENT,
    Unit,
    Written,
    unit_of,
    values_against,
)
from geneticlog.rules.lab_return.reading import Column, Question
from geneticlog.rules.lab_return.roles import PROPORTIONS, ColumnRole

Texts = dict[int, list[tuple[str, str]]]
_SHARES = (ColumnRole.Q, ColumnRole.OTHER_Q, ColumnRole.THIRD_Q)


class _Numbers:
    """The numbers of each column of proportions, row by row, and what else its cells say."""

    def __init__(self, by_role: dict[ColumnRole, Column], texts: Texts, decimal: str, layout: Layout) -> None:
        self.written: dict[ColumnRole, list[Written | None]] = {}
        self.signed: dict[ColumnRole, int] = {}
        self.words: Counter[tuple[str, str]] = Counter()
        seen: dict[tuple[str, str], Number | None] = {}
        made: dict[tuple[float, float, int | None], Written] = {}  # a lab's proportions are few
        loci = _loci(by_role, texts, decimal)
        for role in (role for role in PROPORTIONS if role in by_role):
            column = by_role[role]
            rows: list[Written | None] = []
            self.signed[role] = 0
            for i, (text, kind) in enumerate(texts[column.number]):
                if (text, kind) not in seen:
                    seen[text, kind] = number(text, "." if kind == "number" else decimal)
                figure = seen[text, kind]
                if figure is None:
                    if role == ColumnRole.Q and (meaning := missing_meaning(text, layout.missing)):
                        self.words[text.strip(), meaning] += 1
                    rows.append(None)
                    continue
                says_it = figure.signed or figure.of is not None
                self.signed[role] += says_it
                key = (figure.value, figure.half_digit, loci[i] if loci else None)
                if says_it:
                    rows.append(None)
                    continue
                if key not in made:
                    made[key] = Written(*key, figure.half_digit == 0.5)
                rows.append(made[key])
            self.written[role] = rows

    def values(self, role: ColumnRole) -> list[Written]:
        return [one for one in self.written[role] if one is not None]

    def sums(self) -> list[tuple[float, int | None]]:
        """The sum of each row's shares, with its loci scored, where the file has more than one taxon's."""
        shares = [self.written[role] for role in _SHARES if role in self.written]
        if len(shares) < 2:
            return []
        rows = [[one for one in row if one is not None] for row in zip(*shares, strict=True)]
        return [(sum(one.value for one in row), row[0].n_loci) for row in rows if len(row) == len(shares)]


def _loci(by_role: dict[ColumnRole, Column], texts: Texts, decimal: str) -> list[int | None]:
    column = by_role.get(ColumnRole.N_LOCI)
    if column is None or column.number not in texts:
        return []
    found = (number(text, "." if kind == "number" else decimal) for text, kind in texts[column.number])
    alleles = counted_in_alleles(column.heading)
    return [_loci_in(one.halved() if one and alleles else one) for one in found]


def _loci_in(one: Number | None) -> int | None:
    """The loci scored that a number says, alone or as a ratio such as 36/38, which is scored of those tried."""
    scored = 0.0 if one is None else one.value if one.of is None else round(one.value * one.of)
    return int(scored) if scored > 0 and scored == int(scored) else None


def with_units(
    columns: list[Column], texts: Texts, decimal: str, layout: Layout, questions: list[Question]
) -> tuple[list[Column], tuple[tuple[str, str, int], ...]]:
    """Return the columns with their units, and the words for no result with their meaning and number."""
    by_role = {column.role: column for column in columns if column.number in texts}
    numbers = _Numbers(by_role, texts, decimal, layout)
    units: dict[ColumnRole, Unit] = {}
    sums = numbers.sums()
    for role in numbers.written:
        if role in layout.units:
            units[role] = Unit(layout.units[role], "a person says so")
            continue
        units[role] = unit_of(
            numbers.values(role),
            heading=by_role[role].heading,
            n_signed=numbers.signed[role],
            sums=sums if role in _SHARES else (),
            steps=2 if role in _SHARES else 1,
            counts=role != ColumnRole.CALL_RATE,
        )
    for role, unit in units.items():
        name = by_role[role].heading or by_role[role].letter
        lead = next((r for r in _SHARES if r in units and r != role and units[r].name), None)
        if not unit.name and lead and role != ColumnRole.Q and "every value is 0 or 1" in unit.evidence:
            units[role] = Unit(units[lead].name, f"as in column {by_role[lead].heading}; {unit.evidence}")
        elif not unit.name:
            kept = (
                f" (in an earlier file it was {layout.kept_units[role]})" if role in layout.kept_units else ""
            )
            ways = "percent, as fraction or as count" if "count" in unit.choices else "percent or as fraction"
            text = f"column {name} can be read as {ways}: {unit.evidence}{kept}"
            questions.append(_ask_unit(role, text, unit.choices, by_role[role]))
        elif (
            layout.kept_units.get(role, unit.name) != unit.name
            and role not in layout.units
            and _tells(numbers, role)
        ):
            text = (
                f"column {name} looks like {unit.name} ({unit.evidence}), but in an earlier file it was"
                f" {layout.kept_units[role]}"
            )
            questions.append(_ask_unit(role, text, (unit.name, layout.kept_units[role]), by_role[role]))
    questions += _two_units(by_role, units, numbers, layout)
    out = [
        replace(column, unit=units[column.role].name, evidence=units[column.role].evidence)
        if column.role in units and by_role[column.role].number == column.number
        else column
        for column in columns
    ]
    return out, tuple((word, meaning, n) for (word, meaning), n in numbers.words.most_common())


def _tells(numbers: _Numbers, role: ColumnRole) -> bool:
    """Whether a column has a number that is not the same in every unit."""
    return any(one.value for one in numbers.values(role))


def _ask_unit(role: ColumnRole, text: str, units: Sequence[str], column: Column) -> Question:
    return Question(text, tuple(("unit", role, unit) for unit in units), f"column {column.letter}")


def _two_units(
    by_role: dict[ColumnRole, Column], units: dict[ColumnRole, Unit], numbers: _Numbers, layout: Layout
) -> list[Question]:
    """Ask where columns of one file would be read in different units, and values of one of them cast doubt on
    it."""

    def told(role: ColumnRole) -> str:
        return f"column {by_role[role].heading or by_role[role].letter} as {units[role].name}"

    lead = next((role for role in _SHARES if role in units), None)
    against = {
        role: n
        for role, unit in units.items()
        if role not in layout.units
        and (n := values_against(unit.name, [one.value for one in numbers.values(role)]))
    }
    asked: dict[ColumnRole, Question] = {}
    for role, unit in units.items():
        if lead is None or not unit.name or not units[lead].name or unit.name == units[lead].name:
            continue
        for doubtful, other in ((role, lead), (lead, role)):
            if doubtful in against and doubtful not in asked:
                n = against[doubtful]
                text = (
                    f"{told(doubtful)} beside {told(other)} is doubtful: {n} of its values"
                    f" {'does' if n == 1 else 'do'} not look like a {units[doubtful].name}"
                )
                asked[doubtful] = _ask_unit(doubtful, text, (PERCENT, FRACTION), by_role[doubtful])
    return list(asked.values())
