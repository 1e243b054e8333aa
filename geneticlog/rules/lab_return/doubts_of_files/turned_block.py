"""A part of a file whose shares are those of the other taxon, as the classes beside some of its fish show.

A file put together of two files turns q into 1 - q from some row on. The pure fish there contradict their class and are
held one by one; those between them, of mixed ancestry, say nothing, and are as wrong.
"""

from __future__ import annotations

from collections.abc import Sequence

from geneticlog.rules.finding.finding_kinds import FindingKind
from geneticlog.rules.lab_return.columns.lab_classes import class_meant
from geneticlog.rules.lab_return.drafts.draft import Draft
from geneticlog.rules.lab_return.words.headings import Taxa

LEAST_AGAINST, LEAST_AGREEING = (
    3,
    2,
)  # pure fish that contradict their class in one block, and that agree outside it


def turned_block(drafts: Sequence[Draft], taxa: Taxa) -> dict[int, list[str]]:
    """Return, by row, that it is among fish whose class says the other taxon, in words; none outside one such block."""
    agrees: dict[int, bool] = {}
    for i, draft in enumerate(drafts):
        if draft.q is None or class_meant(draft.lab_class or "", taxa) not in (taxa.taxon, taxa.other_taxon):
            continue
        agrees[i] = all(noted.kind != FindingKind.CLASS_CONTRADICTS for noted in draft.noted)
    against = [i for i, agree in agrees.items() if not agree]
    agreeing = [i for i, agree in agrees.items() if agree]
    if len(against) < LEAST_AGAINST or len(agreeing) < LEAST_AGREEING:
        return {}
    if any(against[0] < i < against[-1] for i in agreeing):
        return {}
    first = max((i for i in agreeing if i < against[0]), default=-1) + 1
    last = min((i for i in agreeing if i > against[-1]), default=len(drafts)) - 1
    words = (
        f"it is among {len(against)} fish whose class says the other taxon, and none of whose class agrees"
    )
    return {
        drafts[i].row: [words]
        for i in range(first, last + 1)
        if drafts[i].q is not None and agrees.get(i) is not False
    }
