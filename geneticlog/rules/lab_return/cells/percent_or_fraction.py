"""Percent, fraction or count: which of them a column of proportions is written in, and on what evidence.

Each file is judged by itself. A unit is possible where most values could be written in it; where two are possible, the
heading, the sum of a row's shares and whole numbers of alleles decide, and where none does, a person is asked.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from geneticlog.rules.lab_return.words.other_languages import in_english
from geneticlog.rules.sentences import n_of

FRACTION, PERCENT, COUNT = "fraction", "percent", "count"
# One allele of the largest panel known (73 loci: Silliman et al. 2021, Evolutionary Applications
# 14:2815-2830) is 0.68 %: a proportion above zero and below this is no percentage counted on diagnostic
# loci.
LEAST_PERCENT = 0.65
ROUNDING = 0.0005  # above 1: not a rounded whole
NEAR = 0.02  # of one allele: beside the rounding of the digits
TELLING_ROOM = (
    0.25  # alleles either way: with more, printed digits cannot tell one number of alleles from the next
)
MOST_FIT, FEW_FIT = 0.8, 0.5
MOSTLY = 0.75  # of a column's values, that could be written in its unit; the others are held as impossible
LEAST_NONE = 0.1  # of whole numbers, that are the percentage of no number of alleles, to be counts
UNLIKELY = 0.001  # that counts are all some number's percentage
LEAST_TELLING = 4  # values, to tell a count from whole percents


@dataclass(frozen=True)
class Unit:
    """The unit of a column, "" where two readings are possible; ``evidence`` says why, in words.

    ``choices`` are the units that a person can choose from.
    """

    name: str
    evidence: str
    choices: tuple[str, ...] = (PERCENT, FRACTION)


@dataclass(frozen=True)
class Written:
    """One number of a column as written, half a unit of its last digit, and the loci scored of its row."""

    value: float
    half_digit: float = 0.0
    n_loci: int | None = None
    whole: bool = False


def unit_in_heading(heading: str) -> str:
    """Return the unit that a heading names, or the empty text. "Share" and "alleles" name none."""
    words = re.sub(r"\b9[059](\.\d)? ?(%|per ?cent|pct)", " ", heading.casefold())  # of an interval
    words += " " + in_english(" ".join(re.findall(r"\w+", words)))
    if "%" in words or re.search(r"\b(per ?cent(age)?|pct|perc)\b", words):
        return PERCENT
    if re.search(r"\b(prop(ortion)?s?|fractions?|freq(uency)?|0 ?(-|to|–) ?1)\b", words):
        return FRACTION
    if re.search(r"\b(number|count|counts|no|num|n)\b|#", words):
        return COUNT
    return ""


def could_be(unit: str, written: Written, steps: int) -> bool:
    """Return whether a number above zero could be written in a unit; ``steps`` is 2 for alleles, 1 for loci."""
    if unit == FRACTION:
        return written.value <= 1 + ROUNDING
    if unit == COUNT:
        return written.whole and (written.n_loci is None or written.value <= steps * written.n_loci)
    if written.value > 100.0001 or written.value < LEAST_PERCENT * 2 / steps:
        return False
    # Below 2 it can be no more than a few alleles of a panel, and each of these is 100 k / (2 L).
    return written.value >= 1 or _one_allele(written, steps)


def _no_few_alleles(values: Sequence[Written], filled: Sequence[Written]) -> bool:
    """Whether a column without a value above 1 cannot well be percents: these would be fish of one allele each.

    Where a fish has one such allele at the most, about as many have none; and one allele is nearly the same share of
    each fish's loci.
    """
    if any(one.value > 1 for one in filled):
        return False
    sizes = [one.value for one in filled if one.value < 1]
    return 2 * (len(values) - len(filled)) < len(filled) or (bool(sizes) and max(sizes) > 1.1 * min(sizes))


def _one_allele(one: Written, steps: int) -> bool:
    loci = 100 / (steps * one.value)
    room = loci * one.half_digit / one.value
    return abs(loci - round(loci)) <= max(room, 0.05)


def fits(unit: str, values: Sequence[Written], steps: int) -> tuple[int, int]:
    """Return how many values are a whole number of alleles (or loci) in a unit, and how many can be judged."""
    n = n_fit = 0
    for written in values:
        if not written.n_loci or not written.value:
            continue
        scale = steps * written.n_loci / (100 if unit == PERCENT else 1)
        alleles, room = written.value * scale, written.half_digit * scale
        if room >= TELLING_ROOM or alleles < 0.5 - room:
            n += room < TELLING_ROOM  # less than one allele is none
            continue
        n += 1
        n_fit += abs(alleles - round(alleles)) <= room + NEAR
    return n_fit, n


def whole_percents(values: Sequence[Written], steps: int) -> tuple[int, int, float]:
    """Hold whole numbers, as percents, against those that a whole number of alleles can round to.

    Of 38 loci 1, 3 and 4 % are some number of alleles, and 2 % is none.

    Returns
        how many are none, how many can be judged, and the chance that as many counts would all be some.
    """
    n = n_none = 0
    chance = 1.0
    for written in values:
        room = written.half_digit * steps * (written.n_loci or 0) / 100
        if not written.n_loci or room + NEAR >= 0.5:
            continue
        n += 1
        alleles = written.value * steps * written.n_loci / 100
        n_none += abs(alleles - round(alleles)) > room + NEAR
        chance *= 2 * (room + NEAR)
    return n_none, n, chance


def unit_of(
    values: Sequence[Written],
    *,
    heading: str = "",
    n_signed: int = 0,
    sums: Sequence[tuple[float, int | None]] = (),
    steps: int = 2,
    counts: bool = True,
) -> Unit:
    """Return whether a column of proportions is in percent, a fraction of one, or a count of alleles or loci.

    values
        the column's numbers as written, those with a percent sign or as a ratio left out.
    n_signed
        how many further numbers say their unit themselves.
    sums
        where the file has every taxon's share, each row's sum and loci scored: 1, 100 or all alleles.
    steps
        2 where alleles are counted, 1 where loci are.
    counts
        whether the column can hold counts at all.
    """
    in_heading = unit_in_heading(heading)
    filled = [one for one in values if one.value]
    if n_signed or not filled:
        return _without_numbers(values, n_signed, in_heading)
    whole = counts and all(one.whole for one in values) and in_heading not in (PERCENT, FRACTION)
    if by_sum := _by_sum(sums, whole):
        return by_sum
    column = _Numbers(
        values, filled, heading, in_heading, whole, steps, _possible(values, filled, in_heading, whole, steps)
    )
    for judged in (_against_its_heading, _of_0_and_1, _by_alleles, _count_or_percent, _by_its_heading):
        if unit := judged(column):
            return unit
    return _by_size(column)


def _without_numbers(values: Sequence[Written], n_signed: int, in_heading: str) -> Unit:
    """The unit of a column whose numbers say it themselves, or that holds none above 0."""
    if n_signed and values:
        named = n_of(n_signed, "value names its unit", "values name their unit")
        rest = n_of(len(values), "does not", "do not")
        return Unit("", f"{named} (a percent sign, or out of how many) and {rest}")
    if n_signed:
        return Unit(PERCENT, "every value names its unit (a percent sign, or out of how many)")
    if not values:
        return Unit(FRACTION, "the column holds no number")
    return Unit(in_heading or FRACTION, "every value is 0, the same in both readings")


@dataclass(frozen=True)
class _Numbers:
    """A column's numbers, those above 0, its heading, the unit that says, and the units they could be written in."""

    values: Sequence[Written]
    filled: Sequence[Written]
    heading: str
    said: str
    whole: bool
    steps: int
    possible: Sequence[str]

    @property
    def choices(self) -> tuple[str, ...]:
        """The units that may be meant, the likeliest first: a fraction where no value is above 1, a count out of 76."""
        ways = [unit for unit in (PERCENT, FRACTION, COUNT) if unit != COUNT or self.whole]
        of_many = self.whole and re.search(r"\b(of|out of|n) ?=? ?\d", self.heading.casefold()) is not None
        small = all(one.value <= 1 for one in self.filled) and any(not one.whole for one in self.filled)
        likely = COUNT if of_many else FRACTION if small else ""
        return tuple(sorted(ways, key=lambda unit: unit != likely))

    @property
    def largest(self) -> str:
        return f"{max(one.value for one in self.values):g}"

    @property
    def above(self) -> int:
        return sum(one.value > 1 + ROUNDING for one in self.values)

    @property
    def n_above(self) -> str:
        return f"{self.above} of {len(self.values)} values are above 1, the largest {self.largest}"

    @property
    def may_be_counts_or_percents(self) -> bool:
        return COUNT in self.possible and PERCENT in self.possible


