"""Which row of a sheet read again is which row of its first reading."""

from __future__ import annotations

import pytest

from geneticlog.rules.boat.same_rows import SameRows, same_rows


@pytest.mark.parametrize(
    ("old", "new", "known", "expected"),
    [
        ("abc", "abc", {}, SameRows({0: 0, 1: 1, 2: 2})),
        ("abc", "axc", {}, SameRows({0: 0, 1: 1, 2: 2})),  # one changed between two that agree
        ("ac", "abc", {}, SameRows({0: 0, 2: 1}, added=[1])),
        ("abc", "ac", {}, SameRows({0: 0, 1: 2}, gone=[1])),
        ("abcd", "axd", {}, SameRows({0: 0, 2: 3}, doubtful={1: [1, 2]})),  # one changed and one gone: which?
        ("abcde", "acdeb", {}, SameRows({0: 0, 1: 2, 2: 3, 3: 4, 4: 1})),  # one was moved
        ("abc", "xyc", {0: 1}, SameRows({0: 1, 2: 2}, added=[1], gone=[0])),  # known by its vial
        ("ab", "", {}, SameRows(gone=[0, 1])),
        ("", "ab", {}, SameRows(added=[0, 1])),
    ],
)
def test_rows_are_known_by_the_rows_around_them(
    old: str, new: str, known: dict[int, int], expected: SameRows
) -> None:
    assert same_rows(list(old), list(new), known) == expected
