"""Gather what a lake report says: every survey's numbers, the changes between them, and where they come from."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.rules.genetics.rule_set import RuleSet
from geneticlog.rules.genetics.taxa import DEFAULT_PAIR, Pair
from geneticlog.rules.lakes.state import Progress
from geneticlog.rules.report.comparability import MATTERS, survey_to_report
from geneticlog.rules.stamp import Stamp
from geneticlog.rules.statistics.estimates import LEAST_TO_READ
from geneticlog.store.journal import head
from geneticlog.store.tables import (
    Fish,
    Lake,
    ReturnFile,
    ReturnRow,
    Stocking,
    Survey,
    Vial,
)
from geneticlog.work.catalogue.rule_sets import chosen_rule_set
from geneticlog.work.events import find_lake
from geneticlog.work.finding.lake_findings import open_findings_of_lakes
from geneticlog.work.lakes.progress import progress_of
from geneticlog.work.report.facts import LakeFacts, StockingFact, SurveyFacts
from geneticlog.work.report.lake_change import changes_of
from geneticlog.work.report.lake_years import through_years
from geneticlog.work.report.next_facts import FishToSee
from geneticlog.work.report.next_plan import Planner, fish_to_see, next_plan, next_time
from geneticlog.work.report.survey_numbers import survey_facts
from geneticlog.work.result.in_the_numbers import pairs_of_lakes
from geneticlog.work.result.panel_error import panel_errors


@dataclass(frozen=True)
class Wanted:
    """What is asked of the report of one lake.

    survey_code
        the survey the report is about; by default the latest with enough results to read (`survey_to_report`).
    half_width
        wanted half-width of a class mean, for the section on the next survey.
    rule_set_name
        the rule set that names the fish; by default the one in force.
    stocking_steps
        the line through three surveys and more is raised at each stocking between them.
    matters
        the least difference of proportions that matters, 0 to 1: one whose interval is nearer to 0 is called small.
    """

    survey_code: str | None = None
    half_width: float = 0.10
    rule_set_name: str | None = None
    stocking_steps: bool = False
    matters: float = MATTERS


def gather_lake(
    session: Session,
    lake_code: str,
    *,
    stamp: Stamp,
    wanted: Wanted = Wanted(),
) -> LakeFacts:
    """Return everything the report of one lake says.

    raises
        NotFound for a lake or a rule set that is not there, or a survey that is not one of the lake's own.
    """
    from geneticlog.errors import NotFound

    lake = find_lake(session, lake_code)
    surveys = list(
        session.scalars(
            select(Survey).where(Survey.lake_id == lake.id).order_by(Survey.surveyed_on, Survey.id)
        )
    )
    pairs = pairs_of_lakes(session, Survey.lake_id == lake.id)
    rule_set = chosen_rule_set(session, wanted.rule_set_name)
    errors = panel_errors(session)
    facts = tuple(
        survey_facts(session, survey, pairs.of(lake.id, survey.species), rule_set, errors)
        for survey in surveys
    )
    at = by_default = reported_survey(facts)
    if wanted.survey_code is not None:
        chosen = [one for one in facts if one.survey == wanted.survey_code.strip().upper()]
        if not chosen:
            known = ", ".join(one.survey for one in facts) or "none yet"
            raise NotFound(f"lake {lake.code} has no survey {wanted.survey_code!r}; its surveys are: {known}")
        at = facts.index(chosen[0])
    main = None if at is None else facts[at]
    stockings = _stockings(session, lake)
    pair = DEFAULT_PAIR if main is None else Pair(main.taxon, main.other_taxon)
    changes = changes_of([one for one in facts[: 1 + max(at or 0, by_default or 0)] if one.fish])
    to_main = next((one for one in reversed(changes) if main and one.later == main.survey), None)
    planner = Planner(session, lake, main.species if main else "largemouth_bass")
    return LakeFacts(
        lake=lake.code,
        name=lake.name,
        area_ha=lake.area_ha,
        taxon=pair.taxon,
        other_taxon=pair.other_taxon,
        surveys=facts,
        main=main,
        changes=changes,
        stockings=stockings,
        half_width=wanted.half_width,
        matters=wanted.matters,
        next_time=next_time(planner, main, wanted.half_width) if main else (),
        rule_set=rule_set,
        return_files=_return_files(session, lake),
        n_left_out=sum(one.n_left_out for one in facts),
        n_open_findings=open_findings_of_lakes(session, lake.id).get(lake.id, 0),
        fingerprint=fingerprint(facts, rule_set),
        made_at=stamp.now,
        made_by=stamp.by,
        journal_head=str(last) if (last := head(session.connection())) else None,
        progress=_progress(session, surveys),
        through_years=through_years(facts, main, stockings, as_steps=wanted.stocking_steps),
        next_plan=next_plan(planner, with_result=main is not None and main.n_resulted >= LEAST_TO_READ),
        to_see=fish_to_see(planner, main, to_main, wanted.matters) if main else FishToSee(),
    )


def reported_survey(facts: Sequence[SurveyFacts]) -> int | None:
    """Return which survey of a lake its report is about; None without a survey."""
    return survey_to_report([one.n_resulted for one in facts])


def _progress(session: Session, surveys: Sequence[Survey]) -> Progress:
    """Return how far the samples have come of the latest survey that has any; of the latest where none has."""
    for survey in reversed(surveys):
        found = progress_of(session, survey)
        if found.n_swabbed:
            return found
    return Progress()


def fingerprint(surveys: Sequence[SurveyFacts], rule_set: RuleSet) -> str:
    """Return the SHA-256 of the data behind a report and of the rule set that names its fish: the same data named
    alike give the same sixteen characters.
    """
    parts: list[object] = [rule_set.cut_offs()]
    parts += [
        {
            "survey": survey.survey,
            "surveyed_on": survey.surveyed_on.isoformat(),
            "gear": survey.gear,
            "caught": survey.caught,
            "classes": [(row.size_class, row.n_caught, row.n_swabbed) for row in survey.classes],
            "fish": [asdict(fish) for fish in survey.fish],
        }
        for survey in surveys
    ]
    return hashlib.sha256(json.dumps(parts, sort_keys=True).encode()).hexdigest()[:16]


def _stockings(session: Session, lake: Lake) -> tuple[StockingFact, ...]:
    rows = session.scalars(
        select(Stocking).where(Stocking.lake_id == lake.id).order_by(Stocking.stocked_on, Stocking.id)
    )
    return tuple(StockingFact(row.stocked_on, row.taxon, row.n_fish, row.size, row.source) for row in rows)


def _return_files(session: Session, lake: Lake) -> tuple[tuple[str, str], ...]:
    rows = session.execute(
        select(ReturnFile.name, ReturnFile.sha256, ReturnFile.id)
        .join(ReturnRow, ReturnRow.return_file_id == ReturnFile.id)
        .join(Vial, Vial.id == ReturnRow.vial_id)
        .join(Fish, Fish.id == Vial.fish_id)
        .join(Survey, Survey.id == Fish.survey_id)
        .where(Survey.lake_id == lake.id, ReturnFile.withdrawn_at.is_(None))
        .group_by(ReturnFile.name, ReturnFile.sha256, ReturnFile.id)
        .order_by(ReturnFile.id)
    )
    return tuple((name, sha256) for name, sha256, _ in rows)