def _possible(
    values: Sequence[Written], filled: Sequence[Written], in_heading: str, whole: bool, steps: int
) -> list[str]:
    """Return the units in which most numbers could be written."""
    units = [FRACTION, PERCENT, *([COUNT] if whole else [])]
    share = {unit: sum(could_be(unit, one, steps) for one in filled) / len(filled) for unit in units}
    if any(0 <= one.value <= 1 and not could_be(PERCENT, one, steps) for one in filled):
        share[PERCENT] = 0.0  # a fraction among percents would be taken for less than one allele
    possible = [unit for unit in units if share[unit] >= MOSTLY]
    if PERCENT in possible and in_heading != PERCENT and _no_few_alleles(values, filled):
        possible.remove(PERCENT)
    return possible


def _against_its_heading(column: _Numbers) -> Unit | None:
    """Ask where the heading says percent or fraction and the numbers cannot be that."""
    if column.said not in (PERCENT, FRACTION) or column.said in column.possible:
        return None
    beside = column.n_above
    if column.said == PERCENT and not column.above:
        beside = f"no value is above 1 (the largest is {column.largest})"
    if column.said == PERCENT and column.above:
        small = [f"{one.value:g}" for one in column.filled if not could_be(PERCENT, one, column.steps)]
        beside = (
            f"{n_of(len(small), 'value is', 'values are')} too small to be one allele: {', '.join(small[:5])}"
        )
    said_so = "percent" if column.said == PERCENT else "a fraction"
    return Unit("", f"the heading says {said_so}, but {beside}", column.choices)


