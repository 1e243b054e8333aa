"""What a lake's earlier surveys say for the next plan: likely catch, mean and spread of q, and the lab's fee."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from math import inf

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from geneticlog.errors import Refused
from geneticlog.rules.genetics.taxa import Pair
from geneticlog.rules.plan.likely_fish import LikelyFish, likely_fish, unknown_fish
from geneticlog.rules.report.comparability import survey_to_report
from geneticlog.rules.schemes import Scheme
from geneticlog.rules.statistics.estimates import LEAST_TO_READ
from geneticlog.rules.statistics.site_cells import AtSites, at_sites
from geneticlog.rules.statistics.sums import NO_SUMS, sums_of
from geneticlog.store.tables import Fish, Lab, Lake, Panel, Result, Shipment, ShipmentPosition, Survey, Vial
from geneticlog.work.events import find_lab
from geneticlog.work.result.in_the_numbers import in_the_numbers, of_its_species, pair_of
from geneticlog.work.result.panel_error import highest, panel_errors

# Standard deviation of q where nothing is known yet. Observed: about .06 in old intergrade lakes, .12 some years
# after stocking (Silliman et al. 2021, Allatoona, Blue Ridge, Ouachita); .25 is a cautious middle, a choice. The
# mean beside it is the middle of the scale.
DEFAULT_SPREAD, DEFAULT_MEAN = 0.25, 0.5
DEFAULT, POOLED = "default", ", all classes"  # where a spread is from
LEAST_FOR_SPREAD = LEAST_TO_READ  # fish of a class whose own spread is believed
FLOOR_SPREAD = 0.02  # a class that happened to be all alike is not planned as if nothing could vary


@dataclass(frozen=True)
class Spread:
    """Mean and standard deviation of q that a class is planned with.

    seen_in: the survey they were seen in, None for the default; n_typed: that survey's typed fish of the class;
    pooled: the class had too few of its own, so those of all its classes together are used.
    """

    mean: float
    spread: float
    seen_in: str | None
    n_typed: int
    pooled: bool

    @property
    def source(self) -> str:
        """As it is stored with the plan: "default", "HERON-2026", "HERON-2026, all classes"."""
        return DEFAULT if self.seen_in is None else f"{self.seen_in}{POOLED if self.pooled else ''}"


@dataclass(frozen=True)
class LastSurvey:
    """The survey that the lake's report is about: by size class the fish caught and q of those typed; panels, sites."""

    code: str
    on: date
    caught: Mapping[str, float]
    q: Mapping[str, tuple[float, ...]]
    panels: frozenset[str | None]
    sites: AtSites | None = None


@dataclass(frozen=True)
class Evidence:
    """What a plan rests on: for every class of the scheme what it is planned with, and what is likely caught.

    surveyed_on: dates of the surveys behind the catch; without any, every class is taken as equally common. fish: what
    the fish of each class are drawn from: the typed ones of the last survey, those of all its classes where a class
    has fewer than five, and fish of the default mean and spread where it has too few of all. miscall_rate: upper
    limit of that of the panels of the last survey, as far as the interval of the lake's mean reaches.
    """

    spread: dict[str, Spread]
    spread_said: str
    catch: dict[str, float]
    surveyed_on: tuple[date, ...]
    fish: Mapping[str, LikelyFish] = field(default_factory=dict)
    last: LastSurvey | None = None
    miscall_rate: float = 0.0

    @property
    def weights(self) -> dict[str, float]:
        """The catch to share swabs by. A class never caught keeps a trace: the plan must not assume it away."""
        return {name: self.catch.get(name, 0.0) + 1e-6 for name in self.spread}

    def without(self, classes: Collection[str]) -> Evidence:
        """Return what is left to plan with when some classes are left out; what was caught of them stays known."""
        return replace(self, spread={name: one for name, one in self.spread.items() if name not in classes})

    @property
    def never_caught(self) -> tuple[str, ...]:
        """The classes of which no survey of the lake caught a fish; none where nothing is measured yet."""
        return tuple(name for name in self.spread if not self.catch.get(name)) if self.surveyed_on else ()

    @property
    def means(self) -> dict[str, float]:
        return {name: one.mean for name, one in self.spread.items()}

    @property
    def spreads(self) -> dict[str, float]:
        return {name: one.spread for name, one in self.spread.items()}


@dataclass(frozen=True)
class Fee:
    """What a lab asks for one sample, in dollars, and where the number comes from."""

    fee: float | None
    source: str | None


