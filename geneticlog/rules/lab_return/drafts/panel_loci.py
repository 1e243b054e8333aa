"""The loci scored, taken from the panel where a file has none and every proportion fits."""

from __future__ import annotations

from collections.abc import Sequence

from geneticlog.rules.finding.finding_kinds import FINDINGS, FindingKind
from geneticlog.rules.lab_return.columns.value_checks import check_pair
from geneticlog.rules.lab_return.drafts.draft import Draft


def give_panel_loci(drafts: Sequence[Draft], panel_loci: int | None) -> bool:
    """Give the panel's number of loci to results of a file that does not tell it; return whether that was
    done.

    Only where every proportion is a whole number of alleles at that many loci, as far as its digits can tell;
    otherwise the number stays unknown. The checks that need the number then run.
    """
    typed = [draft for draft in drafts if draft.q is not None]
    if not panel_loci or not typed or any(draft.n_loci is not None for draft in typed):
        return False
    for draft in typed:
        alleles, room = 2 * panel_loci * (draft.q or 0.0), 2 * panel_loci * draft.half_digits[0]
        if room >= 0.25 or abs(alleles - round(alleles)) > room + 0.02:
            return False
    for draft in typed:
        draft.n_loci = panel_loci
        again = check_pair(draft.q or 0.0, draft.heterozygosity, panel_loci, *draft.half_digits)
        draft.noted = [noted for noted in draft.noted if noted.kind not in _OF_A_PAIR] + again
        draft.held = any(FINDINGS[noted.kind].holds for noted in draft.noted)
    return True


_OF_A_PAIR = frozenset(
    {
        FindingKind.BREAKS_BOUND,
        FindingKind.LESS_THAN_ONE_LOCUS,
        FindingKind.ZERO_HETEROZYGOSITY,
        FindingKind.OFF_GRID,
        FindingKind.ODD_PARITY,
    }
)
