"""Cells that belong together: a vial code over two columns, a remark that a comma of its own has split.

Only where there is one way to put them together; any other file stays as it is, and is refused or asked about.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from geneticlog.errors import SheetFault
from geneticlog.rules.lab_return.cells.cells import missing_meaning, number
from geneticlog.rules.lab_return.sheet.reading import SHORTEST, Column, Reading, is_code
from geneticlog.rules.lab_return.words.headings import plain, recognise, turns_round
from geneticlog.rules.lab_return.words.layout import column_letter
from geneticlog.rules.lab_return.words.roles import PROPORTIONS, ColumnRole
from geneticlog.rules.sentences import n_of
from geneticlog.store.sheets import EMPTY, Cell, Sheet

MOST_PARTS = 3  # of a code: office, number and check character
FEWEST = 3  # vials, to see that columns are parts of codes
FIRST = 40  # rows in which codes are in both of two columns, where they are in both
SEARCHED = 200  # rows in which a whole code is looked for first
_WITH_WORDS = re.compile(r"([\d.,]+ ?%?) ?([^\W\d_][^\d%]*)")
_NUMBERS = {*PROPORTIONS, ColumnRole.N_LOCI}


def with_whole_codes(sheet: Sheet) -> Sheet:
    """Return a sheet whose codes are in neighbouring columns with each code in one of these.

    Every row in which all of these columns are filled has to be a code, its check character right, and no two alike.
    """
    if any(is_code(cell.text) for row in sheet.rows[:SEARCHED] for cell in row):
        return sheet
    width = max(map(len, sheet.rows), default=0)
    fitting = []
    for n in range(2, MOST_PARTS + 1):
        for first in range(width - n + 1):
            codes = _codes_of(sheet.rows, first, n)
            if len(codes) >= FEWEST:
                fitting.append((first, n, codes))
    if len(fitting) != 1:
        return sheet
    first, n, codes = fitting[0]
    rows = [list(row) for row in sheet.rows]
    top = min(codes) - 1
    # beside the columns that follow, so that no empty one parts the codes from the results
    last = any(len(rows[i]) > first + n for i in codes)
    for i, code in codes.items():
        rows[i][first : first + n] = _alone(code, n, last=last)
    if top >= 0 and len(rows[top]) > first:
        heads = [cell.text.strip() for cell in rows[top][first : first + n]]
        rows[top][first : first + n] = _alone(" ".join(filter(None, heads)), n, last=last)
    where = f"columns {column_letter(first + 1)} to {column_letter(first + n)}"
    why = f"put together they are {len(codes)} vial codes with their check characters"
    return replace(sheet, rows=rows, put_together=(*sheet.put_together, (where, why)))


def with_codes_of_two_columns(sheet: Sheet) -> Sheet:
    """Return a sheet whose codes are in two columns, each row's in one of them, with all in the first."""
    if len(_places_of_codes(sheet.rows[:FIRST])) != 2:
        return sheet
    places = _places_of_codes(sheet.rows)
    if len(places) != 2:
        return sheet
    (a, in_a), (b, in_b) = sorted(places.items())
    first = min(in_a | in_b)
    others = {
        n for n, row in enumerate(sheet.rows[first:], first) for i in (a, b)
        if len(row) > i and row[i].kind != "empty" and n not in places[i]
    }  # fmt: skip
    if in_a & in_b or others or min(len(in_a), len(in_b)) < FEWEST or not first:
        return sheet
    rows = [list(row) for row in sheet.rows]
    for n in in_b:
        rows[n][a], rows[n][b] = rows[n][b], EMPTY
    where = f"columns {column_letter(a + 1)} and {column_letter(b + 1)}"
    why = "each row has its vial code in one of them, and they are read as one"
    return replace(sheet, rows=rows, put_together=(*sheet.put_together, (where, why)))


def _places_of_codes(rows: Sequence[Sequence[Cell]]) -> dict[int, set[int]]:
    """The rows with a vial code, from 0, by column."""
    places: dict[int, set[int]] = {}
    for n, row in enumerate(rows):
        for i, cell in enumerate(row):
            if len(cell.text) >= SHORTEST and is_code(cell.text):
                places.setdefault(i, set()).add(n)
    return places


def _alone(text: str, n: int, *, last: bool) -> list[Cell]:
    blank = [EMPTY] * (n - 1)
    return [*blank, Cell(text, "text")] if last else [Cell(text, "text"), *blank]


def _codes_of(rows: Sequence[Sequence[Cell]], first: int, n: int) -> dict[int, str]:
    """The codes that n columns from a first one make, by row from 0; none where a row below the first makes none."""
    codes: dict[int, str] = {}
    for i, row in enumerate(rows):
        parts = [cell.text.strip() for cell in row[first : first + n]]
        if len(parts) < n or not all(parts):
            continue
        joined = "".join(parts)
        if is_code(joined) and len(joined) == len("".join(joined.split())):
            codes[i] = joined
        elif codes:
            return {}
    return codes if len(set(codes.values())) == len(codes) else {}


