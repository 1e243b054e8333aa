"""The prompt on the boat: scan and type, see which fish is open, be answered at once, lose nothing."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace

from geneticlog.errors import NotFound, Refused
from geneticlog.faces.boat.earlier_fish import last_fish, mend_fish
from geneticlog.faces.boat.logbook import Answer, Logbook, needs_swab
from geneticlog.faces.boat.screen import Screen
from geneticlog.rules.boat.doing import Doing
from geneticlog.rules.boat.logline import LogLine, LogLineError
from geneticlog.rules.boat.plausible import doubts
from geneticlog.rules.boat.sitting import (
    AS_TYPED,
    EXCHANGED,
    NEXT,
    ORDERS,
    THIS,
    WITHOUT_VIAL,
    CardAsks,
    CardRefused,
    Rules,
    card_words,
)
from geneticlog.rules.lengths import parse_length, parse_weight
from geneticlog.work.boat.fish_doubts import FishDoubted, FishRefused
from geneticlog.work.boat.log_card import CardStored

HELP = """\
One fish is one card; its parts come in any order, on one line or several:
  BG4F7Q2KR 16 1/2 2-5   vial, length, weight (16.5, 419 mm, 2 lb 5 oz, 2.3)
  (empty line)           the card is complete: store it, open the next
  10.2 x4                a tally of four, not swabbed
  second BG000001J       the fish's other vial, a blind duplicate
  words                  swab, clip, released, kept, died, a species, # remark
  undo  redo  drop       last line back; bring it again; empty the card
  list                   the last ten fish
  change 12 16.5         another length for fish 12; change 12 BG000001J gives
                         it a vial, change 12 off BG000001J takes one off
  order vial,length      how you work: any; vial,length; vial,length,weight;
                         length,vial; length,weight,vial
  tally  help  done"""

LETTERS = {"t": THIS, "n": NEXT, "x": EXCHANGED, "y": AS_TYPED}
WAYS = {
    THIS: "t this fish",
    NEXT: "n next fish",
    EXCHANGED: "x exchanged",
    AS_TYPED: "y as typed",
    WITHOUT_VIAL: "y without a vial",
}
ORDER = (
    "The answer holds for this sitting. To say it at once, type: order vial,length (or order length,vial)."
)


@dataclass(frozen=True)
class Asked:
    """A line that waits for an answer.

    choices: what a person may choose (CardAsks); empty where it is yes or no (doubts)
    about: the values in doubt; kinds: the kinds of doubt; answers: what was chosen before of the same line
    mends: the number of the earlier fish that the line changes, with what was typed of it
    """

    line: LogLine
    choices: tuple[str, ...] = ()
    about: frozenset[str] = frozenset()
    kinds: frozenset[str] = frozenset()
    answers: tuple[str, ...] = ()
    mends: tuple[int, str] | None = None
    closes: bool = False  # asked before the card closes, for want of a length

    @property
    def words(self) -> str:
        return f"fish {self.mends[0]}: {self.mends[1]}" if self.mends else card_words(self.line)

    @property
    def hint(self) -> str:
        """What each answer does."""
        if self.choices:
            return ", ".join((*(WAYS[choice] for choice in self.choices), "drop lets it go")) + "."
        if self.closes:
            return "y stores the vial without a length, n leaves the card open; or type the length."
        ways = "y stores it as it is, n drops it"
        right = [
            f"the right {name}" + (f" with its unit ({value.unit})" if name == "length" else "")
            for name in ("weight", "length")
            if name in self.about and (value := getattr(self.line, name)) is not None
        ]
        right += ["the right vial"] if "vial" in self.about else []
        return f"{ways}; or type {' or '.join(right)}." if right and not self.mends else f"{ways}."

    def chosen(self, word: str) -> str | None:
        """Return the choice that a typed word makes, if it makes one."""
        if word == "y" and WITHOUT_VIAL in self.choices:
            return WITHOUT_VIAL
        choice = LETTERS.get(word, word)
        return choice if choice in self.choices else None

    def put_right(self, new: LogLine, text: str, rules: Rules) -> LogLine | None:
        """Return the waiting line with the value in doubt put right; None where what came is a line of its own.

        A value is put right alone, and a length only with its unit. Raises Refused for a bare number that may
        be the right weight or the next fish.
        """
        if self.choices or self.closes or self.mends:
            return None
        given = [name for name in ("vial", "second", "length", "weight", "bare") if getattr(new, name)]
        if given == ["bare"] and "weight" in self.about and self.line.length is not None:
            number, species = new.bare[0], self.line.species or rules.species
            try:
                weight = parse_weight(number, rules.weight_unit)
            except Refused:
                return None
            if doubts(species, self.line.length, weight):
                return None
            if not doubts(species, parse_length(number, rules.length_unit), None):
                raise Refused(
                    f"{number} may be the right weight or the next fish: type {number} {rules.weight_unit}, or "
                    f"{number} {rules.length_unit}"
                )
            return replace(self.line, weight=weight)
        if len(given) != 1 or given[0] not in self.about or getattr(self.line, given[0]) is None:
            return None
        if given[0] == "length" and not re.search("[a-z\"″”']", text.lower()):
            return None
        return replace(self.line, **{given[0]: getattr(new, given[0])})


class Prompt:
    """One sitting at the prompt of a survey."""

    def __init__(self, book: Logbook) -> None:
        self.book = book
        self.screen = Screen()
        self.asked: Asked | None = None
        self.ending = False

    @property
    def text(self) -> str:
        """What stands before the cursor: the open card, so that a person sees where the next scan will land."""
        return f"{self.book.card.words or 'fish'}{' ?' if self.asked else ''}> "

    def run(self, lines: Iterator[str]) -> None:
        """Take lines until ``done`` or the end of input."""
        for text in lines:
            if self._take_up(text):
                continue
            try:
                if self._line(text):
                    break
            except CardAsks as asks:
                self._ask(Asked(self.line, asks.question.choices, answers=self.answers), asks.question.text)
            except FishDoubted as doubt:
                waiting = Asked(
                    self.line, about=doubt.about, kinds=doubt.kinds, answers=self.answers, mends=self.mends
                )
                self._ask(waiting, *doubt.questions)
            except LogLineError as fault:
                self._refuse(f"{fault}", fault.shows)
            except FishRefused as fault:
                shows = {"second": "vial"}.get(fault.about or "", fault.about or "")
                beside = "length" if self.line.length or self.line.bare else ""
                self._refuse(f"{fault}", frozenset({shows, beside} & {"vial", "length"}))
            except (Refused, NotFound) as fault:
                shown = {"length"} if self.line.length or self.line.bare else set()
                self._refuse(f"{fault}", frozenset(shown | ({"vial"} if self.line.vial else set())))
        self._end()

    # What a line is, before anything is taken of it: for the answers to what it raises.
    line = LogLine()
    answers: tuple[str, ...] = ()
    mends: tuple[int, str] | None = None

    def _line(self, text: str) -> bool:
        """Take one line; True ends the sitting."""
        self.line, self.answers, self.mends = LogLine(), (), None
        was_ending, self.ending = self.ending, False
        word = " ".join(text.lower().split())
        if self.asked is not None and self._answered(word):
            return was_ending and self.asked is None
        if self._command(word, text):
            return False
        line = self.book.read(text)
        self.line = line
        if line.verb == "done":
            return self._done(was_ending)
        if self.asked is not None and (line.verb in ("help", "tally", "list") or word.startswith("#")):
            self._verb(line.verb)
            self.screen.say(f"Still asked of {self.asked.words}: {self.asked.hint}", "yellow")
            return False
        if self.asked is not None:
            right = self.asked.put_right(line, text, self.book.rules)
            asked, self.asked = self.asked, None
            if right is not None:
                self.line, self.answers = right, asked.answers
                self._say(self.book.take(right, asked.answers))
                return False
            if not asked.closes:
                self.screen.say(f"Not taken: {asked.words} (question unanswered).", "yellow", bell=True)
                self.book.refused(_shows(asked.line))
            if line.verb == "undo":
                return False
        if line.verb != "fish":
            self._verb(line.verb)
            return False
        self._say(self.book.take(line))
        return False

    def _answered(self, word: str) -> bool:
        """Take an answer to the open question; False where what was typed is none."""
        asked = self.asked
        assert asked is not None
        if word in ("drop", "n", "no") and not (word == "n" and NEXT in asked.choices):
            self.asked = None
            if not asked.closes:
                self.screen.say(f"Not taken: {asked.words}.", "yellow")
                self.book.refused(_shows(asked.line) - {"vial"})  # that one is let go on purpose
            return True
        if asked.choices:
            choice = asked.chosen(word)
            if choice is None:
                return False
            self.asked, self.line, self.answers = None, asked.line, (*asked.answers, choice)
            self._say(self.book.take(asked.line, self.answers), recognised=choice)
            return True
        if word not in ("y", "yes"):
            return False
        self.asked, self.line, self.answers = None, asked.line, asked.answers
        if asked.mends:
            self.screen.say(mend_fish(self.book, *asked.mends, sure=True), "green")
            return True
        sure = replace(asked.line, said_so=asked.line.said_so | asked.kinds)
        self.line = sure
        self._say(self.book.take(sure, asked.answers))
        if asked.closes:
            self._say(self.book.close())
        return True

    def _command(self, word: str, text: str) -> bool:
        """Do what a command of several words says: change, order; or an empty line."""
        if not word and self.asked is None:
            self._next()
            return True
        if mend := re.fullmatch(r"(?:change|correct|mend)\s+#?([0-9]+)\s+(.+)", text.strip(), re.IGNORECASE):
            self.mends = (int(mend[1]), mend[2])
            self.screen.say(mend_fish(self.book, *self.mends, sure=False), "green")
            return True
        if word.split(" ")[0] == "order":
            order = word.removeprefix("order").replace(" ", "")
            if not order:
                self.screen.say(f"Order of work: {self.book.order}. Others: {', '.join(ORDERS)}.")
                return True
            self.book.set_order(order)
            self.screen.say(f"Order of work from here on: {order}.", "green")
            if self.asked is not None:
                self.screen.say(f"Still asked of {self.asked.words}: {self.asked.hint}", "yellow")
            return True
        return not word

    def _next(self) -> None:
        """Close the card, as an empty line does; a vial without a length is asked about."""
        if not self.book.card.empty and not self.book.card.closable and self.book.card.line.vial:
            asked = Asked(LogLine(no_length=True), kinds=frozenset({"no_length"}), closes=True)
            self._ask(
                asked, f"{self.book.card.words}: there is no length, so the fish counts in no size class"
            )
            return
        if not self.book.card.empty:
            self._say(self.book.close())

    def _done(self, again: bool) -> bool:
        if self.asked is not None and not again:
            self.ending = True
            self.screen.say(
                f"Not stored yet: {self.asked.words} (question unanswered). {self.asked.hint} "
                "done again ends without it.", "yellow", bell=True,
            )  # fmt: skip
            return False
        if self.asked is None and not self.book.card.empty and not self.book.card.closable and not again:
            self._next() if self.book.card.line.vial else self.screen.say(
                f"{self.book.card.words}: there is no length yet; type it, or done again leaves it open.",
                "yellow",
            )
            self.ending = True
            return False
        return True

    def _verb(self, verb: str) -> None:
        if verb == "help":
            self.screen.plain(HELP)
        elif verb == "tally":
            for one in self.book.tally:
                self.screen.say(f"{one.words}; {one.n_caught} caught", indent="  ")
        elif verb == "list":
            for line in last_fish(self.book, 10):
                self.screen.say(line, indent="  ")
        elif verb == "next":
            self._next()
        elif verb == "drop":
            words = self.book.card.words
            self.book.drop()
            self.screen.say(
                f"Dropped: {words}. redo brings it back." if words else "The card is empty.", "yellow"
            )
        elif verb in ("undo", "redo"):
            self._back_or_forth(verb)

    def _back_or_forth(self, verb: str) -> None:
        before = self.book.sitting
        answer = self.book.undo() if verb == "undo" else self.book.redo()
        after = self.book.sitting
        if (before.card, before.closed) == (after.card, after.closed):
            self.screen.say(
                "Nothing of the refused line was taken, so nothing is undone. undo again takes back what was "
                "stored or entered before it.", "yellow",
            )  # fmt: skip
            return
        for card in answer.done:
            if card.logged is not None:
                word = "Out of the log" if card.doing == Doing.TAKEN_OUT else "In the log"
                self.screen.say(f"{word}: {card.logged.words}.", "yellow" if verb == "undo" else "green")
        was = card_words(_last_line(before.card.lines if verb == "undo" else after.card.lines))
        if not answer.done and was:
            self.screen.say(f"{'Taken back' if verb == 'undo' else 'Back on the card'}: {was}.", "yellow")
        left = self.book.card.words
        self.screen.say(f"On the card: {left}." if left else "The card is empty.")
        if answer.done and answer.tally_words:
            self.screen.say(answer.tally_words, indent="  ")

    def _ask(self, asked: Asked, *questions: str) -> None:
        self.asked = asked
        for question in questions:
            mark = "" if question.endswith("?") else "."
            self.screen.say(f"ASK: {question}{mark}", "yellow", bell=True)
        self.screen.say(asked.hint, "yellow")
        if {THIS, NEXT} <= set(asked.choices) and self.book.order == ORDERS[0]:
            self.screen.say(ORDER)

    def _refuse(self, text: str, shows: frozenset[str]) -> None:
        self.screen.say(f"REFUSED: {text}.".replace("..", "."), "red", bell=True)
        if self.asked is not None:
            self.screen.say(f"Still asked: {self.asked.hint}", "yellow")
            return
        self.book.refused(shows)
        card = self.book.card.words
        self.screen.say(
            f"Nothing of it was taken. On the card: {card}." if card else "Nothing of it was taken."
        )

    def _say(self, answer: Answer, recognised: str | None = None) -> None:
        """Say what became of a line."""
        for one in answer.done:
            self._say_done(one, answer)
        if recognised in (THIS, NEXT) and self.line.vial and not self.line.bare:
            how = (
                "a fish is measured, then its vial scanned"
                if recognised == THIS
                else "a vial is scanned first"
            )
            self.screen.say(f"From here on: {how}. (order any: ask again)", "cyan")
        line = self.book.card.line
        if (
            line.length is not None
            and line.vial is None
            and line.n_fish == 1
            and (need := needs_swab(answer))
        ):
            self.screen.say(need, "yellow" if need.startswith("No swab") else "cyan", indent="  ")
        if answer.done and answer.tally_words:
            self.screen.say(answer.tally_words, indent="  ")

    def _say_done(self, card: CardStored, answer: Answer) -> None:
        if card.logged is None:
            self.screen.say("Stored and taken back before; nothing changed.", "yellow")
            return
        words = card.logged.words[0].upper() + card.logged.words[1:]
        if card.doing == Doing.ALREADY:
            self.screen.say(f"{words}. Stored before; nothing changed.")
            return
        self.screen.say(f"{words}.", "green")
        own = answer.class_of(card.logged.size_class) if card.logged.counts and card.logged.vials else None
        if own is not None and own.target is not None and own.n_covering > own.target:
            self.screen.say(
                f"More than wanted: {own.size_class} {own.n_covering} of {own.target}.", "yellow", indent="  "
            )
        elif own is not None and own.full and own.n_covering == own.target:
            self.screen.say(f"{own.size_class} is full: no more swabs of this size.", "green", indent="  ")

    def _take_up(self, text: str) -> bool:
        """Take the answer about a card that was left open by a run that ended without done."""
        if not self.book.left:
            return False
        left = self.book.left.pop()
        if text.strip().lower() in ("y", "yes"):
            self.book.take_up(left)
            self.book.left.clear()
            self.screen.say(f"Taken up again: {left.sitting.card.words}.", "green")
            return True
        if text.strip().lower() in ("n", "no"):
            self.screen.say("It stays as it was left.")
            self.ask_left()
            return True
        self.screen.say("It stays as it was left, not stored.", "yellow")
        self.book.left.clear()
        return False

    def ask_left(self) -> None:
        """Ask about the newest card that was left open, if there is one."""
        if self.book.left:
            left = self.book.left[-1]
            when = left.kept_at.astimezone()
            self.screen.say(
                f"ASK: a card was left open at {when:%H:%M on %Y-%m-%d} by {left.kept_by}: "
                f"{left.sitting.card.words}. y takes it up, n leaves it.", "yellow", bell=True,
            )  # fmt: skip

    def _end(self) -> None:
        """Store the open card if it is a fish; say what is not stored."""
        if self.asked is not None and not self.asked.closes:
            self.screen.say(f"Not taken: {self.asked.words} (question unanswered).", "yellow", bell=True)
        try:
            if self.book.card.closable:
                self._say(self.book.close())
        except (CardRefused, FishRefused, FishDoubted) as fault:
            self.screen.say(f"REFUSED: {fault}.", "red", bell=True)
        if not self.book.card.empty:
            self.screen.say(
                f"Left open, not stored: {self.book.card.words}. The next fish log {self.book.survey} asks about it.",
                "yellow", bell=True,
            )  # fmt: skip
        self.book.end()


def _last_line(lines: tuple[LogLine, ...]) -> LogLine:
    return lines[-1] if lines else LogLine()


def _shows(line: LogLine) -> frozenset[str]:
    shown = {"vial"} if line.vial else set()
    return frozenset(shown | ({"length"} if line.length or line.bare else set()))
