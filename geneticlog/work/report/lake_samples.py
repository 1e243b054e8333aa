"""What became of the samples that are not plainly in the numbers, and who decided what: nothing unnamed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from sqlalchemy import or_, select
from sqlalchemy.orm import Session

from geneticlog.rules.finding.decision import Decision
from geneticlog.rules.result.result_states import Outcome, ResultStanding
from geneticlog.rules.shipment.custody import NOT_IN_HAND
from geneticlog.store.tables import Finding, Fish, Result, ShipmentPosition, Survey, Vial
from geneticlog.work.events import fish_name
from geneticlog.work.finding.lake_findings import concerned
from geneticlog.work.report.facts import SampleNote

IN_THE_NUMBERS = "in the numbers"
OUT_OF_THE_NUMBERS = "not in the numbers"
OPEN = "open finding"
UNDECIDED = "not in the numbers until a person decides"


def sample_notes(session: Session, survey: Survey) -> tuple[SampleNote, ...]:
    """Return every sample of a survey that failed, is held, replaced, rejected, lost, a second vial, or without a
    result, and every finding about one, decided or open; in the order of the fish.
    """
    findings = _findings(session, survey)
    results = _with_who_rejected(_results(session, survey), findings)
    return (*results, *_without_result(session, survey), *findings)


def _results(session: Session, survey: Survey) -> list[SampleNote]:
    rows = session.execute(
        select(Result, Vial, Fish)
        .join(Vial, Vial.id == Result.vial_id)
        .join(Fish, Fish.id == Vial.fish_id)
        .where(
            Fish.survey_id == survey.id,
            or_(
                Result.outcome == Outcome.FAILED,
                Result.standing != ResultStanding.CURRENT,
                Result.fish_id.is_(None),
            ),
        )
        .order_by(Fish.number, Result.id)
    )
    notes = []
    for result, vial, fish in rows:
        q = "" if result.q is None else f" (q {result.q:g})"
        if result.standing == ResultStanding.HELD:
            standing, text = UNDECIDED, f"the lab's result{q} conflicts with another, or is not possible"
        elif result.standing == ResultStanding.REJECTED:
            standing, text = OUT_OF_THE_NUMBERS, f"the result{q} was rejected"
        elif result.standing == ResultStanding.SUPERSEDED:
            standing, text = OUT_OF_THE_NUMBERS, f"the result{q} was replaced by a later one"
        elif result.outcome == Outcome.FAILED:
            said = f"; the lab wrote {result.failure!r}" if result.failure else ""
            standing, text = OUT_OF_THE_NUMBERS, f"failed at the lab{said}"
        else:
            standing, text = OUT_OF_THE_NUMBERS, f"a second vial of the same fish{q}; the fish counts once"
        notes.append(SampleNote(standing, vial.code, fish_name(survey.code, fish.number), text))
    return notes


def _with_who_rejected(results: Sequence[SampleNote], findings: Sequence[SampleNote]) -> list[SampleNote]:
    """Set beside each rejected result the decision that rejected it, where a finding of its vial holds one."""
    decided = {note.vial: note for note in findings if note.decision in (Decision.REJECT, Decision.RESAMPLE)}
    notes = []
    for note in results:
        by = decided.get(note.vial)
        if by is None or not note.text.endswith("was rejected"):
            notes.append(note)
            continue
        number = by.text.partition(":")[0]
        notes.append(
            replace(
                note, text=f"{note.text} ({number})", decision=by.decision, decided_by=by.decided_by,
                decided_at=by.decided_at, why=by.why,
            )
        )  # fmt: skip
    return notes


def _without_result(session: Session, survey: Survey) -> list[SampleNote]:
    has_result = select(Result.id).where(Result.vial_id == Vial.id).exists()
    packed = select(ShipmentPosition.id).where(ShipmentPosition.vial_id == Vial.id).exists()
    rows = session.execute(
        select(Vial, Fish, packed)
        .join(Fish, Fish.id == Vial.fish_id)
        .where(Fish.survey_id == survey.id, ~has_result)
        .order_by(Fish.number, Vial.id)
    )
    notes = []
    for vial, fish, is_packed in rows:
        if vial.standing in NOT_IN_HAND:
            why = f": {vial.gone_why}" if vial.gone_why else ""
            text = f"the vial is {vial.standing}{why}"
        elif is_packed:
            text = "sent or packed, no result yet"
        else:
            text = "filled, not packed for a lab yet"
        notes.append(SampleNote(OUT_OF_THE_NUMBERS, vial.code, fish_name(survey.code, fish.number), text))
    return notes


def _findings(session: Session, survey: Survey) -> list[SampleNote]:
    """Findings about this survey's fish, and those of its shipments that are about no fish of anybody's: a row
    that nobody sent, a repeated row, a blank.
    """
    pairs = concerned().subquery()
    ours = select(pairs.c.finding_id).where(pairs.c.survey_id == survey.id)
    rows = session.execute(
        select(Finding, Vial.code, Fish.number)
        .outerjoin(Vial, Vial.id == Finding.vial_id)
        .outerjoin(Fish, Fish.id == Vial.fish_id)
        .where(Finding.id.in_(ours))
        .order_by(Finding.number)
    )
    numbers = _fish_of(session, survey)
    notes = []
    for finding, code, number in rows:
        about = finding.data.about if finding.decision != Decision.MATCH else ()
        for vial, fish in [(one, numbers.get(one)) for one in about] or [(code, number)]:
            notes.append(
                SampleNote(
                    standing="decided" if finding.decision else OPEN,
                    vial=vial,
                    fish=fish_name(survey.code, fish) if fish is not None else None,
                    text=f"F{finding.number}: {finding.text}",
                    decision=finding.decision,
                    decided_by=finding.decided_by,
                    decided_at=finding.decided_at,
                    why=finding.why,
                )
            )
    return notes


def _fish_of(session: Session, survey: Survey) -> Mapping[str, int]:
    """The number of the fish in each vial of a survey."""
    rows = session.execute(
        select(Vial.code, Fish.number).join(Fish, Fish.id == Vial.fish_id).where(Fish.survey_id == survey.id)
    )
    return {code: number for code, number in rows}  # noqa: C416 - rows are no plain pairs to mypy
