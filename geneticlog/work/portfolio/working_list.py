"""The working list of an office: every lake with its state, its owner, its next step, and why it asks for attention."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from geneticlog.rules.lakes.next_step import next_step
from geneticlog.rules.lakes.reasons import NO_RESULT, Shift, words_of_a_rise
from geneticlog.rules.lakes.state import Progress, State
from geneticlog.rules.report.comparability import MATTERS
from geneticlog.store.collector import without_collector
from geneticlog.store.tables import Lake, Survey
from geneticlog.work.lakes.progress import progress_of_lakes
from geneticlog.work.portfolio.gather import OLD_AFTER_DAYS, LakeLine, gather_portfolio


@dataclass(frozen=True)
class ListedLake:
    """One lake of the list: its line of numbers, and what an office works by.

    state, state_words: of its latest samples. last_survey_on: the latest outing, with results or without.
    reasons: why it asks for attention, most urgent first; urgency: that of the first, 0 for none.
    """

    line: LakeLine
    state: State
    state_words: str
    owner: str | None
    county: str | None
    last_survey_on: date | None
    next_step: str
    reasons: tuple[str, ...]
    urgency: int


def working_list(
    session: Session,
    *,
    today: date,
    old_after_days: int = OLD_AFTER_DAYS,
    matters: float = MATTERS,
    watch: Callable[[str, int, int], None] = lambda *_: None,
) -> list[ListedLake]:
    """Return every lake as the office works by it, those that need attention first, then by name; arguments as for
    `gather_portfolio`.
    """
    with without_collector():
        progress = progress_of_lakes(session)
        lines = gather_portfolio(
            session,
            today=today,
            old_after_days=old_after_days,
            matters=matters,
            watch=watch,
            progress=progress,
        )
        return _listed(session, lines, progress, today, old_after_days)


def _listed(
    session: Session,
    lines: Sequence[LakeLine],
    progress: Mapping[int, tuple[int, Progress]],
    today: date,
    old_after_days: int,
) -> list[ListedLake]:
    last = {
        row.lake_id: row.on
        for row in session.execute(
            select(Survey.lake_id, func.max(Survey.surveyed_on).label("on")).group_by(Survey.lake_id)
        )
    }
    places = {
        code: (key, owner, county)
        for key, code, owner, county in session.execute(select(Lake.id, Lake.code, Lake.owner, Lake.county))
    }
    entries = []
    for line in lines:
        key, owner, county = places[line.lake]
        done = progress.get(key, (0, Progress()))[1]
        on = last.get(key)
        rose = _rise(line)
        fell = line.change_high is not None and line.change_high < 0 and not line.change_misreading_alone
        reasons = (*(in_words(one, done) for one in line.reasons), *([rose] if rose else []))
        entries.append(
            ListedLake(
                line=line,
                state=done.state,
                state_words=done.words,
                owner=owner,
                county=county,
                last_survey_on=on,
                next_step=next_step(
                    done.state,
                    n_open=line.n_open_findings,
                    n_held=done.n_held,
                    n_unpacked=done.n_unpacked,
                    old=on is not None and (today - on).days > old_after_days,
                    fell=fell,
                ),
                reasons=reasons,
                urgency=max(line.urgency, 1 if rose else 0),
            )
        )
    return sorted(entries, key=lambda one: (-one.urgency, by_name(one.line.name), one.line.lake))


def in_words(reason: str, done: Progress) -> str:
    """Return a reason that there is no result with the state of the samples, in the words of report and coverage."""
    if NO_RESULT not in reason or done.state is State.KNOWN:
        return reason
    return reason.replace(f"has {NO_RESULT}", f"is {done.words}").replace(NO_RESULT, done.words)


def by_name(name: str) -> tuple[tuple[int, int | str], ...]:
    """Return what sorts names as people do: Lake 2 before Lake 10."""
    parts = re.split(r"(\d+)", name.casefold())
    return tuple((0, int(part)) if part.isdecimal() else (1, part) for part in parts if part)


def _rise(line: LakeLine) -> str:
    """Return the words for a rise, "" where there is none: good news is looked at too, after the bad."""
    if line.change is None or line.change_low is None or line.change_low <= 0 or line.earlier_on is None:
        return ""
    small, misread = bool(line.change_is_small), bool(line.change_misreading_alone)
    rise = Shift(line.change_differs, line.change_p_holm, small, misread)
    return words_of_a_rise(rise, line.change, line.earlier_on.year)
