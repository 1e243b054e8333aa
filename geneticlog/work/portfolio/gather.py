"""Every lake at once: aggregated in the database, a row a size class, never a table of fish pulled into memory."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.rules.genetics.taxa import DEFAULT_PAIR
from geneticlog.rules.lakes.reasons import Seen, Shift, reasons
from geneticlog.rules.lakes.state import Progress
from geneticlog.rules.report.comparability import MATTERS, Aspect
from geneticlog.rules.statistics.estimates import WIDE
from geneticlog.store.chunks import in_chunks
from geneticlog.store.tables import Lake, Survey
from geneticlog.work.finding.lake_findings import open_findings_of_lakes
from geneticlog.work.lakes.progress import progress_of_lakes
from geneticlog.work.portfolio.changes import LakeChange, changes_of_lakes
from geneticlog.work.portfolio.means import Means, SurveyMeans
from geneticlog.work.portfolio.sums import LakeTotals, SurveyTotals, totals_of_lakes
from geneticlog.work.report.number_facts import NO_DIFFERENCE, Difference, Number, WeightedNumber
from geneticlog.work.result.count_fish import caught_and_swabbed

OLD_AFTER_DAYS = 3 * 365  # a survey older than this asks for attention; common practice, no source

STEPS = 5  # of gathering the list of lakes, for who waits


@dataclass(frozen=True)
class LakeLine:
    """One lake in the portfolio: the survey its report is about, against the one before, and what asks for attention.

    Fish of the survey's species count, and of results those for its pair of taxa; n_other_taxa counts the survey's
    other ones. mean: weighted to the catch, for the share of it that share_of_catch_covered tells, as in the lake's
    report; swabbed: the mean of the swabbed fish as they are. coverage: fish with a result as a share of the fish
    swabbed on that survey. change: against the survey of the same species before it, on the footing change_basis
    tells, young and adult: of these alone; change_differs: what else differs between the two. change_p: below .05
    exactly where the limits leave 0 out; change_p_holm: after Holm over all lakes with a change; change_is_small: the
    limits are nearer to 0 than what matters, and no kind of fish that could have been missed moves it as far.
    misreading_alone, change_misreading_alone: misread alleles alone explain the mean, or may be all that parts the two
    surveys. reasons: most urgent first.
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
    other_taxon: str
    species: str | None
    n_other_taxa: int
    change_basis: str
    change_differs: tuple[Aspect, ...]
    share_of_catch_covered: float | None
    swabbed: Number
    young: Difference
    adult: Difference
    change_is_small: bool | None
    misreading_alone: bool
    change_misreading_alone: bool | None


def gather_portfolio(
    session: Session,
    *,
    today: date,
    old_after_days: int = OLD_AFTER_DAYS,
    matters: float = MATTERS,
    watch: Callable[[str, int, int], None] = lambda *_: None,
    progress: Mapping[int, tuple[int, Progress]] | None = None,
) -> list[LakeLine]:
    """Return every lake, those that need attention first, then by name.

    today
        the day from which a survey's age is counted.
    matters
        the least difference of proportions that matters, 0 to 1: a fall whose interval is nearer to 0 is called small.
    watch
        called before each step with its name, how many steps are done and how many there are.
    progress
        `progress_of_lakes`, where the caller has it.
    """
    watch("Counting fish and results", 0, STEPS)
    lakes = totals_of_lakes(session)
    shown = {lake_id: lake.reported for lake_id, lake in lakes.items()}
    watch("Working out intervals", 1, STEPS)
    means = Means(session)
    of_survey = means.of(list(shown.values()))
    watch("Counting swabs and open findings", 2, STEPS)
    done = progress_of_lakes(session) if progress is None else progress
    swabbed = _swabbed(session, shown.values(), {key: survey.n_in_hand for key, survey in done.values()})
    findings = open_findings_of_lakes(session)
    watch("Working out changes", 3, STEPS)
    changes = changes_of_lakes(session, lakes, matters, means)
    watch("Choosing what needs attention", 4, STEPS)
    lines = []
    for lake_id, code, name in session.execute(select(Lake.id, Lake.code, Lake.name)):
        survey = shown.get(lake_id)
        gathered = _Found(
            lakes.get(lake_id),
            survey,
            of_survey.get(survey.id) if survey else None,
            swabbed.get(survey.id, 0) if survey else 0,
            changes.get(lake_id),
            findings.get(lake_id, 0),
        )
        lines.append(_line(code, name, gathered, today, old_after_days))
    return sorted(lines, key=lambda line: (-line.urgency, line.name.casefold(), line.lake))


