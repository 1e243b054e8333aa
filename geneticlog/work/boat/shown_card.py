"""What is on the open card of each device, for the others of the survey to see; it is never a fish."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import delete, select
from sqlalchemy.orm import Session

from geneticlog.store.tables import ShownCard, Survey
from geneticlog.work.boat.log_card import left_open

LASTS = timedelta(minutes=10)  # a card that nobody touched for longer is shown no more


@dataclass(frozen=True)
class Shown:
    """The open card of another device: whose it is, and what is on it in words."""

    device: str
    person: str
    words: str


def show_card(
    session: Session, survey: Survey, words: str, *, device: str, person: str, now: datetime
) -> None:
    """Let the others see what is on the card of a device; with no words it is empty, and gone."""
    session.execute(
        delete(ShownCard).where(
            ShownCard.survey_id == survey.id,
            (ShownCard.device == device) | (ShownCard.shown_at <= now - LASTS),
        )
    )
    if words:
        session.add(ShownCard(survey_id=survey.id, device=device, person=person, words=words, shown_at=now))
    session.flush()


def shown_cards(session: Session, survey: Survey, *, device: str, now: datetime) -> list[Shown]:
    """Return the open cards of the other devices of a survey, a terminal's too."""
    pages = session.scalars(
        select(ShownCard)
        .where(ShownCard.survey_id == survey.id, ShownCard.device != device, ShownCard.shown_at > now - LASTS)
        .order_by(ShownCard.device)
    )
    found = [Shown(one.device, one.person, one.words) for one in pages]
    terminals = [one for one in left_open(session, survey) if one.kept_at > now - LASTS]
    return found + [Shown("a terminal", one.kept_by, one.sitting.card.words) for one in terminals]
