"""Shares too regular for fish: a few values alone (midpoints of classes), or each one step above the next (ranks)."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from geneticlog.rules.lab_return.draft import Draft

PURE = 0.05  # of one: nearer to 0 or 1 fish share their few alleles; first crosses are all alike, too
LEAST_MIXED, MOST_VALUES, EACH = 12, 5, 3  # shares between, values among them, and shares for each of these
LEAST_STEPS = 12  # shares, each one step above the next
FEW_LOCI = 10  # as few have few values
ONE_DIGIT = 0.02  # of one: half a digit written, from which shares of mixed fish fall together by rounding
APART = 0.2  # of one: values written with one digit that skip their neighbours


def few_values(drafts: Sequence[Draft]) -> str:
    """Return what to ask where many mixed fish have few different shares between them, or the empty text.

    At 25 loci and more two mixed fish seldom share one count of alleles of fifty. Files of 0, quarters and 1 alone are
    ``only_quarters``'s.
    """
    mixed = [
        draft for draft in drafts if draft.q is not None and PURE < draft.q < 1 - PURE and draft.q != 0.5
    ]
    values = sorted({round(draft.q or 0.0, 9) for draft in mixed})
    loci = max((draft.n_loci for draft in drafts if draft.n_loci), default=0)
    if len(mixed) < LEAST_MIXED or len(values) > min(MOST_VALUES, len(mixed) // EACH) or 0 < loci <= FEW_LOCI:
        return ""
    if all(abs(4 * value - round(4 * value)) < 1e-9 for value in values):
        return ""
    by_rounding = max(draft.half_digits[0] for draft in mixed) > ONE_DIGIT
    if by_rounding and (len(values) < 3 or any(b - a < APART - 1e-9 for a, b in pairwise(values))):
        return ""
    named = ", ".join(f"{value:.4g}" for value in values)
    return (
        f"{len(mixed)} fish of mixed ancestry have only {len(values)} different shares between them ({named}): are"
        " they classes written as numbers, or rounded to these?"
    )


def even_steps(drafts: Sequence[Draft]) -> str:
    """Return what to ask where the shares of a file, in order, all go up by one step, or the empty text.

    Ranks and percentiles do, and numbers that a spreadsheet filled in; fish do not.
    """
    shares = sorted(draft.q for draft in drafts if draft.q is not None)
    steps = [b - a for a, b in pairwise(shares)]
    if len(shares) < LEAST_STEPS or steps[0] <= 1e-9 or any(abs(step - steps[0]) > 1e-6 for step in steps):
        return ""
    return (
        f"the {len(shares)} shares, in order, go from {shares[0]:.3g} to {shares[-1]:.3g} by steps of {steps[0]:.3g}:"
        " are they ranks or percentiles, or did a spreadsheet fill them in?"
    )
