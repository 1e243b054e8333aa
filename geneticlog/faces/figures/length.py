"""Figure: the taxon's allele proportion of every fish against its length, this survey over the one before.

More than two surveys get a panel each, on the same axes.
"""

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
    crowds,
    drawing,
    drawn_once,
    kind_of,
    new_figure,
)

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

BIN_WIDTH = {"mm": (10, 20, 25, 50, 100), "cm": (1, 2, 5, 10), "in": (0.5, 1, 2, 5)}
MOST_BINS = 34
BAND = "#b9cfc9"  # the interval of a class mean, under its fish


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


@dataclass(frozen=True)
class LengthPanel:
    """One survey: its name or year, its fish with a result, its size classes."""

    name: str
    fish: tuple[FishMark, ...]
    bands: tuple[SizeBand, ...]

    @property
    def measured(self) -> list[tuple[float, FishMark]]:
        return [(one.length, one) for one in self.fish if one.length is not None]


@drawn_once
def length_figure(
    panels: Sequence[LengthPanel],
    caught: Sequence[tuple[float, int]],
    swabbed: Sequence[float],
    *,
    unit: str,
    taxon: str,
    other_taxon: str,
) -> Drawing:
    """Return the figure of q against total length.

    panels
        surveys by date, the one reported last; a fish without a length is left out and named in the text alternative.
    caught, swabbed
        (total length, number of fish) of the whole measured catch of the last, and the lengths of its swabbed ones;
        in ``unit``.
    """
    last = panels[-1]

    def draw(size: FigureSize) -> Figure:
        if len(panels) > 2:
            return _draw_each(panels, unit, taxon, other_taxon, size)
        return _draw_one(panels, caught, swabbed, unit, taxon, other_taxon, size)

    parts = [
        f"{size_class.name}: mean {size_class.mean:.3f}"
        + (
            f", interval {size_class.low:.3f} to {size_class.high:.3f}"
            if size_class.low is not None and size_class.high is not None
            else ""
        )
        + f", n {size_class.n_resulted} of {size_class.n_caught} caught"
        for size_class in last.bands
        if size_class.mean is not None
    ]
    words = f"{taxon} allele proportion of {len(last.measured)} fish against total length in {unit}. "
    words += ("Class means: " + "; ".join(parts) + ". ") if parts else "No fish has a result yet. "
    words += f"{sum(n for _, n in caught)} fish were caught and {len(swabbed)} swabbed."
    if len(last.measured) < len(last.fish):
        words += (
            f" {len(last.fish) - len(last.measured)} fish with a result but without a length are not drawn."
        )
    if len(panels) > 1:
        words += f" With the surveys before: {', '.join(one.name for one in panels[:-1])}."
    return drawing("length", f"{taxon} ancestry against length, every fish", words, draw)


def bin_edges(caught: Sequence[tuple[float, int]], unit: str) -> list[float]:
    """Return edges of equal whole-numbered bins that hold every length, few enough to be told apart."""
    least, most = min(length for length, _ in caught), max(length for length, _ in caught)
    for width in BIN_WIDTH[unit]:
        first = math.floor(least / width) * width
        n = math.floor((most - first) / width) + 1
        if n <= MOST_BINS:
            break
    return [first + width * at for at in range(n + 1)]


def _reach(lengths: Sequence[float]) -> tuple[float, float]:
    there = list(lengths) or [0.0, 1.0]
    reach = (max(there) - min(there)) or max(there) * 0.2
    return min(there) - 0.06 * reach, max(there) + 0.06 * reach


