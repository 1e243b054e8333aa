"""Every reader counts alike: coverage, plan, the state of the samples, the reports, those kept, the export and the data
door, on lakes made at random.

What is expected is counted here, in plain Python, from the description a lake was made from.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date
from uuid import uuid4

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from lakes_support import NOW, add_fish, add_lake, add_panel, add_result, add_survey, add_vial
from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.faces.notebook.log import Log
from geneticlog.rules.schemes import Scheme, five_length
from geneticlog.rules.stamp import Stamp
from geneticlog.store.tables import Lab, Lake, Office, ReturnFile, Shipment, ShipmentPosition
from geneticlog.work.boat.coverage import of_survey
from geneticlog.work.boat.tally import survey_tally
from geneticlog.work.catalogue.lake_plans import scheme_of
from geneticlog.work.catalogue.surveys import list_surveys
from geneticlog.work.events import find_lake, find_survey
from geneticlog.work.lakes.progress import progress_of_lakes, progress_of_surveys
from geneticlog.work.open_data.gather import gather_open_data
from geneticlog.work.open_data.tables import Told
from geneticlog.work.plan.evidence import likely_catch, spreads
from geneticlog.work.portfolio.gather import gather_portfolio
from geneticlog.work.report.every_fish import gather_every_fish
from geneticlog.work.report.facts import LakeFacts, SurveyFacts
from geneticlog.work.report.gather import gather_lake
from geneticlog.work.report.kept_reports import bases_of
from geneticlog.work.result.counted_result import settle
from geneticlog.work.result.in_the_numbers import n_vials_of_other_pairs
from geneticlog.work.shipment.owed_fish import resample_list

# code -> the two taxa; None: the lab named no panel
PANELS = {
    "P38": ("Florida", "northern"),
    "P61": ("Florida", "northern"),
    "SPOT": ("spotted", "smallmouth"),
    None: None,
}
USUAL = ("Florida", "northern")
LENGTHS = (7.0, 9.5, 13.0, 16.0, None)  # substock, stock, quality, preferred, not measured
OTHER = "spotted_bass"
LEFT = ("sent", "arrived", "closed")


@dataclass
class AVial:
    standing: str  # filled, lost
    shipment: str | None  # the standing of the shipment it is in
    arrival: str | None
    outcome: str | None  # typed, failed, held, rejected, superseded; None: no result
    panel: str | None
    q: float
    n_loci: int

    @property
    def usable(self) -> bool:
        return self.outcome == "typed"

    def hopeful(self, pair: tuple[str, str] | None = None) -> bool:
        if self.outcome not in (None, "superseded"):  # what was replaced or withdrawn is no outcome
            of_pair = pair is None or PANELS[self.panel] in (None, pair)
            return self.outcome == "held" or (self.outcome == "typed" and of_pair)
        return self.arrival not in ("missing", "broken") and self.shipment != "closed"

    @property
    def at_the_lab(self) -> bool:
        away = self.standing == "filled" and self.shipment in ("sent", "arrived")
        return away and self.outcome in (None, "superseded") and self.hopeful()


@dataclass
class AFish:
    length: float | None
    of_species: bool
    n_fish: int
    vials: list[AVial] = field(default_factory=list)

    @property
    def result(self) -> AVial | None:
        return next((vial for vial in self.vials if vial.usable), None)

    @property
    def in_hand(self) -> list[AVial]:
        return [vial for vial in self.vials if vial.standing == "filled"]


@dataclass
class ASurvey:
    on: date
    species: str
    gear: str
    unit: str
    fish: list[AFish]


@st.composite
def a_vial(draw: st.DrawFn) -> AVial:
    lost = draw(st.integers(0, 5)) == 0
    outcome = shipment = arrival = None
    if not lost:
        outcome = draw(st.sampled_from([*["typed"] * 6, "failed", "held", "rejected", "superseded", None]))
        left = ["sent", "arrived", "arrived", "closed"]
        shipment = draw(st.sampled_from(left if outcome else [None, "packed", *left]))
    if shipment in ("arrived", "closed") and outcome is None:
        arrival = draw(st.sampled_from(["ok", "ok", "missing", "broken"]))
    return AVial(
        "lost" if lost else "filled", shipment, arrival, outcome, draw(st.sampled_from(["P38"] * 5 + [*PANELS])),
        draw(st.integers(0, 76)) / 76, draw(st.sampled_from([36, 37, 38, 38, 43])),
    )  # fmt: skip


@st.composite
def a_fish(draw: st.DrawFn) -> AFish:
    vials = draw(st.lists(a_vial(), max_size=2))
    n_fish = 1 if vials else draw(st.integers(1, 4))
    return AFish(draw(st.sampled_from(LENGTHS)), draw(st.integers(0, 7)) > 0, n_fish, vials)


def surveys() -> st.SearchStrategy[list[ASurvey]]:
    one = st.builds(
        ASurvey,
        on=st.dates(date(2021, 3, 1), date(2025, 11, 30)),
        species=st.sampled_from(["largemouth_bass"] * 4 + [OTHER]),
        gear=st.sampled_from(["boat electrofishing", "boat electrofishing", "angling"]),
        unit=st.sampled_from(["in", "in", "in", "mm"]),
        fish=st.lists(a_fish(), max_size=14),
    )
    return st.lists(one, min_size=1, max_size=3, unique_by=lambda one: one.on)


def store(session: Session, surveys: list[ASurvey]) -> None:
    """Write a lake as described, the surveys S0, S1, … by date."""
    lake = add_lake(session, "HERON")
    lab = Lab(code="GENLAB", name="Invented Lab")
    session.add_all([lab, Office(prefix="BG")])
    session.flush()
    panels = {
        code: add_panel(session, code, 38, taxon=taxa[0], other_taxon=taxa[1]) if code and taxa else None
        for code, taxa in PANELS.items()
    }
    ids = []
    for at, one in enumerate(surveys):
        survey = add_survey(
            session, lake, f"S{at}", one.on, species=one.species, gear=one.gear, length_unit=one.unit,
            scheme=five_length(one.species).to_json(),
        )  # fmt: skip
        boxes: dict[str, Shipment] = {}
        for fish in one.fish:
            length = fish.length if fish.length is None or one.unit == "in" else round(fish.length * 25.4)
            species = one.species if fish.of_species else "bluegill"
            row = add_fish(session, survey, length, n_fish=fish.n_fish, species=species)
            for order, held in enumerate(fish.vials):
                role = "blind_duplicate" if order else "sample"
                vial = add_vial(session, row, role=role)
                vial.standing = held.standing
                ids.append(vial.id)
                if held.shipment:
                    code = f"{survey.code}-{held.shipment}"
                    if code not in boxes:
                        boxes[code] = a_shipment(session, code, lab, held.shipment)
                    seat = ShipmentPosition(vial_id=vial.id, position=str(len(ids)), arrival=held.arrival)
                    boxes[code].positions.append(seat)
                if held.outcome:
                    typed = held.outcome != "failed"
                    standing = "current" if held.outcome in ("typed", "failed") else held.outcome
                    add_result(
                        session, vial, held.q if typed else None, n_loci=held.n_loci, panel=panels[held.panel],
                        outcome="typed" if typed else "failed", standing=standing, speaks=False,
                    )  # fmt: skip
    session.flush()
    settle(session, ids)


def a_shipment(session: Session, code: str, lab: Lab, standing: str) -> Shipment:
    sent = None if standing == "packed" else NOW
    box = Shipment(
        code=code.upper(), lab_id=lab.id, standing=standing, container="loose", packed_at=NOW, packed_by="Ada Test",
        sent_at=sent, arrived_at=NOW if standing == "arrived" else None,
        closed_at=NOW if standing == "closed" else None,
    )  # fmt: skip
    session.add(box)
    session.flush()
    if sent:
        session.add(
            ReturnFile(
                shipment_id=box.id, sha256=uuid4().hex * 2, name=f"{code}.csv", content=b"", reading="{}", n_rows=0,
                read_at=NOW, read_by="Ada Test",
            )
        )  # fmt: skip
        session.flush()
    return box


@dataclass
class Expected:
    """The counts of one survey, by size class."""

    caught: Counter[str | None] = field(default_factory=Counter)
    swabbed: Counter[str | None] = field(default_factory=Counter)
    shipped: Counter[str | None] = field(default_factory=Counter)
    failed: Counter[str | None] = field(default_factory=Counter)
    typed: Counter[str | None] = field(default_factory=Counter)
    other_species: int = 0
    other_pair: int = 0
    waiting: int = 0
    with_swab: int = 0
    panels: set[str] = field(default_factory=set)
    loci: list[int] = field(default_factory=list)


def main_pairs(surveys: list[ASurvey]) -> dict[str, tuple[str, str]]:
    n: dict[str, Counter[tuple[str, str]]] = {}
    for one in surveys:
        for fish in one.fish:
            taxa = PANELS[fish.result.panel] if fish.result else None
            if fish.of_species and taxa:
                n.setdefault(one.species, Counter())[taxa] += 1
    return {species: min(held, key=lambda taxa: (-held[taxa], taxa)) for species, held in n.items()}


def expected(survey: ASurvey, scheme: Scheme, pair: tuple[str, str]) -> Expected:
    found = Expected()
    for fish in survey.fish:
        if not fish.of_species:
            found.other_species += fish.n_fish
            continue
        length = fish.length if fish.length is None or survey.unit == "in" else round(fish.length * 25.4)
        name = None if length is None else scheme.judge(length, survey.unit)
        found.caught[name] += fish.n_fish
        found.with_swab += bool(fish.vials)
        in_numbers = fish.result is not None and PANELS[fish.result.panel] in (None, pair)
        found.waiting += not in_numbers and any(
            vial.outcome == "held" or vial.at_the_lab for vial in fish.vials
        )
        if fish.in_hand:
            found.swabbed[name] += 1
            found.shipped[name] += any(vial.shipment in LEFT for vial in fish.in_hand)
            found.failed[name] += not any(vial.hopeful(pair) for vial in fish.in_hand)
        if fish.result:
            taxa = PANELS[fish.result.panel]
            if taxa not in (None, pair):
                found.other_pair += 1
                continue
            found.typed[name] += 1
            found.loci.append(fish.result.n_loci)
            if fish.result.panel:
                found.panels.add(fish.result.panel)
    return found


def reported(n_results: list[int]) -> int:
    for least in (5, 1, 0):
        for at in reversed(range(len(n_results))):
            if n_results[at] >= least:
                return at
    raise AssertionError


@pytest.mark.parametrize("database", ["sqlite", "postgresql"], indirect=True)
@settings(max_examples=12, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(surveys())
def test_every_reader_counts_alike(session: Session, lakes: list[ASurvey]) -> None:
    lakes = sorted(lakes, key=lambda one: one.on)
    inner = session.begin_nested()
    try:
        store(session, lakes)
        check(session, lakes)
    finally:
        inner.rollback()
        session.expire_all()


def check(session: Session, described: list[ASurvey]) -> None:
    pairs = main_pairs(described)
    stored = [find_survey(session, f"S{at}") for at in range(len(described))]
    want = [
        expected(one, row.scheme, pairs.get(one.species, USUAL))
        for one, row in zip(described, stored, strict=True)
    ]
    lake = gather_lake(session, "HERON", stamp=Stamp(NOW, "Ada Test"))
    listed = {line.survey: line for line in list_surveys(session)}
    rows = {table.name: table for table in gather_open_data(session, shown=Told(names=True))}["fish"]
    names = [column.name for column in rows.fields]
    exported = [dict(zip(names, row, strict=True)) for row in rows.rows]
    for one, row, facts, counts in zip(described, stored, lake.surveys, want, strict=True):
        pair = pairs.get(one.species, USUAL)
        classes = row.scheme.classes
        seen = of_survey(session, row)
        assert (facts.taxon, facts.other_taxon) == pair
        every_fish = gather_every_fish(session, row.code)
        assert (every_fish.taxon, every_fish.other_taxon) == pair
        for name, in_report, in_coverage, in_tally in zip(
            classes, facts.classes, seen.classes, survey_tally(session, row), strict=True
        ):
            caught_swabbed = (counts.caught[name], counts.swabbed[name])
            assert (in_report.n_caught, in_report.n_swabbed) == caught_swabbed
            assert (in_tally.n_caught, in_tally.n_swabbed) == caught_swabbed
            assert in_tally.n_failed == counts.failed[name]
            assert (in_coverage.n_caught, in_coverage.n_swabbed) == caught_swabbed
            assert in_report.n_resulted == in_coverage.n_resulted == counts.typed[name]
            assert in_coverage.n_shipped == counts.shipped[name]
            assert in_coverage.n_failed == counts.failed[name]
        n_swabbed, n_typed = counts.swabbed.total(), counts.typed.total()
        assert (facts.n_caught, facts.n_swabbed, facts.n_resulted) == (
            counts.caught.total(),
            n_swabbed,
            n_typed,
        )
        assert (listed[row.code].n_fish, listed[row.code].n_swabbed) == (counts.caught.total(), n_swabbed)
        assert (every_fish.n_swabbed, len(every_fish.fish)) == (n_swabbed, n_typed)
        assert every_fish.n_left_out == counts.other_pair
        assert facts.n_other_species == seen.n_other_species == counts.other_species
        assert (seen.n_unmeasured, seen.n_unmeasured_swabbed) == (counts.caught[None], counts.swabbed[None])
        assert set(facts.panels) == counts.panels
        in_export = [line for line in exported if line["survey_code"] == row.code and line["in_the_numbers"]]
        assert sorted(line["q"] for line in in_export) == sorted(fish.q for fish in facts.fish)
    assert lake.n_left_out == sum(counts.other_pair for counts in want)
    check_the_data_door(session, lake, want)
    check_the_samples(session, lake, want)
    check_what_is_reported(session, lake, described, want, pairs)
    check_the_plan(session, find_lake(session, "HERON").id, described, want)
    check_what_is_owed(session, described, want, pairs)


class DoorOf(Log):
    """The data door, reading in a session that is not committed."""

    def __init__(self, session: Session) -> None:
        super().__init__(session.get_bind())  # type: ignore[arg-type]
        self._session = session

    @contextmanager
    def _reading(self) -> Iterator[Session]:
        yield self._session


def check_the_data_door(session: Session, lake: LakeFacts, want: list[Expected]) -> None:
    """Surveys and fish for notebooks, and what a kept report rests on, are those in the report."""
    door = DoorOf(session)
    fish = door.fish()
    of_surveys = door.surveys().set_index("survey")
    basis = bases_of(session, {find_lake(session, "HERON").id}).popitem()[1].results.values()
    for facts, counts in zip(lake.surveys, want, strict=True):
        ours = sorted(one.q for one in facts.fish)
        mine = fish[(fish["survey"] == facts.survey) & fish["in_the_numbers"]]
        assert sorted(mine["q"]) == ours
        assert sorted(one.q for one in basis if one.fish.startswith(f"{facts.survey}#")) == ours
        in_door = of_surveys.loc[facts.survey]
        assert (in_door["n_caught"], in_door["n_swabbed"], in_door["n_resulted"]) == (
            counts.caught.total(), counts.swabbed.total(), counts.typed.total(),
        )  # fmt: skip


def check_the_samples(session: Session, lake: LakeFacts, want: list[Expected]) -> None:
    """How far the samples have come rests on the fish that are in the numbers."""
    progress = progress_of_surveys(session)
    for facts, counts in zip(lake.surveys, want, strict=True):
        survey = find_survey(session, facts.survey)
        if not counts.with_swab:
            assert survey.id not in progress
            continue
        mine = progress[survey.id]
        assert (mine.n_swabbed, mine.n_in_hand, mine.n_resulted, mine.n_other_pair, mine.n_waiting) == (
            counts.with_swab, counts.swabbed.total(), counts.typed.total(), counts.other_pair, counts.waiting,
        )  # fmt: skip
        assert progress_of_surveys(session, [survey.id]) == {survey.id: mine}
    latest = [
        find_survey(session, one.survey).id for one, n in zip(lake.surveys, want, strict=True) if n.with_swab
    ]
    assert [key for key, _ in progress_of_lakes(session).values()] == latest[-1:]


def check_what_is_reported(
    session: Session,
    lake: LakeFacts,
    described: list[ASurvey],
    want: list[Expected],
    pairs: dict[str, tuple[str, str]],
) -> None:
    """The lake's own report and the list of lakes are about one survey, and name the same differences."""
    (line,) = gather_portfolio(session, today=NOW.date())
    at = reported([counts.typed.total() for counts in want])
    main = lake.main
    assert isinstance(main, SurveyFacts)
    assert main.survey == line.survey == f"S{at}"
    assert (line.taxon, line.other_taxon) == pairs.get(described[at].species, USUAL)
    assert (line.n_caught, line.n_swabbed, line.n_resulted) == (
        want[at].caught.total(), want[at].swabbed.total(), want[at].typed.total(),
    )  # fmt: skip
    assert line.n_other_taxa == want[at].other_pair
    before = [i for i in range(at) if described[i].species == described[at].species and want[i].typed.total()]
    if not before or not want[at].typed.total():
        assert line.change is None
        assert not line.change_differs
        return
    then, now = before[-1], at
    change = next(one for one in lake.changes if one.later == f"S{now}")
    assert change.earlier == f"S{then}"
    assert line.earlier_on == change.earlier_on
    assert line.change == pytest.approx(change.difference, abs=1e-9)
    assert line.change_differs == change.differs
    a, b = described[then], described[now]
    differs = {str(one) for one in change.differs}
    assert ("gear" in differs) == (a.gear != b.gear)
    assert ("panel" in differs) == (want[then].panels != want[now].panels)
    judged_anew = "judged by measured length" in change.basis
    assert judged_anew <= (a.unit != b.unit)
    assert ("size classes" in differs) == (a.unit != b.unit and not judged_anew)
    apart = abs(a.on.month - b.on.month)
    assert ("season" in differs) == (min(apart, 12 - apart) > 1)
    loci = (want[then].loci, want[now].loci)
    apart = any(min(one) - max(other) > 0.1 * max(other) for one, other in (loci, loci[::-1]))
    assert ("loci scored" in differs) == (apart and "panel" not in differs)


