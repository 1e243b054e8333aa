"""The portfolio as one HTML file: what needs attention on top, every lake in a table that sorts itself."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from geneticlog import __version__
from geneticlog.faces.app.numbers_in_words import (
    NONE,
    day,
    p_value,
    percent,
    points_range,
    three,
    three_range,
)
from geneticlog.faces.figures.style import Drawing
from geneticlog.faces.report.html import inline_figures, render
from geneticlog.work.portfolio.gather import LakeLine

MOST_ON_TOP = 25


def portfolio_html(lines: Sequence[LakeLine], drawing: Drawing | None, *, now: datetime, by: str) -> str:
    """Return the page of all lakes."""
    waiting = [line for line in lines if line.reasons]
    return render(
        "lakes_report.html.j2",
        title="All lakes",
        under=f"{'1 lake' if len(lines) == 1 else f'{len(lines)} lakes'}, {len(waiting) or 'none'} of them "
        f"in need of attention · {day(now.date())}",
        foot=f"geneticlog {__version__} · made {now:%Y-%m-%d %H:%M} UTC by {by}",
        waiting=[_attention(line) for line in waiting[:MOST_ON_TOP]],
        n_more=max(0, len(waiting) - MOST_ON_TOP),
        columns=COLUMNS,
        n_changes=sum(line.change_p is not None for line in lines),
        rows=[_row(line) for line in lines],
        figures=inline_figures([drawing]) if drawing else {},
        figure=drawing,
    )


COLUMNS = [
    {"label": label, "number": number}
    for label, number in (
        ("lake", False), ("code", False), ("survey", False), ("days since", True), ("fish", True), ("mean q", True),
        ("95 % interval", False), ("0 to 1", False), ("can miss", True), ("change", True),
        ("p", True), ("p, Holm", True), ("result of swabbed", True),
        ("open", True), ("needs attention", False),
    )
]  # fmt: skip


def _attention(line: LakeLine) -> dict[str, str]:
    return {"name": line.name, "lake": line.lake, "why": "; ".join(line.reasons)}


def _row(line: LakeLine) -> dict[str, Any]:
    """Return the cells of a lake, each with what it sorts by."""
    change = NONE
    if line.change is not None:
        change = f"{line.change:+.3f}".replace("-", "−")
        if line.change_low is not None and line.change_high is not None:
            change += f" ({points_range(line.change_low, line.change_high)})"
        if line.change_differs:
            change += f"; differs in {', '.join(line.change_differs)}"
    interval = three_range(line.low, line.high) + (
        f" ({line.guard})" if line.guard and line.n_resulted else ""
    )
    bar = None
    if line.mean is not None:
        bar = {
            "mean": round(line.mean * 100, 1),
            "low": round((line.low if line.low is not None else line.mean) * 100, 1),
            "high": round((line.high if line.high is not None else line.mean) * 100, 1),
        }
    return {
        "name": line.name,
        "bar": bar,
        "cells": [
            (line.lake, line.lake),
            (line.survey or NONE, line.surveyed_on.isoformat() if line.surveyed_on else ""),
            (str(line.days_since) if line.days_since is not None else NONE, _sort(line.days_since)),
            (str(line.n_resulted), _sort(line.n_resulted)),
            (three(line.mean), _sort(line.mean)),
            (interval, _sort(line.low)),
            None,
            (percent(line.unseen), _sort(line.unseen)),
            (change, _sort(line.change)),
            (p_value(line.change_p), _sort(line.change_p)),
            (p_value(line.change_p_holm), _sort(line.change_p_holm)),
            (percent(line.coverage), _sort(line.coverage)),
            (str(line.n_open_findings), _sort(line.n_open_findings)),
            ("; ".join(line.reasons) or "nothing", str(line.urgency)),
        ],
    }


def _sort(value: float | None) -> str:
    return "" if value is None else f"{value:.6g}"