def evidence(session: Session, lake: Lake, scheme: Scheme, species: str) -> Evidence:
    """Return what the earlier surveys of a lake say for a plan by these classes."""
    spread, in_words, last = spreads(session, lake, scheme, species)
    catch, surveyed_on = likely_catch(session, lake, scheme, species)
    if not surveyed_on:
        catch = dict.fromkeys(scheme.classes, 1.0)
    return Evidence(
        spread, in_words, catch, surveyed_on, _fish_of(scheme, spread, last), last, _rate(session, last)
    )


def _rate(session: Session, last: LastSurvey | None) -> float:
    errors = {one.panel or "": one for one in panel_errors(session).values()}
    return highest(errors, last.panels if last is not None else [None]).rate.high


def _fish_of(scheme: Scheme, spread: Mapping[str, Spread], last: LastSurvey | None) -> dict[str, LikelyFish]:
    unknown = unknown_fish(DEFAULT_SPREAD)
    every = (
        likely_fish([q for held in last.q.values() for q in held]) if last is not None and last.q else unknown
    )
    likely = {}
    for name in scheme.classes:
        one = spread[name]
        own = last.q.get(name, ()) if last is not None else ()
        likely[name] = unknown if one.seen_in is None else every if one.pooled else likely_fish(own)
    return likely


def likely_catch(
    session: Session, lake: Lake, scheme: Scheme, species: str, survey_id: int | None = None
) -> tuple[dict[str, float], tuple[date, ...]]:
    """Return the mean catch of each class over the lake's surveys with measured fish, and those surveys' dates.

    A class that was never caught is absent.

    Fish of a survey with other size classes are judged again by their measured length. survey_id: of this survey alone.
    """
    rows = session.execute(
        select(
            Survey.id, Survey.surveyed_on, Survey.scheme,
            Fish.size_class, Fish.length, Fish.length_unit, func.sum(Fish.n_fish),
        )
        .join(Fish, Fish.survey_id == Survey.id)
        .where(
            Survey.lake_id == lake.id,
            Survey.species == species,
            of_its_species(),
            *(() if survey_id is None else (Survey.id == survey_id,)),
        )
        .group_by(
            Survey.id, Survey.surveyed_on, Survey.scheme, Fish.size_class, Fish.length, Fish.length_unit
        )
    )  # fmt: skip
    surveys: dict[int, date] = {}
    total: dict[str, int] = {}
    for survey, on, own, size_class, length, unit, n in rows:
        name = _class_by(scheme, own, size_class, length, unit)
        if name is not None:
            surveys[survey] = on
            total[name] = total.get(name, 0) + int(n)
    catch = {name: total[name] / len(surveys) for name in scheme.classes if name in total}
    return catch, tuple(sorted(surveys.values()))


def spreads(
    session: Session, lake: Lake, scheme: Scheme, species: str
) -> tuple[dict[str, Spread], str, LastSurvey | None]:
    """Return what each class is planned with, the sentence that says where it comes from, and the survey it is from.

    The survey that the lake's report is about speaks (`survey_to_report`); a class of fewer than five typed fish takes
    the pooled spread within that survey's classes, and a lake without results the stated default. Results for another
    pair of taxa than most of this species in this lake are left out: their q is a share of something else.
    """
    pair = pair_of(session, lake.id, species)
    last = _last_with_results(session, lake, species, pair)
    seen = _last_survey(session, lake, last, scheme, pair) if last is not None else None
    sums = {name: sums_of(q, None) for name, q in seen.q.items()} if seen is not None else {}
    df = sum(held.n - 1 for held in sums.values())
    if last is None or df < LEAST_FOR_SPREAD - 1:
        default = Spread(DEFAULT_MEAN, DEFAULT_SPREAD, None, 0, pooled=False)
        typed = "no fish of this lake is typed yet" if last is None else "too few fish of this lake are typed"
        return (
            dict.fromkeys(scheme.classes, default),
            f"Spread (standard deviation of q): the default of {DEFAULT_SPREAD:g}, because {typed}.",
            seen,
        )
    together = sum(sums.values(), NO_SUMS)
    pooled = (sum((held.variance or 0.0) * (held.n - 1) for held in sums.values()) / df) ** 0.5
    by_class = {}
    for name in scheme.classes:
        of_class = sums.get(name, NO_SUMS)
        own = of_class.n >= LEAST_FOR_SPREAD
        spread = (of_class.variance or 0.0) ** 0.5 if own else pooled
        mean = of_class.mean if own else together.mean
        by_class[name] = Spread(mean or 0.0, max(FLOOR_SPREAD, spread), last.code, of_class.n, pooled=not own)
    why = f"Spread (standard deviation of q): as in survey {last.code} of {last.surveyed_on}"
    if any(one.pooled for one in by_class.values()):
        why += f"; pooled over its classes where a class has fewer than {LEAST_FOR_SPREAD} typed fish"
    return by_class, f"{why}.", seen


