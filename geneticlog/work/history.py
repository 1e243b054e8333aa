"""The whole life of one vial: printed, filled, packed, sent, arrived, returned, doubted, decided on."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.rules.lab_return.words.headings import Taxa
from geneticlog.rules.label.vial_states import VialRole
from geneticlog.rules.result.result_states import Outcome, ResultStanding
from geneticlog.rules.shipment.custody import custody_of
from geneticlog.rules.vialcode import printed
from geneticlog.store.tables import Event, Result, ReturnRow, ShipmentPosition, Vial
from geneticlog.work.changed_words import changes_in_words
from geneticlog.work.events import fish_name
from geneticlog.work.finding.finding_vials import findings_of_vial
from geneticlog.work.result.as_the_lab_said import Correction, as_the_lab_said, corrections_of
from geneticlog.work.result.genotype_decisions import Settled, settled_genotypes
from geneticlog.work.result.kept_reading import sheet_rows_of

WORDS = {
    "filled": "filled",
    "emptied": "emptied",
    "voided": "made void",
    "reprinted": "label printed again",
    "corrected": "corrected",
    "packed": "packed",
    "lost": "recorded as lost",
    "broken": "recorded as broken",
    "found": "found again",
    "result_corrected": "result corrected",
}
# what a row says that gave no result of its own: its vial has the same one from an earlier file
_WITHOUT_A_RESULT = {Outcome.TYPED: "the result as before", Outcome.FAILED: "failed, as before"}


@dataclass(frozen=True)
class Moment:
    """One thing that happened: when, who, what, and why where a reason was given."""

    at: datetime
    by: str | None
    what: str
    why: str | None = None


@dataclass(frozen=True)
class ResultSaid:
    """One result of the vial, standing or not."""

    standing: str
    outcome: str
    q: float | None
    heterozygosity: float | None
    n_loci: int | None
    speaks_for_the_fish: bool
    low: float | None = None  # support interval of q
    high: float | None = None
    drop: float | None = None  # its depth in log units
    ancestry_class: str | None = None
    generation: str | None = None  # the class accepted, or why there is none
    rule_set: str | None = None
    settled: str | None = None  # where genotypes gave another value: what was decided


@dataclass(frozen=True)
class History:
    """A vial, where it is now, and all that happened to it."""

    vial: str
    standing: str
    role: str
    custody: str
    fish: str | None
    species: str | None
    fate: str | None
    size_class: str | None
    length: float | None
    length_unit: str | None
    lake: str | None
    surveyed_on: date | None
    results: tuple[ResultSaid, ...]
    life: tuple[Moment, ...]


def history(session: Session, vial: Vial) -> History:
    """Return the life of a vial, the first moment first."""
    fish = vial.fish
    positions = list(
        session.scalars(
            select(ShipmentPosition).where(ShipmentPosition.vial_id == vial.id).order_by(ShipmentPosition.id)
        )
    )
    rows = list(session.scalars(select(ReturnRow).where(ReturnRow.vial_id == vial.id).order_by(ReturnRow.id)))
    results = list(session.scalars(select(Result).where(Result.vial_id == vial.id).order_by(Result.id)))
    settled = settled_genotypes(session, Result.vial_id == vial.id)
    corrections = corrections_of(session, [vial.code]).get(vial.code, [])
    life = [
        *_printed_and_filled(session, vial),
        *(moment for at in positions for moment in _travelled(session, at)),
        *(moment for row in rows for moment in _returned(row, results, settled, corrections)),
        *_doubted(session, vial),
    ]
    last = positions[-1] if positions else None
    back = [result for result in results if result.standing != ResultStanding.SUPERSEDED]
    back.sort(key=lambda result: result.standing == ResultStanding.CURRENT)
    return History(
        vial=vial.code,
        standing=vial.standing,
        role=vial.role,
        custody=custody_of(
            vial.standing,
            shipment=last.shipment.standing if last else None,
            arrival=last.arrival if last else None,
            outcome=back[-1].outcome if back else None,
        ).value,
        fish=fish_name(fish.survey.code, fish.number) if fish else None,
        species=fish.species if fish else None,
        fate=fish.fate if fish else None,
        size_class=fish.size_class if fish else None,
        length=fish.length if fish else None,
        length_unit=fish.length_unit if fish else None,
        lake=fish.survey.lake.name if fish else None,
        surveyed_on=fish.survey.surveyed_on if fish else None,
        results=tuple(_result_said(session, result, settled.get(result.id)) for result in results),
        life=tuple(sorted(dict.fromkeys(life), key=lambda moment: moment.at)),
    )


def _result_said(session: Session, result: Result, settled: Settled | None) -> ResultSaid:
    """Return a result with the class and the generation that the rule set in force gives it."""
    shown = ResultSaid(
        result.standing, result.outcome, result.q, result.heterozygosity, result.n_loci,
        result.fish_id is not None,
    )  # fmt: skip
    if result.q is None or result.standing != ResultStanding.CURRENT:
        return shown
    # numpy and scipy: only where there is a result
    from geneticlog.rules.ancestry import ancestry_class
    from geneticlog.rules.genetics.generation import generation_of
    from geneticlog.work.catalogue.rule_sets import rule_set_in_force
    from geneticlog.work.result.called_loci import called_loci

    rule_set = rule_set_in_force(session)
    panel = result.panel
    taxa = Taxa(panel.taxon, panel.other_taxon) if panel is not None else Taxa()
    calls = called_loci(session, Result.id == result.id).get(result.id)
    generation = generation_of(
        result.q, result.heterozygosity, result.n_loci, genotypes=calls.loci if calls else None,
        believe_genotypes=settled is None or settled.believes_genotypes,
        rule_set=rule_set, taxon=taxa.taxon, other_taxon=taxa.other_taxon,
    )  # fmt: skip
    named = ancestry_class(result.q, result.heterozygosity, result.n_loci, rule_set, taxon=taxa.taxon,
                           other_taxon=taxa.other_taxon)  # fmt: skip
    return replace(
        shown,
        low=generation.low,
        high=generation.high,
        drop=generation.drop,
        ancestry_class=named,
        generation=generation.told,
        rule_set=rule_set.label,
        settled=settled.words if settled else None,
    )


def _printed_and_filled(session: Session, vial: Vial) -> list[Moment]:
    life = []
    if vial.print_run is not None:
        run = vial.print_run
        life.append(Moment(run.printed_at, run.printed_by, f"label printed, run {run.number}"))
    events = list(
        session.scalars(
            select(Event).where(Event.subject_kind == "vial", Event.subject == vial.code).order_by(Event.id)
        )
    )
    for event in events:
        life.append(Moment(event.at, event.by, _in_words(event), event.why))
    if vial.fish is not None:
        name = fish_name(vial.fish.survey.code, vial.fish.number)
        for event in session.scalars(
            select(Event)
            .where(Event.subject_kind == "fish", Event.subject == name, Event.verb == "corrected")
            .order_by(Event.id)
        ):
            life.append(Moment(event.at, event.by, f"fish {_in_words(event)}", event.why))
    if vial.filled_at is not None and not any(event.verb == "filled" for event in events):
        life.append(Moment(vial.filled_at, vial.filled_by, "filled"))
    return life


def _in_words(event: Event) -> str:
    new = json.loads(event.new or "{}")
    old = json.loads(event.old or "{}")
    words = WORDS.get(event.verb, event.verb.replace("_", " "))
    if event.verb == "filled" and new.get("fish"):
        return f"{words} from fish {new['fish']}"
    if event.verb == "filled" and new.get("role") == VialRole.BLANK:
        return "filled as a blank, without a fish"
    changed = ", ".join(changes_in_words(old, new))
    return f"{words}: {changed}" if changed else words


def _travelled(session: Session, at: ShipmentPosition) -> list[Moment]:
    shipment = at.shipment
    where = f"{at.position} of container {at.container_number}"
    life = [Moment(shipment.packed_at, shipment.packed_by, f"packed in shipment {shipment.code}, {where}")]
    if shipment.sent_at is not None:
        way = " ".join(filter(None, [shipment.carrier, shipment.tracking]))
        life.append(
            Moment(
                shipment.sent_at,
                shipment.sent_by,
                f"sent to {shipment.lab.name}" + (f", {way}" if way else ""),
            )
        )
    if shipment.arrived_at is not None:
        how = at.arrival or "ok"
        note = f" ({at.arrival_note})" if at.arrival_note else ""
        taken_in = f", taken in by {shipment.received_by}" if shipment.received_by else ""
        told = _who(session, "shipment", [shipment.code], "arrived").get(shipment.code)
        what = f"arrived: {'whole' if how == 'ok' else how}{note}{taken_in}"
        life.append(Moment(shipment.arrived_at, told or shipment.received_by, what))
    return life


def _returned(
    row: ReturnRow,
    results: list[Result],
    settled: Mapping[int, Settled],
    corrections: Sequence[Correction],
) -> list[Moment]:
    of_row = [result for result in results if result.return_row_id == row.id]
    outcome = "; ".join(
        _result_in_words(result, settled.get(result.id), as_the_lab_said(result, corrections))
        for result in of_row
    )
    outcome = outcome or _WITHOUT_A_RESULT.get(row.outcome, row.outcome)
    file = row.return_file
    life = []
    where = f"row {sheet_rows_of(file).words([row.row_number])} of {file.name}"
    if file.withdrawn_at is not None:
        outcome = outcome.replace("now superseded", "now withdrawn")
        gone = f"the reading of {file.name} was withdrawn"
        life.append(Moment(file.withdrawn_at, file.withdrawn_by, gone, file.withdrawn_why))
    return [Moment(file.read_at, file.read_by, f"{where}: {outcome}"), *life]


def _result_in_words(result: Result, settled: Settled | None, as_said: Mapping[str, Any]) -> str:
    names = ("outcome", "failure", "q", "heterozygosity", "n_loci")
    outcome, failure, q, heterozygosity, n_loci = (as_said.get(n, getattr(result, n)) for n in names)
    if outcome == Outcome.FAILED:
        blank = result.vial.role == VialRole.BLANK
        words = "no genotype, as a blank should" if blank else "failed"
        words += f" ({failure})" if failure else ""
    elif q is None:
        words = "no readable proportion"
    else:
        parts = [f"q {q:.4g}"]
        parts += [f"H {heterozygosity:.4g}"] if heterozygosity is not None else []
        parts += [f"{n_loci} loci"] if n_loci is not None else []
        words = ", ".join(parts) + (f": {settled.words}" if settled else "")
    words += ", corrected since" if as_said else ""
    return words if result.standing == ResultStanding.CURRENT else f"{words}, now {result.standing}"


def _who(session: Session, subject_kind: str, subjects: list[str], verb: str) -> dict[str, str]:
    """Who recorded something of each subject, the first time."""
    events = session.execute(
        select(Event.subject, Event.by)
        .where(Event.subject_kind == subject_kind, Event.subject.in_(subjects), Event.verb == verb)
        .order_by(Event.id.desc())
    )
    return {subject: by for subject, by in events}  # noqa: C416 - rows are no plain pairs to mypy


def _doubted(session: Session, vial: Vial) -> list[Moment]:
    findings = findings_of_vial(session, vial)
    names = [f"F{finding.number}" for finding in findings]
    opened_by = _who(session, "finding", names, "opened")
    life = [
        Moment(finding.opened_at, opened_by.get(name), f"finding {name}: {finding.text}")
        for name, finding in zip(names, findings, strict=True)
    ]
    for event in session.scalars(
        select(Event)
        .where(
            Event.subject_kind == "finding",
            Event.subject.in_(names),
            Event.verb.in_(["decided", "reopened"]),
        )
        .order_by(Event.id)
    ):
        new, old = json.loads(event.new or "{}"), json.loads(event.old or "{}")
        decided = new.get("decision")
        words = f"decided: {decided}" if decided else "opened again"
        was = "was" if decided else "was decided:"
        before = f" ({was} {old['decision']})" if old.get("decision") else ""
        named = new.get("vials") or filter(None, [new.get("vial")])  # one "vial" is what older events say
        words += "".join(f" {printed(code)}" for code in named)
        changed = [
            f"{'H' if name == 'heterozygosity' else name.replace('n_', '')} {_short(had)} to {_short(value)}"
            for code, name, had, value in new.get("values", [])
            if code == vial.code and _short(had) != _short(value)
        ]
        told = f" ({', '.join(changed)})" if changed else ""
        life.append(Moment(event.at, event.by, f"finding {event.subject} {words}{before}{told}", event.why))
    return life


def _short(value: float | None) -> str:
    return "(none)" if value is None else f"{value:.4g}"
