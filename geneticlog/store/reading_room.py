"""Files of other people, taken apart in a process of their own that can neither fill nor stop the program.

A workbook of 2 kB can ask for gigabytes, and one that is cut short can keep a reader busy for ever. The process that
reads it has a limit of memory and time; what it finds has a limit of cells and columns. Whatever happens in it, the
program goes on and says what was wrong with the file. Workbooks, web pages, and long texts and carry files are read
so; a text or carry file of up to ``SMALL`` bytes is read straight, since each byte of it makes at most one cell or
value and the reader is linear.
"""

from __future__ import annotations

import faulthandler
import gc
import json
import os
import select
import signal
import subprocess
import sys
import threading
import time
import warnings
from contextlib import suppress
from dataclasses import dataclass, fields
from pathlib import Path
from typing import TYPE_CHECKING, Any

from geneticlog.errors import SheetFault
from geneticlog.settings import reading_limit

if TYPE_CHECKING:
    from geneticlog.store.sheets import Sheet

SMALL = 256_000  # bytes of a text that can neither fill nor stop the program
TRIM = "delete what lies outside the table and save it again, or ask for it as CSV"


@dataclass(frozen=True)
class Limits:
    """What a file may ask for: MB of itself, MB of memory and seconds to be read, cells and columns of one sheet."""

    file_mb: int = 100
    memory_mb: int = 512
    seconds: int = 60
    cells: int = 2_000_000
    columns: int = 1_000


def limits() -> Limits:
    """Return the limits, as the environment sets them (GENETICLOG_READ_CELLS=4000000). Raises GeneticlogError."""
    return Limits(**{one.name: reading_limit(one.name, one.default) for one in fields(Limits)})  # type: ignore[arg-type]


def check_size(rows: list[list[Any]], file: str, sheet: str | None) -> None:
    """Raise SheetFault for a table of more cells or columns than a file may have."""
    most = limits()
    widest = max(map(len, rows), default=0)
    if widest > most.columns:
        row = next(i for i, row in enumerate(rows, start=1) if len(row) > most.columns)
        raise SheetFault(
            f"it has {widest:,} columns, and at most {most.columns:,} are read", file=file, sheet=sheet, row=row,
            way_out=f"{TRIM}, or allow more with GENETICLOG_READ_COLUMNS",
        )  # fmt: skip
    n_cells = sum(map(len, rows))
    if n_cells > most.cells:
        raise SheetFault(
            f"it has {n_cells:,} cells, and at most {most.cells:,} are read", file=file, sheet=sheet,
            way_out=f"{TRIM}, or allow more with GENETICLOG_READ_CELLS",
        )  # fmt: skip


def sheets_apart(kind: str, content: bytes, file_name: str) -> list[Sheet]:
    """Return the sheets of a file ("workbook" or "page" of the web), read in a process of its own.

    Raises SheetFault for a file that cannot be read, and for one that asks for more than the limits.
    """
    return [_unpacked(one) for one in _read_apart(kind, content, file_name)["sheets"]]


def try_text_apart(content: bytes, file_name: str) -> None:
    """Read a long text in a process of its own, and throw away what it reads.

    A text that was read within the limits can be read again here: that is quicker than to hand its cells over. Raises
    SheetFault for one that cannot.
    """
    _read_apart("text", content, file_name)


def carry_lines_apart(content: bytes, file_name: str) -> list[dict[str, Any]]:
    """Return the lines of a carry file, seal and values verified; of a long one in a process of its own.

    Raises SheetFault.
    """
    if len(content) <= SMALL:
        answered = _or_refused(_what_is_in("carry", content, file_name))
    else:
        answered = _read_apart("carry", content, file_name)
    lines: list[dict[str, Any]] = answered["lines"]
    return lines


def _read_apart(kind: str, content: bytes, file_name: str) -> dict[str, Any]:
    most = limits()
    read = _forked if _may_fork() else _spawned
    answer = read(kind, content, file_name, most)
    try:
        answered: dict[str, Any] = json.loads(answer)
    except ValueError:
        raise _died(file_name, most) from None
    return _or_refused(answered)


def _or_refused(answered: dict[str, Any]) -> dict[str, Any]:
    """Return what was read; raise SheetFault for the fault that was found instead."""
    if "fault" in answered:
        raise SheetFault(**answered["fault"])
    return answered


def _may_fork() -> bool:
    """A fork is ready in a few milliseconds, but only a program of one thread may be forked."""
    return sys.platform == "linux" and threading.active_count() == 1


def _forked(kind: str, content: bytes, file_name: str, most: Limits) -> bytes:
    _load_reader(kind)
    reader, writer = os.pipe()
    with warnings.catch_warnings():
        warnings.simplefilter(
            "ignore", DeprecationWarning
        )  # threads of a number library do not run in the child
        child = os.fork()
    if child == 0:
        try:
            gc.freeze()  # what the program holds is none of the child's garbage: looking at it would copy its pages
            os.close(reader)
            answer = _answer(kind, content, file_name, most)
            with os.fdopen(writer, "wb") as pipe:
                pipe.write(answer)
        finally:
            os._exit(0)
    os.close(writer)
    try:
        return _all_of(reader, time.monotonic() + most.seconds, file_name, most)
    finally:
        os.close(reader)
        with suppress(ProcessLookupError):
            os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)


def _load_reader(kind: str) -> None:
    """Load what reads a kind of file before the fork: then a program that reads many files loads it once."""
    from geneticlog.store import carry_file, plain_xml, sheets  # noqa: F401

    if kind == "workbook":
        import python_calamine  # noqa: F401

        from geneticlog.store import workbook_marks  # noqa: F401
    elif kind == "page":
        from geneticlog.store import html_table  # noqa: F401


