"""What differs between two surveys, in words."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from types import SimpleNamespace

import pytest

from geneticlog.faces.report.change_words import notes_of
from geneticlog.rules.report.comparability import Footing, what_differs
from geneticlog.rules.schemes import five_length, two_groups

BASE = Footing(
    date(2024, 5, 14), "boat electrofishing", frozenset({"P38"}), (36, 38), five_length("largemouth_bass"), "in"
)  # fmt: skip
TWO = two_groups("largemouth_bass", 12, "in")


@pytest.mark.parametrize(
    ("later", "covered", "notes"),
    [
        (BASE, (1.0, 1.0), ()),
        (replace(BASE, gear="angling"), (1.0, 1.0), ("the gear differs: boat electrofishing and angling",)),
        (replace(BASE, panels=frozenset()), (1.0, 1.0), ("the panel differs: P38 and not known",)),
        (replace(BASE, loci=(60, 60)), (1.0, 1.0), ("the loci scored differ: 36 to 38 and 60",)),
        (replace(BASE, on=date(2025, 10, 1)), (1.0, 1.0), ("the season differs: May and October",)),
        (replace(BASE, unit="mm"), (None, None),
         ("sizes were measured in in and in mm, whose class limits were rounded apart",)),
        (replace(BASE, scheme=TWO), (None, None), (f"the size classes differ: {BASE.scheme.name} and {TWO.name}",)),
        (replace(BASE, scheme=TWO, unit="mm"), (None, None),
         (f"the size classes differ: {BASE.scheme.name} and {TWO.name}",)),
        (BASE, (0.95, 0.42),
         ("the size classes with results in both make up only 42 % of the catch of LATER",)),
    ],
)  # fmt: skip
def test_each_difference_has_its_words(
    later: Footing, covered: tuple[float | None, float | None], notes: tuple[str, ...]
) -> None:
    change = SimpleNamespace(
        differs=what_differs(BASE, later, covered), footing=(BASE, later), only_one_typed=(), earlier="EARLIER",
        later="LATER", earlier_covered=covered[0], later_covered=covered[1],
    )  # fmt: skip
    assert notes_of(change) == notes  # type: ignore[arg-type]
    change.only_one_typed = ("stock", "trophy")
    assert "only one of the two surveys has results in: stock, trophy" in notes_of(change)  # type: ignore[arg-type]
