"""Labels as a boat treats them: wrapped, blurred, smeared, torn, lit badly, and read by zxing-cpp and OpenCV.

The full table is made by tests/benchmarks/label_degradation.py and stands in DEVELOPERS.md.
"""

from __future__ import annotations

import numpy as np
import pytest
from label_camera import Light, photograph, printed_labels, read, share_read

from geneticlog.faces.label.stocks import load_stocks
from geneticlog.rules.vialcode import VialCodeError, mint, parse

STOCKS = load_stocks()
CODES = [code for n in range(1, 400) if (code := mint("BG", n * 2_300_017))][:120]


@pytest.mark.parametrize("name", ["roll-1-600", "roll-1-300", "roll-1-203"])
def test_clean_but_blurred_labels_on_a_vial_are_read(name: str) -> None:
    assert share_read(STOCKS[name], CODES, Light(), seed=11) >= 0.99


def test_a_second_reader_reads_what_is_sharp() -> None:
    sharp = Light(blur=0.0, pixels=(6, 9), turned=20, noise=3)
    assert share_read(STOCKS["roll-1-600"], CODES[:40], sharp, seed=4, second=True) >= 0.9


def test_six_dots_a_module_stand_a_dot_of_ink_spread_better_than_three() -> None:
    spread = Light(spread_dots=1)
    at_600, at_300 = (share_read(STOCKS[f"roll-1-{dpi}"], CODES[:60], spread, seed=5) for dpi in (600, 300))
    assert at_600 >= 0.97
    assert at_600 > at_300


def test_a_quiet_zone_crowded_with_black_is_not_read() -> None:
    crowded = share_read(STOCKS["roll-1-600"], CODES[:30], Light(quiet_modules=0), seed=6)
    kept = share_read(STOCKS["roll-1-600"], CODES[:30], Light(quiet_modules=4), seed=6)
    assert crowded <= 0.2
    assert kept >= 0.97


def test_wider_glare_is_read_less_and_full_glare_not_at_all() -> None:
    thin, wide = (share_read(STOCKS["roll-1-600"], CODES[:40], Light(glare=g), seed=7) for g in (0.01, 0.08))
    assert thin > wide
    assert share_read(STOCKS["roll-1-600"], CODES[:5], Light(glare=3.0), seed=7) == 0


def test_what_is_read_of_a_damaged_label_is_its_code_or_no_vial_code() -> None:
    """A reader may make something of the remains (one of these 60 reads "71"); the check refuses it."""
    chance = np.random.default_rng(8)
    stock = STOCKS["roll-1-600"]
    wrong = []
    light = Light(torn=0.3, glare=0.03, blur=0.3, spread_dots=1)
    for code, dots in zip(CODES, printed_labels(stock, tuple(CODES[:60])), strict=False):
        seen = read(photograph(dots, stock, code, light, chance))
        if seen not in ("", code):
            wrong.append(seen)
    assert len(wrong) < 6
    for seen in wrong:
        with pytest.raises(VialCodeError, match="does not check"):
            parse(seen)
