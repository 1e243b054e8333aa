"""The section on the next survey: fish wanted by size, what an outing is likely to bring, and what it costs."""

from __future__ import annotations

from dataclasses import dataclass

from geneticlog.faces.app.numbers_in_words import NONE, three
from geneticlog.faces.report.blocks import Block, table, text
from geneticlog.rules.sentences import listed
from geneticlog.work.report.facts import LakeFacts


@dataclass(frozen=True)
class NextRow:
    """One size class of the next survey: what is known now, and the plan; one row for page, tables and JSON.

    half_width: of the class mean now; half_width_then: to expect of it with n_wanted fish. n_wanted: fish to swab so
    that the lake's mean gets the half-width planned for. n_for_half_width: fish to swab so that the class's own mean
    gets the half-width that was asked for (``--half-width``); None where that cannot be planned.
    """

    size_class: str
    n_resulted: int | None
    half_width: float | None
    spread: float | None
    borrowed: bool
    likely_catch: float | None
    n_wanted: int
    half_width_then: float | None
    cost: float | None
    n_for_half_width: int | None


def next_rows(lake: LakeFacts) -> list[NextRow]:
    """Return a row for each size class of the plan for the next survey; [] without a plan."""
    if lake.next_plan is None:
        return []
    now = {row.size_class: row for row in lake.main.classes} if lake.main is not None else {}
    alone = {row.size_class: row for row in lake.next_time}
    rows = []
    for planned in lake.next_plan.classes:
        row, own = now.get(planned.size_class), alone.get(planned.size_class)
        half = None if row is None or row.low is None or row.high is None else (row.high - row.low) / 2
        rows.append(
            NextRow(
                planned.size_class, None if row is None else row.n_resulted, half, own.spread if own else None,
                own.borrowed if own else False, planned.likely_catch, planned.n_wanted,
                planned.half_width if planned.n_wanted else None, planned.cost, own.n_for_half_width if own else None,
            )
        )  # fmt: skip
    return rows


def next_blocks(lake: LakeFacts) -> list[Block]:
    """Return the sentence and the table of the plan for the next survey."""
    plan = lake.next_plan
    if plan is None:
        return [
            text(
                "No plan could be worked out for this lake; ask for one with your own wishes: geneticlog plan."
            )
        ]
    planned = next_rows(lake)
    rows = [
        [one.size_class, NONE if one.n_resulted is None else str(one.n_resulted), three(one.half_width),
         _fish(one.likely_catch), str(one.n_wanted), three(one.half_width_then), _dollars(one.cost)]
        for one in planned
    ]  # fmt: skip
    rows.append(["all", str(lake.main.n_resulted) if lake.main else NONE, NONE, NONE, str(plan.n_fish),
                 three(plan.half_width), _dollars(plan.cost)])  # fmt: skip
    columns = [("size class", False), ("result now", True), ("half-width\nnow", True), ("likely\ncatch", True),
               ("fish to swab", True), ("half-width\nthen", True), ("lab fees", True)]  # fmt: skip
    wider = [one.size_class for one in planned if _less_sure_then(one)]
    by_chance = (
        f" The half-width next time is what that many fish give on average; it is larger than now for "
        f"{listed(wider)}: a few fish can lie closer together by chance than the lake's fish do."
        if wider
        else ""
    )
    likely = "" if plan.n_likely is None else f" An average outing would bring {plan.n_likely} of them."
    cost = "" if plan.cost is None else f", {_dollars(plan.cost)} of lab fees"
    if plan.half_width is not None:
        aim = f"{plan.n_fish} fish{cost}, for a mean of the lake known to within {plan.half_width:g} either way."
    else:
        aim = f"{plan.n_fish} fish{cost}: eight a class, as nothing is known yet to plan with."
    never = [one.size_class for one in plan.classes if not one.n_wanted]
    left = f" Never caught here, so swab any that are caught: {', '.join(never)}." if never else ""
    alike = f" {plan.alike_sites}" if plan.alike_sites else ""
    return [
        text(
            f"{aim}{likely}{left}{by_chance}{alike} Worked out as geneticlog plan does; ask it with other wishes."
        ),
        table("next", "Swabs for the next survey", columns, rows),
    ]


def _less_sure_then(row: NextRow) -> bool:
    """Return whether no fewer fish are planned with an interval that is printed wider than the one they have now."""
    if row.half_width is None or row.half_width_then is None or row.n_wanted < (row.n_resulted or 0):
        return False
    return row.half_width_then > row.half_width and three(row.half_width_then) != three(row.half_width)


def _fish(value: float | None) -> str:
    return NONE if value is None else f"{value:.0f}"


def _dollars(value: float | None) -> str:
    return NONE if value is None else f"${value:,.0f}"
