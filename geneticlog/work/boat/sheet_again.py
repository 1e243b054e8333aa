"""A sheet read again: which fish its rows made before, and what to change in them; nothing is added twice.

What a row said and where it stood is kept in its fish's ``source``, so that an edited sheet changes the fish it
made: a field is changed only where the sheet says something else than before, and never over a later correction.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections import Counter
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, field
from pathlib import PurePath
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session, selectinload

from geneticlog.rules.boat.same_rows import SameRows, same_rows
from geneticlog.rules.boat.sitting import same_code
from geneticlog.rules.stamp import Stamp
from geneticlog.rules.vialcode import printed
from geneticlog.store.tables import Fish, Survey
from geneticlog.work.boat.batch import Batch
from geneticlog.work.boat.complete_fish import complete_fish
from geneticlog.work.boat.correct import FishChange, VialChange, correct_fish
from geneticlog.work.boat.fish_doubts import FishRefused
from geneticlog.work.boat.log_fish import Given, Usual
from geneticlog.work.boat.logged import Logged, as_logged
from geneticlog.work.boat.sheet_rows import SAID, FishRow
from geneticlog.work.boat.undo import undone_sources
from geneticlog.work.events import fish_name, record

_SOURCE = re.compile(r"sheet:([0-9a-f]{16}):([0-9]+):(\[.*\])", re.DOTALL)
REMARKS = SAID.index("remarks")


@dataclass
class Earlier:
    """A row of the earlier reading: where it stood, what it said, and its fish (None: taken out of the log since)."""

    row: int
    said: tuple[str, ...]
    fish: Fish | None


@dataclass
class Again:
    """How the rows of a sheet belong to the fish it made before; places are those in the list of rows."""

    key: str
    earlier: list[Earlier] = field(default_factory=list)
    same: SameRows = field(default_factory=SameRows)

    def source_of(self, row: FishRow) -> str:
        return f"sheet:{self.key}:{row.row}:{json.dumps(row.said, ensure_ascii=False)}"


def read_before(session: Session, survey: Survey, rows: Sequence[FishRow], *, file: str, tab: str) -> Again:
    """Return how the rows of one tab belong to the fish that an earlier reading of it made.

    The earlier reading is the one of the same file name and tab, or else one with half its rows in common.
    """
    key = hashlib.sha256(f"{PurePath(file).stem.lower()}\x1f{tab}".encode()).hexdigest()[:16]
    groups = _groups(session, survey)
    if key not in groups:
        says = Counter(row.said[:REMARKS] for row in rows)
        for other, earlier in groups.items():
            in_common = (Counter(one.said[:REMARKS] for one in earlier) & says).total()
            if 2 * in_common >= len(earlier) > 1:
                key = other
                break
    again = Again(key, sorted(groups.get(key, []), key=lambda one: one.row))
    marks = [_mark(one) for one in again.earlier]
    known = _known(session, survey, again.earlier, rows)
    again.same = same_rows(
        marks, [(row.line.vial and _plain(row.line.vial), *row.said[:REMARKS]) for row in rows], known
    )
    for at, row in enumerate(rows):  # a fish that is said to be new is no old one
        if row.is_new:
            again.same.same.pop(at, None)
            again.same.doubtful.pop(at, None)
    return again


def _groups(session: Session, survey: Survey) -> dict[str, list[Earlier]]:
    groups: dict[str, list[Earlier]] = {}
    sources: dict[str, Fish | None] = dict.fromkeys(undone_sources(session, survey))
    for fish in _from_sheets(session, survey):
        sources[fish.source or ""] = fish
    for source, of_source in sources.items():
        if parts := _SOURCE.match(source):
            said = tuple(json.loads(parts[3]))
            groups.setdefault(parts[1], []).append(Earlier(int(parts[2]), said, of_source))
    return groups


def _from_sheets(session: Session, survey: Survey) -> Iterable[Fish]:
    """Return the fish of a survey that came from sheets, with their vials."""
    question = select(Fish).where(
        Fish.survey_id == survey.id, Fish.source.startswith("sheet:", autoescape=True)
    )
    return session.scalars(question.options(selectinload(Fish.vials)))


def _known(
    session: Session, survey: Survey, earlier: Sequence[Earlier], rows: Sequence[FishRow]
) -> dict[int, int]:
    """Return the rows known by a vial or a number, or (from an older program) by all their text: new -> old."""
    by_vial = {_plain(vial.code): at for at, one in enumerate(earlier) if one.fish for vial in one.fish.vials}
    by_number = {one.fish.number: at for at, one in enumerate(earlier) if one.fish}
    known: dict[int, int] = {}
    for at, row in enumerate(rows):
        old = by_vial.get(_plain(row.line.vial)) if row.line.vial else None
        if old is None and row.number is not None:
            old = by_number.get(row.number)
        if old is not None and old not in known.values():
            known[at] = old
    return known


def by_text(session: Session, survey: Survey, rows: Sequence[FishRow]) -> tuple[dict[int, Fish], list[Fish]]:
    """Return the fish that an older program read from rows of the very same text, by the place of the row; and the
    other fish that it read from sheets, of which it kept no more than that text."""
    came: Counter[str] = Counter()
    by_row: dict[int, Fish] = {}
    others: list[Fish] = []
    sources = {}
    for at, row in enumerate(rows):
        content = "\x1f".join(
            f"{name}={row.texts[name].upper()}" for name in sorted(row.texts) if name != "date"
        )
        came[content] += 1
        sources[f"sheet:{hashlib.sha256(content.encode()).hexdigest()[:16]}:{came[content]}"] = at
    for fish in _from_sheets(session, survey):
        if fish.source in sources:
            by_row[sources[fish.source]] = fish
        elif fish.source and re.fullmatch("sheet:[0-9a-f]{16}:[0-9]+", fish.source):
            others.append(fish)
    return by_row, others


@dataclass(frozen=True)
class How:
    """How a sheet is read: what is doubtful is so (each doubt becomes a finding); what the vials hold; headings (or
    letters) of columns and names of tabs to be left aside.
    """

    sure: bool = False
    medium: str | None = None
    ignore: Collection[str] = ()


ASKING = How()


@dataclass
class Reading:
    """One reading of a field sheet: of which survey and file, who reads it, and how."""

    session: Session
    survey: Survey
    file: str
    stamp: Stamp
    how: How
    batch: Batch


def change_fish(reading: Reading, earlier: Earlier, row: FishRow) -> tuple[Logged, bool]:
    """Change the fish of an earlier row to what the row says now; return it, and whether anything changed.

    Raises FishRefused where the fish was corrected since in a field that the sheet changes too, or has another
    vial; FishDoubted for what has to be asked.
    """
    fish = earlier.fish
    assert fish is not None
    changed = _correct(reading, fish, row, _what_changed(reading.survey, earlier, fish, row))
    changed |= _complete(reading, fish, row)
    return as_logged(reading.survey, fish), changed


def _what_changed(survey: Survey, earlier: Earlier, fish: Fish, row: FishRow) -> set[str]:
    """Return the fields in which the row says another thing than before, and the fish is not so yet."""
    now_is = _stored(survey, fish)
    changed = set()
    for name, was, new in zip(SAID, earlier.said, row.said, strict=True):
        stored = now_is[name]
        default = survey.species if name == "species" else "mouth_swab" if name == "tissue" else ""
        if was == new or stored in (new, new or default):
            continue
        if stored not in (was, was or default):
            raise FishRefused(
                f"fish {fish.number} was corrected since ({name.replace('_', ' ')} {stored or 'emptied'}, the sheet "
                f"now says {new or 'nothing'}); correct it with: geneticlog correct fish {survey.code} {fish.number}",
                name,
            )
        changed.add(name)
    return changed


def _correct(reading: Reading, fish: Fish, row: FishRow, names: set[str]) -> bool:
    """Correct these fields of a fish to what the row says; return whether anything changed."""
    session, survey = reading.session, reading.survey
    why = f"read again from {PurePath(reading.file).name}, row {row.row}"
    of_row = dict(zip(SAID, row.said, strict=True))
    values = {name: _value(name, row, survey) for name in of_row if name in names - {"tissue", "size_class"}}
    tissue = of_row["tissue"] if "tissue" in names else None
    changed = False
    if values or tissue:
        change = FishChange(values, VialChange(tissue=tissue))
        did = correct_fish(
            session, survey, fish.number, change, stamp=reading.stamp, why=why, sure=reading.how.sure
        )
        changed = bool(did.changes)
    if "size_class" in names and of_row["size_class"] and fish.length is None:
        changed |= _change_class(session, survey, fish, of_row["size_class"], stamp=reading.stamp, why=why)
    return changed


def _complete(reading: Reading, fish: Fish, row: FishRow) -> bool:
    """Give a fish the vials that the row names and that it has not; return whether it got one."""
    survey, line = reading.survey, row.line
    vials_now = [vial.code for vial in fish.vials]
    named = [code for code in (line.vial, line.second) if code is not None]
    if all(any(same_code(code, one) for one in vials_now) for code in named):
        return False
    if line.vial is not None and vials_now and not any(same_code(line.vial, code) for code in vials_now):
        raise FishRefused(
            f"fish {fish.number} has vial {printed(vials_now[0])}, and the sheet now says {line.vial}; if the vial "
            f"was mistaken, correct it with: geneticlog correct fish {survey.code} {fish.number} --add-vial; if it"
            " is another fish, write new in the column of fish numbers",
            "vial",
        )
    extra = complete_fish(
        reading.session,
        survey,
        fish.number,
        type(line)(vial=line.vial, second=line.second, tissue=line.tissue),
        stamp=reading.stamp,
        sure=reading.how.sure,
        given=Given(usual=Usual(medium=reading.how.medium), batch=reading.batch),
    )
    return not extra.already


def _change_class(
    session: Session, survey: Survey, fish: Fish, size_class: str, *, stamp: Stamp, why: str
) -> bool:
    if size_class not in (known := survey.scheme.classes):
        raise FishRefused(f"{size_class!r} is not a size class of this survey; use one of {', '.join(known)}")
    old, fish.size_class = fish.size_class, size_class
    session.flush()
    record(
        session, "corrected", "fish", fish_name(survey.code, fish.number), stamp=stamp, why=why,
        old={"size_class": old}, new={"uid": fish.uid, "size_class": size_class},
    )  # fmt: skip
    return True


def _stored(survey: Survey, fish: Fish) -> dict[str, str]:
    """Return a stored fish as a row would say it."""
    return {
        "length": f"{fish.length!r} {fish.length_unit}" if fish.length is not None else "",
        "weight": f"{fish.weight!r} {fish.weight_unit}" if fish.weight is not None else "",
        "n_fish": str(fish.n_fish),
        "species": fish.species,
        "tissue": (fish.vials[0].tissue or "") if fish.vials else "",
        "fate": fish.fate or "",
        "size_class": (fish.size_class or "") if fish.length is None else "",
        "site": fish.site or "",
        "remarks": fish.remarks or "",
    }


def _value(name: str, row: FishRow, survey: Survey) -> Any:
    if name == "species":
        return row.line.species or survey.species
    return row.site if name == "site" else getattr(row.line, name)


def _mark(one: Earlier) -> tuple[str | None, ...]:
    vial = _plain(one.fish.vials[0].code) if one.fish and one.fish.vials else None
    return (vial, *one.said[:REMARKS])


def _plain(code: str) -> str:
    return "".join(code.replace("-", "").split()).upper()
