"""Tables of a web page, which some programs save under the name of a workbook: their texts and marks."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from html.parser import HTMLParser

STRUCK = ("s", "del", "strike")


@dataclass
class HtmlTable:
    """One table: its rows of texts, and the cells, by (row, column) from 1, that are struck through or coloured."""

    rows: list[list[str]] = field(default_factory=list)
    struck: set[tuple[int, int]] = field(default_factory=set)
    colours: dict[tuple[int, int], str] = field(default_factory=dict)
    hidden_rows: set[int] = field(default_factory=set)
    comments: dict[tuple[int, int], str] = field(default_factory=dict)  # what a page shows beside the pointer


class SpansTooFar(Exception):
    """The cells of a table span more places than a file may have cells."""


class _Reader(HTMLParser):
    def __init__(self, most_cells: int) -> None:
        super().__init__(convert_charrefs=True)
        self._most_cells = most_cells
        self.tables: list[HtmlTable] = []
        self.outside: list[str] = []
        self.styles: dict[str, str] = {}
        self._cell: list[str] | None = None
        self._spans: dict[tuple[int, int], None] = {}
        self._struck = 0
        self._in_style = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {key: value or "" for key, value in attrs}
        look = ";".join(
            [given.get("style", ""), *(self.styles.get(name, "") for name in given.get("class", "").split())]
        ).lower()
        if tag == "style":
            self._in_style = True
        elif tag == "table":
            self.tables.append(HtmlTable())
            self._spans = {}
        elif tag == "tr" and self.tables:
            self._end_cell()
            self.tables[-1].rows.append([])
            if re.search(r"display\s*:\s*none|visibility\s*:\s*hidden", look):
                self.tables[-1].hidden_rows.add(len(self.tables[-1].rows))
            self._colour_of_row = given.get("bgcolor", "") or _colour(look)
            self._row_is_struck = "line-through" in look
        elif tag in ("td", "th") and self.tables and self.tables[-1].rows:
            self._begin_cell(given, look)
        elif self._cell is not None:
            self._struck += tag in STRUCK
            if tag in STRUCK or "line-through" in look:
                self.tables[-1].struck.add(self._place())
            if text := " ".join(given.get("title", "").split()):
                self.tables[-1].comments[self._place()] = text
            if tag == "br":
                self._cell.append(" ")
            elif tag == "font" and given.get("color", "").lower() not in ("", "black", "#000000"):
                self.tables[-1].colours[self._place()] = given["color"].lstrip("#").upper()

    def _place(self) -> tuple[int, int]:
        table = self.tables[-1]
        return len(table.rows), len(table.rows[-1]) + 1

    def _begin_cell(self, given: dict[str, str], look: str) -> None:
        self._end_cell()
        table = self.tables[-1]
        while self._place() in self._spans:
            table.rows[-1].append("")
        self._cell = []
        row, column = self._place()
        wide, high = (
            int(given.get(key, "1") or 1) if given.get(key, "1").isdigit() else 1
            for key in ("colspan", "rowspan")
        )
        wide, high = min(wide, 1000), min(high, 1000)
        if len(self._spans) + wide * high > self._most_cells:
            raise SpansTooFar
        self._spans |= {(row + i, column + j): None for i in range(high) for j in range(wide) if i or j}
        if "line-through" in look or self._row_is_struck:
            table.struck.add((row, column))
        if text := " ".join(given.get("title", "").split()):
            table.comments[row, column] = text
        if colour := given.get("bgcolor", "") or _colour(look) or self._colour_of_row:
            table.colours[row, column] = colour.lstrip("#").upper()

    def _end_cell(self) -> None:
        if self._cell is not None:
            self.tables[-1].rows[-1].append(" ".join("".join(self._cell).split()))
            self._cell = None

    def handle_endtag(self, tag: str) -> None:
        if tag in ("td", "th", "tr", "table") and self.tables:
            self._end_cell()
        elif tag == "style":
            self._in_style = False

    def handle_data(self, data: str) -> None:
        if self._in_style:
            for selectors, look in re.findall(r"([^{}]*)\{([^}]*)\}", data):
                for name in re.findall(
                    r"\.([\w\-]+)", selectors
                ):  # also of ".void td", whose cells are in it
                    self.styles[name] = f"{self.styles.get(name, '')};{look}"
        elif self._cell is not None:
            self._cell.append(data)
        elif data.strip() and not self._in_head:
            self.outside.append(" ".join(data.split()))

    _in_head = False
    _colour_of_row = ""
    _row_is_struck = False


def _colour(look: str) -> str:
    found = re.search(r"background(?:-color)?\s*:\s*(#[0-9a-f]{3,6}|[a-z]+)", look)
    return "" if not found or found[1] in ("transparent", "none", "white", "#ffffff", "#fff") else found[1]


def read_html(text: str, most_cells: int) -> list[HtmlTable]:
    """Return the tables of a page that hold anything; what stands between them comes as a row above the next.

    Raises SpansTooFar for a table whose cells span more than ``most_cells`` places.
    """
    reader = _Reader(most_cells)
    reader.feed(text)
    reader.close()
    tables = [table for table in reader.tables if any(any(row) for row in table.rows)]
    if tables and reader.outside:
        first = tables[0]
        n = len(reader.outside)
        first.rows[:0] = [[line] for line in reader.outside]
        first.struck = {(row + n, column) for row, column in first.struck}
        first.colours = {(row + n, column): colour for (row, column), colour in first.colours.items()}
        first.hidden_rows = {row + n for row in first.hidden_rows}
        first.comments = {(row + n, column): text for (row, column), text in first.comments.items()}
    return tables
