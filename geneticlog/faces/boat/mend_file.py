"""The file of lines that a pipe did not store, each fish under its reason, ready to be replayed."""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from geneticlog.faces.boat.pipe_book import PipeReport

KEY = "#@"  # the identity of the fish that the lines below it make


@dataclass(frozen=True)
class Unstored:
    """A line that was not stored: its number in the pipe, its text, why, and the identity of its card."""

    row: int
    text: str
    why: str
    key: str
    fish: int | None = None


def write_mend_file(report: PipeReport, file: Path, replay: str) -> None:
    """Write the lines that were not stored, those of one card together under their reason."""
    from geneticlog.store.writing import write_whole

    write_whole(file, mend_text(report, replay).encode())
    report.mend_file = file


def mend_text(report: PipeReport, replay: str) -> str:
    """Return what a mend file holds; replay: the command that reads it."""
    lines = [
        f"# Lines of survey {report.survey} that were not stored. Correct them in place; what belongs to one",
        "# fish on one line, then replay:",
        f"#   {replay}",
        "# Leave the marks (#@) alone: by them nothing is stored twice.",
    ]
    for group in _cards(report.unstored):
        rows = f"line {group[0].row}" if len(group) == 1 else f"lines {group[0].row} to {group[-1].row}"
        lines.append(f"# {rows}: {' '.join(group[0].why.split())}")
        lines.append(
            f"{KEY} {group[0].key}" + (f" fish {group[0].fish}" if group[0].fish is not None else "")
        )
        lines += [one.text for one in group]
    return "\n".join(lines) + "\n"


def lines_in_words(numbers: Collection[int]) -> str:
    """Return "lines 1 to 4 and 6" of line numbers; "no line" of none."""
    runs: list[list[int]] = []
    for number in sorted(numbers):
        if runs and number == runs[-1][1] + 1:
            runs[-1][1] = number
        else:
            runs.append([number, number])
    spans = [str(first) if first == last else f"{first} to {last}" for first, last in runs]
    if not spans:
        return "no line"
    return f"line{'s' * (len(numbers) > 1)} {' and '.join(filter(None, (', '.join(spans[:-1]), spans[-1])))}"


def free_name(file: Path) -> Path:
    """Return the name, or the next one with a number, that no file has: an older one may still be in use."""
    number = 2
    free = file
    while free.exists():
        free = file.with_name(f"{file.stem}-{number}{file.suffix}")
        number += 1
    return free


def key_of(text: str) -> tuple[str, int | None] | None:
    """Return the identity on a mark, and for one of an older program the number of the fish that it completes."""
    found = re.fullmatch(rf"{KEY} (log:\S+)(?: fish ([0-9]+))?", text)
    return (found[1], int(found[2]) if found[2] else None) if found else None


def _cards(unstored: Sequence[Unstored]) -> list[list[Unstored]]:
    groups: list[list[Unstored]] = []
    for entry in unstored:
        if groups and groups[-1][-1].key == entry.key and entry.fish is None:
            groups[-1].append(entry)
        else:
            groups.append([entry])
    return groups
