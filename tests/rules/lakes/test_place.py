"""Where a lake can be and how large: the same for a new lake and for a correction."""

from __future__ import annotations

from math import inf, nan

import pytest

from geneticlog.errors import Refused
from geneticlog.rules.lakes.place import check_place


@pytest.mark.parametrize(
    ("of_lake", "why"),
    [
        ({"latitude": 30.0}, "both latitude and longitude"),
        ({"latitude": None, "longitude": -97.0}, "both latitude and longitude"),
        (
            {"latitude": 90.1, "longitude": 0.0},
            "a latitude of 90.1 is not possible; give decimal degrees from -90 to 90",
        ),
        ({"latitude": nan, "longitude": 0.0}, "a latitude of nan"),
        ({"latitude": 30.0, "longitude": -180.5}, "a longitude of -180.5"),
        ({"area_ha": 0.0}, "an area of 0 ha is not possible; it must be more than zero"),
        ({"area_ha": nan}, "an area of nan ha"),
        ({"position_uncertainty_m": inf}, "a position uncertainty of inf m"),
    ],
)
def test_a_place_that_cannot_be_is_refused(of_lake: dict[str, float | None], why: str) -> None:
    with pytest.raises(Refused, match=why):
        check_place(of_lake)


def test_a_place_at_the_ends_of_the_earth_can_be() -> None:
    check_place({})
    check_place({"latitude": -90.0, "longitude": 180.0, "area_ha": 0.1, "position_uncertainty_m": None})
