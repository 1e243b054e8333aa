"""The look of every figure, and how one becomes SVG or PNG: the same data give the same bytes.

Colours differ in lightness as well as in hue, and every kind has its own mark and hatch, so that a figure reads
in black and white and for people who see colours otherwise. Each figure is drawn at two widths: a page and a phone.
"""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import lru_cache, wraps
from typing import TYPE_CHECKING, Any, ParamSpec

if TYPE_CHECKING:
    from matplotlib.figure import Figure

INK = "#1c2b2d"  # text, axes, means
SILT = "#8a9694"  # what is in the background: unswabbed catch, limits
SHALLOW = "#edf2ef"  # every second size-class band
STOCKED = "#8f3b1b"
TYPEFACE = "DejaVu Sans, Verdana, Arial, sans-serif"
LEAST_TYPE = 7.5  # points; nothing in a figure is smaller


@dataclass(frozen=True)
class Kind:
    """How one kind of fish is drawn: its place among the marks, its hatch, its colour."""

    mark: str
    hatch: str
    face: str
    size: float = 1.0
    strokes: str = ""  # the hatch as one SVG path over a tile of 6 by 6


NORTHERN = Kind("v", "", "#23435e")
INTERGRADE = Kind("o", "....", "#5f9c94", strokes="M2 3h2M5 0h1M0 0h1M5 6h1M0 6h1")
FIRST_CROSS = Kind("D", "xxx", "#ffffff", 0.8, strokes="M0 0L6 6M6 0L0 6")
FLORIDA = Kind("^", "//", "#e0a526", strokes="M-1 1L1 -1M0 6L6 0M5 7L7 5")
UNDETERMINED = Kind("s", "---", "#c9cfcd", 0.85, strokes="M0 3H6")
KINDS = (NORTHERN, INTERGRADE, FIRST_CROSS, FLORIDA, UNDETERMINED)


@dataclass(frozen=True)
class FigureSize:
    """Width in inches and type size in points of one drawing of a figure."""

    name: str
    width: float
    type_size: float

    @property
    def narrow(self) -> bool:
        return self.width < 5

    @property
    def small(self) -> float:
        """The smallest type of a figure, in points."""
        return self.type_size - 1


PAGE = FigureSize("page", 7.2, 9.0)
PHONE = FigureSize("phone", 3.7, 9.0)


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
        "svg.fonttype": "none",
        "svg.hashsalt": "geneticlog",
        "figure.dpi": 100,
    }
    with mpl.rc_context(settings):
        yield


def crowds(
    points: Sequence[tuple[float, float]], cell: tuple[float, float]
) -> list[tuple[float, float, int]]:
    """Return where three or more points lie under one mark, as (x, y, how many); ``cell`` is the size of a mark."""
    by_cell: dict[tuple[int, int], list[tuple[float, float]]] = {}
    for x, y in points:
        by_cell.setdefault((round(x / cell[0]), round(y / cell[1])), []).append((x, y))
    return [
        (sum(x for x, _ in group) / len(group), sum(y for _, y in group) / len(group), len(group))
        for group in by_cell.values()
        if len(group) > 2
    ]


def new_figure(size: FigureSize, height: float) -> Figure:
    """Return an empty figure that keeps its parts from running into each other."""
    from matplotlib.figure import Figure

    return Figure(figsize=(size.width, height), layout="constrained")


def set_in_place(figure: Figure) -> None:
    """Give every part of a figure its place for good, measured as SVG measures it.

    Left to itself, the drawing library draws the whole figure once more before each file, to find the places again.
    """
    from matplotlib.backends.backend_svg import FigureCanvasSVG

    engine, dpi = figure.get_layout_engine(), figure.dpi
    if engine is not None:
        FigureCanvasSVG(figure)
        engine.execute(figure)
        figure.set_layout_engine(None)
        figure.dpi = dpi


def svg_of(figure: Figure, name: str) -> str:
    """Return a figure as SVG: real text, no date, patterns of a few strokes, every identity begins with ``name``."""
    set_in_place(figure)
    memory = io.StringIO()
    nothing = dict.fromkeys(("Date", "Creator", "Format", "Type"))
    figure.savefig(memory, format="svg", metadata=nothing, transparent=True)
    return lean(memory.getvalue(), name)