def check_the_plan(session: Session, lake_id: int, described: list[ASurvey], want: list[Expected]) -> None:
    """The plan rests on the catch and the typed fish that the reports count."""
    lake = session.get_one(Lake, lake_id)
    for species in {one.species for one in described}:
        mine = [i for i, one in enumerate(described) if one.species == species]
        if any(described[i].unit == "mm" for i in mine):
            continue  # fish of the other unit are judged anew, by another table of limits
        scheme = scheme_of(lake, species)
        catch, _ = likely_catch(session, lake, scheme, species)
        measured = [i for i in mine if any(name is not None for name in want[i].caught)]
        for name in scheme.classes:
            n = sum(want[i].caught[name] for i in measured)
            assert catch.get(name, 0) == pytest.approx(n / len(measured) if measured else 0)
        spread, *_ = spreads(session, lake, scheme, species)
        typed = [want[i].typed for i in mine]
        speaks = typed[reported([counts.total() for counts in typed])]
        classes = {name: n for name, n in speaks.items() if name is not None and n}
        if sum(n - 1 for n in classes.values()) >= 4:
            assert {name: spread[name].n_typed for name in scheme.classes} == {
                name: classes.get(name, 0) for name in scheme.classes
            }
        else:
            assert all(one.seen_in is None for one in spread.values())


