"""The last wish that can be planned with and the first that cannot, for each kind of wish."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from geneticlog.errors import Refused
from geneticlog.work.plan.wishes import LEAST_A_CLASS, Wishes, check

TINY = 1e-9


@pytest.mark.parametrize(
    ("wish", "taken", "refused", "words"),
    [
        ("allocation", "equal", "by hand", "allocation 'by hand' is not one of"),
        ("budget", TINY, 0.0, "a budget of 0 cannot"),
        ("budget", 1e9, float("inf"), "a budget of inf cannot"),
        ("change", TINY, 0.0, "a change of 0 cannot"),
        ("change", 0.999, 1.0, "a change of 1 cannot"),
        ("young_adult", TINY, 0.0, "a difference of young and adult of 0 cannot"),
        ("young_adult", 0.999, 1.0, "a difference of young and adult of 1 cannot"),
        ("power", TINY, 0.0, "a power of 0 cannot"),
        ("power", 0.999, 1.0, "a power of 1 cannot"),
        ("half_width", TINY, 0.0, "a half-width of 0 cannot"),
        ("half_width", 0.499, 0.5, "a half-width of 0.5 is too wide"),
        ("half_width", 0.499, float("inf"), "a half-width of inf cannot"),
        ("lake_half_width", TINY, -1.0, "a lake half-width of -1 cannot"),
        ("lake_half_width", 0.499, 0.5, "a lake half-width of 0.5 is too wide"),
        ("carrier_frequency", TINY, 0.0, "a frequency of 0 is not possible"),
        ("carrier_frequency", 1.0, 1.01, "a frequency of 1.01 is not possible"),
        ("chance", TINY, 0.0, "a chance of 0 cannot"),
        ("chance", 0.999, 1.0, "a chance of 1 cannot"),
        ("least", 0, -1, "the least for each class cannot be -1"),
        ("wanted", 1, 0, "the fish wanted in each class cannot be 0"),
        ("fish", 1, 0, "0 fish cannot be planned"),
    ],
)
def test_wishes_at_their_bounds(wish: str, taken: Any, refused: Any, words: str) -> None:
    check(replace(Wishes(), **{wish: taken}))
    check(replace(Wishes(), **({} if wish in ("chance", "power") else {wish: None})))
    with pytest.raises(Refused, match=words):
        check(replace(Wishes(), **{wish: refused}))


@pytest.mark.parametrize(("least", "at_least"), [(None, LEAST_A_CLASS), (0, 0), (7, 7)])
def test_the_fewest_of_each_class(least: int | None, at_least: int) -> None:
    assert Wishes(least=least).at_least == at_least
