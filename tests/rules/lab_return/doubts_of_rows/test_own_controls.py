"""The laboratory's own controls, by their names: what their shares say against the plate."""

from __future__ import annotations

import pytest

from geneticlog.rules.lab_return.doubts_of_rows.own_controls import doubt_of_control
from geneticlog.rules.lab_return.words.headings import Taxa


@pytest.mark.parametrize(
    ("name", "q", "says"),
    [
        ("FLMB control", 0.998, ""),
        ("NLMB control", 0.004, ""),
        ("POS Florida", 0.523, "control of pure Florida fish, and q is 0.523"),
        ("Northern reference", 0.31, "control of pure northern fish, and q is 0.31"),
        ("Northern ref", 0.1, ""),
        ("NTC", 0.5, "negative control"),
        ("Negative control Florida plate", 0.5, "negative control"),
        ("Control", 0.5, "negative control"),
        ("Positive control", 0.5, ""),  # of nobody knows which fish
        ("Florida 12", 0.5, ""),
    ],
)
def test_a_control_is_known_by_its_name(name: str, q: float, says: str) -> None:
    doubt = doubt_of_control(name, q, Taxa())
    assert says in doubt
    assert bool(says) == bool(doubt)
