"""One fish is one open card: the card, the sitting that holds it, and what the survey settles about both."""

from __future__ import annotations

from dataclasses import dataclass, replace

from geneticlog.errors import Refused
from geneticlog.rules.boat.logline import LogLine
from geneticlog.rules.boat.plausible import say
from geneticlog.rules.vialcode import VialCodeError, parse, printed

# The orders of work of a survey. What is named completes a card; in "any" nothing is taken for granted.
ORDERS = ("any", "vial,length", "vial,length,weight", "length,vial", "length,weight,vial")
THIS, NEXT, EXCHANGED, AS_TYPED, WITHOUT_VIAL = "this", "next", "exchanged", "as typed", "without vial"


class CardRefused(Refused):
    """A line that cannot go on the card: the sitting stays as it was."""


@dataclass(frozen=True)
class Question:
    """What only a person can decide, in one line; ``choices`` are the answers that ``offer`` takes as ``answer``."""

    text: str
    choices: tuple[str, ...]


class CardAsks(Refused):
    """A line that means one of two things: nothing is taken until a person says which. A pipe refuses it."""

    def __init__(self, question: Question) -> None:
        self.question = question
        super().__init__(question.text)


@dataclass(frozen=True)
class Rules:
    """What a survey settles: its order of work (one of ORDERS), its units and its species.

    first: "vial", "length", or None where a scan may as well begin a fish as complete one
    weighed: True: a lone number after a length is its weight; False: weights come with their unit or on the
    same line; None: it is asked where both are plausible
    """

    length_unit: str
    weight_unit: str
    species: str = "largemouth_bass"
    first: str | None = None
    weighed: bool | None = None

    @classmethod
    def of(cls, order: str, length_unit: str, weight_unit: str, species: str = "largemouth_bass") -> Rules:
        """Return the rules of an order of work. Raises Refused for one that is not in ORDERS."""
        if order not in ORDERS:
            raise Refused(f"{order!r} is no order of work; use one of {', '.join(ORDERS)}")
        if order == "any":
            return cls(length_unit, weight_unit, species)
        return cls(length_unit, weight_unit, species, order.partition(",")[0], "weight" in order)


@dataclass(frozen=True)
class Card:
    """One fish: the lines that were put on it, oldest first. ``uid`` is made by the device that holds it.

    n_closed: how many of its lines it had when it closed; later ones (a second vial) were added to the fish
    """

    uid: str
    lines: tuple[LogLine, ...] = ()
    n_closed: int | None = None

    @property
    def line(self) -> LogLine:
        """All that is on the card, as one line."""
        whole = LogLine()
        for line in self.lines:
            given = {
                name: getattr(line, name)
                for name in ("vial", "second", "length", "weight", "tissue", "fate", "species")
                if getattr(line, name) is not None
            }
            remarks = [text for text in (whole.remarks, line.remarks) if text]
            whole = replace(
                whole, **given, n_fish=max(whole.n_fish, line.n_fish), remarks="; ".join(remarks) or None,
                no_length=whole.no_length or line.no_length, said_so=whole.said_so | line.said_so,
            )  # fmt: skip
        return whole

    @property
    def empty(self) -> bool:
        return not self.lines

    @property
    def closable(self) -> bool:
        """Whether the card is a fish: it has a length, or a person said that it has none."""
        line = self.line
        return line.length is not None or (line.no_length and line.vial is not None)

    @property
    def words(self) -> str:
        """What is on the card: "BG 4F7 Q2K R, 16.5 in, 2.3 lb"."""
        return card_words(self.line)


@dataclass(frozen=True)
class TakenBack:
    """One step back: the card as it was open, and the card closed last that was reopened or changed, if one was."""

    card: Card
    closed: Card | None = None
    changed: bool = False


@dataclass(frozen=True)
class Sitting:
    """The open card, the cards closed in this sitting (newest last), and what was taken back (for redo).

    refused: what a line seemed to hold that was refused just now (see ``refuse``); None: none was
    """

    rules: Rules
    card: Card
    closed: tuple[Card, ...] = ()
    undone: tuple[TakenBack, ...] = ()
    refused: frozenset[str] | None = None


def is_whole(rules: Rules, card: Card) -> bool:
    """Whether a card has all that the order of work names, so that it closes by itself."""
    line = card.line
    if not card.closable:
        return False
    if line.n_fish > 1 or (line.vial is not None and line.weight is not None):
        return True
    if rules.weighed is None:
        return False
    if rules.first == "vial":
        return line.weight is not None or not rules.weighed
    return line.vial is not None


def card_words(line: LogLine) -> str:
    """Return what a line or a card says of a fish, in words; empty where it says nothing."""
    parts = [printed_code(line.vial)] if line.vial else []
    parts += [f"second {printed_code(line.second)}"] if line.second else []
    parts += [say(part) for part in (line.length, line.weight) if part is not None]
    if len(line.bare) == 1:
        parts.append(line.bare[0])
    parts += [f"x{line.n_fish}"] if line.n_fish > 1 else []
    parts += [word.replace("_", " ") for word in (line.tissue, line.fate, line.species) if word]
    parts += ["no length"] if line.no_length else []
    parts += [f"# {line.remarks}"] if line.remarks else []
    return ", ".join(parts)


def printed_code(code: str | None) -> str:
    try:
        return printed(code or "")
    except VialCodeError:
        return code or ""


def same_code(first: str | None, other: str | None) -> bool:
    """Whether two texts are the same vial code, however each is grouped."""
    if first is None or other is None:
        return False
    try:
        return parse(first) == parse(other)
    except VialCodeError:
        return first.upper().split() == other.upper().split()
