"""Read a filled field sheet: every row judged, then all of it stored or nothing."""

from __future__ import annotations

import hashlib
import re
from collections import Counter
from dataclasses import dataclass, field, replace
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.errors import Refused, SheetFault
from geneticlog.rules.boat.log_words import FATES, TISSUES
from geneticlog.rules.boat.logline import LogLine
from geneticlog.rules.lengths import LENGTH_UNITS, WEIGHT_UNITS, Measured, parse_length, parse_weight
from geneticlog.rules.species import species_key
from geneticlog.store.sheets import Sheet
from geneticlog.store.tables import Fish, Survey
from geneticlog.store.writing import unguarded
from geneticlog.work.boat.log_fish import (
    FishDoubted,
    FishRefused,
    Logged,
    as_logged,
    complete_fish,
    log_fish,
    stored_from,
)

MOST_HEADING_ROW = 40

# What a column means, by the words that crews put over it; the unit may stand in the heading too.
HEADINGS = {
    "fish": {"fish", "fish no", "fish number", "no", "number", "nr"},
    "vial": {"vial", "vial code", "code", "label", "sample", "sample id"},
    "second": {"second vial", "duplicate", "blind duplicate", "second swab"},
    "species": {"species"},
    "length": {"length", "total length", "tl"},
    "weight": {"weight", "wt", "mass"},
    "tissue": {"tissue", "swab or clip", "sample type"},
    "fate": {"fate", "kept or released", "kept released", "released or kept"},
    "n_fish": {"n fish", "tally", "count", "how many", "n"},
    "size_class": {"size class", "class"},
    "site": {"site", "transect", "station"},
    "remarks": {"remarks", "remark", "notes", "note", "comments", "comment"},
}
_TISSUES = {
    **TISSUES,
    "mouth swab": "mouth_swab",
    "mouth_swab": "mouth_swab",
    "fin clip": "fin_clip",
    "fin_clip": "fin_clip",
}
_FATES = {**FATES, "k": "kept", "r": "released", "d": "died"}
_STRUCK_ROW = re.compile(r"(struck|crossed out|row void|void row)\b", re.IGNORECASE)


@dataclass(frozen=True)
class SheetRow:
    """What became of one row: its number in the sheet, and the fish it is; or why it was left out."""

    row: int
    doing: str  # stored, completed, already, left out
    logged: Logged | None
    note: str = ""


@dataclass(frozen=True)
class SheetRead:
    """What a field sheet said. Nothing was stored where any row was at fault: SheetFault was raised."""

    survey: str
    rows: tuple[SheetRow, ...]
    columns: dict[str, str]  # our word -> the heading in the sheet
    n_unused: int  # rows with a printed vial and nothing beside it

    @property
    def n_stored(self) -> int:
        return sum(row.doing in ("stored", "completed") for row in self.rows)

    @property
    def n_already(self) -> int:
        return sum(row.doing == "already" for row in self.rows)


@dataclass
class _Faults:
    texts: list[str] = field(default_factory=list)

    def add(self, row: int, heading: str | None, text: str) -> None:
        where = f"row {row}" + (f", column {heading}" if heading else "")
        self.texts.append(f"{where}: {text}")


