"""The prompt on the boat: scan and type, be answered at once, lose nothing of a refused line."""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Iterator
from dataclasses import dataclass, replace

import click

from geneticlog.errors import Refused
from geneticlog.faces.boat.logbook import Answer, Logbook, kept_words, merged, needs_swab
from geneticlog.rules.boat.logline import LogLine, LogLineError
from geneticlog.work.boat.log_fish import FishDoubted, FishRefused

BELL = "\a"

HELP = """\
One line is one fish, in any order:  BG4F7Q2KR 16 1/2 2 lb 5 oz
  length first      16.5             stored; says whether the fish needs a swab
  then its vial     BG4F7Q2KR        goes on that fish; so does a weight alone
  measured only     16.5 2.3         no vial
  several           10.2 x4          a tally of four, not swabbed
  second swab       second BG000001J of the fish before, a blind duplicate
  words             swab, clip, released, kept, died, a species, # remark
  undo   tally   help   done"""


class Screen:
    """Says things in words, with colour beside them where the terminal takes it."""

    def __init__(self) -> None:
        terminal = sys.stdout.isatty() and os.environ.get("TERM") != "dumb"
        self.colour = terminal and not os.environ.get("NO_COLOR")

    def say(self, text: str, colour: str | None = None, *, bell: bool = False) -> None:
        shown = click.style(text, fg=colour, bold=True) if colour and self.colour else text
        click.echo((BELL if bell else "") + shown, color=self.colour or None)
        sys.stdout.flush()

    def wrapped(self, text: str, indent: str = "  ") -> str:
        """Return a text broken at 78 columns, whatever the window; a vial code stays on one line."""
        import textwrap

        whole = re.sub(r"\b([A-Z]{2}) (\w{3}) (\w{3}) (\w)\b", "\\1\xa0\\2\xa0\\3\xa0\\4", text)
        lines = textwrap.wrap(whole, 78, initial_indent=indent, subsequent_indent=indent)
        return "\n".join(lines).replace("\xa0", " ")


@dataclass(frozen=True)
class OpenQuestion:
    """A line that waits for an answer, and which of its values may be at fault."""

    line: LogLine
    about: frozenset[str]

    @property
    def not_stored(self) -> str:
        return f"Not stored: {kept_words(self.line)} (question unanswered)."

    @property
    def hint(self) -> str:
        """What each answer does, and what a number alone does."""
        ways = []
        if "vial" in self.about:
            ways.append("the right vial")
        if self.line.length is None and "length" in self.about:
            told = "y stores it as it is, n drops it, a length goes on it"
            told += f"; or type {ways[0]}" if ways else ""
            return f"{told}. A line with another vial is a new fish."
        for name in ("weight", "length"):
            value = getattr(self.line, name)
            if name in self.about and value is not None:
                ways.append(f"the right {name} with its unit ({value.unit})")
        right = f" or type {' or '.join(ways)}" if ways else ""
        return f"y stores it as it is, n drops it,{right}. A number without a unit is the next fish."

    def answered(self, new: LogLine, text: str) -> LogLine | None:
        """Return the waiting line with what was typed on it; None where that is a line of its own.

        A value that the line lacks goes on it where it has no length of its own beside it; a value that it
        has is replaced only where it is the one in doubt, alone, and a length only with its unit.
        """
        given = {
            name: getattr(new, name)
            for name in ("vial", "length", "weight", "tissue", "fate", "species", "remarks")
            if getattr(new, name) is not None
        }
        values = [name for name in ("vial", "length", "weight") if name in given]
        has = [name for name in values if getattr(self.line, name) is not None]
        lacks_length = self.line.length is None and "length" in self.about
        if new.second or new.n_fish > 1 or ("length" in values and "length" not in self.about):
            return None
        if has and (values != has or len(has) > 1 or has[0] not in self.about):
            return None
        # a number alone, or one with words of its own fish ("12.5 clip"), is the next fish
        marked = set(given) == {"length"} and re.search("[a-z\"″”']", text.lower())
        if "length" in values and not lacks_length and not marked:
            return None
        return replace(self.line, **given)


