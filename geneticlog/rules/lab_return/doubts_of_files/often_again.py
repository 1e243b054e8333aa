"""One share at many vials of a file, though not in a row: a code for no result, or a mean that was filled in."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Sequence
from itertools import pairwise
from math import floor, pi, sqrt

from scipy.special import gammainc

from geneticlog.rules.lab_return.doubts_of_files.copied_down import AROUND, is_mixed
from geneticlog.rules.lab_return.drafts.draft import Draft

LEAST_AGAIN, LEAST_OTHERS = 3, 10  # vials of one share, and of others
APART, FAR_APART = 0.15, 0.3  # of one: from a code to the nearest share; where three vials have it
BY_CHANCE = 1e-5  # files in which so many fish share one value
FEW_LOCI = 10


def often_again(drafts: Sequence[Draft], panel_loci: int | None) -> dict[int, list[str]]:
    """Return, by row, that its share is far more frequent than its neighbours, or stands apart from all, in words.

    At most all fish within .05 are of one ancestry, and so often of one share as the binomial count of alleles has its
    most frequent number, or as each of the shares that can be there; more is judged as a Poisson count. Pure fish and
    first crosses are left out.
    """
    typed = [draft for draft in drafts if draft.q is not None and not draft.genotypes]
    shares = sorted(draft.q or 0.0 for draft in typed)
    loci = max((draft.n_loci for draft in typed if draft.n_loci), default=panel_loci or 0)
    if loci < FEW_LOCI:
        return {}
    half = max((draft.half_digits[0] for draft in typed), default=0.0)
    step = max(1 / (2 * loci), 2 * half)  # from one share that can be to the next
    doubts: dict[int, list[str]] = {}
    for share, times in Counter(shares).items():
        if times < LEAST_AGAIN or share in (0.0, 1.0) or len(shares) - times < LEAST_OTHERS:
            continue
        if share in (shares[0], shares[-1]) and _stands_apart(share, shares):
            words = f"{times} vials have q {share:.4g}, and no other is near it: perhaps it means no result"
        elif is_mixed(share) and _frequent(share, times, shares, step, loci):
            words = f"{times} vials have q {share:.4g}, far more than any share beside it: perhaps it was filled in"
        else:
            continue
        doubts |= {draft.row: [words] for draft in typed if draft.q == share}
    return doubts


def _stands_apart(share: float, shares: Sequence[float]) -> bool:
    """Whether a share is the highest or the lowest of all, and far from the next; no pure fish beyond it."""
    others = [one for one in shares if one != share]
    gap = share - others[-1] if share > others[-1] else others[0] - share if share < others[0] else 0.0
    largest = max((b - a for a, b in pairwise(others)), default=0.0)
    few = shares.count(share) == LEAST_AGAIN
    return gap > (FAR_APART if few else APART) and gap > 2 * largest


def _frequent(share: float, times: int, shares: Sequence[float], step: float, loci: int) -> bool:
    near = bisect_right(shares, share + AROUND) - bisect_left(shares, share - AROUND)
    spread = max(share * (1 - share) / (2 * loci), step**2) ** 0.5
    of_one_ancestry, of_each = step / (spread * sqrt(2 * pi)), 1 / max(floor(2 * AROUND / step), 1)
    expected = near * min(max(of_one_ancestry, of_each), 1.0)
    return len(set(shares)) * float(gammainc(times, expected)) < BY_CHANCE
