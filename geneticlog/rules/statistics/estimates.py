"""A number with its interval, and the words for how reliable it is."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, log
from typing import NamedTuple

from geneticlog.rules.arguments import NumberFault, count, level_of, proportion

NO_FISH = "no fish"
ONE_FISH = "one fish"
TOO_FEW = "too few to read"
WIDE = "wide"
ONE_FISH_A_CLASS = "one fish a class"

NORMAL_95 = 1.959964  # normal quantile of a two-sided 95 % interval
ALPHA = 0.05  # a p, after Holm where several are shown together, below it is more than chance explains
LEAST_TO_READ = 5  # fish; below it a half-width is over 1.2 standard deviations
WIDE_FROM = 0.30  # width of an interval of a proportion above which it separates little


class Limits(NamedTuple):
    """The two ends of an interval."""

    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Estimate:
    """A mean, share or difference with its interval.

    mean, low, high
        The number and its limits, in the unit of what was asked; None where there is none to give
        (no fish; one fish, which has a mean and no interval).
    n
        Fish behind it.
    n_effective
        Independent observations (alleles for a mean, fish for a share) that would carry as much; None if unknown.
    guard
        "" when it may be read as it stands, else words joined by "; ": "no fish", "one fish",
        "too few to read" (fewer than 5 fish), "wide" (limits more than 0.30 apart).
    level
        Confidence level of the limits.
    se, df
        Standard error of the mean and its degrees of freedom; None if there is none.
    """

    mean: float | None
    low: float | None
    high: float | None
    n: int
    n_effective: float | None = None
    guard: str = ""
    level: float = 0.95
    se: float | None = None
    df: float | None = None

    @property
    def width(self) -> float | None:
        """Distance between the limits, None without limits."""
        return None if self.low is None or self.high is None else self.high - self.low

    @property
    def unseen(self) -> float | None:
        """The largest share of the lake that a kind of fish can make up and still be absent from n fish."""
        return unseen_share(self.n, self.level) if self.n else None


def guard_words(n: int, low: float | None, high: float | None, *more: str) -> str:
    """Return the guard of n fish with these limits, "" when there is nothing to warn of; ``more`` is appended."""
    words = []
    if n == 0:
        words.append(NO_FISH)
    elif n == 1:
        words.append(ONE_FISH)
    elif n < LEAST_TO_READ:
        words.append(TOO_FEW)
    if low is not None and high is not None and high - low > WIDE_FROM:
        words.append(WIDE)
    return "; ".join([*words, *(word for word in more if word)])


def unseen_share(n: int, level: float = 0.95) -> float:
    """Return the largest share of the lake that n fish can miss altogether.

    ``1 - (1 - level)**(1/n)``: the one-sided upper limit for a kind of fish of which none was seen. 0.312 at 8
    fish, 0.095 at 30. No interval drawn from a sample knows of fish that are not in it, so this is printed beside it.

    n
        Fish in the sample; 0 gives 1.0, nothing is known.
    raises
        NumberFault for a number of fish that is negative or not whole, or a level outside 0 to 1.
    source
        The exact binomial limit at 0 of n (Clopper & Pearson 1934, one-sided).
    """
    n = count(n, "number of fish")
    return float(1 - (1 - level_of(level)) ** (1 / n)) if n else 1.0


def reaches_the_unseen(low: float | None, high: float | None, seen: float, unseen: float | None) -> bool:
    """Return whether the limits of a mean q reach as far as a kind of fish that was missed could move it.

    A pure kind of share u that none of the fish is of makes their mean m one of (1 - u) m and (1 - u) m + u. Limits
    drawn from fish that vary do not reach so far; those of fish that are all of one kind may.

    low, high
        Limits of the mean, 0 to 1; None for none, which reach nowhere.
    seen
        The mean m of the fish met; 0 or 1 where they are all of one kind.
    unseen
        The share u; None where it is not known.
    raises
        NumberFault for a number outside 0 to 1.
    """
    if low is None or high is None or unseen is None:
        return False
    m, u = proportion(seen, "mean q"), proportion(unseen, "share unseen")
    low, high = proportion(low, "lower limit"), proportion(high, "upper limit")
    return low <= (1 - u) * m and high >= (1 - u) * m + u


def fish_to_meet(share: float, level: float = 0.95) -> int:
    """Return the least n fish that cannot miss a kind of this share (0 to 1): ``unseen_share(n) <= share``."""
    if not 0 < share < 1:
        raise NumberFault(f"share {share:g} is not between 0 and 1")
    return ceil(log(1 - level_of(level)) / log(1 - share) - 1e-9)
