"""Plan how many fish of which size classes to swab, from what the lake's earlier surveys showed."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import datetime
from math import floor
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from geneticlog.errors import Refused
from geneticlog.rules.sampling import (
    ALLOCATIONS,
    EQUAL,
    LEAST_VARIANCE,
    allocate,
    fish_for_a_carrier,
    fish_for_half_width,
    half_width_of,
    weighted_half_width,
)
from geneticlog.rules.schemes import Scheme
from geneticlog.rules.sums import Sums
from geneticlog.store.tables import Fish, Lake, PlanTarget, Result, SamplingPlan, Survey
from geneticlog.work.places import scheme_of
from geneticlog.work.record import as_json, new_uid, record

# Standard deviation of q where nothing is known yet. Observed: about .06 in old intergrade lakes, .12 some years
# after stocking (Silliman et al. 2021, Allatoona, Blue Ridge, Ouachita); .25 is a cautious middle, a choice.
DEFAULT_SPREAD = 0.25
LEAST_A_CLASS, WANTED_A_CLASS = 5, 8  # no published number was found; half-width 1.24 and 0.84 spreads
LEAST_FOR_SPREAD = 5  # fish of a class whose own spread is believed
FLOOR_SPREAD = 0.02  # a class that happened to be all alike is not planned as if nothing could vary
CURVE = (3, 5, 8, 10, 15, 20, 30, 45, 60)  # fish a class at which the trade-off is shown


@dataclass(frozen=True)
class Wishes:
    """What is asked of a plan; None where the person has no wish.

    half_width: of the mean q of each class; budget with fee: most to spend, in one currency;
    carrier_frequency with chance: a kind of fish this frequent should be met; fish: a number in all.
    """

    half_width: float | None = None
    fish: int | None = None
    fee: float | None = None
    budget: float | None = None
    carrier_frequency: float | None = None
    chance: float = 0.95
    least: int = LEAST_A_CLASS
    wanted: int = WANTED_A_CLASS
    allocation: str = EQUAL


@dataclass(frozen=True)
class PlannedClass:
    """One size class of a plan.

    likely_catch: fish in an average earlier survey, None without one; spread: standard deviation of q planned with,
    spread_from: the survey it was seen in, or "default"; half_width: expected of its mean, None below two fish.
    """

    size_class: str
    likely_catch: float | None
    target: int
    spread: float
    spread_from: str
    half_width: float | None
    cost: float | None


@dataclass(frozen=True)
class TradeOff:
    """What a number of fish in each class would give: half-width of a class with the middle spread, and cost."""

    fish_a_class: int
    n_fish: int
    half_width: float
    lake_half_width: float | None
    cost: float | None


@dataclass(frozen=True)
class Plan:
    """A sampling plan: targets, and everything they rest on."""

    lake: str
    number: int | None  # None when it was only looked at
    scheme: str
    species: str
    allocation: str
    allocation_why: str
    classes: tuple[PlannedClass, ...]
    n_fish: int
    cost: float | None
    chance_unseen: float | None  # a kind as frequent as asked for is missed with this chance
    fish_for_carrier: int | None
    lake_half_width: float | None
    trade_off: tuple[TradeOff, ...]
    notes: tuple[str, ...]


def make_plan(
    session: Session,
    lake: Lake,
    wishes: Wishes,
    *,
    now: datetime,
    by: str,
    species: str = "largemouth_bass",
    store: bool = True,
) -> Plan:
    """Work out a plan for a lake and store it as the one in force; with store=False only work it out.

    Raises Refused where the wishes contradict each other or the budget is too small for the least per class.
    """
    _check(wishes)
    scheme = scheme_of(lake, species)
    catch, n_surveys = _likely_catch(session, lake, scheme, species)
    spread, spread_from, source = _spreads(session, lake, scheme, species)
    notes = [source]
    # Classes never caught in any earlier survey still get the least: the plan must not assume them away.
    weights = {name: catch.get(name, 0.0) + 1e-6 for name in scheme.classes} if n_surveys else None
    if weights is None and wishes.allocation != EQUAL:
        notes.append("No fish has been measured here yet, so every class is taken as equally common.")
    n_fish, how = _how_many(wishes, scheme, spread, notes)
    targets = allocate(
        n_fish,
        weights or dict.fromkeys(scheme.classes, 1.0),
        spread if wishes.allocation == LEAST_VARIANCE else None,
        rule=wishes.allocation,
        least=min(wishes.least, n_fish // len(scheme.classes)),
    )
    notes.append(how)
    classes = tuple(
        PlannedClass(
            name,
            catch.get(name, 0.0) if n_surveys else None,
            targets[name],
            spread[name],
            spread_from[name],
            half_width_of(spread[name], targets[name]) if targets[name] >= 2 else None,
            targets[name] * wishes.fee if wishes.fee is not None else None,
        )
        for name in scheme.classes
    )
    if wishes.half_width is not None:
        wide = [
            c.size_class for c in classes if c.half_width is None or c.half_width > wishes.half_width + 1e-9
        ]
        if wide:
            notes.append(f"Not as narrow as the wished-for {wishes.half_width:g}: {', '.join(wide)}.")
    scarce = [c for c in classes if c.likely_catch is not None and c.likely_catch < c.target]
    if scarce:
        listed = ", ".join(f"{c.size_class} (about {c.likely_catch:.0f} caught a survey)" for c in scarce)
        notes.append(f"May not be caught in one survey: {listed}.")
    for_carrier = unseen = None
    if wishes.carrier_frequency is not None:
        for_carrier = fish_for_a_carrier(wishes.carrier_frequency, wishes.chance)
        unseen = (1 - wishes.carrier_frequency) ** n_fish
    number = _store(session, lake, scheme, wishes, classes, notes, now=now, by=by) if store else None
    return Plan(
        lake.code,
        number,
        scheme.name,
        species,
        wishes.allocation,
        ALLOCATIONS[wishes.allocation],
        classes,
        n_fish,
        n_fish * wishes.fee if wishes.fee is not None else None,
        unseen,
        for_carrier,
        weighted_half_width(targets, catch, spread) if n_surveys else None,
        tuple(_curve(scheme, catch if n_surveys else None, spread, wishes.fee)),
        tuple(notes),
    )


def _check(wishes: Wishes) -> None:
    if wishes.allocation not in ALLOCATIONS:
        raise Refused(f"allocation {wishes.allocation!r} is not one of {', '.join(ALLOCATIONS)}")
    if wishes.budget is not None and wishes.fee is None:
        raise Refused("a budget needs the lab's fee for one fish beside it")
    for what, value in (("half-width", wishes.half_width), ("fee", wishes.fee), ("budget", wishes.budget)):
        if value is not None and not 0 < value < float("inf"):
            raise Refused(f"a {what} of {value} cannot be planned with; it must be above 0")
    if wishes.half_width is not None and wishes.half_width >= 0.5:
        raise Refused(
            f"a half-width of {wishes.half_width} says nothing of a proportion; ask for less than 0.5"
        )
    if wishes.carrier_frequency is not None and not 0 < wishes.carrier_frequency <= 1:
        raise Refused(f"a frequency of {wishes.carrier_frequency} cannot be; above 0, at most 1")
    if not 0 < wishes.chance < 1:
        raise Refused(f"a chance of {wishes.chance} cannot be planned for; between 0 and 1, such as 0.95")
    if wishes.least < 0 or wishes.wanted < 1:
        raise Refused("the least for each class cannot be below 0, nor the wanted number below 1")
    if wishes.fish is not None and wishes.fish < 1:
        raise Refused(f"{wishes.fish} fish cannot be planned")


def _how_many(wishes: Wishes, scheme: Scheme, spread: dict[str, float], notes: list[str]) -> tuple[int, str]:
    """Return the fish in all, the largest of the wishes within the budget, and the sentence that says why."""
    k = len(scheme.classes)
    asked: list[tuple[int, str]] = []
    if wishes.fish is not None:
        asked.append((wishes.fish, f"{wishes.fish} fish were asked for"))
    if wishes.half_width is not None:
        need = {name: fish_for_half_width(spread[name], wishes.half_width) for name in scheme.classes}
        if wishes.allocation == EQUAL:
            n = k * max(need.values())
            asked.append((n, f"a half-width of {wishes.half_width:g} in every class"))
        else:
            said = (
                f"as many as a half-width of {wishes.half_width:g} in every class takes, shared by the catch"
            )
            asked.append((sum(need.values()), said))
    if wishes.carrier_frequency is not None:
        n = fish_for_a_carrier(wishes.carrier_frequency, wishes.chance)
        asked.append(
            (
                n,
                f"a {wishes.chance:.0%} chance to meet a kind of fish that makes up {wishes.carrier_frequency:.1%}",
            )
        )
    if not asked:
        asked.append((k * wishes.wanted, f"{wishes.wanted} fish in each of {k} size classes"))
    n, why = max(asked)
    n = max(n, k * wishes.least) if wishes.fish is None else n
    if wishes.fish is not None and wishes.fish < k * wishes.least:
        notes.append(f"{wishes.fish} fish are fewer than {wishes.least} for each of {k} classes.")
    if wishes.budget is not None and wishes.fee is not None:
        paid = floor(wishes.budget / wishes.fee + 1e-9)
        if paid < k * max(1, min(wishes.least, 2)):
            raise Refused(
                f"a budget of {wishes.budget:g} pays for {paid} fish at {wishes.fee:g} each, too few for {k} size"
                " classes; use fewer classes (lake scheme) or a larger budget"
            )
        if paid < n:
            notes.append(f"Wished for: {n} fish; the budget pays for {paid}.")
            return paid, f"{paid} fish in all: what the budget pays for."
        if not wishes.half_width and not wishes.carrier_frequency and not wishes.fish:
            return paid, f"{paid} fish in all: what the budget pays for."
    return n, f"{n} fish in all: {why}."


def _likely_catch(session: Session, lake: Lake, scheme: Scheme, species: str) -> tuple[dict[str, float], int]:
    """Return the mean catch of each class over the lake's surveys judged by these classes, and their number."""
    surveys = [
        survey
        for survey in session.scalars(
            select(Survey).where(Survey.lake_id == lake.id, Survey.species == species)
        )
        if Scheme.from_json(survey.scheme).classes == scheme.classes
    ]
    rows = session.execute(
        select(Fish.survey_id, Fish.size_class, func.sum(Fish.n_fish))
        .where(
            Fish.survey_id.in_([survey.id for survey in surveys]),
            Fish.species == species,
            Fish.size_class.is_not(None),
        )
        .group_by(Fish.survey_id, Fish.size_class)
    ).all()
    with_fish = {survey_id for survey_id, _, _ in rows}
    catch: dict[str, float] = {}
    for _, name, n in rows:
        if name is None:
            continue
        catch[name] = catch.get(name, 0.0) + int(n) / len(with_fish)
    return catch, len(with_fish)


