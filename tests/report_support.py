"""The words of a lake's page, for tests that look at words alone."""

from __future__ import annotations

import re
from typing import Any

from conftest import NOW, Runner
from sqlalchemy.orm import Session

from geneticlog.faces.report.html import lake_html
from geneticlog.rules.stamp import Stamp
from geneticlog.store.engine import database_url, open_engine
from geneticlog.work.report.gather import Wanted, gather_lake


def words(html: str) -> str:
    """Return the text of a page, one blank between words."""
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html))


def page_without_figures(run: Runner, **how: Any) -> str:
    """Return the words of the page of HERON; to draw its figures, too, takes several times as long as all else."""
    engine = open_engine(database_url(run.database))
    with Session(engine) as session:
        page = lake_html(
            gather_lake(session, "HERON", stamp=Stamp(NOW, "Ada Test"), wanted=Wanted(**how)), []
        )
    engine.dispose()
    return words(page)
