"""Any table a lab or a crew sends, CSV or spreadsheet, read into rows of cells that keep what was written.

The kind of file is known from its bytes, never from its name. Nothing is converted: a cell keeps its text and
the kind the file gave it, so that a code which a spreadsheet turned into a date can still be seen to be one.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from pathlib import Path
from typing import Any, NamedTuple

from geneticlog.errors import NotFound, SheetFault
from geneticlog.rules.lab_return.sheet.parts import Part
from geneticlog.rules.lab_return.sheet.reading import is_code
from geneticlog.rules.lab_return.sheet.sheet_rows import COLUMNS, ONE_TABLE, SheetRows
from geneticlog.store.code_page import CODE_PAGES, code_page_of
from geneticlog.store.fixed_width import by_single_blanks, in_fixed_places
from geneticlog.store.printed_lines import PrintedLines, printed_lines
from geneticlog.store.reading_room import (
    SMALL,
    TRIM,
    Limits,
    check_size,
    limits,
    sheets_apart,
    try_text_apart,
)

SEPARATORS = {"\t": "tab", ";": "semicolon", "|": "bar", ",": "comma"}
LEAST_PARTED = 3  # rows of one cell each, to be a table that has to be split again
LONGEST_CODE = 40  # characters of a cell that holds a vial code and no sentence
_TWO_NUMBERS = re.compile(r"(?<![\d.,/])\d*\.\d+ +\d")
_SAYS_SEPARATOR = re.compile(r"sep=(.)\r?\n")
RESAVE = "open it where it was made and save it as CSV (UTF-8) or XLSX"
LONGEST_CELL = 1_000_000  # characters; one cell of that length is a quotation mark gone astray


class Cell(NamedTuple):
    """What stood in one cell.

    ``kind`` is text, number, date, time, boolean, empty, formula (a formula whose value the file does not
    hold) or error (#N/A and its like). Every filled cell of a CSV file is text.
    """

    text: str
    kind: str


EMPTY = Cell("", "empty")
ToAsk = tuple[
    str, str, int, int
]  # how an answer calls it, the question, and the first and last row it is about


@dataclass(frozen=True)
class Sheet:
    """One table of a file. Row 1 of the sheet is ``rows[0]``; rows may differ in length.

    ``form`` says in words how the file was read; ``hidden`` and ``hidden_rows`` (numbered from 1) what its
    author had put out of sight; ``merged`` the merged ranges as (first row, first column, last row, last
    column), from 1; ``separator`` what parts the columns of a text file; ``struck``, ``colours`` and ``comments`` the
    cells that are struck through, coloured or commented on, by (row, column) from 1; ``rules`` the ranges that are
    coloured where a condition holds, with it; ``notes`` what it says in no cell (boxes of text, head and foot of the
    page, charts), with where; ``areas`` what names and input messages say of ranges of cells; ``properties`` what the
    file says of itself as a document; ``formulas`` the runs of cells that hold one formula, as store/marks.py has them;
    ``keyed_by`` the sheet that gave the rows their vials, and ``tall`` what the rows were about, where it was not a
    fish each; ``grid`` says that it was laid out as a plate, ``turned`` that it had a column for each sample,
    ``by_well`` how its wells are held against ours, and ``well_column`` which column names them; ``beside`` is the
    sheet whose genotypes were put beside its shares; ``parts`` are the tables that were taken as one;
    ``put_together`` says where cells were put together, and how; ``to_ask`` what is to be asked about that.
    """

    name: str
    rows: list[list[Cell]]
    form: str = ""
    hidden: bool = False
    hidden_rows: frozenset[int] = frozenset()
    merged: tuple[tuple[int, int, int, int], ...] = field(default=())
    separator: str = ""
    struck: frozenset[tuple[int, int]] = frozenset()
    hidden_columns: frozenset[int] = frozenset()
    colours: Mapping[tuple[int, int], str] = field(default_factory=dict)
    comments: Mapping[tuple[int, int], str] = field(default_factory=dict)
    rules: tuple[tuple[int, int, int, int, str], ...] = ()
    notes: tuple[tuple[str, str], ...] = ()
    areas: tuple[tuple[int, int, int, int, str, str], ...] = ()
    properties: tuple[tuple[str, str], ...] = ()
    formulas: tuple[tuple[int, int, int, int, str, str], ...] = ()
    is_protected: bool = False
    to_ask: tuple[ToAsk, ...] = ()
    keyed_by: str = ""
    tall: str = ""
    grid: bool = False
    turned: bool = False
    by_well: str = ""
    well_column: str = ""
    beside: str = ""
    parts: tuple[Part, ...] = ()
    put_together: tuple[tuple[str, str], ...] = ()

    @property
    def sheet_rows(self) -> SheetRows:
        """In which of several tables side by side a row was."""
        if len(self.parts) < 2 or not self.parts[1].name.startswith(COLUMNS):
            return ONE_TABLE
        return SheetRows(tuple(part.name for part in self.parts), self.parts[1].first - 1)

    @property
    def filled(self) -> bool:
        return any(cell.kind != "empty" for row in self.rows for cell in row)


def read_bytes(path: Path) -> bytes:
    """Return what the file holds.

    Raises NotFound when there is none and SheetFault when it cannot be read, or is larger than a table is.
    """
    most = limits().file_mb
    try:
        with path.open("rb") as opened:
            content = opened.read((most << 20) + 1)
    except FileNotFoundError:
        raise NotFound(f"{path}: there is no such file; look at the name and the folder") from None
    except IsADirectoryError:
        raise SheetFault("that is a folder", file=str(path), way_out="name the file inside it") from None
    except OSError as error:
        problem = f"it cannot be read ({error.strerror})"
        raise SheetFault(problem, file=str(path), way_out="close it elsewhere or copy it first") from None
    if len(content) > most << 20:
        raise SheetFault(
            f"it is larger than {most} MB, the most that is read", file=str(path),
            way_out="save only the table, or allow more with GENETICLOG_READ_FILE_MB",
        )  # fmt: skip
    return content


def read_sheets(content: bytes, file_name: str) -> list[Sheet]:
    """Return every table of a file, hidden ones too, in the file's order.

    Raises SheetFault for an empty file, for one that is no table whatever its name says (PDF, document,
    picture), for a locked or damaged workbook, and for a file in which nothing is filled in.
    """
    return list(_read_sheets(content, file_name, limits()))


@lru_cache(
    maxsize=1
)  # looked at, then stored: the second time under the writers' lock, where nothing is taken apart
def _read_sheets(content: bytes, file_name: str, _most: Limits) -> tuple[Sheet, ...]:
    if not content.strip():
        raise SheetFault("the file is empty", file=file_name, way_out="ask for it again")
    if told := _no_table(content):
        raise SheetFault(f"this is {told}, whatever its name says", file=file_name, way_out=RESAVE)
    if _is_html(content):
        sheets = sheets_apart("page", content, file_name)
    elif content[:4] in (b"PK\x03\x04", b"\xd0\xcf\x11\xe0"):
        sheets = sheets_apart("workbook", content, file_name)
    else:
        if len(content) > SMALL:
            try_text_apart(content, file_name)
        sheets = _read_text(content, file_name)
    if not any(sheet.filled for sheet in sheets):
        raise SheetFault("nothing is filled in", file=file_name, way_out="ask for it again")
    return tuple(_parted_again(sheet, file_name) for sheet in sheets)


def _parted_again(sheet: Sheet, file_name: str) -> Sheet:
    """A sheet whose rows are each one cell of separated text with its cells, any other as it is.

    A text file that was put into one column of a workbook is such, and one with each line in quotation marks.
    """
    filled = [row for row in sheet.rows if any(cell.kind != "empty" for cell in row)]
    alone = all(row[0].kind == "text" and all(cell.kind == "empty" for cell in row[1:]) for row in filled)
    if not alone or len(filled) < LEAST_PARTED or any(is_code(row[0].text) for row in filled):
        return sheet
    text = "\n".join(row[0].text.replace("\n", " ") if row else "" for row in sheet.rows)
    separator, parted = _separator(text)
    if not parted:
        return sheet
    rows = list(_cells(_records(text, separator, file_name)))
    if len(rows) != len(sheet.rows):
        return sheet
    why = f"each row was one cell, and is split at its {SEPARATORS[separator]}s"
    return replace(sheet, rows=rows, put_together=(*sheet.put_together, ("the text", why)))


def _no_table(content: bytes) -> str | None:
    for start, why in (
        (b"%PDF", "a PDF"),
        (b"{\\rtf", "a word processor's document"),
        (b"\x89PNG", "a picture"),
        (b"\xff\xd8\xff", "a picture"),
        (b"GIF8", "a picture"),
        (b"\x1f\x8b", "a compressed file"),
        (b"Rar!", "a compressed file"),
        (b"7z\xbc\xaf", "a compressed file"),
    ):
        if content.startswith(start):
            return why
    if _opening(content).startswith((b"<!doctype", b"<html", b"<?xml", b"<table")) and not _is_html(content):
        return "a web page or XML"
    if _opening(content)[:1] in (b"{", b"[") and _is_json(content):
        return "JSON, which is no table"
    return None


def _is_json(content: bytes) -> bool:
    import json

    try:
        json.loads(content)
    except (ValueError, RecursionError):
        return False
    return True


def _opening(content: bytes) -> bytes:
    return content[:500].lstrip(b"\xef\xbb\xbf \t\r\n").lower()


def _is_html(content: bytes) -> bool:
    """Whether this is a web page with a table, as some programs save under the name of a workbook."""
    opening = _opening(content)
    return (
        opening.startswith((b"<!doctype html", b"<html", b"<table", b"<meta", b"<head"))
        and re.search(rb"<table[\s>]", content, re.IGNORECASE) is not None
    )


def _read_html(content: bytes, file_name: str) -> list[Sheet]:
    from geneticlog.store.html_table import SpansTooFar, read_html

    text, encoding = _decode(content, file_name)
    most = limits()
    try:
        tables = read_html(text, most.cells)
    except SpansTooFar:
        raise SheetFault(
            f"its cells span more than {most.cells:,} places, the most cells that are read", file=file_name,
            way_out=f"{TRIM}, or allow more with GENETICLOG_READ_CELLS",
        ) from None  # fmt: skip
    return [
        Sheet(
            name=f"table {i}" if len(tables) > 1 else "",
            rows=list(_cells(table.rows)),
            form=f"a table of a web page in {encoding}",
            struck=frozenset(table.struck),
            hidden_rows=frozenset(table.hidden_rows),
            comments=table.comments,
            colours=table.colours,
        )
        for i, table in enumerate(tables, start=1)
    ]


# --- text files -------------------------------------------------------------------------------------------


def _read_text(content: bytes, file_name: str) -> list[Sheet]:
    text, encoding = _decode(content, file_name)
    text, mixed = _with_one_separator(text)
    separator, parted = _separator(text)
    if (
        not parted
        and len(text) <= SMALL
        and (printed := in_fixed_places(text))
        and not _several_in_one(printed)
    ):
        check_size(printed, file_name, None)
        form = f"text in {encoding}, columns in fixed places"
        return [Sheet(name="", rows=list(_cells(printed)), form=form)]
    _refuse_too_many_cells(text, separator, file_name)
    records = _records(text, separator, file_name)
    if _SAYS_SEPARATOR.match(text):
        records[0] = []  # it is for the program that opens the file
    check_size(records, file_name, None)
    if len(text) <= SMALL and _several_in_one(records):
        if blanks := by_single_blanks(text):
            form = f"text in {encoding}, columns separated by one blank"
            return [Sheet(name="", rows=list(_cells(blanks)), form=form)]
        if lines := printed_lines(text):
            return [_of_lines(lines, encoding)]
    form = f"text in {encoding}, columns separated by {SEPARATORS[separator]}"
    together = (("the text", mixed),) if mixed else ()
    return [Sheet(name="", rows=list(_cells(records)), form=form, separator=separator, put_together=together)]


def _with_one_separator(text: str) -> tuple[str, str]:
    """Return a text whose lines are separated by tabs or by semicolons, each by one of them, with semicolons in all.

    Beside it, what was done; the empty text where it is as it was.
    """
    lines = text.splitlines(keepends=True) if "\t" in text and ";" in text and len(text) <= SMALL else []
    parted = [(line.count("\t"), line.count(";")) for line in lines if line.strip()]
    tabs = {n for n, semicolons in parted if n and not semicolons}
    semicolons = {n for tabs_, n in parted if n and not tabs_}
    if len(tabs) != 1 or tabs != semicolons or any(all(pair) for pair in parted) or '"' in text:
        return text, ""
    n = sum(1 for pair in parted if pair[0])
    return text.replace(
        "\t", ";"
    ), f"tabs separate {n} of its lines and semicolons the others, into the same number of columns"


def _several_in_one(records: Sequence[Sequence[str]]) -> bool:
    """Whether no cell is a vial code alone, or cells beside the codes hold several numbers: it is split wrongly."""
    coded = [
        row for row in records if any(len(text) <= LONGEST_CODE and is_code(text.strip()) for text in row)
    ]
    return not coded or any(_TWO_NUMBERS.search(text) for row in coded for text in row)


def _of_lines(lines: PrintedLines, encoding: str) -> Sheet:
    why = f"{lines.n_alike} lines are alike but for the code and the numbers, and each number is read as a column"
    if lines.one_more:
        why += "; a row of headings is put above them, so that row 12 is line 11 of the text"
    form = f"text in {encoding}, lines that are alike but for their numbers"
    return Sheet(name="", rows=list(_cells(lines.rows)), form=form, put_together=(("the text", why),))


def _refuse_too_many_cells(text: str, separator: str, file_name: str) -> None:
    """Raise SheetFault for a text of too many cells before it is split into them."""
    most = limits()
    if text.count(separator) > most.cells:
        raise SheetFault(
            f"it has more than {most.cells:,} cells, the most that are read",
            file=file_name,
            way_out="save only the table, or allow more with GENETICLOG_READ_CELLS",
        )


def _decode(content: bytes, file_name: str) -> tuple[str, str]:
    encoding = next(
        (
            name
            for mark, name in (
                (b"\xef\xbb\xbf", "utf-8-sig"),
                (b"\xff\xfe", "utf-16"),
                (b"\xfe\xff", "utf-16"),
            )
            if content.startswith(mark)
        ),
        None,
    )
    if encoding is None and b"\x00" in content[:4000]:
        # UTF-16 without its mark: in Latin text every second byte is nought.
        high, low = content[:4000:2].count(0), content[1:4000:2].count(0)
        if max(high, low) > len(content[:4000]) / 4 and min(high, low) == 0:
            encoding = "utf-16-be" if high else "utf-16-le"
        else:
            raise SheetFault("this is not a table of text or a workbook", file=file_name, way_out=RESAVE)
    try:
        return content.decode(encoding or "utf-8"), (encoding or "utf-8").removesuffix("-sig")
    except UnicodeDecodeError as error:
        if encoding is not None:
            problem = f"its characters break off or are damaged at byte {error.start}"
            raise SheetFault(problem, file=file_name, way_out=RESAVE) from None
    if (page := code_page_of(content)) is not None:
        return content.decode(page), page
    from charset_normalizer import from_bytes

    guess = from_bytes(content, cp_isolation=list(CODE_PAGES)).best()
    if guess is None:
        raise SheetFault("its characters are in no known encoding", file=file_name, way_out=RESAVE)
    return str(guess), guess.encoding


def _separator(text: str) -> tuple[str, bool]:
    """Return the character that parts most rows of the file's beginning into one same number of columns, and whether
    it parts half of them.

    A decimal comma parts the rows of figures as well, but not the heading, so the true separator wins.
    """
    if told := _SAYS_SEPARATOR.match(text):
        return (told[1] if told[1] in SEPARATORS else ","), True
    opening = text[:60_000].splitlines()[:200]
    best, score = ",", (0, 0)
    for separator in SEPARATORS:
        widths = Counter(
            len(row) for row in csv.reader(opening, delimiter=separator) if len(row) > 1
        )  # a row that ends inside a quotation is simply counted as it stands
        if widths:
            width, n_rows = max(widths.items(), key=lambda pair: (pair[1], pair[0]))
            if (n_rows, width) > score:
                best, score = separator, (n_rows, width)
    return best, 2 * score[0] >= sum(bool(line.strip()) for line in opening)


def _records(text: str, separator: str, file_name: str) -> list[list[str]]:
    csv.field_size_limit(LONGEST_CELL)
    try:
        return list(csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True))
    except csv.Error as error:
        if "unexpected end of data" in str(error):
            row = _last_row(text, separator)
            problem = "a quotation mark is opened in or before this row and never closed"
            raise SheetFault(problem, file=file_name, row=row, way_out="close or remove it") from None
    try:  # a quotation mark inside a plain cell, as in 5" vial, is no fault
        return list(csv.reader(io.StringIO(text, newline=""), delimiter=separator))
    except csv.Error as error:
        raise SheetFault(
            f"the text cannot be split into columns ({error})", file=file_name, way_out=RESAVE
        ) from None


def _last_row(text: str, separator: str) -> int:
    return sum(1 for _ in csv.reader(io.StringIO(text, newline=""), delimiter=separator))


# ="00123" and =0.56: what a spreadsheet program is kept from changing by, or a number that was typed behind an =
_PROTECTED = re.compile(r'\s*=\s*(?:"([^"]*)"|([\d.,]+(?: ?/ ?\d+)? ?%?))\s*')


class _Cells(dict[str, Cell]):
    """The cell of each text: a lab's proportions are few, and sharing their cells halves the memory."""

    def __missing__(self, text: str) -> Cell:
        bare = found[1] or found[2] or "" if (found := _PROTECTED.fullmatch(text)) else text
        cell = self[text] = Cell(bare, "text" if bare.strip() else "empty")
        return cell


def _cells(records: Iterable[list[str]]) -> Iterator[list[Cell]]:
    cell = _Cells({"": EMPTY}).__getitem__
    for record in records:
        yield list(map(cell, record))


# --- workbooks --------------------------------------------------------------------------------------------


def _read_workbook(content: bytes, file_name: str) -> list[Sheet]:
    """Return the sheets of a workbook."""
    from python_calamine import (
        CalamineError,
        CalamineWorkbook,
        PasswordError,
        SheetTypeEnum,
        SheetVisibleEnum,
    )

    from geneticlog.store.marks import Marks
    from geneticlog.store.workbook_marks import read_marks

    marks = read_marks(content, file_name)
    try:
        workbook = CalamineWorkbook.from_filelike(io.BytesIO(content))
        sheets = []
        for listed in workbook.sheets_metadata:
            if listed.typ != SheetTypeEnum.WorkSheet:
                continue
            table = workbook.get_sheet_by_name(listed.name)
            seen = marks.get(listed.name, Marks())
            rows = [[_cell(value) for value in row] for row in table.to_python(skip_empty_area=False)]
            for (row, column), cell in seen.cells.items():
                _put(rows, row, column, Cell(*cell))
            merged = tuple(
                (top + 1, left + 1, bottom + 1, right + 1)
                for (top, left), (bottom, right) in table.merged_cell_ranges or []
            )
            hidden = listed.visible != SheetVisibleEnum.Visible
            sheets.append(
                Sheet(
                    listed.name, rows, "workbook", hidden, frozenset(seen.hidden_rows), merged,
                    struck=frozenset(seen.struck), hidden_columns=frozenset(seen.hidden_columns),
                    colours=seen.colours, comments=seen.comments, rules=seen.rules, notes=seen.notes,
                    areas=seen.areas, properties=seen.properties, formulas=seen.formulas,
                    is_protected=seen.is_protected,
                )
            )  # fmt: skip
    except PasswordError:
        problem = "the workbook is locked with a password"
        raise SheetFault(problem, file=file_name, way_out="save it without one") from None
    except (CalamineError, OSError, ValueError) as error:
        problem = f"this is not a workbook, or a damaged one ({error})"
        raise SheetFault(problem, file=file_name, way_out=RESAVE) from None
    return sheets


def _put(rows: list[list[Cell]], row: int, column: int, cell: Cell) -> None:
    rows.extend([] for _ in range(row - len(rows)))
    line = rows[row - 1]
    line.extend(EMPTY for _ in range(column - len(line)))
    line[column - 1] = cell


def _cell(value: Any) -> Cell:
    if isinstance(value, str):
        return Cell(value, "text" if value.strip() else "empty") if value else EMPTY
    if isinstance(value, bool):
        return Cell("TRUE" if value else "FALSE", "boolean")
    if isinstance(value, float):
        # A workbook keeps every number as a float: 123.0 is what its author saw as 123.
        whole = value.is_integer() and abs(value) < 1e15 and not (value == 0 and str(value).startswith("-"))
        return Cell(str(int(value)) if whole else repr(value), "number")
    if isinstance(value, int):
        return Cell(str(value), "number")
    if isinstance(value, dt.datetime):
        return Cell(value.isoformat(sep=" "), "date")
    if isinstance(value, dt.date):
        return Cell(value.isoformat(), "date")
    return Cell(str(value), "time")


# kind of file -> its reader; only the process that ``reading_room`` starts for a file calls these
READERS = {"workbook": _read_workbook, "page": _read_html, "text": _read_text}
