"""Figure: Florida allele proportion against length, with what was caught over it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from geneticlog.faces.figures.style import (
    INK,
    SHALLOW,
    SILT,
    STOCKED,
    Drawing,
    FigureSize,
    drawing,
    kind_of,
    new_figure,
)

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

BIN_WIDTH = {"mm": (10, 20, 25, 50, 100), "cm": (1, 2, 5, 10), "in": (0.5, 1, 2, 5)}
MOST_BINS = 34


@dataclass(frozen=True)
class FishMark:
    """One fish with a result: its length in the unit of the survey, its proportion, its kind."""

    length: float | None
    q: float
    ancestry_class: str | None
    doubtful: bool = False


@dataclass(frozen=True)
class SizeBand:
    """One size class on the length axis, ``least`` to ``below`` (None: no upper limit), with its mean."""

    name: str
    least: float
    below: float | None
    n_caught: int
    n_resulted: int
    mean: float | None
    low: float | None
    high: float | None
    readable: bool  # False: too few fish to read the mean


def length_figure(
    fish: Sequence[FishMark],
    bands: Sequence[SizeBand],
    caught: Sequence[tuple[float, int]],
    swabbed: Sequence[float],
    *,
    unit: str,
    taxon: str,
    other_taxon: str,
) -> Drawing:
    """Return the figure of q against total length.

    fish
        those with a result; one without a length is left out and named in the text alternative.
    caught, swabbed
        (total length, number of fish) of the whole measured catch, and the lengths of the swabbed ones; in ``unit``.
    """
    measured = [one for one in fish if one.length is not None]

    def draw(size: FigureSize) -> Figure:
        return _draw(measured, bands, caught, swabbed, unit, taxon, other_taxon, size)

    n_caught = sum(n for _, n in caught)
    parts = [
        f"{one.name}: mean {one.mean:.3f}"
        + (
            f", interval {one.low:.3f} to {one.high:.3f}"
            if one.low is not None and one.high is not None
            else ""
        )
        + f", n {one.n_resulted} of {one.n_caught} caught"
        for one in bands
        if one.mean is not None
    ]
    words = f"{taxon} allele proportion of {len(measured)} fish against total length in {unit}. "
    words += ("Class means: " + "; ".join(parts) + ". ") if parts else "No fish has a result yet. "
    words += f"Above, the lengths of {n_caught} fish caught and {len(swabbed)} swabbed."
    if len(measured) < len(fish):
        words += f" {len(fish) - len(measured)} fish with a result but without a length are not drawn."
    return drawing("length", f"{taxon} ancestry against length", words, draw)


def bin_edges(caught: Sequence[tuple[float, int]], unit: str) -> list[float]:
    """Return edges of equal whole-numbered bins that hold every length, few enough to be told apart."""
    least, most = min(length for length, _ in caught), max(length for length, _ in caught)
    for width in BIN_WIDTH[unit]:
        first = math.floor(least / width) * width
        n = math.floor((most - first) / width) + 1
        if n <= MOST_BINS:
            break
    return [first + width * at for at in range(n + 1)]


def _draw(
    fish: Sequence[FishMark],
    bands: Sequence[SizeBand],
    caught: Sequence[tuple[float, int]],
    swabbed: Sequence[float],
    unit: str,
    taxon: str,
    other_taxon: str,
    size: FigureSize,
) -> Figure:
    from matplotlib.ticker import MaxNLocator

    figure = new_figure(size, 5.0 if not size.narrow else 5.4)
    grid = figure.add_gridspec(2, 1, height_ratios=[1, 3.4], hspace=0.02)
    below = figure.add_subplot(grid[1])
    above = figure.add_subplot(grid[0], sharex=below)
    lengths = [length for length, _ in caught] or [0.0, 1.0]
    reach = (max(lengths) - min(lengths)) or max(lengths) * 0.2
    left, right = min(lengths) - 0.06 * reach, max(lengths) + 0.06 * reach
    below.set_xlim(left, right)
    _draw_catch(above, caught, swabbed, unit)
    _draw_bands((above, below), bands, left, right)
    below.set_ylim(-0.04, 1.04)
    below.set_yticks([0, 0.25, 0.5, 0.75, 1])
    below.set_ylabel(f"{taxon} allele proportion, q")
    below.set_xlabel(f"total length ({unit})")
    below.xaxis.set_major_locator(MaxNLocator(integer=True, steps=[1, 2, 5, 10]))
    handles = _draw_fish(below, fish, taxon, other_taxon)
    handles += _draw_means(below, bands, fish, left, right)
    handles += above.get_legend_handles_labels()[0]
    if handles:
        figure.legend(handles=handles, loc="outside lower left", ncols=2 if size.narrow else 4)
    _name_bands(figure, below, bands, left, right, size)
    return figure


def _draw_catch(axes: Axes, caught: Sequence[tuple[float, int]], swabbed: Sequence[float], unit: str) -> None:
    from matplotlib.ticker import MaxNLocator

    if caught:
        edges = bin_edges(caught, unit)
        lengths = [length for length, _ in caught]
        axes.hist(
            lengths, bins=edges, weights=[n for _, n in caught], color="white", edgecolor=SILT, label="caught",
            linewidth=0.9, zorder=2,
        )  # fmt: skip
        axes.hist(
            list(swabbed), bins=edges, color=SILT, edgecolor=INK, linewidth=0.6, label="swabbed", zorder=3
        )
    axes.set_ylabel("fish")
    axes.yaxis.set_major_locator(MaxNLocator(integer=True, nbins=3))
    axes.tick_params(labelbottom=False)


def _draw_bands(every: Sequence[Axes], bands: Sequence[SizeBand], left: float, right: float) -> None:
    for at, band in enumerate(bands):
        start, stop = max(band.least, left), min(band.below if band.below is not None else right, right)
        if stop <= start:
            continue
        for axes in every:
            if at % 2:
                axes.axvspan(start, stop, color=SHALLOW, zorder=0, linewidth=0)
            if band.least > left:
                axes.axvline(band.least, color=SILT, linewidth=0.6, linestyle=(0, (1, 2)), zorder=1)


def _draw_fish(axes: Axes, fish: Sequence[FishMark], taxon: str, other_taxon: str) -> list[Any]:
    handles: list[Any] = []
    for name in dict.fromkeys((other_taxon, "intergrade", "F1", taxon, "undetermined")):
        these = [one for one in fish if (one.ancestry_class or "undetermined") == name]
        if not these:
            continue
        kind = kind_of(name, taxon, other_taxon)
        handles.append(
            axes.scatter(
                [one.length or 0 for one in these], [one.q for one in these], marker=kind.mark, s=30 * kind.size,
                facecolor=kind.face, edgecolor=INK, linewidth=0.7, zorder=4, label=name, clip_on=False,
            )
        )  # fmt: skip
    doubtful = [one for one in fish if one.doubtful]
    if doubtful:
        handles.append(
            axes.scatter(
                [one.length or 0 for one in doubtful], [one.q for one in doubtful], marker="o", s=110, facecolor="none",
                edgecolor=STOCKED, linewidth=1.1, zorder=5, label="doubtful", clip_on=False,
            )
        )  # fmt: skip
    return handles


def _draw_means(
    axes: Axes, bands: Sequence[SizeBand], fish: Sequence[FishMark], left: float, right: float
) -> list[Any]:
    handle: list[Any] = []
    for band in bands:
        start, stop = max(band.least, left), min(band.below if band.below is not None else right, right)
        if band.mean is None or stop <= start:
            continue
        middle, half = (start + stop) / 2, (stop - start) * 0.42
        line = axes.plot(
            [middle - half, middle + half], [band.mean] * 2, color=INK, linewidth=2, zorder=3,
            solid_capstyle="butt", linestyle="-" if band.readable else (0, (2, 1.2)),
            label="class mean, 95 % interval",
        )[0]  # fmt: skip
        if band.low is not None and band.high is not None:
            axes.vlines(middle, band.low, band.high, color=INK, linewidth=1.3, zorder=3)
            cap = (right - left) * 0.008
            axes.hlines([band.low, band.high], middle - cap, middle + cap, color=INK, linewidth=1.3, zorder=3)
        if band.readable and not handle:
            handle = [line]
    return handle


def _name_bands(
    figure: Figure, axes: Axes, bands: Sequence[SizeBand], left: float, right: float, size: FigureSize
) -> None:
    """Write each class's name and n over its band, upright where the names would run into each other."""
    shown = []
    for band in bands:
        start, stop = max(band.least, left), min(band.below if band.below is not None else right, right)
        if stop > start and (stop - start) > 0.02 * (right - left):
            shown.append((band, start, stop))
    points = size.width * 72 * 0.84  # width of the axes, near enough
    wide = [(stop - start) / (right - left) * points for _, start, stop in shown]
    letter = 0.62 * (size.type_size - 1.5)
    upright = any(len(band.name) * letter > room for (band, _, _), room in zip(shown, wide, strict=True))
    for band, start, stop in shown:
        n = f"n {band.n_resulted}"
        axes.annotate(
            f"{band.name}, {n}" if upright else f"{band.name}\n{n}",
            ((start + stop) / 2, 1.0), xycoords=("data", "axes fraction"), xytext=(0, 3),
            textcoords="offset points", ha="center", va="bottom", rotation=90 if upright else 0,
            fontsize=size.type_size - 1.5, annotation_clip=False,
        )  # fmt: skip
