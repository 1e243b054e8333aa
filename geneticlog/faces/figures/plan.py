"""The trade-off of a sampling plan, drawn: half-width of a mean against fish in each class."""

from __future__ import annotations

import io
from pathlib import Path
from typing import TYPE_CHECKING

from geneticlog.errors import Refused
from geneticlog.store.writing import write_whole

if TYPE_CHECKING:
    from geneticlog.work.plan.make_plan import Plan, TradeOff

KINDS = ("svg", "png", "pdf")


def kind_of(path: Path) -> str:
    """Return svg, png or pdf by the ending of a file's name. Raises Refused for another ending."""
    kind = path.suffix.lower().lstrip(".")
    if kind not in KINDS:
        raise Refused(f"{path.name}: a figure is written as .svg, .png or .pdf")
    return kind


def draw_trade_off(plan: Plan, path: Path) -> None:
    """Write the figure as SVG, PNG or PDF by the ending of the name. Raises Refused for another ending.

    Below five fish a class is too few to read: there the curve of a class is not drawn.
    """
    kind = kind_of(path)
    from matplotlib.figure import Figure

    from geneticlog.rules.statistics.estimates import LEAST_TO_READ

    figure = Figure(figsize=(6.4, 4.2), layout="constrained")
    axes = figure.add_subplot()
    lines = [line for line in plan.trade_off if line.fish_a_class >= LEAST_TO_READ]
    fish = [line.fish_a_class for line in lines]
    of_class = [line.half_width or 0.0 for line in lines]
    axes.plot(fish, of_class, color="#1b4965", marker="o", label="one size class")
    tops = list(of_class)
    of_lake = _of_lake(lines)
    if of_lake is not None:
        axes.plot(
            fish,
            of_lake,
            color="#8a3b12",
            marker="s",
            linestyle="--",
            label="catch-weighted mean of the lake",
        )
        tops += of_lake
    axes.axvspan(0, LEAST_TO_READ, color="#eeeeee", zorder=0)
    axes.text(
        LEAST_TO_READ / 2, 0.02, "too few to read", rotation=90, ha="center", va="bottom", color="#444444",
        transform=axes.get_xaxis_transform(),
    )  # fmt: skip
    axes.set_ylim(0, 1.1 * max(tops))
    axes.set_xlim(0, max(fish) + 2)
    axes.set_xticks([5, 10, 15, 20, 30, 45, 60])
    axes.set_xlabel("fish typed in each size class")
    axes.set_ylabel("± to expect of mean q (half of the 95 % interval)")
    axes.set_title(f"{plan.lake}: what more fish would show", loc="left")
    axes.grid(color="#cccccc", linewidth=0.6)
    axes.spines[["top", "right"]].set_visible(False)
    axes.legend(loc="upper right", facecolor="white", edgecolor="none", framealpha=1)
    buffer = io.BytesIO()
    figure.savefig(buffer, format=kind, dpi=150)
    write_whole(path, buffer.getvalue())


def _of_lake(lines: list[TradeOff]) -> list[float] | None:
    found = [line.lake_half_width for line in lines if line.lake_half_width is not None]
    return found if len(found) == len(lines) else None
