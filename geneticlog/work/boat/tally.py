"""The tally of a survey while the fish are still in the live well: caught and swabbed against the target."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import case, func, select
from sqlalchemy.orm import Session

from geneticlog.store.tables import Fish, Survey
from geneticlog.work.catalogue.places import targets_of
from geneticlog.work.result.count_fish import swabbed
from geneticlog.work.result.in_the_numbers import of_its_species


@dataclass(frozen=True)
class ClassTally:
    """One size class: fish caught (a tally in full) and swabbed, and swabs wanted (None: no plan, or as they come)."""

    size_class: str
    n_caught: int
    n_swabbed: int
    target: int | None

    @property
    def full(self) -> bool:
        return self.target is not None and self.n_swabbed >= self.target

    @property
    def words(self) -> str:
        """As it is called out: "quality 8 of 8, full"; "memorable none of 2"; "stock 3 swabbed"."""
        if self.target is None:
            return f"{self.size_class} {self.n_swabbed} swabbed of {self.n_caught} caught"
        if self.target == 0:
            over = f", {self.n_swabbed} swabbed" if self.n_swabbed else ""
            return f"{self.size_class} none wanted{over}"
        swabbed = str(self.n_swabbed) if self.n_swabbed else "none"
        return f"{self.size_class} {swabbed} of {self.target}" + (", full" if self.full else "")


def survey_tally(session: Session, survey: Survey) -> tuple[ClassTally, ...]:
    """Return the tally of every size class of the survey's scheme, smallest first.

    Counted are fish of the survey's species with a size class. One grouped query, whatever the size of the survey.
    """
    counted = {
        size_class: (int(n_caught), int(n_swabbed))
        for size_class, n_caught, n_swabbed in session.execute(
            select(Fish.size_class, func.sum(Fish.n_fish), func.sum(case((swabbed(), 1), else_=0)))
            .join(Survey, Survey.id == Fish.survey_id)
            .where(Fish.survey_id == survey.id, of_its_species(), Fish.size_class.is_not(None))
            .group_by(Fish.size_class)
        )
    }
    targets = targets_of(survey.sampling_plan) if survey.sampling_plan is not None else None
    return tuple(
        ClassTally(
            name,
            *counted.get(name, (0, 0)),
            target=targets.get(name) if targets is not None else None,
        )
        for name in survey.scheme.classes
    )
