"""Lay out a filled field sheet: every tab, column, merged range and date is used, or named, or ignored on purpose."""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import dataclass, field
from datetime import date, datetime

from geneticlog.errors import SheetFault
from geneticlog.rules.boat.sheet_columns import Meaning, meaning, nearest_headings
from geneticlog.rules.sentences import listed, n_of
from geneticlog.store.sheets import Cell, Sheet
from geneticlog.store.writing import unguarded

MOST_HEADING_ROW = 40
DAYS_APART = 7  # a survey that goes on over the weekend is one survey
FILLED_DOWN = {
    "species",
    "tissue",
    "fate",
    "site",
    "date",
}  # one merged cell may stand for several rows of these


@dataclass
class Tab:
    """One table of fish: its sheet, heading row, columns (our word -> place and heading) and units."""

    sheet: Sheet
    heading_row: int
    columns: dict[str, tuple[int, str]]
    units: dict[str, str]
    not_used: list[str] = field(default_factory=list)  # headings of columns of words that nothing takes

    def texts(self, cells: list[Cell]) -> dict[str, str]:
        """Return what the used cells of a row say, our word -> text; without those that are empty."""
        texts = {
            name: " ".join(unguarded(cells[column].text).split())
            for name, (column, _) in self.columns.items()
            if column < len(cells) and cells[column].kind != "empty"
        }
        return {name: text for name, text in texts.items() if text}


@dataclass
class Faults:
    """Faults of a sheet, each with its row and column."""

    texts: list[str] = field(default_factory=list)

    def add(self, row: int | None, heading: str | None, text: str) -> None:
        where = [f"row {row}"] if row is not None else []
        where += [f"column {heading}"] if heading else []
        self.texts.append(f"{', '.join(where)}: {text}" if where else text)

    def raise_if_any(self, file: str, sheet: str | None) -> None:
        if self.texts:
            n = len(self.texts)
            listed = "\n".join(f"  {text}" for text in self.texts)
            raise SheetFault(
                f"{n_of(n, 'thing')} to correct in it, so nothing of it was stored:\n{listed}",
                file=file, sheet=sheet,
            )  # fmt: skip


def lay_out(sheets: list[Sheet], surveyed_on: date, *, file: str, ignore: Collection[str] = ()) -> list[Tab]:
    """Return the tables of fish in a file. Tabs and columns named in ``ignore`` are left aside.

    Raises SheetFault where there is none, and with every column of numbers, tab of numbers, merged range and date
    that would be lost or taken wrongly.
    """
    ignored = {" ".join(one.lower().split()) for one in ignore}
    left = [sheet for sheet in sheets if sheet.filled and sheet.name.lower().strip() not in ignored]
    tabs = [tab for sheet in left if (tab := _tab(sheet, file, ignored)) is not None]
    if not any(_holds_fish(tab) for tab in tabs):
        _raise_no_tab(tabs, file)
    faults = Faults()
    for sheet in left:
        tab = next((one for one in tabs if one.sheet is sheet and _holds_fish(one)), None)
        many = len(left) > 1
        if tab is None:
            if any(_is_number(cell) for row in sheet.rows for cell in row):
                faults.add(
                    None, None,
                    f"tab {sheet.name}: it holds numbers but no heading with a length or a vial; correct it, or leave "
                    f'it out with --ignore "{sheet.name}"',
                )  # fmt: skip
            continue
        before = len(faults.texts)
        _check_columns(tab, faults, ignored)
        _fill_merged(tab, faults)
        _check_dates(tab, surveyed_on, faults)
        if many:
            faults.texts[before:] = [f"tab {sheet.name}, {text}" for text in faults.texts[before:]]
    faults.raise_if_any(file, left[0].name if len(left) == 1 else None)
    return [tab for tab in tabs if _holds_fish(tab)]


def _holds_fish(tab: Tab) -> bool:
    return "length" in tab.columns or {"size_class", "n_fish"} <= set(tab.columns)


def _raise_no_tab(tabs: list[Tab], file: str) -> None:
    if tabs:
        raise SheetFault(
            "there is no column of lengths in this file, so it is not a field sheet",
            file=file, sheet=tabs[0].sheet.name or None, row=tabs[0].heading_row,
            way_out="put length over the column that holds them; what a lab sent back is read with: "
            "geneticlog return read",
        )  # fmt: skip
    raise SheetFault(
        "no heading with a length or a vial column was found",
        file=file,
        way_out="use the sheet that geneticlog fieldsheet writes, or name columns as it does",
    )


def _tab(sheet: Sheet, file: str, ignored: Collection[str]) -> Tab | None:
    """Return the table under the first row that is a heading."""
    without_length: Tab | None = None
    for at, cells in enumerate(sheet.rows[:MOST_HEADING_ROW], start=1):
        tab = Tab(sheet, at, {}, {})
        for column, cell in enumerate(cells):
            title = " ".join(cell.text.split())
            found = None if title.lower() in ignored else meaning(unguarded(cell.text))
            if found is not None:
                _add_column(tab, column, title, found, file)
        if len(tab.columns) >= 2 and ("length" in tab.columns or "vial" in tab.columns):
            if _holds_fish(tab):
                return tab
            without_length = without_length or tab
    return without_length


