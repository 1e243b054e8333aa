"""A lab's file dropped on the page: its account, the questions with controls, then stored or not.

A file waits in memory between the steps, a few at a time and for half an hour; it is stored only by the last step.
"""

from __future__ import annotations

import json
import secrets
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

from starlette.responses import RedirectResponse, Response

from geneticlog.errors import NotFound, Refused
from geneticlog.faces.lab_return.choices import choice_in_words
from geneticlog.faces.pages.house import Visit

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from geneticlog.rules.lab_return.layout import Layout
    from geneticlog.work.lab_return.look_first import Looked
    from geneticlog.work.lab_return.preview_return import Preview

MOST_FILES = 8
LASTS = timedelta(minutes=30)


@dataclass
class Dropped:
    """A file that was dropped and is not stored yet, with what its person has answered so far."""

    name: str
    content: bytes
    shipment: str
    by: str
    at: datetime
    answers: list[tuple[str, str, str]] = field(default_factory=list)


def returns(visit: Visit) -> Response:
    """Offer to read a lab's file for a shipment that is out."""
    from geneticlog.work.shipment.follow import follow_all

    there = visit.house.look(lambda session: follow_all(session, now=visit.house.now()))
    out = [one for one in there if one.standing != "packed"]
    return visit.page("returns.html", title="A lab's file", shipments=out)


def looked(visit: Visit) -> Response:
    """Take a file and go on to its account."""
    sent, shipment = visit.form.get("file"), visit.field("shipment")
    if sent is None or isinstance(sent, str) or not sent.filename:
        raise Refused("choose or drop the file that the lab sent")
    if not shipment:
        raise Refused("choose the shipment whose vials the lab typed")
    now, held = visit.house.now(), visit.house.files
    for key in [key for key, one in held.items() if now - one.at > LASTS]:
        del held[key]
    while len(held) >= MOST_FILES:
        del held[min(held, key=lambda key: held[key].at)]
    key = secrets.token_urlsafe(12)
    name = sent.filename.replace("\\", "/").rpartition("/")[2]
    held[key] = Dropped(name, sent.file.read(), shipment, visit.who.by, now)
    return RedirectResponse(f"/returns/{key}", 303)


def account(visit: Visit) -> Response:
    """Show how a dropped file would be read: what is asked, and what became of everything in it."""
    key = visit.request.path_params["file"]
    dropped = _dropped(visit, key)
    seen = _seen(visit, dropped)
    questions = [
        (
            question.text,
            [(json.dumps(choice), choice_in_words(*choice)) for choice in question.choices],
            question.options,
        )
        for question in seen.reading.questions
    ]
    return visit.page(
        "account.html", title=f"How {dropped.name} is read", key=key, dropped=dropped, seen=seen, questions=questions,
        items=seen.account.items,
    )  # fmt: skip


def answered(visit: Visit) -> Response:
    """Take the answers and look again."""
    key = visit.request.path_params["file"]
    dropped = _dropped(visit, key)
    open_choices = {
        choice for question in _seen(visit, dropped).reading.questions for choice in question.choices
    }
    for name, value in visit.form.items():
        if not name.startswith("q") or not isinstance(value, str) or not value:
            continue
        try:
            choice = tuple(json.loads(value))
        except ValueError:
            choice = ()
        if choice not in open_choices:
            raise Refused("this answer belongs to another question; look at the file again")
        dropped.answers.append(choice)
    return RedirectResponse(f"/returns/{key}", 303)


def stored(visit: Visit) -> Response:
    """Store the file: all of it or nothing."""
    from geneticlog.faces.app.desk import plain
    from geneticlog.faces.lab_return.terminal import read_document
    from geneticlog.work.lab_return.look_first import look_first
    from geneticlog.work.lab_return.several_shipments import read_for_shipments

    key = visit.request.path_params["file"]
    dropped = _dropped(visit, key)

    def look(session: Session) -> Looked:
        layout = _layout(session, dropped)
        return look_first(session, dropped.content, dropped.name, dropped.shipment, layout)

    looked = visit.house.look(look)

    def deed(session: Session) -> Any:
        done = read_for_shipments(
            session, dropped.content, dropped.name, (dropped.shipment,), stamp=visit.stamp,
            layout=looked.layout, looked={dropped.shipment: looked},
        )  # fmt: skip
        return [plain(read_document(one)) for one in done]

    documents = visit.house.write(deed)
    visit.house.files.pop(key, None)
    return visit.page(
        "stored.html", title=f"{dropped.name} is stored", documents=documents, shipment=dropped.shipment
    )


def _dropped(visit: Visit, key: str) -> Dropped:
    found = visit.house.files.get(key)
    if found is None or found.by != visit.who.by:
        raise NotFound("this file waits here no more; drop it again")
    assert isinstance(found, Dropped)
    return found


def _layout(session: Session, dropped: Dropped) -> Layout:
    from geneticlog.rules.lab_return.answers import with_answer
    from geneticlog.work.events import find_shipment
    from geneticlog.work.lab_return.kept_layout import layout_for

    layout = layout_for(session, find_shipment(session, dropped.shipment))
    for answer in dropped.answers:
        layout = with_answer(layout, *answer)
    return layout


def _seen(visit: Visit, dropped: Dropped) -> Preview:
    from geneticlog.work.events import find_shipment
    from geneticlog.work.lab_return.expected import expected_of
    from geneticlog.work.lab_return.preview_return import preview_return

    def look(session: Session) -> Preview:
        expected = expected_of(session, find_shipment(session, dropped.shipment))
        return preview_return(dropped.content, dropped.name, _layout(session, dropped), expected)

    return visit.house.look(look)