def read_field_sheet(
    session: Session,
    survey: Survey,
    sheets: list[Sheet],
    *,
    file: str,
    now: datetime,
    by: str,
    sure: bool = False,
    medium: str | None = None,
) -> SheetRead:
    """Store every filled row of a field sheet as a fish of this survey.

    sheets: as store/sheets.py reads them; the first that has lengths, or size classes with numbers of fish, is taken
    sure: what is doubtful is so; each doubt becomes a finding

    A row with a vial and nothing beside it is an unused label. "16.5 -> 15.6" and "~~16.5~~ 15.6" are a value
    that was struck and rewritten: the last counts, the first is kept in the remarks. A row whose remark begins
    with "struck", or whose cells are all struck through in a workbook, is left out and said to be; a single cell
    struck through is a fault. A row without a length but with a size class and a number of fish is a tally box.

    Raises SheetFault with every fault, one a line with its row and column; the caller then rolls back.
    """
    sheet, heading_row, columns, units = _find_heading(sheets, file)
    faults = _Faults()
    done: list[SheetRow] = []
    n_unused = 0
    came: Counter[str] = Counter()
    vials_seen: dict[str, int] = {}
    for at, cells in enumerate(sheet.rows[heading_row:], start=heading_row + 1):
        texts = {
            name: " ".join(unguarded(cells[column].text).split())
            for name, (column, _) in columns.items()
            if column < len(cells) and cells[column].kind != "empty"
        }
        texts = {name: text for name, text in texts.items() if text}
        if not texts:
            continue
        told = set(texts) - {"vial", "fish", "species", "size_class"}
        if not told:
            n_unused += 1
            continue
        struck = [name for name in texts if (at, columns[name][0] + 1) in sheet.struck]
        if struck and set(struck) >= told:
            done.append(SheetRow(at, "left out", None, "struck through"))
            continue
        for name in struck:
            way_out = "write the old and the new value as 16.5 -> 15.6, or clear the cell"
            faults.add(at, columns[name][1], f"{texts[name]} is struck through; {way_out}")
        if struck:
            continue
        if _STRUCK_ROW.match(texts.get("remarks", "")):
            done.append(SheetRow(at, "left out", None, f"struck: {texts['remarks']}"))
            continue
        if told == {"remarks"}:
            done.append(SheetRow(at, "left out", None, f"only a remark: {texts['remarks']}"))
            continue
        heading = {name: title for name, (_, title) in columns.items()}
        before = len(faults.texts)
        line, number, second, size_class = _line_of(texts, units, survey, at, heading, faults)
        if len(faults.texts) > before:
            continue
        if line.vial is not None:
            plain = "".join(line.vial.split()).upper()
            if plain in vials_seen:
                faults.add(at, heading["vial"], f"vial {line.vial} is in row {vials_seen[plain]} too")
                continue
            vials_seen[plain] = at
        content = "\x1f".join(f"{name}={texts[name].upper()}" for name in sorted(texts))
        came[content] += 1
        digest = hashlib.sha256(content.encode()).hexdigest()[:16]
        source = f"sheet:{digest}:{came[content]}"
        try:
            with session.begin_nested():
                done.append(
                    _store(
                        session,
                        survey,
                        line,
                        at,
                        number=number,
                        second=second,
                        source=source,
                        sure=sure,
                        size_class=size_class,
                        site=texts.get("site"),
                        medium=medium,
                        now=now,
                        by=by,
                    )
                )
        except FishDoubted as doubt:
            for question in doubt.questions:
                faults.add(at, None, f"{question}; if it is so, read the sheet again with --yes")
        except FishRefused as fault:
            faults.add(at, heading.get(fault.about or ""), str(fault))
        except Refused as fault:
            faults.add(at, None, str(fault))
    if faults.texts:
        n = len(faults.texts)
        listed = "\n".join(f"  {text}" for text in faults.texts)
        raise SheetFault(
            f"{n} thing{'s' if n != 1 else ''} to mend in it, so nothing of it was stored:\n{listed}",
            file=file, sheet=sheet.name or None,
        )  # fmt: skip
    return SheetRead(
        survey.code, tuple(done), {name: title for name, (_, title) in columns.items()}, n_unused
    )


def _find_heading(
    sheets: list[Sheet], file: str
) -> tuple[Sheet, int, dict[str, tuple[int, str]], dict[str, str]]:
    """Return the sheet, the rows down to and with its heading, its columns, and the units in the heading."""
    without_length: tuple[Sheet, int] | None = None
    for sheet in sheets:
        for at, cells in enumerate(sheet.rows[:MOST_HEADING_ROW], start=1):
            columns: dict[str, tuple[int, str]] = {}
            units: dict[str, str] = {}
            for column, cell in enumerate(cells):
                meaning = _meaning(unguarded(cell.text))
                if meaning is None:
                    continue
                name, unit = meaning
                if name in columns:
                    other, meant = columns[name][1], name.replace("_", " ")
                    raise SheetFault(
                        f"the columns {other!r} and {cell.text.strip()!r} both mean {meant}",
                        file=file, sheet=sheet.name or None, row=at, way_out="rename one of them",
                    )  # fmt: skip
                columns[name] = (column, " ".join(cell.text.split()))
                if unit is not None:
                    units[name] = unit
            if len(columns) >= 2 and ("length" in columns or "vial" in columns):
                if "length" in columns or {"size_class", "n_fish"} <= set(columns):
                    return sheet, at, columns, units
                without_length = without_length or (sheet, at)
    if without_length is not None:
        raise SheetFault(
            "there is no column of lengths in this file, so it is no field sheet",
            file=file, sheet=without_length[0].name or None, row=without_length[1],
            way_out="put length over the column that holds them; what a lab sent back is read with: "
            "geneticlog return read",
        )  # fmt: skip
    raise SheetFault(
        "no heading with a length or a vial column was found",
        file=file,
        way_out="use the sheet that geneticlog fieldsheet writes, or name columns as it does",
    )


def _meaning(heading: str) -> tuple[str, str | None] | None:
    plain = re.sub(r"[_/.,:;#()\[\]-]+", " ", heading.lower()).split()
    unit = None
    if len(plain) > 1 and (plain[-1] in LENGTH_UNITS or plain[-1] in WEIGHT_UNITS):
        unit = plain.pop()
    words = " ".join(plain)
    for name, known in HEADINGS.items():
        if words in known:
            if unit is None:
                return name, None
            allowed = {"length": LENGTH_UNITS, "weight": WEIGHT_UNITS}.get(name)
            return (name, allowed[unit]) if allowed and unit in allowed else None
    return None


