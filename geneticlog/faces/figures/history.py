"""The figure over time: means with their intervals, survey by survey, and the stockings between them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from geneticlog.faces.figures.style import (
    INK,
    SHALLOW,
    SILT,
    STOCKED,
    Drawing,
    FigureSize,
    drawing,
    drawn_once,
    new_figure,
)

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


MOST_BESIDE = 3  # panels in one row of a wide figure
TOPS = (0.1, 0.2, 0.4, 0.6, 0.8, 1.0)  # where the axis of a mean may end


@dataclass(frozen=True)
class Dot:
    """A mean with its interval at a survey date, and a line through the surveys there; absent numbers are not drawn."""

    surveyed_on: date
    survey: str
    mean: float | None
    low: float | None
    high: float | None
    n: int
    line: float | None = None


@dataclass(frozen=True)
class Series:
    """One part of the figure: the whole lake, the young or the adults, survey by survey."""

    name: str
    dots: tuple[Dot, ...]


@drawn_once
def history_figure(series: Sequence[Series], stockings: Sequence[date], *, taxon: str) -> Drawing:
    """Return the means of all surveys on a time axis, a panel each for the lake, its young and its adults.

    series
        each with the numbers weighted to its catch; a survey without a number in one is not drawn there.
    stockings
        their days; each is a line through every panel, with a triangle on top.
    """

    def draw(size: FigureSize) -> Figure:
        return _draw_history(series, stockings, taxon, size)

    described = []
    for line in series:
        parts = [
            f"{dot.surveyed_on.isoformat()}: {dot.mean:.3f}"
            + (f" ({dot.low:.3f} to {dot.high:.3f})" if dot.low is not None and dot.high is not None else "")
            + f", n {dot.n}"
            + (f", line {dot.line:.3f}" if dot.line is not None else "")
            for dot in line.dots
            if dot.mean is not None
        ]
        described.append(f"{line.name}: {'; '.join(parts) or 'none'}")
    words = f"Mean {taxon} allele proportion by survey, weighted to the catch. {'. '.join(described)}. "
    words += (
        f"Stockings: {', '.join(day.isoformat() for day in stockings)}."
        if stockings
        else "No stocking is on record."
    )
    return drawing("history", "Through the surveys, weighted to the catch", words, draw)


def _draw_history(
    series: Sequence[Series], stockings: Sequence[date], taxon: str, size: FigureSize
) -> Figure:
    in_two_rows = not size.narrow and len(series) > MOST_BESIDE
    figure = new_figure(size, 1.0 + 1.75 * len(series) if size.narrow else 5.4 if in_two_rows else 2.9)
    shape = (len(series), 1) if size.narrow else (2, 2) if in_two_rows else (1, len(series))
    every: Any = figure.subplots(*shape, sharex=True, sharey=True, squeeze=False)
    days = [dot.surveyed_on for one in series for dot in one.dots] + list(stockings)
    first, last = min(days), max(days)
    spare = timedelta(days=max((last - first).days, 365) * 0.14)
    ends = [v for one in series for dot in one.dots for v in (dot.mean, dot.high) if v is not None]
    top = next(value for value in TOPS if value >= min(max(ends, default=1.0), 1.0))
    for line, axes in zip(series, every.flat, strict=True):
        for on in stockings:
            axes.axvline(on, color=STOCKED, linewidth=1.1, linestyle=(0, (4, 2)), zorder=1)
            axes.plot([on], [1.0], marker="v", color=STOCKED, markersize=6, clip_on=False, zorder=3,
                      transform=axes.get_xaxis_transform())  # fmt: skip
        _draw_dots(axes, line.dots, top, size)
        axes.set_title(line.name, fontsize=size.type_size, pad=9)
        axes.set_ylim(0, top * 1.04)
        axes.grid(axis="y", color=SHALLOW, linewidth=0.8, zorder=0)
        axes.set_axisbelow(True)
    axes = every.flat[0]
    axes.set_xlim(first - spare, last + spare)
    surveyed = sorted({dot.surveyed_on for one in series for dot in one.dots})
    most = 4 if size.narrow or len(series) == 1 else 3
    shown = surveyed[:: -(-len(surveyed) // most)]
    one_year = len({day.year for day in shown}) < len(shown)
    axes.set_xticks(shown, [f"{day:%b %Y}" if one_year else f"{day:%Y}" for day in shown])
    axes.set_xlim(first - spare, last + spare)
    axes.set_yticks([top * part / 4 for part in range(5)])
    label = f"mean {taxon}\nproportion, q" if size.narrow else f"mean {taxon} proportion, q"
    for line in every[:, 0]:
        line.set_ylabel(label)
    return figure


def _draw_dots(axes: Axes, dots: Sequence[Dot], top: float, size: FigureSize) -> None:
    """Draw means with their intervals, joined, and beside each the number of fish behind it."""
    with_mean = [dot for dot in dots if dot.mean is not None]
    x: list[Any] = [dot.surveyed_on for dot in with_mean]
    means: list[Any] = [dot.mean for dot in with_mean]
    on_line: list[Any] = [dot.line for dot in with_mean if dot.line is not None]
    if len(on_line) == len(with_mean) > 1:
        axes.plot(x, on_line, color=INK, linewidth=1.6, zorder=2)
    joined = ":" if len(with_mean) > 1 and not on_line else "none"
    axes.plot(x, means, marker="o", markersize=5.5, markerfacecolor="white", markeredgecolor=INK, color=SILT,
              linewidth=0.9, linestyle=joined, zorder=4, clip_on=False)  # fmt: skip
    for at, dot in zip(x, with_mean, strict=True):
        if dot.low is not None and dot.high is not None:
            axes.plot([at, at], [dot.low, dot.high], color=INK, linewidth=1.4, zorder=3)
        above = dot.high if dot.high is not None else dot.mean or 0.0
        low = above > 0.9 * top  # no room above: the number stands beside the mark
        axes.annotate(
            f"n {dot.n}", (at, (dot.mean or 0.0) if low else above), xytext=(6, 0) if low else (0, 3),
            textcoords="offset points", ha="left" if low else "center", va="center" if low else "bottom",
            fontsize=size.small,
        )  # fmt: skip
