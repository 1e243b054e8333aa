"""A further table of a file that has the other taxon's share where the first has its own: read as what that leaves."""

from __future__ import annotations

import re
from collections.abc import Sequence
from decimal import Decimal

from geneticlog.rules.lab_return.sheet.account_items import answers_about
from geneticlog.rules.lab_return.sheet.reading import Question
from geneticlog.rules.lab_return.words.headings import Taxa, plain
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.lab_return.words.roles import ColumnRole
from geneticlog.store.sheets import Cell, Sheet, ToAsk

_NUMBER = re.compile(r"(\d*[.,]?\d+) ?(%?)")
_RATIO = re.compile(r"(\d{1,5}) ?(/|of|out of) ?(\d{1,5})")
PERCENTS = Decimal("1.5")  # the largest value from which a column is in percent
OWN, OTHER = ("result", ColumnRole.Q), ("result", ColumnRole.OTHER_Q)


def with_own_share(
    first: dict[int, tuple[str, str]], later: dict[int, tuple[str, str]]
) -> tuple[dict[int, tuple[str, str]], int]:
    """Return what the columns of a later table hold, the other taxon's share taken for the first's, and its column.

    Column 0 where that is not so: only where the first table has no more than its own taxon's, the later no more than
    the other's.
    """
    alone = OWN in first.values() and OTHER not in first.values()
    if not alone or OTHER not in later.values() or OWN in later.values():
        return later, 0
    column = next(number for number, key in later.items() if key == OTHER)
    return {**later, column: OWN}, column


def left_over(rows: Sequence[list[Cell]], i: int, heading: str) -> tuple[str, str] | None:
    """Put what each share leaves in its place, in the column from 0 of these rows; return the first and what it leaves.

    None, and nothing is changed, where a value is no share: a count of alleles, or more than the whole.
    """
    texts = {n: row[i].text.strip() for n, row in enumerate(rows) if len(row) > i}
    matches = {n: match for n, text in texts.items() if (match := _NUMBER.fullmatch(text))}
    values = {n: Decimal(match[1].replace(",", ".")) for n, match in matches.items()}
    in_heading = re.search(r"%|\b(percent\w*|pct)\b", plain(heading)) is not None
    is_percent = in_heading or any(value > PERCENTS for value in values.values())
    if is_percent and not in_heading and all(value == int(value) for value in values.values()):
        return None  # whole numbers may be counts
    made: dict[int, str] = {}
    for n, text in texts.items():
        if n in values:
            rest = (100 if is_percent or matches[n][2] else 1) - values[n]
            written = f"{rest:f}".replace(".", "," if "," in text else ".")
            made[n] = f"{written}{text[len(matches[n][1]) :]}"
        elif (ratio := _RATIO.fullmatch(text)) is not None:
            rest = Decimal(int(ratio[3]) - int(ratio[1]))
            made[n] = f"{rest}{text[len(ratio[1]) :]}"
        else:
            continue
        if rest < 0:
            return None
    for n, text in made.items():
        rows[n][i] = Cell(text, rows[n][i].kind)
    return next(((texts[n], text) for n, text in made.items()), None)


def to_ask(where: str, pair: tuple[str, str], taxa: Taxa, first: int, last: int) -> ToAsk:
    """Return the question about such a table, for its rows from a first to a last one."""
    text = (
        f"in {where} the share is that of {taxa.other_taxon} alleles, and before it that of {taxa.taxon} ones: these"
        f" values are read as what they leave ({pair[0]} as {pair[1]}), which is right where the lab tells no third"
        " lineage apart: is it?"
    )
    return f"{taxa.other_taxon} shares turned round", text, first, last


def questions_of_tables(sheet: Sheet, layout: Layout) -> list[Question]:
    """Return the open questions about tables that were read so."""
    return [
        Question(text, answers_about(key), "tables")
        for key, text, _, _ in sheet.to_ask
        if not layout.changes_nothing(key) and not layout.casts_doubt(key)
    ]


def tables_held(sheet: Sheet, layout: Layout) -> dict[int, list[str]]:
    """Return, by row, that a person holds the values of such a table."""
    return {
        row: [key]
        for key, _, first, last in sheet.to_ask
        if layout.casts_doubt(key)
        for row in range(first, min(last, len(sheet.rows)) + 1)
    }
