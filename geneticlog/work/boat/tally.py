"""The tally of a survey while the fish are still in the live well: caught and swabbed against the target."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from typing import Any

from sqlalchemy import Select, bindparam, case, func, select
from sqlalchemy.orm import Session

from geneticlog.rules.boat.class_standing import covering, short_by
from geneticlog.rules.genetics.taxa import Pair
from geneticlog.store.tables import Fish, Survey
from geneticlog.work.carry.vial_fates import told_counts, told_standing
from geneticlog.work.catalogue.lake_plans import targets_of
from geneticlog.work.result.count_fish import FishCounts, failed, swabbed
from geneticlog.work.result.in_the_numbers import of_its_species, pair_of, panels_of_several_pairs


@dataclass(frozen=True)
class ClassTally:
    """One size class: fish caught (a tally in full) and swabbed, and swabs wanted (None: no plan, or as they come).

    n_failed: swabbed fish that cover nothing any more, as in the coverage: a full class is short again by them.
    """

    size_class: str
    n_caught: int
    n_swabbed: int
    n_failed: int
    target: int | None

    @property
    def n_covering(self) -> int:
        return covering(self.n_swabbed, self.n_failed)

    @property
    def full(self) -> bool:
        return short_by(self.n_covering, self.target) == 0

    @property
    def words(self) -> str:
        """As it is called out: "quality 8 of 8, full"; "stock 7 of 8, 1 failed"; "memorable none of 2"."""
        failed = f", {self.n_failed} failed" if self.n_failed else ""
        if self.target is None:
            return f"{self.size_class} {self.n_swabbed} swabbed of {self.n_caught} caught{failed}"
        if self.target == 0:
            over = f", {self.n_swabbed} swabbed" if self.n_swabbed else ""
            return f"{self.size_class} none wanted{over}{failed}"
        n = str(self.n_covering) if self.n_covering else "none"
        return f"{self.size_class} {n} of {self.target}" + (", full" if self.full else "") + failed


@cache
def _counts(pair: Pair | None) -> Select[str | None, int, Any, Any]:
    """The question of the tally; to put it together takes longer than to answer it, and each fish asks it."""
    return (
        select(
            Fish.size_class,
            func.sum(Fish.n_fish).label("n_caught"),
            func.sum(case((swabbed(), 1), else_=0)).label("n_swabbed"),
            func.sum(case((failed(pair), 1), else_=0)).label("n_failed"),
        )
        .join(Survey, Survey.id == Fish.survey_id)
        .where(
            Fish.survey_id == bindparam("survey"),
            of_its_species(),
            Fish.size_class.in_(bindparam("wanted", expanding=True)),
        )
        .group_by(Fish.size_class)
    )


def survey_tally(session: Session, survey: Survey, only: str | None = None) -> tuple[ClassTally, ...]:
    """Return the tally of every size class of the survey's scheme, smallest first.

    Counted are fish of the survey's species with a size class, by the rule of the coverage. One grouped query, whatever
    the size of the survey (and where panels are of several pairs of taxa, one for the lake's pair).

    only
        this size class alone, as after a fish of it: the other fish of a long survey are not looked at.
    """
    several = panels_of_several_pairs(session)  # else no result need be looked at to know the pair
    pair = pair_of(session, survey.lake_id, survey.species) if several else None
    wanted = [name for name in survey.scheme.classes if only in (None, name)]
    counted = {
        row.size_class: FishCounts(int(row.n_caught), int(row.n_swabbed), n_failed=int(row.n_failed))
        for row in session.execute(_counts(pair), {"survey": survey.id, "wanted": wanted})
    }
    told = told_standing(session, [survey])
    if told is not None:  # the lab's results are in another database: what that one said of them
        for size_class, as_told in told_counts(session, [survey], told).items():
            if size_class in counted:
                counted[size_class] = replace(counted[size_class], n_failed=as_told.n_failed)
    targets = targets_of(survey.sampling_plan) if survey.sampling_plan is not None else None
    tallies = []
    for name in wanted:
        n = counted.get(name, FishCounts())
        target = targets.get(name) if targets is not None else None
        tallies.append(ClassTally(name, n.n_caught, n.n_swabbed, n.n_failed, target))
    return tuple(tallies)
