"""QR symbols of many codes at once: the library's own symbols, with its choice among the eight masks made in numpy.

Nine tenths of the library's time for a symbol goes into scoring eight masks in plain Python. A mask changes the same
modules of every version 1 symbol, so the library draws each code once, under mask 0, and all eight variants of many
codes are scored together. The choice is the library's: the first of the masks with the lowest penalty.

Source of the masks and the four penalties: ISO/IEC 18004, data masking [not read; the formulas are those of the
library ``qrcode``, and tests/published/test_symbols.py holds the choice against the library itself].
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cache

import numpy as np
from numpy.typing import NDArray

SIDE = 21  # modules of a version 1 symbol
TOGETHER = 500  # codes scored in one step: about 30 MB
Modules = NDArray[np.bool_]


def symbols_of(texts: Sequence[str]) -> Iterator[Modules]:
    """Yield the modules of the symbol of each text, (21, 21), True for black, without the quiet zone.

    QR version 1, level H, alphanumeric: ten characters at most, of ``0-9 A-Z $%*+-./:`` and space. Raises the
    library's DataOverflowError for a longer text, ValueError for another character.
    """
    for start in range(0, len(texts), TOGETHER):
        drawn = np.array([_drawn(text, 0) for text in texts[start : start + TOGETHER]])
        masked = drawn[:, None] ^ _differences()  # (code, mask, row, column)
        chosen = masks_chosen(masked)
        yield from masked[np.arange(len(drawn)), chosen]


def masks_chosen(masked: Modules) -> NDArray[np.intp]:
    """Return which of its eight masked variants each symbol takes: the first with the lowest penalty.

    masked
        (code, 8, 21, 21), the whole symbols. The format information and the module beside it count as light while
        scored, as the library scores them.
    """
    scored = masked & ~_format_cells()
    points = _long_runs(scored) + _long_runs(scored.swapaxes(-1, -2))
    points += 3 * _blocks(scored)
    points += 40 * (_finder_like(scored) + _finder_like(scored.swapaxes(-1, -2)))
    dark = scored.sum(axis=(-1, -2))
    points += 10 * (np.abs(dark / SIDE**2 * 100 - 50) / 5).astype(np.int64)
    return np.asarray(points.argmin(axis=-1), dtype=np.intp)


def _drawn(text: str, mask: int) -> Modules:
    """Return the library's symbol of a text under one mask."""
    from qrcode.constants import ERROR_CORRECT_H
    from qrcode.main import QRCode
    from qrcode.util import QRData

    symbol = QRCode(version=1, error_correction=ERROR_CORRECT_H, border=0, mask_pattern=mask)
    symbol.add_data(QRData(text, mode=2), optimize=0)  # 2: alphanumeric
    symbol.make(fit=False)
    return np.array(symbol.get_matrix(), dtype=np.bool_)


@cache
def _differences() -> Modules:
    """Return what each mask changes against mask 0, (8, 21, 21): the same for every version 1-H symbol."""
    sample = [_drawn("0", mask) for mask in range(8)]
    return np.array([drawn ^ sample[0] for drawn in sample])


@cache
def _format_cells() -> Modules:
    """Return the modules that hold the format information, and the single module that is always dark."""
    cells = np.zeros((SIDE, SIDE), dtype=np.bool_)
    cells[8, [*range(6), 7, 8, *range(13, SIDE)]] = True
    cells[[*range(6), 7, 8, *range(13, SIDE)], 8] = True
    return cells


def _long_runs(scored: Modules) -> NDArray[np.int64]:
    """Return the penalty of runs of five and more modules of one colour along the rows: length less two each."""
    equal = scored[..., 1:] == scored[..., :-1]
    five = equal[..., :-3] & equal[..., 1:-2] & equal[..., 2:-1] & equal[..., 3:]
    begins = five.copy()
    begins[..., 1:] &= ~five[..., :-1]
    return np.asarray(five.sum(axis=(-1, -2)) + 2 * begins.sum(axis=(-1, -2)), dtype=np.int64)


def _blocks(scored: Modules) -> NDArray[np.int64]:
    """Return the number of blocks of two by two modules of one colour."""
    beside = scored[..., 1:] == scored[..., :-1]
    below = scored[..., 1:, :-1] == scored[..., :-1, :-1]
    return np.asarray((beside[..., 1:, :] & beside[..., :-1, :] & below).sum(axis=(-1, -2)), dtype=np.int64)


def _finder_like(scored: Modules) -> NDArray[np.int64]:
    """Return how often 1:1:3:1:1 with four light modules before or behind it occurs along the rows."""
    bits = 1 << np.arange(11)[::-1]
    windows = np.lib.stride_tricks.sliding_window_view(scored, 11, axis=-1) @ bits
    return np.asarray(
        ((windows == 0b10111010000) | (windows == 0b00001011101)).sum(axis=(-1, -2)), dtype=np.int64
    )
