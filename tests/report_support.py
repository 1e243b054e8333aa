"""A lake's page, paper and tables without its figures, for tests that look at words and numbers."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

from conftest import NOW, Runner
from sqlalchemy.orm import Session

from geneticlog.faces.app.options import PAPERS
from geneticlog.faces.report.html import lake_html
from geneticlog.faces.report.paper import lake_pdf
from geneticlog.faces.report.tables import lake_sheets
from geneticlog.rules.stamp import Stamp
from geneticlog.store.engine import database_url, open_engine
from geneticlog.store.writing import csv_bytes, xlsx_bytes
from geneticlog.work.report.facts import LakeFacts
from geneticlog.work.report.gather import Wanted, gather_lake


def words(html: str) -> str:
    """Return the text of a page, one blank between words."""
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html))


def page_without_figures(run: Runner, **how: Any) -> str:
    """Return the words of the page of HERON; to draw its figures, too, takes several times as long as all else."""
    return words(lake_html(_gathered(run, "HERON", **how), []))


def reported_without_figures(run: Runner, folder: Path, code: str = "HERON", *, paper: bool = False) -> Any:
    """Write the page, the tables and, where asked, the paper of a lake without figures; return its document."""
    lake, name = _gathered(run, code), code.lower()
    (folder / f"{name}.html").write_text(lake_html(lake, []), encoding="utf-8")
    sheets = lake_sheets(lake)
    (folder / f"{name}.xlsx").write_bytes(xlsx_bytes(sheets))
    for sheet, (columns, rows) in sheets.items():
        (folder / f"{name}_{sheet}.csv").write_bytes(csv_bytes(columns, rows))
    if paper:
        (folder / f"{name}.pdf").write_bytes(lake_pdf(lake, [], paper=PAPERS["letter"]))
    return json.loads(run("report", "lake", code, "--json").stdout)


def _gathered(run: Runner, code: str, **how: Any) -> LakeFacts:
    engine = open_engine(database_url(run.database))
    with Session(engine) as session:
        lake = gather_lake(session, code, stamp=Stamp(NOW, "Ada Test"), wanted=Wanted(**how))
    engine.dispose()
    return lake
