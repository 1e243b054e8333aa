"""Vial codes: offices, serials and the codes offered for a slip."""

from __future__ import annotations

import pytest

from geneticlog.rules.vialcode import (
    SERIALS,
    VialCodeError,
    check_office,
    mint,
    nearest,
    office_doubt,
)

RUN = [code for n in range(1, 61) if (code := mint("BG", n))]


@pytest.mark.parametrize("prefix", ["", "B", "B4", "BGX", "ÄB", "4F"])
def test_an_office_is_two_letters(prefix: str) -> None:
    with pytest.raises(VialCodeError, match="two letters"):
        mint(prefix, 1)


def test_a_small_letter_office_is_the_same_office() -> None:
    assert check_office(" bg ") == "BG"
    assert mint("bg", 1) == mint("BG", 1)


@pytest.mark.parametrize("serial", [-1, SERIALS])
def test_a_serial_beyond_six_characters_is_refused(serial: int) -> None:
    with pytest.raises(VialCodeError, match="used up"):
        mint("BG", serial)


def test_the_last_serial_can_be_minted() -> None:
    assert mint("BG", SERIALS - 1) == "BGZZZZZZE"


@pytest.mark.parametrize(
    ("prefix", "word"), [("BO", "misread"), ("MA", "date"), ("BG", ""), ("NO", "misread")]
)
def test_a_poor_choice_of_office_is_said(prefix: str, word: str) -> None:
    assert word in office_doubt(prefix)
    assert bool(word) == bool(office_doubt(prefix))


@pytest.mark.parametrize("typed", ["BG00O1OV4", "", "BG4", "BG4F7Q2KR4F7"])
def test_nothing_near_is_nothing_offered(typed: str) -> None:
    assert nearest(typed, ["BG4F7Q2KR"]) == []


def test_the_nearest_code_of_the_run_is_offered_first() -> None:
    code = RUN[20]
    assert nearest(code[:4] + "5" + code[5:], RUN) == [code]  # one wrong character far from the end
    assert code in nearest(code[:-1], RUN)  # the check character rubbed off
    assert code in nearest(code[:6] + code[7] + code[6] + code[8], RUN)  # a swap


def test_a_look_alike_is_offered_before_another_code_as_near() -> None:
    # BGT8 and BGTX are both one character from BGTB: 8 looks like B
    codes = ["BG00TX0AA", "BG00T80AA"]
    assert nearest("BG00TB0AA", codes) == ["BG00T80AA", "BG00TX0AA"]


def test_at_most_three_are_offered_and_none_twice() -> None:
    offered = nearest("BG0000", [*RUN, *RUN])
    assert offered == []
    offered = nearest("BG00000A", [*RUN, *RUN])
    assert len(offered) == len(set(offered)) <= 3
