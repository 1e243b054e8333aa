"""The open card as a state machine: each part lands on the fish that was open when it came, or nowhere."""

from __future__ import annotations

import json
from dataclasses import dataclass, field

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from geneticlog.rules.boat import card as steps
from geneticlog.rules.boat.card_json import as_json, from_json
from geneticlog.rules.boat.logline import LogLine, LogLineError, read_line
from geneticlog.rules.boat.sitting import (
    EXCHANGED,
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
A, B, C, D = CODES[:4]


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


@pytest.mark.parametrize("order", ["any", "vial,length"])
def test_a_scanner_that_sends_enter_shifts_no_vial(order: str) -> None:
    boat = Boat(order).type(A, "16.5", B, "12.5", C, "14", "")
    assert boat.fish() == [(A, 16.5, None), (B, 12.5, None), (C, 14, None)]
    assert not boat.asked + boat.refused


def test_where_a_scan_belongs_is_asked_once_and_then_known() -> None:
    boat = Boat(says=[THIS]).type("16.5", A, "12.5", B, "14", "10.5", C, "")
    assert boat.fish() == [(A, 16.5, None), (B, 12.5, None), (None, 14, None), (C, 10.5, None)]
    assert boat.asked == ["vial BG 000 001 J: of the fish on the card (16.5 in), or of the next fish?"]
    assert boat.sitting.rules.first == "length"
    boat = Boat(says=[NEXT]).type("16.5", A, "12.5", "14", B, "11", "")
    assert boat.fish() == [(None, 16.5, None), (A, 12.5, None), (None, 14, None), (B, 11, None)]
    assert len(boat.asked) == 1
    boat = Boat().type("16.5", A)  # a pipe has no answer
    assert (boat.fish(), boat.card) == ([], "16.5 in")


@pytest.mark.parametrize(
    ("units", "first", "second"), [(("in", "lb"), "20", "5.2"), (("mm", "g"), "305", "372")]
)
def test_a_lone_number_that_may_be_a_weight_or_a_fish_is_asked_about(
    units: tuple[str, str], first: str, second: str
) -> None:
    for says, fish in ((THIS, [(A, float(first), float(second))]), (NEXT, [(None, float(first), None)])):
        boat = Boat("length,vial", units=units)
        boat.sitting = steps.open_card(Rules(*units, first="length"), "card0")
        boat.says = [says]
        boat.type(first, second, A)
        assert boat.fish() == fish
        assert len(boat.asked) == 1
        assert f"{second}: the weight of the fish on the card ({first} {units[0]})" in boat.asked[0]
    boat = Boat(units=units).type(first, second)
    assert (boat.fish(), boat.card) == ([], f"{first} {units[0]}")


def test_a_lone_number_that_can_only_be_one_thing_is_taken_as_that() -> None:
    boat = Boat().type(f"{A} 15 3/4", "1.8", f"{B} 15", "12.5", "")
    assert boat.fish() == [(A, 15.75, 1.8), (B, 15, None), (None, 12.5, None)]
    boat = Boat().type("15 3/4", "1 lb 12", f"{A} 9")  # loose ounces are refused, and the card is as it was
    assert "may be ounces or a length" in boat.refused[0]
    assert boat.fish() == [(None, 15.75, None)]
    weighed = Boat("length,weight,vial", says=[NEXT]).type("20", "5.2", A, "16.5", "23", "")
    assert weighed.fish() == [(A, 20, 5.2), (None, 16.5, None), (None, 23, None)]
    assert "23: the weight of the fish on the card (16.5 in), 23 lb, or the length" in weighed.asked[0]


@pytest.mark.parametrize("line", ["16-1/2 2-5-3", "1O.5", "16.5 2lb blue", "16.5 23x", "12 in 1/2"])
def test_a_line_at_fault_leaves_the_card_as_it_was(line: str) -> None:
    boat = Boat().type(A)
    before = boat.sitting.card
    boat.type(line)
    assert boat.sitting.card == before
    assert len(boat.refused) == 1
    assert boat.type("16.5", "").fish() == [(A, 16.5, None)]


def test_two_numbers_are_never_exchanged_in_silence() -> None:
    boat = Boat(units=("mm", "g")).type("380 330")
    assert boat.asked == ["380 330: as typed 380 mm and 330 g, which is unlikely; or 330 mm and 380 g?"]
    assert boat.sitting.card.empty
    boat.says = [EXCHANGED]
    assert boat.type(f"{A} 380 330").fish() == [(A, 330, 380)]


def test_undo_takes_back_the_last_part_then_the_last_fish_and_redo_brings_it_back() -> None:
    boat = Boat("vial,length").type(A, "16.5", B, "12.5")
    assert boat.type("undo").card == "BG 000 002 H"
    assert boat.fish() == [(A, 16.5, None)]
    assert boat.type("undo", "undo").card == "BG 000 001 J"
    assert boat.fish() == []
    assert boat.type("redo", "redo", "redo").fish() == [(A, 16.5, None), (B, 12.5, None)]
    assert boat.type("redo").refused == ["there is nothing to redo"]
    boat.type("undo", "15")  # the undo after a refusal takes back nothing
    assert boat.fish() == [(A, 16.5, None), (B, 12.5, None), (None, 15, None)]
    boat.type("undo", "undo", "13", "redo")
    assert boat.fish() == [(A, 16.5, None), (B, 13, None)]
    assert boat.refused[-1] == "there is nothing to redo"


def test_undo_after_a_refusal_that_took_nothing_leaves_the_good_fish() -> None:
    boat = Boat("vial,length").type(A, "16.5", "12 blue", "undo")
    assert boat.fish() == [(A, 16.5, None)]
    assert boat.type("undo").fish() == []


def test_a_scan_after_a_refused_length_does_not_complete_the_fish_before() -> None:
    boat = Boat("length,vial").type("12.5", "16.5x", A)
    assert boat.asked == ["vial BG 000 001 J: of the fish on the card (12.5 in), or of the next fish?"]
    assert boat.fish() == []
    boat.says = [THIS]
    assert boat.type(A).fish() == [(A, 12.5, None)]


def test_a_measure_after_a_refused_scan_is_asked_about() -> None:
    boat = Boat("vial,length").type(A, "16.5")
    boat.sitting = steps.refuse(boat.sitting, frozenset({"vial"}))  # the code did not check
    boat.type("12.5")
    assert boat.asked == ["12.5 in: the scan before it was refused. Is this a fish without a vial?"]
    assert boat.fish() == [(A, 16.5, None)]
    assert boat.type(B, "12.5").fish() == [(A, 16.5, None), (B, 12.5, None)]
    boat.sitting = steps.refuse(boat.sitting, frozenset({"vial"}))
    boat.says = [WITHOUT_VIAL]
    assert boat.type("11").fish()[-1] == (None, 11, None)


def test_a_second_scan_of_a_vial_is_one_and_another_vial_waits_for_the_length() -> None:
    boat = Boat().type(A, A, "16.5", A, B, C, "12.5", "")
    assert boat.fish() == [(A, 16.5, None), (B, 12.5, None)]
    assert "has no length yet" in boat.refused[0]
    assert "Vial BG 000 003 F was not taken" in boat.refused[0]


def test_second_is_never_ignored() -> None:
    boat = Boat().type(f"{A} 16.5 2.3", f"second {B}", "second", f"second {C} 12.5", f"second {C}")
    assert [(line.vial, line.second) for line in boat.stored.values()] == [(A, B)]
    assert len(boat.refused) == 3
    boat = Boat().type(f"{A} 16.5", f"{B} second", "", "12.5", f"second {C}", "")
    assert [(line.vial, line.second) for line in boat.stored.values()] == [(A, B), (None, None)]
    assert "has no first vial yet" in boat.refused[0]
    boat = Boat().type(f"{A} 16.5 2.3", f"second {B}", "undo")
    assert [(line.vial, line.second) for line in boat.stored.values()] == [(A, None)]
    assert [line.second for line in boat.type("redo").stored.values()] == [B]


def test_measure_first_takes_no_vial_before_its_length_and_no_weight_from_nowhere() -> None:
    boat = Boat("length,vial").type(A, "2.3 lb", "16.5", A, "1.9 lb")
    assert boat.fish() == [(A, 16.5, None)]
    assert ["measured first" in boat.refused[0], "after the length" in boat.refused[1]] == [True, True]


def test_a_fate_is_a_part_of_the_open_card_only() -> None:
    boat = Boat().type("kept", "16.5", "kept", "# in the ice box", "", "kept")
    assert [line.fate for line in boat.stored.values()] == ["kept"]
    assert ["no fish on the card" in text for text in boat.refused] == [True, True]


def test_an_order_that_is_none_is_refused() -> None:
    with pytest.raises(Exception, match="no order of work; use one of any, vial,length"):
        Rules.of("weight,length", "in", "lb")


WEIGHT_AT = {5.5: 0.09, 6.5: 0.13, 10.5: 0.6, 12.5: 1.0, 16.5: 2.4, 20.0: 4.6}


class Crew(RuleBasedStateMachine):
    """A crew that knows its fish, with a scanner that sends Enter, typing slips, undo, redo and flat batteries.

    What the store and the open card hold is compared with the crew's own list after every step.
    """

    @initialize(order=st.sampled_from(ORDERS))
    def sets_out(self, order: str) -> None:
        self.boat = Boat(order)
        self.order = order
        self.fish: list[list[dict[str, object]]] = []  # each fish as the lines that were typed of it
        self.back: list[list[list[dict[str, object]]]] = []
        self.ends: list[bool] = []
        self.n_codes = 0

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
        self.boat.type(text)
        self.boat.type("undo")  # the hand goes to undo by itself; nothing was taken, so nothing goes

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


TestCrew = Crew.TestCase
TestCrew.settings = settings(max_examples=60, stateful_step_count=30, deadline=None)
