"""Store a closed card as its fish, once; take it out again; and keep the card that is open over a flat battery."""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.rules.boat.card_json import as_json, from_json
from geneticlog.rules.boat.doing import Doing
from geneticlog.rules.boat.logline import LogLine
from geneticlog.rules.boat.sitting import Card, Rules, Sitting
from geneticlog.rules.stamp import Stamp
from geneticlog.store.tables import Fish, OpenCard, Survey
from geneticlog.work.boat.complete_fish import complete_fish
from geneticlog.work.boat.fish_doubts import Doubtful, FishRefused, Sure
from geneticlog.work.boat.log_fish import NOTHING_GIVEN, Given, log_fish, look_over
from geneticlog.work.boat.logged import Logged, as_logged
from geneticlog.work.boat.undo import undo_fish, undone_sources
from geneticlog.work.events import fish_name, record


@dataclass(frozen=True)
class CardStored:
    """What became of a card."""

    doing: Doing
    logged: Logged | None


def card_rules(survey: Survey) -> Rules:
    """Return what a survey settles for its cards: order of work, units, species."""
    return Rules.of(survey.order_of_work, survey.length_unit, survey.weight_unit, survey.species)


def log_card(
    session: Session,
    survey: Survey,
    card: Card,
    *,
    stamp: Stamp,
    sure: Sure = False,
    again: bool = False,
    given: Given = NOTHING_GIVEN,
) -> CardStored:
    """Store the fish of a closed card. Its ``uid``, made by the device, is its identity: twice stores it once.

    sure: what is doubtful is so (True, or kinds of doubt), beside what the card says a person has said
    again: store it although it was taken back before (redo); else it stays taken back

    A card that comes again with a part more (a second vial, say) completes its fish. Raises FishRefused for what
    cannot be, also where its fish is stored with other values; FishDoubted for what has to be asked.
    """
    line = card.line
    confirmed = sure is True or line.said_so | (sure or frozenset())
    fish = _fish_of(session, survey, card)
    if fish is not None:
        _same_fish(fish, line)
        logged = complete_fish(session, survey, fish.number, line, stamp=stamp, sure=confirmed, given=given)
        stored = CardStored(Doing.ALREADY if logged.already else Doing.COMPLETED, logged)
        return _with_its_time(session, survey, stored, given, stamp)
    if not again and card.uid in undone_sources(session, survey):
        return CardStored(Doing.UNDONE, None)
    logged = log_fish(
        session,
        survey,
        line,
        stamp=stamp,
        sure=confirmed,
        given=replace(given, source=card.uid, size_class=given.size_class if line.length is None else None),
    )
    stored = CardStored(Doing.ALREADY if logged.already else Doing.STORED, logged)
    return _with_its_time(session, survey, stored, given, stamp)


def _with_its_time(
    session: Session, survey: Survey, stored: CardStored, given: Given, stamp: Stamp
) -> CardStored:
    if given.entered_at is not None and stored.logged is not None and not stored.logged.already:
        name = fish_name(survey.code, stored.logged.number)
        record(
            session,
            "handed_over",
            "fish",
            name,
            stamp=stamp,
            new={"entered_at": given.entered_at.isoformat()},
        )
    return stored


def take_out_card(session: Session, survey: Survey, card: Card, *, stamp: Stamp) -> CardStored:
    """Take the fish of a card out of the log again (undo). Raises FishRefused where it cannot leave it."""
    fish = _fish_of(session, survey, card)
    if fish is not None:
        return CardStored(Doing.TAKEN_OUT, undo_fish(session, survey, fish.number, stamp=stamp))
    if card.uid in undone_sources(session, survey):
        return CardStored(Doing.UNDONE, None)
    raise FishRefused(
        f"the fish of this card ({card.words}) was logged elsewhere before; take it out with: "
        f"geneticlog correct fish {survey.code} NUMBER --remove --why TEXT"
    )


def look_over_card(session: Session, survey: Survey, card: Card) -> list[Doubtful]:
    """Return what has to be asked of a card while its fish is in hand, but for what a person has said already.

    Raises FishRefused for an impossible length and for a vial that cannot be used.
    """
    line = card.line
    return [one for one in look_over(session, survey, line) if one.kind not in line.said_so]


def keep_open_card(session: Session, survey: Survey, sitting: Sitting, device: str, *, stamp: Stamp) -> None:
    """Keep a device's sitting, so that its open card outlives a flat battery."""
    kept = _kept(session, survey, device)
    content = json.dumps(as_json(sitting), ensure_ascii=False)
    if kept is None:
        session.add(
            OpenCard(survey_id=survey.id, device=device, content=content, kept_at=stamp.now, kept_by=stamp.by)
        )
    else:
        kept.content, kept.kept_at, kept.kept_by = content, stamp.now, stamp.by
    session.flush()


def forget_open_card(session: Session, survey: Survey, device: str) -> None:
    """Let go of a device's sitting: everything in it is stored, or was let go by a person."""
    kept = _kept(session, survey, device)
    if kept is not None:
        session.delete(kept)
        session.flush()


@dataclass(frozen=True)
class LeftOpen:
    """A sitting that a device left open: since when, by whom."""

    device: str
    sitting: Sitting
    kept_at: datetime
    kept_by: str


def left_open(session: Session, survey: Survey) -> list[LeftOpen]:
    """Return the sittings of a survey that were left with an open card, oldest first."""
    rows = session.scalars(select(OpenCard).where(OpenCard.survey_id == survey.id).order_by(OpenCard.kept_at))
    left = [
        LeftOpen(one.device, from_json(json.loads(one.content)), one.kept_at, one.kept_by) for one in rows
    ]
    return [one for one in left if not one.sitting.card.empty]


def _kept(session: Session, survey: Survey, device: str) -> OpenCard | None:
    return session.scalar(select(OpenCard).where(OpenCard.survey_id == survey.id, OpenCard.device == device))


def _fish_of(session: Session, survey: Survey, card: Card) -> Fish | None:
    return session.scalar(select(Fish).where(Fish.survey_id == survey.id, Fish.source == card.uid))


def _same_fish(fish: Fish, line: LogLine) -> None:
    """Refuse a card whose fish is stored with another length, species or number of fish."""
    length = None if line.length is None else (line.length.value, line.length.unit)
    if (
        length not in (None, (fish.length, fish.length_unit))
        or line.n_fish != fish.n_fish
        or line.species not in (None, fish.species)
    ):
        words = replace(as_logged(fish.survey, fish)).words
        raise FishRefused(f"this card is stored already, with other values ({words}); correct that fish")
