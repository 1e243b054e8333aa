"""Every survey of every lake as sums by size class, from one pass over the fish in the database."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property
from typing import Any, NamedTuple

from sqlalchemy import ColumnElement, Select, and_, func, select
from sqlalchemy.orm import Session

from geneticlog.rules.genetics.taxa import DEFAULT_PAIR, Pair, main_pair
from geneticlog.rules.report.comparability import Footing, survey_to_report
from geneticlog.rules.schemes import Scheme
from geneticlog.rules.statistics.comparison import SurveySums
from geneticlog.rules.statistics.sums import NO_SUMS, Sums, together
from geneticlog.store.chunks import in_chunks
from geneticlog.store.exact_sums import as_number, exact_sum, exact_total
from geneticlog.store.tables import Fish, Panel, Result, Survey
from geneticlog.work.result.in_the_numbers import counted, of_its_species


@dataclass
class SurveyTotals:
    """One survey in sums: the fish of its species, and their results for the pair of taxa of its species in the lake.

    caught, sums: size class (None: not measured) -> fish caught, sums of the fish with a result. panels: those the
    results come from; without_panel: some name none. loci: fewest and most scored. n_other_taxa: results for another
    pair, left out.
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
    without_panel: bool = False
    loci: tuple[int, int] | None = None
    n_other_taxa: int = 0
    pair: Pair = DEFAULT_PAIR

    @cached_property
    def footing(self) -> Footing:
        """How these numbers were made."""
        return Footing(self.on, self.gear, frozenset(self.panels), self.loci, self.scheme, self.unit)

    @cached_property
    def every(self) -> Sums:
        """The sums of all fish with a result, measured or not."""
        return together(self.sums.values())

    @property
    def n_typed(self) -> int:
        """Fish with a result, measured or not."""
        return sum(held.n for held in self.sums.values())

    def to_compare(self) -> SurveySums:
        """Return what a comparison with another survey of the lake takes: fish of a known size class."""
        return SurveySums(
            name=self.code,
            scheme=self.scheme,
            n_caught={name: self.caught[name] for name in self.scheme.classes},
            sums={name: held for name, held in self.sums.items() if name is not None},
            n_without_class=self.caught[None],
            without_class=self.sums.get(None, NO_SUMS),
        )


@dataclass(frozen=True)
class LakeTotals:
    """A lake's surveys by date, at least one."""

    surveys: tuple[SurveyTotals, ...]

    @cached_property
    def reported(self) -> SurveyTotals:
        """The survey that the lake's report is about."""
        at = survey_to_report([survey.n_typed for survey in self.surveys])
        assert at is not None
        return self.surveys[at]


def sums_query(*of: ColumnElement[bool], by_panel: bool = False) -> Select[*tuple[Any, ...]]:
    """Return the one query over all fish and results, grouped by survey and size class: fish of the survey's species
    caught, results; lowest and highest panel, results that name one; sum of q and of q squared (two columns each,
    `exact_sum`), lowest and highest q, loci: their sum, results that have them, fewest and most.

    of
        Conditions on Survey.
    by_panel
        Grouped by panel besides. Fish come in the order of survey and size class, not in that of panels, so this
        takes longer; few surveys have two.
    """
    query = select(
        Survey.id,
        Fish.size_class,
        func.sum(Fish.n_fish),
        func.count(Result.id),
        func.min(Result.panel_id),
        func.max(Result.panel_id),
        func.count(Result.panel_id),
        *exact_sum(Result.q),
        *exact_sum(Result.q * Result.q),
        func.min(Result.q),
        func.max(Result.q),
        func.sum(Result.n_loci),
        func.count(Result.n_loci),
        func.min(Result.n_loci),
        func.max(Result.n_loci),
    ).select_from(Survey).join(Fish, Fish.survey_id == Survey.id).outerjoin(
        Result, and_(Result.fish_id == Fish.id, counted())
    ).where(of_its_species(), *of).group_by(Survey.id, Fish.size_class)  # fmt: skip
    return query.group_by(Result.panel_id) if by_panel else query


class _Group(NamedTuple):
    """One row of the query; q, q2 in whole numbers of `exact_total`."""

    panel: int | None
    size_class: str | None
    n: int
    q: int
    q2: int
    least_q: float
    most_q: float
    n_alleles: float | None
    least_loci: int | None
    most_loci: int | None


