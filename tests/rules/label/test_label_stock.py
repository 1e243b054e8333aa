"""Label stocks: what is refused, what is warned of, where slots stand."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from geneticlog.rules.label.label_stock import Stock
from geneticlog.rules.label.stock_checks import check

# The worked example: Letter, wraps of 1.28 x 0.5 in, left 0.75, top 0.5, pitch 1.43 x 0.5 in, 5 x 20.
LETTER = Stock(
    name="worked example", kind="sheet", content="wrap", label_w_mm=1.28 * 25.4, label_h_mm=12.7,
    page_w_mm=215.9, page_h_mm=279.4, margin_left_mm=0.75 * 25.4, margin_top_mm=12.7, cols=5, rows=20,
    pitch_x_mm=1.43 * 25.4, pitch_y_mm=12.7, dpi=600, od_mm=12.7,
)  # fmt: skip
DOTS = Stock(
    name="dots", kind="sheet", content="cap", shape="round", label_w_mm=9.5, label_h_mm=9.5,
    page_w_mm=210, page_h_mm=297, margin_left_mm=15, margin_top_mm=15, cols=12, rows=19,
    pitch_x_mm=15, pitch_y_mm=14,
)  # fmt: skip
ROLL = Stock(
    name="roll", kind="roll", content="wrap", label_w_mm=32.5, label_h_mm=12.7, across=2, gap_x_mm=3,
    max_print_w_mm=104, liner_w_mm=72, dpi=300,
)  # fmt: skip


def refused(stock: Stock) -> set[str]:
    return {doubt.key for doubt in check(stock) if doubt.refused}


def warned(stock: Stock) -> set[str]:
    return {doubt.key for doubt in check(stock) if not doubt.refused}


def test_the_worked_example_passes_every_check() -> None:
    assert check(LETTER) == []
    x, y = LETTER.slot_at(LETTER.slots_a_page - 1)
    assert (x + LETTER.label_w_mm, y + LETTER.label_h_mm) == pytest.approx((7.75 * 25.4, 10.5 * 25.4))
    assert (LETTER.dots, LETTER.module_mm) == (6, pytest.approx(0.254))


@pytest.mark.parametrize(
    ("change", "key"),
    [
        pytest.param({"cols": 6}, "pitch_x", id="one column more runs off the page"),
        pytest.param({"rows": 21}, "pitch_y", id="one row more runs off the page"),
        pytest.param({"pitch_x_mm": 32.0}, "pitch_x", id="columns overlap"),
        pytest.param({"pitch_y_mm": 12.6}, "pitch_y", id="rows overlap"),
        pytest.param({"margin_left_mm": 4.0}, "margin_left", id="starts where the printer leaves blank"),
        pytest.param({"offset_y_mm": -8.0}, "margin_top", id="moved into the blank edge"),
        pytest.param({"offset_x_mm": 15.0}, "pitch_x", id="moved off the right edge"),
        pytest.param({"scale_y": 1.05}, "pitch_y", id="stretched off the page"),
        pytest.param({"scale_x": 1.2}, "scale_x", id="a scale that no printer needs"),
        pytest.param({"dots_per_module": 2, "dpi": 300}, "dots_per_module", id="two dots a module"),
        pytest.param({"dots_per_module": 10}, "label_h", id="quiet zone past the inset"),
        pytest.param({"label_w_mm": 8.0}, "label_w", id="too narrow for the symbol"),
        pytest.param({"content": "label"}, "content", id="no such content"),
        pytest.param({"kind": "bag"}, "kind", id="no such kind"),
        pytest.param({"rotate": 45}, "rotate", id="no such turn"),
        pytest.param({"shape": "round"}, "shape", id="a round wrap"),
        pytest.param({"label_w_mm": 0.0}, "label_w", id="no width"),
        pytest.param({"label_w_mm": float("nan")}, "label_w", id="not a number"),
        pytest.param({"page_h_mm": 1e9}, "page_h", id="a page of a thousand km"),
        pytest.param({"cols": 0}, "cols", id="no columns"),
        pytest.param({"dpi": 20}, "dpi", id="no printer"),
        pytest.param({"dots_per_module": -1}, "dots_per_module", id="less than no dots"),
    ],
)
def test_a_sheet_that_cannot_work_is_refused_by_the_key_at_fault(change: dict[str, Any], key: str) -> None:
    assert key in refused(replace(LETTER, **change))


@pytest.mark.parametrize(
    ("change", "key"),
    [
        pytest.param({"dpi": 300}, "dots_per_module", id="three dots a module"),
        pytest.param({"dots_per_module": 5}, "dots_per_module", id="a module below 0.25 mm"),
        pytest.param({"dots_per_module": 8}, "od", id="too wide for the vial's bend"),
        pytest.param({"od_mm": 8.0}, "od", id="covers its own text"),
        pytest.param({"usable_height_mm": 10.0}, "usable_height", id="higher than the vial's side"),
    ],
)
def test_a_sheet_that_may_not_read_is_warned_of_and_printed(change: dict[str, Any], key: str) -> None:
    assert warned(replace(LETTER, **change)) == {key}
    assert refused(replace(LETTER, **change)) == set()


def test_the_corners_of_a_symbol_stay_inside_a_dot() -> None:
    assert refused(DOTS) == set()
    # a 9.5 mm dot takes the bare symbol at 0.254 mm, whose corners keep 3.9 modules of white
    assert [doubt.text for doubt in check(DOTS)] == [
        "the symbol's corners keep 3.9 modules of white; 4 are wished"
    ]
    assert "label_w" in refused(replace(DOTS, label_w_mm=8.0, label_h_mm=8.0))
    assert check(replace(DOTS, label_w_mm=12.7, label_h_mm=12.7, dots_per_module=7, rows=17)) == []
    assert "cap_diameter" in warned(replace(DOTS, cap_diameter_mm=9.0))
    assert "label_h" in refused(replace(DOTS, label_h_mm=9.0))


def test_a_wrap_with_a_dot_is_as_wide_as_both() -> None:
    both = replace(LETTER, content="both", dot_d_mm=9.5, dot_gap_mm=2.5, cols=4, pitch_x_mm=48.0)
    assert both.slot_w_mm == pytest.approx(32.512 + 12.0)
    assert refused(both) == set()
    assert "pitch_x" in refused(replace(both, pitch_x_mm=44.0))
    assert both.symbol_on_the_wrap
    assert not replace(both, od_mm=8.0).symbol_on_the_wrap


def test_a_roll_is_one_row_a_page() -> None:
    assert refused(ROLL) == set()
    # a page is so many whole dots that it never reaches past its labels: 803 and 150 at 300 dpi
    assert (ROLL.sheet_w_mm, ROLL.sheet_h_mm) == pytest.approx((803 * 25.4 / 300, 150 * 25.4 / 300))
    assert ROLL.slots_a_page == 2
    assert ROLL.slot_at(3) == (35.5, 0.0)
    assert refused(replace(ROLL, across=4)) == {"max_print_w", "liner_w"}
    assert refused(replace(ROLL, across=4, liner_w_mm=0)) == {"max_print_w"}  # nobody gave the liner's width
    assert refused(replace(ROLL, offset_x_mm=1.0)) == {"offset_x"}
    assert refused(replace(ROLL, content="both", dot_d_mm=9.5)) == {"content"}


def test_slots_are_moved_and_spread_by_calibration_and_symbols_keep_their_size() -> None:
    calibrated = replace(LETTER, offset_x_mm=0.5, scale_x=1.01)
    assert calibrated.slot_at(1)[0] == pytest.approx((0.75 + 1.43) * 25.4 * 1.01 + 0.5)
    assert calibrated.module_mm == LETTER.module_mm


@pytest.mark.parametrize(("dpi", "dots"), [(203, 3), (300, 3), (600, 6), (1200, 12)])
def test_a_module_left_to_us_is_a_quarter_of_a_millimetre_or_more(dpi: int, dots: int) -> None:
    assert replace(LETTER, dpi=dpi).dots == dots


@pytest.mark.parametrize(
    ("base", "change", "key", "at", "beyond"),
    [
        # a number and the next one, of which the first is taken and the second refused
        (LETTER, {}, "dpi", 100, 99),
        (LETTER, {}, "dpi", 4800, 4801),
        (LETTER, {}, "dots_per_module", 0, -1),
        (LETTER, {}, "cols", 1, 0),
        (LETTER, {}, "rows", 1, 0),
        (ROLL, {}, "across", 2, 0),
        (LETTER, {}, "scale_x", 0.9, 0.89),
        (LETTER, {"cols": 3, "offset_x_mm": -2.0}, "scale_x", 1.1, 1.11),
        (LETTER, {}, "offset_x_mm", 0.0, -51.0),
        (LETTER, {}, "page_w_mm", 2000.0, 2000.1),
        (LETTER, {}, "no_print_margin_mm", 0.0, -0.1),
        (LETTER, {}, "pitch_y_mm", 12.7, 12.69),
        (LETTER, {"cols": 1}, "pitch_x_mm", 0.1, 0.0),
        (LETTER, {"no_print_margin_mm": 6.0}, "margin_left_mm", 6.0, 5.99),
        (LETTER, {"no_print_margin_mm": 6.0}, "margin_top_mm", 6.0, 5.99),
        # the last label ends at 196.85 and 266.7 mm
        (LETTER, {"no_print_margin_mm": 6.0}, "page_w_mm", 202.85, 202.84),
        (LETTER, {"no_print_margin_mm": 6.0}, "page_h_mm", 272.7, 272.69),
        # two labels of 32.5 mm and 3 mm between them
        (ROLL, {}, "max_print_w_mm", 68.0, 67.99),
        (ROLL, {}, "liner_w_mm", 68.0, 67.99),
        (ROLL, {}, "liner_w_mm", 0.0, 1.0),  # none is stated
        (ROLL, {"safe_inset_mm": 1.0}, "offset_x_mm", 1.0, 1.01),
        (ROLL, {"safe_inset_mm": 1.0}, "offset_y_mm", -1.0, -1.01),
        (DOTS, {}, "label_h_mm", 9.5, 9.4),
    ],
)
def test_the_last_size_that_is_taken_and_the_first_that_is_refused(
    base: Stock, change: dict[str, Any], key: str, at: float, beyond: float
) -> None:
    of = {
        "margin_left_mm": "margin_left",
        "margin_top_mm": "margin_top",
        "page_w_mm": "pitch_x",
        "page_h_mm": "pitch_y",
    }
    keys = {key.removesuffix("_mm"), of.get(key, "")}
    assert not refused(replace(base, **{**change, key: at})) & keys
    assert refused(replace(base, **{**change, key: beyond})) & keys


@pytest.mark.parametrize(
    ("base", "change", "key", "at", "beyond"),
    [
        (LETTER, {"dpi": 300}, "dots_per_module", 4, 3),
        (LETTER, {}, "usable_height_mm", 12.7, 12.69),
        (LETTER, {}, "usable_height_mm", 0.0, 1.0),  # not stated
        (DOTS, {}, "cap_diameter_mm", 9.5, 9.49),
        (DOTS, {}, "cap_diameter_mm", 0.0, 1.0),
        (LETTER, {}, "od_mm", 0.0, 3.0),
        (LETTER, {}, "od_mm", 1.28 * 25.4 / 3.1415, 1.28 * 25.4 / 3.1417),  # once round
    ],
)
def test_the_last_size_without_a_warning_and_the_first_with_one(
    base: Stock, change: dict[str, Any], key: str, at: float, beyond: float
) -> None:
    name = key.removesuffix("_mm")
    assert name not in warned(replace(base, **{**change, key: at}))
    assert name in warned(replace(base, **{**change, key: beyond}))
