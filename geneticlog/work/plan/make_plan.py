"""Plan how many fish of which size classes to swab, from what the lake's earlier surveys showed."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import datetime

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from geneticlog.errors import NotFound, Refused
from geneticlog.rules.plan.plan_inputs import PlanInputs
from geneticlog.rules.sampling import ALLOCATIONS, EQUAL, fish_for_a_carrier
from geneticlog.rules.schemes import Scheme
from geneticlog.rules.sentences import listed
from geneticlog.rules.species import SPECIES
from geneticlog.rules.stamp import Stamp
from geneticlog.rules.statistics.estimates import unseen_share
from geneticlog.rules.statistics.planned_intervals import expected_interval, half_width
from geneticlog.store.tables import Lake, PlanTarget, SamplingPlan
from geneticlog.work.catalogue.lake_plans import newest_plan, plan_in_force, scheme_of, targets_of
from geneticlog.work.events import new_uid, record
from geneticlog.work.plan.alike_sites import alike_note
from geneticlog.work.plan.evidence import Evidence, Fee, evidence, fee_for
from geneticlog.work.plan.how_many import how_many, likely_of, shared_out
from geneticlog.work.plan.needs import lake_half_width
from geneticlog.work.plan.wishes import Asked, Wishes, check

EACH_ITS_OWN = "each class what it needs itself"
CURVE = (3, 5, 8, 10, 15, 20, 30, 45, 60)  # fish a class at which the trade-off is shown


@dataclass(frozen=True)
class PlannedClass:
    """One size class of a plan.

    likely_catch: fish in an average earlier survey, 0 where none was ever caught, None without a survey;
    spread: standard deviation of q planned with; spread_from: the survey it was seen in, or "default"; n_typed:
    typed fish of the class in that survey; half_width: half of the interval the reports are expected to give, None
    below two fish, with its guard; unseen: the largest share of the class that a kind of fish can make up and still be
    absent from that many fish one time in twenty, 1 without fish.
    """

    size_class: str
    likely_catch: float | None
    target: int
    spread: float
    spread_from: str
    n_typed: int
    half_width: float | None
    guard: str
    unseen: float
    cost: float | None
    half_width_likely: float | None = None  # of the fish that one outing is likely to bring
    as_they_come: bool = False  # none was ever caught: no target, and any that is met is swabbed


@dataclass(frozen=True)
class TradeOff:
    """What a number of fish in each class would give: half-width of a class with the middle spread, the share of a
    class that a kind of fish can make up and still be absent from them, and cost."""

    fish_a_class: int
    n_fish: int
    half_width: float | None
    guard: str
    unseen: float
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
    n_likely: int | None  # of these, fish that an average earlier survey would have caught
    fee: float | None
    fee_from: str | None
    cost: float | None
    chance_unseen: float | None  # a kind as frequent as asked for is missed with this chance
    chance_unseen_likely: float | None  # and with this one by the fish that are likely to be caught
    fish_for_carrier: int | None
    lake_half_width: float | None
    lake_half_width_likely: float | None  # with the fish that one outing is likely to bring
    asked: tuple[Asked, ...]
    trade_off: tuple[TradeOff, ...]
    alike_sites: str
    notes: tuple[str, ...]


def make_plan(
    session: Session,
    lake: Lake,
    wishes: Wishes,
    *,
    stamp: Stamp,
    species: str = "largemouth_bass",
    store: bool = True,
    curve: bool = True,
) -> Plan:
    """Work out a plan for a lake and store it as the one in force; with store=False only work it out.

    curve: whether the plan says what other numbers of fish would show (its trade-off), which takes longest.
    Raises Refused where the wishes contradict each other or the budget is too small for the least per class.
    """
    check(wishes)
    ground = ground_of(session, lake, species)
    return plan_on(session, ground, wishes, stamp=stamp if store else None, curve=curve)


@dataclass(frozen=True)
class Ground:
    """What plans of one lake and species are made on, whatever is wished; a report asks for several plans on one."""

    lake: Lake
    species: str
    scheme: Scheme
    seen: Evidence


def ground_of(session: Session, lake: Lake, species: str) -> Ground:
    """Return the ground of a lake's plans. Raises Refused where the species has no size classes there."""
    scheme = scheme_of(lake, species)
    return Ground(lake, species, scheme, evidence(session, lake, scheme, species))