def _sums_of_groups(groups: Sequence[_Group]) -> Sums:
    """Return the sums of one size class over its panels, rounded once: those of the fish themselves."""
    if len(groups) == 1:
        (one,) = groups
        return Sums(one.n, as_number(one.q), as_number(one.q2), one.n_alleles, one.least_q, one.most_q)
    alleles = [group.n_alleles for group in groups]
    known = [one for one in alleles if one is not None]
    return Sums(
        sum(group.n for group in groups),
        as_number(sum(group.q for group in groups)),
        as_number(sum(group.q2 for group in groups)),
        sum(known) if len(known) == len(alleles) else None,
        min(group.least_q for group in groups),
        max(group.most_q for group in groups),
    )


def totals_of_lakes(session: Session) -> dict[int, LakeTotals]:
    """Return the totals of every lake with a survey, by the lake's id."""
    surveys: dict[int, SurveyTotals] = {}
    lakes: dict[int, list[int]] = {}
    for key, lake_id, code, on, gear, species, unit, scheme in session.execute(
        select(
            Survey.id, Survey.lake_id, Survey.code, Survey.surveyed_on, Survey.gear, Survey.species,
            Survey.length_unit, Survey.scheme,
        ).order_by(Survey.surveyed_on, Survey.id)
    ):  # fmt: skip
        surveys[key] = SurveyTotals(key, code, on, gear, species, unit, scheme)
        lakes.setdefault(lake_id, []).append(key)
    panels = {
        key: (code, Pair(taxon, other))
        for key, code, taxon, other in session.execute(
            select(Panel.id, Panel.code, Panel.taxon, Panel.other_taxon)
        )
    }
    rows = _groups(session, surveys)
    totals = {}
    for lake_id, keys in lakes.items():
        n_results: dict[str, Counter[Pair]] = {}
        for key in keys:
            of_species = n_results.setdefault(surveys[key].species, Counter())
            for group in rows.get(key, ()):
                if group.panel is not None:
                    of_species[panels[group.panel][1]] += group.n
        for key in keys:
            surveys[key].pair = main_pair(n_results[surveys[key].species])
            _add_groups(surveys[key], rows.get(key, ()), panels)
        totals[lake_id] = LakeTotals(tuple(surveys[key] for key in keys))
    return totals


def _groups(session: Session, surveys: Mapping[int, SurveyTotals]) -> dict[int, list[_Group]]:
    """Add up the catch of each survey by size class; return its results by size class and panel."""
    connection = session.connection()
    found = list(connection.execute(sums_query()).all())
    mixed = {key for key, _, _, n, least, most, n_named, *_ in found if least != most or 0 < n_named < n}
    rows = [row for row in found if row[0] not in mixed] if mixed else found
    for some in in_chunks(mixed):
        rows += connection.execute(sums_query(Survey.id.in_(some), by_panel=True))
    groups: dict[int, list[_Group]] = {}
    for key, size_class, n_fish, n, panel, _, _, *of_results in rows:
        surveys[key].caught[size_class] += int(n_fish)
        if n:
            q, rest, q2, rest2, least_q, most_q, loci, with_loci, least, most = of_results
            totals = exact_total(q, rest), exact_total(q2, rest2)
            alleles = 2.0 * int(loci) if with_loci == n else None
            groups.setdefault(key, []).append(
                _Group(panel, size_class, n, *totals, least_q, most_q, alleles, least, most)
            )
    return groups


def _add_groups(
    survey: SurveyTotals, groups: Iterable[_Group], panels: Mapping[int, tuple[str, Pair]]
) -> None:
    """Add the results of a survey that are of its pair of taxa; those of another pair are only counted."""
    ours: dict[str | None, list[_Group]] = {}
    for group in groups:
        if group.panel is not None and panels[group.panel][1] != survey.pair:
            survey.n_other_taxa += group.n
            continue
        if group.panel is not None:
            survey.panels.add(panels[group.panel][0])
        else:
            survey.without_panel = True
        ours.setdefault(group.size_class, []).append(group)
        if group.least_loci is not None and group.most_loci is not None:
            before = survey.loci or (group.least_loci, group.most_loci)
            survey.loci = (min(before[0], group.least_loci), max(before[1], group.most_loci))
    survey.sums = {size_class: _sums_of_groups(held) for size_class, held in ours.items()}
