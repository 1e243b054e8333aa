"""At the prompt: the last fish of the log, and changing one of them without leaving."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from geneticlog.errors import Refused
from geneticlog.rules.boat.sitting import same_code
from geneticlog.rules.lengths import parse_length
from geneticlog.rules.vialcode import printed

if TYPE_CHECKING:
    from geneticlog.faces.boat.logbook import Logbook

WHY = "corrected at the prompt"


def last_fish(book: Logbook, most: int) -> list[str]:
    """Return the last fish of the survey in words, oldest first."""
    from sqlalchemy import select

    from geneticlog.store.tables import Fish
    from geneticlog.work.boat.logged import as_logged
    from geneticlog.work.events import find_survey

    with book.desk.reading() as session:
        survey = find_survey(session, book.survey)
        last = session.scalars(
            select(Fish).where(Fish.survey_id == survey.id).order_by(Fish.number.desc()).limit(most)
        ).all()
        lines = []
        for fish in reversed(last):
            more = [f"# {fish.remarks}"] if fish.remarks else []
            lines.append(", ".join([as_logged(survey, fish).words, *more]))
    return lines or ["no fish yet"]


def mend_fish(book: Logbook, number: int, text: str, *, sure: bool) -> str:
    """Change an earlier fish by what was typed of it, and return it in words. Raises Refused and FishDoubted.

    A vial goes on a fish that has none ("second" beside it: on one that has one); "off CODE" takes it off.
    """
    from geneticlog.work.boat.complete_fish import complete_fish
    from geneticlog.work.boat.correct import FishChange, VialChange, correct_fish
    from geneticlog.work.boat.tally import survey_tally
    from geneticlog.work.events import find_fish, find_survey

    changes: dict[str, Any] = {}
    take_vial = None
    off = re.fullmatch(r"off\s+(.+)", text.strip(), re.IGNORECASE)
    line = book.read(off[1] if off else text)
    if line.verb != "fish":
        raise Refused(f"{text!r} changes nothing; type what the fish has, or off and a vial code")
    with book.desk.writing() as session:
        survey = find_survey(session, book.survey)
        stamp = book.desk.stamp()
        fish = find_fish(session, survey, number)
        codes = [vial.code for vial in fish.vials]
        if off:
            if line.vial is None:
                raise Refused(
                    f"{off[1]!r} is not a vial code; a vial comes off by its code: change {number} off CODE"
                )
            take_vial = line.vial
        elif line.vial is not None and not any(same_code(line.vial, code) for code in codes):
            if codes:
                raise Refused(
                    f"fish {number} has vial {printed(codes[0])} already; take it off first (change {number} off "
                    f"{codes[0]}), or write second before its other vial"
                )
            complete_fish(session, survey, number, line_of_vial(line.vial), stamp=stamp, sure=sure)
        if line.second is not None:
            complete_fish(session, survey, number, line_of_vial(None, line.second), stamp=stamp, sure=sure)
        if line.bare:
            changes["length"] = line.length or parse_length(line.bare[0], book.rules.length_unit)
        for name in ("length", "weight", "species", "fate", "remarks"):
            if getattr(line, name) is not None:
                changes[name] = getattr(line, name)
        if line.n_fish > 1:
            changes["n_fish"] = line.n_fish
        did = correct_fish(
            session,
            survey,
            number,
            FishChange(changes, VialChange(take=take_vial)),
            stamp=stamp,
            why=WHY,
            sure=sure,
        )
        words, tally = did.words, survey_tally(session, survey)
    book.tally = tally
    return f"Changed: {words}."


def line_of_vial(vial: str | None, second: str | None = None) -> Any:
    """Return a line that says nothing but a vial."""
    from geneticlog.rules.boat.logline import LogLine

    return LogLine(vial=vial, second=second)