def _spreads(
    session: Session, lake: Lake, scheme: Scheme, species: str
) -> tuple[dict[str, float], dict[str, str], str]:
    """Return the spread of q to plan with in each class, where it comes from, and the sentence that says it.

    The lake's last survey with results speaks; a class of fewer than five typed fish takes the pooled spread
    within that survey's classes, and a lake without results the stated default.
    """
    last = session.scalar(
        select(Survey)
        .join(Fish, Fish.survey_id == Survey.id)
        .join(Result, Result.fish_id == Fish.id)
        .where(Survey.lake_id == lake.id, Survey.species == species, Result.q.is_not(None))
        .order_by(Survey.surveyed_on.desc(), Survey.id.desc())
        .limit(1)
    )
    sums: dict[str, Sums] = {}
    if last is not None:
        for name, n, sum_q, sum_q2 in session.execute(
            select(Fish.size_class, func.count(), func.sum(Result.q), func.sum(Result.q * Result.q))
            .join(Result, Result.fish_id == Fish.id)
            .where(Fish.survey_id == last.id, Fish.species == species, Result.q.is_not(None))
            .group_by(Fish.size_class)
        ):
            if name is not None:
                sums[name] = Sums(int(n), float(sum_q or 0.0), float(sum_q2 or 0.0), None)
    df = sum(held.n - 1 for held in sums.values())
    pooled = None
    if df >= LEAST_FOR_SPREAD - 1:
        pooled = (sum((held.variance or 0.0) * (held.n - 1) for held in sums.values()) / df) ** 0.5
    if last is None or pooled is None:
        default = dict.fromkeys(scheme.classes, DEFAULT_SPREAD)
        why = (
            f"Spread of q planned with: the default of {DEFAULT_SPREAD:g} in every class, for too few fish of this"
            " lake are typed to know its own."
        )
        return default, dict.fromkeys(scheme.classes, "default"), why
    spread, source = {}, {}
    for name in scheme.classes:
        held = sums.get(name)
        if held is not None and held.n >= LEAST_FOR_SPREAD:
            spread[name], source[name] = (held.variance or 0.0) ** 0.5, last.code
        else:
            spread[name], source[name] = pooled, f"{last.code}, all classes"
        spread[name] = max(FLOOR_SPREAD, spread[name])
    return spread, source, f"Spread of q planned with: that of survey {last.code} of {last.surveyed_on}."


