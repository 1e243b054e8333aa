"""The check characters of vial codes against ISO/IEC 7064 as python-stdnum computes it, and against print."""

from __future__ import annotations

import random

import pytest
from stdnum.iso7064 import mod_11_2, mod_37_2, mod_37_36, mod_97_10

from geneticlog.rules.vialcode import ALPHABET, NEVER_MINTED, VialCodeError, mint, parse, printed

# Payload and check character of codes of our form, worked out from the standard's fold
# (c = 2c + value, modulo 37; check = 1 - 2c) apart from the code under test, and again below by python-stdnum.
MINTED = {
    "BG4F7Q2K": "R",
    "BG000001": "J",
    "BG00000Z": "P",
    "BGZZZZZZ": "E",
    "BGFQ21ST": "H",
    "BGFQ12ST": "P",
    "AA000000": "9",
    "ZZ999999": "5",
    "TNA1B2C3": "0",
    "BG7H3JX9": "B",
}


def fold(text: str) -> int:
    """The standard's own sum: each value times two to the power of its place from the right, modulo 37."""
    values = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ*"
    return sum(values.index(letter) * 2**place for place, letter in enumerate(reversed(text))) % 37


def serial(payload: str) -> int:
    return sum(ALPHABET.index(letter) * 32**place for place, letter in enumerate(reversed(payload[2:])))


@pytest.mark.parametrize(("payload", "check"), MINTED.items())
def test_the_check_character_is_that_of_the_standard(payload: str, check: str) -> None:
    assert mint(payload[:2], serial(payload)) == payload + check
    assert mod_37_2.calc_check_digit(payload) == check
    assert fold(payload + check) == 1


def test_python_stdnum_gives_the_examples_of_its_documentation_and_of_darwin_core() -> None:
    # python-stdnum, documentation of its iso7064 package
    assert mod_37_2.calc_check_digit("G123489654321") == "Y"
    assert mod_37_36.calc_check_digit("A12425GABC1234002") == "M"
    assert mod_97_10.calc_check_digits("99991234567890121414") == "90"
    assert mod_97_10.calc_check_digits("4354111611551114") == "31"
    # identifier 0000-0002-1825-0097 in the Darwin Core examples
    assert mod_11_2.calc_check_digit("000000021825009") == "7"


def some_codes(n: int) -> list[str]:
    chance = random.Random(20240501)
    codes = []
    while len(codes) < n:
        code = mint(chance.choice("BCDG") + chance.choice("GTNK"), chance.randrange(32**6))
        if code:
            codes.append(code)
    return codes


def reads(text: str) -> bool:
    try:
        parse(text)
    except VialCodeError:
        return False
    return True


CODES = some_codes(150)


def test_every_wrong_character_is_caught() -> None:
    letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
    n_tried = 0
    for code in CODES:
        for place, right in enumerate(code):
            for wrong in letters if place < 2 else ALPHABET:
                if wrong != right:
                    n_tried += 1
                    assert not reads(code[:place] + wrong + code[place + 1 :]), (code, place, wrong)
    assert n_tried == len(CODES) * (2 * 25 + 7 * 31)


def test_every_swap_at_any_distance_is_caught() -> None:
    for code in CODES:
        for i in range(9):
            for j in range(i + 1, 9):
                if code[i] != code[j]:
                    swapped = list(code)
                    swapped[i], swapped[j] = swapped[j], swapped[i]
                    assert not reads("".join(swapped)), (code, i, j)


def test_every_doubled_character_that_becomes_another_doubled_one_is_caught() -> None:
    chance = random.Random(7)
    twins = 0
    for _ in range(20_000):
        code = mint("BG", chance.randrange(32**6))
        for place in range(2, 8):
            if code and code[place] == code[place + 1]:
                twins += 1
                for wrong in ALPHABET.replace(code[place], ""):
                    assert not reads(code[:place] + 2 * wrong + code[place + 2 :])
        if twins > 300:
            break
    assert twins > 300


def test_mod_37_36_misses_swaps_that_37_2_catches() -> None:
    # why the pure system was chosen: 36 of 22 680 adjacent swaps pass the hybrid one
    for one, other in (("BGPXYZTEH", "BGPYXZTEH"), ("BGFQ21STY", "BGFQ12STY"), ("BGQ8FT701", "BGQ8FT710")):
        assert mod_37_36.is_valid(one)
        assert mod_37_36.is_valid(other)
    assert (mint("BG", serial("BGFQ21ST")), mint("BG", serial("BGFQ12ST"))) == ("BGFQ21STH", "BGFQ12STP")


@pytest.mark.parametrize(
    "text", ["bg-4f7 q2k r", "BG 4F7 Q2K R", "bg4f7q2kr", "BG\u00a04F7\u00a0Q2K\u00a0R", " BG4F7Q2KR\n"]
)
def test_a_code_is_read_however_it_was_typed(text: str) -> None:
    assert parse(text) == "BG4F7Q2KR"
    assert printed(text) == "BG 4F7 Q2K R"


def test_letters_that_look_like_digits_are_read_as_digits() -> None:
    assert parse("bg ooo ooi j") == parse("BG OOO OOL J") == "BG000001J"


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        pytest.param("BG4F7QK2R", "mistyped", id="a swap"),
        pytest.param("BG4F7Q2K4", "mistyped", id="a wrong check"),
        pytest.param("BG000000L", "mistyped", id="its check is L and is never minted"),
        pytest.param("BG4F7Q2K", "wrong length", id="one short"),
        pytest.param("BG4F7Q2KRR", "wrong length", id="one over"),
        pytest.param("", "wrong length", id="nothing"),
        pytest.param("8G4F7Q2KR", "office", id="the office is not two letters"),
        pytest.param("BG4F7QUKR", "character", id="U is not in the alphabet"),
        pytest.param("BG4F7Q2K*", "character", id="nor is the star"),
        pytest.param("BG4F7Q2Kß", "wrong length", id="a letter that grows in upper case"),
    ],
)
def test_what_does_not_check_is_refused_with_the_reason(text: str, reason: str) -> None:
    with pytest.raises(VialCodeError, match="does not check") as fault:
        parse(text)
    assert fault.value.reason == reason
    assert fault.value.exit_code == 4


def test_serials_with_an_unclear_check_character_are_skipped() -> None:
    assert mod_37_2.calc_check_digit("BG000000") == "L"
    assert mint("BG", 0) is None
    kept = [mint("BG", n) for n in range(20_000)]
    assert all(code is None or code[-1] not in NEVER_MINTED for code in kept)
    share = sum(code is not None for code in kept) / len(kept)
    assert share == pytest.approx(32 / 37, abs=0.005)  # 86.5 %: five of the 37 check characters are left out
