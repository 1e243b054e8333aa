"""How many fish of a survey were caught, swabbed, sent, typed and lost to the lab: the counts that every face shows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import ColumnElement, case, func, select
from sqlalchemy.orm import Session

from geneticlog.rules.genetics.taxa import Pair
from geneticlog.rules.shipment.custody import NOT_IN_HAND
from geneticlog.store.tables import Fish, Result, Survey, Vial
from geneticlog.work.result.in_the_numbers import counted, of_its_species, of_pair
from geneticlog.work.result.vial_outcome import in_hand, may_give_a_result, was_sent


@dataclass(frozen=True)
class FishCounts:
    """Fish of the survey's species in one size class of one survey; a tally counts in full.

    n_failed: swabbed fish that no longer cover anything: none of their vials has a result or may still get one.
    """

    n_caught: int = 0
    n_swabbed: int = 0
    n_shipped: int = 0
    n_resulted: int = 0
    n_failed: int = 0

    def __add__(self, other: FishCounts) -> FishCounts:
        return FishCounts(
            self.n_caught + other.n_caught,
            self.n_swabbed + other.n_swabbed,
            self.n_shipped + other.n_shipped,
            self.n_resulted + other.n_resulted,
            self.n_failed + other.n_failed,
        )


def swabbed() -> ColumnElement[bool]:
    """Return the condition that a fish is swabbed: it has a filled vial that is not lost; needs Fish."""
    return _with_vial(in_hand())


def shipped() -> ColumnElement[bool]:
    """Return the condition that a swabbed fish has a vial in a shipment that left; needs Fish."""
    return _with_vial(in_hand(), was_sent())


def failed(pair: Pair | None) -> ColumnElement[bool]:
    """Return the condition that none of a swabbed fish's vials has a result or may still get one; needs Fish.

    pair
        the pair of taxa that the numbers are about; None where no panel is of another one.
    """
    return swabbed() & ~_with_vial(in_hand(), may_give_a_result(pair))


def resulted(pair: Pair) -> ColumnElement[bool]:
    """Return the condition that a fish has a result that counts for a pair of taxa; needs Fish."""
    return (
        select(Result.id).where(Result.fish_id == Fish.id, counted(), of_pair(pair)).correlate(Fish).exists()
    )


def count_fish(session: Session, surveys: Sequence[Survey], pair: Pair) -> dict[str | None, FishCounts]:
    """Return the counts of each size class (None: fish without one) over some surveys of one species."""
    conditions = {
        "n_swabbed": swabbed(), "n_shipped": shipped(), "n_resulted": resulted(pair), "n_failed": failed(pair),
    }  # fmt: skip
    rows = session.execute(
        select(
            Fish.size_class,
            func.sum(Fish.n_fish).label("n_caught"),
            *(func.sum(case((one, 1), else_=0)).label(name) for name, one in conditions.items()),
        )
        .join(Survey, Survey.id == Fish.survey_id)
        .where(Fish.survey_id.in_([survey.id for survey in surveys]), of_its_species())
        .group_by(Fish.size_class)
    )
    return {
        row["size_class"]: FishCounts(**{name: int(row[name]) for name in row if name.startswith("n_")})
        for row in rows.mappings()
    }


def caught_and_swabbed(session: Session, which: ColumnElement[bool]) -> dict[int, tuple[int, int]]:
    """Return fish caught and swabbed of each survey that has fish of its species, by the survey's id.

    which
        The surveys, as a condition on Survey.
    """
    rows = session.execute(
        select(Fish.survey_id, func.sum(Fish.n_fish), func.sum(case((swabbed(), 1), else_=0)))
        .join(Survey, Survey.id == Fish.survey_id)
        .where(which, of_its_species())
        .group_by(Fish.survey_id)
    )
    return {survey_id: (int(n_caught), int(n_swabbed)) for survey_id, n_caught, n_swabbed in rows}


def n_with_gone_vials(session: Session, surveys: Sequence[Survey]) -> int:
    """Return the fish of some surveys that were swabbed, and whose vials are all lost or broken by now."""
    n = session.scalar(
        select(func.count())
        .select_from(Fish)
        .join(Survey, Survey.id == Fish.survey_id)
        .where(
            Fish.survey_id.in_([survey.id for survey in surveys]),
            of_its_species(),
            _with_vial(Vial.standing.in_(NOT_IN_HAND)),
            ~swabbed(),
        )
    )
    return n or 0


def n_other_species(session: Session, surveys: Sequence[Survey]) -> int:
    """Return the fish of other species on some surveys; they are in no other count."""
    n = session.scalar(
        select(func.sum(Fish.n_fish))
        .join(Survey, Survey.id == Fish.survey_id)
        .where(Fish.survey_id.in_([survey.id for survey in surveys]), ~of_its_species())
    )
    return int(n or 0)


def _with_vial(*conditions: ColumnElement[bool]) -> ColumnElement[bool]:
    return select(Vial.id).where(Vial.fish_id == Fish.id, *conditions).correlate(Fish).exists()