def _swabbed(
    session: Session, shown: Iterable[SurveyTotals], counted_already: Mapping[int, int]
) -> dict[int, int]:
    """Return the swabbed fish of the surveys shown by the survey's id; most are their lake's latest, and counted."""
    swabbed = dict(counted_already)
    for some in in_chunks(survey.id for survey in shown if survey.id not in swabbed):
        counts = caught_and_swabbed(session, Survey.id.in_(some))
        swabbed |= {key: n_swabbed for key, (_, n_swabbed) in counts.items()}
    return swabbed


@dataclass(frozen=True)
class _Found:
    """What was found of one lake: its survey to report on, and what is known of that."""

    lake: LakeTotals | None
    survey: SurveyTotals | None
    means: SurveyMeans | None
    n_swabbed: int
    change: LakeChange | None
    n_open: int

    @property
    def now(self) -> Number | None:
        return self.means.swabbed if self.means else None

    @property
    def weighted(self) -> WeightedNumber | None:
        return self.means.weighted if self.means else None


def _seen(gathered: _Found, today: date) -> Seen:
    """Return what the reasons for attention rest on."""
    latest = gathered.lake.surveys[-1] if gathered.lake else None
    change = gathered.change
    return Seen(
        pair=gathered.survey.pair if gathered.survey else DEFAULT_PAIR,
        n_open=gathered.n_open,
        fall=Shift(change.differs, change.p_holm, change.small, change.misreading_alone)
        if change is not None and change.fell
        else None,
        latest=latest is not None,
        days=(today - latest.on).days if latest else None,
        n_latest=latest.n_typed if latest else 0,
        n_other_latest=latest.n_other_taxa if latest else 0,
        is_latest=latest is gathered.survey,
        n=gathered.now.n if gathered.now else None,
        n_other=gathered.survey.n_other_taxa if gathered.survey else 0,
        n_swabbed=gathered.n_swabbed,
        wide=gathered.weighted is not None and WIDE in gathered.weighted.guard,
    )


def _line(code: str, name: str, gathered: _Found, today: date, old_after_days: int) -> LakeLine:
    survey, now, weighted, change = gathered.survey, gathered.now, gathered.weighted, gathered.change
    n_swabbed = gathered.n_swabbed
    pair = survey.pair if survey else DEFAULT_PAIR
    why = reasons(_seen(gathered, today), old_after_days=old_after_days)
    return LakeLine(
        lake=code,
        name=name,
        taxon=pair.taxon,
        survey=survey.code if survey else None,
        surveyed_on=survey.on if survey else None,
        days_since=(today - survey.on).days if survey else None,
        n_caught=sum(survey.caught.values()) if survey else 0,
        n_swabbed=n_swabbed,
        n_resulted=now.n if now else 0,
        mean=weighted.mean if weighted else None,
        low=weighted.low if weighted else None,
        high=weighted.high if weighted else None,
        guard=weighted.guard if weighted else "no fish",
        unseen=now.unseen if now else None,
        coverage=now.n / n_swabbed if now and n_swabbed else None,
        earlier_on=change.earlier_on if change else None,
        change=change.difference.mean if change else None,
        change_low=change.difference.low if change else None,
        change_high=change.difference.high if change else None,
        change_p=change.p if change else None,
        change_p_holm=change.p_holm if change else None,
        n_open_findings=gathered.n_open,
        urgency=max((urgency for urgency, _ in why), default=0),
        reasons=tuple(words for _, words in sorted(why, key=lambda reason: -reason[0])),
        other_taxon=pair.other_taxon,
        species=survey.species if survey else None,
        n_other_taxa=survey.n_other_taxa if survey else 0,
        change_basis=change.basis if change else "",
        change_differs=change.differs if change else (),
        share_of_catch_covered=weighted.share_of_catch_covered if weighted else None,
        swabbed=now or Number(),
        misreading_alone=gathered.means is not None and gathered.means.leading.misreading_alone,
        young=change.young if change else NO_DIFFERENCE,
        adult=change.adult if change else NO_DIFFERENCE,
        change_is_small=change.small if change else None,
        change_misreading_alone=change.misreading_alone if change else None,
    )