def check_what_is_owed(
    session: Session,
    described: list[ASurvey],
    want: list[Expected],
    pairs: dict[str, tuple[str, str]],
) -> None:
    """A fish of its survey's species that left for the lab and is not in the numbers is owed; so is one whose vials are
    all gone, where those that were never sent are asked for.
    """
    sent, never_sent = Counter[str](), Counter[str]()
    for at, one in enumerate(described):
        for number, fish in enumerate(one.fish, 1):
            counts = fish.result is not None and PANELS[fish.result.panel] in (
                None, pairs.get(one.species, USUAL))  # fmt: skip
            if fish.of_species and not counts:
                sent[f"S{at}#{number}"] = any(vial.shipment in LEFT for vial in fish.vials)
                never_sent[f"S{at}#{number}"] = bool(fish.vials) and not fish.in_hand
    shipments = list(session.scalars(select(Shipment)))
    for shipment in shipments:
        of_others = 0
        for at, one in enumerate(described):
            pair = pairs.get(one.species, USUAL)
            of_others += sum(
                vial.usable and PANELS[vial.panel] not in (None, pair)
                for fish in one.fish
                for vial in fish.vials
                if fish.of_species and f"S{at}-{vial.shipment}".upper() == shipment.code
            )
        assert n_vials_of_other_pairs(session, shipment.id) == of_others
    for asked, expect in ((False, +sent), (True, sent + never_sent)):
        owed = resample_list(session, shipments, with_never_sent=asked)
        assert Counter(fish for lost in owed for fish in lost.fish) == expect
        for lost in owed:
            counts = want[int(lost.survey[1:])]
            assert (lost.n_sent, lost.n_resulted) == (
                counts.shipped[lost.size_class], counts.typed[lost.size_class],
            )  # fmt: skip
            assert lost.n_never_sent == sum(never_sent[fish] for fish in lost.fish) * asked
            assert lost.n_lost - lost.n_never_sent <= lost.n_sent
