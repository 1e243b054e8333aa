"""The boat's page and what its script asks: one card at a time, each with an identity made on the device.

A card that comes twice is stored once; one that was taken out stays out until it is sent again with ``again``. A device
that lost the link sends what it kept in order, and each answer says what became of it.
"""

from __future__ import annotations

import hashlib
from base64 import b64encode
from collections.abc import Collection, Mapping
from datetime import datetime, timedelta
from functools import cache
from importlib import resources
from typing import TYPE_CHECKING, Any

from markupsafe import Markup
from starlette.responses import JSONResponse, Response

from geneticlog.errors import Refused
from geneticlog.faces.pages.boat_state import ID, classes_of, free_labels, in_the_well, last_fish
from geneticlog.faces.pages.guard import POLICY
from geneticlog.faces.pages.house import Visit
from geneticlog.rules.boat.log_words import FATES
from geneticlog.rules.gear import MEDIA, TISSUES

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from geneticlog.rules.boat.logline import LogLine
    from geneticlog.store.tables import Survey
    from geneticlog.work.boat.fish_doubts import FishDoubted

HELD_FROM = timedelta(
    minutes=1
)  # a card that comes later than this was held on its device: both times are kept
REASONS = ("misread", "typed wrong", "wrong vial", "other fish")


def boat(visit: Visit) -> Response:
    """Show the boat's page of a survey; its script does the rest."""
    from geneticlog.rules.boat.plausible import greatest_length
    from geneticlog.work.events import find_survey

    code = visit.request.path_params["survey"]

    def look(session: Session) -> dict[str, Any]:
        survey = find_survey(session, code)
        return {
            "survey": survey.code, "unit": survey.length_unit, "weight_unit": survey.weight_unit,
            "lake": survey.lake.name, "day": survey.surveyed_on,
            "longest": greatest_length(survey.species, survey.length_unit),
        }  # fmt: skip

    style, policy = _style()
    answer = visit.page(
        "boat.html",
        style=style,
        title=f"Boat · {code}",
        **visit.house.look(look),
        reasons=REASONS,
        tissues=TISSUES,
        media=MEDIA,
    )
    answer.headers["content-security-policy"] = policy
    return answer


@cache
def _style() -> tuple[Markup, str]:
    """Return the style of the boat's page, and the policy that names it by its digest.

    It is inside the page: a file of its own would be asked for before anything is painted, on a slow phone for long.
    """
    style = (
        resources.files("geneticlog.faces.pages")
        .joinpath("templates", "boat.css")
        .read_text(encoding="utf-8")
    )
    digest = b64encode(hashlib.sha256(style.encode()).digest()).decode()
    return Markup(style), POLICY.replace("style-src 'self'", f"style-src 'self' 'sha256-{digest}'")


def state(visit: Visit) -> Response:
    """Return what the page shows: classes against targets, the last ten fish, the well, free labels, open cards."""
    from geneticlog.work.boat.log_card import card_rules
    from geneticlog.work.boat.shown_card import shown_cards
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
            "classes": classes_of(session, survey),
            "last": last_fish(session, survey),
            "well": in_the_well(session, survey, now=visit.house.now()),
            "free": free_labels(session, survey),
            "others": [
                vars(one)
                for one in shown_cards(session, survey, device=visit.who.device, now=visit.house.now())
            ],
        }

    shown = visit.house.look(look)
    shown["person"], shown["device"], shown["writes"] = visit.who.person, visit.who.device, visit.who.writes
    return JSONResponse(shown)


def log(visit: Visit) -> Response:
    """Store one card. Answers: done, or what to ask, or why it is refused; nothing is stored of the last two."""
    from geneticlog.rules.boat.sitting import Card
    from geneticlog.work.boat.fish_doubts import FishDoubted
    from geneticlog.work.boat.log_card import log_card
    from geneticlog.work.boat.log_fish import Given, Usual
    from geneticlog.work.boat.shown_card import show_card
    from geneticlog.work.events import find_survey

    code, sent = visit.request.path_params["survey"], visit.form
    uid = _id(sent)
    sure = frozenset(str(kind) for kind in _list(sent, "sure"))

    def deed(session: Session) -> dict[str, Any]:
        survey = find_survey(session, code)
        line = _line(survey, sent)
        stored = log_card(
            session, survey, Card(uid, (line,)), stamp=visit.stamp, sure=sure,
            again=bool(sent.get("again")),
            given=Given(
                size_class=_text(sent, "size_class") or None, entered_at=_entered_at(sent, visit.house.now()),
                usual=Usual(line.tissue, _one_of(sent, "medium", MEDIA), _text(sent, "site") or None),
            ),
        )  # fmt: skip
        fish = stored.logged
        show_card(
            session, survey, "", device=visit.who.device, person=visit.who.person, now=visit.house.now()
        )
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
        return _asked(doubt)
    return JSONResponse(done)


