"""What about a lake asks for attention, each reason with its urgency: 6 first, 1 last. Common practice, no source."""

from __future__ import annotations

from dataclasses import dataclass

from geneticlog.rules.genetics.taxa import Pair
from geneticlog.rules.lakes.state import State
from geneticlog.rules.report.comparability import more_than_chance
from geneticlog.rules.sentences import n_of
from geneticlog.rules.statistics.estimates import LEAST_TO_READ

NO_RESULT = "no result yet"  # the working list says the state of the samples in its place
MOSTLY = 0.8  # of the swabbed fish with a result; fewer are a reason
Reason = tuple[int, str]


@dataclass(frozen=True)
class Shift:
    """A fall or a rise of the share against the survey before: in what the two differ, p after Holm over all lakes,
    and whether it is less than matters; misread: misreading alone may be all that parts the two.
    """

    differs: tuple[str, ...] = ()
    p_holm: float | None = None
    small: bool = False
    misread: bool = False


@dataclass(frozen=True)
class Seen:
    """What is known of a lake.

    latest, days
        whether it was ever surveyed, and how many days ago.
    n_latest
        fish with a result on the latest survey, of any pair of taxa; n_other_latest of them of another pair.
    is_latest
        whether the survey that is shown is the latest.
    n, n_other, n_swabbed
        fish with a result of the survey that is shown, those for other taxa, and fish swabbed; n None: no result.
    wide
        whether the interval of its mean is.
    """

    pair: Pair
    n_open: int = 0
    fall: Shift | None = None
    latest: bool = False
    days: int | None = None
    n_latest: int = 0
    n_other_latest: int = 0
    is_latest: bool = True
    n: int | None = None
    n_other: int = 0
    n_swabbed: int = 0
    wide: bool = False


def reasons(seen: Seen, *, old_after_days: int) -> list[Reason]:
    """Return what asks for attention, each with its urgency."""
    given = []
    if seen.n_open:
        given.append((6, f"{n_of(seen.n_open, 'finding')} to decide"))
    if seen.fall is not None:
        given.append(_of_a_fall(seen.fall))
    given += _of_results(seen)
    if seen.n is not None and seen.n < LEAST_TO_READ:
        given.append((3, str(State.TOO_FEW)))
    if seen.days is not None and seen.days > old_after_days:
        given.append((2, f"last surveyed {seen.days} days ago"))
    if seen.n is not None and seen.n >= LEAST_TO_READ and seen.wide:
        given.append((1, "wide interval"))
    without = seen.n_swabbed - (seen.n or 0) - seen.n_other
    if seen.n is not None and seen.n_swabbed and seen.n_swabbed - without < MOSTLY * seen.n_swabbed:
        have = "has" if without == 1 else "have"
        given.append((1, f"{without} of {seen.n_swabbed} swabbed fish {have} no result"))
    if seen.n_other:
        told = n_of(seen.n_other, "result is", "results are")
        given.append(
            (1, f"{told} for other taxa than {seen.pair.taxon} and {seen.pair.other_taxon}, and left out")
        )
    return given


def _of_a_fall(fall: Shift) -> Reason:
    # p belongs to the difference of two surveys; a fall of the lake's it is only where they are alike
    if fall.misread:
        return 1, "lower than the survey before, by no more than misreading alone may explain"
    if fall.differs:
        return 2, f"lower than the survey before, which differs in {' and '.join(fall.differs)}"
    if fall.small:
        return 2, "the share fell since the survey before, by less than matters"
    if more_than_chance(fall.p_holm):
        return 5, "the share fell since the survey before"
    return 3, "the share may have fallen; chance is not ruled out with this many lakes"


def words_of_a_rise(rise: Shift, change: float, since: int) -> str:
    """Return a rise in words, by the same rules as a fall; ``change`` as a share, ``since`` the year before."""
    if rise.misread:
        return "higher than the survey before, by no more than misreading alone may explain"
    if rise.differs:
        return f"higher than the survey before, which differs in {' and '.join(rise.differs)}"
    if rise.small:
        return "the share rose since the survey before, by less than matters"
    if more_than_chance(rise.p_holm):
        return f"the share rose by {change * 100:.0f} points since {since}"
    return "the share may have risen; chance is not ruled out with this many lakes"


def _of_results(seen: Seen) -> list[Reason]:
    """Return whether there is a survey with results at all, and whether it is the latest."""
    if not seen.latest:
        return [(4, "never surveyed")]
    of_pair = f" for {seen.pair.taxon} and {seen.pair.other_taxon}" if seen.n_other_latest else ""
    if seen.n is None:
        return [(4, f"{NO_RESULT}{of_pair}")]
    if not seen.is_latest:
        few = f"only {seen.n_latest} fish with a result" if seen.n_latest else NO_RESULT
        return [(4, f"the latest survey has {few}{of_pair}")]
    return []
