"""The boat's page and what its script asks: one card at a time, each with an identity made on the device.

A card that comes twice is stored once; one that was taken out stays out until it is sent again with ``again``. A device
that lost the link sends what it kept in order, and each answer says what became of it.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import timedelta
from typing import TYPE_CHECKING, Any

from starlette.responses import JSONResponse, Response

from geneticlog.errors import Refused
from geneticlog.faces.pages.house import Visit

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from geneticlog.rules.boat.logline import LogLine
    from geneticlog.store.tables import Survey

LAST_SHOWN = 10
MOST_FREE = 400  # free labels that a page may pick from
ID = re.compile(r"[0-9a-zA-Z-]{16,64}")
OPEN_LASTS = timedelta(minutes=10)  # an open card of another device is shown so long
REASONS = ("misread", "typed wrong", "wrong vial", "other fish")


def boat(visit: Visit) -> Response:
    """Show the boat's page of a survey; its script does the rest."""
    from geneticlog.work.events import find_survey

    code = visit.request.path_params["survey"]

    def look(session: Session) -> dict[str, Any]:
        survey = find_survey(session, code)
        return {"survey": survey.code, "unit": survey.length_unit, "weight_unit": survey.weight_unit}

    return visit.page("boat.html", title=f"Boat · {code}", **visit.house.look(look), reasons=REASONS)


def state(visit: Visit) -> Response:
    """Return what the page shows: classes against targets, the last ten fish, free labels, others' open cards."""
    from geneticlog.work.boat.log_card import card_rules
    from geneticlog.work.events import find_survey

    code = visit.request.path_params["survey"]

    def look(session: Session) -> dict[str, Any]:
        survey = find_survey(session, code)
        rules = card_rules(survey)
        return {
            "survey": survey.code,
            "order": {"first": rules.first, "weighed": rules.weighed},
            "length_unit": survey.length_unit,
            "weight_unit": survey.weight_unit,
            "classes": _classes(session, survey),
            "last": _last(session, survey),
            "free": _free(session, survey),
        }

    shown = visit.house.look(look)
    shown["others"] = _others(visit, code)
    shown["person"], shown["device"], shown["writes"] = visit.who.person, visit.who.device, visit.who.writes
    return JSONResponse(shown)


def log(visit: Visit) -> Response:
    """Store one card. Answers: done, or what to ask, or why it is refused; nothing is stored of the last two."""
    from geneticlog.rules.boat.sitting import Card
    from geneticlog.work.boat.log_card import log_card
    from geneticlog.work.boat.log_fish import FishDoubted
    from geneticlog.work.events import find_survey

    code, sent = visit.request.path_params["survey"], visit.form
    uid = _id(sent)
    sure = frozenset(str(kind) for kind in _list(sent, "sure"))

    def deed(session: Session) -> dict[str, Any]:
        survey = find_survey(session, code)
        line = _line(survey, sent)
        stored = log_card(
            session, survey, Card(uid, (line,)), stamp=visit.stamp, sure=sure,
            again=bool(sent.get("again")), tissue=line.tissue, medium=_text(sent, "medium") or None,
            site=_text(sent, "site") or None,
        )  # fmt: skip
        fish = stored.logged
        return {
            "id": uid,
            "doing": stored.doing,
            "fish": fish.number if fish else None,
            "words": fish.words if fish else None,
            "size_class": fish.size_class if fish else None,
        }

    try:
        done = visit.house.write(deed)
    except FishDoubted as doubt:
        asked = {"id": uid, "ask": list(doubt.questions), "kinds": sorted(doubt.kinds)}
        return JSONResponse(asked, 409)
    visit.house.open_cards.pop((code, visit.who.device), None)
    return JSONResponse(done)


def take_out(visit: Visit) -> Response:
    """Take the fish of a card out of the log again (undo)."""
    from geneticlog.rules.boat.sitting import Card
    from geneticlog.work.boat.log_card import take_out_card
    from geneticlog.work.events import find_survey

    code, uid = visit.request.path_params["survey"], _id(visit.form)

    def deed(session: Session) -> dict[str, Any]:
        survey = find_survey(session, code)
        done = take_out_card(session, survey, Card(uid), stamp=visit.stamp)
        return {"id": uid, "doing": done.doing, "words": done.logged.words if done.logged else None}

    return JSONResponse(visit.house.write(deed))


def correct(visit: Visit) -> Response:
    """Change a stored fish, with a reason."""
    from geneticlog.rules.lengths import parse_length, parse_weight
    from geneticlog.work.boat.correct import correct_fish
    from geneticlog.work.events import find_survey

    code, sent = visit.request.path_params["survey"], visit.form
    number = sent.get("fish")
    if not isinstance(number, int):
        raise Refused("say which fish is to be changed")

    def deed(session: Session) -> dict[str, Any]:
        survey = find_survey(session, code)
        changes: dict[str, Any] = {}
        if text := _text(sent, "length"):
            changes["length"] = parse_length(text, survey.length_unit)
        if text := _text(sent, "weight"):
            changes["weight"] = parse_weight(text, survey.weight_unit)
        corrected = correct_fish(session, survey, number, changes, stamp=visit.stamp, why=_text(sent, "why"))
        return {"fish": number, "words": corrected.words, "changed": sorted(corrected.changes)}

    from geneticlog.faces.app.desk import plain

    return JSONResponse(plain(visit.house.write(deed)))