def _all_of(reader: int, until: float, file_name: str, most: Limits) -> bytes:
    parts: list[bytes] = []
    while (left := until - time.monotonic()) > 0:
        if select.select([reader], [], [], left)[0]:
            part = os.read(reader, 1 << 20)
            if not part:
                return b"".join(parts)
            parts.append(part)
            if sum(map(len, parts)) > most.memory_mb << 20:
                raise _died(file_name, most)
    raise _too_slow(file_name, most)


def _spawned(kind: str, content: bytes, file_name: str, most: Limits) -> bytes:
    command = [sys.executable, "-m", "geneticlog.store.reading_room", kind, file_name]
    try:
        done = subprocess.run(
            command, input=content, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, timeout=most.seconds,
            check=False, env={**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))},
        )  # fmt: skip
    except subprocess.TimeoutExpired:
        raise _too_slow(file_name, most) from None
    return done.stdout


def _too_slow(file_name: str, most: Limits) -> SheetFault:
    return SheetFault(
        f"it was not read within {most.seconds} seconds: it is damaged, or far larger than a table",
        file=file_name, way_out=f"{TRIM}, or allow more with GENETICLOG_READ_SECONDS",
    )  # fmt: skip


def _died(file_name: str, most: Limits) -> SheetFault:
    return SheetFault(
        f"it needs more than {most.memory_mb} MB to be read: a cell far outside the table is filled in, or it is"
        " damaged",
        file=file_name, way_out=f"{TRIM}, or allow more with GENETICLOG_READ_MEMORY_MB",
    )  # fmt: skip


def _answer(kind: str, content: bytes, file_name: str, most: Limits) -> bytes:
    """What the process says: what it read, or the fault."""
    limit_memory(most.memory_mb)
    faulthandler.disable()
    try:
        with Path(os.devnull).open("w") as nowhere:
            os.dup2(nowhere.fileno(), 2)  # what a library prints before it gives up
        return json.dumps(_what_is_in(kind, content, file_name)).encode()
    except MemoryError:
        return b""


def _what_is_in(kind: str, content: bytes, file_name: str) -> dict[str, Any]:
    """What a file holds, or its fault. Raises MemoryError."""
    try:
        return _found(kind, content, file_name)
    except SheetFault as fault:
        names = ("problem", "file", "sheet", "row", "column", "way_out")
        return {"fault": {name: getattr(fault, name) for name in names}}
    except MemoryError:
        raise
    except Exception as fault:  # the file is at fault, whatever a library makes of it
        problem = f"the {'workbook' if kind == 'workbook' else 'file'} is damaged ({type(fault).__name__})"
        way_out = "open it where it was made and save it again"
        return {"fault": {"problem": problem, "file": file_name, "way_out": way_out}}


def _found(kind: str, content: bytes, file_name: str) -> dict[str, Any]:
    if kind == "carry":
        from geneticlog.store.carry_file import verified_lines

        return {"lines": verified_lines(content, file_name)}
    from geneticlog.store.plain_xml import require_plain_xml
    from geneticlog.store.sheets import READERS

    require_plain_xml(content, file_name)
    sheets = READERS[kind](content, file_name)
    for sheet in sheets:
        check_size(sheet.rows, file_name, sheet.name)
    return {"sheets": [] if kind == "text" else [_packed(sheet) for sheet in sheets]}


def limit_memory(megabytes: int) -> None:
    """Let this process take no more than a number of MB beyond what it holds; without effect where a system cannot."""
    try:
        import resource
    except ImportError:  # Windows: time, cells and columns are limited there, memory is not
        return
    in_use = 0
    with suppress(OSError, ValueError), Path("/proc/self/statm").open() as told:
        in_use = int(told.read().split()[0]) * resource.getpagesize()
    with suppress(OSError, ValueError):
        resource.setrlimit(resource.RLIMIT_AS, (in_use + (megabytes << 20),) * 2)
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def _packed(sheet: Sheet) -> dict[str, Any]:
    """A sheet as JSON holds it: each different cell once, the rows as their numbers."""
    number: dict[Any, int] = {}
    rows = [[number.setdefault(cell, len(number)) for cell in row] for row in sheet.rows]
    others: dict[str, Any] = {}
    for field in fields(sheet):
        value = getattr(sheet, field.name)
        if field.name != "rows":
            others[field.name] = sorted(value) if isinstance(value, frozenset) else value
            if isinstance(value, dict):
                others[field.name] = [[list(key), item] for key, item in value.items()]
    return {"cells": [list(cell) for cell in number], "rows": rows, "others": others}


def _unpacked(packed: dict[str, Any]) -> Sheet:
    from geneticlog.store.sheets import Cell, Sheet

    cells = [Cell(*one) for one in packed["cells"]]
    others = dict(packed["others"])
    for field in fields(Sheet):
        value: Any = others.get(field.name)
        kind = str(field.type)
        if kind.startswith("frozenset"):
            others[field.name] = frozenset(tuple(each) if isinstance(each, list) else each for each in value)
        elif kind.startswith("Mapping"):
            others[field.name] = {tuple(key): item for key, item in value}
        elif kind.startswith("tuple"):
            others[field.name] = tuple(tuple(each) for each in value)
    return Sheet(rows=[[cells[i] for i in row] for row in packed["rows"]], **others)


if __name__ == "__main__":
    sys.stdout.buffer.write(_answer(sys.argv[1], sys.stdin.buffer.read(), sys.argv[2], limits()))
