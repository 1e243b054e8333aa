"""Several tables in one sheet, below or beside each other, taken as the one table that they are.

Each is read by its own headings: a table joins the first one only where both hold the same results, and every column
of it goes where the first has the column of that heading. Anything else is refused, for a person to part.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import replace

from geneticlog.errors import SheetFault
from geneticlog.rules.lab_return.sheet.parts import Part
from geneticlog.rules.lab_return.sheet.reading import Reading, code_in, is_code
from geneticlog.rules.lab_return.sheet.sample_rows import SecondTable
from geneticlog.rules.lab_return.sheet.sheet_rows import COLUMNS, step_for
from geneticlog.rules.lab_return.words.headings import BARE_Q, Taxa, plain, recognise
from geneticlog.rules.lab_return.words.layout import column_letter
from geneticlog.rules.lab_return.words.roles import ColumnRole
from geneticlog.store.sheets import EMPTY, Cell, Sheet
from geneticlog.work.lab_return.sheets.other_taxon import left_over, to_ask, with_own_share
from geneticlog.work.lab_return.sheets.rearranged import Block, rearranged

MOST_ROWS = 1000  # of a sheet, in which tables that are side by side have begun
_AGAIN = re.compile(r"\.\d$")
LAST = 10_000_000  # row of any sheet
Key = tuple[str, str]


def keys_of(headings: Sequence[str], taxa: Taxa) -> dict[int, Key]:
    """Return by column, from 1, what a heading says: its text, or the result where that is plain and said once."""
    known = plain(" ".join(headings))
    recognised = [recognise(text, taxa, known) for text in headings]
    roles = [one.role if one and not one.strange and one.why != BARE_Q else "" for one in recognised]
    keys: dict[int, Key] = {}
    for i, text in enumerate(headings):
        role = roles[i]
        alone = role in _RESULTS and roles.count(role) == 1
        if text.strip():
            keys[i + 1] = ("result", role) if alone else ("heading", plain(text))
    return keys


_RESULTS = {
    ColumnRole.Q, ColumnRole.OTHER_Q, ColumnRole.THIRD_Q, ColumnRole.HETEROZYGOSITY, ColumnRole.N_LOCI,
    ColumnRole.CALL_RATE, ColumnRole.LAB_CLASS,
}  # fmt: skip


def results_of(keys: dict[int, Key]) -> set[Key]:
    """Return the results among the keys of a table."""
    return {key for key in keys.values() if key[0] == "result"}


def columns_to(
    first: dict[int, Key], later: dict[int, Key], vials: tuple[int, int], every: Iterable[int] = ()
) -> dict[int, int] | None:
    """Return to which column of a first table each of a later one goes; None where that is not plain.

    vials
        the columns of vial codes in both.
    every
        further columns of the later table, without a heading: they go to columns of their own, behind the others.
    """
    to = {key: column for column, key in first.items()}
    plainly = len(to) == len(first) and len(set(later.values())) == len(later)
    same = set(first.values()) == set(later.values())
    if not plainly or results_of(first) != results_of(later) or not (same or results_of(first)):
        return None
    columns = {vials[1]: vials[0]}
    more = max((*first, vials[0]))
    for column in sorted({*later, *every} - {vials[1]}):
        key = later.get(column)
        if key in to and to[key] != vials[0]:
            columns[column] = to[key]
        elif key in to:
            return None
        else:
            more += 1
            columns[column] = more
    return columns


def with_table_below(sheet: Sheet, fault: SecondTable, taxa: Taxa) -> Sheet | None:
    """Return a sheet with the table that begins in a row under the headings of the first; None where it cannot be so.

    fault
        what was found to be the heading of a further table.
    """
    second = fault.row or 0
    if fault.n_rows != 1 or not fault.top or second >= len(sheet.rows):
        return None
    heads = [_texts(sheet, fault.top), _texts(sheet, second)]
    first, later = (keys_of(head, taxa) for head in heads)
    later, turned = with_own_share(first, later)
    vial = next((i + 1 for i, cell in enumerate(sheet.rows[second]) if is_code(cell.text)), 0)
    width = max(len(row) for row in sheet.rows)
    filled = _filled(sheet.rows[second:])
    columns = columns_to(first, later, (fault.vial + 1, vial), filled) if vial else None
    if columns is None:
        return None
    as_it_is = {column: column for column in range(1, max(width, *columns.values()) + 1)}
    made = rearranged(sheet, [Block(1, second - 1, as_it_is), Block(second, LAST, columns)])
    rows = made.rows
    own = {to: heads[1][column - 1] for column, to in columns.items() if column <= len(heads[1])}
    rows[fault.top - 1] = with_headings(rows[fault.top - 1], own, first)
    rows[second - 1] = list(rows[fault.top - 1])
    if turned:
        pair = left_over(rows[second:], columns[turned] - 1, heads[1][turned - 1])
        if pair is None:
            return None
        asks = to_ask(f"the table headed in row {second}", pair, taxa, second + 1, LAST)
        made = replace(made, to_ask=(*made.to_ask, asks))
    parts = list(sheet.parts or (Part(f"row {fault.top}", 1, LAST),))
    parts[-1] = replace(parts[-1], last=second - 1)
    return replace(made, rows=rows, parts=(*parts, Part(f"row {second}", second, LAST, own)))


def in_order_of(
    first: tuple[Sheet, Reading], later: tuple[Sheet, Reading], taxa: Taxa
) -> tuple[Sheet, Sheet] | None:
    """Return a first sheet and a later one with its columns where the first has them; None where that is not plain."""
    rows = [reading.heading_row for _, reading in (first, later)]
    vials = [column for _, reading in (first, later) if (column := reading.column(ColumnRole.VIAL))]
    if not all(rows) or len(vials) != 2 or any(reading.heading_rows != 1 for _, reading in (first, later)):
        return None
    heads = [_texts(sheet, row) for (sheet, _), row in zip((first, later), rows, strict=True)]
    keys, own_keys = (keys_of(head, taxa) for head in heads)
    own_keys, turned = with_own_share(keys, own_keys)
    filled = _filled(later[0].rows[rows[1] :])
    columns = columns_to(keys, own_keys, (vials[0].number, vials[1].number), filled)
    if columns is None or first[0].parts or later[0].parts:
        return None
    own = {to: heads[1][column - 1] for column, to in columns.items() if column <= len(heads[1])}
    moved = rearranged(later[0], [Block(1, LAST, columns)])
    if turned:
        pair = left_over(moved.rows[rows[1] :], columns[turned] - 1, heads[1][turned - 1])
        if pair is None:
            return None
        moved = replace(moved, to_ask=(to_ask(f"sheet {moved.name}", pair, taxa, rows[1] + 1, LAST),))
    with_more = [*first[0].rows]
    with_more[rows[0] - 1] = with_headings(with_more[rows[0] - 1], own, keys)
    return replace(first[0], rows=with_more), replace(moved, parts=(Part("", 1, LAST, own),))


def with_headings(row: Sequence[Cell], own: dict[int, str], first: dict[int, Key]) -> list[Cell]:
    """Return the heading of a first table with those that only a later one has, by column from 1."""
    made = [*row, *[EMPTY] * (max((*own, 0)) - len(row))]
    for column, text in own.items():
        if column not in first and text.strip():
            made[column - 1] = Cell(text, "text")
    return made


def _filled(rows: Sequence[Sequence[Cell]]) -> set[int]:
    return {i for row in rows for i, cell in enumerate(row, 1) if cell.kind != "empty"}


def with_halves_below(sheet: Sheet, taxa: Taxa, file: str) -> Sheet:
    """Return a sheet of two tables side by side as one, its right half below the left; any other sheet as it is.

    raises
        SheetFault where the further vials at the right have no headings of their own.
    """
    first = next((i for i, row in enumerate(sheet.rows[:MOST_ROWS]) if _codes_at(row)[1:]), 0)
    places = _codes_at(sheet.rows[first]) if first else []
    if len(places) != 2:
        return sheet
    left, right = places
    heads = [cell.text for cell in sheet.rows[first - 1]]
    heads += [""] * (max(map(len, sheet.rows)) - len(heads))
    heads = _without_numbers(heads)
    if not heads[left].strip() or not _codes(sheet.rows, left).isdisjoint(_codes(sheet.rows, right)):
        return sheet
    if not heads[right].strip():
        if any(text.strip() for text in heads[right:]):
            return sheet
        raise SheetFault(
            f"columns {column_letter(right + 1)} to {column_letter(len(heads))} hold further vials under no heading",
            file=file,
            sheet=sheet.name or None,
            row=first,
            way_out="give them the headings of the table at their left, or put them below it",
        )
    start = _start_of_the_right(sheet.rows, heads, left, right)
    if not start:
        return sheet
    keys = keys_of(heads, taxa)
    lefts = keys_of(heads[:start], taxa)
    rights = {column + start: key for column, key in keys_of(heads[start:], taxa).items()}
    rights, turned = with_own_share(lefts, rights)
    filled = {column for column in _filled(sheet.rows[first:]) if column > start}
    columns = columns_to(lefts, rights, (left + 1, right + 1), filled)
    if columns is None or not keys:
        return sheet
    step = step_for(len(sheet.rows))
    own = {to: heads[column - 1] for column, to in columns.items()}
    blocks = [
        Block(1, LAST, {column: column for column in range(1, start + 1)}),
        Block(1, LAST, columns, down=step),
    ]
    made = rearranged(sheet, blocks)
    made.rows[first - 1] = with_headings(made.rows[first - 1], own, lefts)
    made.rows[step + first - 1] = list(made.rows[first - 1])
    if turned:
        pair = left_over(made.rows[step + first :], columns[turned] - 1, heads[turned - 1])
        if pair is None:
            return sheet
        asks = to_ask(_span(min(rights), max(rights)), pair, taxa, step + first + 1, LAST)
        made = replace(made, to_ask=(*made.to_ask, asks))
    last = max(column for column in lefts)
    names = (_span(1, last), _span(min(rights), max(rights)))
    parts = (Part(names[0], 1, step), Part(names[1], step + 1, 2 * step, own))
    return replace(made, parts=parts)


def _without_numbers(heads: Sequence[str]) -> list[str]:
    """Headings without the .1 that a program put behind one that is there already."""
    texts = {text.strip() for text in heads}
    bare = [_AGAIN.sub("", text.strip()) for text in heads]
    return [one if one in texts else text for one, text in zip(bare, heads, strict=True)]


def _span(first: int, last: int) -> str:
    return f"{COLUMNS}{column_letter(first)} to {column_letter(last)}"


def _start_of_the_right(rows: Sequence[Sequence[Cell]], heads: Sequence[str], left: int, right: int) -> int:
    """How many columns are of the left table: up to an empty one, or to where its first heading comes again, or 0."""
    filled = _filled(rows)
    for i in range(right - 1, left, -1):
        if i + 1 not in filled:
            return i + 1
    opening = next(plain(text) for text in heads if text.strip())
    again = [i for i in range(left + 1, right + 1) if plain(heads[i]) == opening]
    return again[0] if len(again) == 1 else 0


def _codes_at(row: Sequence[Cell]) -> list[int]:
    return [i for i, cell in enumerate(row) if is_code(cell.text)]


def _codes(rows: Sequence[Sequence[Cell]], i: int) -> set[str]:
    return {code_in(row[i].text) for row in rows if len(row) > i and is_code(row[i].text)}


def _texts(sheet: Sheet, row: int) -> list[str]:
    return [cell.text for cell in sheet.rows[row - 1]]
