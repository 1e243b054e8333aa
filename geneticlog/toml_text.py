"""Read a TOML text so that every fault names its line and key: layouts, manifest forms, markers, rule sets, stocks.

The standard library parses; it gives no places, so a key is looked for in the text. A library that keeps places
(tomlkit) would be a new dependency of the lowest floor for this one question.
"""

from __future__ import annotations

import re
import tomllib
from typing import Any

_HEADING = re.compile(r"""\s*\[+\s*["']?([^\]"']+?)["']?\s*\]""")
_AT_LINE = re.compile(r"\s*\(at line (\d+), column \d+\)$")


class TomlSyntax(Exception):
    """A text that is not TOML: the parser's words, and the line (None where it is the end of the text)."""

    def __init__(self, problem: str, line: int | None) -> None:
        super().__init__(problem if line is None else f"{problem}, line {line}")
        self.problem, self.line = problem, line


class TomlText:
    """A TOML text and its table; raises TomlSyntax for another text."""

    def __init__(self, text: str) -> None:
        self.lines = text.splitlines()
        try:
            self.table: dict[str, Any] = tomllib.loads(text)
        except tomllib.TOMLDecodeError as fault:
            said = str(fault)
            found = _AT_LINE.search(said)
            problem = re.sub(r"\s*\(at [^)]*\)$", "", said)
            raise TomlSyntax(problem, int(found[1]) if found else None) from None

    def line_of(self, section: str, key: str = "", nth: int = 0) -> int:
        """Return the line of a key within a section ("" for the top), or of the section's heading; 1 where it is not.

        nth
            Which of the sections of that name, where it is a list of tables ([[column]]), from 0.
        """
        seen, heading_at = -1, 1
        inside = not section
        for number, line in enumerate(self.lines, start=1):
            if heading := _HEADING.match(line):
                inside = heading[1] == section
                if key and not section and heading[1].split(".")[0] == key:
                    return number
                if inside:
                    seen += 1
                    if seen == nth:
                        heading_at = number
                        if not key:
                            return number
            elif inside and key and seen == (nth if section else -1) and _is_key(line, key):
                return number
        return heading_at


def _is_key(line: str, key: str) -> bool:
    return re.match(rf"\s*[\"']?{re.escape(key)}[\"']?\s*[=.]", line) is not None
