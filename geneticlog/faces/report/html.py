"""The report as one HTML file: no address outside itself, figures inline, everything that was typed escaped."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import TYPE_CHECKING, Any

from geneticlog.faces.figures.style import Drawing, inline
from geneticlog.faces.report.glossary import with_links
from geneticlog.faces.report.view import first_page, heading, sections
from geneticlog.work.report.facts import LakeFacts

if TYPE_CHECKING:
    from jinja2 import Environment


def render(template: str, **values: Any) -> str:
    """Return a template of faces/templates filled in, with everything escaped that is not marked as ours."""
    return str(_house().get_template(template).render(**values))


@cache
def _house() -> Environment:
    """Return what the templates are read by; it keeps those it has read."""
    from jinja2 import Environment, PackageLoader, StrictUndefined

    house = Environment(
        loader=PackageLoader("geneticlog.faces", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    house.filters["with_links"] = _with_links
    return house


def _with_links(text: str) -> Any:
    """Return a text, escaped, with its words that need explaining made links to the glossary."""
    from markupsafe import Markup, escape

    return Markup(with_links(str(escape(text))))


def inline_figures(drawings: Sequence[Drawing]) -> dict[str, dict[str, Any]]:
    """Return each figure's two drawings as markup: one for a page, one for a phone."""
    from markupsafe import Markup

    # what is inside was drawn by us and its words were escaped there, so it is markup
    return {
        drawing.name: {
            "page": Markup(inline(drawing.svg, drawing.alternative, f"{drawing.name}-title")),
            "phone": Markup(inline(drawing.svg_phone, drawing.alternative, f"{drawing.name}-phone-title")),
        }
        for drawing in drawings
    }


def lake_html(lake: LakeFacts, drawings: Sequence[Drawing]) -> str:
    """Return the report of one lake as HTML."""
    return render(
        "lake_report.html.j2",
        head=heading(lake),
        first=first_page(lake, drawings),
        sections=sections(lake, drawings),
        figures=inline_figures(drawings),
    )
