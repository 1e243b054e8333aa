"""A scanner's stored log through a pipe: a card at fault goes to a file to be corrected, nothing is stored twice."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import replace
from typing import Any

import click

from geneticlog.errors import Refused
from geneticlog.faces.boat.mend_file import KEY, Unstored, key_of
from geneticlog.faces.boat.pipe_book import PipeBook, PipeReport, Row
from geneticlog.faces.boat.which_log import (
    Numbered,
    WhichLog,
    doubt_the_answered,
    doubted,
    plain_text,
    stored_logs,
    which_log,
)
from geneticlog.rules.boat import card as steps
from geneticlog.rules.boat.doing import Doing
from geneticlog.rules.boat.logline import LogLine, LogLineError
from geneticlog.rules.boat.sitting import Card, CardAsks, card_words
from geneticlog.rules.boat.stream_order import plain_order
from geneticlog.work.boat.fish_doubts import FishDoubted
from geneticlog.work.boat.logged import Logged
from geneticlog.work.boat.tally import ClassTally
from geneticlog.work.events import find_survey

ASKED = "a question that a pipe cannot answer: "  # what only a person can say


class _Stream:
    """The lines of one pipe on their way onto cards. ``rows`` are those of the open card."""

    def __init__(self, book: PipeBook, report: PipeReport, *, sure: bool) -> None:
        self.book, self.report, self.sure = book, report, sure
        self.sitting = steps.open_card(book.rules, "")
        self.rows: list[Row] = []
        self.broken: str | None = None  # why the open card cannot be stored
        self.shows: set[str] = set()  # what the lines of a broken card seem to hold
        self.last_rows: list[Row] = []  # of the card closed last
        self.again: set[str] = set()
        self.skipped: list[Unstored] = []
        self.log = WhichLog(book.log_name, doubtful=False)
        self.numbered = Numbered()

    def offer(self, row: Row, line: LogLine) -> None:
        """Take a line; where it does not fit, its whole card is set aside for the mend file."""
        if self.broken is not None and self._goes_with_broken(line):
            self.rows.append(row)
            self._note(line)
            return
        if self.broken is not None:
            self.finish()
        if self.sitting.card.empty:
            self.sitting = replace(self.sitting, card=Card(row.key))
        before = self.sitting
        try:
            after = steps.offer(before, line, row.key)
        except CardAsks as asks:
            way_out = "put what belongs to one fish on one line, or name the order of work with --order"
            self.fault(row, f"{ASKED}{asks.question.text} {way_out}", _shows(line))
            return
        except Refused as fault:
            self.fault(row, str(fault), _shows(line))
            return
        self.sitting = after
        closed = steps.to_store(before, after)
        if closed and line.second and line.vial is None and before.card.empty:
            self._store(closed[-1], [*self.last_rows, row], added=row)
            return
        on_next = bool(closed) and closed[0].lines == before.card.lines
        if on_next:
            self._store(closed[0], self.rows)
            closed, self.rows = closed[1:], []
        self.rows.append(row)
        if closed:
            self._store(closed[0], self.rows)
            self.rows = []

    def fault(self, row: Row, why: str, shows: frozenset[str]) -> None:
        """Set a line aside that cannot be taken, and with it the card that it may belong to."""
        has = self.sitting.card.line
        another = (has.vial is not None and "vial" in shows) or (has.length is not None and "length" in shows)
        if self.broken is None and another and self.sitting.card.closable and not why.startswith(ASKED):
            self.finish()
        if self.broken is not None and shows & self.shows:
            self.finish()
        if self.broken is None:
            self.broken = why
            self.shows = set(_shows(self.sitting.card.line)) | shows
            if has.weight is not None:
                self.shows.add("weight")
        self.rows.append(row)

    def finish(self) -> None:
        """Close the open card: store it, or set it aside where it is broken or no fish."""
        rows, why, card = self.rows, self.broken, self.sitting.card
        self.rows, self.broken, self.shows = [], None, set()
        if why is None and not card.empty:
            if self.sure and not card.closable and card.line.vial:  # said with --yes
                card = replace(card, lines=(*card.lines, LogLine(no_length=True)))
                self.sitting = replace(self.sitting, card=card)
            try:
                after = steps.close(self.sitting, "")
            except Refused as fault:
                why = f"{fault}"
            else:
                self.sitting = after
                self._store(after.closed[-1], rows)
                return
        if why is not None:
            self._set_aside(rows, why)
            self.sitting = steps.open_card(self.sitting.rules, "")  # no second vial reaches past it

    def undo(self, row: Row) -> None:
        if self.broken is not None:
            gone = self.rows.pop()
            self._answer([row], f"line {gone.number} taken back, not stored: {gone.text}", None)
            self.report.n_undone += 1
            if not self.rows:
                self.broken, self.shows = None, set()
                self.sitting = steps.open_card(self.sitting.rules, "")
            return
        before = self.sitting
        last = before.closed[-1].uid if before.closed else ""
        taken_back = (before.card.lines or (before.closed[-1].lines if before.closed else ()))[-1:]
        try:
            after = steps.undo(before, f"{last}~")
            done = [self.book.take_out(card) for card in steps.to_take_out(before, after)]
            if before.card.lines and not after.card.lines and self._is_stored(before.card):
                done.append(self.book.take_out(before.card))  # by an earlier, shorter run of the same log
            for card in steps.to_store(before, after):
                done.append(self.book.store(card, sure=self.sure, again=True))
        except Refused as fault:
            self._set_aside([row], str(fault))
            return
        self.sitting = after
        if before.card.lines:
            self.rows = self.rows[: len(after.card.lines)]
        else:
            self.rows = self.last_rows[: len(after.card.lines)]
        logged = done[0].logged if done else None
        self.report.n_undone += logged is not None or not done
        self.report.n_already += bool(done) and logged is None
        said = f": {card_words(taken_back[0])}" if taken_back and not done else ""
        self._answer([row], f"undone{said}" if logged or not done else "undone before", logged)

    def redo(self, row: Row) -> None:
        before = self.sitting
        try:
            after = steps.redo(before)
        except Refused as fault:
            self._set_aside([row], str(fault))
            return
        self.sitting = after
        for card in steps.to_store(before, after):
            self._store(card, [row], again=True)

    def _is_stored(self, card: Card) -> bool:
        from sqlalchemy import select

        from geneticlog.store.tables import Fish

        with self.book.desk.reading() as session:
            survey = find_survey(session, self.book.survey)
            stored = session.scalar(
                select(Fish.id).where(Fish.survey_id == survey.id, Fish.source == card.uid)
            )
        return stored is not None

    def _goes_with_broken(self, line: LogLine) -> bool:
        """Whether a line may belong to a card that is broken: what surely begins another fish does not."""
        shown = _shows(line)
        if line.n_fish > 1 or shown & self.shows or {"vial", "length"} <= shown:
            return False
        first = self.sitting.rules.first
        return not ((first == "vial" and "vial" in shown) or (first == "length" and "length" in shown))

    def _note(self, line: LogLine) -> None:
        self.shows |= _shows(line)

    def _store(self, card: Card, rows: list[Row], *, added: Row | None = None, again: bool = False) -> None:
        self.last_rows = list(rows)
        stored = [added] if added is not None else rows
        try:
            did = self.book.store(card, sure=self.sure, again=again or card.uid in self.again)
        except Refused as fault:
            asked = ASKED if isinstance(fault, FishDoubted) else ""
            self._set_aside(stored, f"{asked}{fault}")
            if added is None:  # no second vial reaches past it
                self.sitting = replace(self.sitting, closed=())
            return
        if did.doing in (Doing.STORED, Doing.COMPLETED):
            self.report.n_stored += len(stored)
        else:
            if card.line.vial is None and did.logged is not None and did.doing == Doing.ALREADY:
                same = [Unstored(row.number, row.text, "", row.key, did.logged.number) for row in rows]
                if self.log.doubtful:
                    self._doubt(rows, same)
                    return
                self.skipped += same
            self.report.n_already += len(stored)
        words = {
            "stored": "",
            "completed": "added to ",
            "already": "stored before, nothing changed: ",
            "undone": "stored and undone before, nothing changed",
        }[did.doing]
        self._answer(stored, words, did.logged)

    def _set_aside(self, rows: Sequence[Row], why: str) -> None:
        for row in rows:
            self.report.unstored.append(Unstored(row.number, row.text, why, rows[0].key))
        click.echo(f"{_lines(rows)}: not stored: {why}", err=True)

    def _doubt(self, rows: Sequence[Row], same: Sequence[Unstored]) -> None:
        lines = [doubted(line, self.log.name, self.numbered.whole) for line in same]
        self.report.unstored += lines
        click.echo(f"{_lines(rows)}: not stored: {lines[0].why}", err=True)

    def _answer(self, rows: Sequence[Row], words: str, logged: Logged | None) -> None:
        self.book.answered.update(row.number for row in rows)
        if self.book.desk.as_json:
            return
        answer = words
        if logged is not None:
            colon = ": " if words in ("undone",) else ""
            own = next((one for one in self.book.tally if one.size_class == logged.size_class), None)
            tally = f" ({own.words})" if own is not None and logged.counts and not colon else ""
            answer = f"{words}{colon}{logged.words}{tally}"
        click.echo(f"{_lines(rows)}: {answer}")  # flushed: whoever feeds the pipe may count on it


def log_pipe(book: PipeBook, lines: Iterable[str], *, sure: bool) -> PipeReport:
    """Take every line of a pipe onto its card; each card is stored and answered before the next begins.

    A card is known by its log, the text of its first line and how often that text came before it in the log
    (`which_log`), so a log that is replayed, whole or grown, stores nothing twice, also where lines were corrected.
    """
    report = PipeReport(book.survey)
    if isinstance(lines, list):
        _recognise(book, lines)
    stream = _Stream(book, report, sure=sure)
    if isinstance(lines, list):
        stream.log = which_log(book, lines)
    seen: set[str] = set()
    given: tuple[str, int | None] | None = None
    mend_file = False
    for number, raw in enumerate(lines, start=1):
        text = plain_text(raw)
        if text.startswith(KEY):
            stream.finish()
            given, mend_file = key_of(text), True
            continue
        if not text:
            continue
        nth = stream.numbered.key(text)
        seen.add(nth)
        key, fish = given or (f"log:{stream.log.name}:{nth}", None)
        given = None
        row = Row(number, text, key)
        try:
            line = book.read(text)
        except LogLineError as fault:
            stream.fault(row, str(fault), fault.shows)
            continue
        if line.verb == "done":
            break
        if line.verb == "fish" and fish is not None:
            _complete(stream, row, fish, line)
        elif line.verb == "fish":
            stream.offer(row, line)
        elif line.verb in ("undo", "redo"):
            stream.undo(row) if line.verb == "undo" else stream.redo(row)
        elif line.verb == "next":
            stream.finish()
    stream.finish()
    book.count()
    if not mend_file and not isinstance(lines, list):
        _doubt_the_answered(stream, seen)
    return report


def _doubt_the_answered(stream: _Stream, seen: set[str]) -> None:
    """Of a live pipe, whose lines are answered as they come: those that may be other fish go to the mend file too."""
    own = stored_logs(stream.book).get(stream.log.name)
    if stream.skipped and own is not None and own.lines - seen:
        words = doubt_the_answered(stream.report, stream.skipped, stream.log.name, stream.numbered.whole)
        click.echo(words, err=True)


def pipe_document(report: PipeReport, book: PipeBook) -> dict[str, Any]:
    """Return what became of a pipe, for ``--json``: counts of lines and fish, the lines refused, the tally."""
    return {
        "survey": report.survey,
        "n_stored": report.n_stored,
        "n_already": report.n_already,
        "n_undone": report.n_undone,
        "n_fish": book.n_standing(),
        "not_stored": [{"row": one.row, "line": one.text, "why": one.why} for one in report.unstored],
        "mend_file": report.mend_file,
        "classes": [_class(one) for one in book.tally],
    }


def _class(tally: ClassTally) -> dict[str, Any]:
    return {
        "size_class": tally.size_class,
        "n_caught": tally.n_caught,
        "n_swabbed": tally.n_swabbed,
        "n_failed": tally.n_failed,
        "target": tally.target,
    }


def _recognise(book: PipeBook, lines: Sequence[str]) -> None:
    """Say, and work by, the order that a stream of lone vials and measures plainly has."""
    if book.rules.first is not None:
        return
    read: list[LogLine] = []
    for text in lines:
        if text.strip().startswith(KEY):
            return
        with suppress(LogLineError):
            line = book.read(text)
            if line.verb == "fish":
                read.append(line)
            continue
        return
    first = plain_order(read)
    if first is not None:
        book.rules = replace(book.rules, first=first)
        how = (
            "the vial is scanned first" if first == "vial" else "each fish is measured, then its vial scanned"
        )
        click.echo(f"Recognised, from the first fish on: {how}.", err=True)


def _complete(stream: _Stream, row: Row, fish: int, line: LogLine) -> None:
    stream.finish()
    try:
        logged = stream.book.complete(fish, line, sure=stream.sure)
    except Refused as fault:
        asked = ASKED if isinstance(fault, FishDoubted) else ""
        stream.report.unstored.append(Unstored(row.number, row.text, f"{asked}{fault}", row.key, fish))
        click.echo(f"line {row.number}: not stored: {asked}{fault}", err=True)
        return
    stream.report.n_stored += not logged.already
    stream.report.n_already += logged.already
    stream.book.standing[logged.number] = logged.n_fish
    if not stream.book.desk.as_json:
        click.echo(f"line {row.number}: added to {logged.words}")


def _shows(line: LogLine) -> frozenset[str]:
    shown = {"vial"} if line.vial else set()
    shown |= {"length"} if line.length or line.bare else set()
    return frozenset(shown | ({"weight"} if line.weight else set()) | ({"second"} if line.second else set()))


def _lines(rows: Sequence[Row]) -> str:
    if len(rows) == 1:
        return f"line {rows[0].number}"
    return f"lines {rows[0].number} to {rows[-1].number}"
