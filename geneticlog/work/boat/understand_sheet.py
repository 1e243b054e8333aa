"""What the rows of a filled field sheet say, before anything is stored: no transaction waits while it is worked out."""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import dataclass, field
from datetime import date

from geneticlog.rules.boat.doing import Doing
from geneticlog.store.sheets import Sheet
from geneticlog.store.tables import Survey
from geneticlog.work.boat.logged import Logged
from geneticlog.work.boat.sheet_layout import Faults, Tab, lay_out
from geneticlog.work.boat.sheet_rows import FishRow, fish_row

_STRUCK_ROW = re.compile(r"(struck|crossed out|row void|void row)\b", re.IGNORECASE)


@dataclass(frozen=True)
class SheetRow:
    """What became of one row: its number in the sheet, and the fish it is; or why it was left out."""

    row: int
    doing: Doing
    logged: Logged | None
    note: str = ""


@dataclass(frozen=True)
class TabRows:
    """One table of fish: its filled rows, and what is at fault in them."""

    tab: Tab
    rows: list[FishRow]
    faults: Faults


@dataclass(frozen=True)
class Understood:
    """What a field sheet says of the fish of a survey.

    of: what of the survey it was read by; where that has changed, the sheet is read again
    """

    of: tuple[date, str, str]
    tabs: list[TabRows]
    left_out: list[SheetRow]
    n_unused: int  # rows with a printed vial and nothing beside it


@dataclass
class _Understanding:
    survey: Survey
    faults: Faults = field(default_factory=Faults)
    done: list[SheetRow] = field(default_factory=list)
    n_unused: int = 0


def read_by(survey: Survey) -> tuple[date, str, str]:
    """Return what of a survey a field sheet is read by: its day, and the units of numbers without one."""
    return survey.surveyed_on, survey.length_unit, survey.weight_unit


def understand_sheet(
    survey: Survey, sheets: list[Sheet], *, file: str, ignore: Collection[str] = ()
) -> Understood:
    """Return what a field sheet says. Raises SheetFault where its tabs or columns are at fault.

    sheets: as store/sheets.py reads them; every tab with a heading is read
    ignore: headings (or letters) of columns and names of tabs to be left aside
    """
    reading = _Understanding(survey)
    vials_seen: dict[str, str] = {}
    tabs = []
    for tab in lay_out(sheets, survey.surveyed_on, file=file, ignore=ignore):
        reading.faults = Faults()
        tabs.append(TabRows(tab, _rows(reading, tab, vials_seen), reading.faults))
    return Understood(read_by(survey), tabs, reading.done, reading.n_unused)


def _rows(reading: _Understanding, tab: Tab, vials_seen: dict[str, str]) -> list[FishRow]:
    """Return the filled rows of a tab; those that are left out are named, unused labels counted."""
    rows = []
    for at, cells in enumerate(tab.sheet.rows[tab.heading_row :], start=tab.heading_row + 1):
        texts = tab.texts(cells)
        if not texts:
            continue
        filled = set(texts) - {"vial", "fish", "species", "size_class", "date", "site"}
        asked = "vial" in texts and bool({"fish", "size_class"} & set(texts))
        if not filled and not asked:
            reading.n_unused += 1
            continue
        if _left_out(reading, tab, at, texts, filled, asked=asked):
            continue
        row = fish_row(tab, at, texts, reading.survey, reading.faults)
        if row is None:
            continue
        if row.line.vial is not None:
            plain = "".join(row.line.vial.split()).upper()
            if plain in vials_seen:
                reading.faults.add(
                    at, row.heading["vial"], f"vial {row.line.vial} is in {vials_seen[plain]} too"
                )
                continue
            vials_seen[plain] = f"row {at}"
        rows.append(row)
    return rows


def _left_out(
    reading: _Understanding, tab: Tab, at: int, texts: dict[str, str], filled: set[str], *, asked: bool
) -> bool:
    """Name a row that is struck or only a remark; a single cell struck through is a fault."""
    struck = [name for name in texts if (at, tab.columns[name][0] + 1) in tab.sheet.struck]
    if struck and set(struck) >= filled:
        reading.done.append(SheetRow(at, Doing.LEFT_OUT, None, "struck through"))
        return True
    for name in struck:
        way_out = "write the old and the new value as 16.5 -> 15.6, or clear the cell"
        reading.faults.add(at, tab.columns[name][1], f"{texts[name]} is struck through; {way_out}")
    if struck:
        return True
    if _STRUCK_ROW.match(texts.get("remarks", "")):
        reading.done.append(SheetRow(at, Doing.LEFT_OUT, None, f"struck: {texts['remarks']}"))
        return True
    if filled == {"remarks"} and not asked:
        reading.done.append(SheetRow(at, Doing.LEFT_OUT, None, f"only a remark: {texts['remarks']}"))
        return True
    return False
