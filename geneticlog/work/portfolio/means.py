"""The means of many surveys, of the catch and of the fish swabbed, as the report of each lake gives them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from sqlalchemy.orm import Session

from geneticlog.rules.genetics.misread_mean import Reading
from geneticlog.rules.intervals import Estimate, mean_from_sums_many
from geneticlog.store.tables import Survey
from geneticlog.work.portfolio.sites import surveys_of_many_sites
from geneticlog.work.portfolio.sums import SurveyTotals
from geneticlog.work.report.lake_catch import weighted_numbers
from geneticlog.work.report.lake_means import number_of, unseen_of_many
from geneticlog.work.report.lake_misreading import reaching
from geneticlog.work.report.number_facts import Number, WeightedNumber
from geneticlog.work.report.survey_numbers import survey_facts
from geneticlog.work.result.panel_error import PanelError, highest, panel_errors


@dataclass(frozen=True)
class SurveyMeans:
    """The mean of the swabbed fish as they are, and that of the catch, which leads where there is one."""

    swabbed: Number
    weighted: WeightedNumber

    @property
    def leading(self) -> Number | WeightedNumber:
        return self.swabbed if self.weighted.mean is None else self.weighted


class Means:
    """The means of surveys of one database, each worked out once."""

    def __init__(self, session: Session) -> None:
        self._session = session
        self._known: dict[int, SurveyMeans] = {}

    def of(self, surveys: Sequence[SurveyTotals]) -> dict[int, SurveyMeans]:
        """Return the means of each survey with a result, by the survey's id."""
        new = [survey for survey in surveys if survey.sums and survey.id not in self._known]
        estimates, weighted, unseen = _estimates(new), _weighted(new), _unseen(new)
        for survey, mean, of_catch, missed in zip(new, estimates, weighted, unseen, strict=True):
            if (
                survey.id in self._of_many_sites
            ):  # few surveys: their interval follows the sites, fish by fish
                row = self._session.get_one(Survey, survey.id)
                facts = survey_facts(self._session, row, survey.pair)
                self._known[survey.id] = SurveyMeans(facts.swabbed, facts.catch_weighted)
                continue
            error = self._error(survey)
            self._known[survey.id] = SurveyMeans(
                reaching(number_of(mean, missed), error, survey.every),
                reaching(of_catch, error, survey.every),
            )
        return {survey.id: self._known[survey.id] for survey in surveys if survey.sums}

    def reading(self, survey: SurveyTotals) -> Reading:
        """Return how the mean of a survey was read, for its comparison with another."""
        alone = self.of([survey])[survey.id].leading.misreading_alone
        return Reading(self._error(survey).rate.high, alone)

    def _error(self, survey: SurveyTotals) -> PanelError:
        return highest(self._errors, [*survey.panels, *[None] * survey.without_panel])

    @cached_property
    def _errors(self) -> dict[str, PanelError]:
        return {one.panel or "": one for one in panel_errors(self._session).values()}

    @cached_property
    def _of_many_sites(self) -> set[int]:
        return surveys_of_many_sites(self._session)


def _estimates(surveys: Sequence[SurveyTotals]) -> list[Estimate]:
    """Return the mean of the swabbed fish of each survey."""
    if not surveys:
        return []
    every = [survey.every for survey in surveys]
    many = mean_from_sums_many(
        [one.n for one in every],
        [one.sum_q for one in every],
        [one.sum_q2 for one in every],
        [float("nan") if one.n_alleles is None else one.n_alleles for one in every],
    )
    return [many.one(at) for at in range(len(surveys))]


def _weighted(surveys: Sequence[SurveyTotals]) -> list[WeightedNumber]:
    """Return the mean of the catch of each survey."""
    return weighted_numbers(
        [(one.sums, {name: one.caught[name] for name in (*one.scheme.classes, None)}) for one in surveys]
    )


def _unseen(surveys: Sequence[SurveyTotals]) -> list[float | None]:
    """Return what the fish of each survey can miss, over its size classes; fish without one are a class of theirs."""
    return unseen_of_many(
        [
            [
                (survey.caught[name], survey.sums[name].n if name in survey.sums else 0)
                for name in (*survey.scheme.classes, None)
            ]
            for survey in surveys
        ]
    )
