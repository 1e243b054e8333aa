"""The trade-off of a sampling plan, drawn: half-width of a mean against fish in each class."""

from __future__ import annotations

import io
from pathlib import Path
from typing import TYPE_CHECKING

from geneticlog.errors import Refused
from geneticlog.store.writing import write_whole

if TYPE_CHECKING:
    from geneticlog.work.sampling_plan import Plan


def draw_trade_off(plan: Plan, path: Path) -> None:
    """Write the figure as SVG, PNG or PDF by the ending of the name. Raises Refused for another ending."""
    kind = path.suffix.lower().lstrip(".")
    if kind not in {"svg", "png", "pdf"}:
        raise Refused(f"{path.name}: a figure is written as .svg, .png or .pdf")
    from matplotlib.figure import Figure

    figure = Figure(figsize=(6.4, 4.0), layout="constrained")
    axes = figure.add_subplot()
    fish = [line.fish_a_class for line in plan.trade_off]
    axes.plot(
        fish,
        [line.half_width for line in plan.trade_off],
        color="#1b4965",
        marker="o",
        label="one size class",
    )
    if all(line.lake_half_width is not None for line in plan.trade_off):
        axes.plot(
            fish,
            [line.lake_half_width or 0.0 for line in plan.trade_off],
            color="#8a3b12",
            marker="s",
            linestyle="--",
            label="catch-weighted mean of the lake",
        )
    axes.set_ylim(0, min(0.8, 1.05 * max(line.half_width for line in plan.trade_off)))
    axes.set_xlim(0, max(fish) + 2)
    axes.set_xlabel("fish swabbed in each size class")
    axes.set_ylabel("expected half-width of mean q (95 %)")
    axes.set_title(f"{plan.lake}: what more fish would tell", loc="left")
    axes.grid(color="#cccccc", linewidth=0.6)
    axes.spines[["top", "right"]].set_visible(False)
    axes.legend(loc="upper right", frameon=False)
    buffer = io.BytesIO()
    figure.savefig(buffer, format=kind, dpi=150)
    write_whole(path, buffer.getvalue())