def _of_0_and_1(column: _Numbers) -> Unit | None:
    if not all(one.value in (0, 1) for one in column.values):
        return None
    if column.said == FRACTION:
        return Unit(FRACTION, "the heading says so")
    both = column.choices if column.said == COUNT else (PERCENT, FRACTION)
    return Unit("", "every value is 0 or 1, and 1 may be one percent or the whole", both)


def _by_alleles(column: _Numbers) -> Unit | None:
    """The unit in which alone the numbers are whole numbers of alleles."""
    by_loci = {unit: fits(unit, column.filled, column.steps) for unit in column.possible}
    fitting = [unit for unit, (n_fit, n) in by_loci.items() if n >= 2 and n_fit >= MOST_FIT * n]
    untold = [unit for unit, (n_fit, n) in by_loci.items() if n >= 2 and n_fit <= FEW_FIT * n]
    several = len(column.possible) > 1 and COUNT not in column.possible
    if several and len(fitting) == 1 and len(untold) == len(column.possible) - 1:
        (only,) = fitting
        n_fit, n = by_loci[only]
        if column.said in ("", only):
            return Unit(only, f"{n_fit} of {n} values are whole numbers of alleles then, and not otherwise")
        why = f"the heading says {column.said}, but only as {only} are the values whole numbers of alleles"
        return Unit("", why, column.choices)
    if column.may_be_counts_or_percents and PERCENT in untold and by_loci[PERCENT][1] >= LEAST_TELLING:
        n_fit, n = by_loci[PERCENT]
        return Unit(
            COUNT, f"whole numbers, and as percents only {n_fit} of {n} would be whole numbers of loci"
        )
    return None


