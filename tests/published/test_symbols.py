"""Symbols and their sizes against the published capacity table and the tabled module sizes."""

from __future__ import annotations

import random

import pytest
import qrcode
import qrcode.constants
import qrcode.util

from geneticlog.faces.label.symbols import symbols_of
from geneticlog.rules.label.label_stock import module_mm, symbol_mm, widest_on_curve_mm, wrap_share

# The published capacity table of the symbols of ISO/IEC 18004, by version and level: numeric, alphanumeric, byte
CAPACITY = {
    (1, "L"): (41, 25, 17), (1, "M"): (34, 20, 14), (1, "Q"): (27, 16, 11), (1, "H"): (17, 10, 7),
    (2, "L"): (77, 47, 32), (2, "M"): (63, 38, 26), (2, "Q"): (48, 29, 20), (2, "H"): (34, 20, 14),
    (3, "L"): (127, 77, 53), (3, "M"): (101, 61, 42), (3, "Q"): (77, 47, 32), (3, "H"): (58, 35, 24),
}  # fmt: skip
FILLS = (("7", 1), ("B", 2), ("b", 4))  # one character of each mode, and the mode's number in the standard


def fits(version: int, level: str, letter: str, mode: int, n: int) -> bool:
    symbol = qrcode.QRCode(
        version=version, error_correction=getattr(qrcode.constants, f"ERROR_CORRECT_{level}")
    )
    symbol.add_data(qrcode.util.QRData(letter * n, mode=mode), optimize=0)
    try:
        symbol.make(fit=False)
    except qrcode.exceptions.DataOverflowError:
        return False
    return True


@pytest.mark.parametrize(("version", "level"), CAPACITY)
def test_the_symbol_library_holds_what_the_standard_says(version: int, level: str) -> None:
    for (letter, mode), most in zip(FILLS, CAPACITY[version, level], strict=True):
        assert fits(version, level, letter, mode, most)
        assert not fits(version, level, letter, mode, most + 1)


def test_a_vial_code_fits_the_smallest_symbol_at_the_highest_level_with_one_to_spare() -> None:
    assert [symbol.shape for symbol in symbols_of(["BG4F7Q2KR", "BG4F7Q2KRX"])] == [(21, 21)] * 2
    with pytest.raises(qrcode.exceptions.DataOverflowError):
        list(symbols_of(["BG4F7Q2KRXY"]))


def test_every_symbol_is_the_one_the_library_would_choose() -> None:
    # qrcode 8 (python-qrcode, BSD): its own choice among the eight masks, symbol by symbol; 10,000 codes are compared
    # by tests/benchmarks/label_symbols.py
    drawn = random.Random(11)
    codes = ["".join(drawn.choices("0123456789ABCDEFGHJKMNPQRSTVWXYZ", k=9)) for _ in range(300)]
    codes += ["0", "A" * 10, "$%*+-./: "]
    masks = set()
    for code, symbol in zip(codes, symbols_of(codes), strict=True):
        library = qrcode.QRCode(version=1, error_correction=qrcode.constants.ERROR_CORRECT_H, border=0)
        library.add_data(qrcode.util.QRData(code, mode=2), optimize=0)
        library.make(fit=False)
        assert symbol.tolist() == library.get_matrix(), code
        masks.add(library.best_mask_pattern())
    assert masks == set(range(8))  # every mask was chosen for some code


# Printer dots: dpi, dots a module, module, symbol, and with the quiet zone the symbols of three versions, mm.
# From the standard's 17 + 4 V modules a side and 4 of white, worked out apart from the code under test.
SIZES = [
    (203, 2, 0.250, 5.26, 7.26, 8.26, 9.26),
    (300, 2, 0.169, 3.56, 4.91, 5.59, 6.27),
    (300, 3, 0.254, 5.33, 7.37, 8.38, 9.40),
    (600, 6, 0.254, 5.33, 7.37, 8.38, 9.40),
    (300, 4, 0.339, 7.11, 9.82, 11.18, 12.53),
    (600, 8, 0.339, 7.11, 9.82, 11.18, 12.53),
    (203, 3, 0.375, 7.88, 10.89, 12.39, 13.89),
    (203, 4, 0.500, 10.51, 14.51, 16.52, 18.52),
]


@pytest.mark.parametrize(("dpi", "dots", "module", "symbol", "quiet_1", "quiet_2", "quiet_3"), SIZES)
def test_modules_and_symbols_have_the_tabled_sizes(
    dpi: int, dots: int, module: float, symbol: float, quiet_1: float, quiet_2: float, quiet_3: float
) -> None:
    side = module_mm(dpi, dots)
    assert side == pytest.approx(module, abs=0.0006)
    assert symbol_mm(1, side) == pytest.approx(symbol, abs=0.006)
    for version, quiet in ((1, quiet_1), (2, quiet_2), (3, quiet_3)):
        assert symbol_mm(version, side, quiet=True) == pytest.approx(quiet, abs=0.006)


def test_the_originators_worked_example() -> None:
    # DENSO WAVE, guidance on setting the module size (qrcode.com; address from memory): version 3, 4 dots at 400 dpi,
    # 0.254 mm a module, 9.398 mm with quiet zone
    assert module_mm(400, 4) == pytest.approx(0.254)
    assert symbol_mm(3, module_mm(400, 4), quiet=True) == pytest.approx(9.398)


@pytest.mark.parametrize(
    ("od", "widest", "module_1", "module_2", "covers"),
    [(12.7, 6.65, 0.317, 0.266, 0.81), (10.8, 5.65, 0.269, 0.226, 0.96), (8.0, 4.19, 0.199, 0.168, 1.29)],
)
def test_a_vial_bends_a_symbol_out_of_sight(
    od: float, widest: float, module_1: float, module_2: float, covers: float
) -> None:
    # arithmetic: a twelfth of the girth either side of the centre is 30 degrees; the number 30 is from memory
    assert widest_on_curve_mm(od) == pytest.approx(widest, abs=0.006)
    assert symbol_mm(1, module_1) == pytest.approx(widest, abs=0.03)
    assert symbol_mm(2, module_2) == pytest.approx(widest, abs=0.03)
    assert wrap_share(32.5, od) == pytest.approx(covers, abs=0.006)
