"""Every survey of every lake as sums by size class, from one pass over the fish in the database."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from datetime import date

from sqlalchemy import Executable, and_, func, select
from sqlalchemy.orm import Session

from geneticlog.rules.genetics.taxa import DEFAULT_PAIR, Pair, main_pair
from geneticlog.rules.report.comparability import Footing, survey_to_report
from geneticlog.rules.schemes import Scheme
from geneticlog.rules.statistics.comparison import SurveySums
from geneticlog.rules.statistics.sums import NO_SUMS, Sums
from geneticlog.store.tables import Fish, Panel, Result, Survey
from geneticlog.work.result.in_the_numbers import counted, of_its_species


@dataclass
class SurveyTotals:
    """One survey in sums: the fish of its species, and their results for the pair of taxa of its species in the lake.

    caught, sums: size class (None: not measured) -> fish caught, sums of the fish with a result. panels: those the
    results come from. loci: fewest and most scored. n_other_taxa: results for another pair, left out.
    """

    id: int
    code: str
    on: date
    gear: str
    species: str
    unit: str
    scheme: Scheme
    caught: Counter[str | None] = field(default_factory=Counter)
    sums: dict[str | None, Sums] = field(default_factory=dict)
    panels: set[str] = field(default_factory=set)
    loci: tuple[int, int] | None = None
    n_other_taxa: int = 0
    pair: Pair = DEFAULT_PAIR

    @property
    def footing(self) -> Footing:
        """How these numbers were made."""
        return Footing(self.on, self.gear, frozenset(self.panels), self.loci, self.scheme, self.unit)

    @property
    def every(self) -> Sums:
        """The sums of all fish with a result, measured or not."""
        return sum(self.sums.values(), NO_SUMS)

    def to_compare(self) -> SurveySums:
        """Return what a comparison with another survey of the lake takes: fish of a known size class."""
        return SurveySums(
            name=self.code,
            scheme=self.scheme.name,
            n_caught={name: self.caught[name] for name in self.scheme.classes},
            sums={name: held for name, held in self.sums.items() if name is not None},
            n_without_class=self.caught[None],
        )


@dataclass(frozen=True)
class LakeTotals:
    """A lake's surveys by date, at least one."""

    surveys: tuple[SurveyTotals, ...]

    @property
    def reported(self) -> SurveyTotals:
        """The survey that the lake's report is about."""
        at = survey_to_report([survey.every.n for survey in self.surveys])
        assert at is not None
        return self.surveys[at]


def sums_query() -> Executable:
    """Return the one query over all fish and results, grouped by survey, size class and panel: fish of the survey's
    species caught, results, sum of q and of q squared, loci: their sum, results that have them, fewest and most.
    """
    return select(
        Fish.survey_id,
        Fish.size_class,
        Result.panel_id,
        func.sum(Fish.n_fish),
        func.count(Result.id),
        func.sum(Result.q),
        func.sum(Result.q * Result.q),
        func.sum(Result.n_loci),
        func.count(Result.n_loci),
        func.min(Result.n_loci),
        func.max(Result.n_loci),
    ).select_from(Fish).join(Survey, Survey.id == Fish.survey_id).outerjoin(
        Result, and_(Result.fish_id == Fish.id, counted())
    ).where(of_its_species()).group_by(Fish.survey_id, Fish.size_class, Result.panel_id)  # fmt: skip


def totals_of_lakes(session: Session) -> dict[int, LakeTotals]:
    """Return the totals of every lake with a survey, by the lake's id."""
    schemes: dict[str, Scheme] = {}
    surveys: dict[int, SurveyTotals] = {}
    lakes: dict[int, list[int]] = {}
    for key, lake_id, code, on, gear, species, unit, text in session.execute(
        select(
            Survey.id, Survey.lake_id, Survey.code, Survey.surveyed_on, Survey.gear, Survey.species,
            Survey.length_unit, Survey.scheme,
        ).order_by(Survey.surveyed_on, Survey.id)
    ):  # fmt: skip
        if text not in schemes:
            schemes[text] = Scheme.from_json(text)
        surveys[key] = SurveyTotals(key, code, on, gear, species, unit, schemes[text])
        lakes.setdefault(lake_id, []).append(key)
    panels = {
        key: (code, Pair(taxon, other))
        for key, code, taxon, other in session.execute(
            select(Panel.id, Panel.code, Panel.taxon, Panel.other_taxon)
        )
    }
    rows: dict[int, list[tuple[int | None, str | None, Sums, int | None, int | None]]] = {}
    for key, size_class, panel, n_fish, n, q, q2, loci, with_loci, least, most in session.execute(
        sums_query()
    ):
        surveys[key].caught[size_class] += int(n_fish)
        if n:
            alleles = 2.0 * int(loci) if with_loci == n else None
            rows.setdefault(key, []).append((panel, size_class, Sums(n, q, q2, alleles), least, most))
    found = {}
    for lake_id, keys in lakes.items():
        n_results: dict[str, Counter[Pair]] = {}
        for key in keys:
            of_species = n_results.setdefault(surveys[key].species, Counter())
            for panel, _, held, _, _ in rows.get(key, ()):
                if panel is not None:
                    of_species[panels[panel][1]] += held.n
        for key in keys:
            survey = surveys[key]
            survey.pair = main_pair(n_results[survey.species])
            for panel, size_class, held, least, most in rows.get(key, ()):
                if panel is not None and panels[panel][1] != survey.pair:
                    survey.n_other_taxa += held.n
                    continue
                if panel is not None:
                    survey.panels.add(panels[panel][0])
                survey.sums[size_class] = survey.sums.get(size_class, NO_SUMS) + held
                if least is not None and most is not None:
                    before = survey.loci or (least, most)
                    survey.loci = (min(before[0], least), max(before[1], most))
        found[lake_id] = LakeTotals(tuple(surveys[key] for key in keys))
    return found