def _count_or_percent(column: _Numbers) -> Unit | None:
    """Whether whole numbers under a heading of alleles or loci are percentages that whole alleles give."""
    of_loci = re.search(r"\b(alleles?|loci|locus)\b", column.heading.casefold())
    if not column.may_be_counts_or_percents or not of_loci:
        return None
    n_none, n, chance = whole_percents(column.filled, column.steps)
    if n_none >= 2 and n_none > LEAST_NONE * n:
        return Unit(
            COUNT, f"whole numbers, {n_none} of {n} of which are not the percentage of any number of alleles"
        )
    if n and not n_none and chance < UNLIKELY and column.said != COUNT:
        return Unit(
            PERCENT, f"each of {n} whole numbers is a percentage of some number of alleles, as few counts are"
        )
    return None


def _by_its_heading(column: _Numbers) -> Unit | None:
    if not column.said or column.said not in column.possible:
        return None
    beside = f", and {column.n_above}" if column.said == PERCENT and column.above else ""
    return Unit(column.said, f"the heading says so{beside}")


def _by_size(column: _Numbers) -> Unit:
    """The one unit that the numbers could be written in; asked where there are several."""
    if len(column.possible) == 1:
        (only,) = column.possible
        why = column.n_above if only != FRACTION else f"no value is above 1, the largest {column.largest}"
        if only == FRACTION and column.above:
            small = sum(0 < one.value < LEAST_PERCENT for one in column.values)
            less = (
                f"{small} of {len(column.values)} values would be less than one allele if they were percents"
            )
            why = f"{less}, though {column.n_above}"
        return Unit(only, why)
    if COUNT in column.possible:
        n = len(column.values)
        why = f"all {n} values are whole numbers, the largest {column.largest}, and may be a count"
    elif column.above:
        why = column.n_above
    else:
        why = f"each value may be a share, or a percentage of few alleles (the largest is {column.largest})"
    return Unit("", why, column.choices)


def _by_sum(sums: Sequence[tuple[float, int | None]], whole: bool) -> Unit | None:
    """What the sums of a row's shares say, where most of them say the same."""
    to = {
        FRACTION: sum(abs(total - 1) <= 0.011 for total, _ in sums),
        PERCENT: sum(abs(total - 100) <= 1.1 for total, _ in sums),
        COUNT: sum(bool(loci) and total == 2 * (loci or 0) for total, loci in sums) if whole else 0,
    }
    best = max(to, key=lambda unit: to[unit])
    if to[best] < max(1, 0.5 * len(sums)) or list(to.values()).count(to[best]) > 1:
        return None
    whole_of = {FRACTION: "1", PERCENT: "100", COUNT: "all alleles"}[best]
    return Unit(best, f"the shares of a row sum to {whole_of} in {to[best]} of {len(sums)} rows")


def plainly(unit: Unit, values: Sequence[Written], *, in_heading: str, n_signed: int, steps: int) -> bool:
    """Return whether the numbers of one part of a file are in its unit whatever the other parts are in."""
    if not unit.name or in_heading == unit.name:
        return bool(unit.name)
    above = any(one.value > 1 + ROUNDING for one in values)
    if unit.name == FRACTION:
        return not above and any(one.value and not could_be(PERCENT, one, steps) for one in values)
    return above or n_signed > 0


def values_against(unit: str, values: Sequence[float | None]) -> int:
    """Return how many numbers of a column contradict its unit: percents below one allele, fractions
    above 1."""
    given = [value for value in values if value is not None]
    if unit == PERCENT:
        return sum(0 < value < LEAST_PERCENT for value in given)
    if unit == COUNT:
        return 0
    return sum(value > 1 + ROUNDING for value in given)
