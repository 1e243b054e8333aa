"""Numbers as they stand in print."""

from __future__ import annotations

from typing import Any

import pytest


def as_printed(text: str) -> Any:  # pytest.approx has no public type
    """Return the printed number with half a unit of its last digit as the tolerance."""
    digits, _, power = text.partition("e")
    places = len(digits.partition(".")[2]) - int(power or 0)
    return pytest.approx(float(text), abs=0.5 * 10.0**-places * (1 + 1e-9))