def lean(text: str, name: str) -> str:
    """Return drawn SVG without what no reader needs: unused identities, far decimals, patterns of a thousand dots.

    The style sheet that the drawing library writes holds for the whole page it is in, so it becomes attributes
    of the drawing; so does the typeface, with others to fall back on where a phone lacks it.
    """
    text = re.sub(r"<metadata>.*?</metadata>\s*", "", text, flags=re.DOTALL)
    text = re.sub(r"<!DOCTYPE.*?>\s*", "", text, flags=re.DOTALL)
    text = re.sub(r"<defs>\s*<style.*?</style>\s*</defs>\s*", "", text, flags=re.DOTALL)
    text = re.sub(r"<pattern id=\"(.*?)\".*?</pattern>", _short_pattern, text, flags=re.DOTALL)
    used = set(re.findall(r'(?:xlink:href="#|url\(#)([^")]+)', text))
    text = re.sub(r'\sid="([^"]+)"', lambda found: found[0] if found[1] in used else "", text)
    text = re.sub(r'(\sid=")', rf"\g<1>{name}-", text)
    text = re.sub(r'(xlink:href="#|url\(#)', rf"\g<1>{name}-", text)
    text = re.sub(r' transform="rotate\(-0 [^"]*"', "", text)
    text = re.sub(r"font-family: [^;\"]*;?\s?", "", text)
    text = re.sub(r"(?<![\w#.-])(-?\d+\.\d{3,})(?![\w.])", lambda found: f"{float(found[1]):.2f}", text)
    text = re.sub(r"\s*\n\s*", "\n", text).replace(" \n", "\n")
    text = re.sub(r"<g>\n</g>\n", "", text)
    typeface = f' font-family="{TYPEFACE}" stroke-linejoin="round" stroke-linecap="butt"'
    return text.replace("<svg ", f"<svg{typeface} ", 1)


def _short_pattern(pattern: re.Match[str]) -> str:
    face = re.search(r"fill=\"(#\w{6})\"|fill: (#\w{6})", pattern[0])
    colour = (face[1] or face[2]) if face else "#ffffff"
    strokes = {kind.face: kind.strokes for kind in KINDS}.get(colour, "")
    return (
        f'<pattern id="{pattern[1]}" patternUnits="userSpaceOnUse" width="6" height="6">'
        f'<rect width="6" height="6" fill="{colour}"/>'
        f'<path d="{strokes}" fill="none" stroke="{INK}" stroke-width="0.7"/></pattern>'
    )


def png_of(figure: Figure, dpi: float = 200) -> bytes:
    """Return a figure as PNG on white; no program or date is written into it."""
    memory = io.BytesIO()
    figure.savefig(memory, format="png", dpi=dpi, facecolor="white", metadata={"Software": None})
    return memory.getvalue()


def drawing(name: str, title: str, alternative: str, draw: Any) -> Drawing:
    """Draw a figure at both widths; ``draw(size)`` returns the matplotlib Figure."""
    with drawn_at(PAGE):
        page = draw(PAGE)
        svg = svg_of(page, name)
        png = png_of(page)
    with drawn_at(PHONE):
        svg_phone = svg_of(draw(PHONE), f"{name}-phone")
    return Drawing(name, title, alternative, svg, svg_phone, png)


KEPT_DRAWINGS = 64  # about 20 MB
P = ParamSpec("P")


@dataclass(frozen=True)
class _Asked:
    """A figure that is asked for: all that it shows, in one text; how it is drawn follows from that."""

    shows: str
    draw: Callable[[], Drawing] = field(compare=False)


@lru_cache(maxsize=KEPT_DRAWINGS)
def _drawn(asked: _Asked) -> Drawing:
    return asked.draw()


def drawn_once(figure: Callable[P, Drawing]) -> Callable[P, Drawing]:
    """Keep what a function of a figure has drawn last: the page of a report, its paper and its files show the same."""

    @wraps(figure)
    def kept(*of: P.args, **more: P.kwargs) -> Drawing:
        shows = repr((figure.__name__, of, more))
        return _drawn(_Asked(shows, lambda: figure(*of, **more)))

    return kept


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
