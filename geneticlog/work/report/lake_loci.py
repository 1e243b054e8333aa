"""The loci of one survey, where its lab gave genotypes: counted in the database, then held against each other."""

from __future__ import annotations

from collections import defaultdict

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from geneticlog.rules.genetics.loci import LociSign, LocusCounts, judge_loci
from geneticlog.rules.genetics.taxa import Pair
from geneticlog.store.tables import Fish, Genotype, Result, Survey
from geneticlog.work.result.genotype_decisions import settled_genotypes
from geneticlog.work.result.in_the_numbers import in_the_numbers


def loci_of_survey(session: Session, survey: Survey, pair: Pair) -> LociSign | None:
    """Return the loci of the fish that are in the numbers, by name of the marker; None without genotypes.

    Genotypes against which a person kept the lab's stated value are not among them.
    """
    settled = settled_genotypes(session, Fish.survey_id == survey.id)
    not_believed = [result_id for result_id, one in settled.items() if not one.believes_genotypes]
    rows = session.execute(
        select(Genotype.marker, Genotype.n_alleles, func.count())
        .join(Result, Result.id == Genotype.result_id)
        .join(Fish, Fish.id == Result.fish_id)
        .join(Survey, Survey.id == Fish.survey_id)
        .where(
            Fish.survey_id == survey.id,
            in_the_numbers(pair),
            Result.id.not_in(not_believed),
        )
        .group_by(Genotype.marker, Genotype.n_alleles)
    )
    counts: dict[str, dict[int | None, int]] = defaultdict(dict)
    for marker, n_alleles, n_fish in rows:
        counts[marker][n_alleles] = n_fish
    if not counts:
        return None
    return judge_loci(
        [
            LocusCounts(marker, held.get(0, 0), held.get(1, 0), held.get(2, 0), held.get(None, 0))
            for marker, held in sorted(counts.items())
        ]
    )
