"""Which rows of a lab's file hold a sample, and which are titles, totals and notes."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import islice

from geneticlog.errors import SheetFault
from geneticlog.rules.lab_return.cells.cells import missing_meaning, number
from geneticlog.rules.lab_return.sheet.heading_rows import heading_score
from geneticlog.rules.lab_return.sheet.lines import HEADING_AGAIN, condemns, says_total
from geneticlog.rules.lab_return.sheet.reading import SHORTEST, Row, is_code, texts_of
from geneticlog.rules.lab_return.sheet.words_beside import AGAINST, judge
from geneticlog.rules.lab_return.words.headings import Taxa, plain, taxa_named

_WORD = re.compile(r"[^\W\d_]{4,}( [^\W\d_]+)*")  # no allele, and no genotype
MOST_LETTERS = 200  # of a line; a longer one is shown without its repeats
LOOKED_AT = 50  # rows of vials, to see which columns hold numbers
MOST_WORDS = 3  # of a heading; a longer text beside no vial is a line


class SecondTable(SheetFault):
    """A further table begins in a sheet; ``top`` and ``n_rows`` are of the first heading, ``vial`` its column of codes,
    from 0."""

    def __init__(self, problem: str, number: int, table: Table) -> None:
        super().__init__(
            problem,
            file=table.file,
            sheet=table.sheet or None,
            row=number,
            way_out="give each table a file of its own",
        )
        self.top, self.n_rows, self.vial = table.top, table.n_rows, table.vial


@dataclass(frozen=True)
class Table:
    """Where the table of samples lies in a sheet.

    top, n_rows
        the row in which its heading begins, from 1 (0: none), and of how many rows it is.
    vial, carrying
        the columns, from 0, of vial codes and of what a lab found.
    """

    file: str
    sheet: str
    top: int
    n_rows: int
    vial: int
    carrying: Sequence[int]
    taxa: Taxa


def rows_above(rows: Sequence[Row], top: int) -> list[tuple[int, str]]:
    """Return the rows above a heading that hold anything, each with its text."""
    return [(i + 1, _joined(row)) for i, row in enumerate(rows[: max(top - 1, 0)]) if _joined(row)]


def part_rows(rows: Sequence[Row], table: Table) -> tuple[list[int], list[tuple[int, str]]]:
    """Return the numbers of the rows that hold a sample, and the others with their text.

    raises
        SheetFault where a second table begins further down.
    """
    other = rows_above(rows, table.top)
    data: list[int] = []
    heading = [plain(text) for text in texts_of(rows[table.top - 1])] if table.top else []
    for i in range(max(table.top - 1 + table.n_rows, 0), len(rows)):
        text = _no_sample(rows[i], i + 1, table, heading)
        if text is None:
            data.append(i + 1)
        elif text:
            other.append((i + 1, text))
    for n in _rows_of_words(rows, data, table):
        data.remove(n)
        other.append((n, _joined(rows[n - 1])))
    for n in _words_below(rows, data, table):
        data.remove(n)
        other.append((n, _joined(rows[n - 1])))
    return data, sorted(other)


def _words_below(rows: Sequence[Row], data: Sequence[int], table: Table) -> list[int]:
    """The rows below the last vial that are one word which takes values back, as void: a line."""
    last = max((n for n in data if _code_of(rows[n - 1], table)), default=0)
    out = []
    for n in (n for n in data if last and n > last):
        filled = [text.strip() for text, kind in rows[n - 1] if kind != "empty"]
        code = rows[n - 1][table.vial][0].strip() if len(rows[n - 1]) > table.vial else ""
        against = condemns(code) or judge(code, table.taxa) == AGAINST
        if filled == [code] and code.replace("-", "").isalpha() and against:
            out.append(n)
    return out


def _rows_of_words(rows: Sequence[Row], data: Sequence[int], table: Table) -> list[int]:
    """The rows without a vial's code that have words or letters in each column that holds numbers elsewhere.

    They say something of the columns, such as which loci to keep or which allele is counted, and are no sample.
    """
    coded = list(islice((rows[n - 1] for n in data if _code_of(rows[n - 1], table)), LOOKED_AT))
    numeric = [c for c in table.carrying if coded and all(_is_number(row, c) for row in coded)]
    out = []
    for n in data if len(numeric) > 1 else ():
        row = rows[n - 1]
        if _code_of(row, table):
            continue
        cells = [row[c] for c in numeric if len(row) > c and row[c][1] != "empty"]
        if len(cells) > 1 and all(
            kind == "text" and not number(text) and missing_meaning(text) is None for text, kind in cells
        ):
            out.append(n)
    return out


def _code_of(row: Row, table: Table) -> bool:
    text = row[table.vial][0] if len(row) > table.vial else ""
    as_long = len(text) == SHORTEST and text.isalnum() and any(map(str.isdigit, text))
    return as_long or is_code(text)  # whether its check character is right does not matter here


def _is_number(row: Row, c: int) -> bool:
    """Whether a cell holds a number, or nothing."""
    return (
        len(row) <= c
        or row[c][1] != "text"
        or bool(number(row[c][0]))
        or missing_meaning(row[c][0]) is not None
    )


def _no_sample(row: Row, number: int, table: Table, heading: Sequence[str]) -> str | None:
    """Return the text of a row that holds no sample, empty where it holds nothing; None for a sample."""
    code, kind = row[table.vial] if len(row) > table.vial else ("", "empty")
    carries = any(len(row) > c and row[c][1] != "empty" for c in table.carrying)
    if kind == "empty":
        if carries and any(
            any(taxa_named(plain(text), table.taxa)) for text, _ in map(row.__getitem__, _filled(row, table))
        ):
            raise SheetFault(
                "a word of a heading is in the column of values here",
                file=table.file,
                sheet=table.sheet or None,
                row=number,
                way_out="give each table a file of its own",
            )
        return None if carries and not _says_total(row) and not _is_note(row) else _joined(row)
    if _is_sentence(row, table):
        return ", ".join(text.strip() for text, kind in row if kind != "empty")[:MOST_LETTERS]
    if not carries:
        filled = sum(1 for _, k in row if k != "empty")
        if filled == 1 and heading and plain(code) == plain(" ".join(heading)):
            return HEADING_AGAIN  # of a printed page, in one cell
        note = filled == 1 and " " in code.strip() and not is_code(code)
        return _joined(row) if note or (kind == "text" and says_total(code)) else None
    if kind != "text" or (len(code) == 9 and code.isalnum() and any(map(str.isdigit, code))):
        return None  # as long as a code, and no words: "Sample ID" is as long
    if says_total(code):
        return _joined(row)
    if len(heading) > table.vial and plain(code) == heading[table.vial]:
        if [plain(text) for text in texts_of(row)] != heading[: len(row)]:
            raise SecondTable("a second table with other columns begins here", number, table)
        return HEADING_AGAIN
    if heading_score(texts_of(row), table.taxa) > 3 and number == table.top + table.n_rows:
        raise SheetFault(
            "this seems to be a further line of the heading, and not a sample",
            file=table.file,
            sheet=table.sheet or None,
            row=number,
            way_out=f"say in a layout (--layout FILE): heading_row = {table.top} and heading_rows = {table.n_rows + 1}",
        )
    if heading_score(texts_of(row), table.taxa) > 3:
        raise SecondTable("a second heading with other columns begins here", number, table)
    return _joined(row) if _is_annotation(row, table) else None


def _is_annotation(row: Row, table: Table) -> bool:
    """Whether a row without a vial's code has a word in each column of results, as keep or exclude below the loci."""
    cells = [row[c] for c in table.carrying if len(row) > c and row[c][1] != "empty"]
    return (
        len(cells) > 1
        and not any(is_code(text) for text in texts_of(row))
        and all(
            kind == "text" and _WORD.fullmatch(text.strip()) and missing_meaning(text) is None
            for text, kind in cells
        )
    )


