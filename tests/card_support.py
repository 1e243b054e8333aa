"""A crew that knows its fish, and a boat that types: what tests of the open card start from."""

from __future__ import annotations

import json
from dataclasses import dataclass, field

from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from geneticlog.rules.boat import card as steps
from geneticlog.rules.boat.card_json import as_json, from_json
from geneticlog.rules.boat.logline import LogLine, LogLineError, read_line
from geneticlog.rules.boat.sitting import (
    NEXT,
    ORDERS,
    THIS,
    WITHOUT_VIAL,
    CardAsks,
    CardRefused,
    Rules,
    Sitting,
)
from geneticlog.rules.vialcode import mint

CODES = [code for serial in range(1, 4000) if (code := mint("BG", serial))]


@dataclass
class Boat:
    """Types lines as at a prompt and keeps what a store would hold; ``says`` answers the questions in turn."""

    order: str = "any"
    units: tuple[str, str] = ("in", "lb")
    says: list[str] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)
    refused: list[str] = field(default_factory=list)
    stored: dict[str, LogLine] = field(default_factory=dict)
    n: int = 0

    def __post_init__(self) -> None:
        self.sitting = steps.open_card(Rules.of(self.order, *self.units), "card0")

    def uid(self) -> str:
        self.n += 1
        return f"card{self.n}"

    def keep(self, after: Sitting) -> None:
        for card in steps.to_take_out(self.sitting, after):
            del self.stored[card.uid]
        for card in steps.to_store(self.sitting, after):
            self.stored[card.uid] = card.line
        self.sitting = after

    def type(self, *lines: str) -> Boat:
        for text in lines:
            self._type(text)
        return self

    def _type(self, text: str) -> None:
        try:
            if text == "undo":
                return self.keep(steps.undo(self.sitting, self.uid()))
            if text == "redo":
                return self.keep(steps.redo(self.sitting))
            if text == "":
                return self.keep(steps.close(self.sitting, self.uid()))
            line = read_line(text, *self.units)
            answers: list[str] = []
            while True:
                try:
                    return self.keep(steps.offer(self.sitting, line, self.uid(), answers=answers))
                except CardAsks as asks:
                    self.asked.append(asks.question.text)
                    if not self.says:
                        return None
                    answers.append(self.says.pop(0))
        except LogLineError as fault:
            self.refused.append(str(fault))
            self.keep(steps.refuse(self.sitting, fault.shows))
        except CardRefused as fault:
            self.refused.append(str(fault))
            self.keep(steps.refuse(self.sitting, frozenset()))

    def fish(self) -> list[tuple[str | None, float | None, float | None]]:
        return [_short(line) for line in self.stored.values()]

    @property
    def card(self) -> str:
        return self.sitting.card.words


def _short(line: LogLine) -> tuple[str | None, float | None, float | None]:
    return line.vial, line.length.value if line.length else None, line.weight.value if line.weight else None


WEIGHT_AT = {5.5: 0.09, 6.5: 0.13, 10.5: 0.6, 12.5: 1.0, 16.5: 2.4, 20.0: 4.6}