def _curve(
    scheme: Scheme, catch: dict[str, float] | None, spread: dict[str, float], fee: float | None
) -> list[TradeOff]:
    middle = sorted(spread.values())[len(spread) // 2]
    lines = []
    for n in CURVE:
        swabs = dict.fromkeys(scheme.classes, n)
        lines.append(
            TradeOff(
                n,
                n * len(scheme.classes),
                half_width_of(middle, n),
                weighted_half_width(swabs, catch, spread) if catch else None,
                n * len(scheme.classes) * fee if fee is not None else None,
            )
        )
    return lines


def _store(
    session: Session,
    lake: Lake,
    scheme: Scheme,
    wishes: Wishes,
    classes: tuple[PlannedClass, ...],
    notes: list[str],
    *,
    now: datetime,
    by: str,
) -> int:
    number = 1 + (
        session.scalar(select(func.max(SamplingPlan.number)).where(SamplingPlan.lake_id == lake.id)) or 0
    )
    inputs: dict[str, Any] = {
        "wishes": asdict(wishes),
        "spread": {c.size_class: c.spread for c in classes},
        "spread_from": {c.size_class: c.spread_from for c in classes},
        "notes": notes,
    }
    session.add(
        SamplingPlan(
            uid=new_uid(),
            lake_id=lake.id,
            number=number,
            scheme=scheme.to_json(),
            allocation=wishes.allocation,
            inputs=as_json(inputs) or "{}",
            made_at=now,
            made_by=by,
            targets=[PlanTarget(size_class=c.size_class, target=c.target) for c in classes],
        )
    )
    session.flush()
    record(
        session,
        "planned",
        "lake",
        lake.code,
        now=now,
        by=by,
        new={"plan": number, "targets": {c.size_class: c.target for c in classes}},
    )
    return number
