"""What became of a survey's vials at the lab, in a few words, so that it can travel where shipments do not."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, NamedTuple

from sqlalchemy import func, or_, select
from sqlalchemy.orm import Session

from geneticlog.rules.shipment.told_fate import ToldFate
from geneticlog.rules.stamp import Stamp
from geneticlog.store.tables import Event, Fish, Office, ShipmentPosition, Survey, ToldSurvey, ToldVial, Vial
from geneticlog.work.events import as_json
from geneticlog.work.result.in_the_numbers import of_its_species, pair_of
from geneticlog.work.result.vial_outcome import gave_a_result, in_hand, may_give_a_result, was_sent

ALL_MINTED = 32**4  # the next serial of an office that arrived without a block of its own: it mints nothing
KIND = "lab_standing"  # of the event that brings it; it is about a survey and changes nothing of it


@dataclass(frozen=True)
class Told:
    """What another database said of vials at the lab: code -> shipped, typed or failed, and when it said so."""

    at: datetime
    vials: dict[str, ToldFate]


class ToldCounts(NamedTuple):
    """Swabbed fish of one size class that another database said are shipped, typed and failed."""

    n_shipped: int = 0
    n_typed: int = 0
    n_failed: int = 0


def has_shipments(session: Session, surveys: Sequence[Survey]) -> bool:
    """Whether any vial of these surveys was packed in this database: then it knows best."""
    packed = (
        select(ShipmentPosition.id)
        .join(Vial, Vial.id == ShipmentPosition.vial_id)
        .join(Fish, Fish.id == Vial.fish_id)
        .where(Fish.survey_id.in_([survey.id for survey in surveys]))
    )
    return session.scalar(packed.limit(1)) is not None


def standing_lines(session: Session, surveys: Sequence[Survey], *, stamp: Stamp) -> list[dict[str, Any]]:
    """Return for each survey with shipments here the event that tells another database of them."""
    lines = []
    for survey in surveys:
        if not has_shipments(session, [survey]):
            continue
        pair = pair_of(session, survey.lake_id, survey.species)
        rows = session.execute(
            select(Vial.code, gave_a_result(pair), may_give_a_result(pair), was_sent())
            .join(Fish, Fish.id == Vial.fish_id)
            .where(Fish.survey_id == survey.id, in_hand())
            .order_by(Vial.code)
        )
        fates = {
            code: ToldFate.TYPED if has_type else ToldFate.SHIPPED if hopeful else ToldFate.FAILED
            for code, has_type, hopeful, shipped in rows
            if shipped or not hopeful
        }
        new = as_json({"vials": fates})
        uid = hashlib.sha256(f"{survey.uid} {stamp.now.isoformat()} {new}".encode()).hexdigest()[:32]
        lines.append(
            {
                "table": "event", "uid": uid, "at": stamp.now, "by": stamp.by, "verb": "told", "subject_kind": KIND,
                "subject": survey.code, "old": None, "new": new, "why": None,
            }
        )  # fmt: skip
    return lines


def told_standing(session: Session, surveys: Sequence[Survey]) -> Told | None:
    """Return what was last known of the vials of these surveys; None where nothing was, or shipments are known here."""
    ids = [survey.id for survey in surveys]
    first = session.scalar(select(func.min(ToldSurvey.told_at)).where(ToldSurvey.survey_id.in_(ids)))
    if first is None or has_shipments(session, surveys):  # the second looks at every fish
        return None
    rows = session.execute(
        select(ToldVial.code, ToldVial.fate)
        .join(Survey, Survey.id == ToldVial.survey_id)
        .where(ToldVial.survey_id.in_(ids))
        .order_by(Survey.surveyed_on, Survey.id)
    )
    return Told(first, {row.code: row.fate for row in rows})


def keep_told(session: Session, survey: Survey, at: datetime, new: str | None) -> None:
    """Keep what a carry file tells of a survey's vials, unless something later is kept already."""
    before = session.get(ToldSurvey, survey.id)
    if before is not None and before.told_at >= at:
        return
    if before is None:
        session.add(ToldSurvey(survey_id=survey.id, told_at=at))
    else:
        before.told_at = at
    for old in session.scalars(select(ToldVial).where(ToldVial.survey_id == survey.id)):
        session.delete(old)
    session.flush()
    for code, fate in json.loads(new or "{}").get("vials", {}).items():
        session.add(ToldVial(survey_id=survey.id, code=code, fate=ToldFate(fate)))
    session.flush()


def shipments_elsewhere(session: Session, surveys: Sequence[Survey]) -> bool:
    """Whether the surveys came from an office whose first database is another one, and nothing was packed here."""
    guest = select(Office.id).where(or_(Office.station != 0, Office.next_serial == ALL_MINTED))
    came = select(Event.new).where(Event.verb == "carried_in")
    codes = {survey.code for survey in surveys}
    return (
        session.scalar(guest.limit(1)) is not None
        and not has_shipments(session, surveys)
        and any(codes & set(json.loads(new or "{}").get("surveys", [])) for new in session.scalars(came))
    )


def told_counts(session: Session, surveys: Sequence[Survey], standings: Told) -> dict[str | None, ToldCounts]:
    """Return for each size class the swabbed fish that are shipped, typed and failed, as last reported."""
    of_fish: dict[int, tuple[str | None, list[ToldFate | None]]] = {}
    for fish, size_class, code in session.execute(
        select(Fish.id, Fish.size_class, Vial.code)
        .join(Survey, Survey.id == Fish.survey_id)
        .join(Vial, Vial.fish_id == Fish.id)
        .where(
            Fish.survey_id.in_([survey.id for survey in surveys]),
            of_its_species(),
            in_hand(),
        )
    ):
        of_fish.setdefault(fish, (size_class, []))[1].append(standings.vials.get(code))
    counts: dict[str | None, ToldCounts] = {}
    for size_class, words in of_fish.values():
        before = counts.get(size_class, ToldCounts())
        counts[size_class] = ToldCounts(
            n_shipped=before.n_shipped + any(words),
            n_typed=before.n_typed + (ToldFate.TYPED in words),
            n_failed=before.n_failed + all(word == ToldFate.FAILED for word in words),
        )
    return counts
