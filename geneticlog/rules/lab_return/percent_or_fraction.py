"""Percent, fraction or count: which of them a column of proportions is written in, and on what evidence.

Each file is judged by itself. A unit is possible where most values could be written in it; where two are possible, the
heading, the sum of a row's shares and whole numbers of alleles decide, and where none does, a person is asked.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

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
    words = heading.casefold()
    if "%" in words or re.search(r"\b(per ?cent(age)?|pct|perc)\b", words):
        return PERCENT
    if re.search(r"\b(prop(ortion)?s?|fractions?|freq(uency)?|0 ?(-|to|–) ?1)\b", words):
        return FRACTION
    if re.search(r"\b(number|count|counts|no|num|n)\b|#", words):
        return COUNT
    return ""


def could_be(unit: str, one: Written, steps: int) -> bool:
    """Return whether a number above zero could be written in a unit; ``steps`` is 2 for alleles, 1 for loci."""
    if unit == FRACTION:
        return one.value <= 1 + ROUNDING
    if unit == COUNT:
        return one.whole and (one.n_loci is None or one.value <= steps * one.n_loci)
    if one.value > 100.0001 or one.value < LEAST_PERCENT * 2 / steps:
        return False
    # Below 2 it can be no more than a few alleles of a panel, and each of these is 100 k / (2 L).
    return one.value >= 1 or _one_allele(one, steps)


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
    """Return how many values are a whole number of alleles (or loci) in a unit, and of how many that can be told."""
    n = n_fit = 0
    for one in values:
        if not one.n_loci or not one.value:
            continue
        scale = steps * one.n_loci / (100 if unit == PERCENT else 1)
        alleles, room = one.value * scale, one.half_digit * scale
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
        how many are none, of how many that can be told, and the chance that as many counts would all be some.
    """
    n = n_none = 0
    chance = 1.0
    for one in values:
        room = one.half_digit * steps * (one.n_loci or 0) / 100
        if not one.n_loci or room + NEAR >= 0.5:
            continue
        n += 1
        alleles = one.value * steps * one.n_loci / 100
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
    said = unit_in_heading(heading)
    if n_signed and not values:
        return Unit(PERCENT, f"all {n_signed} numbers carry their unit")
    if n_signed:
        return Unit("", f"{n_signed} numbers carry a percent sign and {len(values)} do not")
    if not values:
        return Unit(FRACTION, "the column holds no number")
    filled = [one for one in values if one.value]
    if not filled:
        return Unit(said or FRACTION, "every value is 0, the same in both readings")
    whole = counts and all(one.whole for one in values) and said not in (PERCENT, FRACTION)
    if by_sum := _by_sum(sums, whole):
        return by_sum
    units = [FRACTION, PERCENT, *([COUNT] if whole else [])]
    share = {unit: sum(could_be(unit, one, steps) for one in filled) / len(filled) for unit in units}
    if any(one.value <= 1 and not could_be(PERCENT, one, steps) for one in filled):
        share[PERCENT] = 0.0  # a fraction among percents would be taken for less than one allele
    above = sum(one.value > 1 + ROUNDING for one in values)
    n_above = f"{above} of {len(values)} values are above 1, the largest {max(one.value for one in values):g}"
    possible = [unit for unit in units if share[unit] >= MOSTLY]
    if PERCENT in possible and said != PERCENT and _no_few_alleles(values, filled):
        possible.remove(PERCENT)
    choices = tuple(unit for unit in (PERCENT, FRACTION, COUNT) if unit != COUNT or whole)
    if said and said in units and said not in possible:
        said_so = "percent" if said == PERCENT else "a fraction" if said == FRACTION else "a count"
        if said != COUNT:
            beside = (
                n_above
                if above or said != PERCENT
                else f"no value is above 1 (the largest is {max(one.value for one in values):g})"
            )
            return Unit("", f"the heading says {said_so}, but {beside}", choices)
    if all(one.value in (0, 1) for one in values):
        if said == FRACTION:
            return Unit(FRACTION, "the heading says so")
        both = choices if said == COUNT else (PERCENT, FRACTION)
        return Unit("", "every value is 0 or 1, and 1 may be one percent or the whole", both)
    by_loci = {unit: fits(unit, filled, steps) for unit in possible}
    told = [unit for unit, (n_fit, n) in by_loci.items() if n >= 2 and n_fit >= MOST_FIT * n]
    untold = [unit for unit, (n_fit, n) in by_loci.items() if n >= 2 and n_fit <= FEW_FIT * n]
    if len(possible) > 1 and COUNT not in possible and len(told) == 1 and len(untold) == len(possible) - 1:
        n_fit, n = by_loci[told[0]]
        if said in ("", told[0]):
            return Unit(
                told[0], f"{n_fit} of {n} values are whole numbers of alleles then, and not otherwise"
            )
        return Unit(
            "",
            f"the heading says {said}, but only as {told[0]} are the values whole numbers of alleles",
            choices,
        )
    if (
        COUNT in possible
        and PERCENT in possible
        and PERCENT in untold
        and by_loci[PERCENT][1] >= LEAST_TELLING
    ):
        n_fit, n = by_loci[PERCENT]
        return Unit(
            COUNT, f"whole numbers, and as percents only {n_fit} of {n} would be whole numbers of loci"
        )
    if (
        COUNT in possible
        and PERCENT in possible
        and re.search(r"\b(alleles?|loci|locus)\b", heading.casefold())
    ):
        n_none, n, chance = whole_percents(filled, steps)
        if n_none >= 2 and n_none > LEAST_NONE * n:
            return Unit(
                COUNT, f"whole numbers, {n_none} of {n} of which are the percentage of no number of alleles"
            )
        if n and not n_none and chance < UNLIKELY and said != COUNT:
            return Unit(
                PERCENT,
                f"each of {n} whole numbers is a percentage of some number of alleles, as few counts are",
            )
    if said and said in possible:
        return Unit(said, "the heading says so" + (f", and {n_above}" if said == PERCENT and above else ""))
    if len(possible) == 1:
        small = sum(0 < one.value < LEAST_PERCENT for one in values)
        why = (
            n_above
            if possible[0] != FRACTION
            else f"no value is above 1, the largest {max(one.value for one in values):g}"
        )
        if possible[0] == FRACTION and above:
            less = f"{small} of {len(values)} values would be less than one allele if they were percents"
            why = f"{less}, though {n_above}"
        return Unit(possible[0], why)
    if COUNT in possible:
        return Unit("", f"all {len(values)} values are whole numbers, the largest {max(one.value for one in values):g},"
                    " and may be a count", choices)  # fmt: skip
    return Unit("", n_above if above else f"each value may be a share, or a percentage of few alleles (the largest is"
                f" {max(one.value for one in values):g})", choices)  # fmt: skip


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


def values_against(unit: str, values: Sequence[float | None]) -> int:
    """Return how many numbers of a column speak against its unit: percents below one allele, fractions
    above 1."""
    given = [value for value in values if value is not None]
    if unit == PERCENT:
        return sum(0 < value < LEAST_PERCENT for value in given)
    if unit == COUNT:
        return 0
    return sum(value > 1 + ROUNDING for value in given)
