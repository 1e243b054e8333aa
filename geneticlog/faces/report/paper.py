"""The report as PDF: the same view as the HTML, set by the typesetter with the same figures."""

from __future__ import annotations

from collections.abc import Sequence

from geneticlog.faces.app.typeset import set_paper
from geneticlog.faces.figures.style import Drawing
from geneticlog.faces.report.view import heading, sections
from geneticlog.work.report.facts import LakeFacts


def lake_pdf(lake: LakeFacts, drawings: Sequence[Drawing], *, paper: str) -> bytes:
    """Return the report of one lake as PDF on ``us-letter`` or ``a4``; the same report gives the same bytes."""
    data = {"paper": paper, "head": heading(lake), "sections": sections(lake, drawings)}
    files = {f"{drawing.name}.svg": drawing.svg.encode() for drawing in drawings}
    files |= {f"{drawing.name}-narrow.svg": drawing.svg_phone.encode() for drawing in drawings}
    return set_paper("lake_report.typ", data, files=files, at=lake.made_at.replace(microsecond=0))