def _line_of(
    texts: dict[str, str],
    units: dict[str, str],
    survey: Survey,
    row: int,
    heading: dict[str, str],
    faults: _Faults,
) -> tuple[LogLine, int | None, str | None, str | None]:
    """Return what a row says, its fish number, its second vial and its size class; faults are collected."""
    struck: list[str] = []

    def value(name: str) -> str | None:
        text = texts.get(name)
        if text is None:
            return None
        last, first = _rewritten(text)
        if first:
            struck.append(f"{name.replace('_', ' ')} {first} struck")
        return last

    length: Measured | None = None
    weight: Measured | None = None
    try:
        if text := value("length"):
            length = parse_length(text, units.get("length", survey.length_unit))
    except Refused as fault:
        faults.add(row, heading["length"], str(fault))
    try:
        if text := value("weight"):
            weight = parse_weight(text, units.get("weight", survey.weight_unit))
    except Refused as fault:
        faults.add(row, heading["weight"], str(fault))
    n_fish = _whole(value("n_fish"), "n_fish", row, heading, faults)
    number = _whole(value("fish"), "fish", row, heading, faults)
    species = None
    try:
        species = species_key(texts["species"]) if "species" in texts else None
    except Refused as fault:
        faults.add(row, heading["species"], str(fault))
    tissue = _word(value("tissue"), _TISSUES, "tissue", row, heading, faults)
    fate = _word(value("fate"), _FATES, "fate", row, heading, faults)
    remarks = "; ".join([*([texts["remarks"]] if "remarks" in texts else []), *struck]) or None
    vial, second = value("vial"), value("second")
    size_class = texts.get("size_class")
    if n_fish is not None and n_fish > 1 and (vial or second or weight):
        faults.add(row, heading["n_fish"], f"a tally of {n_fish} fish cannot have a vial or a weight")
    if length is not None and size_class is not None:
        size_class = None  # judged from the length, never taken from the sheet beside it
    line = LogLine(
        vial=vial, length=length, weight=weight, n_fish=n_fish or 1, tissue=tissue, fate=fate,
        species=species, remarks=remarks,
    )  # fmt: skip
    return line, number, second, size_class


def _rewritten(text: str) -> tuple[str, str | None]:
    """Return a value, and the one before it that was struck: "16.5 -> 15.6", "~~16.5~~ 15.6"."""
    found = re.fullmatch(r"(.+?)\s*(?:->|→|=>)\s*(.+)", text) or re.fullmatch(r"~+\s*(.+?)\s*~+\s*(.+)", text)
    return (found[2], found[1]) if found else (text, None)


def _whole(text: str | None, name: str, row: int, heading: dict[str, str], faults: _Faults) -> int | None:
    if text is None:
        return None
    found = re.fullmatch(r"[xX×]?\s*([0-9]{1,4})(?:\.0+)?", text)
    if not found or int(found[1]) == 0:
        faults.add(row, heading[name], f"{text!r} is not a whole number from 1 on")
        return None
    return int(found[1])


def _word(
    text: str | None, words: dict[str, str], name: str, row: int, heading: dict[str, str], faults: _Faults
) -> str | None:
    if text is None:
        return None
    found = words.get(text.lower())
    if found is None:
        faults.add(
            row,
            heading[name],
            f"{text!r} is not understood; use one of {', '.join(sorted(set(words.values())))}",
        )
    return found


def _store(
    session: Session,
    survey: Survey,
    line: LogLine,
    row: int,
    *,
    number: int | None,
    second: str | None,
    source: str,
    sure: bool,
    size_class: str | None,
    site: str | None,
    medium: str | None,
    now: datetime,
    by: str,
) -> SheetRow:
    there = stored_from(session, survey, source)
    if there is None and number is not None:
        held = session.scalar(select(Fish).where(Fish.survey_id == survey.id, Fish.number == number))
        if held is not None and line.vial is None:
            if _same_measures(held, line, size_class):
                there = replace(as_logged(survey, held), already=True)
            else:
                raise FishRefused(
                    f"fish {number} is stored with other values ({as_logged(survey, held).words}); "
                    f"mend it with: geneticlog correct fish {survey.code} {number}"
                )
    if there is None:
        logged = log_fish(
            session, survey, line, now=now, by=by, sure=sure, number=number, source=source, site=site,
            medium=medium, size_class=size_class,
        )  # fmt: skip
    else:
        logged = there
    if second is not None:
        extra = complete_fish(
            session, survey, logged.number, LogLine(second=second), now=now, by=by, sure=sure,
            medium=medium,
        )  # fmt: skip
        logged = replace(extra, already=extra.already and logged.already)
    return SheetRow(row, "already" if logged.already else "stored", logged)


def _same_measures(fish: Fish, line: LogLine, size_class: str | None) -> bool:
    length = (line.length.value, line.length.unit) if line.length else (None, None)
    weight = (line.weight.value, line.weight.unit) if line.weight else (None, None)
    return (
        (fish.length, fish.length_unit) == length
        and (fish.weight, fish.weight_unit) == weight
        and fish.n_fish == line.n_fish
        and (size_class is None or fish.size_class == size_class)
    )