def _add_column(tab: Tab, column: int, title: str, says: Meaning, file: str) -> None:
    name = says.name
    if name == "weight" and {tab.units.get("weight"), says.unit} == {"lb", "oz"}:
        if says.unit == "lb":  # ounces came first
            tab.columns["ounces"] = tab.columns.pop("weight")
            tab.columns["weight"], tab.units["weight"] = (column, title), "lb"
        else:
            tab.columns["ounces"] = (column, title)
        return
    if name in tab.columns:
        raise SheetFault(
            f"the columns {tab.columns[name][1]!r} and {title!r} both mean {name.replace('_', ' ')}",
            file=file, sheet=tab.sheet.name or None, row=tab.heading_row,
            way_out=f'rename one of them, or leave one out with --ignore "{title}"',
        )  # fmt: skip
    tab.columns[name] = (column, title)
    if says.unit is not None:
        tab.units[name] = says.unit


def _check_columns(tab: Tab, faults: Faults, ignored: Collection[str]) -> None:
    """Name the columns that nothing uses; one that holds numbers is a fault."""
    used = {column for column, _ in tab.columns.values()}
    heading = tab.sheet.rows[tab.heading_row - 1]
    below = tab.sheet.rows[tab.heading_row :]
    width = max((len(row) for row in below), default=0)
    for column in range(width):
        title = " ".join(heading[column].text.split()) if column < len(heading) else ""
        name = title or f"column {_letter(column)}"
        if column in used or name.lower() in ignored or _letter(column).lower() in ignored:
            continue
        cells = [row[column] for row in below if column < len(row) and row[column].kind != "empty"]
        if any(_is_number(cell) for cell in cells):
            near = f" (the nearest: {listed(found)})" if (found := nearest_headings(title)) else ""
            faults.add(
                tab.heading_row, title or _letter(column),
                f"nothing takes this column, and it holds numbers; give it a heading that is known{near}, or leave it "
                f'out with --ignore "{title or _letter(column)}"',
            )  # fmt: skip
        elif cells:
            tab.not_used.append(name)


def _is_number(cell: Cell) -> bool:
    return cell.kind == "number" or (
        cell.kind == "text" and re.fullmatch(r"\s*[0-9][0-9 .,/-]*[0-9a-z\"]*\s*", cell.text) is not None
    )


def _letter(column: int) -> str:
    letters = ""
    column += 1
    while column:
        column, rest = divmod(column - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def _fill_merged(tab: Tab, faults: Faults) -> None:
    """Let a merged cell of words stand for each of its rows; a merged vial or measure is a fault."""
    place = {column: (name, title) for name, (column, title) in tab.columns.items()}
    for top, left, bottom, right in tab.sheet.merged:
        used = [column for column in range(left - 1, right) if column in place]
        if bottom <= tab.heading_row or top == bottom or not used:
            continue
        name, title = place[used[0]]
        cell = tab.sheet.rows[top - 1][left - 1] if left <= len(tab.sheet.rows[top - 1]) else None
        if cell is None or cell.kind == "empty":
            continue
        if name not in FILLED_DOWN or len(used) > 1:
            faults.add(
                top, title,
                f"rows {top} to {bottom} are one merged cell; unmerge it and write the value in each row it is for",
            )  # fmt: skip
            continue
        for row in tab.sheet.rows[top:bottom]:
            while len(row) < left:
                row.append(Cell("", "empty"))
            row[left - 1] = cell


def _check_dates(tab: Tab, surveyed_on: date, faults: Faults) -> None:
    if "date" not in tab.columns:
        return
    column, title = tab.columns["date"]
    for at, cells in enumerate(tab.sheet.rows[tab.heading_row :], start=tab.heading_row + 1):
        if column >= len(cells) or cells[column].kind == "empty" or not cells[column].text.strip():
            continue
        text = cells[column].text.strip()
        days = _days(text)
        if not any(abs((day - surveyed_on).days) <= DAYS_APART for day in days):
            what = "is not understood as a date" if not days else "is not the day of this survey"
            faults.add(
                at, title,
                f'{text} {what} ({surveyed_on}); correct it, read it into its own survey, or --ignore "{title}"',
            )  # fmt: skip


def _days(text: str) -> list[date]:
    """Return the days that a text may mean; 5/6/26 means two."""
    days = []
    for form in (
        "%Y-%m-%d", "%Y-%m-%d %H:%M:%S", "%Y-%m-%dT%H:%M:%S", "%m/%d/%Y", "%d/%m/%Y", "%m/%d/%y", "%d/%m/%y",
        "%d.%m.%Y", "%d.%m.%y", "%d %B %Y", "%d %b %Y", "%B %d %Y", "%b %d %Y", "%m-%d-%Y", "%d-%b-%Y", "%d-%b-%y",
        "%Y%m%d",
    ):  # fmt: skip
        try:
            days.append(datetime.strptime(text.replace(",", ""), form).date())  # noqa: DTZ007 - a day has no zone
        except ValueError:
            continue
    return days
