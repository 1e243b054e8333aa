"""The look of every figure, and how one becomes SVG or PNG: the same data give the same bytes.

Colours differ in lightness as well as in hue, and every kind has its own mark and hatch, so that a figure reads
in black and white and for people who see colours otherwise. Each figure is drawn at two widths: a page and a phone.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from matplotlib.figure import Figure

INK = "#1c2b2d"  # text, axes, means
SILT = "#8a9694"  # what is in the background: unswabbed catch, limits
SHALLOW = "#edf2ef"  # every second size-class band
STOCKED = "#8f3b1b"


@dataclass(frozen=True)
class Kind:
    """How one kind of fish is drawn: its place among the marks, its hatch, its colour."""

    mark: str
    hatch: str
    face: str
    size: float = 1.0


NORTHERN = Kind("v", "", "#23435e")
INTERGRADE = Kind("o", "....", "#5f9c94")
FIRST_CROSS = Kind("D", "xxx", "#ffffff", 0.8)
FLORIDA = Kind("^", "//", "#e0a526")
UNDETERMINED = Kind("s", "---", "#c9cfcd", 0.85)


@dataclass(frozen=True)
class FigureSize:
    """Width in inches and type size in points of one drawing of a figure."""

    name: str
    width: float
    type_size: float

    @property
    def narrow(self) -> bool:
        return self.width < 5


PAGE = FigureSize("page", 7.2, 9.0)
PHONE = FigureSize("phone", 3.7, 8.5)


@dataclass(frozen=True)
class Drawing:
    """One figure, drawn: SVG for a page and for a phone, PNG for a slide, and what it shows in words."""

    name: str
    title: str
    alternative: str
    svg: str
    svg_phone: str
    png: bytes


def kind_of(ancestry_class: str | None, taxon: str, other_taxon: str) -> Kind:
    """Return how an ancestry class is drawn; the panel's two taxa take the two ends."""
    if ancestry_class == taxon:
        return FLORIDA
    if ancestry_class == other_taxon:
        return NORTHERN
    return {"F1": FIRST_CROSS, "intergrade": INTERGRADE}.get(ancestry_class or "", UNDETERMINED)


@contextmanager
def drawn_at(size: FigureSize) -> Iterator[None]:
    """Draw with the house's settings: our type, hair lines, and identities in the SVG that do not change."""
    import matplotlib as mpl

    settings: Any = {
        "font.family": ["DejaVu Sans"],
        "font.size": size.type_size,
        "axes.edgecolor": INK,
        "axes.labelcolor": INK,
        "axes.linewidth": 0.8,
        "axes.spines.top": False,
        "axes.spines.right": False,
        "axes.titlesize": size.type_size,
        "axes.titlelocation": "left",
        "text.color": INK,
        "xtick.color": INK,
        "ytick.color": INK,
        "xtick.labelsize": size.type_size - 1,
        "ytick.labelsize": size.type_size - 1,
        "legend.fontsize": size.type_size - 1,
        "legend.frameon": False,
        "legend.handletextpad": 0.4,
        "legend.columnspacing": 1.2,
        "hatch.linewidth": 0.7,
        "hatch.color": INK,
        "lines.linewidth": 1.2,
        "svg.fonttype": "path",
        "svg.hashsalt": "geneticlog",
        "figure.dpi": 100,
    }
    with mpl.rc_context(settings):
        yield


def new_figure(size: FigureSize, height: float) -> Figure:
    """Return an empty figure that keeps its parts from running into each other."""
    from matplotlib.figure import Figure

    return Figure(figsize=(size.width, height), layout="constrained")


def svg_of(figure: Figure, name: str) -> str:
    """Return a figure as SVG without a date, every identity in it beginning with ``name``."""
    memory = io.StringIO()
    nothing = dict.fromkeys(("Date", "Creator", "Format", "Type"))
    figure.savefig(memory, format="svg", metadata=nothing, transparent=True)
    text = memory.getvalue()
    text = re.sub(r"<metadata>.*?</metadata>\s*", "", text, flags=re.DOTALL)
    text = re.sub(r"<!DOCTYPE.*?>\s*", "", text, flags=re.DOTALL)
    text = re.sub(r'(\sid=")', rf"\g<1>{name}-", text)
    text = re.sub(r'(xlink:href="#)', rf"\g<1>{name}-", text)
    return re.sub(r"(url\(#)", rf"\g<1>{name}-", text)


def png_of(figure: Figure, dpi: float = 200) -> bytes:
    """Return a figure as PNG on white; no program or date is written into it."""
    memory = io.BytesIO()
    figure.savefig(memory, format="png", dpi=dpi, facecolor="white", metadata={"Software": None})
    return memory.getvalue()


def drawing(name: str, title: str, alternative: str, draw: Any) -> Drawing:
    """Draw a figure at both widths; ``draw(size)`` returns the matplotlib Figure."""
    with drawn_at(PAGE):
        page = draw(PAGE)
        svg, png = svg_of(page, name), png_of(page)
    with drawn_at(PHONE):
        svg_phone = svg_of(draw(PHONE), f"{name}-phone")
    return Drawing(name, title, alternative, svg, svg_phone, png)


def inline(svg: str, alternative: str, label: str) -> str:
    """Return SVG to stand inside HTML: no XML heading, its text alternative first, width left to the page."""
    from html import escape

    body = re.sub(r"^.*?<svg", "<svg", svg, flags=re.DOTALL)
    body = re.sub(r'\sxmlns(:xlink)?="[^"]*"', "", body)
    body = re.sub(r'\s(width|height)="[^"]*pt"', "", body, count=2)
    opening = f'<svg role="img" aria-labelledby="{label}" '
    return body.replace("<svg ", opening, 1).replace(
        ">", f'><title id="{label}">{escape(alternative)}</title>', 1
    )
