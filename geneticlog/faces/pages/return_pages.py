"""A lab's file dropped on the page: its account, the questions with controls, then stored or not.

A file waits in the database between the steps, so that any process of the server finds it; it is a return only after
the last step.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from starlette.responses import RedirectResponse, Response

from geneticlog.errors import Refused, SheetFault
from geneticlog.faces.lab_return.choices import choice_in_words
from geneticlog.faces.pages.house import Visit
from geneticlog.faces.pages.page_words import on_a_page
from geneticlog.rules.shipment.custody import ShipmentStanding

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from geneticlog.rules.lab_return.words.layout import Layout
    from geneticlog.work.lab_return.dropped_file import Dropped
    from geneticlog.work.lab_return.known_before.expected import Expected
    from geneticlog.work.lab_return.preview_return import Preview


def returns(visit: Visit) -> Response:
    """Offer to read a lab's file for shipments that are out."""
    from geneticlog.work.shipment.follow import follow_all

    there = visit.house.look(lambda session: follow_all(session, now=visit.house.now()))
    out = [one for one in there if one.standing != ShipmentStanding.PACKED]
    return visit.page("returns.html", title="A lab's file", shipments=out)


# what a person may say of a file that cannot be read: field of the form -> setting, role, words
OWN_WORDS = {
    "own_sheet": ("sheet", "", "Name of the sheet that holds the results"),
    "own_vial": ("column", "vial", "Heading (or letter) of the column with our vial codes"),
    "own_q": ("column", "q", "Heading (or letter) of the column with the share of alleles"),
}


def looked(visit: Visit) -> Response:
    """Take a file and go on to its account."""
    from geneticlog.work.lab_return.dropped_file import drop_file

    sent, shipments = visit.form.get("file"), visit.fields("shipment")
    if sent is None or isinstance(sent, str) or not sent.filename:
        raise Refused("choose or drop the file that the lab sent")
    if not shipments:
        raise Refused("choose the shipment whose vials the lab typed")
    name, content = sent.filename.replace("\\", "/").rpartition("/")[2], sent.file.read()
    key = visit.house.write(lambda session: drop_file(session, content, name, shipments, stamp=visit.stamp))
    return RedirectResponse(f"/returns/{key}", 303)


def account(visit: Visit) -> Response:
    """Show how a dropped file would be read: what is asked, and what became of everything in it."""
    dropped = _dropped(visit)
    try:
        seen = _seen(visit, dropped)
    except SheetFault as fault:  # it cannot be read so; a person may say where its parts are
        return visit.page(
            "unread.html", title=f"{dropped.name} cannot be read yet", key=dropped.key, own=OWN_WORDS,
            text=on_a_page(str(fault)),
        )  # fmt: skip
    questions = [
        (
            question.text,
            [
                (json.dumps(choice), choice_in_words(choice, seen.reading.layout.taxa))
                for choice in question.choices
            ],
            question.options,
        )
        for question in seen.reading.questions
    ]
    return visit.page(
        "account.html", title=f"How {dropped.name} is read", key=dropped.key, dropped=dropped, seen=seen,
        questions=questions, items=seen.account.items,
    )  # fmt: skip


def answered(visit: Visit) -> Response:
    """Take the answers and look again."""
    from geneticlog.work.lab_return.dropped_file import answer_dropped

    dropped = _dropped(visit)
    if own := [
        (setting, role, value)
        for name, (setting, role, _) in OWN_WORDS.items()
        if (value := visit.field(name))
    ]:
        visit.house.write(lambda session: answer_dropped(session, dropped.key, own, by=visit.who.by))
        return RedirectResponse(f"/returns/{dropped.key}", 303)
    open_choices = {
        choice for question in _seen(visit, dropped).reading.questions for choice in question.choices
    }
    answers = []
    for name, value in visit.form.items():
        if not name.startswith("q") or not isinstance(value, str) or not value:
            continue
        try:
            choice = tuple(json.loads(value))
        except ValueError:
            choice = ()
        if choice not in open_choices:
            raise Refused("this answer belongs to another question; look at the file again")
        answers.append(choice)
    visit.house.write(lambda session: answer_dropped(session, dropped.key, answers, by=visit.who.by))
    return RedirectResponse(f"/returns/{dropped.key}", 303)


def stored(visit: Visit) -> Response:
    """Store the file: all of it or nothing."""
    from geneticlog.faces.lab_return.terminal import reading_in_words
    from geneticlog.work.lab_return.dropped_file import forget_dropped
    from geneticlog.work.lab_return.known_before.expected import expected_of_each
    from geneticlog.work.lab_return.look_first import look_first
    from geneticlog.work.lab_return.read_return import LabFile
    from geneticlog.work.lab_return.several_shipments import read_for_shipments

    dropped = _dropped(visit)

    def known(session: Session) -> tuple[dict[str, Expected], Layout]:
        today = visit.house.now().astimezone().date()
        return expected_of_each(session, dropped.shipments, today=today), _layout(session, dropped)

    # taken apart before a phone has to wait for the database
    expected, layout = visit.house.look(known)
    looked = {code: look_first(dropped.content, dropped.name, one, layout) for code, one in expected.items()}

    def deed(session: Session) -> Any:
        done = read_for_shipments(
            session, LabFile(dropped.content, dropped.name), dropped.shipments, stamp=visit.stamp,
            layout=layout, looked=looked,
        )  # fmt: skip
        forget_dropped(session, dropped.key, by=visit.who.by)
        return [
            {
                "lines": reading_in_words(reading),
                "findings": [(number, text) for number, _, text in reading.findings],
            }
            for reading in done
        ]

    readings = visit.house.write(deed)
    return visit.page("stored.html", title=f"{dropped.name} is stored", readings=readings)


def forgotten(visit: Visit) -> Response:
    """Let go of a file that is not wanted; nothing of it was stored."""
    from geneticlog.work.lab_return.dropped_file import forget_dropped

    key = visit.request.path_params["file"]
    visit.house.write(lambda session: forget_dropped(session, key, by=visit.who.by))
    return RedirectResponse("/returns", 303)


def _dropped(visit: Visit) -> Dropped:
    from geneticlog.work.lab_return.dropped_file import dropped_file

    key = visit.request.path_params["file"]
    return visit.house.look(lambda session: dropped_file(session, key, by=visit.who.by))


def _layout(session: Session, dropped: Dropped) -> Layout:
    from geneticlog.rules.lab_return.words.answers import with_answer
    from geneticlog.work.events import find_shipment
    from geneticlog.work.lab_return.kept_layout import layout_for

    layout = layout_for(session, find_shipment(session, dropped.shipments[0]))
    for answer in dropped.answers:
        layout = with_answer(layout, *answer)
    return layout


def _seen(visit: Visit, dropped: Dropped) -> Preview:
    """Return how a dropped file would be read, for the vials of all its shipments together."""
    from geneticlog.work.lab_return.known_before.expected import expected_of_each
    from geneticlog.work.lab_return.preview_return import preview_of_each

    def look(session: Session) -> Preview:
        each = expected_of_each(session, dropped.shipments, today=visit.house.now().astimezone().date())
        return preview_of_each(dropped.content, dropped.name, _layout(session, dropped), each)

    return visit.house.look(look)