def with_commas_of_texts(sheet: Sheet, reading: Reading, file: str) -> Sheet | None:
    """Return a sheet of a comma-separated file with the remarks whole again that a comma of their own has split.

    None where no row has more cells than the heading, with something beyond it.

    raises
        SheetFault where a row can be put together in no way, or in several.
    """
    width = max(len(sheet.rows[reading.heading_row - 1 + i]) for i in range(reading.heading_rows))
    numbers = {column.number for column in reading.columns if column.role in _NUMBERS}
    rows = list(sheet.rows)
    whole: list[int] = []
    in_doubt: list[int] = []
    for n in reading.data_rows:
        row = sheet.rows[n - 1]
        if len(row) <= width or not _is_parted(row, width):
            continue
        ways = {at + 1: way for at in range(width) if (way := _put_together(row, at, width, reading))}
        plainly = len(ways) == 1 and not ways.keys() & numbers
        rows[n - 1] = next(iter(ways.values())) if plainly else row
        (whole if plainly else in_doubt).append(n)
    if in_doubt:
        having = n_of(len(in_doubt), "row has", "rows have")
        raise SheetFault(
            f"{having} more cells than the heading, which has {width}; decimal commas seem to be among the commas that"
            " separate its columns, or commas in texts without quotation marks",
            file=file,
            row=in_doubt[0],
            way_out="save it again with semicolons or tabs between the columns, or with decimal points",
        )
    if not whole:
        return None
    where = f"row{'s' * (len(whole) > 1)} {reading.sheet_rows.words(whole)}"
    why = f"a comma in a text split {n_of(len(whole), 'row')} into one cell too many; it fits in one way only"
    return replace(sheet, rows=rows, put_together=(*sheet.put_together, (where, why)))


def with_bare_numbers(sheet: Sheet, reading: Reading) -> Sheet | None:
    """Return a sheet whose shares stand without their taxon's name behind each of them: 58.0 % of "58.0 % FL".

    None where no column is written so. A cell that names anything else stays as it is, for a person to see.
    """
    rows, whys = list(sheet.rows), []
    for column in reading.columns:
        if column.role not in (ColumnRole.Q, ColumnRole.OTHER_Q):
            continue
        texts = {n: text for n in reading.data_rows if (text := column.text_in(sheet.rows[n - 1]))}
        parts = {n: match for n, text in texts.items() if (match := _WITH_WORDS.fullmatch(text))}
        own = {n: match for n, match in parts.items() if _says_only(plain(match[2]), column, reading)}
        values = len(parts) + sum(bool(number(text) or number(text, ",")) for text in texts.values())
        if len(own) < max(FEWEST, values / 2):
            continue
        for n, match in own.items():
            rows[n - 1] = list(rows[n - 1])
            rows[n - 1][column.number - 1] = Cell(match[1], "text")
        whys.append(
            (
                f"column {column.letter}",
                f"{next(iter(own.values()))[2]!r} is behind {len(own)} of its numbers",
            )
        )
    return replace(sheet, rows=rows, put_together=(*sheet.put_together, *whys)) if whys else None


def _says_only(words: str, column: Column, reading: Reading) -> bool:
    """Whether words name no more than the taxon of a column of shares."""
    taxa = reading.layout.taxa
    meant = recognise(words, taxa)
    return (
        meant is not None
        and meant.role == column.role
        and set(meant.strange) <= {"fl"}
        and not turns_round(words)
    )


def _is_parted(row: Sequence[Cell], width: int) -> bool:
    """Whether a row has a number beyond the heading, or anything and two whole numbers beside each other."""
    texts = [cell.text.strip() for cell in row]
    beyond = [text for text in texts[width:] if text]
    whole = any(a.isdecimal() and b.isdecimal() for a, b in pairwise(texts))
    return bool(beyond) and (whole or any(number(text) for text in beyond))


def _put_together(row: Sequence[Cell], at: int, width: int, reading: Reading) -> list[Cell] | None:
    """A row with the cells too many joined to the one at a place; None where it then does not fit its columns."""
    more = len(row) - width
    text = ",".join(cell.text for cell in row[at : at + more + 1])
    made = [*row[:at], Cell(text, "text"), *row[at + more + 1 :]]
    for column in reading.columns:
        cell = made[column.number - 1] if len(made) >= column.number else EMPTY
        if not _fits(column, cell.text.strip(), reading, joined=column.number == at + 1):
            return None
    return made


def _fits(column: Column, text: str, reading: Reading, *, joined: bool) -> bool:
    if column.role == ColumnRole.VIAL:
        return is_code(text) and not joined
    if column.role in _NUMBERS:
        if joined:
            return number(text, ",") is not None  # a decimal comma
        return bool(number(text, reading.decimal) or missing_meaning(text, reading.layout.missing))
    return not (text and _is_number(text) and column.role in (ColumnRole.FAILURE, ColumnRole.LAB_CLASS))


def _is_number(text: str) -> bool:
    return number(text) is not None
