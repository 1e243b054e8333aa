"""What a plan, which takes fish as single, has to say where fish of one site were alike."""

from __future__ import annotations

from geneticlog.rules.statistics.site_cells import ALIKE_FROM, Weighted, over_sites
from geneticlog.rules.statistics.sums import sums_of
from geneticlog.rules.strata import catch_weighted_from_sums
from geneticlog.work.plan.evidence import LastSurvey


def design_effect(last: LastSurvey | None) -> float | None:
    """Return the variance of the last survey's catch-weighted mean over sites / over single fish; None where it had
    too few sites to tell.
    """
    if last is None or last.sites is None:
        return None
    caught = {name: round(n) for name, n in last.caught.items() if n and last.q.get(name)}
    sums = {name: sums_of(last.q[name], None) for name in caught}
    total = sum(caught.values())
    plain = catch_weighted_from_sums(sums, caught)
    if plain.mean is None or not plain.se:
        return None
    over = over_sites([Weighted(sums, {name: n / total for name, n in caught.items()}, last.sites)])
    if over is None or over.variance is None:
        return None
    between = (
        sum(n / total * ((sums[name].mean or 0.0) - plain.mean) ** 2 for name, n in caught.items()) / total
    )
    return (over.variance + between) / plain.se**2


def alike_note(last: LastSurvey | None) -> str:
    """Return the sentence that belongs beside a plan, "" where fish of one site were not alike."""
    effect = design_effect(last)
    if last is None or effect is None or effect < ALIKE_FROM:
        return ""
    return (
        f"Fish of one site were alike in {last.code} (design effect {effect:.1f}), and these numbers take fish as "
        f"single: from as few sites it takes about {effect:.1f} times as many; more sites help more than more fish."
    )
