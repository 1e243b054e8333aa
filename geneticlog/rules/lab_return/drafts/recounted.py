"""What a row states of a fish beside what its own genotypes give: q, H and the loci scored, counted again."""

from __future__ import annotations

from geneticlog.rules.finding.finding_kinds import FindingKind, Noted

LEAST_STEP = 1e-6


def compare_counted(
    counted: tuple[float, float, int],
    q: float | None,
    heterozygosity: float | None,
    n_loci: int | None,
    half_digit_q: float = 0.0,
    half_digit_h: float = 0.0,
    other_taxon: str = "northern",
) -> list[Noted]:
    """Return where a row's stated q, H or loci are not those of its genotypes; what it does not state is passed over.

    counted
        q, H and the loci scored, from the genotypes.
    half_digit_q, half_digit_h
        Half a unit of the last digit written: values that were rounded, or cut off, within it agree.
    other_taxon
        For the question where the two q mirror each other.
    """
    own_q, own_h, scored = counted
    pairs = (
        ("q", q, own_q, _room(half_digit_q, 2 * scored)),
        ("H", heterozygosity, own_h, _room(half_digit_h, scored)),
    )
    apart = [
        (name, said, own) for name, said, own, room in pairs if said is not None and abs(said - own) > room
    ]
    seen = []
    if apart:
        mirrored = (
            q is not None and abs(q - own_q) > 0.05 and abs(q + own_q - 1) <= _room(half_digit_q, 2 * scored)
        )
        facts = {
            "stated": ", ".join(f"{name} {said:.4g}" for name, said, _ in apart),
            "counted": ", ".join(f"{name} {own:.4g}" for name, _, own in apart),
            "how": f"; are {other_taxon} alleles counted?" if mirrored else "",
            "q": q, "heterozygosity": heterozygosity, "counted_q": own_q, "counted_heterozygosity": own_h,
        }  # fmt: skip
        seen.append(Noted(FindingKind.GENOTYPES_DISAGREE, facts))
    if n_loci and n_loci != scored:
        seen.append(Noted(FindingKind.GENOTYPE_LOCI_DISAGREE, {"stated": n_loci, "counted": scored}))
    return seen


def _room(half_digit: float, steps: int) -> float:
    """Return how far a printed share may be from the counted one: its rounding, or the last digit cut off where
    that is still nearer than half a step."""
    return max(half_digit, min(2 * half_digit, 0.5 / steps), LEAST_STEP) + 1e-9