def stored_fee(session: Session, lake: Lake, lab: str | None = None) -> Fee:
    """Return the fee of the lab named, else of the lab of this lake's last shipment, else of the only lab there is.

    Raises NotFound for a lab that is not entered.
    """
    if lab is not None:
        named = find_lab(session, lab)
        return Fee(named.fee, f"the fee of lab {named.code}")
    last = session.execute(
        select(Shipment.code, Lab.code, Lab.fee)
        .join(Lab, Lab.id == Shipment.lab_id)
        .join(ShipmentPosition, ShipmentPosition.shipment_id == Shipment.id)
        .join(Vial, Vial.id == ShipmentPosition.vial_id)
        .join(Fish, Fish.id == Vial.fish_id)
        .join(Survey, Survey.id == Fish.survey_id)
        .where(Survey.lake_id == lake.id)
        .order_by(Shipment.packed_at.desc(), Shipment.id.desc())
        .limit(1)
    ).first()
    if last is not None:
        shipment, code, fee = last
        return Fee(fee, f"the fee of lab {code}, which shipment {shipment} of this lake went to")
    labs = session.execute(select(Lab.code, Lab.fee).order_by(Lab.code).limit(2)).all()
    if len(labs) == 1:
        code, fee = labs[0]
        return Fee(fee, f"the fee of lab {code}, the only lab entered")
    return Fee(None, None)


def fee_for(session: Session, lake: Lake, *, fee: float | None, lab: str | None, budget: bool) -> Fee:
    """Return the fee to plan with: the one given, else a stored one. Raises Refused where a budget finds none."""
    if fee is not None:
        if not 0 <= fee < inf:
            raise Refused(f"a fee of {fee:g} cannot be used for a plan; it must be 0 or above")
        return Fee(fee, "as given with --fee")
    stored = stored_fee(session, lake, lab)
    if stored.fee is None and budget:
        where = f"lab {lab.strip().upper()} has none stored" if lab else "none is stored for this lake"
        raise Refused(
            f"a budget needs the lab's fee for one fish beside it, and {where}; add --fee, or store it with:"
            " geneticlog lab change CODE --fee AMOUNT"
        )
    return stored


def _last_with_results(session: Session, lake: Lake, species: str, pair: Pair) -> Survey | None:
    """Return the survey that the lake's report would be about, were this its only species; None without a result."""
    surveys = session.execute(
        select(Survey, func.count(Result.id))
        .join(Fish, Fish.survey_id == Survey.id)
        .join(Result, Result.fish_id == Fish.id)
        .where(Survey.lake_id == lake.id, Survey.species == species, in_the_numbers(pair))
        .group_by(Survey.id)
        .order_by(Survey.surveyed_on, Survey.id)
    ).all()
    at = survey_to_report([n for _, n in surveys])
    return None if at is None else surveys[at][0]


def _last_survey(session: Session, lake: Lake, survey: Survey, scheme: Scheme, pair: Pair) -> LastSurvey:
    own = survey.scheme
    q: dict[str, list[float]] = {}
    panels: set[str | None] = set()
    at: list[tuple[str | None, str | None, float]] = []
    for size_class, length, unit, value, panel, site in session.execute(
        select(Fish.size_class, Fish.length, Fish.length_unit, Result.q, Panel.code, Fish.site)
        .join(Result, Result.fish_id == Fish.id)
        .outerjoin(Panel, Panel.id == Result.panel_id)
        .join(Survey, Survey.id == Fish.survey_id)
        .where(
            Fish.survey_id == survey.id,
            in_the_numbers(pair),
        )
        .order_by(Fish.number)  # sums of floats depend on their order
    ):
        name = _class_by(scheme, own, size_class, length, unit)
        panels.add(panel)
        if name is not None and value is not None:
            q.setdefault(name, []).append(value)
            at.append((name, site, value))
    caught, _ = likely_catch(session, lake, scheme, survey.species, survey.id)
    in_order = {name: tuple(sorted(q[name])) for name in scheme.classes if name in q}
    return LastSurvey(
        survey.code, survey.surveyed_on, caught, in_order, frozenset(panels), at_sites(survey.code, at)
    )


def _class_by(
    scheme: Scheme, own: Scheme, size_class: str | None, length: float | None, unit: str | None
) -> str | None:
    """Return a fish's class by a scheme: as it was judged where the limits are the same, else by its length."""
    if own.judges_like(scheme):
        return size_class
    return None if length is None or unit is None else scheme.judge(length, unit)
