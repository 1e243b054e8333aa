"""One line of the log is one fish."""

from __future__ import annotations

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
        "2.3 16.5 BG4F7Q2KR",
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
        ("16.5", (16.5, "in"), None),
        ("2.3 lb", None, (2.3, "lb")),
        ("419mm 2.3", (419, "mm"), (2.3, "lb")),
        ("1/2 lb 10", (10, "in"), (0.5, "lb")),
    ],
)
def test_units_and_order(text: str, length: object, weight: object) -> None:
    assert seen(text) == (None, length, weight)


def test_two_bare_numbers_are_length_then_weight_unless_only_the_other_way_makes_a_fish() -> None:
    assert seen("419 1050", "mm", "g")[1:] == ((419, "mm"), (1050, "g"))
    assert seen("1050 419", "mm", "g")[1:] == ((419, "mm"), (1050, "g"))
    assert seen("270 280", "mm", "g")[1:] == ((270, "mm"), (280, "g"))


def test_words() -> None:
    said = read("BG4F7Q2KR 16.5 clip kept spotted bass # hook scar, left jaw")
    assert (said.tissue, said.fate, said.species, said.remarks) == (
        "fin_clip",
        "kept",
        "spotted_bass",
        "hook scar, left jaw",
    )
    assert read("second BG4F7Q2KR").second
    assert read("BG4F7Q2KR second").vial == CODE
    assert read("10 in swab").tissue == "mouth_swab"


@pytest.mark.parametrize("text", ["10.2 x4", "x4 10.2", "10.2 in x 4", "10.2 4x", "10.2 ×4"])
def test_a_tally(text: str) -> None:
    said = read(text)
    assert said.n_fish == 4
    assert said.length is not None
    assert said.length.value == 10.2


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


def test_the_rest_of_a_refused_line_is_kept() -> None:
    with pytest.raises(LogLineError) as fault:
        read("BG4F7Q2KR 16.5 blue 2 lb 5 oz clip")
    kept = fault.value.kept
    assert kept.vial == CODE
    assert kept.length is not None
    assert kept.weight is not None
    assert (kept.length.value, kept.weight.value, kept.tissue) == (16.5, 2.3125, "fin_clip")


@pytest.mark.parametrize(
    "text", ["BG4F7QK2R 16.5", "BG4F7Q2K 16.5", "8G4F7Q2KR 16.5", "BG 4F7 QK2 R 16.5", "BGZZZZZZF 16.5"]
)
def test_a_mistyped_code_is_still_taken_as_the_code(text: str) -> None:
    said = read(text)
    assert said.vial == text.removesuffix(" 16.5")
    assert said.length is not None


@given(st.text(max_size=40))
@example("x")
@example("1/0")
@example("16 1/2 1/2")
@example('"')
def test_any_text_is_a_line_or_a_plain_refusal(text: str) -> None:
    try:
        said = read(text)
    except LogLineError as fault:
        said = fault.kept
    assert isinstance(said, LogLine)


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
