"""One line of the log is one fish."""

from __future__ import annotations

from contextlib import suppress

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from geneticlog.rules.boat.logline import LogLine, LogLineError, read_line
from geneticlog.rules.vialcode import parse

CODE = "BG4F7Q2KR"


def read(text: str, length_unit: str = "in", weight_unit: str = "lb") -> LogLine:
    return read_line(text, length_unit, weight_unit)


def seen(text: str, length_unit: str = "in", weight_unit: str = "lb") -> tuple[object, ...]:
    said = read(text, length_unit, weight_unit)
    return (
        parse(said.vial) if said.vial else None,
        (said.length.value, said.length.unit) if said.length else None,
        (said.weight.value, said.weight.unit) if said.weight else None,
    )


@pytest.mark.parametrize(
    "text",
    [
        "BG4F7Q2KR 16.5 2.3",
        "bg4f7q2kr 16.5 2.3",
        "BG 4F7 Q2K R 16.5 2.3",
        "bg-4f7 q2k r 16.5 2.3",
        "16.5 BG4F7Q2KR 2.3",
        "16.5 2.3 BG 4F7 Q2K R",
        "16 1/2 2.3 BG4F7Q2KR",
        "BG4F7Q2KR 16-1/2 2.3",
        "BG4F7Q2KR 16½ 2.3",
        '2.3 lb 16.5" BG4F7Q2KR',
        "2.3lb BG4F7Q2KR 16.5in",
        "BG4F7Q2KR,16.5,2.3",
        "16.5,2.3,BG4F7Q2KR",
        "BG4F7Q2KR, 16.5, 2.3",
        "BG4F7Q2KR;16.5;2.3",
        "BG4F7Q2KR\t16.5\t2.3\r\n",
        "wt 2.3 tl 16.5 BG4F7Q2KR",
        "BG4F7Q2KR 16,5 in 2,3 lb",
    ],
)
def test_the_same_fish_in_many_ways(text: str) -> None:
    assert seen(text) == (CODE, (16.5, "in"), (2.3, "lb"))


@pytest.mark.parametrize(
    ("text", "length", "weight"),
    [
        ("419 mm 1050 g", (419, "mm"), (1050, "g")),
        ("1050 g 419 mm", (419, "mm"), (1050, "g")),
        ("2 lb 5 oz 16 1/2", (16.5, "in"), (2.3125, "lb")),
        ("16 1/2 2 lb 5 oz", (16.5, "in"), (2.3125, "lb")),
        ("16 1/2 2lb5oz", (16.5, "in"), (2.3125, "lb")),
        ("16.5 37 oz", (16.5, "in"), (37, "oz")),
        ("16 1/2 2 1/4", (16.5, "in"), (2.25, "lb")),
        ("2.3 lb", None, (2.3, "lb")),
        ("419mm 2.3", (419, "mm"), (2.3, "lb")),
        ("1/2 lb 10", (10, "in"), (0.5, "lb")),
    ],
)
def test_units_and_order(text: str, length: object, weight: object) -> None:
    assert seen(text) == (None, length, weight)


def test_two_bare_numbers_are_length_then_weight_and_one_waits_for_the_card() -> None:
    assert seen("419 1050", "mm", "g")[1:] == ((419, "mm"), (1050, "g"))
    assert seen("1050 419", "mm", "g")[1:] == ((1050, "mm"), (419, "g"))
    assert (read("16.5").bare, read("16.5").length) == (("16.5",), None)


def test_words() -> None:
    said = read("BG4F7Q2KR 16.5 clip kept spotted bass # hook scar, left jaw")
    assert (said.tissue, said.fate, said.species, said.remarks) == (
        "fin_clip",
        "kept",
        "spotted_bass",
        "hook scar, left jaw",
    )
    assert read("second BG4F7Q2KR").second == CODE
    assert read("BG4F7Q2KR second").second == CODE
    assert read("10 in swab").tissue == "mouth_swab"


@pytest.mark.parametrize("text", ["10.2 x4", "x4 10.2", "10.2 in x 4", "10.2 4x", "10.2 ×4"])
def test_a_tally(text: str) -> None:
    said = read(text)
    assert said.n_fish == 4
    assert said.bare == ("10.2",) or (said.length is not None and said.length.value == 10.2)


@pytest.mark.parametrize(
    ("text", "verb"),
    [
        ("undo", "undo"),
        ("UNDO", "undo"),
        ("done", "done"),
        ("?", "help"),
        ("", "nothing"),
        ("# scan 3", "nothing"),
    ],
)
def test_lines_that_are_no_fish(text: str, verb: str) -> None:
    assert read(text).verb == verb


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("BG4F7Q2KR 16.5 2.3 x4", "cannot have a vial"),
        ("16.5 2.3 x4", "cannot have a weight"),
        ("16.5 x0", "not a tally"),
        ("16.5 2.3 4.4", "too many numbers"),
        ("16 in 17 in", "too many numbers"),
        ("16.5 blue", "'blue' is not understood"),
        ("16.5 undo", "line of its own"),
        ("419,1050", "comma"),
        ("BG4F7Q2KR BG000001J 16.5", "two vial codes"),
        ("16 3/2", "not a part of one"),
        ("# ", ""),
        ("kept #", ""),
        ("-16.5", "not understood"),
    ],
)
def test_what_a_line_cannot_say(text: str, reason: str) -> None:
    if not reason:
        assert read(text).verb in ("nothing", "fish")
        return
    with pytest.raises(LogLineError, match=reason):
        read(text)


def test_nothing_of_a_refused_line_is_taken_and_what_it_seems_to_hold_is_said() -> None:
    with pytest.raises(LogLineError, match="'blue' is not understood") as fault:
        read("BG4F7Q2KR 16.5 blue 2 lb 5 oz clip")
    assert fault.value.shows == {"vial", "length"}
    for text, shows in (
        ("1O.5", {"length"}),
        ("blue", set()),
        ("BG4F7Q2KR blue", {"vial"}),
    ):
        with pytest.raises(LogLineError) as wrong:
            read(text)
        assert wrong.value.shows == shows


@pytest.mark.parametrize("text", ["BG4F7QK2R 16.5", "BG4F7Q2K 16.5", "8G4F7Q2KR 16.5", "BG 4F7 QK2 R 16.5"])
def test_a_mistyped_code_is_still_taken_as_the_code(text: str) -> None:
    said = read(text)
    assert said.vial == text.removesuffix(" 16.5")
    assert said.bare == ("16.5",)


@given(st.text(max_size=40))
@example("x")
@example("1/0")
@example("16 1/2 1/2")
@example('"')
def test_any_text_is_a_line_or_a_plain_refusal(text: str) -> None:
    with suppress(LogLineError):
        assert isinstance(read(text), LogLine)


@given(
    st.permutations(["BG 4F7 Q2K R", "16 1/2 in", "2 lb 5 oz", "clip", "kept"]),
    st.sampled_from([" ", "  ", "; "]),
)
def test_parts_with_units_come_in_any_order(parts: list[str], between: str) -> None:
    said = read(between.join(parts))
    assert said.length is not None
    assert said.weight is not None
    assert (parse(said.vial or ""), said.length.value, said.weight.value) == (CODE, 16.5, 2.3125)
    assert (said.tissue, said.fate) == ("fin_clip", "kept")
