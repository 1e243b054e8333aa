"""Percent or fraction: which of the two a column of proportions is written in, and on what evidence."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

FRACTION, PERCENT = "fraction", "percent"
# One allele of the largest panel known (73 loci: Silliman et al. 2021, Evolutionary Applications
# 14:2815-2830) is 0.68 %: a proportion above nought and below this is no percentage counted on diagnostic
# loci.
LEAST_PERCENT = 0.65
ROUNDING = 0.0005  # above 1: not a rounded whole


@dataclass(frozen=True)
class Unit:
    """The unit of a column, "" where two readings are possible; ``evidence`` says why, in words."""

    name: str
    evidence: str


def unit_in_heading(heading: str) -> str:
    """Return the unit that a heading names, or the empty text."""
    words = heading.casefold()
    if "%" in words or re.search(r"\b(per ?cent(age)?|pct|perc)\b", words):
        return PERCENT
    if re.search(r"\b(prop(ortion)?s?|fraction|freq(uency)?|share|0 ?(-|to|–) ?1)\b", words):
        return FRACTION
    return ""


def unit_of(
    values: Sequence[float],
    *,
    heading: str = "",
    n_signed: int = 0,
    sums: Sequence[float] = (),
) -> Unit:
    """Return whether a column of proportions is in percent or a fraction of one.

    values
        the column's numbers as written, those with a percent sign left out.
    heading
        the column's heading.
    n_signed
        how many further numbers carry a percent sign.
    sums
        where the file has every taxon's share, each row's sum: 1 or 100.
    """
    said = unit_in_heading(heading)
    if n_signed and not values:
        return Unit(PERCENT, f"all {n_signed} numbers carry a percent sign")
    if n_signed:
        return Unit("", f"{n_signed} numbers carry a percent sign and {len(values)} do not")
    if not values:
        return Unit(FRACTION, "the column holds no number")
    to_one = sum(abs(total - 1) <= 0.011 for total in sums)
    to_hundred = sum(abs(total - 100) <= 1.1 for total in sums)
    if max(to_one, to_hundred) >= max(1, 0.5 * len(sums)) and to_one != to_hundred:
        name, whole, n = (FRACTION, 1, to_one) if to_one > to_hundred else (PERCENT, 100, to_hundred)
        return Unit(name, f"the shares of a row sum to {whole} in {n} of {len(sums)} rows")
    above = [value for value in values if value > 1 + ROUNDING]
    filled = [value for value in values if value != 0]
    n_above = f"{len(above)} of {len(values)} values are above 1, the largest {max(values):g}"
    if not filled:
        return Unit(said or FRACTION, "every value is 0, the same in both readings")
    if said == FRACTION:
        if 2 * len(above) > len(filled):
            return Unit("", f"the heading says a fraction, but {n_above}")
        return Unit(FRACTION, "the heading says so" + (f", though {n_above}" if above else ""))
    if said == PERCENT:
        if above:
            return Unit(PERCENT, f"the heading says so, and {n_above}")
        return Unit("", f"the heading says percent, but no value is above 1 (the largest is {max(values):g})")
    if not above:
        if any(0 < value < 1 for value in values):
            return Unit(FRACTION, f"no value is above 1, the largest {max(values):g}")
        return Unit("", "every value is 0 or 1, and 1 may be one percent or the whole")
    too_small = sum(0 < value < LEAST_PERCENT for value in values)
    if 2 * len(above) >= len(filled) and 2 * too_small < len(filled):
        return Unit(PERCENT, n_above)
    if 2 * too_small >= len(filled) and len(above) <= max(1, len(filled) // 10):
        small = f"{too_small} of {len(values)} values would be less than one allele if they were percents"
        return Unit(FRACTION, f"{small}, though {n_above}")
    return Unit("", n_above)


def values_against(unit: str, values: Sequence[float | None]) -> int:
    """Return how many numbers of a column speak against its unit: percents below one allele, fractions
    above 1."""
    given = [value for value in values if value is not None]
    if unit == PERCENT:
        return sum(0 < value < LEAST_PERCENT for value in given)
    return sum(value > 1 + ROUNDING for value in given)
