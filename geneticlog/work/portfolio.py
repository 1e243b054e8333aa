"""Every lake at once: aggregated in the database, one row a survey, never a table of fish pulled into memory."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np
from numpy.typing import NDArray
from sqlalchemy import ColumnElement, Executable, and_, func, select
from sqlalchemy.orm import Session

from geneticlog.rules.change_p import difference_p_many
from geneticlog.rules.intervals import Estimate, difference, mean_from_sums_many, unseen_share
from geneticlog.store.tables import Fish, Lake, Panel, Result, Survey, Vial
from geneticlog.work.lake_findings import open_findings_of_lakes
from geneticlog.work.lake_size_tests import holm_of

OLD_AFTER_DAYS = 3 * 365  # a survey older than this asks for attention; common practice, no source


@dataclass(frozen=True)
class LakeLine:
    """One lake in the portfolio: its latest survey with a result, against the one before, and what asks for attention.

    coverage: fish with a result as a share of the fish swabbed on that survey. change_p: 1 - the level whose interval
    of the change reaches 0; change_p_holm: after Holm over all lakes with a change. reasons: most urgent first.
    """

    lake: str
    name: str
    taxon: str
    survey: str | None
    surveyed_on: date | None
    days_since: int | None
    n_caught: int
    n_swabbed: int
    n_resulted: int
    mean: float | None
    low: float | None
    high: float | None
    guard: str
    unseen: float | None
    coverage: float | None
    earlier_on: date | None
    change: float | None
    change_low: float | None
    change_high: float | None
    change_p: float | None
    change_p_holm: float | None
    n_open_findings: int
    urgency: int
    reasons: tuple[str, ...]


@dataclass(frozen=True)
class LakeChange:
    """The last survey with a result minus the one before it, p alone and after Holm over all lakes."""

    earlier_on: date
    difference: Estimate
    p: float | None
    p_holm: float | None

    @property
    def fell(self) -> bool:
        return self.difference.high is not None and self.difference.high < 0


def survey_sums() -> Executable:
    """Return the one query over all results: survey, n, sum of q, sum of q squared, loci, fish with loci, taxon."""
    return (
        select(
            Fish.survey_id,
            func.count(),
            func.sum(Result.q),
            func.sum(Result.q * Result.q),
            func.sum(Result.n_loci),
            func.count(Result.n_loci),
            func.max(Panel.taxon),
        )
        .select_from(Result)
        .join(Fish, Fish.id == Result.fish_id)
        .outerjoin(Panel, Panel.id == Result.panel_id)
        .where(Result.outcome == "typed")
        .group_by(Fish.survey_id)
    )


def gather_portfolio(
    session: Session, *, today: date, old_after_days: int = OLD_AFTER_DAYS
) -> list[LakeLine]:
    """Return every lake, those that need attention first, then by name.

    today
        the day from which a survey's age is counted.
    """
    surveys: dict[int, list[tuple[int, str, date]]] = {}
    for survey_id, lake_id, code, on in session.execute(
        select(Survey.id, Survey.lake_id, Survey.code, Survey.surveyed_on).order_by(
            Survey.surveyed_on, Survey.id
        )
    ):
        surveys.setdefault(lake_id, []).append((survey_id, code, on))
    rows = list(session.execute(survey_sums()))
    sums = _sums(rows)
    estimates, taxa = _estimates(rows, sums)
    latest = {lake_id: of_lake[-1][0] for lake_id, of_lake in surveys.items()}
    shown = {
        lake_id: ([one for one in of_lake if one[0] in estimates] or of_lake)[-1][0]
        for lake_id, of_lake in surveys.items()
    }
    last_day = _last_day()
    caught = dict(_counts(session, func.sum(Fish.n_fish), last_day))
    swabbed = dict(_swabbed(session, last_day))
    missing = [survey_id for survey_id in shown.values() if survey_id not in caught]
    for some in (missing[at : at + 500] for at in range(0, len(missing), 500)):
        caught |= dict(_counts(session, func.sum(Fish.n_fish), Survey.id.in_(some)))
        swabbed |= dict(_swabbed(session, Survey.id.in_(some)))
    findings = open_findings_of_lakes(session)
    changes = _changes(surveys, estimates, {row[0]: at for at, row in enumerate(rows)}, sums)
    lines = []
    for lake_id, code, name in session.execute(select(Lake.id, Lake.code, Lake.name)):
        of_lake = surveys.get(lake_id, [])
        lines.append(
            _line(
                code, name, of_lake, shown.get(lake_id), latest.get(lake_id), estimates, taxa, caught, swabbed,
                changes.get(lake_id), findings.get(lake_id, 0), today, old_after_days,
            )
        )  # fmt: skip
    return sorted(lines, key=lambda line: (-line.urgency, line.name.casefold(), line.lake))


def _sums(rows: Sequence[Any]) -> NDArray[np.float64]:
    """Return (4, surveys): fish, sum of q, sum of q squared, alleles (NaN where the loci of a fish are not known)."""
    return (
        np.array(
            [
                [n, sum_q, sum_q2, 2.0 * loci if loci is not None and with_loci == n else np.nan]
                for _, n, sum_q, sum_q2, loci, with_loci, _ in rows
            ],
            dtype=np.float64,
        )
        .reshape(-1, 4)
        .T
    )


def _estimates(rows: Sequence[Any], sums: NDArray[np.float64]) -> tuple[dict[int, Estimate], dict[int, str]]:
    if not rows:
        return {}, {}
    many = mean_from_sums_many(sums[0], sums[1], sums[2], sums[3])
    found = {row[0]: many.one(at) for at, row in enumerate(rows)}
    return found, {row[0]: row[-1] for row in rows}


def _changes(
    surveys: Mapping[int, Sequence[tuple[int, str, date]]],
    estimates: Mapping[int, Estimate],
    at: Mapping[int, int],
    sums: NDArray[np.float64],
) -> dict[int, LakeChange]:
    """Return the change of each lake with two surveys with results, p adjusted by Holm over all of them."""
    pairs = {
        lake_id: with_result[-2:]
        for lake_id, of_lake in surveys.items()
        if len(with_result := [one for one in of_lake if one[0] in estimates]) > 1
    }
    if not pairs:
        return {}
    earlier, later = ([at[pair[side][0]] for pair in pairs.values()] for side in (0, 1))
    p = [None if np.isnan(one) else float(one) for one in difference_p_many(sums[:, later], sums[:, earlier])]
    return {
        lake_id: LakeChange(before[2], difference(estimates[after[0]], estimates[before[0]]), alone, adjusted)
        for (lake_id, (before, after)), alone, adjusted in zip(pairs.items(), p, holm_of(p), strict=True)
    }


def _last_day() -> ColumnElement[bool]:
    """Return the condition that a survey is its lake's last."""
    last = (
        select(Survey.lake_id.label("lake_id"), func.max(Survey.surveyed_on).label("day"))
        .group_by(Survey.lake_id)
        .subquery()
    )
    return Survey.id.in_(
        select(Survey.id).join(last, and_(last.c.lake_id == Survey.lake_id, last.c.day == Survey.surveyed_on))
    )


