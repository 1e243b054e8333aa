"""Writing a report into a folder: every file whole or not at all, under names that do not change."""

from __future__ import annotations

from pathlib import Path

from geneticlog.faces.report_figures import lake_drawings
from geneticlog.faces.report_html import lake_html
from geneticlog.faces.report_paper import lake_pdf
from geneticlog.faces.report_tables import lake_sheets
from geneticlog.store.writing import csv_bytes, write_whole, xlsx_bytes
from geneticlog.work.lake_facts import LakeFacts


def write_lake(folder: Path, lake: LakeFacts, *, paper: str) -> list[Path]:
    """Write HTML, PDF, figures, workbook and tables of one lake; returns the files, the one to open first on top."""
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
    for file, content in contents.items():  # set before the first is written, so a fault leaves the old ones
        write_whole(folder / file, content)
    return [folder / file for file in contents]