def _draw_one(
    panels: Sequence[LengthPanel],
    caught: Sequence[tuple[float, int]],
    swabbed: Sequence[float],
    unit: str,
    taxon: str,
    other_taxon: str,
    size: FigureSize,
) -> Figure:
    """Draw the catch above, and below it this survey over the one before."""
    figure = new_figure(size, 4.6 if not size.narrow else 5.0)
    grid = figure.add_gridspec(2, 1, height_ratios=[1, 4], hspace=0.02)
    below = figure.add_subplot(grid[1])
    above = figure.add_subplot(grid[0], sharex=below)
    now, before = panels[-1], panels[-2] if len(panels) > 1 else None
    left, right = _reach(
        [length for length, _ in caught] + [length for one in panels for length, _ in one.measured]
    )
    _draw_catch(above, caught, swabbed, unit)
    _draw_limits((above, below), now.bands, left, right)
    _label_axes(below, unit, taxon, left, right)
    below.set_ylabel(f"{taxon} allele proportion, q")
    handles = []
    if before is not None:
        handles += _draw_before(below, before, left, right)
    handles += _draw_fish(below, now, taxon, other_taxon, (right - left, size))
    handles += _draw_means(below, now.bands, left, right)
    handles += above.get_legend_handles_labels()[0]
    figure.legend(handles=handles, loc="outside lower left", ncols=2 if size.narrow else 4)
    _name_bands(below, now.bands, left, right, size)
    return figure


def _draw_each(
    panels: Sequence[LengthPanel], unit: str, taxon: str, other_taxon: str, size: FigureSize
) -> Figure:
    """Draw a panel for each survey on the same axes."""
    across = 2 if size.narrow else 3
    down = math.ceil(len(panels) / across)
    figure = new_figure(size, 0.7 + 2.1 * down)
    every: Any = figure.subplots(down, across, sharex=True, sharey=True, squeeze=False)
    left, right = _reach([length for one in panels for length, _ in one.measured])
    handles: dict[str, Any] = {}
    for at, axes in enumerate(every.flat):
        if at >= len(panels):
            axes.set_visible(False)
            continue
        panel = panels[at]
        _draw_limits((axes,), panel.bands, left, right)
        drawn = [
            *_draw_fish(axes, panel, taxon, other_taxon, ((right - left) * across, size)),
            *_draw_means(axes, panel.bands, left, right),
        ]
        handles |= {one.get_label(): one for one in drawn}
        _label_axes(axes, unit, taxon, left, right)
        axes.set_title(f"{panel.name}, n {len(panel.measured)}", fontsize=size.type_size)
        if at // across < down - 1 and at + across < len(panels):
            axes.set_xlabel("")
    for axes in every[:, 0]:
        axes.set_ylabel(f"{taxon} share, q")
    figure.legend(handles=list(handles.values()), loc="outside lower left", ncols=2 if size.narrow else 4)
    return figure


def _label_axes(axes: Axes, unit: str, taxon: str, left: float, right: float) -> None:
    from matplotlib.ticker import MaxNLocator

    axes.set_xlim(left, right)
    axes.set_ylim(-0.04, 1.04)
    axes.set_yticks([0, 0.25, 0.5, 0.75, 1])
    axes.set_xlabel(f"total length ({unit})")
    axes.xaxis.set_major_locator(MaxNLocator(nbins=6, integer=True, steps=[1, 2, 5, 10]))


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


def _draw_limits(every: Sequence[Axes], bands: Sequence[SizeBand], left: float, right: float) -> None:
    for at, band in enumerate(bands):
        start, stop = max(band.least, left), min(band.below if band.below is not None else right, right)
        if stop <= start:
            continue
        for axes in every:
            if at % 2:
                axes.axvspan(start, stop, color=SHALLOW, zorder=0, linewidth=0)
            if band.least > left:
                axes.axvline(band.least, color=SILT, linewidth=0.6, linestyle=(0, (1, 2)), zorder=1)


def _draw_before(axes: Axes, before: LengthPanel, left: float, right: float) -> list[Any]:
    """Draw the survey before in the background: small hollow marks and dashed class means."""
    fish = before.measured
    marks = axes.scatter(
        [length for length, _ in fish], [one.q for _, one in fish], marker="o", s=13, facecolor="none",
        edgecolor=SILT, linewidth=0.8, zorder=2, label=f"{before.name}, every fish", clip_on=False,
    )  # fmt: skip
    handles: list[Any] = [marks]
    for band in before.bands:
        start, stop = max(band.least, left), min(band.below if band.below is not None else right, right)
        if band.mean is not None and band.readable and stop > start:
            line = axes.plot([start, stop], [band.mean] * 2, color=SILT, linewidth=1.6, linestyle=(0, (4, 2)),
                             zorder=2, label=f"{before.name}, class mean")[0]  # fmt: skip
            if len(handles) == 1:
                handles.append(line)
    return handles