def plan_on(session: Session, ground: Ground, wishes: Wishes, *, stamp: Stamp | None, curve: bool) -> Plan:
    """Work out a plan on a ground, as `make_plan`; it is stored with a stamp, and without one only worked out."""
    check(wishes)
    lake, scheme, every = ground.lake, ground.scheme, ground.seen
    fee = fee_for(session, lake, fee=wishes.fee, lab=wishes.lab, budget=wishes.budget is not None)
    wishes = replace(wishes, fee=fee.fee)
    without = _left_out(wishes, scheme)
    wishes = replace(wishes, without=without)
    basis = every.without(without)
    size = how_many(wishes, basis, scheme)
    wishes = replace(wishes, least=wishes.at_least, allocation=size.allocation)
    targets = dict.fromkeys(scheme.classes, 0) | shared_out(size.n_fish, basis, size.allocation, size.least)
    come = {name for name in basis.never_caught if not targets[name]}
    classes = tuple(_planned(every, wishes, targets, come))
    left_out = [f"Left out with --without, so none wanted: {listed(without)}."] if without else []
    notes = [
        *size.notes,
        *left_out,
        *_of_the_catch(basis, classes),
        basis.spread_said,
        *_of_the_widths(wishes, classes),
    ]
    alike = alike_note(every.last)
    notes += [alike] if alike else []
    n_likely = None
    if basis.surveyed_on:
        n_likely = round(sum(min(c.target, c.likely_catch or 0.0) for c in classes))
    for_carrier = unseen = unseen_likely = None
    if wishes.carrier_frequency is not None:
        for_carrier = fish_for_a_carrier(wishes.carrier_frequency, wishes.chance)
        unseen = (1 - wishes.carrier_frequency) ** size.n_fish
        if n_likely is not None:
            unseen_likely = (1 - wishes.carrier_frequency) ** n_likely
    number = None
    if stamp is not None:
        inputs = _inputs(wishes, fee, classes, notes)
        number = _store(session, lake, scheme, wishes.allocation or EQUAL, inputs, classes, stamp=stamp)
    return Plan(
        lake=lake.code,
        number=number,
        scheme=scheme.name,
        species=ground.species,
        allocation=size.allocation,
        allocation_why=EACH_ITS_OWN if size.own_need else ALLOCATIONS[size.allocation],
        classes=classes,
        n_fish=size.n_fish,
        n_likely=n_likely,
        fee=fee.fee,
        fee_from=fee.source,
        cost=_cost(size.n_fish, fee.fee),
        chance_unseen=unseen,
        chance_unseen_likely=unseen_likely,
        fish_for_carrier=for_carrier,
        lake_half_width=lake_half_width(targets, basis) if basis.surveyed_on else None,
        lake_half_width_likely=_likely_lake(targets, basis),
        asked=size.asked,
        alike_sites=alike,
        trade_off=tuple(_curve(basis, fee.fee, come)) if curve else (),
        notes=tuple(notes),
    )


def _left_out(wishes: Wishes, scheme: Scheme) -> tuple[str, ...]:
    """Return the classes to leave out as the scheme writes them. Raises Refused for one it has not, or for all."""
    known = {name.casefold(): name for name in scheme.classes}
    for name in wishes.without:
        if " ".join(name.casefold().split()) not in known:
            raise Refused(
                f"--without {name!r}: no size class here is called so; they are {', '.join(scheme.classes)}"
            )
    asked = {known[" ".join(name.casefold().split())] for name in wishes.without}
    if len(asked) == len(known):
        raise Refused("--without leaves every size class out; leave one in to plan for")
    return tuple(name for name in scheme.classes if name in asked)


def _cost(n_fish: int, fee: float | None) -> float | None:
    return None if fee is None else n_fish * fee


def _likely_lake(targets: dict[str, int], held: Evidence) -> float | None:
    """Return the half-width of the lake's mean with one likely outing; None where it lacks a class that is caught."""
    return lake_half_width(likely_of(targets, held), held) if held.surveyed_on else None


def _planned(
    basis: Evidence, wishes: Wishes, targets: dict[str, int], come: set[str]
) -> Iterator[PlannedClass]:
    few = likely_of(targets, basis)
    for name, spread in basis.spread.items():
        expected = expected_interval(spread.mean, spread.spread, targets[name])
        yield PlannedClass(
            size_class=name,
            likely_catch=basis.catch.get(name, 0.0) if basis.surveyed_on else None,
            target=targets[name],
            spread=spread.spread,
            spread_from=spread.source,
            n_typed=spread.n_typed,
            half_width=half_width(expected),
            guard=expected.guard,
            unseen=unseen_share(targets[name]),
            cost=_cost(targets[name], wishes.fee),
            half_width_likely=(
                half_width(expected_interval(spread.mean, spread.spread, few[name]))
                if basis.surveyed_on
                else None
            ),
            as_they_come=name in come,
        )