def _counts(
    session: Session, number: ColumnElement[int], which: ColumnElement[bool]
) -> Sequence[tuple[int, int]]:
    rows = session.execute(
        select(Fish.survey_id, number)
        .join(Survey, Survey.id == Fish.survey_id)
        .where(which, Fish.species == Survey.species)
        .group_by(Fish.survey_id)
    )
    return [(survey_id, int(found)) for survey_id, found in rows]


def _swabbed(session: Session, which: ColumnElement[bool]) -> Sequence[tuple[int, int]]:
    rows = session.execute(
        select(Fish.survey_id, func.count(Vial.fish_id.distinct()))
        .join(Vial, Vial.fish_id == Fish.id)
        .join(Survey, Survey.id == Fish.survey_id)
        .where(which, Fish.species == Survey.species)
        .group_by(Fish.survey_id)
    )
    return [(survey_id, int(found)) for survey_id, found in rows]


def _line(
    code: str,
    name: str,
    surveys: Sequence[tuple[int, str, date]],
    shown: int | None,
    latest: int | None,
    estimates: Mapping[int, Estimate],
    taxa: Mapping[int, str],
    caught: Mapping[int, int],
    swabbed: Mapping[int, int],
    change: LakeChange | None,
    n_open: int,
    today: date,
    old_after_days: int,
) -> LakeLine:
    survey = next((one for one in surveys if one[0] == shown), None)
    now = estimates.get(shown) if shown is not None else None
    n_swabbed = swabbed.get(shown, 0) if shown is not None else 0
    days = (today - surveys[-1][2]).days if surveys else None
    reasons = list(
        _reasons(bool(surveys), now, change, days, old_after_days, n_open, n_swabbed, latest == shown)
    )
    return LakeLine(
        lake=code,
        name=name,
        taxon=(taxa.get(shown) or "Florida") if shown is not None else "Florida",
        survey=survey[1] if survey else None,
        surveyed_on=survey[2] if survey else None,
        days_since=(today - survey[2]).days if survey else None,
        n_caught=caught.get(shown, 0) if shown is not None else 0,
        n_swabbed=n_swabbed,
        n_resulted=now.n if now else 0,
        mean=now.mean if now else None,
        low=now.low if now else None,
        high=now.high if now else None,
        guard=now.guard if now else "no fish",
        unseen=unseen_share(now.n) if now and now.n else None,
        coverage=now.n / n_swabbed if now and n_swabbed else None,
        earlier_on=change.earlier_on if change else None,
        change=change.difference.mean if change else None,
        change_low=change.difference.low if change else None,
        change_high=change.difference.high if change else None,
        change_p=change.p if change else None,
        change_p_holm=change.p_holm if change else None,
        n_open_findings=n_open,
        urgency=max((urgency for urgency, _ in reasons), default=0),
        reasons=tuple(words for _, words in sorted(reasons, key=lambda reason: -reason[0])),
    )


def _reasons(
    surveyed: bool,
    now: Estimate | None,
    change: LakeChange | None,
    days: int | None,
    old_after_days: int,
    n_open: int,
    n_swabbed: int,
    shows_latest: bool,
) -> list[tuple[int, str]]:
    """Return what asks for attention, each with its urgency: 6 first, 1 last."""
    reasons = []
    if n_open:
        reasons.append((6, f"{n_open} finding{'s' * (n_open != 1)} to decide"))
    if change is not None and change.fell and change.p_holm is not None and change.p_holm < 0.05:
        reasons.append((5, "the share fell since the survey before"))
    elif change is not None and change.fell:
        reasons.append((3, "the share may have fallen; chance is not ruled out among so many lakes"))
    if not surveyed:
        reasons.append((4, "never surveyed"))
    elif now is None:
        reasons.append((4, "no result yet"))
    elif not shows_latest:
        reasons.append((4, "the latest survey has no result yet"))
    if now is not None and now.n < 5:
        reasons.append((3, "too few fish to read"))
    if days is not None and days > old_after_days:
        reasons.append((2, f"last surveyed {days} days ago"))
    if now is not None and now.n >= 5 and now.width is not None and now.width > 0.30:
        reasons.append((1, "wide interval"))
    if now is not None and n_swabbed and now.n < 0.8 * n_swabbed:
        reasons.append((1, f"{n_swabbed - now.n} of {n_swabbed} swabbed fish have no result"))
    return reasons
