"""Which surveys of a lake can be compared: what differs between two of them, and which one a report is about."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from geneticlog.rules.lengths import MM_PER
from geneticlog.rules.schemes import Scheme
from geneticlog.rules.statistics.estimates import ALPHA, LEAST_TO_READ
from geneticlog.rules.statistics.missed_kind import MissedKind

SEASON_MONTHS = 1  # surveys further apart in the year are of another season; common practice, no source
LOCI_APART = 0.1  # gap between two ranges of loci scored, of the smaller number; the project's own
MATTERS = 0.10  # the difference that matters, unless another was asked for: ten points; a choice
LEAST_COMMON = 0.8  # share of each catch that the classes with results in both surveys should make up


class Aspect(StrEnum):
    """What of two surveys can be the same or differ. Codes: faces put them in words."""

    GEAR = "gear"
    PANEL = "panel"
    LOCI = "loci scored"
    SEASON = "season"
    SIZE_CLASSES = "size classes"
    SIZES_TYPED = "sizes typed"  # the size classes with results in both are too small a part of a catch


@dataclass(frozen=True)
class Footing:
    """How the numbers of one survey were made: what two surveys must share to be compared.

    panels
        Codes of the panels behind the results; empty where no result names one.
    loci
        Fewest and most loci scored of a result; None where no result states them.
    unit
        Unit that lengths were measured in: a scheme has a table of limits for each.
    """

    on: date
    gear: str
    panels: frozenset[str]
    loci: tuple[int, int] | None
    scheme: Scheme
    unit: str


def is_small(
    low: float | None, high: float | None, missed: MissedKind | None, matters: float = MATTERS
) -> bool:
    """Return whether a difference may be called small, or two groups alike: the one rule of every face.

    Its limits are nearer to 0 than what matters, and so is all that a kind of fish could do of which neither group
    showed one: few fish that hardly vary have narrow limits whatever they missed.
    """
    return nears_nothing(low, high, matters) and missed is not None and missed.moves < matters


def more_than_chance(p_holm: float | None) -> bool:
    """Return whether a p, after Holm where several are shown together, is below what chance explains."""
    return p_holm is not None and p_holm < ALPHA


def chance_not_ruled_out(low: float | None, high: float | None, p_holm: float | None) -> bool:
    """Return whether a difference leaves 0 out by itself, but not among the tests shown beside it (p after Holm)."""
    return (
        low is not None
        and high is not None
        and (low > 0 or high < 0)
        and p_holm is not None
        and not more_than_chance(p_holm)
    )


def nears_nothing(low: float | None, high: float | None, matters: float = MATTERS) -> bool:
    """Return whether a difference with these limits is nearer to 0 than what matters, for fish like those met."""
    return low is not None and high is not None and -matters < low and high < matters


def what_differs(
    earlier: Footing, later: Footing, covered: Iterable[float | None] = ()
) -> tuple[Aspect, ...]:
    """Return what differs between two surveys, so that their difference may not be one of ancestry alone.

    covered
        Share of each survey's catch in the size classes with results in both; nothing where sizes were not compared.
    """
    aspects = []
    if earlier.gear != later.gear:
        aspects.append(Aspect.GEAR)
    if earlier.panels != later.panels:
        aspects.append(Aspect.PANEL)
    elif earlier.loci and later.loci and _far_apart(earlier.loci, later.loci):
        aspects.append(Aspect.LOCI)
    if not same_season(earlier.on, later.on):
        aspects.append(Aspect.SEASON)
    if not same_classes(earlier, later):
        aspects.append(Aspect.SIZE_CLASSES)
    if any(too_little_in_common(share) for share in covered):
        aspects.append(Aspect.SIZES_TYPED)
    return tuple(aspects)


def what_is_alike(earlier: Footing, later: Footing) -> tuple[Aspect, ...]:
    """Return what is known of both surveys and is the same in both."""
    differs = what_differs(earlier, later)
    known = [Aspect.GEAR]
    if earlier.panels:
        known.append(Aspect.PANEL)
    if earlier.loci and later.loci and Aspect.PANEL not in differs:
        known.append(Aspect.LOCI)
    return tuple(one for one in (*known, Aspect.SIZE_CLASSES, Aspect.SEASON) if one not in differs)


def same_classes(earlier: Footing, later: Footing) -> bool:
    """Return whether both surveys give a fish the same size class: same names and limits, in the units measured.

    Limits of the published classes in inches and in millimetres were rounded apart, so two units are two schemes.
    """
    if earlier.unit == later.unit and earlier.scheme == later.scheme:
        return True
    return (
        earlier.scheme.name == later.scheme.name
        and earlier.scheme.classes == later.scheme.classes
        and limits_in(earlier.scheme, earlier.unit) == limits_in(later.scheme, later.unit)
    )


def limits_in(scheme: Scheme, unit: str) -> tuple[float, ...]:
    """Return the least length of each class in a unit: from the scheme's own table of that unit where it has one."""
    table = "in" if unit == "in" else "mm"
    if table not in scheme.least:
        table = next(iter(scheme.least))
    factor = float(MM_PER[table]) / float(MM_PER[unit])
    return tuple(float(limit) * factor for limit in scheme.least[table])


def same_season(one: date, other: date) -> bool:
    """Return whether two days lie in months at most SEASON_MONTHS apart, whatever the year."""
    apart = abs(one.month - other.month)
    return min(apart, 12 - apart) <= SEASON_MONTHS


def too_little_in_common(share: float | None) -> bool:
    """Return whether the compared size classes make up too small a share (0 to 1) of a catch to represent it."""
    return share is not None and share < LEAST_COMMON


def survey_to_report(n_results: Sequence[int]) -> int | None:
    """Return which of a lake's surveys its report is about: its place in the list, None without a survey.

    The latest with enough fish with a result to read; without one the latest with any; without one the latest. So the
    first result of a new survey does not push aside the numbers of the last one that can be read.

    n_results
        Fish with a result in the numbers of each survey, by date.
    """
    for least in (LEAST_TO_READ, 1, 0):
        for at in range(len(n_results) - 1, -1, -1):
            if n_results[at] >= least:
                return at
    return None


def _far_apart(one: tuple[int, int], other: tuple[int, int]) -> bool:
    """Return whether two ranges of loci scored are too far apart to be one set of loci of which a few failed."""
    (_, most), (least, _) = sorted((one, other))
    return least - most > LOCI_APART * most
