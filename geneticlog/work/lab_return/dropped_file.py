"""A lab's file dropped on a page: it waits for answers, with nothing of it stored as a return, and is gone soon."""

from __future__ import annotations

import json
import secrets
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta

from sqlalchemy import delete, select
from sqlalchemy.orm import Session

from geneticlog.errors import NotFound
from geneticlog.rules.stamp import Stamp
from geneticlog.store.tables import DroppedFile
from geneticlog.work.events import find_shipment

MOST_FILES = 8
LASTS = timedelta(minutes=30)
Answer = tuple[str, str, str]  # setting, role, value: one choice of a question


@dataclass(frozen=True)
class Dropped:
    """A file that waits: its bytes, the shipments it is about, and what its person has answered so far."""

    key: str
    name: str
    content: bytes
    shipments: tuple[str, ...]
    answers: tuple[Answer, ...]


def drop_file(session: Session, content: bytes, name: str, shipments: Sequence[str], *, stamp: Stamp) -> str:
    """Keep a file for half an hour; return the key it is found by. The oldest make room where there are many.

    Raises NotFound for a shipment that there is not.
    """
    codes = [find_shipment(session, code).code for code in dict.fromkeys(shipments)]
    session.execute(delete(DroppedFile).where(DroppedFile.dropped_at <= stamp.now - LASTS))
    waiting = list(session.scalars(select(DroppedFile.id).order_by(DroppedFile.id.desc())))
    session.execute(delete(DroppedFile).where(DroppedFile.id.in_(waiting[MOST_FILES - 1 :])))
    key = secrets.token_urlsafe(12)
    session.add(
        DroppedFile(
            key=key, name=name, content=content, shipments=json.dumps(codes), answers="[]", dropped_at=stamp.now,
            dropped_by=stamp.by,
        )
    )  # fmt: skip
    session.flush()
    return key


def dropped_file(session: Session, key: str, *, by: str) -> Dropped:
    """Return a file that waits for the person who dropped it. Raises NotFound where it waits no more."""
    found = _found(session, key, by)
    answers = tuple((setting, role, value) for setting, role, value in json.loads(found.answers))
    return Dropped(found.key, found.name, found.content, tuple(json.loads(found.shipments)), answers)


def answer_dropped(session: Session, key: str, answers: Sequence[Answer], *, by: str) -> None:
    """Add answers to those of a file that waits."""
    found = _found(session, key, by)
    found.answers = json.dumps([*json.loads(found.answers), *answers])
    session.flush()


def forget_dropped(session: Session, key: str, *, by: str) -> None:
    """Let go of a file that waits: it is stored now, or is not wanted."""
    session.delete(_found(session, key, by))
    session.flush()


def _found(session: Session, key: str, by: str) -> DroppedFile:
    dropped = session.scalar(select(DroppedFile).where(DroppedFile.key == key, DroppedFile.dropped_by == by))
    if dropped is None:
        raise NotFound("this file waits here no more; drop it again")
    return dropped