class Crew(RuleBasedStateMachine):
    """A crew that knows its fish, with a scanner that sends Enter, typing slips, undo, redo and flat batteries.

    What the store and the open card hold is compared with the crew's own list after every step.
    """

    @initialize(order=st.sampled_from(ORDERS))
    def sets_out(self, order: str) -> None:
        self.boat = self.a_boat(order)
        self.order = order
        self.fish: list[list[dict[str, object]]] = []  # each fish as the lines that were typed of it
        self.back: list[list[list[dict[str, object]]]] = []
        self.ends: list[bool] = []
        self.n_codes = 0

    def a_boat(self, order: str) -> Boat:
        return Boat(order)

    @property
    def first(self) -> str | None:
        return self.boat.sitting.rules.first  # in "any": as the crew said when it was asked

    def now(self) -> dict[str, object]:
        return {name: value for line in (self.fish[-1] if self.fish else []) for name, value in line.items()}

    def type(self, text: str, line: dict[str, object], *, new: bool) -> None:
        """Type a line of the fish in hand, or of a new one; questions are answered as the crew knows it."""
        self.boat.says = [NEXT if new else THIS, WITHOUT_VIAL]
        n_refused = len(self.boat.refused)
        self.boat.type(text)
        assert len(self.boat.refused) == n_refused, self.boat.refused[-1]
        self.back.clear()
        self.fish = [*self.fish, [line]] if new else [*self.fish[:-1], [*self.fish[-1], line]]

    def may_begin(self) -> bool:
        return not self.fish or "length" in self.now()

    @precondition(lambda self: self.first != "length" and self.may_begin())
    @rule()
    def scans_the_vial_of_the_next_fish(self) -> None:
        self.n_codes += 1
        code = CODES[self.n_codes]
        self.type(code, {"vial": code}, new=True)

    @precondition(lambda self: self.first != "vial" and "length" in self.now() and "vial" not in self.now())
    @rule()
    def scans_the_vial_of_this_fish(self) -> None:
        if self.boat.sitting.card.empty:
            return  # its card closed on an empty line
        self.n_codes += 1
        code = CODES[self.n_codes]
        self.type(code, {"vial": code}, new=False)

    @rule(length=st.sampled_from(sorted(WEIGHT_AT)), beside=st.booleans())
    def measures(self, length: float, beside: bool) -> None:
        has = self.now()
        new = not ("vial" in has and "length" not in has)
        if new and not self.may_begin():
            return
        if new and "weight" in self.order and "weight" not in has and has and length < 10:
            return  # in this order a number that may be the weight is the weight
        text, line = f"{length}", {"length": length}
        if beside and "weight" not in has:
            text, line = f"{length} {WEIGHT_AT[length]}", {"length": length, "weight": WEIGHT_AT[length]}
        self.type(text, line, new=new)

    @precondition(lambda self: "length" in self.now() and "weight" not in self.now())
    @rule(named=st.booleans())
    def weighs(self, named: bool) -> None:
        if self.boat.sitting.card.empty:
            return
        weight = WEIGHT_AT[self.now()["length"]]  # type: ignore[index]
        named = named or self.order in ("vial,length", "length,vial")
        self.type(f"{weight} lb" if named else f"{weight}", {"weight": weight}, new=False)

    @precondition(lambda self: self.may_begin() and self.first != "length")
    @rule(length=st.sampled_from(sorted(WEIGHT_AT)))
    def writes_a_whole_line(self, length: float) -> None:
        self.n_codes += 1
        code = CODES[self.n_codes]
        self.type(
            f"{code} {length} {WEIGHT_AT[length]}",
            {"vial": code, "length": length, "weight": WEIGHT_AT[length]},
            new=True,
        )

    @rule(text=st.sampled_from(["16.5x", "1O.5", "BG00000", "blue", "2 lb 5", "16.5 17 18", "second"]))
    def slips(self, text: str) -> None:
        n_refused = len(self.boat.refused)
        self.boat.type(text)
        if len(self.boat.refused) == n_refused:  # a code too short is known only to whoever looks it up
            self.back.clear()
        self.boat.type("undo")  # the hand goes to undo by itself; what was not taken does not go

    @precondition(lambda self: "vial" in self.now() and not self.boat.sitting.card.empty)
    @rule()
    def scans_twice(self) -> None:
        if self.boat.sitting.card.line.vial:
            self.boat.type(str(self.now()["vial"]))

    @rule()
    def leaves_a_line_empty(self) -> None:
        if self.boat.sitting.card.empty or self.boat.sitting.card.closable:
            self.boat.type("")
            if self.boat.stored:
                self.back.clear()

    @precondition(lambda self: bool(self.fish))
    @rule()
    def undoes(self) -> None:
        self.back.append(self.fish)
        left = self.fish[-1][:-1]
        self.fish = [*self.fish[:-1], left] if left else self.fish[:-1]
        self.boat.type("undo")

    @precondition(lambda self: bool(self.back) and bool(self.boat.sitting.undone))
    @rule()
    def redoes(self) -> None:
        self.fish = self.back.pop()
        self.boat.type("redo")

    @rule()
    def battery_goes_flat(self) -> None:
        kept = json.dumps(as_json(self.boat.sitting))
        assert from_json(json.loads(kept)) == self.boat.sitting
        self.boat.sitting = from_json(json.loads(kept))

    @invariant()
    def the_log_is_what_the_crew_saw(self) -> None:
        if not hasattr(self, "boat"):
            return
        held = [*self.boat.fish()]
        if not self.boat.sitting.card.empty:
            held.append(_short(self.boat.sitting.card.line))
        saw = [{name: value for line in lines for name, value in line.items()} for lines in self.fish]
        assert sorted(map(str, held)) == sorted(
            str((one.get("vial"), one.get("length"), one.get("weight"))) for one in saw
        )
