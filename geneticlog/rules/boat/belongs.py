"""Where a line belongs: on the open card or on the next, and what only a person can decide."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

from geneticlog.errors import Refused
from geneticlog.rules.boat.logline import LogLine
from geneticlog.rules.boat.plausible import doubts, say
from geneticlog.rules.boat.sitting import (
    AS_TYPED,
    EXCHANGED,
    NEXT,
    THIS,
    WITHOUT_VIAL,
    Card,
    CardAsks,
    CardRefused,
    Question,
    Rules,
    Sitting,
    card_words,
    printed_code,
    same_code,
)
from geneticlog.rules.lengths import parse_length, parse_weight


def place(sitting: Sitting, line: LogLine, answers: Collection[str]) -> tuple[Rules, LogLine, bool]:
    """Return the rules as they hold from here on, the line settled, and whether it goes on the open card.

    line: with one bare number at most; answers: what a person has said to the questions this line raised

    Raises CardRefused where it fits on neither card, CardAsks where only a person can tell.
    """
    card = sitting.card
    here, following = _on_this(sitting, line), _on_next(sitting, line)
    answered = THIS if THIS in answers else NEXT if NEXT in answers else None
    if here is None and following is None:
        raise CardRefused(_why_neither(card, line))
    side = answered if here is not None and following is not None else None
    if side is None:
        side = (
            THIS if following is None else NEXT if here is None else _by_order(sitting, line, here, following)
        )
    if side is None:
        raise CardAsks(_this_or_next(sitting, line))
    settled = here if side == THIS else following
    assert settled is not None
    if side == THIS:
        _check_beginning(sitting.rules, card, settled)
    _ask_after_refusal(sitting, line, settled, begins=side == NEXT or card.empty, answers=answers)
    return _recognised(sitting.rules, line, answered), settled, side == THIS


def exchange(rules: Rules, line: LogLine, answers: Collection[str]) -> LogLine:
    """Return a line with its two bare numbers settled as length and weight; where they make a fish only the other
    way round a person is asked (CardAsks), and nothing is exchanged in silence."""
    if len(line.bare) != 2 or line.length is None or line.weight is None:
        return line
    species = line.species or rules.species
    length = parse_length(line.bare[1], rules.length_unit)
    weight = parse_weight(line.bare[0], rules.weight_unit)
    as_typed = doubts(species, line.length, line.weight)
    plain = replace(line, bare=())
    if not as_typed or doubts(species, length, weight) or AS_TYPED in answers:
        return plain
    if EXCHANGED in answers:
        return replace(plain, length=length, weight=weight)
    impossible = any(doubt.impossible for doubt in as_typed)
    text = (
        f"{' '.join(line.bare)}: as typed {say(line.length)} and {say(line.weight)}, which is unlikely; "
        f"or {say(length)} and {say(weight)}?"
    )
    raise CardAsks(Question(text, (EXCHANGED,) if impossible else (EXCHANGED, AS_TYPED)))


def without_repeats(card: Card, line: LogLine) -> LogLine | None:
    """Return a line without the vial that is on the card already (scanned twice); None where nothing is left."""
    if line.vial is None or not same_code(line.vial, card.line.vial):
        return line
    left = replace(line, vial=None)
    return None if left == LogLine() else left


def _on_this(sitting: Sitting, line: LogLine) -> LogLine | None:
    """Return a line as it would go on the open card; None where the card has one of its parts already."""
    has = sitting.card.line
    if line.vial is not None and has.vial is not None:
        return None
    if (line.length is not None and has.length is not None) or (
        line.weight is not None and has.weight is not None
    ):
        return None
    if line.n_fish > 1 and (has.n_fish > 1 or has.vial or has.weight):
        return None
    if len(line.bare) != 1:
        return line
    if has.length is None:
        return _as_length(sitting.rules, line)
    return _as_weight(sitting.rules, line) if has.weight is None else None


def _on_next(sitting: Sitting, line: LogLine) -> LogLine | None:
    """Return a line as it would begin the next card; None where it cannot, or the open card is no fish yet."""
    if sitting.card.empty or not sitting.card.closable:
        return None
    if line.length is None and not line.bare and line.vial is None:
        return None  # a weight or a word alone belongs to the fish before it
    return _as_length(sitting.rules, line) if len(line.bare) == 1 else line


def _as_length(rules: Rules, line: LogLine) -> LogLine:
    return replace(line, length=parse_length(line.bare[0], rules.length_unit), bare=())


def _as_weight(rules: Rules, line: LogLine) -> LogLine | None:
    try:
        return replace(line, weight=parse_weight(line.bare[0], rules.weight_unit), bare=())
    except Refused:
        return None


def _by_order(sitting: Sitting, line: LogLine, here: LogLine, following: LogLine) -> str | None:
    """Return whether a line belongs on the open card or begins the next, where that is plain; None: ask."""
    if line.length is not None:
        return NEXT  # the card has a length, or it could not close
    if line.vial is not None and sitting.rules.first == "vial":
        return NEXT
    if len(line.bare) == 1:
        by_number = _by_number(sitting, line, here, following)
        if by_number is not None or line.vial is None:
            return by_number
    return THIS if sitting.rules.first == "length" else None


def _by_number(sitting: Sitting, line: LogLine, here: LogLine, following: LogLine) -> str | None:
    """Judge a lone number: the weight of this fish, or the length of the next."""
    card = sitting.card.line
    species = card.species or sitting.rules.species
    as_weight = not doubts(species, card.length, here.weight)
    as_length = not doubts(following.species or sitting.rules.species, following.length, None)
    if sitting.rules.weighed:  # the weight is what comes next; a number that cannot be it is asked about
        return THIS if as_weight else None
    if as_weight != as_length:
        return THIS if as_weight else NEXT
    if sitting.rules.weighed is None and not (line.vial and not as_weight):
        return None
    return NEXT


def _recognised(rules: Rules, line: LogLine, answered: str | None) -> Rules:
    """A person who said where a scan belongs said the order of work: it is not asked again in this sitting."""
    if answered is None or rules.first is not None or line.vial is None or line.bare:
        return rules
    return replace(rules, first="length" if answered == THIS else "vial")


def _this_or_next(sitting: Sitting, line: LogLine) -> Question:
    fish = f"the fish on the card ({sitting.card.words})"
    if line.bare:
        number = line.bare[0]
        rules = sitting.rules
        beside = f" with vial {printed_code(line.vial)}" if line.vial else ""
        text = f"{number}{beside}: the weight of {fish}, {number} {rules.weight_unit}, or the length of the next, "
        return Question(f"{text}{number} {rules.length_unit}?", (THIS, NEXT))
    what = f"vial {printed_code(line.vial)}" if line.vial else card_words(line)
    return Question(f"{what}: of {fish}, or of the next fish?", (THIS, NEXT))


def _ask_after_refusal(
    sitting: Sitting, line: LogLine, settled: LogLine, *, begins: bool, answers: Collection[str]
) -> None:
    """Ask where a line may belong to what was refused just before it, and would stand on another fish."""
    refused = sitting.refused or frozenset()
    bare_of_vial = settled.vial is None and settled.n_fish == 1
    if begins and "vial" in refused and bare_of_vial and WITHOUT_VIAL not in answers:
        text = f"{card_words(settled)}: the scan before it was refused. Is this a fish without a vial?"
        raise CardAsks(Question(text, (WITHOUT_VIAL,)))
    late = (settled.vial or settled.weight) and settled.length is None and not line.bare
    if not begins and late and "length" in refused and sitting.card.line.length and THIS not in answers:
        if NEXT in answers:
            raise CardRefused(f"{card_words(line)} was not taken: enter the next fish's length first")
        raise CardAsks(_this_or_next(sitting, line))


def _check_beginning(rules: Rules, card: Card, line: LogLine) -> None:
    """Refuse what cannot begin a card (it may be meant for the fish before), and a tally that is no fish."""
    if card.empty and rules.first is not None and line.length is None:
        if line.vial is not None and rules.first == "length":
            vial = printed_code(line.vial)
            raise CardRefused(
                f"vial {vial} was not taken: here a fish is measured first; type its length, then scan it again"
            )
        if line.weight is not None and line.vial is None:
            raise CardRefused(f"{say(line.weight)}: a weight goes after the length of its fish")
    if card.empty and not (line.vial or line.length or line.weight):
        words = card_words(line)
        raise CardRefused(f"{words}: there is no fish on the card that it could belong to")
    # a count alone may be a slip for a length ("12x"), and would make a tally of the fish in hand
    if card.line.n_fish > 1 or (line.n_fish > 1 and line.length is None):
        raise CardRefused("a tally has its length on the same line, and nothing else: 10.2 x4")


def _why_neither(card: Card, line: LogLine) -> str:
    if not card.closable and line.vial is not None and card.line.vial is not None:
        return f"{what_lacks(card)}. Vial {printed_code(line.vial)} was not taken: scan it again afterwards"
    if not card.closable:
        return what_lacks(card)
    return f"the fish on the card ({card.words}) has that part already"


def what_lacks(card: Card) -> str:
    return f"the card ({card.words}) has no length yet: type it first, or undo"
