"""The size classes of many groups as one array, for statistics that are worked out for thousands of lakes at once."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from geneticlog.rules.arguments import Floats
from geneticlog.rules.statistics.sums import Sums


def of_class(sums: Sums) -> tuple[float, float, float, float, float]:
    """Return fish, sums of q and of q squared, lowest and highest q (0 and 1 where not known) of a size class."""
    least = 0.0 if sums.least_q is None else sums.least_q
    return sums.n, sums.sum_q, sums.sum_q2, least, 1.0 if sums.most_q is None else sums.most_q


def by_class(groups: Sequence[Sequence[Sequence[float]]], n_numbers: int) -> Floats:
    """Return the numbers of the size classes of many groups as (numbers, classes, groups), 0 where there is no class.

    groups
        Of each group a row for each class, n_numbers in each row.
    """
    table = np.zeros((n_numbers, max(map(len, groups), default=0), len(groups)))
    cells = [row for rows in groups for row in rows]
    if cells:
        places = [place for rows in groups for place in range(len(rows))]
        table[:, places, np.repeat(np.arange(len(groups)), [len(rows) for rows in groups])] = np.array(
            cells
        ).T
    return table
