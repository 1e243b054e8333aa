"""How large the fish of a survey are: the size structure of its measured catch."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from geneticlog.rules.schemes import FIVE_LENGTH, LEAST_LENGTH, Scheme, five_length
from geneticlog.rules.species import SPECIES
from geneticlog.rules.statistics.psd import SUFFIX, size_indices
from geneticlog.store.tables import Fish
from geneticlog.work.report.number_facts import SizeIndexRow, SizeStructure

WARY_BELOW = 20  # fish of stock length; as in the help of the R package FSA


def size_structure(species: str, scheme: Scheme, unit: str, caught: Sequence[Fish]) -> SizeStructure:
    """Return PSD and its higher indices of a catch of one species, each fish judged in the unit it was measured in.

    A survey in the five lengths counts its own classes, tallies with them. Under other classes every fish is judged
    by its length; where some stand only in a class of that scheme, there is no PSD, and ``why`` says so.
    """
    printed = SPECIES[species].printed if species in SPECIES else species
    if (species, "mm") not in LEAST_LENGTH:
        return SizeStructure(why=f"No published length limits are known for {printed}, so there is no PSD.")
    counts: Counter[str] = Counter()
    n_left_out = n_class_only = 0
    five = five_length(species)
    for fish in caught:
        if scheme.classes == FIVE_LENGTH and fish.size_class is not None:
            counts[fish.size_class] += fish.n_fish
        elif fish.length is not None and fish.length_unit is not None:
            counts[five.judge(fish.length, fish.length_unit)] += fish.n_fish
        elif fish.size_class is not None:
            n_class_only += fish.n_fish
        else:
            n_left_out += fish.n_fish
    if n_class_only:
        return SizeStructure(
            n_left_out=n_left_out + n_class_only,
            why=f"{n_class_only} fish were tallied in size classes of the survey's own, without a length, so the catch "
            "has no PSD.",
        )
    indices = size_indices(counts, FIVE_LENGTH)
    table = "in" if unit == "in" else "mm"
    n_stock = indices[0].n_stock
    guard = "no fish of stock length" if not n_stock else ""
    if 0 < n_stock < WARY_BELOW:
        guard = f"under {WARY_BELOW} fish of stock length"
    least = dict(zip(FIVE_LENGTH[1:], LEAST_LENGTH[species, table], strict=True))
    rows = []
    for name, one in zip(SUFFIX, indices, strict=True):
        low, high = one.limits or (None, None)
        rows.append(SizeIndexRow(one.name, least[name], one.value, low, high, one.n_at_least, n_stock, guard))
    why = "" if caught else "No fish was caught, so there is no PSD."
    return SizeStructure(tuple(rows), table, least["stock"], n_stock, counts["substock"], n_left_out, why)
