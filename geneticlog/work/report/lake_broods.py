"""Whether the fish of a survey are of a few broods, by their genotypes."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np
from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.rules.ancestry import MISSING
from geneticlog.rules.genetics.broods import LEAST_FISH, BroodSign, brood_sign
from geneticlog.rules.genetics.taxa import Pair
from geneticlog.store.tables import Fish, Genotype, Result, Survey
from geneticlog.work.result.genotype_decisions import settled_genotypes
from geneticlog.work.result.in_the_numbers import in_the_numbers


@dataclass(frozen=True)
class Broods:
    """What was looked at, "young" or "all" fish with genotypes, and what they say."""

    of: str
    sign: BroodSign


def broods_of(session: Session, survey: Survey, pair: Pair, young: Collection[str]) -> Broods | None:
    """Return the sign of broods among the young fish, or among all where fewer than twelve young have genotypes.

    None without genotypes. Genotypes against which a person kept the lab's stated value are left out.

    young
        The size classes of young fish.
    """
    settled = settled_genotypes(session, Fish.survey_id == survey.id)
    not_believed = [result_id for result_id, one in settled.items() if not one.believes_genotypes]
    rows = session.execute(
        select(Fish.number, Fish.size_class, Genotype.marker, Genotype.n_alleles)
        .join(Result, Result.id == Genotype.result_id)
        .join(Fish, Fish.id == Result.fish_id)
        .join(Survey, Survey.id == Fish.survey_id)
        .where(Fish.survey_id == survey.id, in_the_numbers(pair), Result.id.not_in(not_believed))
        .order_by(Fish.number, Genotype.marker)
    ).all()
    if not rows:
        return None
    of_young = {number for number, size_class, *_ in rows if size_class in young}
    whose = "young" if len(of_young) >= LEAST_FISH else "all"
    fish = sorted(of_young if whose == "young" else {number for number, *_ in rows})
    markers = sorted({marker for *_, marker, _ in rows})
    at_fish, at_marker = ({name: at for at, name in enumerate(some)} for some in (fish, markers))
    table = np.full((len(fish), len(markers)), MISSING)
    for number, _, marker, n_alleles in rows:
        if number in at_fish and n_alleles is not None:
            table[at_fish[number], at_marker[marker]] = n_alleles
    return Broods(whose, brood_sign(table))
