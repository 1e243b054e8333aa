"""Checks of one row of a lab's file: what its numbers cannot be together. None of them corrects anything.

Sources: Silliman et al. 2021, Evolutionary Applications 14:2815-2830, whose per-fish table taught the bound, the
parity and the placeholders; Fitzpatrick 2012, BMC Evolutionary Biology 12:131, for q and H.
"""

from __future__ import annotations

from collections.abc import Sequence

from geneticlog.rules.finding.finding_kinds import FindingKind, Noted

SUM_TOLERANCE = 0.002
LEAST_CALL_RATE = 0.90  # fish below it were left out by Silliman et al. 2021
HELD_CALL_RATE = 0.50  # below it a fish waits for a decision; common practice, no source


def check_pair(
    q: float,
    heterozygosity: float | None,
    n_loci: int | None,
    half_digit_q: float = 0.0,
    half_digit_h: float = 0.0,
) -> list[Noted]:
    """Return what is wrong with one fish's q, H and loci scored, shares of one; "vial" and "row" are left
    out.

    Bound: H <= 2 min(q, 1-q), with half a locus of room. Grid: 2 L q and L H are whole numbers, as far as the
    digits written can tell; L H above 0 and below a half is another unit. Parity: with all L loci called
    2 L q - L H is even, twice the Florida homozygotes.
    """
    seen: list[Noted] = []
    if heterozygosity is not None:
        room = 1 / (2 * n_loci) if n_loci else SUM_TOLERANCE
        most = 2 * min(q, 1 - q)
        if heterozygosity > most + max(room, SUM_TOLERANCE):
            seen.append(
                Noted(FindingKind.BREAKS_BOUND, {"heterozygosity": heterozygosity, "q": q, "most": most})
            )
        elif heterozygosity == 0 and 0.05 < q < 0.95:
            seen.append(Noted(FindingKind.ZERO_HETEROZYGOSITY, {}))
    if not n_loci:
        return seen
    if heterozygosity and n_loci * heterozygosity < 0.5 and n_loci * (heterozygosity + half_digit_h) < 1:
        facts = {"heterozygosity": heterozygosity, "n_loci": n_loci, "loci": n_loci * heterozygosity}
        return [*seen, Noted(FindingKind.LESS_THAN_ONE_LOCUS, facts)]
    alleles, room = 2 * n_loci * q, 2 * n_loci * half_digit_q
    if room >= 0.25:  # the digits written cannot tell one allele from the next
        return seen
    if abs(alleles - round(alleles)) > room + 0.02:
        seen.append(Noted(FindingKind.OFF_GRID, {}))
    elif heterozygosity is not None and n_loci * half_digit_h < 0.25:
        mixed = n_loci * heterozygosity
        if abs(mixed - round(mixed)) > n_loci * half_digit_h + 0.02:
            seen.append(Noted(FindingKind.OFF_GRID, {}))
        elif (round(alleles) - round(mixed)) % 2:
            seen.append(Noted(FindingKind.ODD_PARITY, {}))
    return seen


def check_shares(q: float, other: float | None, third: float | None, rounding: float = 0.0) -> list[Noted]:
    """Return what is wrong with the shares of two or three taxa, which sum to one; ``rounding`` is added
    room."""
    if other is None:
        return []
    total = q + other + (third or 0.0)
    if total == 0:
        return [Noted(FindingKind.ZERO_FOR_MISSING, {"what": "every share"})]
    if abs(total - 1) > max(SUM_TOLERANCE, rounding) + 1e-9:
        return [Noted(FindingKind.SUM_NOT_ONE, {"total": total})]
    return []


def check_call_rate(call_rate: float | None, n_loci: int | None, panel_loci: int | None) -> list[Noted]:
    """Return whether too few loci were called, by the lab's call rate or by loci scored of the panel's."""
    seen = []
    share = call_rate
    if share is None and n_loci and panel_loci:
        share = n_loci / panel_loci
    if n_loci and panel_loci and n_loci > panel_loci:
        seen.append(Noted(FindingKind.MORE_LOCI_THAN_PANEL, {"n_loci": n_loci, "panel_loci": panel_loci}))
    elif share is not None and share < LEAST_CALL_RATE - 1e-9:
        called, wanted = f"{100 * share:.0f} %", f"{100 * LEAST_CALL_RATE:.0f} %"
        facts = {"share": share, "least": LEAST_CALL_RATE, "called": called, "wanted": wanted}
        facts["scored"] = f"{called} of the loci"
        held = call_rate is not None and call_rate < HELD_CALL_RATE - 1e-9
        seen.append(Noted(FindingKind.CALL_RATE_TOO_LOW if held else FindingKind.LOW_CALL_RATE, facts))
    return seen


def says_f1(lab_class: str) -> bool:
    """Return whether a lab's class is the first cross (F1, F-1, F₁)."""
    return lab_class.strip().casefold().replace("-", "").replace("₁", "1").replace(" hybrid", "") == "f1"


def identical_runs(signatures: Sequence[tuple[object, ...] | None], least: int = 3) -> list[tuple[int, int]]:
    """Return the runs (first, last index) of at least ``least`` neighbours with one signature; None is
    none."""
    runs, start = [], 0
    for i in range(1, len(signatures) + 1):
        if i == len(signatures) or signatures[i] != signatures[start] or signatures[start] is None:
            if i - start >= least and signatures[start] is not None:
                runs.append((start, i - 1))
            start = i
    return runs
