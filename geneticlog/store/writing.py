"""Writing tables as CSV and XLSX that a spreadsheet program cannot turn into something else, whole or not at all."""

from __future__ import annotations

import csv
import io
import os
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

from geneticlog.errors import NotFound

# OWASP ASVS 5.0, 1.2.10: a text that begins so is a formula to a spreadsheet program; carriage return: CWE-1236
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\0")


def guarded(text: str) -> str:
    """Return a text cell with a quote before what a spreadsheet program would run."""
    return "'" + text if text.startswith(FORMULA_STARTS) else text


def unguarded(text: str) -> str:
    """Return a text cell of our own making without its guard quote."""
    return text[1:] if text.startswith("'") and text[1:].startswith(FORMULA_STARTS) else text


def require_folder(path: Path) -> None:
    """Raise NotFound, naming the folder, where a file's folder is not there."""
    if not path.parent.exists():
        raise NotFound(
            f"there is no folder {path.parent} to write {path.name} into; make it, or name another place"
        )


def write_whole(path: Path, content: bytes) -> None:
    """Write a file so that either the old or the whole new one is there, whatever happens.

    A device or a pipe is written to; nothing takes its place. Raises NotFound where the folder is not there, OSError
    with the file's own name where it cannot be written.
    """
    require_folder(path)
    with by_its_own_name(path):
        if path.exists() and not path.is_file() and not path.is_dir():
            path.write_bytes(content)
        else:
            _write_beside(path, content)


@contextmanager
def by_its_own_name(path: Path) -> Iterator[None]:
    """Name a file as it was asked for in a fault of the disk, not by the file that is written beside it first."""
    try:
        yield
    except OSError as fault:
        raise type(fault)(fault.errno, fault.strerror, str(path)) from fault


def _write_beside(path: Path, content: bytes) -> None:
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=".geneticlog-")  # short: the own name may be long
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        umask = os.umask(0)
        os.umask(umask)
        Path(name).chmod(0o666 & ~umask)
        Path(name).replace(path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


def csv_cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return repr(value)  # every digit that is stored
    if isinstance(value, datetime | date):
        return value.isoformat()
    return guarded(str(value))


def csv_bytes(
    heading: Sequence[str], rows: Sequence[Sequence[Any]], *, for_spreadsheets: bool = False
) -> bytes:
    """Return RFC 4180 CSV in UTF-8; with a byte-order mark only in the variant for spreadsheet programs."""
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow([guarded(name) for name in heading])
    writer.writerows([csv_cell(value) for value in row] for row in rows)
    return text.getvalue().encode("utf-8-sig" if for_spreadsheets else "utf-8")


def _of_a_sheet(value: date) -> date:
    """Return a day as it is, and a moment in UTC without its zone, which a sheet cannot hold."""
    if isinstance(value, datetime) and value.tzinfo is not None:
        return value.astimezone(UTC).replace(tzinfo=None)
    return value


def xlsx_bytes(
    sheets: Mapping[str, tuple[Sequence[str], Sequence[Sequence[Any]]]], *, above: Sequence[str] = ()
) -> bytes:
    """Return a workbook of sheets (name -> heading, rows); texts are text cells, numbers numbers, days and moments (in
    UTC) dates, yes and no so too, nothing a formula.

    ``above`` are lines of text over the heading of each sheet.
    """
    import xlsxwriter

    memory = io.BytesIO()
    book = xlsxwriter.Workbook(
        memory, {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}
    )
    as_text = book.add_format({"num_format": "@"})
    as_day = book.add_format({"num_format": "yyyy-mm-dd", "align": "left"})
    as_moment = book.add_format({"num_format": "yyyy-mm-dd hh:mm", "align": "left"})
    bold = book.add_format({"bold": True, "num_format": "@", "bottom": 1})
    for name, (heading, rows) in sheets.items():
        sheet = book.add_worksheet(name[:31])
        for number, line in enumerate(above):
            sheet.write_string(number, 0, line, as_text)
        top = len(above)
        widths = [len(column) for column in heading]
        for column, title in enumerate(heading):
            sheet.write_string(top, column, title, bold)
        for number, row in enumerate(rows, start=top + 1):
            for column, value in enumerate(row):
                if value is None:
                    continue
                if isinstance(value, int | float) and not isinstance(value, bool):
                    sheet.write_number(number, column, value)
                    width = len(f"{value:g}")
                elif isinstance(value, bool):
                    sheet.write_boolean(number, column, value)
                    width = len("FALSE")
                elif (
                    isinstance(value, datetime | date) and value.year >= 1900
                ):  # a sheet knows no earlier day
                    moment = isinstance(value, datetime)
                    sheet.write_datetime(number, column, _of_a_sheet(value), as_moment if moment else as_day)
                    width = len("2026-05-01 12:00") if moment else len("2026-05-01")
                else:
                    text = value.isoformat() if isinstance(value, datetime | date) else str(value)
                    sheet.write_string(number, column, text, as_text)
                    width = len(text)
                if column < len(widths):
                    widths[column] = max(widths[column], width)
        for column, width in enumerate(widths):
            sheet.set_column(column, column, min(width + 2, 48))
        sheet.freeze_panes(top + 1, 0)
    book.close()
    return memory.getvalue()


def write_table(path: Path, heading: Sequence[str], rows: Sequence[Sequence[Any]]) -> None:
    """Write one table as CSV or XLSX by the ending of its name."""
    if path.suffix.lower() == ".xlsx":
        write_whole(path, xlsx_bytes({path.stem: (heading, rows)}))
    else:
        write_whole(path, csv_bytes(heading, rows))
