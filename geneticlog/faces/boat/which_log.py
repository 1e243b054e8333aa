"""Which log a piped file is: each line is known by its log, its text and how often that text came before it there.

Another site is another log: two crews may measure fish of one length. A file that holds every line stored from one log
is that log, whole or grown, whatever site is named now.
"""

from __future__ import annotations

import hashlib
from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from geneticlog.faces.boat.mend_file import KEY, Unstored
from geneticlog.faces.boat.pipe_book import PipeReport
from geneticlog.rules.sentences import n_of
from geneticlog.work.events import find_survey

if TYPE_CHECKING:
    from geneticlog.faces.boat.pipe_book import PipeBook


def plain_text(raw: str) -> str:
    """Return a line as it is written in a mend file; the empty text for a remark."""
    text = " ".join(raw.replace("\ufeff", "").split())
    return "" if text.startswith("#") and not text.startswith(KEY) else text


class Numbered:
    """Lines as they come, each with its digest and how often it came: "1f…:2" is the second of its text."""

    def __init__(self) -> None:
        self._came: Counter[str] = Counter()
        self._whole = hashlib.sha256()

    def key(self, text: str) -> str:
        plain = text.upper()
        self._whole.update(plain.encode())
        self._came[plain] += 1
        return f"{hashlib.sha256(plain.encode()).hexdigest()[:16]}:{self._came[plain]}"

    @property
    def whole(self) -> str:
        return self._whole.hexdigest()[:8]


@dataclass(frozen=True)
class StoredLog:
    """The lines that the survey has from one log; has_vial: any of them named a vial, which no other log can."""

    lines: frozenset[str]
    has_vial: bool


@dataclass(frozen=True)
class WhichLog:
    """The log that a whole file is; doubtful: its lines stored before may be other fish, where they name no vial."""

    name: str
    doubtful: bool


def which_log(book: PipeBook, lines: Iterable[str]) -> WhichLog:
    """Return which log a whole file is, by the lines that are stored of each log of the survey."""
    numbered = Numbered()
    texts = [text for raw in lines if (text := plain_text(raw))]
    if any(text.startswith(KEY) for text in texts):  # a mend file: its marks name the fish
        return WhichLog(book.log_name, doubtful=False)
    keys = {numbered.key(text) for text in texts}
    logs = stored_logs(book)
    own = logs.pop(book.log_name, StoredLog(frozenset(), has_vial=False))
    family = book.log_name.partition("@")[0]
    whole = {
        name: log for name, log in logs.items() if name.partition("@")[0] == family and log.lines <= keys
    }
    if not (own.lines and own.lines <= keys):
        for name, log in whole.items():
            if log.has_vial:
                return WhichLog(name, doubtful=False)
    if own.lines & keys or not whole:
        return WhichLog(book.log_name, doubtful=bool(own.lines - keys))
    return WhichLog(max(whole, key=lambda name: len(whole[name].lines)), doubtful=True)


def stored_logs(book: PipeBook) -> dict[str, StoredLog]:
    """Return what the survey has of each log by its name; lines undone since are among them."""
    from sqlalchemy import select

    from geneticlog.store.tables import Fish

    with book.desk.reading() as session:
        survey = find_survey(session, book.survey)
        stored = session.execute(
            select(Fish.source, Fish.vials.any()).where(
                Fish.survey_id == survey.id, Fish.source.startswith("log:")
            )
        ).all()
    of: defaultdict[str, set[str]] = defaultdict(set)
    with_vial = set()
    for source, has_vial in [*stored, *((source, False) for source in book.undone)]:
        mark, _, rest = (source or "").rstrip("~").partition(":")
        name, *key = rest.rsplit(":", 2)
        if mark == "log" and len(key) == 2:
            of[name].add(":".join(key))
            if has_vial:
                with_vial.add(name)
    return {name: StoredLog(frozenset(keys), name in with_vial) for name, keys in of.items()}


def doubted(line: Unstored, log_name: str, whole: str) -> Unstored:
    """Return a line that was stored before and may be another fish, as one for the mend file."""
    why = (
        f"the same as a line stored before as fish {line.fish}; delete it if it is that fish, keep it if not"
    )
    return Unstored(
        line.row, line.text, why, line.key.replace(f"log:{log_name}:", f"log:{log_name}-{whole}:", 1)
    )


def doubt_the_answered(report: PipeReport, answered: list[Unstored], log_name: str, whole: str) -> str:
    """Put lines of a live pipe, answered as stored before, into the mend file too; return what to say of them."""
    report.unstored += [doubted(line, log_name, whole) for line in answered]
    report.n_already -= len(answered)
    return (
        f"Other lines of this log are missing now, so it may be another one: {n_of(len(answered), 'line')} answered"
        " as stored before, without a vial, may be another fish"
    )