def _of_the_catch(basis: Evidence, classes: tuple[PlannedClass, ...]) -> Iterator[str]:
    """What earlier surveys say of the catch, and the classes that one outing will hardly fill."""
    if not basis.surveyed_on:
        yield "Likely catch: no fish is measured here yet, so every class is taken as equally common."
        return
    if len(basis.surveyed_on) == 1:
        yield f"Likely catch: that of the survey of {basis.surveyed_on[0]}."
    else:
        first, last = basis.surveyed_on[0], basis.surveyed_on[-1]
        yield f"Likely catch: the mean of {len(basis.surveyed_on)} surveys, {first} to {last}."
    wanted = [c for c in classes if c.target]
    never = [c.size_class for c in wanted if not c.likely_catch]
    scarce = [c for c in wanted if c.likely_catch and c.likely_catch < c.target]
    if scarce:
        told = listed(f"{c.size_class} (about {c.likely_catch:.2g}, wanted {c.target})" for c in scarce)
        yield f"Fewer likely caught in one survey than wanted: {told}."
    if never:
        yield f"Never caught here so far, so this target may not be met: {listed(never)}."


def _of_the_widths(wishes: Wishes, classes: tuple[PlannedClass, ...]) -> Iterator[str]:
    if wishes.half_width is None:
        return
    asked = [c for c in classes if c.size_class not in wishes.without and not c.as_they_come]
    wide = [c.size_class for c in asked if c.half_width is None or c.half_width > wishes.half_width + 1e-9]
    if wide:
        yield f"Not as narrow as the half-width of {wishes.half_width:g}: {listed(wide)}."


def _curve(basis: Evidence, fee: float | None, come: Collection[str]) -> Iterator[TradeOff]:
    """What as many fish in every class give; none is counted for a class taken as it comes."""
    asked = [name for name in basis.spread if name not in come]
    middle = sorted(basis.spread.values(), key=lambda one: one.spread)[len(basis.spread) // 2]
    for n in CURVE:
        n_fish = n * len(asked)
        expected = expected_interval(middle.mean, middle.spread, n)
        yield TradeOff(
            fish_a_class=n,
            n_fish=n_fish,
            half_width=half_width(expected),
            guard=expected.guard,
            unseen=unseen_share(n),
            lake_half_width=(lake_half_width(dict.fromkeys(asked, n), basis) if basis.surveyed_on else None),
            cost=_cost(n_fish, fee),
        )


@dataclass(frozen=True)
class StoredPlan:
    """A sampling plan as it was stored: what was wanted, and the sentences it rested on."""

    lake: str
    number: int
    species: str
    scheme: str
    allocation: str
    made_at: datetime
    made_by: str
    targets: dict[str, int]
    notes: tuple[str, ...]
    in_force: bool  # surveys opened now take their targets from it


def stored_plan(session: Session, lake: Lake, species: str = "largemouth_bass") -> StoredPlan:
    """Return the newest stored plan of a lake for a species. Raises NotFound where there is none."""
    plan = newest_plan(session, lake, species)
    if plan is None:
        raise NotFound(
            f"lake {lake.code} has no sampling plan for {SPECIES[species].printed}; make one with:"
            f" geneticlog plan {lake.code}"
        )
    scheme = plan.scheme
    in_force = plan_in_force(session, lake, species)
    return StoredPlan(
        lake=lake.code,
        number=plan.number,
        species=species,
        scheme=scheme.name,
        allocation=plan.allocation,
        made_at=plan.made_at,
        made_by=plan.made_by,
        targets=targets_of(plan),
        notes=plan.inputs.notes,
        in_force=in_force is not None,
    )


def _inputs(wishes: Wishes, fee: Fee, classes: Sequence[PlannedClass], notes: Sequence[str]) -> PlanInputs:
    """What is kept with a plan: what was asked, and which spread was used and where it came from."""
    return PlanInputs(
        wishes=asdict(wishes),
        fee_from=fee.source,
        spread={c.size_class: c.spread for c in classes},
        spread_from={c.size_class: c.spread_from for c in classes},
        notes=tuple(notes),
    )


def _store(
    session: Session,
    lake: Lake,
    scheme: Scheme,
    allocation: str,
    inputs: PlanInputs,
    classes: tuple[PlannedClass, ...],
    *,
    stamp: Stamp,
) -> int:
    session.execute(select(Lake.id).where(Lake.id == lake.id).with_for_update())  # two plans, two numbers
    number = 1 + (
        session.scalar(select(func.max(SamplingPlan.number)).where(SamplingPlan.lake_id == lake.id)) or 0
    )
    session.add(
        SamplingPlan(
            uid=new_uid(),
            lake_id=lake.id,
            number=number,
            scheme=scheme,
            allocation=allocation,
            inputs=inputs,
            made_at=stamp.now,
            made_by=stamp.by,
            targets=[
                PlanTarget(size_class=c.size_class, target=c.target) for c in classes if not c.as_they_come
            ],
        )
    )
    session.flush()
    record(
        session,
        "planned",
        "lake",
        lake.code,
        stamp=stamp,
        new={"plan": number, "targets": {c.size_class: c.target for c in classes}},
    )
    return number
