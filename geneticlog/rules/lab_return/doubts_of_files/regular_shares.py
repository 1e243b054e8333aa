"""Shares too regular for fish: a few values alone (midpoints of classes), each one step above the next (ranks), or each
value twice."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from itertools import pairwise
from math import log

from geneticlog.rules.lab_return.drafts.draft import Draft

PURE = 0.03  # of one: nearer to 0 or 1 fish share their few alleles; first crosses are all alike, too
LEAST_MIXED, MOST_VALUES, EACH = 12, 5, 3  # shares between, values among them, and shares for each of these
PARTS = (
    20,
    16,
    12,
)  # of one: twentieths, sixteenths and twelfths, with tenths, eighths, sixths, fifths and thirds
LEAST_STEPS = 12  # shares, each one step above the next
LEAST_TWICE = 8  # values that each occur twice
MOSTLY, MOSTLY_TWICE = 0.9, 0.7  # of the shares that occur an even number of times, and exactly twice
FEW_LOCI = 10  # as few have few values
ONE_DIGIT = 0.02  # of one: half a digit written, from which shares of mixed fish fall together by rounding
APART = 0.2  # of one: values written with one digit that skip their neighbours
STEP_IN_DIGITS = 4  # half digits in a step, from which rounding does not make uneven steps even


def few_values(drafts: Sequence[Draft]) -> str:
    """Return what to ask where many mixed fish have few different shares between them, or the empty text.

    At 25 loci and more two mixed fish seldom share one count of alleles of fifty. So few are five values among fifteen
    fish, or any number of them that are all whole twentieths, sixteenths or twelfths of one. Three values and more of
    quarters alone are ``only_quarters``'s.
    """
    mixed = [
        draft for draft in drafts if draft.q is not None and PURE < draft.q < 1 - PURE and draft.q != 0.5
    ]
    values = sorted({round(draft.q or 0.0, 9) for draft in mixed})
    loci = max((draft.n_loci for draft in drafts if draft.n_loci), default=0)
    every = {draft.q for draft in drafts if draft.q is not None}
    if len(mixed) < LEAST_MIXED or 0 < loci <= FEW_LOCI or (len(every) > 2 and _all_parts(mixed, 4)):
        return ""
    half = max(draft.half_digits[0] for draft in mixed)
    if half > ONE_DIGIT and (len(values) < 3 or any(b - a < APART - 1e-9 for a, b in pairwise(values))):
        return ""
    named = ", ".join(f"{value:.4g}" for value in values[: MOST_VALUES + 1])
    if len(values) <= min(MOST_VALUES, len(mixed) // EACH):
        return (
            f"{len(mixed)} fish of mixed ancestry have only {len(values)} different shares between them ({named}): are"
            " they classes written as numbers, or rounded to these?"
        )
    part = next((part for part in PARTS if half < ONE_DIGIT and _all_parts(mixed, part)), 0)
    if not part:
        return ""
    return (
        f"the shares of {len(mixed)} fish of mixed ancestry are all whole parts of {part} ({named} …): are they classes"
        " written as numbers, or rounded to these?"
    )


def _all_parts(drafts: Sequence[Draft], of: int) -> bool:
    """Whether each share is a whole number of such parts of one, as far as its digits tell."""
    return all(
        abs((draft.q or 0.0) - round((draft.q or 0.0) * of) / of) <= draft.half_digits[0] + 1e-9
        for draft in drafts
    )


def each_twice(drafts: Sequence[Draft]) -> str:
    """Return what to ask where each share, with the loci beside it, occurs exactly twice, or the empty text."""
    known = [
        draft for draft in drafts if draft.q is not None and PURE < draft.q < 1 - PURE and not draft.genotypes
    ]
    times = Counter((draft.q, draft.heterozygosity, draft.n_loci) for draft in known)
    twice = sum(n == 2 for n in times.values())
    even = sum(n for n in times.values() if n % 2 == 0)
    if twice < LEAST_TWICE or even < MOSTLY * len(known) or 2 * twice < MOSTLY_TWICE * len(known):
        return ""
    if len({draft.code for draft in known}) < len(known):
        return ""
    if twice < len(times):
        return (
            f"{twice} of {len(times)} shares occur exactly twice among {len(known)} vials: was a part of the table"
            " pasted again beside other vials, or are they second wells of the same samples?"
        )
    return (
        f"each of {len(times)} shares occurs exactly twice among {len(known)} vials: was a part of the table pasted"
        " again beside other vials, or are they second wells of the same samples?"
    )


def even_steps(drafts: Sequence[Draft]) -> str:
    """Return what to ask where the shares of a file, in order, all go up by one step or by one factor, or "".

    Ranks and percentiles do, and numbers that a spreadsheet filled in; fish do not. The steps are as even as the digits
    written can show.
    """
    known = sorted((draft.q, draft.half_digits[0]) for draft in drafts if draft.q is not None)
    shares = [share for share, _ in known]
    n = len(shares)
    if n < LEAST_STEPS or shares[0] == shares[-1]:
        return ""
    step, half = (shares[-1] - shares[0]) / (n - 1), max(half for _, half in known)
    if _on_a_line(shares, 0.0 if step < STEP_IN_DIGITS * half else half):
        way = f"steps of {step:.3g}"
    elif (
        shares[0] > 0
        and shares[1] - shares[0] >= STEP_IN_DIGITS * half
        and _on_a_line([log(share) for share in shares], half / shares[0])
    ):
        way = f"a factor of {(shares[-1] / shares[0]) ** (1 / (n - 1)):.3g}"
    else:
        return ""
    return (
        f"the {n} shares, in order, go from {shares[0]:.3g} to {shares[-1]:.3g} by {way}: are they ranks or"
        " percentiles, or did a spreadsheet fill them in?"
    )


def own_ranks(drafts: Sequence[Draft]) -> str:
    """Return what to ask where each share is its own rank among all, as a part of their number, or the empty text.

    Shares of fish lie around their ranks as chance has it, by far more than one rank. Ties may have any of their ranks.
    """
    known = [(draft.q, draft.half_digits[0]) for draft in drafts if draft.q is not None]
    n, half = len(known), max((half for _, half in known), default=0.0)
    if len({share for share, _ in known}) < LEAST_STEPS or half * n > 1:
        return ""
    shares = sorted(share for share, _ in known)
    first = {share: i for i, share in reversed(list(enumerate(shares)))}
    last = {share: i for i, share in enumerate(shares)}
    if any(not first[one] / n - half <= one <= (last[one] + 1) / n + half for one in first):
        return ""
    return (
        f"each of the {n} shares is its own rank among them ({shares[0]:.3g} the lowest, {shares[-1]:.3g} the highest):"
        " are they ranks or percentiles?"
    )


def _on_a_line(values: Sequence[float], room: float) -> bool:
    """Whether each value is as far from the last as all are on the average, but for the room on both sides."""
    step = (values[-1] - values[0]) / (len(values) - 1)
    return all(abs(value - values[0] - i * step) <= 2 * room + 1e-6 for i, value in enumerate(values))