def _is_sentence(row: Row, table: Table) -> bool:
    """Whether a row is a line of words that was split at its commas: no code, no number, and no word for no result."""
    first, *rest = [(text.strip(), kind) for text, kind in row if kind != "empty"]
    code = row[table.vial][0]
    return (
        (first[0] == code.strip() or len(first[0].split()) > MOST_WORDS)
        and " " in code.strip()
        and not is_code(code)
        and bool(rest)
        and all(kind == "text" and not number(text) and missing_meaning(text) is None for text, kind in rest)
        and any(" " in text for text, _ in rest)
        and heading_score(texts_of(row), table.taxa) <= 3
    )


def _filled(row: Row, table: Table) -> list[int]:
    """The columns of results in which a row has a short text that is no number."""
    return [
        c
        for c in table.carrying
        if len(row) > c
        and row[c][1] == "text"
        and len(row[c][0].split()) <= MOST_WORDS
        and not number(row[c][0])
    ]


def _is_note(row: Row) -> bool:
    """Whether a row is one sentence, in whichever column it begins: a note, and no value without its code."""
    texts = [text.strip() for text, kind in row if kind != "empty"]
    return len(texts) == 1 and len(texts[0].split()) > 2 and missing_meaning(texts[0]) is None


def _says_total(row: Row) -> bool:
    return any(kind == "text" and says_total(text) for text, kind in row)


def _joined(row: Row) -> str:
    texts = [text.strip() for text, kind in row if kind != "empty"]
    whole = " | ".join(texts)
    return whole if len(whole) <= MOST_LETTERS else " | ".join(dict.fromkeys(texts))[:MOST_LETTERS]
