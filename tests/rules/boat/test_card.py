"""The open card as a state machine: each part lands on the fish that was open when it came, or nowhere."""

from __future__ import annotations

import pytest
from card_support import CODES, Boat, Crew
from hypothesis import settings

from geneticlog.rules.boat import card as steps
from geneticlog.rules.boat.sitting import (
    EXCHANGED,
    NEXT,
    THIS,
    WITHOUT_VIAL,
    Rules,
)

A, B, C, D = CODES[:4]


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


def test_a_slip_that_looks_like_a_count_makes_no_tally_of_the_fish_in_hand() -> None:
    boat = Boat().type("16.5", "12x", "")
    assert boat.fish() == [(None, 16.5, None)]
    assert boat.refused == ["a tally has its length on the same line, and nothing else: 10.2 x4"]
    assert [line.n_fish for line in boat.type("10.2 x4").stored.values()] == [1, 4]


def test_an_order_that_is_none_is_refused() -> None:
    with pytest.raises(Exception, match="no order of work; use one of any, vial,length"):
        Rules.of("weight,length", "in", "lb")


TestCrew = Crew.TestCase
TestCrew.settings = settings(max_examples=60, stateful_step_count=30, deadline=None)
