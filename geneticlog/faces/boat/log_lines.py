"""The lines of a scanner's log, from a file or a pipe, in the encodings that scanners and shells write."""

from __future__ import annotations

import codecs
import os
import stat
import sys
from collections.abc import Iterable, Iterator
from contextlib import suppress
from pathlib import Path

_MARKS = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)


def decoded(content: bytes) -> str:
    """Return a log as text: by its byte-order mark, else UTF-16 where every other byte is zero, else UTF-8."""
    for mark, encoding in _MARKS:
        if content.startswith(mark):
            return content[len(mark) :].decode(encoding, errors="replace")
    start = content[:200]
    for zeros, encoding in ((start[1::2].count(0), "utf-16-le"), (start[0::2].count(0), "utf-16-be")):
        if 4 * zeros > len(start):  # more than half of every other byte
            return content.decode(encoding, errors="replace")
    return content.decode("utf-8", errors="replace")


def lines_of_file(file: Path) -> list[str]:
    """Return the lines of a log file. Raises NotFound, or SheetFault where it cannot be read."""
    from geneticlog.store.sheets import read_bytes

    return decoded(read_bytes(file)).splitlines()


def piped_lines() -> Iterable[str]:
    """Return the lines of standard input: as they come from a pipe, or a list where a file is there as a whole."""
    stream = sys.stdin.buffer
    try:
        live = stat.S_ISFIFO(os.fstat(stream.fileno()).st_mode)
    except (OSError, ValueError):
        live = False
    return _as_they_come() if live else decoded(stream.read()).splitlines()


def _as_they_come() -> Iterator[str]:
    stream = sys.stdin.buffer
    with suppress(KeyboardInterrupt):  # what was not stored still goes to the mend file
        first = stream.readline()
        if first.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)) or b"\0" in first:
            yield from decoded(first + stream.read()).splitlines()  # such a line ends in the middle of a sign
            return
        yield decoded(first)
        for line in stream:
            yield line.decode("utf-8", errors="replace")
