"""The steps of a card: open, offer, close, undo, redo. Parts come in any order; a whole fish closes its card.

Pure: each step returns a new sitting. What has to be stored or taken out of the log is the difference of two
sittings (``to_store``, ``to_take_out``). Prompt, pipe and pages use these steps and decide nothing themselves.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

from geneticlog.rules.boat.belongs import (
    exchange,
    place,
    what_lacks,
    without_repeats,
)
from geneticlog.rules.boat.logline import LogLine
from geneticlog.rules.boat.sitting import (
    Card,
    CardRefused,
    Rules,
    Sitting,
    TakenBack,
    is_whole,
    printed_code,
    same_code,
)

MOST_REMEMBERED = 20  # closed cards and steps back that a sitting holds


def open_card(rules: Rules, uid: str) -> Sitting:
    """Return a sitting with an empty card."""
    return Sitting(rules, Card(uid))


def offer(sitting: Sitting, line: LogLine, uid: str, *, answers: Collection[str] = ()) -> Sitting:
    """Return the sitting with one line taken: on the open card, or on the next one, with the open one closed.

    line: as read_line reads it
    uid: an identity for the next card, should this one close
    answers: what a person has said to the questions (CardAsks) that this same line raised before

    Raises CardRefused or CardAsks with nothing taken. A card that is whole afterwards is closed.
    """
    line = exchange(sitting.rules, line, answers)
    if line.second is not None and line.vial is None:
        return _offer_second(sitting, line, uid)
    new = without_repeats(sitting.card, line)
    if new is None:
        return replace(sitting, refused=None)
    rules, settled, on_this = place(sitting, new, answers)
    before = replace(sitting, rules=rules, undone=(), refused=None)
    if on_this:
        after = replace(before, card=replace(sitting.card, lines=(*sitting.card.lines, settled)))
    else:
        after = replace(_closed(before, uid), card=Card(uid, (settled,)))
        uid = f"{uid}+"
    return _closed(after, uid) if is_whole(after.rules, after.card) else after


def close(sitting: Sitting, uid: str) -> Sitting:
    """Return the sitting with its card closed, as on an empty line; an empty card stays.

    Raises CardRefused where the card is no fish yet.
    """
    if sitting.card.empty:
        return replace(sitting, refused=None)
    if not sitting.card.closable:
        raise CardRefused(what_lacks(sitting.card))
    return replace(_closed(sitting, uid), undone=(), refused=None)


def refuse(sitting: Sitting, shows: frozenset[str]) -> Sitting:
    """Return the sitting after a line that was refused, here or by whoever stores: the card is as it was.

    shows: what the line seemed to hold (vial, length). Until another line is taken, a scan that would complete
    the fish before a refused length is asked about, and a measure after a refused scan too; undo undoes nothing.
    """
    return replace(sitting, refused=shows)


def undo(sitting: Sitting, uid: str) -> Sitting:
    """Return the sitting without the last line: of the open card, or else of the card closed last.

    The fish of a closed card leaves the log, and what the card had before its last line is open again. After a
    refused line nothing is taken back, for nothing of it was taken. Raises CardRefused where there is nothing.
    """
    card, closed = sitting.card, sitting.closed
    if sitting.refused is not None:
        return replace(sitting, refused=None)
    if not card.empty:
        back = _with(sitting.undone, TakenBack(card))
        return replace(sitting, card=replace(card, lines=card.lines[:-1]), undone=back)
    if not closed:
        raise CardRefused("nothing was logged in this run that could be undone")
    last = closed[-1]
    if last.n_closed is not None and len(last.lines) > last.n_closed:  # a vial that was added later
        back = _with(sitting.undone, TakenBack(card, last, changed=True))
        without = Card(uid, last.lines[:-1], last.n_closed)
        return replace(sitting, card=Card(f"{uid}+"), closed=(*closed[:-1], without), undone=back)
    back = _with(sitting.undone, TakenBack(card, last))
    return replace(sitting, card=Card(uid, last.lines[:-1]), closed=closed[:-1], undone=back)


def redo(sitting: Sitting) -> Sitting:
    """Return the sitting with what undo took back last. Raises CardRefused where there is nothing."""
    if not sitting.undone:
        raise CardRefused("there is nothing to redo")
    back = sitting.undone[-1]
    closed = sitting.closed
    if back.closed is not None:
        closed = (*(closed[:-1] if back.changed else closed), back.closed)
    return replace(sitting, card=back.card, closed=closed, undone=sitting.undone[:-1], refused=None)


def drop(sitting: Sitting) -> Sitting:
    """Return the sitting with its open card emptied; redo brings it back."""
    if sitting.card.empty:
        return replace(sitting, refused=None)
    back = _with(sitting.undone, TakenBack(sitting.card))
    return replace(sitting, card=replace(sitting.card, lines=()), undone=back, refused=None)


def to_store(before: Sitting, after: Sitting) -> tuple[Card, ...]:
    """Return the closed cards of a step that have to be stored, or stored again with what was added to them."""
    return tuple(card for card in after.closed if card not in before.closed)


def to_take_out(before: Sitting, after: Sitting) -> tuple[Card, ...]:
    """Return the cards whose fish a step takes out of the log: only undo does, and only the one closed last."""
    left = {card.uid for card in after.closed}
    return tuple(card for card in before.closed[-1:] if card.uid not in left)


def _with(undone: tuple[TakenBack, ...], back: TakenBack) -> tuple[TakenBack, ...]:
    return (*undone, back)[-MOST_REMEMBERED:]


def _closed(sitting: Sitting, uid: str) -> Sitting:
    card = replace(sitting.card, n_closed=len(sitting.card.lines))
    return replace(sitting, card=Card(uid), closed=(*sitting.closed, card)[-MOST_REMEMBERED:])


def _offer_second(sitting: Sitting, line: LogLine, uid: str) -> Sitting:
    """Take a second vial: of the open card, or where that is empty of the card closed last."""
    if line.length or line.weight or line.bare or line.n_fish > 1:
        raise CardRefused(
            '"second" is the other vial of a fish that has one: it goes beside its code alone, or after the first '
            "vial on one line (CODE second CODE)"
        )
    card, closed = sitting.card, sitting.closed
    of = card if not card.empty else closed[-1] if closed else None
    if of is None:
        raise CardRefused(
            "a second vial belongs to the fish before it in this run, but there is none; log the fish first"
        )
    has = of.line
    if has.n_fish > 1:
        raise CardRefused(f"the fish before it is a tally of {has.n_fish}; a vial holds one fish")
    if has.vial is None:
        raise CardRefused(
            f"the fish before it ({of.words}) has no first vial yet, so this cannot be its second"
        )
    if has.second is not None and not same_code(has.second, line.second):
        raise CardRefused(
            f"the fish before it ({of.words}) has two vials already, and a fish has at most two"
        )
    if same_code(has.vial, line.second):
        raise CardRefused(
            f"vial {printed_code(line.second)} is the first vial of that fish; its second is another"
        )
    if has.second is not None:
        return replace(sitting, refused=None)
    added = replace(of, lines=(*of.lines, line))
    if of is card:
        after = replace(sitting, card=added, undone=(), refused=None)
        return _closed(after, uid) if is_whole(after.rules, added) else after
    return replace(sitting, closed=(*closed[:-1], added), undone=(), refused=None)
