"""A scanner's stored log through a pipe: what fails goes to a file to be mended, nothing is stored twice."""

from __future__ import annotations

import hashlib
import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import click

from geneticlog.errors import Refused
from geneticlog.faces.boat.logbook import Answer, Logbook
from geneticlog.rules.boat.logline import LogLine
from geneticlog.work.boat.log_fish import FishDoubted

KEY = "#@"  # in a mend file: the identity of the line below it, and the fish it belongs to


@dataclass(frozen=True)
class Unstored:
    """A line that was not stored: its number in the pipe, its text, why, and its identity."""

    row: int
    text: str
    why: str
    key: str
    fish: int | None = None


@dataclass
class PipeReport:
    """What became of the lines of one pipe."""

    survey: str
    n_stored: int = 0
    n_already: int = 0
    n_undone: int = 0
    unstored: list[Unstored] = field(default_factory=list)
    mend_file: Path | None = None


def log_pipe(book: Logbook, lines: Iterable[str], *, log_name: str, sure: bool) -> PipeReport:
    """Take every line of a pipe, each stored and answered before the next is read.

    A line is known by the name of its log, its text and how often that text came before it in the log, so a
    log that is replayed, whole or grown, stores nothing twice, also where lines in it have been mended.
    """
    report = PipeReport(book.survey)
    came: Counter[str] = Counter()
    skipped: list[Unstored] = []
    seen: set[str] = set()
    whole = hashlib.sha256()
    given: tuple[str, int | None] | None = None
    mend_file = False
    broken = False  # the fish that the next lines may belong to was not stored
    for row, raw in enumerate(lines, start=1):
        text = " ".join(raw.split())
        if text.startswith(KEY):
            given, mend_file = _key_of(text), True
            continue
        if not text or text.startswith("#"):
            continue
        plain = text.upper()
        whole.update(plain.encode())
        came[plain] += 1
        digest = hashlib.sha256(plain.encode()).hexdigest()[:16]
        key, fish = given or (f"log:{log_name}:{digest}:{came[plain]}", None)
        given = None
        seen.add(key)
        if fish is not None:
            book.last, broken = fish, False
        line: LogLine | None = None
        before = book.last
        try:
            line = book.read(text)
            if line.verb in ("done", "help", "tally", "drop", "nothing"):
                if line.verb == "done":
                    break
                continue
            if line.verb == "undo":
                answer = book.undo()
            elif broken and book.completes(line):
                raise Refused("the line before it, to which it belongs, was not stored")
            else:
                answer = book.take(line, sure=sure, source=key)
        except Refused as fault:
            asked = "asked, and a pipe has no answer: " if isinstance(fault, FishDoubted) else ""
            belongs = before if line is not None and book.completes(line) and not broken else None
            unstored = Unstored(row, text, f"{asked}{fault}", key, belongs)
            report.unstored.append(unstored)
            click.echo(f"line {row}: not stored: {unstored.why}", err=True)
            if belongs is None:
                broken = True
                book.forget()
            continue
        broken = False
        if answer.doing in ("stored", "completed"):
            report.n_stored += 1
        elif answer.doing in ("undone", "taken back"):
            report.n_undone += 1
        else:
            report.n_already += 1
            if line.verb == "fish" and line.vial is None and answer.logged is not None:
                skipped.append(Unstored(row, text, "", key, answer.logged.number))
        if not book.desk.as_json:
            click.echo(_answer_words(row, answer))  # flushed: whoever feeds the pipe may count on it
    if skipped and not mend_file and (_stored_keys(book, log_name) - seen):
        _doubt_the_skipped(report, skipped, whole.hexdigest()[:8], log_name)
    return report


def pipe_document(report: PipeReport, book: Logbook) -> dict[str, Any]:
    """Return what became of a pipe, for ``--json``: counts of lines and fish, the lines refused, the tally."""
    return {
        "survey": report.survey,
        "n_stored": report.n_stored,
        "n_already": report.n_already,
        "n_undone": report.n_undone,
        "n_fish": book.n_standing(with_earlier=True),
        "not_stored": [{"row": one.row, "line": one.text, "why": one.why} for one in report.unstored],
        "mend_file": report.mend_file,
        "classes": [
            {
                "size_class": one.size_class,
                "n_caught": one.n_caught,
                "n_swabbed": one.n_swabbed,
                "target": one.target,
            }
            for one in book.tally
        ],
    }


def _answer_words(row: int, answer: Answer) -> str:
    words = answer.logged.words if answer.logged else ""
    own = answer.own_class
    tally = f" ({own.words})" if own is not None else ""
    told = {
        "stored": f"{words}{tally}",
        "completed": f"added to {words}{tally}",
        "already": f"stored before, nothing changed: {words}",
        "undone": f"undone: {words}",
        "taken back": f"taken back; now {words}",
        "still undone": "stored and undone before, nothing changed",
    }
    return f"line {row}: {told[answer.doing]}"


def _doubt_the_skipped(report: PipeReport, skipped: list[Unstored], whole: str, log_name: str) -> None:
    """Two logs may hold the same line and mean two fish. Where lines stored from this log before are missing
    now, it may be another log, and no fish may be lost over it: such lines go to the mend file too."""
    for line in skipped:
        why = f"the same as a line stored before as fish {line.fish}; delete it if it is that fish, keep it if not"
        digest, _, count = line.key.removeprefix(f"log:{log_name}:").partition(":")
        key = f"log:{log_name}-{whole}:{digest}:{count}"
        report.unstored.append(Unstored(line.row, line.text, why, key))
        report.n_already -= 1
        click.echo(f"line {line.row}: not stored: {why}", err=True)


def _stored_keys(book: Logbook, log_name: str) -> set[str]:
    from sqlalchemy import select

    from geneticlog.store.tables import Fish
    from geneticlog.work.events import find_survey

    start = f"log:{log_name}:"
    with book.desk.reading() as session:
        survey = find_survey(session, book.survey)
        stored = session.scalars(
            select(Fish.source).where(
                Fish.survey_id == survey.id, Fish.source.startswith(start, autoescape=True)
            )
        )
        return {key for key in (*stored, *book.undone) if key and key.startswith(start)}


def write_mend_file(report: PipeReport, file: Path) -> None:
    """Write the lines that were not stored, each under its reason, ready to be mended and replayed."""
    from geneticlog.store.writing import write_whole

    lines = [
        f"# Lines of survey {report.survey} that were not stored. Mend each one where it stands, then replay:",
        f"#   geneticlog fish log {report.survey} < {file.name}",
        "# Leave the marks (#@) alone: by them nothing is stored twice.",
    ]
    for line in report.unstored:
        lines.append(f"# line {line.row}: {' '.join(line.why.split())}")
        lines.append(f"{KEY} {line.key}" + (f" fish {line.fish}" if line.fish is not None else ""))
        lines.append(line.text)
    write_whole(file, ("\n".join(lines) + "\n").encode())
    report.mend_file = file


def free_name(file: Path) -> Path:
    """Return the name, or the next one with a number, that no file has: an older mend file may not be mended yet."""
    number = 2
    free = file
    while free.exists():
        free = file.with_name(f"{file.stem}-{number}{file.suffix}")
        number += 1
    return free


def _key_of(text: str) -> tuple[str, int | None] | None:
    found = re.fullmatch(rf"{KEY} (log:\S+)(?: fish ([0-9]+))?", text)
    return (found[1], int(found[2]) if found[2] else None) if found else None