def _asked(doubt: FishDoubted) -> Response:
    """Return what only a person can say; the page asks it, and sends the same again with the answer."""
    return JSONResponse({"ask": list(doubt.questions), "kinds": sorted(doubt.kinds)}, 409)


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
    """Change a stored fish, with a reason: its length, its weight, or its vial."""
    from geneticlog.rules.lengths import parse_length, parse_weight
    from geneticlog.work.boat.correct import FishChange, VialChange, correct_fish
    from geneticlog.work.boat.fish_doubts import FishDoubted
    from geneticlog.work.events import find_survey

    code, sent = visit.request.path_params["survey"], visit.form
    number = sent.get("fish")
    if not isinstance(number, int):
        raise Refused("say which fish to change")
    sure = frozenset(str(kind) for kind in _list(sent, "sure"))

    def deed(session: Session) -> dict[str, Any]:
        survey = find_survey(session, code)
        changes: dict[str, Any] = {}
        if "length" in sent:
            changes["length"] = (
                parse_length(text, survey.length_unit) if (text := _text(sent, "length")) else None
            )
        if "weight" in sent:
            changes["weight"] = (
                parse_weight(text, survey.weight_unit) if (text := _text(sent, "weight")) else None
            )
        corrected = correct_fish(
            session, survey, number,
            FishChange(changes, VialChange(add=_text(sent, "vial") or None, take=_text(sent, "take") or None)),
            stamp=visit.stamp, why=_text(sent, "why"), sure=sure,
        )  # fmt: skip
        return {
            "fish": number,
            "words": f"Corrected. {corrected.words}",
            "changed": sorted(corrected.changes),
        }

    try:
        return JSONResponse(visit.house.write(deed))
    except FishDoubted as doubt:
        return _asked(doubt)


def show_open(visit: Visit) -> Response:
    """Let the other devices see what is on this one's open card; nothing of it is stored as a fish."""
    from geneticlog.work.boat.shown_card import show_card
    from geneticlog.work.events import find_survey

    words = _text(visit.form, "words")[:80]
    visit.house.write(
        lambda session: show_card(
            session, find_survey(session, visit.request.path_params["survey"]), words,
            device=visit.who.device, person=visit.who.person, now=visit.house.now(),
        )
    )  # fmt: skip
    return JSONResponse({})


def photo(visit: Visit) -> Response:
    """Read the vial code in a photo, or in a picture of the camera. ``seen``: whether there was a symbol at all."""
    from geneticlog.faces.pages.symbols_in_photos import NoSymbol, vial_in_photo
    from geneticlog.rules.vialcode import printed

    sent = visit.form.get("photo")
    if sent is None or isinstance(sent, str):
        raise Refused("no photo came with this")
    try:
        code = vial_in_photo(sent.file.read())
    except Refused as fault:
        return JSONResponse({"fault": str(fault), "seen": not isinstance(fault, NoSymbol)}, 409)
    return JSONResponse({"vial": code, "printed": printed(code)})


def _entered_at(sent: Mapping[str, Any], now: datetime) -> datetime | None:
    """Return when a card was entered by the device's clock, where it was held for a while before it came."""
    try:
        at = datetime.fromisoformat(_text(sent, "at"))
    except ValueError:
        return None
    return at if at.tzinfo is not None and abs(now - at) >= HELD_FROM else None


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
        fate=_one_of(sent, "fate", set(FATES.values())),
        tissue=_one_of(sent, "tissue", TISSUES),
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


def _one_of(sent: Mapping[str, Any], name: str, known: Collection[str]) -> str | None:
    value = _text(sent, name)
    if value and value not in known:
        raise Refused(f"{value!r} is no {name}; use one of {', '.join(sorted(known))}")
    return value or None


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
