"""Loci that rise where all others fall: their genotypes may count the other taxon's alleles."""

from __future__ import annotations

from collections.abc import Sequence

from geneticlog.rules.lab_return.drafts.draft import Draft

LEAST_FISH, LEAST_LOCI = 12, 8
# how much of all variation goes along with the first component, and how far beyond what chance gives (the edge of
# Marchenko and Pastur 1967, from memory), before a locus can go against it
LEAST_ALONG, TIMES_CHANCE = 0.25, 2
LEAST_AGAINST, LEAST_AGAINST_SHARE = (
    2,
    0.05,
)  # loci; a single one may be linked otherwise. Common practice, no source
MOST_MISSING, MOST_SHOWN = 0.5, 4
HALF_AS_MUCH = 0.5  # of the usual weight of a locus, for one that goes against the others


def loci_against(drafts: Sequence[Draft]) -> str:
    """Return what to ask where some loci go against all others over the fish of a file, or the empty text.

    Of fish of mixed ancestry, loci that tell two taxa apart rise and fall together, since all count alleles of one. The
    first principal component of their correlations has one sign at all of them.
    """
    fish = [draft.genotypes for draft in drafts if draft.genotypes]
    if len(fish) < LEAST_FISH:
        return ""
    import numpy as np  # only where a file has genotypes

    names = list(dict.fromkeys(name for counts in fish for name in counts))
    calls = np.array(
        [[np.nan if (n := counts.get(name)) is None else n for name in names] for counts in fish]
    )
    tells = (np.isnan(calls).mean(axis=0) < MOST_MISSING) & (np.nan_to_num(calls).std(axis=0) > 0)
    names = [name for name, used in zip(names, tells, strict=True) if used]
    if len(names) < LEAST_LOCI:
        return ""
    filled = np.where(np.isnan(calls), np.nanmean(calls[:, tells]), calls)[:, tells]
    along, weights = np.linalg.eigh(np.corrcoef(filled, rowvar=False))
    first = weights[:, -1]
    by_chance = (1 + (len(names) / len(fish)) ** 0.5) ** 2  # of loci that have nothing to do with one another
    if along[-1] < max(LEAST_ALONG * len(names), TIMES_CHANCE * by_chance):
        return ""
    least = HALF_AS_MUCH * np.median(np.abs(first))
    up, down = (
        [name for name, weight in zip(names, sign * first, strict=True) if weight > least] for sign in (1, -1)
    )
    fewer = min(up, down, key=len)
    if len(fewer) < max(LEAST_AGAINST, LEAST_AGAINST_SHARE * len(names)):
        return ""
    shown = ", ".join(fewer[:MOST_SHOWN]) + (", …" if len(fewer) > MOST_SHOWN else "")
    return (
        f"{len(fewer)} of {len(names)} loci ({shown}) rise where the others fall: do they count the other taxon's"
        " alleles"
    )
