"""The section on the next survey: fish wanted by size, what an outing is likely to bring, and what it costs."""

from __future__ import annotations

from geneticlog.faces.app.numbers_in_words import NONE, three
from geneticlog.faces.report.blocks import Block, table, text
from geneticlog.work.report.facts import LakeFacts


def next_blocks(lake: LakeFacts) -> list[Block]:
    """Return the sentence and the table of the plan for the next survey."""
    plan = lake.next_plan
    if plan is None:
        return [
            text(
                "No plan could be worked out for this lake; ask for one with your own wishes: geneticlog plan."
            )
        ]
    now = {row.size_class: row for row in lake.main.classes} if lake.main is not None else {}
    rows = []
    for one in plan.classes:
        row = now.get(one.size_class)
        half = None if row is None or row.low is None or row.high is None else (row.high - row.low) / 2
        rows.append(
            [one.size_class, str(row.n_resulted) if row else NONE, three(half), _fish(one.likely_catch),
             str(one.n_wanted), three(one.half_width) if one.n_wanted else NONE, _dollars(one.cost)]
        )  # fmt: skip
    rows.append(["all", str(lake.main.n_resulted) if lake.main else NONE, NONE, NONE, str(plan.n_fish),
                 three(plan.half_width), _dollars(plan.cost)])  # fmt: skip
    columns = [("size class", False), ("result now", True), ("half-width\nnow", True), ("likely\ncatch", True),
               ("fish to swab", True), ("half-width\nthen", True), ("lab fees", True)]  # fmt: skip
    likely = "" if plan.n_likely is None else f" An average outing would bring {plan.n_likely} of them."
    cost = "" if plan.cost is None else f", {_dollars(plan.cost)} of lab fees"
    if plan.half_width is not None:
        aim = f"{plan.n_fish} fish{cost}, for a mean of the lake known to within {plan.half_width:g} either way."
    else:
        aim = f"{plan.n_fish} fish{cost}: eight a class, as nothing is known yet to plan with."
    never = [one.size_class for one in plan.classes if not one.n_wanted]
    left = f" Never caught here, so taken as they come: {', '.join(never)}." if never else ""
    return [
        text(f"{aim}{likely}{left} Worked out as geneticlog plan does; ask it with other wishes."),
        table("next", "Swabs for the next survey", columns, rows),
    ]


def _fish(value: float | None) -> str:
    return NONE if value is None else f"{value:.0f}"


def _dollars(value: float | None) -> str:
    return NONE if value is None else f"${value:,.0f}"
