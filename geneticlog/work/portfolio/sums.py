"""Every survey of every lake as sums by size class, from one pass over the fish in the database."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from datetime import date

from sqlalchemy import Executable, and_, func, select
from sqlalchemy.orm import Session

from geneticlog.rules.schemes import Scheme
from geneticlog.rules.statistics.comparison import SurveySums
from geneticlog.rules.statistics.sums import NO_SUMS, Sums
from geneticlog.store.tables import Fish, Panel, Result, Survey
from geneticlog.work.report.lake_taxa import main_taxa


@dataclass
class SurveyTotals:
    """One survey in sums: the fish of its species, and their results for the lake's main pair of taxa.

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
    """A lake's main pair of taxa, and its surveys by date."""

    taxa: tuple[str, str]
    surveys: tuple[SurveyTotals, ...]

    @property
    def with_result(self) -> list[SurveyTotals]:
        return [survey for survey in self.surveys if survey.sums]


def sums_query() -> Executable:
    """Return the one query over all fish and results, grouped by survey, species, size class and panel: fish caught,
    results, sum of q and of q squared, loci: their sum, results that have them, fewest and most.
    """
    return select(
        Fish.survey_id,
        Fish.species,
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
    ).select_from(Fish).outerjoin(
        Result, and_(Result.fish_id == Fish.id, Result.outcome == "typed", Result.q.is_not(None))
    ).group_by(Fish.survey_id, Fish.species, Fish.size_class, Result.panel_id)  # fmt: skip


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
        key: (code, (taxon, other))
        for key, code, taxon, other in session.execute(
            select(Panel.id, Panel.code, Panel.taxon, Panel.other_taxon)
        )
    }
    rows: dict[int, list[tuple[int | None, str | None, Sums, int | None, int | None]]] = {}
    for key, species, size_class, panel, n_fish, n, q, q2, loci, with_loci, least, most in session.execute(
        sums_query()
    ):
        if species != surveys[key].species:
            continue
        surveys[key].caught[size_class] += int(n_fish)
        if n:
            alleles = 2.0 * int(loci) if with_loci == n else None
            rows.setdefault(key, []).append((panel, size_class, Sums(n, q, q2, alleles), least, most))
    found = {}
    for lake_id, keys in lakes.items():
        n_results: Counter[tuple[str, str]] = Counter()
        for key in keys:
            for panel, _, held, _, _ in rows.get(key, ()):
                if panel is not None:
                    n_results[panels[panel][1]] += held.n
        taxa = main_taxa(n_results)
        for key in keys:
            survey = surveys[key]
            for panel, size_class, held, least, most in rows.get(key, ()):
                if panel is not None and panels[panel][1] != taxa:
                    survey.n_other_taxa += held.n
                    continue
                if panel is not None:
                    survey.panels.add(panels[panel][0])
                survey.sums[size_class] = survey.sums.get(size_class, NO_SUMS) + held
                if least is not None and most is not None:
                    before = survey.loci or (least, most)
                    survey.loci = (min(before[0], least), max(before[1], most))
        found[lake_id] = LakeTotals(taxa, tuple(surveys[key] for key in keys))
    return found
