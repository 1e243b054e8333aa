"""Loci scored that are too few for a share, or more than the panel has: held for a decision."""

from __future__ import annotations

from collections.abc import Sequence

from geneticlog.rules.finding.finding_kinds import FindingKind
from geneticlog.rules.lab_return.drafts.draft import Draft

# of the panel's loci, or of the most that the file has for a fish; common practice, no source
HELD_SHARE = 0.20
FEWEST = 3  # rows, to speak of the file


def hold_few_called(drafts: Sequence[Draft], panel_loci: int | None) -> None:
    """Hold each fish scored at less than HELD_SHARE of the loci, where no call rate of the lab says it already.

    A lab may use fewer loci than the panel has: where most of its fish are such, the panel is why, and none is held.
    """
    scored = [draft for draft in drafts if draft.n_loci and draft.q is not None and draft.call_rate is None]
    most = max((draft.n_loci or 0 for draft in scored), default=0)
    wanted = max(panel_loci or 0, most)
    few = [draft for draft in scored if (draft.n_loci or 0) < HELD_SHARE * wanted]
    if 2 * len(few) > len(scored):
        return
    for draft in few:
        draft.noted = [noted for noted in draft.noted if noted.kind != FindingKind.LOW_CALL_RATE]
        draft.note(FindingKind.CALL_RATE_TOO_LOW, scored=f"{draft.n_loci} of {wanted} loci")


def note_other_loci(drafts: Sequence[Draft]) -> None:
    """Note once for the file what most of its rows say: that more loci were scored than the panel has."""
    more = [
        draft for draft in drafts if any(one.kind == FindingKind.MORE_LOCI_THAN_PANEL for one in draft.noted)
    ]
    if len(more) < FEWEST or 2 * len(more) < len(drafts):
        return
    for draft in more:
        draft.noted = [
            one._replace(kind=FindingKind.OTHER_LOCI) if one.kind == FindingKind.MORE_LOCI_THAN_PANEL else one
            for one in draft.noted
        ]
