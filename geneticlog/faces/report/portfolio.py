"""The list of lakes as one HTML file: a list to work by, drawn row by row as it is needed, sorted and filtered.

The rows travel as data, a few hundred bytes a lake, and the page draws what is looked at; printed, it draws them all.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from geneticlog import __version__
from geneticlog.faces.app.numbers_in_words import NONE, day, percent, whole_percent, whole_range
from geneticlog.faces.report.html import render
from geneticlog.faces.report.owner_words import points_between
from geneticlog.faces.report.site_words import only_misread, rare_taxon
from geneticlog.rules.lakes.state import State
from geneticlog.rules.report.comparability import chance_not_ruled_out
from geneticlog.rules.sentences import listed, n_of
from geneticlog.rules.stamp import Stamp
from geneticlog.rules.statistics.estimates import LEAST_TO_READ
from geneticlog.settings import local_time
from geneticlog.work.portfolio.working_list import ListedLake

COLUMNS = (
    ("lake", "Lake"), ("why", "Needs attention"), ("state", "State"), ("share", "Share of ancestry"),
    ("change", "Change, in points"), ("on", "Last survey"), ("open", "Open"), ("step", "Next step"),
)  # fmt: skip


def lakes_html(lakes: Sequence[ListedLake], *, stamp: Stamp, links: Mapping[str, str] | None = None) -> str:
    """Return the page of all lakes.

    links
        lake code -> address of its report, beside this page.
    """
    from markupsafe import Markup

    data = list_data(lakes, today=stamp.now.date(), links=links or {})
    # what a lake is called may hold anything: no "<" is left to end the script that carries it
    carried = json.dumps(data, ensure_ascii=False, separators=(",", ":")).replace("<", "\\u003c")
    waiting = sum(bool(one.reasons) for one in lakes)
    return render(
        "lakes_report.html.j2",
        title=f"{_taxa(lakes)} ancestry: all lakes",
        under=f"{len(lakes):,} lake{'s' * (len(lakes) != 1)}, {waiting:,} to look at · {day(stamp.now.date())}",
        foot=f"geneticlog {__version__} · made {local_time(stamp.now, with_offset=True)} by {stamp.by}",
        columns=COLUMNS,
        states=[str(state) for state in State],
        owners=sorted({one.owner for one in lakes if one.owner}, key=str.casefold),
        counties=sorted({one.county for one in lakes if one.county}, key=str.casefold),
        data=Markup(carried),
    )


def _taxa(lakes: Sequence[ListedLake]) -> str:
    taxa = sorted({one.line.taxon for one in lakes if one.line.n_resulted})
    return " or ".join(taxa) or "Florida"


def list_data(lakes: Sequence[ListedLake], *, today: date, links: Mapping[str, str]) -> dict[str, Any]:
    """Return the rows as the page, and the printed list, take them: what is shown, and what it sorts by."""
    return {"rows": [_row(one, today, links.get(one.line.lake)) for one in lakes]}


def _row(listed: ListedLake, today: date, link: str | None) -> dict[str, Any]:
    line = listed.line
    row: dict[str, Any] = {
        "lake": line.name,
        "code": line.lake,
        "owner": listed.owner,
        "county": listed.county,
        "state": str(listed.state),
        "words": listed.state_words if listed.state_words != str(listed.state) else None,
        "why": "; ".join(listed.reasons) or None,
        "u": listed.urgency or None,
        "on": listed.last_survey_on.isoformat() if listed.last_survey_on else None,
        "age": age(listed.last_survey_on, today),
        "open": line.n_open_findings or None,
        "step": listed.next_step,
        "link": link,
        **_share(listed),
        **_changes(listed),
    }
    return {key: value for key, value in row.items() if value is not None}


def _share(one: ListedLake) -> dict[str, Any]:
    line = one.line
    number = line if line.mean is not None else line.swabbed  # without lengths there is no mean of the catch
    if number.mean is None:
        return {}
    if line.n_resulted < LEAST_TO_READ:
        return {"few": f"too few to read, {line.n_resulted} fish"}
    ends = [
        round(100 * (value if value is not None else number.mean), 1)
        for value in (number.low, number.mean, number.high)
    ]
    shown = whole_percent(number.mean)
    if only_misread(number):
        shown = f"no {rare_taxon(number.mean, line.taxon, line.other_taxon)} shown"
    return {
        "m": round(number.mean, 4),
        "bar": ends,
        "share": f"{shown} ({whole_range(number.low, number.high)})",
        "n": line.n_resulted,
        "miss": f"could miss {percent(line.unseen)}".replace(" %", "\u00a0%"),
    }


def _changes(one: ListedLake) -> dict[str, Any]:
    """Return the change of the lake, of its young and of its adults, each with its range in points."""
    line = one.line
    if line.change is None or line.change_low is None or line.change_high is None:
        return {}
    cells = [["lake", *change_cell(line.change, line.change_low, line.change_high, line.change_p_holm)]]
    for name in ("young", "adult"):
        part = getattr(line, name, None)
        if part is not None and part.low is not None:
            cells.append([name, *change_cell(part.difference, part.low, part.high, part.p_holm)])
    apart = listed([str(one) for one in line.change_differs]) if line.change_differs else ""
    care = f"compare with care: {apart} changed" if apart else None
    since = f"since {line.earlier_on.year}" if line.earlier_on else None
    return {"d": round(line.change, 4), "changes": cells, "care": care, "since": since}


def change_cell(change: float, low: float, high: float, p_holm: float | None = None) -> tuple[str, str]:
    """Return a change in whole points with its sign, and its range, with a word where chance is not ruled out."""
    whole = f"{abs(change) * 100:.0f}"
    sign = "" if whole == "0" else "+" if change > 0 else "−"
    ends = points_between(low, high).removesuffix(" points")
    if low >= 0 or high <= 0:  # both ends go one way: their signs are shown, as the change's is
        way = "+" if low >= 0 else "−"
        ends = " to ".join(end if end == "0" else signed(way, end) for end in ends.split(" to "))
    chance = "; may be chance" if chance_not_ruled_out(low, high, p_holm) else ""
    return f"{sign}{whole}", f"{ends}{chance}"


def signed(way: str, end: str) -> str:
    """Return an end of a range with its sign: +19, under +1."""
    return f"under {way}{end.removeprefix('under ')}" if end.startswith("under") else f"{way}{end}"


def age(on: date | None, today: date) -> str:
    """Return how long ago a survey was, as people say it."""
    if on is None:
        return NONE
    months = (today.year - on.year) * 12 + today.month - on.month - (today.day < on.day)
    if months < 1:
        return "this month"
    if months < 24:
        return f"{n_of(months, 'month')} ago"
    return f"{months // 12} years ago"
