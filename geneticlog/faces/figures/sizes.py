"""The one figure of the first page: the lake and its sizes, each a mark with its range, named where it stands."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from geneticlog.faces.app.numbers_in_words import whole_percent, whole_range
from geneticlog.faces.figures.history import TOPS
from geneticlog.faces.figures.style import (
    INK,
    SHALLOW,
    SILT,
    Drawing,
    FigureSize,
    drawing,
    drawn_once,
    new_figure,
)

if TYPE_CHECKING:
    from matplotlib.figure import Figure


@dataclass(frozen=True)
class SizeRow:
    """One line of the figure: the whole lake, or one size; ``then`` is the same of the survey before it.

    words: what is shown in place of a mark where there is none.
    """

    name: str
    n: int
    mean: float | None
    low: float | None
    high: float | None
    readable: bool
    then: float | None = None
    then_low: float | None = None
    then_high: float | None = None
    words: str = ""


@drawn_once
def sizes_figure(rows: Sequence[SizeRow], *, taxon: str, now: str, then: str) -> Drawing:
    """Return the figure: the first row is the whole lake, the others its sizes from small to large.

    now, then
        the years of this survey and of the one before, "" where there is none.
    """

    def draw(size: FigureSize) -> Figure:
        return _draw(rows, taxon, now, then, size)

    words = f"Share of {taxon} ancestry, {now}. " + "; ".join(
        f"{row.name}: {_value(row)}, {row.n} fish"
        + (f", {then}: {whole_percent(row.then)}" if row.then is not None else "")
        for row in rows
    )
    return drawing("sizes", f"{taxon} ancestry of the lake and of each size", f"{words}.", draw)


def _value(row: SizeRow) -> str:
    if row.mean is None or row.words:
        return row.words or "no result"
    return f"{whole_percent(row.mean)} ({whole_range(row.low, row.high)})"


def _draw(rows: Sequence[SizeRow], taxon: str, now: str, then: str, size: FigureSize) -> Figure:
    figure = new_figure(
        size,
        0.95 + (0.5 if size.narrow else max(0.46, min(1.9 / min(len(rows), 2), 3.0 / len(rows)))) * len(rows),
    )
    axes: Any = figure.add_subplot()
    drawn = [(row.then, row.then_high) for row in rows]
    drawn += [(row.mean, row.high) for row in rows if not row.words]
    ends = [value for pair in drawn for value in pair if value is not None]
    most = max(ends, default=1.0)
    top = next(value for value in TOPS if value >= min(most, 1.0))
    for at, row in enumerate(rows):
        y = -at - (0.25 if at else 0)
        if at % 2:
            axes.axhspan(y - 0.5, y + 0.5, color=SHALLOW, zorder=0, linewidth=0)
        if row.then is not None:
            if row.then_low is not None and row.then_high is not None:
                axes.plot([row.then_low, row.then_high], [y - 0.24] * 2, color=SILT, linewidth=1.4, zorder=2)
            axes.plot([row.then], [y - 0.24], marker="o", markersize=5, markerfacecolor="white",
                      markeredgecolor=SILT, zorder=3, clip_on=False)  # fmt: skip
        if row.mean is not None and not row.words:
            if row.low is not None and row.high is not None:
                axes.plot([row.low, row.high], [y] * 2, color=INK, linewidth=2 if at else 3.2, zorder=4,
                          solid_capstyle="butt", clip_on=False)  # fmt: skip
            axes.plot([row.mean], [y], marker="D" if not at else "o", markersize=7.5 if not at else 6.5,
                      markerfacecolor=INK if row.readable else "white", markeredgecolor=INK, zorder=5,
                      clip_on=False)  # fmt: skip
        axes.annotate(
            _value(row), (1.02, y), xycoords=("axes fraction", "data"), ha="left", va="center",
            fontsize=size.type_size, fontweight="normal" if at else "bold",
        )  # fmt: skip
    _name_the_years(axes, rows, now, then, size)
    axes.axhline(-0.62, color=INK, linewidth=0.8)
    axes.set_ylim(-len(rows) - 0.05 + 0.25 - 0.25, 0.62)
    axes.set_xlim(0, top)
    axes.set_yticks(
        [-at - (0.25 if at else 0) for at in range(len(rows))],
        [f"{row.name}\n{row.n} fish" for row in rows],
        fontsize=size.type_size,
    )
    axes.get_yticklabels()[0].set_fontweight("bold")
    axes.tick_params(axis="y", length=0, pad=9)  # a mark at 0 % reaches over the axis
    axes.spines["left"].set_visible(False)
    ticks = [top * part / 4 for part in range(5)] if not size.narrow else [0, top / 2, top]
    axes.set_xticks(ticks, [f"{value * 100:g} %" for value in ticks])
    axes.grid(axis="x", color=SILT, linewidth=0.4, linestyle=(0, (1, 2)), zorder=1)
    axes.set_xlabel(f"share of {taxon} ancestry")
    return figure


def _name_the_years(axes: Any, rows: Sequence[SizeRow], now: str, then: str, size: FigureSize) -> None:
    """Write the two years once, beside the marks of the first row that has both."""
    both = [
        at for at, row in enumerate(rows) if row.then is not None and row.mean is not None and not row.words
    ]
    if not then or not both:
        return
    at = both[0]
    row, y = rows[at], -at - (0.25 if at else 0)
    for value, dy, name, colour, side in (
        (row.high, 0.0, now, INK, "left"),
        (row.then_high if row.then_high is not None else row.then, -0.24, then, "#5c6a69", "left"),
    ):
        if value is not None:
            axes.annotate(
                name, (value, y + dy), xytext=(6, 2.5 if not dy else -2.5), textcoords="offset points", ha=side,
                va="center", fontsize=size.small, color=colour, zorder=6,
            )  # fmt: skip
