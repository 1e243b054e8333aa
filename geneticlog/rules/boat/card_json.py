"""A sitting as plain values and back, so that a device can keep it over a flat battery."""

from __future__ import annotations

from typing import Any

from geneticlog.rules.boat.logline import LogLine
from geneticlog.rules.boat.sitting import Card, Rules, Sitting, TakenBack
from geneticlog.rules.lengths import Measured

_PLAIN = LogLine()


def as_json(sitting: Sitting) -> dict[str, Any]:
    """Return a sitting as what JSON holds; ``from_json`` gives the same sitting again."""
    return {
        "rules": dict(vars(sitting.rules)),
        "card": card_as_json(sitting.card),
        "closed": [card_as_json(card) for card in sitting.closed],
        "undone": [
            {
                "card": card_as_json(back.card),
                "closed": card_as_json(back.closed) if back.closed else None,
                "changed": back.changed,
            }
            for back in sitting.undone
        ],
        "refused": None if sitting.refused is None else sorted(sitting.refused),
    }


def from_json(values: dict[str, Any]) -> Sitting:
    return Sitting(
        Rules(**values["rules"]),
        card_from_json(values["card"]),
        tuple(card_from_json(one) for one in values["closed"]),
        tuple(
            TakenBack(
                card_from_json(back["card"]),
                card_from_json(back["closed"]) if back["closed"] else None,
                back["changed"],
            )
            for back in values["undone"]
        ),
        None if values["refused"] is None else frozenset(values["refused"]),
    )


def card_as_json(card: Card) -> dict[str, Any]:
    """Return a card as what JSON holds: {"uid", "lines": [what each line said], "n_closed"}."""
    lines = []
    for line in card.lines:
        values = {name: value for name, value in vars(line).items() if value != getattr(_PLAIN, name)}
        for name in ("length", "weight"):
            if name in values:
                values[name] = dict(vars(values[name]))
        if line.said_so:
            values["said_so"] = sorted(line.said_so)
        lines.append(values)
    return {"uid": card.uid, "lines": lines, "n_closed": card.n_closed}


def card_from_json(values: dict[str, Any]) -> Card:
    lines = []
    for kept in values["lines"]:
        parts = dict(kept)
        for name in ("length", "weight"):
            if name in parts:
                parts[name] = Measured(**parts[name])
        parts["bare"] = tuple(parts.get("bare", ()))
        parts["said_so"] = frozenset(parts.get("said_so", ()))
        lines.append(LogLine(**parts))
    return Card(values["uid"], tuple(lines), values["n_closed"])
