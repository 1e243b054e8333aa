"""Figures over time and over lakes: means with their intervals, stockings on the axis."""

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
    new_figure,
)

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


@dataclass(frozen=True)
class Dot:
    """A mean with its interval at a survey date; absent numbers are not drawn."""

    surveyed_on: date
    survey: str
    mean: float | None
    low: float | None
    high: float | None
    n: int


@dataclass(frozen=True)
class StockingMark:
    """One stocking on the time axis."""

    stocked_on: date
    label: str


@dataclass(frozen=True)
class LakeDot:
    """One lake in the portfolio: its latest mean and interval."""

    lake: str
    mean: float | None
    low: float | None
    high: float | None
    n: int
    readable: bool


def history_figure(
    swabbed: Sequence[Dot], weighted: Sequence[Dot], stockings: Sequence[StockingMark], *, taxon: str
) -> Drawing:
    """Return the means of all surveys on a time axis: of the swabbed fish, and weighted to the catch."""

    def draw(size: FigureSize) -> Figure:
        return _draw_history(swabbed, weighted, stockings, taxon, size)

    told = [
        f"{dot.surveyed_on.isoformat()}: {dot.mean:.3f}"
        + (f" ({dot.low:.3f} to {dot.high:.3f})" if dot.low is not None and dot.high is not None else "")
        + f", n {dot.n}"
        for dot in swabbed
        if dot.mean is not None
    ]
    words = f"Mean {taxon} allele proportion of the swabbed fish by survey: {'; '.join(told) or 'none yet'}. "
    words += (
        "Stockings: " + "; ".join(f"{one.stocked_on.isoformat()} {one.label}" for one in stockings) + "."
        if stockings
        else "No stocking is on record."
    )
    return drawing("history", "All surveys and stockings", words, draw)


def _draw_history(
    swabbed: Sequence[Dot],
    weighted: Sequence[Dot],
    stockings: Sequence[StockingMark],
    taxon: str,
    size: FigureSize,
) -> Figure:
    from matplotlib.dates import AutoDateLocator, ConciseDateFormatter

    dates: Any = AutoDateLocator
    formatter: Any = ConciseDateFormatter

    figure = new_figure(size, 3.4)
    axes: Any = figure.add_subplot()
    days = [dot.surveyed_on for dot in swabbed] + [one.stocked_on for one in stockings]
    first, last = min(days), max(days)
    reach = max((last - first).days, 400)  # one survey alone still stands in a year, its marks side by side
    spare = timedelta(days=(reach - (last - first).days) / 2 + reach * 0.07)
    apart = timedelta(days=max(1, round(reach * (0.012 if size.narrow else 0.007))))
    axes.set_xlim(first - spare, last + spare)
    axes.set_ylim(0, 1.0)
    handles = []
    for at, one in enumerate(stockings):
        line = axes.axvline(one.stocked_on, color=STOCKED, linewidth=1.1, linestyle=(0, (4, 2)), zorder=1)
        axes.plot(
            [one.stocked_on], [1.0], marker="v", color=STOCKED, markersize=6, clip_on=False, zorder=3,
            transform=axes.get_xaxis_transform(),
        )  # fmt: skip
        axes.annotate(
            one.label, (one.stocked_on, 0.985), xycoords=("data", "axes fraction"), xytext=(3.5, 0),
            textcoords="offset points", rotation=90, ha="left", va="top", fontsize=size.type_size - 2, color=STOCKED,
        )  # fmt: skip
        if at == 0:
            line.set_label("stocking")
            handles.append(line)
    for dots, shift, label, face in (
        (swabbed, -apart, "swabbed fish", "white"),
        (weighted, apart, "weighted to the catch", INK),
    ):
        drawn = _draw_dots(axes, dots, shift, label, face)
        if drawn is not None:
            handles.append(drawn)
    locator = dates(minticks=2, maxticks=4 if size.narrow else 8)
    axes.xaxis.set_major_locator(locator)
    axes.xaxis.set_major_formatter(formatter(locator, show_offset=reach < 300))
    axes.set_ylabel(f"mean {taxon} proportion, q")
    axes.grid(axis="y", color=SHALLOW, linewidth=0.8, zorder=0)
    axes.set_axisbelow(True)
    if handles:
        figure.legend(handles=handles, loc="outside lower left", ncols=2 if size.narrow else 3)
    return figure


