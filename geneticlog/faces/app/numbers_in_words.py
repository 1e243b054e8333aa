"""How numbers are written for people: percent in sentences, three decimals in tables; absent is a dash."""

from __future__ import annotations

from datetime import date
from math import ceil, floor

from geneticlog.rules.species import SPECIES

NONE = "–"


def day(when: date) -> str:
    """Return a date as 9 April 2026."""
    return f"{when.day} {when:%B %Y}"


def species_said(species: str) -> str:
    """Return the printed name of a species; as stored where it has none."""
    return SPECIES[species].printed if species in SPECIES else species


def percent(value: float | None) -> str:
    """Return a proportion in percent: whole, but for one decimal below 10 and from 99 on, where it matters."""
    if value is None:
        return NONE
    hundred = value * 100
    if hundred in (0, 100) or 9.95 <= hundred < 98.95:
        return f"{hundred:.0f} %"
    return f"{_to_a_tenth(value)} %"


def _to_a_tenth(value: float) -> str:
    text = f"{value * 100:.1f}"
    if text == "100.0" and value < 1 - 1e-9:
        return "over 99.9"
    return "under 0.1" if text == "0.0" and value > 1e-9 else text


def tenth(value: float | None) -> str:
    """Return a proportion that stands beside its interval, to one decimal like its ends."""
    return NONE if value is None else f"{_to_a_tenth(value)} %"


def whole_percent(value: float | None) -> str:
    """Return a proportion in whole percent, for an owner; never 0 or 100 where it is not."""
    return NONE if value is None else f"{_whole(value)} %"


def whole_range(low: float | None, high: float | None) -> str:
    """Return an interval in whole percent, its ends rounded outwards, so that it never looks narrower than it is."""
    if low is None or high is None:
        return "no range"
    return f"{floor(low * 100 + 1e-9)} to {ceil(high * 100 - 1e-9)} %"


def whole_points(value: float) -> str:
    """Return a difference of proportions in whole percentage points, without its sign."""
    hundred = abs(value) * 100
    return f"{max(hundred, 1):.0f} point{'s' * (round(hundred) > 1)}"


def within_points(low: float, high: float) -> str:
    """Return how far from 0 a difference may be, in whole percentage points, rounded outwards."""
    most = max(1, ceil(max(-low, high) * 100 - 1e-9))
    return f"{most} point{'s' * (most > 1)}"


def _whole(value: float) -> str:
    hundred = value * 100
    if 0 < hundred < 0.5:
        return "under 1"
    return "over 99" if 99.5 <= hundred < 100 else f"{hundred:.0f}"


def percent_range(low: float | None, high: float | None) -> str:
    """Return an interval in percent: both ends to one decimal, whatever they are, so that all intervals are alike."""
    if low is None or high is None:
        return "no interval"
    return f"{_to_a_tenth(low)} to {_to_a_tenth(high)} %"


def points(value: float) -> str:
    """Return a difference of proportions in percentage points."""
    return f"{value * 100:.1f} points"


def signed_points(value: float) -> str:
    """Return a difference of proportions in percentage points, with its sign."""
    return f"{value * 100:+.1f} points".replace("-", "−")


def points_range(low: float, high: float) -> str:
    """Return the interval of a difference in percentage points, with its signs."""
    return f"{low * 100:+.1f} to {high * 100:+.1f} points".replace("-", "−")


def three(value: float | None) -> str:
    """Return a proportion for a table."""
    if value is None:
        return NONE
    text = f"{value:.3f}"
    return "0.000" if text == "-0.000" else text.replace("-", "−")


def three_range(low: float | None, high: float | None) -> str:
    return NONE if low is None or high is None else f"{three(low)} to {three(high)}"


def whole(value: float | None) -> str:
    """Return an index that is printed as a whole number, halves upwards."""
    return NONE if value is None else f"{int(value + 0.5)}"


def two(value: float | None) -> str:
    """Return a number that runs from -1 to 1, for a sentence."""
    return NONE if value is None else f"{value:.2f}".replace("-", "−")


def two_range(low: float | None, high: float | None) -> str:
    return NONE if low is None or high is None else f"{two(low)} to {two(high)}"


def one(value: float | None) -> str:
    return NONE if value is None else f"{value:.1f}"


def p_value(p: float | None) -> str:
    if p is None:
        return NONE
    return "< 0.001" if p < 0.001 else f"{p:.3f}"
