"""The reports as PDF: the same view as the HTML, set by the typesetter with the same figures."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from geneticlog import __version__
from geneticlog.faces.app.numbers_in_words import day
from geneticlog.faces.figures.style import Drawing
from geneticlog.faces.paper.typeset import set_paper
from geneticlog.faces.report.portfolio import list_data
from geneticlog.faces.report.view import first_page, heading, sections
from geneticlog.rules.lakes.state import State
from geneticlog.rules.stamp import Stamp
from geneticlog.settings import local_time
from geneticlog.work.portfolio.working_list import ListedLake
from geneticlog.work.report.facts import LakeFacts


def lake_pdf(lake: LakeFacts, drawings: Sequence[Drawing], *, paper: str) -> bytes:
    """Return the report of one lake as PDF on ``us-letter`` or ``a4``; the same report gives the same bytes."""
    data = {
        "paper": paper,
        "head": heading(lake),
        "first": first_page(lake, drawings),
        "sections": sections(lake, drawings),
    }
    files = {f"{drawing.name}.svg": drawing.svg.encode() for drawing in drawings}
    files |= {f"{drawing.name}-narrow.svg": drawing.svg_phone.encode() for drawing in drawings}
    return set_paper("lake_report.typ", data, files=files, at=lake.made_at.replace(microsecond=0))


def lakes_pdf(lakes: Sequence[ListedLake], *, stamp: Stamp, paper: str) -> bytes:
    """Return the list of lakes as PDF: how many are how far, then one lake a cell, those that need attention first."""
    counts = Counter(one.state for one in lakes)
    data = {
        "paper": paper,
        "title": "All lakes",
        "under": f"{len(lakes):,} lake{'s' * (len(lakes) != 1)} · {day(stamp.now.date())}",
        "foot": f"geneticlog {__version__} · made {local_time(stamp.now, with_offset=True)} by {stamp.by}",
        "states": [[str(state), counts[state]] for state in State if counts[state]],
        **list_data(lakes, today=stamp.now.date(), links={}),
    }
    return set_paper("lakes_report.typ", data, at=stamp.now.replace(microsecond=0))
