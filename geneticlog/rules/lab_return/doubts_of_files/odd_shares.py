"""Shares of a whole file that look as if a spreadsheet had changed them: noughts for no result, and lost noughts."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from statistics import fmean, variance

from geneticlog.rules.lab_return.drafts.draft import Draft

LEAST_ROWS, LEAST_ZERO, MOST_ZERO = (
    10,
    2,
    0.25,
)  # other shares, and shares of exactly 0. Common practice, no source
GAP, LEAST_WIDTH = 0.15, 0.3  # from 0 to the next share, and from there to the highest
LEAST_ALIKE, MOST_ALIKE, PURE = 12, 0.1, 0.05  # fish, and their variance in parts of the binomial one
NEARLY_ALL = 0.8  # of the shares, of one value
F1_LEAST = 0.9  # heterozygosity of a first cross, with some room
LEAST_WHOLE, LEAST_SINGLE = 40, 3  # whole percents; those below 10
LEAST_FROM_TEN = 30  # the others, none of which is a ten in one of 25 such files by chance


def zeros_apart(drafts: Sequence[Draft]) -> str:
    """Return what to ask where some shares are exactly 0 and no other is near it, or the empty text.

    A formula that is told to give 0 where it finds nothing does that. Where the loci scored, a heterozygosity or
    genotypes are given, these show what failed; fish of two kinds beside one another are of two shares.
    """
    typed = [draft for draft in drafts if draft.q is not None]
    if any(draft.n_loci or draft.heterozygosity is not None or draft.genotypes for draft in typed):
        return ""
    others = [draft.q for draft in typed if draft.q]
    n_zero = len(typed) - len(others)
    if len(others) < LEAST_ROWS or not LEAST_ZERO <= n_zero <= MOST_ZERO * len(typed) or 1.0 in others:
        return ""
    if min(others) < GAP or max(others) - min(others) < LEAST_WIDTH:
        return ""
    return (
        f"{n_zero} shares are exactly 0, and the next is {min(others):.3g}: are they fish of one pure taxon, or samples"
        " without a result"
    )


def one_value(drafts: Sequence[Draft]) -> str:
    """Return what to ask where nearly all fish, though of mixed ancestry, have one share, or the empty text.

    First crosses have one half each, and where their heterozygosity shows that they are, nothing is asked.
    """
    typed = [draft for draft in drafts if draft.q is not None]
    if len(typed) < LEAST_ROWS:
        return ""
    (share, times), *_ = Counter(draft.q for draft in typed).most_common(1)
    if times < NEARLY_ALL * len(typed) or share in (0.0, 1.0):
        return ""
    if all((draft.heterozygosity or 0.0) > F1_LEAST for draft in typed):
        return ""
    of = f"all {times}" if times == len(typed) else f"{times} of {len(typed)}"
    return f"{of} shares are {share:.4g}: was one value filled in for every sample"


def too_alike(drafts: Sequence[Draft], panel_loci: int | None) -> str:
    """Return what to ask where mixed fish are more alike than the counting of their alleles lets them be, or "".

    Fish of one ancestry differ by the binomial spread of the alleles that are counted in each; those of a backcross by
    two thirds of its variance. First crosses alone are all alike.
    """
    typed = [draft for draft in drafts if draft.q is not None]
    shares = [draft.q or 0.0 for draft in typed]
    loci = max((draft.n_loci for draft in typed if draft.n_loci), default=panel_loci or 0)
    if len(shares) < LEAST_ALIKE or len(set(shares)) < 2 or not loci:
        return ""
    mean = fmean(shares)
    if not PURE < mean < 1 - PURE or abs(mean - 0.5) < PURE:
        return ""
    if variance(shares) >= MOST_ALIKE * mean * (1 - mean) / (2 * loci):
        return ""
    return (
        f"{len(shares)} shares lie between {min(shares):.3g} and {max(shares):.3g}, closer together than fish of one"
        f" ancestry at {loci} loci: are they means, or one value filled in"
    )


def no_tens(drafts: Sequence[Draft]) -> str:
    """Return what to ask where no one of many whole percents ends in 0, as where 60 lost it and is 6, or "".

    Trailing noughts are dropped where the point is lost from 0.6 beside 0.46.
    """
    shares = [draft.q for draft in drafts if draft.q is not None and 0 < draft.q < 1]
    percents = [round(100 * share) for share in shares]
    whole = all(abs(100 * share - percent) < 1e-6 for share, percent in zip(shares, percents, strict=True))
    below_ten = sum(percent < 10 for percent in percents)
    if (
        not whole
        or len(percents) < LEAST_WHOLE
        or len(percents) - below_ten < LEAST_FROM_TEN
        or below_ten < LEAST_SINGLE
        or any(one % 10 == 0 for one in percents)
    ):
        return ""
    return (
        f"all of {len(percents)} shares are whole percents, {below_ten} of them below 10, and none is 10, 20 or another"
        " ten: was a zero lost, so that 60 is 6"
    )
