"""Writing a report into a folder: every file whole or not at all, under names that do not change."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields
from datetime import datetime
from pathlib import Path

from geneticlog.faces.figures.history import LakeDot, portfolio_figure
from geneticlog.faces.report.draw import lake_drawings
from geneticlog.faces.report.html import lake_html
from geneticlog.faces.report.paper import lake_pdf
from geneticlog.faces.report.portfolio import portfolio_html
from geneticlog.faces.report.tables import lake_sheets
from geneticlog.rules.statistics.estimates import LEAST_TO_READ
from geneticlog.store.own_files import write_own
from geneticlog.store.writing import csv_bytes, xlsx_bytes
from geneticlog.work.portfolio.gather import LakeLine
from geneticlog.work.report.facts import LakeFacts


def write_lake(folder: Path, lake: LakeFacts, *, paper: str, replace: bool = False) -> list[Path]:
    """Write HTML, PDF, figures, workbook and tables of one lake; returns the files, the one to open first on top.

    Raises Refused for a file of another hand in the folder, unless ``replace``.
    """
    drawings = lake_drawings(lake)
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
    return write_own(folder, contents, replace=replace)  # all set before the first is written


def write_portfolio(
    folder: Path, lines: Sequence[LakeLine], *, now: datetime, by: str, replace: bool = False
) -> list[Path]:
    """Write page, figure, workbook and table of all lakes; returns the files, the page first. Raises as write_lake."""
    taxa = sorted({line.taxon for line in lines if line.mean is not None})
    drawing = None
    if taxa:
        dots = [
            LakeDot(
                line.name, line.mean, line.low, line.high, line.n_resulted, line.n_resulted >= LEAST_TO_READ
            )
            for line in lines
        ]
        drawing = portfolio_figure(dots, taxon=" or ".join(taxa))
    names = [field.name for field in fields(LakeLine)]
    rows = [
        ["; ".join(value) if isinstance(value := getattr(line, name), tuple) else value for name in names]
        for line in lines
    ]
    contents = {
        "lakes.html": portfolio_html(lines, drawing, now=now, by=by).encode(),
        "lakes.xlsx": xlsx_bytes({"lakes": (names, rows)}),
        "lakes.csv": csv_bytes(names, rows),
    }
    if drawing is not None:
        contents["lakes_portfolio.png"] = drawing.png
    return write_own(folder, contents, replace=replace)
