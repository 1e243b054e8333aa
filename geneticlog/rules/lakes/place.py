"""What can be said of where and how large a lake is: both coordinates or none, in decimal degrees."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from geneticlog.errors import Refused

DEGREES = {"latitude": 90, "longitude": 180}
MEASURES = (("area_ha", "an area", "ha"), ("position_uncertainty_m", "a position uncertainty", "m"))


def check_place(of_lake: Mapping[str, Any]) -> None:
    """Raise Refused for a position or a measure of a lake that cannot be.

    of_lake
        latitude and longitude in decimal degrees, area_ha in hectares, position_uncertainty_m in metres; None or absent
        is not known.
    """
    if (of_lake.get("latitude") is None) != (of_lake.get("longitude") is None):
        raise Refused("a position needs both latitude and longitude")
    for name, most in DEGREES.items():
        value = of_lake.get(name)
        if value is not None and not -most <= value <= most:
            raise Refused(f"a {name} of {value} is not possible; give decimal degrees from {-most} to {most}")
    for name, words, unit in MEASURES:
        value = of_lake.get(name)
        if value is not None and not 0 < value < float("inf"):
            raise Refused(f"{words} of {value:g} {unit} is not possible; it must be more than zero")
