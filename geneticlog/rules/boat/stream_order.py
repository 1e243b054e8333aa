"""The order of work of a whole stream of lines, where it is plain: vials and measures that alternate."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from geneticlog.rules.boat.logline import LogLine


def plain_order(lines: Sequence[LogLine]) -> str | None:
    """Return "length" or "vial" where every line is a vial alone or a measure alone, and they alternate strictly
    from the first line to the last; else None.

    A stream that begins with a measure and ends with a vial can only be measured first: vial first would leave
    its last vial without a fish.
    """
    fish = [line for line in lines if line.verb == "fish"]
    kinds = ["vial" if line.vial else "length" if line.length or line.bare else "" for line in fish]
    whole = [line.vial is not None and (line.length is not None or bool(line.bare)) for line in fish]
    if len(fish) < 2 or len(fish) % 2 or any(whole) or "" in kinds or len(fish) != len(lines):
        return None
    if any(one == other for one, other in pairwise(kinds)):
        return None
    return kinds[0]
