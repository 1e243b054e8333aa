"""Parts of a file that are in the order of their shares, as a sheet or a size class that was sorted.

There neighbours are alike, and two parts go through the same values in one order: patterns that elsewhere chance does
not make.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

LEAST_VALUES = 8  # different ones in order: by chance once in 20 000 places
LEAST_ROWS, FEWER_VALUES = 10, 5  # or that, where no value has more than half of the rows


def sorted_parts(shares: Sequence[float | None]) -> Mapping[int, range]:
    """Return, by place, the part in order that a share is in: from its first place to its last."""
    parts: dict[int, range] = {}
    places = [i for i, share in enumerate(shares) if share is not None]
    for sign in (1, -1):
        start = 0
        for k in range(1, len(places) + 1):
            if k < len(places) and sign * ((shares[places[k]] or 0.0) - (shares[places[k - 1]] or 0.0)) >= 0:
                continue
            rows = places[start:k]
            often = Counter(shares[i] for i in rows)
            long = (
                len(rows) >= LEAST_ROWS
                and len(often) >= FEWER_VALUES
                and 2 * max(often.values()) <= len(rows)
            )
            if len(often) >= LEAST_VALUES or long:
                part = range(rows[0], rows[-1] + 1)
                parts |= {i: part for i in rows if len(parts.get(i, ())) < len(part)}
            start = k
    return parts


def mostly_sorted(places: Sequence[int], parts: Mapping[int, range]) -> bool:
    """Whether most of some places are in parts that are in order."""
    return 2 * sum(place in parts for place in places) > len(places)
