"""What the files of a report hold, under names that do not change, and what is kept of one that is given."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, fields, is_dataclass
from datetime import datetime
from enum import StrEnum
from typing import Any

from sqlalchemy.orm import Session

from geneticlog.faces.app.progress import Watch, step, unwatched
from geneticlog.faces.report.draw import lake_drawings
from geneticlog.faces.report.html import lake_html
from geneticlog.faces.report.owner import answer_lines
from geneticlog.faces.report.paper import lake_pdf, lakes_pdf
from geneticlog.faces.report.portfolio import lakes_html
from geneticlog.faces.report.tables import lake_sheets
from geneticlog.rules.stamp import Stamp
from geneticlog.store.writing import csv_bytes, xlsx_bytes
from geneticlog.work.portfolio.gather import LakeLine
from geneticlog.work.portfolio.working_list import ListedLake
from geneticlog.work.report.facts import LakeFacts
from geneticlog.work.report.kept_reports import keep_report

LAKE_STEPS = 3  # of the report of one lake: what it says, its figures, its pages


def lake_contents(lake: LakeFacts, *, paper: str, watch: Watch = unwatched) -> dict[str, bytes]:
    """Return HTML, PDF, figures, workbook and tables of one lake by file name, the one to open first on top.

    watch
        Is told of its two steps, the second and the third of a report.
    """
    step(watch, 2, LAKE_STEPS)("Drawing figures", 0, 0)
    drawings = lake_drawings(lake)
    step(watch, 3, LAKE_STEPS)("Setting pages and tables", 0, 0)
    name = lake.lake.lower()
    sheets = lake_sheets(lake)
    contents: dict[str, bytes] = {
        f"{name}.html": lake_html(lake, drawings).encode(),
        f"{name}.pdf": lake_pdf(lake, drawings, paper=paper),
    }
    for drawing in drawings:
        contents[f"{name}_{drawing.name}.png"] = drawing.png
    contents[f"{name}.xlsx"] = xlsx_bytes(sheets)
    for sheet, (columns, rows) in sheets.items():
        contents[f"{name}_{sheet}.csv"] = csv_bytes(columns, rows)
    return contents


@dataclass(frozen=True)
class Given:
    """What is kept in the record of a report that is given; lines: what it says first."""

    lake: str
    survey: str | None
    fingerprint: str
    lines: tuple[str, ...]
    made_at: datetime


def given(lake: LakeFacts) -> Given:
    """Return what is kept of the report of a lake."""
    survey = lake.main.survey if lake.main else None
    return Given(lake.lake, survey, lake.fingerprint, tuple(answer_lines(lake)), lake.made_at)


def keep(session: Session, report: Given, by: str) -> str:
    """Keep in the record that a report is given, in the transaction in which it is; returns its name."""
    return keep_report(
        session,
        report.lake,
        survey=report.survey,
        fingerprint=report.fingerprint,
        lines=report.lines,
        stamp=Stamp(report.made_at, by),
    )


def lakes_contents(
    lakes: Sequence[ListedLake],
    *,
    stamp: Stamp,
    paper: str,
    links: Mapping[str, str] | None = None,
) -> dict[str, bytes]:
    """Return page, PDF, workbook and table of all lakes by file name, the page on top.

    links
        lake code -> address of its report, beside the page.
    """
    names = [field.name for field in fields(LakeLine)]
    more = ("state", "state_words", "owner", "county", "last_survey_on", "next_step")
    rows = [
        [
            *(_cell(getattr(listed.line, name)) for name in names),
            *(_cell(getattr(listed, name)) for name in more),
        ]
        for listed in lakes
    ]
    columns = (*names, *more)
    return {
        "lakes.html": lakes_html(lakes, stamp=stamp, links=links).encode(),
        "lakes.pdf": lakes_pdf(lakes, stamp=stamp, paper=paper),
        "lakes.xlsx": xlsx_bytes({"lakes": (columns, rows)}),
        "lakes.csv": csv_bytes(columns, rows),
    }


def _cell(value: Any) -> Any:
    """Return a value as a cell holds it: several words in one, a word of a list as its text."""
    if isinstance(value, tuple):
        return "; ".join(map(str, value))
    if is_dataclass(value) and not isinstance(value, type):
        return "; ".join(f"{name} {held}" for name, held in asdict(value).items())
    return str(value) if isinstance(value, StrEnum) else value