def _draw_dots(axes: Axes, dots: Sequence[Dot], shift: timedelta, label: str, face: str) -> Any:
    there = [dot for dot in dots if dot.mean is not None]
    if not there:
        return None
    x: list[Any] = [dot.surveyed_on + shift for dot in there]
    for at, dot in zip(x, there, strict=True):
        if dot.low is not None and dot.high is not None:
            axes.plot([at, at], [dot.low, dot.high], color=INK, linewidth=1.3, zorder=3)
    means: list[Any] = [dot.mean for dot in there]
    return axes.plot(
        x, means, marker="o" if face == "white" else "s", markersize=5.5, markerfacecolor=face,
        markeredgecolor=INK, linestyle=":" if len(there) > 1 else "none", color=SILT, linewidth=0.9, label=label,
        zorder=4,
    )[0]  # fmt: skip


def portfolio_figure(lakes: Sequence[LakeDot], *, taxon: str, most_named: int = 60) -> Drawing:
    """Return every lake as a dot with its interval, lowest first; beyond ``most_named`` lakes without their names."""
    there = sorted(
        (lake for lake in lakes if lake.mean is not None), key=lambda lake: (lake.mean or 0.0, lake.lake)
    )

    def draw(size: FigureSize) -> Figure:
        return _draw_portfolio(there, taxon, most_named, size)

    without = len(lakes) - len(there)
    words = f"Mean {taxon} allele proportion of {len(there)} lakes, lowest first"
    if there:
        words += f", from {there[0].mean:.3f} ({there[0].lake}) to {there[-1].mean:.3f} ({there[-1].lake})"
    words += f". {without} lakes have no result yet and are not drawn." if without else "."
    return drawing("portfolio", "Every lake with its interval", words, draw)


def _draw_portfolio(lakes: Sequence[LakeDot], taxon: str, most_named: int, size: FigureSize) -> Figure:
    from matplotlib.collections import LineCollection

    named = len(lakes) <= most_named
    figure = new_figure(size, 1.1 + 0.2 * max(len(lakes), 2) if named else 6.0)
    axes: Any = figure.add_subplot()
    if named:
        axes.barh(
            [at for at in range(len(lakes)) if at % 2], 1, height=1, color=SHALLOW, zorder=0, linewidth=0
        )
    bars = [
        [(lake.low, at), (lake.high, at)]
        for at, lake in enumerate(lakes)
        if lake.low is not None and lake.high is not None
    ]
    axes.add_collection(
        LineCollection(bars, colors=INK if named else SILT, linewidths=1.2 if named else 0.5, zorder=2)
    )
    handles = []
    for readable, face, label in (
        (True, INK, "mean, 95 % interval"),
        (False, "white", "mean of too few fish to read"),
    ):
        these = [(lake.mean, at) for at, lake in enumerate(lakes) if lake.readable == readable]
        if these:
            handles.append(
                axes.scatter(
                    [mean for mean, _ in these], [at for _, at in these], s=26 if named else 5, facecolor=face,
                    edgecolor=INK, linewidth=0.8 if named else 0.4, zorder=3, label=label, clip_on=False,
                )
            )  # fmt: skip
    axes.set_xlim(0, 1)
    axes.set_ylim(-0.7, max(len(lakes), 1) - 0.3)
    axes.set_xlabel(
        f"mean {taxon} proportion, q"
        if size.narrow
        else f"mean {taxon} allele proportion of the swabbed fish, q"
    )
    if named:
        most = 16 if size.narrow else 34
        names = [lake.lake if len(lake.lake) <= most else lake.lake[: most - 1] + "…" for lake in lakes]
        told = [f"{name}, n {lake.n}" for name, lake in zip(names, lakes, strict=True)]
        axes.set_yticks(range(len(lakes)), [name.replace("$", r"\$") for name in told])
        axes.tick_params(axis="y", length=0)
    else:
        axes.set_yticks([])
        axes.set_ylabel(f"{len(lakes)} lakes, lowest mean first")
    if handles:
        figure.legend(handles=handles, loc="outside lower left", ncols=1 if size.narrow else 2)
    return figure