def show_open(visit: Visit) -> Response:
    """Keep what is on a device's open card, so that the other device sees it; nothing is stored."""
    code = visit.request.path_params["survey"]
    words = _text(visit.form, "words")[:80]
    if words:
        visit.house.open_cards[code, visit.who.device] = (words, visit.who.person, visit.house.now())
    else:
        visit.house.open_cards.pop((code, visit.who.device), None)
    return JSONResponse({"others": _others(visit, code)})


def _others(visit: Visit, survey: str) -> list[dict[str, str]]:
    now = visit.house.now()
    return [
        {"device": device, "person": person, "words": words}
        for (code, device), (words, person, at) in sorted(visit.house.open_cards.items())
        if code == survey and device != visit.who.device and now - at < OPEN_LASTS
    ]


def _classes(session: Session, survey: Survey) -> list[dict[str, Any]]:
    """Return each size class with its least length in the survey's unit, and its counts from the coverage."""
    from geneticlog.rules.schemes import Scheme
    from geneticlog.work.boat.coverage import of_survey

    counts = {one.size_class: one for one in of_survey(session, survey).classes}
    scheme = Scheme.from_json(survey.scheme)
    unit = survey.length_unit if survey.length_unit in scheme.least else "mm"
    return [
        {
            "size_class": one.name,
            "label": one.label,
            "least": least,
            "unit": unit,
            "target": counts[one.name].target if one.name in counts else None,
            "n_swabbed": counts[one.name].n_swabbed if one.name in counts else 0,
            "n_caught": counts[one.name].n_caught if one.name in counts else 0,
            "short_by": counts[one.name].short_by if one.name in counts else None,
        }
        for one, least in zip(scheme.size_classes(unit), scheme.least[unit], strict=True)
    ]


def _last(session: Session, survey: Survey) -> list[dict[str, Any]]:
    from sqlalchemy import select

    from geneticlog.store.tables import Fish
    from geneticlog.work.boat.log_fish import as_logged

    fish = session.scalars(
        select(Fish).where(Fish.survey_id == survey.id).order_by(Fish.number.desc()).limit(LAST_SHOWN)
    )
    return [
        {
            "fish": one.number,
            "id": one.source,
            "words": as_logged(survey, one).words,
            "swabbed": bool(one.vials),
        }
        for one in fish
    ]


def _free(session: Session, survey: Survey) -> list[str]:
    """Return the free labels printed for a survey, in the order of their codes."""
    from sqlalchemy import select

    from geneticlog.store.tables import PrintRun, Vial

    return list(
        session.scalars(
            select(Vial.code)
            .join(PrintRun, PrintRun.id == Vial.print_run_id)
            .where(PrintRun.survey_id == survey.id, Vial.standing == "printed")
            .order_by(Vial.code)
            .limit(MOST_FREE)
        )
    )


def _line(survey: Survey, sent: Mapping[str, Any]) -> LogLine:
    """Return what a card sent by the page says, read by the same rules as a line of the log."""
    from dataclasses import replace

    from geneticlog.rules.boat.logline import LogLine
    from geneticlog.rules.lengths import parse_length, parse_weight

    length, weight = _text(sent, "length"), _text(sent, "weight")
    n_fish = sent.get("n_fish", 1)
    if not isinstance(n_fish, int) or isinstance(n_fish, bool) or not 1 <= n_fish <= 1000:
        raise Refused(f"{n_fish!r} is not a number of fish, 1 to 1000")
    line = LogLine(
        vial=_text(sent, "vial") or None,
        second=_text(sent, "second") or None,
        length=parse_length(length, survey.length_unit) if length else None,
        weight=parse_weight(weight, survey.weight_unit) if weight else None,
        n_fish=n_fish,
        fate=_text(sent, "fate") or None,
        tissue=_text(sent, "tissue") or None,
        remarks=_text(sent, "remarks") or None,
    )
    return replace(line, no_length=bool(sent.get("no_length"))) if line.length is None else line


def _text(sent: Mapping[str, Any], name: str) -> str:
    value = sent.get(name, "")
    if value is None:
        return ""
    if not isinstance(value, str) or len(value) > 300:
        raise Refused(f"{name} is not a text of at most 300 characters")
    return value.strip()


def _list(sent: Mapping[str, Any], name: str) -> list[Any]:
    value = sent.get(name, [])
    if not isinstance(value, list) or len(value) > 20:
        raise Refused(f"{name} is not a list")
    return value


def _id(sent: Mapping[str, Any]) -> str:
    uid = sent.get("id")
    if not isinstance(uid, str) or not ID.fullmatch(uid):
        raise Refused("a card needs an identity made by its device")
    return uid
