"""The prompt on the boat: scan and type, be answered at once, lose nothing of a refused line."""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Iterator
from dataclasses import replace

import click

from geneticlog.errors import Refused
from geneticlog.faces.logbook import Answer, Logbook, kept_words, merged, needs_swab
from geneticlog.rules.logline import LogLine, LogLineError
from geneticlog.work.log_fish import FishDoubted, FishRefused

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


def log_prompt(book: Logbook, lines: Iterator[str], *, ask: bool = True) -> int:
    """Take lines at the prompt until ``done`` or the end of input; return how many were stored.

    What was refused keeps the rest of its line: the next line need only bring the part at fault. What is asked
    is answered with y or n, or with the right value.
    """
    screen = Screen()
    n_stored = 0
    kept: LogLine | None = None
    asked: LogLine | None = None
    for text in lines:
        answer_word = " ".join(text.lower().split())
        line: LogLine | None = None
        try:
            if asked is not None:
                waiting, asked = asked, None
                if answer_word in ("y", "yes"):
                    n_stored += _say_stored(screen, book.take(waiting, sure=True))
                    continue
                if answer_word in ("", "n", "no", "drop"):
                    screen.say("Not stored. Type the line again.", "yellow")
                    if not book.completes(waiting):
                        book.forget()
                    continue
                line = book.read(text)
                if line.verb == "fish":
                    line = _mended(waiting, line)
                elif line.verb in ("help", "tally", "nothing"):
                    asked = waiting
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
            n_stored += _say_stored(screen, book.take(line))
        except FishDoubted as doubt:
            asked = doubt.line
            for question in doubt.questions:
                screen.say(
                    screen.wrapped(f"ASK: {question}{'' if question.endswith('?') else '.'}", ""),
                    "yellow",
                    bell=True,
                )
            screen.say("Store it as it is? y or n, or type the right value.", "yellow")
        except (LogLineError, FishRefused) as fault:
            kept = _say_refused(screen, str(fault), fault.kept, kept)
            # a vial scanned next must not land on the fish before the one that was refused
            if not (line is not None and (line.verb != "fish" or book.completes(line))):
                book.forget()
        except Refused as fault:
            kept = _say_refused(screen, str(fault), LogLine(), kept)
    return n_stored


def _say_refused(screen: Screen, text: str, rest: LogLine, before: LogLine | None) -> LogLine | None:
    screen.say(screen.wrapped(f"REFUSED: {text}", ""), "red", bell=True)
    if before is not None:
        rest = merged(before, rest) or rest
    words = kept_words(rest)
    if not words:
        return None
    screen.say(screen.wrapped(f"Kept: {words}. Type only what is missing, or drop.", ""))
    return rest


def _say_stored(screen: Screen, answer: Answer) -> int:
    """Say what became of a line; return 1 where something was stored."""
    logged = answer.logged
    assert logged is not None
    words = logged.words[0].upper() + logged.words[1:]
    if answer.doing == "already":
        screen.say(screen.wrapped(f"{words}. Stored before; nothing changed.", ""))
        return 0
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
    return 1


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


def _mended(waiting: LogLine, new: LogLine) -> LogLine:
    """Return a doubted line with the values typed instead; a line with another vial is another fish."""
    if new.vial is not None and waiting.vial is not None:
        return new
    fields = ("vial", "length", "weight", "tissue", "fate", "species", "remarks")
    return replace(waiting, **{name: getattr(new, name) for name in fields if getattr(new, name) is not None})