def _draw_fish(
    axes: Axes, panel: LengthPanel, taxon: str, other_taxon: str, room: tuple[float, FigureSize]
) -> list[Any]:
    """Draw every fish by its kind; where three or more lie under one mark their number stands above it."""
    reach, size = room
    fish, handles = panel.measured, []
    for name in dict.fromkeys((other_taxon, "intergrade", "F1", taxon, "undetermined")):
        these = [(length, one) for length, one in fish if (one.ancestry_class or "undetermined") == name]
        if these:
            kind = kind_of(name, taxon, other_taxon)
            handles.append(
                axes.scatter(
                    [length for length, _ in these], [one.q for _, one in these], marker=kind.mark,
                    s=26 * kind.size, facecolor=kind.face, edgecolor=INK, linewidth=0.7, zorder=4, label=name,
                    clip_on=False,
                )
            )  # fmt: skip
    doubtful = [(length, one) for length, one in fish if one.doubtful]
    if doubtful:
        handles.append(
            axes.scatter(
                [length for length, _ in doubtful], [one.q for _, one in doubtful], marker="o", s=110,
                facecolor="none", edgecolor=STOCKED, linewidth=1.1, zorder=5, label="doubtful", clip_on=False,
            )
        )  # fmt: skip
    mark = reach * 0.075 / size.width, 0.02  # the size of a mark in the units of the axes, near enough
    for x, y, n in crowds([(length, one.q) for length, one in fish], mark):
        axes.annotate(f"{n}", (x, y), xytext=(0, 4.5), textcoords="offset points", ha="center", va="bottom",
                      fontsize=size.small, zorder=6)  # fmt: skip
    return handles


def _draw_means(axes: Axes, bands: Sequence[SizeBand], left: float, right: float) -> list[Any]:
    """Draw the mean of each class as a line over its lengths, its interval as a band behind it."""
    from matplotlib.patches import Rectangle

    handles: list[Any] = []
    for band in bands:
        start, stop = max(band.least, left), min(band.below if band.below is not None else right, right)
        if band.mean is None or stop <= start:
            continue
        line = axes.plot(
            [start, stop], [band.mean] * 2, color=INK, linewidth=2, zorder=3, solid_capstyle="butt",
            linestyle="-" if band.readable else (0, (2, 1.2)), label="class mean",
        )[0]  # fmt: skip
        if band.low is None or band.high is None:
            continue
        box = Rectangle(
            (start, band.low), stop - start, band.high - band.low, facecolor=BAND if band.readable else "none",
            alpha=0.55 if band.readable else None, edgecolor="none" if band.readable else SILT, linewidth=0.8,
            linestyle="-" if band.readable else ":", zorder=1, label="its 95 % interval",
        )  # fmt: skip
        axes.add_patch(box)
        if band.readable and not handles:
            handles = [line, box]
    return handles


def _name_bands(axes: Axes, bands: Sequence[SizeBand], left: float, right: float, size: FigureSize) -> None:
    """Write each class's name and n over its band, upright where the names would run into each other."""
    shown = []
    for band in bands:
        start, stop = max(band.least, left), min(band.below if band.below is not None else right, right)
        if stop > start and (stop - start) > 0.02 * (right - left):
            shown.append((band, start, stop))
    points = size.width * 72 * 0.84  # width of the axes, near enough
    wide = [(stop - start) / (right - left) * points for _, start, stop in shown]
    letter = 0.62 * size.small
    upright = any(len(band.name) * letter > room for (band, _, _), room in zip(shown, wide, strict=True))
    for band, start, stop in shown:
        n = f"n {band.n_resulted}"
        axes.annotate(
            f"{band.name}, {n}" if upright else f"{band.name}\n{n}",
            ((start + stop) / 2, 1.0), xycoords=("data", "axes fraction"), xytext=(0, 3),
            textcoords="offset points", ha="center", va="bottom", rotation=90 if upright else 0,
            fontsize=size.small, annotation_clip=False,
        )  # fmt: skip
