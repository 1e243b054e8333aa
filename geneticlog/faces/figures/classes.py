"""Figures of kinds of fish: what each size class is made of, and q against heterozygosity."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from geneticlog.faces.figures.style import (
    INK,
    SHALLOW,
    SILT,
    Drawing,
    FigureSize,
    crowds,
    drawing,
    drawn_once,
    kind_of,
    new_figure,
)

if TYPE_CHECKING:
    from matplotlib.figure import Figure

# Expected q and H of the classes: means of the distributions in the help of the R package HIest 2.0
# (Fitzpatrick BM (2012) BMC Evolutionary Biology 12:131). The two pure classes are named by the panel.
EXPECTED = {"F1": (0.5, 1.0), "F2": (0.5, 0.5), "backcross": (0.25, 0.5), "backcross ": (0.75, 0.5)}


@dataclass(frozen=True)
class CrossMark:
    """One fish with q and heterozygosity."""

    q: float
    heterozygosity: float
    ancestry_class: str | None


def order_of_kinds(taxon: str, other_taxon: str) -> tuple[str, ...]:
    """Return the ancestry classes from one end to the other."""
    return (other_taxon, "intergrade", "F1", taxon, "undetermined")


@drawn_once
def composition_figure(
    groups: Sequence[tuple[str, Mapping[str, int]]], *, taxon: str, other_taxon: str
) -> Drawing:
    """Return one bar a size class: the share of each ancestry class, fish counted inside, n at its end.

    groups
        (size class, ancestry class -> fish with a result), smallest first; a class without a result is shown empty.
    """

    def draw(size: FigureSize) -> Figure:
        return _draw_composition(groups, taxon, other_taxon, size)

    parts = []
    for name, counts in groups:
        shares = ", ".join(
            f"{counts[kind]} {kind}" for kind in order_of_kinds(taxon, other_taxon) if counts.get(kind)
        )
        parts.append(f"{name}: {shares or 'no result'}")
    words = "Fish of each ancestry class by size class. " + "; ".join(parts) + "."
    return drawing("composition", "What each size class is made of", words, draw)


def _draw_composition(
    groups: Sequence[tuple[str, Mapping[str, int]]], taxon: str, other_taxon: str, size: FigureSize
) -> Figure:
    figure = new_figure(size, 1.0 + 0.36 * max(len(groups), 2) + (0.5 if size.narrow else 0.2))
    axes = figure.add_subplot()
    handles: dict[str, Any] = {}
    for at, (_, counts) in enumerate(groups):
        n, start = sum(counts.values()), 0.0
        for name in order_of_kinds(taxon, other_taxon):
            if not counts.get(name):
                continue
            kind, share = kind_of(name, taxon, other_taxon), counts[name] / n
            bar = axes.barh(
                at,
                share,
                left=start,
                height=0.68,
                color=kind.face,
                hatch=kind.hatch,
                edgecolor=INK,
                linewidth=0.7,
            )
            handles.setdefault(name, bar)
            if share > 0.045:
                axes.text(
                    start + share / 2, at, str(counts[name]), ha="center", va="center", color=INK,
                    fontsize=size.type_size - 1,
                    bbox={"boxstyle": "round,pad=0.15", "facecolor": "white", "edgecolor": "none"},
                )  # fmt: skip
            start += share
        axes.text(1.015, at, f"n {n}", va="center", ha="left", fontsize=size.type_size - 1)
        if n == 0:
            axes.text(0.5, at, "no result", va="center", ha="center", color=INK, fontsize=size.type_size - 1)
            axes.barh(at, 1, height=0.68, facecolor="none", edgecolor=SILT, linewidth=0.6, linestyle=":")
    axes.set_yticks(range(len(groups)), [name for name, _ in groups])
    axes.set_ylim(len(groups) - 0.45, -0.55)  # small fish on top, as everywhere
    axes.set_xlim(0, 1)
    axes.set_xticks([0, 0.25, 0.5, 0.75, 1], ["0 %", "25 %", "50 %", "75 %", "100 %"])
    axes.set_xlabel("share of the fish with a result")
    axes.tick_params(axis="y", length=0)
    axes.spines["left"].set_visible(False)
    shown = [name for name in order_of_kinds(taxon, other_taxon) if name in handles]
    if shown:
        figure.legend(
            [handles[name] for name in shown], shown, loc="outside lower left", ncols=3 if size.narrow else 5
        )
    return figure


@drawn_once
def cross_figure(fish: Sequence[CrossMark], *, taxon: str, other_taxon: str) -> Drawing:
    """Return q against heterozygosity, with the region that can be and the places where classes are expected."""

    def draw(size: FigureSize) -> Figure:
        return _draw_cross(fish, taxon, other_taxon, size)

    counts: dict[str, int] = {}
    for one in fish:
        counts[one.ancestry_class or "undetermined"] = counts.get(one.ancestry_class or "undetermined", 0) + 1
    counted = ", ".join(f"{n} {name}" for name, n in counts.items())
    high = sum(one.heterozygosity >= 0.9 for one in fish)
    words = (
        f"{taxon} allele proportion against heterozygosity of {len(fish)} fish: {counted}. "
        f"{high} of them have a heterozygosity of 0.9 or more. The possible region is a triangle from "
        f"{other_taxon} at the left through F1 at the top to {taxon} at the right."
    )
    return drawing("cross", "Ancestry and heterozygosity", words, draw)


def _draw_cross(fish: Sequence[CrossMark], taxon: str, other_taxon: str, size: FigureSize) -> Figure:
    figure = new_figure(size, 4.6 if size.narrow else 3.8)
    axes = figure.add_subplot()
    axes.fill([0, 0.5, 1], [0, 1, 0], facecolor=SHALLOW, edgecolor=SILT, linewidth=0.9, zorder=1)
    places = {other_taxon: (0.0, 0.0), taxon: (1.0, 0.0), **EXPECTED}
    for name, (q, h) in places.items():
        axes.scatter(
            [q],
            [h],
            s=150,
            facecolor="none",
            edgecolor=INK,
            linewidth=0.9,
            linestyle=":",
            zorder=2,
            clip_on=False,
        )
        dx, dy, side = _free_place(name.strip(), q, h, fish, size)
        axes.annotate(
            name.strip(), (q, h), xytext=(dx, dy), textcoords="offset points", ha=side,
            va="center", fontsize=size.type_size - 1, annotation_clip=False, zorder=3,
        )  # fmt: skip
    handles = []
    for name in order_of_kinds(taxon, other_taxon):
        these = [one for one in fish if (one.ancestry_class or "undetermined") == name]
        if these:
            kind = kind_of(name, taxon, other_taxon)
            handles.append(
                axes.scatter(
                    [one.q for one in these], [one.heterozygosity for one in these], marker=kind.mark,
                    s=30 * kind.size, facecolor=kind.face, edgecolor=INK, linewidth=0.7, zorder=4, clip_on=False,
                    label=name,
                )
            )  # fmt: skip
    for x, y, n in crowds([(one.q, one.heterozygosity) for one in fish], (0.03, 0.04)):
        corner = y < 0.12 and (
            x < 0.12 or x > 0.88
        )  # beside the mark, clear of the axis and of the name below it
        dx, side = (0, "center") if not corner else (9, "left") if x < 0.5 else (-9, "right")
        axes.annotate(
            f"{n} fish", (x, y), xytext=(dx, 0 if corner else 7), textcoords="offset points", ha=side,
            va="center" if corner else "bottom", fontsize=size.small, zorder=5,
        )  # fmt: skip
    axes.set_xlim(-0.06, 1.06)
    axes.set_ylim(-0.2, 1.12)
    axes.spines["left"].set_bounds(0, 1)  # the names below 0 stand clear of the axis
    axes.spines["bottom"].set_bounds(0, 1)
    axes.set_xticks([0, 0.25, 0.5, 0.75, 1])
    axes.set_yticks([0, 0.25, 0.5, 0.75, 1])
    axes.set_xlabel(f"{taxon} allele proportion, q")
    axes.set_ylabel("heterozygosity, H")
    if handles:
        figure.legend(handles=handles, loc="outside lower left", ncols=3 if size.narrow else 5)
    return figure


def _free_place(
    name: str, q: float, h: float, fish: Sequence[CrossMark], size: FigureSize
) -> tuple[float, float, str]:
    """Return where the name of an expected place stands, in points from it, so that the fewest fish lie under it.

    The width of the axes and of the letters is taken as it comes out at this size; a point either way does no harm.
    """
    across, up = 72 * (size.width - 0.6) / 1.12, 72 * (3.86 if size.narrow else 3.02) / 1.32
    letters, line = 0.58 * (size.type_size - 1) * len(name), size.type_size
    if h == 0:
        tries = [(0.0, -15.0, "center")]
    elif h == 1:
        tries = [(0.0, 13.0, "center"), (12.0, 4.0, "left"), (-12.0, 4.0, "right")]
    else:
        out = ["right", "left"] if q < 0.5 else ["left", "right"]
        tries = [
            (11.0 if side == "left" else -11.0, dy, side)
            for side in out
            for dy in (5.0, 0.0, -5.0, 9.0, -9.0, 13.0, -13.0)
        ]
        tries += [(0.0, 14.0, "center"), (0.0, -14.0, "center")]

    def under(place: tuple[float, float, str]) -> int:
        dx, dy, side = place
        start = {"left": dx, "right": dx - letters, "center": dx - letters / 2}[side]
        return sum(
            start - 5 <= (one.q - q) * across <= start + letters + 5
            and abs((one.heterozygosity - h) * up - dy) <= line / 2 + 5
            for one in fish
        )

    return min(tries, key=under)