def log_prompt(book: Logbook, lines: Iterator[str]) -> None:
    """Take lines at the prompt until ``done`` or the end of input.

    What was refused keeps the rest of its line: the next line need only bring the part at fault. What is asked
    is answered with y or n, or with the value in doubt; whatever else is typed, nothing that waits for an
    answer is let go without being said to be not stored.
    """
    screen = Screen()
    kept: LogLine | None = None
    asked: OpenQuestion | None = None
    ending = False  # done was typed while a question was open
    for text in lines:
        was_ending, ending = ending, False
        line: LogLine | None = None
        try:
            if asked is not None:
                word = " ".join(text.lower().split())
                if word in ("y", "yes"):
                    line, asked = asked.line, None
                    _say_stored(screen, book.take(line, sure=True))
                    if was_ending:
                        break
                    continue
                if word in ("n", "no", "drop"):
                    screen.say(screen.wrapped(f"Not stored: {kept_words(asked.line)}.", ""), "yellow")
                    _let_go(book, asked)
                    asked = None
                    if was_ending:
                        break
                    continue
                try:
                    line = book.read(text)
                except LogLineError as fault:
                    if kept_words(fault.kept):
                        screen.say(screen.wrapped(asked.not_stored, ""), "yellow", bell=True)
                        _let_go(book, asked)
                        asked = None
                        raise
                    screen.say(screen.wrapped(f"REFUSED: {fault}", ""), "red", bell=True)
                    screen.say(screen.wrapped(f"Still asked: {asked.hint}", ""), "yellow")
                    continue
                if line.verb == "done" and not was_ending:
                    ending = True
                    screen.say(
                        screen.wrapped(
                            f"Not stored yet: {kept_words(asked.line)} (question unanswered). "
                            "y stores it, n drops it; done again ends without it.",
                            "",
                        ),
                        "yellow",
                        bell=True,
                    )
                    continue
                if line.verb == "undo":
                    told = f"{asked.not_stored} What was stored before stands; undo again takes it back."
                    screen.say(screen.wrapped(told, ""), "yellow")
                    _let_go(book, asked)
                    asked = None
                    continue
                if line.verb in ("help", "tally", "nothing"):
                    _do(screen, book, line.verb, kept)
                    screen.say(
                        screen.wrapped(f"Still asked of {kept_words(asked.line)}: {asked.hint}", ""), "yellow"
                    )
                    continue
                if line.verb == "fish":
                    together = asked.answered(line, text)
                    if together is None:
                        screen.say(screen.wrapped(asked.not_stored, ""), "yellow", bell=True)
                        _let_go(book, asked)
                        asked = None
                    line, asked = together or line, None
            else:
                line = book.read(text)
            if line.verb == "done":
                break
            if line.verb in ("help", "tally", "nothing", "drop", "undo"):
                if line.verb == "drop" or (line.verb == "undo" and kept is not None):
                    screen.say("Dropped what was kept." if kept is not None else "Nothing was kept.")
                    kept = None
                else:
                    _do(screen, book, line.verb, kept)
                continue
            if kept is not None:
                together = merged(kept, line)
                if together is None:
                    screen.say(f"Dropped what was kept ({kept_words(kept)}).", "yellow")
                line, kept = together or line, None
            _say_stored(screen, book.take(line))
        except FishDoubted as doubt:
            asked = OpenQuestion(doubt.line, doubt.about)
            for question in doubt.questions:
                screen.say(
                    screen.wrapped(f"ASK: {question}{'' if question.endswith('?') else '.'}", ""),
                    "yellow",
                    bell=True,
                )
            screen.say(screen.wrapped(asked.hint, ""), "yellow")
        except (LogLineError, FishRefused) as fault:
            kept = _say_refused(screen, str(fault), fault.kept, kept)
            # a vial scanned next must not land on the fish before the one that was refused
            if not (line is not None and (line.verb != "fish" or book.completes(line))):
                book.forget()
        except Refused as fault:
            kept = _say_refused(screen, str(fault), line or LogLine(), kept)
    if asked is not None:
        screen.say(screen.wrapped(asked.not_stored, ""), "yellow", bell=True)
    elif kept is not None:
        told = f"Not stored: {kept_words(kept)} (refused, and what was missing never came)."
        screen.say(screen.wrapped(told, ""), "yellow", bell=True)


def _let_go(book: Logbook, asked: OpenQuestion) -> None:
    """Drop an open question; what comes next must not land on the fish before the one that was dropped."""
    if not (book.completes(asked.line) and (book.last is not None or asked.line.second)):
        book.forget()


def _say_refused(screen: Screen, text: str, rest: LogLine, before: LogLine | None) -> LogLine | None:
    screen.say(screen.wrapped(f"REFUSED: {text}", ""), "red", bell=True)
    if before is not None:
        rest = merged(before, rest) or rest
    words = kept_words(rest)
    if not words:
        return None
    screen.say(screen.wrapped(f"Kept: {words}. Type only what is missing, or drop.", ""))
    return rest


def _say_stored(screen: Screen, answer: Answer) -> None:
    """Say what became of a line."""
    logged = answer.logged
    assert logged is not None
    words = logged.words[0].upper() + logged.words[1:]
    if answer.doing == "already":
        screen.say(screen.wrapped(f"{words}. Stored before; nothing changed.", ""))
        return
    screen.say(screen.wrapped(words + ".", ""), "green")
    own = answer.own_class
    if need := needs_swab(answer):
        screen.say(screen.wrapped(need), "yellow" if need.startswith("No swab") else "cyan")
    elif own is not None and own.target is not None and own.n_swabbed > own.target and logged.vials:
        screen.say(
            screen.wrapped(f"More than wanted: {own.size_class} {own.n_swabbed} of {own.target}."), "yellow"
        )
    elif own is not None and own.full and logged.vials and own.n_swabbed == own.target:
        screen.say(screen.wrapped(f"{own.size_class} is full: no more swabs of this size."), "green")
    if answer.tally_words:
        screen.say(screen.wrapped(answer.tally_words))


def _do(screen: Screen, book: Logbook, verb: str, kept: LogLine | None) -> None:
    if verb == "help":
        screen.say(HELP)
    elif verb == "undo":
        answer = book.undo()
        words = answer.logged.words if answer.logged else ""
        told = f"Undone: {words}." if answer.doing == "undone" else f"Taken back. Now {words}."
        screen.say(screen.wrapped(told, ""), "yellow")
        if answer.tally_words:
            screen.say(screen.wrapped(answer.tally_words))
    elif verb == "tally":
        for one in book.tally:
            screen.say(f"  {one.words}; {one.n_caught} caught")
    elif kept is not None:
        screen.say(f"Kept: {kept_words(kept)}. Type only what is missing, or drop.")
