"""Percent or fraction, decimal mark and words for no result: how the numbers of a lab's file are written."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

from geneticlog.rules.lab_return.cells import Number, missing_meaning, number
from geneticlog.rules.lab_return.headings import PROPORTIONS
from geneticlog.rules.lab_return.layout import Layout
from geneticlog.rules.lab_return.percent_or_fraction import FRACTION, PERCENT, Unit, unit_of, values_against
from geneticlog.rules.lab_return.reading import Column, Question


def with_units(
    columns: list[Column],
    texts: dict[int, list[tuple[str, str]]],
    decimal: str,
    layout: Layout,
    questions: list[Question],
) -> tuple[list[Column], tuple[tuple[str, str, int], ...]]:
    """Return the columns with their units, and the words for no result with their meaning and number."""
    numbers: dict[str, list[float | None]] = {}
    signed: dict[str, int] = {}
    words: Counter[tuple[str, str]] = Counter()
    seen: dict[tuple[str, str], Number | None] = {}
    by_role = {column.role: column for column in columns if column.number in texts}
    for role, column in by_role.items():
        parsed: list[float | None] = []
        signed[role] = 0
        for text, kind in texts[column.number]:
            if (text, kind) not in seen:
                seen[text, kind] = number(text, "." if kind == "number" else decimal)
            found = seen[text, kind]
            if found is None:
                if role == "q" and (meaning := missing_meaning(text, layout.missing)):
                    words[text.strip(), meaning] += 1
                parsed.append(None)
            else:
                signed[role] += found.signed
                parsed.append(None if found.signed else found.value)
        numbers[role] = parsed
    shares = [numbers[role] for role in ("q", "other_q", "third_q") if role in numbers]
    sums = (
        [sum(v for v in row if v is not None) for row in zip(*shares, strict=True) if None not in row]
        if len(shares) > 1
        else []
    )
    units: dict[str, Unit] = {}
    for role in PROPORTIONS:
        if role not in by_role:
            continue
        heading = by_role[role].heading
        if role in layout.units:
            units[role] = Unit(layout.units[role], "a person or the lab's layout says so")
            continue
        values = [value for value in numbers[role] if value is not None]
        units[role] = unit_of(
            values,
            heading=heading,
            n_signed=signed[role],
            sums=sums if role in ("q", "other_q", "third_q") else (),
        )
    for role, unit in units.items():
        lead = next(
            (r for r in ("q", "other_q", "third_q") if r in units and r != role and units[r].name), None
        )
        if not unit.name and lead and role != "q" and "every value is 0 or 1" in unit.evidence:
            units[role] = Unit(units[lead].name, f"as in column {by_role[lead].heading}; {unit.evidence}")
        elif not unit.name:
            name = by_role[role].heading or by_role[role].letter
            text = f"column {name} can be read as percent or as fraction: {unit.evidence}"
            questions.append(Question(text, (("unit", role, PERCENT), ("unit", role, FRACTION))))
    questions += _two_units(by_role, units, numbers, layout)
    out = [
        replace(column, unit=units[column.role].name, evidence=units[column.role].evidence)
        if column.role in units and column.number in texts
        else column
        for column in columns
    ]
    return out, tuple((word, meaning, n) for (word, meaning), n in words.most_common())


def _two_units(
    by_role: dict[str, Column], units: dict[str, Unit], numbers: dict[str, list[float | None]], layout: Layout
) -> list[Question]:
    """Ask where columns of one file would be read in different units, and values of one of them speak against
    it."""

    def told(role: str) -> str:
        return f"column {by_role[role].heading or by_role[role].letter} as {units[role].name}"

    lead = next((role for role in ("q", "other_q", "third_q") if role in units), None)
    against = {
        role: n
        for role, unit in units.items()
        if role not in layout.units and (n := values_against(unit.name, numbers[role]))
    }
    asked: dict[str, Question] = {}
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
                asked[doubtful] = Question(text, (("unit", doubtful, PERCENT), ("unit", doubtful, FRACTION)))
    return list(asked.values())
