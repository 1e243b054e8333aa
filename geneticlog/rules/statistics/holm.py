"""Several p values shown together, adjusted so that one of them is not taken for more than chance."""

from __future__ import annotations

from collections.abc import Sequence

from geneticlog.rules.arguments import listed, proportion


def holm(p: Sequence[float]) -> list[float]:
    """Return p values adjusted by Holm for several comparisons shown together, in the order given.

    raises
        NumberFault for a p outside 0 to 1.
    source
        Holm S (1979) Scandinavian Journal of Statistics 6:65-70.
    """
    p = [proportion(value, "p") for value in listed(p, "p values")]
    adjusted, highest = [0.0] * len(p), 0.0
    for place, at in enumerate(sorted(range(len(p)), key=lambda at: p[at])):
        highest = max(highest, min(1.0, (len(p) - place) * p[at]))
        adjusted[at] = highest
    return adjusted


def holm_of(p: Sequence[float | None]) -> list[float | None]:
    """Return p values after Holm, in the order given; one that is None stays None and is not counted."""
    adjusted = iter(holm([value for value in p if value is not None]))
    return [None if value is None else next(adjusted) for value in p]
