"""The change of every lake of the portfolio, by the comparison that the lake's own report makes, for all at once."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.rules.genetics.misread_mean import NOT_MISREAD, Readings
from geneticlog.rules.intervals import Estimate
from geneticlog.rules.report.comparability import Aspect, is_small, nears_nothing, same_classes
from geneticlog.rules.statistics.comparison import (
    Comparison,
    SurveySums,
    TypedFish,
    compare_surveys,
    sums_by_length,
)
from geneticlog.rules.statistics.contrast import Contrast
from geneticlog.rules.statistics.holm import holm_of
from geneticlog.rules.statistics.missed_kind import missed_kinds
from geneticlog.rules.statistics.site_cells import AtSites, at_sites
from geneticlog.store.tables import Fish, Result, Survey
from geneticlog.work.portfolio.means import Means
from geneticlog.work.portfolio.sites import surveys_of_many_sites
from geneticlog.work.portfolio.sums import LakeTotals, SurveyTotals
from geneticlog.work.report.lake_change import ages_of, basis_of, differs_of, misread
from geneticlog.work.report.number_facts import NO_DIFFERENCE, Difference
from geneticlog.work.report.survey_numbers import length_in
from geneticlog.work.result.in_the_numbers import in_the_numbers, of_its_species

Pair = tuple[SurveyTotals, SurveyTotals]
UNASKED = Readings(NOT_MISREAD, NOT_MISREAD, True)  # misreading parts nothing that leaves 0 in


@dataclass(frozen=True)
class LakeChange:
    """The survey reported minus the one of the same species before it, p alone and after Holm over lakes.

    basis: on what footing the two are compared. differs: what else differs between the two; with
    any of it the difference is not one of ancestry alone. young, adult: of these size classes alone. small: by
    `is_small`. misreading_alone: misreading may be all that parts the two.
    """

    earlier_on: date
    difference: Estimate
    basis: str
    differs: tuple[Aspect, ...]
    p: float | None = None
    p_holm: float | None = None
    young: Difference = NO_DIFFERENCE
    adult: Difference = NO_DIFFERENCE
    small: bool = False
    misreading_alone: bool = False

    @property
    def fell(self) -> bool:
        """Whether the interval lies below 0, whatever else differs."""
        return self.difference.high is not None and self.difference.high < 0


def changes_of_lakes(
    session: Session, lakes: Mapping[int, LakeTotals], matters: float, means: Means
) -> dict[int, LakeChange]:
    """Return the change of each lake with two surveys of one species with results, p adjusted by Holm over all."""
    many = surveys_of_many_sites(session)
    pairs = {lake_id: pair for lake_id, lake in lakes.items() if (pair := last_two(lake)) is not None}
    compared = compare_surveys([_to_compare(session, many, *pair) for pair in pairs.values()])
    small = _small([held.whole for held in compared], matters)
    changes: dict[int, LakeChange] = {}
    for (lake_id, (earlier, later)), comparison, near_nothing in zip(
        pairs.items(), compared, small, strict=True
    ):
        footing = (earlier.footing, later.footing)
        readings = UNASKED
        if _leaves_0_out(comparison):  # of few lakes
            one_panel = footing[0].panels == footing[1].panels
            readings = Readings(means.reading(later), means.reading(earlier), one_panel)
        young, adult = ages_of([comparison], [readings])[0]
        changes[lake_id] = LakeChange(
            earlier.on,
            comparison.whole.estimate,
            basis_of(comparison, footing),
            differs_of(comparison, footing),
            comparison.whole.p,
            young=young,
            adult=adult,
            small=near_nothing,
            misreading_alone=misread(comparison.whole, readings),
        )
    adjusted = holm_of([change.p for change in changes.values()])
    return {
        lake_id: replace(change, p_holm=p)
        for (lake_id, change), p in zip(changes.items(), adjusted, strict=True)
    }


def _leaves_0_out(comparison: Comparison) -> bool:
    """Return whether the lake, its young or its adults changed by more than their interval holds."""
    limits = [
        (one.estimate.low, one.estimate.high)
        for one in (comparison.whole, comparison.young, comparison.adult)
        if one is not None
    ]
    return any(low is not None and high is not None and (low > 0 or high < 0) for low, high in limits)


def _small(changes: Sequence[Contrast], matters: float) -> list[bool]:
    """Return which changes are small; what could be missed is worked out for those alone that look it."""
    limits = [(one.estimate.low, one.estimate.high) for one in changes]
    near = [at for at, ends in enumerate(limits) if nears_nothing(*ends, matters)]
    missed = missed_kinds([(changes[at].first, changes[at].second) for at in near], from_on=matters)
    of = dict(zip(near, missed, strict=True))
    return [is_small(*ends, of.get(at), matters) for at, ends in enumerate(limits)]


def last_two(lake: LakeTotals) -> Pair | None:
    """Return the survey reported and the one with a result before it of the same species; None without one."""
    last = lake.reported
    if not last.sums:
        return None
    before = lake.surveys[: lake.surveys.index(last)]
    earlier = [one for one in before if one.sums and one.species == last.species]
    return (earlier[-1], last) if earlier else None


def _to_compare(
    session: Session, many: Collection[int], earlier: SurveyTotals, later: SurveyTotals
) -> tuple[SurveySums, SurveySums]:
    """Return two surveys under the same size classes: judged again by length where their classes differ."""
    if same_classes(earlier.footing, later.footing):
        first, second = (
            replace(one.to_compare(), sites=_at_sites(session, one)) if one.id in many else one.to_compare()
            for one in (earlier, later)
        )
        return first, second
    return _by_length(session, earlier, later), _by_length(session, later, later)


def _at_sites(session: Session, survey: SurveyTotals) -> AtSites | None:
    """Return where the fish of a survey of many sites were caught; they are read, as few surveys have so many."""
    rows = session.execute(
        select(Fish.size_class, Fish.site, Result.q)
        .join(Result, Result.fish_id == Fish.id)
        .join(Survey, Survey.id == Fish.survey_id)
        .where(Survey.id == survey.id, in_the_numbers(survey.pair))
    )
    return at_sites(survey.code, [(name, site, q) for name, site, q in rows if q is not None])


def _by_length(session: Session, survey: SurveyTotals, later: SurveyTotals) -> SurveySums:
    """Return a survey judged by measured lengths; its fish are read, as few lakes change their size classes."""
    rows: Iterable[Fish] = session.scalars(
        select(Fish).join(Survey, Survey.id == Fish.survey_id).where(Survey.id == survey.id, of_its_species())
    )
    caught: list[tuple[tuple[float, str] | None, int]] = [
        (None if fish.length_mm is None else (length_in(fish, survey.unit), survey.unit), fish.n_fish)
        for fish in rows
    ]
    typed = session.execute(
        select(Fish.length, Fish.length_unit, Result.q, Result.n_loci, Fish.site)
        .join(Result, Result.fish_id == Fish.id)
        .join(Survey, Survey.id == Fish.survey_id)
        .where(Survey.id == survey.id, in_the_numbers(survey.pair))
        .order_by(Fish.number)
    )
    fish = [
        TypedFish(None if length is None or unit is None else (length, unit), q, n_loci, site)
        for length, unit, q, n_loci, site in typed
        if q is not None
    ]
    return sums_by_length(survey.code, later.scheme, later.unit, caught, fish)
