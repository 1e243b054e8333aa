"""Whether a row of a later file says the same of a vial as an earlier one, at the precision written.

0.21 and 21.0 % are the same, and so is 0.2105 as far as 0.21 can tell. A row that is the same changes nothing; one that
is the same and tells more (digits, loci, H, genotypes) takes the earlier one's place without being asked about.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

from geneticlog.rules.finding.finding_kinds import FINDINGS, FindingKind
from geneticlog.rules.lab_return.drafts.draft import Draft
from geneticlog.rules.result.result_states import Outcome

SHARES = ("q", "other_q", "third_q", "heterozygosity")
FURTHER = ("n_loci", "call_rate", "lab_class")


class Again(StrEnum):
    """What a later row is beside the earlier one."""

    SAME = "same"
    MORE = "the same and more"
    OTHER = "another"


@dataclass(frozen=True)
class Before:
    """What an earlier row said: its values, half the last digit written of its shares, and what was found in it.

    found: kind of finding -> what stood in the cell, as the finding told it ("" where it told none).
    """

    outcome: Outcome
    values: Mapping[str, Any]
    half_digits: Mapping[str, float] = field(default_factory=dict)
    genotypes: Mapping[str, int | None] | None = None
    found: Mapping[str, str] = field(default_factory=dict)


USUAL, LEAST_WRITTEN = (
    0.5,
    4,
)  # share of a column's values that are written alike, and values, to tell its digits


def usual_half_digit(halves: Collection[float]) -> float:
    """Return half the last digit to which most values of a column are written, or a large one where they differ.

    A spreadsheet drops noughts at the end, so that 0.5 in a column of four digits is 0.5000 and not about one half.
    """
    written = [half for half in halves if half > 0]
    if len(written) < LEAST_WRITTEN:
        return math.inf
    half, n = Counter(written).most_common(1)[0]
    return half if n > USUAL * len(written) else math.inf


def compare_again(before: Before, draft: Draft, *, is_blank: bool = False) -> Again:
    """Return what a later row is beside the earlier one of the same vial.

    is_blank
        the vial holds no fish, so that a failure is no finding.
    """
    if draft.outcome != before.outcome or _found_more(before, draft, is_blank):
        return Again.OTHER
    halves = {"q": draft.half_digits[0], "heterozygosity": draft.half_digits[1]}
    more = False
    for name in SHARES:
        old, new = before.values.get(name), getattr(draft, name)
        if old is None or new is None:
            more = more or (old is None and new is not None)
            if new is None and old is not None and name == "q":
                return Again.OTHER
            continue
        old_half = before.half_digits.get(name, 0.0)
        new_half = halves.get(name, halves["q"])
        if abs(old - new) > max(old_half, new_half) + 1e-9:
            return Again.OTHER
        more = more or (old != new and new_half < 0.5 * old_half)
    for name in FURTHER:
        old, new = before.values.get(name), getattr(draft, name)
        if new is not None and old is not None and not _alike(old, new):
            return Again.OTHER
        more = more or (old is None and new is not None)
    if draft.genotypes:
        if before.genotypes and dict(before.genotypes) != dict(draft.genotypes):
            return Again.OTHER
        more = more or not before.genotypes
    return Again.MORE if more else Again.SAME


def _alike(old: Any, new: Any) -> bool:
    if isinstance(old, float) or isinstance(new, float):
        return abs(float(old) - float(new)) <= 0.005 + 1e-9  # a call rate, written to the percent
    if isinstance(old, str):
        return old.strip().casefold() == str(new).strip().casefold()
    return bool(old == new)


def _found_more(before: Before, draft: Draft, is_blank: bool) -> bool:
    """Whether there is something doubtful in the later row that nobody knew of the earlier one."""
    for kind, facts in draft.noted:
        if FINDINGS[kind].per_file or (kind == FindingKind.FAILED and is_blank):
            continue
        if kind == FindingKind.LOW_CALL_RATE and FindingKind.TOO_FEW_LOCI in before.found:
            continue  # told as too few loci, which says more
        if kind not in before.found:
            return True
        if FINDINGS[kind].holds and "written" in facts and str(facts["written"]) != before.found[kind]:
            return True
    return False
