"""Percent, fraction or count, decimal mark and words for no result: how the numbers of a lab's file are written."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace

from geneticlog.rules.lab_return.cells.cells import Number, missing_meaning, number
from geneticlog.rules.lab_return.cells.percent_or_fraction import (
    COUNT,
    FRACTION,
    PERCENT,
    ROUNDING,
    Unit,
    Written,
    plainly,
    unit_in_heading,
    unit_of,
    values_against,
)
from geneticlog.rules.lab_return.sheet.account_items import answers_about
from geneticlog.rules.lab_return.sheet.parts import Part
from geneticlog.rules.lab_return.sheet.reading import Column, Question
from geneticlog.rules.lab_return.words.headings import counted_in_alleles
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.lab_return.words.roles import PROPORTIONS, ColumnRole

Texts = dict[int, list[tuple[str, str]]]
Block = tuple[Part, Sequence[int]]  # with the places of its rows in the texts, from 0
ALL_ALLELES = "all alleles scored"  # what answers call two counts that are read so
NEAR_WHOLE = 2  # of 100, within which two percents, each rounded, may come
LEAST_SUMS, MOST_SUMS = 3, 0.9  # rows of two columns that make no 100, to be counts
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
                    said_missing = text.strip().casefold() in layout.missing
                    seen[text, kind] = (
                        None if said_missing else number(text, "." if kind == "number" else decimal)
                    )
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
        first, *others = shares
        totals = [0.0 if one is None else one.value for one in first]
        whole = [one is not None for one in first]
        for share in others:
            totals = [total + one.value if one else total for total, one in zip(totals, share, strict=True)]
            whole = [both and one is not None for both, one in zip(whole, share, strict=True)]
        return [(total, one.n_loci) for total, one, all_there in zip(totals, first, whole, strict=True)
                if all_there and one]  # fmt: skip


def _loci(by_role: dict[ColumnRole, Column], texts: Texts, decimal: str) -> list[int | None]:
    column = by_role.get(ColumnRole.N_LOCI)
    if column is None or column.number not in texts:
        return []
    alleles = counted_in_alleles(column.heading)
    loci: dict[tuple[str, str], int | None] = {}  # a lab's numbers of loci are few
    for text, kind in set(texts[column.number]):
        figure = number(text, "." if kind == "number" else decimal)
        loci[text, kind] = _loci_in(figure.halved() if figure and alleles else figure)
    return [loci[cell] for cell in texts[column.number]]


def _loci_in(one: Number | None) -> int | None:
    """The loci scored that a number says, alone or as a ratio such as 36/38, which is scored of those tried."""
    scored = 0.0 if one is None else one.value if one.of is None else round(one.value * one.of)
    return int(scored) if scored > 0 and scored == int(scored) else None


def with_units(
    columns: list[Column],
    texts: Texts,
    decimal: str,
    layout: Layout,
    questions: list[Question],
    blocks: Sequence[Block] = (),
) -> tuple[list[Column], tuple[tuple[str, str, int], ...]]:
    """Return the columns with their units, and the words for no result with their meaning and number.

    blocks
        The parts of the file that have headings of their own, each with its places in the texts: where two of them are
        plainly in different units, each is judged by itself.
    """
    by_role = {column.role: column for column in columns if column.number in texts}
    numbers = _Numbers(by_role, texts, decimal, layout)
    units = _as_counts(_units(numbers, by_role, layout), by_role, numbers)
    open_roles = {role for role, unit in units.items() if not unit.name}
    mixed = (
        _of_blocks(blocks, by_role, texts, decimal, layout, questions, open_roles) if len(blocks) > 1 else {}
    )
    whole = {role: unit for role, unit in units.items() if role not in mixed}
    questions += _against_an_answer(by_role, whole, numbers, layout)
    for role, unit in whole.items():
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
    questions += _all_alleles(by_role, units, numbers, layout)
    if not mixed:
        questions += _two_units(by_role, units, numbers, layout)
    out = []
    for column in columns:
        if column.role in mixed and by_role[column.role].number == column.number:
            column = _with_own_units(column, mixed[column.role])
        elif column.role in units and by_role[column.role].number == column.number:
            column = replace(column, unit=units[column.role].name, evidence=units[column.role].evidence)
        out.append(column)
    return out, tuple((word, meaning, n) for (word, meaning), n in numbers.words.most_common())


def _units(numbers: _Numbers, by_role: Mapping[ColumnRole, Column], layout: Layout) -> dict[ColumnRole, Unit]:
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
    return units


def _as_counts(
    units: dict[ColumnRole, Unit], by_role: Mapping[ColumnRole, Column], numbers: _Numbers
) -> dict[ColumnRole, Unit]:
    """The units, those of whole numbers of alleles of both taxa as counts where they do not make 100 together."""
    pair = (ColumnRole.Q, ColumnRole.OTHER_Q)
    if not all(role in units and not units[role].name and COUNT in units[role].choices for role in pair):
        return units
    totals = [total for total, _ in numbers.sums()]
    no_whole = [total for total in totals if abs(total - 100) > NEAR_WHOLE and total > 1]
    headed = all(counted_in_alleles(by_role[role].heading) for role in pair)
    if not headed or len(no_whole) < LEAST_SUMS or len(no_whole) < MOST_SUMS * len(totals):
        return units
    why = (
        f"whole numbers of alleles of both taxa, which in {len(no_whole)} of {len(totals)} rows do not make 100"
        f" together (the first makes {no_whole[0]:g})"
    )
    return {**units, **{role: Unit(COUNT, why) for role in pair}}


def _all_alleles(
    by_role: Mapping[ColumnRole, Column], units: Mapping[ColumnRole, Unit], numbers: _Numbers, layout: Layout
) -> list[Question]:
    """Ask whether counts of both taxa are all alleles scored, where no column says how many loci that is of."""
    pair = [
        role for role in (ColumnRole.Q, ColumnRole.OTHER_Q) if role in units and units[role].name == COUNT
    ]
    sums = [total for total, _ in numbers.sums()]
    answered = layout.changes_nothing(ALL_ALLELES) or layout.casts_doubt(ALL_ALLELES)
    if len(pair) < 2 or ColumnRole.N_LOCI in by_role or len(set(sums)) < 2 or answered:
        return []
    first, other = (by_role[role].named for role in pair)
    text = (
        f"columns {first} and {other} are counts that make {min(sums):g} to {max(sums):g} alleles together, and no"
        f" column says how many loci were scored: are these all alleles scored, two a locus ({sums[0] / 2:g} loci in"
        " the first row)?"
    )
    return [Question(text, answers_about(ALL_ALLELES), f"column {by_role[pair[1]].letter}")]


def _of_blocks(
    blocks: Sequence[Block],
    by_role: dict[ColumnRole, Column],
    texts: Texts,
    decimal: str,
    layout: Layout,
    questions: list[Question],
    open_roles: Collection[ColumnRole],
) -> dict[ColumnRole, list[tuple[Part, Unit]]]:
    """Return, by role, the unit of each part of a file in which they are plainly not the same.

    open_roles
        those whose unit the file as a whole does not show: there one part that does is enough.
    """
    of_role: dict[ColumnRole, list[tuple[Part, Unit, bool]]] = {}
    named: dict[ColumnRole, set[str]] = {}  # the units that headings name, or that values are plainly in
    in_parts = []
    for part, places in blocks:
        its_texts = {number: [cells[i] for i in places] for number, cells in texts.items()}
        its_columns = {
            role: replace(column, heading=part.headings.get(column.number, column.heading))
            for role, column in by_role.items()
        }
        numbers = _Numbers(its_columns, its_texts, decimal, layout)
        units = _units(numbers, its_columns, layout)
        in_parts.append((part, its_columns, numbers, units))
        for role, unit in units.items():
            answered = layout.units_of_parts.get(part.key(role))
            judged = Unit(answered, "a person says so") if answered else unit
            in_heading = unit_in_heading(its_columns[role].heading)
            sure = bool(answered) or plainly(
                judged,
                numbers.values(role),
                in_heading=in_heading,
                n_signed=numbers.signed[role],
                steps=2 if role in _SHARES else 1,
            )
            named.setdefault(role, set()).update({in_heading, judged.name if sure else ""} - {""})
            of_role.setdefault(role, []).append((part, judged, sure))
    mixed = {}
    for role, judged_parts in of_role.items():
        n_sure = sum(sure for *_, sure in judged_parts)
        apart = len(named[role]) > 1 or (role in open_roles and n_sure > 0)
        if role in layout.units or not apart:
            continue
        mixed[role] = [(part, unit) for part, unit, _ in judged_parts]
        for (part, unit, sure), (_, _, numbers, _) in zip(judged_parts, in_parts, strict=True):
            if not sure and _tells(numbers, role):
                text = (
                    f"column {by_role[role].named} may not be in one unit in all parts of the file, and in {part.words}"
                    f" it can be read as {' or as '.join(unit.choices)}: {unit.evidence}"
                )
                questions.append(_ask_unit(part.key(role), text, unit.choices, by_role[role]))
    if mixed:
        for part, its_columns, numbers, units in in_parts:
            for asked in _two_units(its_columns, units, numbers, layout):
                choices = tuple((setting, part.key(role), value) for setting, role, value in asked.choices)
                questions.append(replace(asked, text=f"in {part.words}, {asked.text}", choices=choices))
    return mixed


def _with_own_units(column: Column, units: Sequence[tuple[Part, Unit]]) -> Column:
    """The column with the unit of each part, and these in words."""
    named: dict[str, list[str]] = {}
    for part, unit in units:
        named.setdefault(unit.name, []).append(part.words)
    in_words = ", ".join(
        f"{name or 'an unknown unit'} in {' and '.join(parts)}" for name, parts in named.items()
    )
    evidence = "; ".join(f"{part.words}: {unit.evidence}" for part, unit in units)
    own = tuple((part.first, part.last, unit.name) for part, unit in units)
    return replace(column, unit=in_words, evidence=evidence, own_units=own)


def _tells(numbers: _Numbers, role: ColumnRole) -> bool:
    """Whether a column has a number that is not the same in every unit."""
    return any(one.value for one in numbers.values(role))


def _against_an_answer(
    by_role: Mapping[ColumnRole, Column], units: Mapping[ColumnRole, Unit], numbers: _Numbers, layout: Layout
) -> list[Question]:
    """Ask again where most values of a column cannot be in the unit that a person named."""
    asked = []
    for role, unit in units.items():
        values = numbers.values(role)
        outside = [one for one in values if not _can_be(one, unit.name)]
        if role not in layout.units or len(outside) < 2 or 2 * len(outside) <= len(values):
            continue
        others = [name for name in (PERCENT, FRACTION, COUNT) if name != unit.name]
        fitting = [name for name in others if all(_can_be(one, name) for one in values)]
        text = (
            f"column {by_role[role].named} is read as {unit.name}, as a person says, but {len(outside)} of"
            f" {len(values)} values cannot be a {unit.name} (the first is {outside[0].value:g})"
        )
        asked.append(_ask_unit(role, text, fitting or others, by_role[role]))
    return asked


def _can_be(one: Written, unit: str) -> bool:
    most = {FRACTION: 1.0, PERCENT: 100.0}.get(unit)
    return 0 <= one.value <= most + ROUNDING if most else one.value >= 0 and one.value.is_integer()


def _ask_unit(role: str, text: str, units: Sequence[str], column: Column) -> Question:
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
