"""Proportional size distribution: how large the fish of a lake are, among those of stock length and above."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import chdtri

from geneticlog.rules.arguments import NumberFault, by_name, count, level_of, listed
from geneticlog.rules.intervals import wilson
from geneticlog.rules.statistics.estimates import Limits

SUFFIX = {"quality": "PSD", "preferred": "PSD-P", "memorable": "PSD-M", "trophy": "PSD-T"}


@dataclass(frozen=True, slots=True)
class SizeIndex:
    """One index: 100 x fish of a length and above / fish of stock length and above.

    name
        PSD, PSD-P, PSD-M or PSD-T.
    value, limits
        0 to 100, unrounded, with Wilson limits; None where no fish is of stock length.
    n_at_least, n_stock
        The fish behind it; substock fish are in neither.
    """

    name: str
    value: float | None
    limits: Limits | None
    n_at_least: int
    n_stock: int

    @property
    def printed(self) -> str:
        """The whole number that is printed, "none" without stock fish."""
        return "none" if self.value is None else f"{int(self.value + 0.5)}"


def size_indices(n_caught: Mapping[str, int], classes: Sequence[str], level: float = 0.95) -> list[SizeIndex]:
    """Return PSD and its higher indices from the catch of each class.

    ``PSD-X = 100 n(TL >= X) / n(TL >= stock)``, each with a Wilson interval of its own.

    n_caught
        Size class -> fish measured; a class that is absent had none.
    classes
        The five-length classes in order: substock, stock, quality, preferred, memorable, trophy.
    raises
        NumberFault for a class that is not in the scheme, a negative number, or a scheme without these lengths.
    source
        Neumann RM, Allen MS (2007), in Guy & Brown, Analysis and Interpretation of Freshwater Fisheries Data, AFS,
        as cited in the R package FSA; terms after Guy CS et al. (2007) Fisheries 32:348.
    """
    level_of(level)
    order = _in_order(n_caught, classes)
    missing = [name for name in ("stock", *SUFFIX) if name not in order]
    if missing:
        raise NumberFault(f"PSD needs the published five lengths; this scheme has no {missing[0]!r}")
    counts = [count(n_caught.get(name, 0), f"fish caught in {name}") for name in order]
    n_stock = sum(counts[order.index("stock") :])
    indices = []
    for name, index in SUFFIX.items():
        n = sum(counts[order.index(name) :])
        limits = Limits(*(100 * end for end in wilson(n, n_stock, level))) if n_stock else None
        indices.append(SizeIndex(index, 100 * n / n_stock if n_stock else None, limits, n, n_stock))
    return indices


def _in_order(n_caught: Mapping[str, int], classes: Sequence[str]) -> list[str]:
    order = listed(classes, "size classes")
    for name in by_name(n_caught, "fish caught"):
        if name not in order:
            raise NumberFault(f"{name!r} is not a size class of this scheme: {', '.join(map(str, order))}")
    return order


def increments(n_caught: Mapping[str, int], classes: Sequence[str]) -> dict[str, float] | None:
    """Return 100 x each class / fish of stock length and above, stock class first; they add up to 100. None without.

    raises
        NumberFault for a class that is not in the scheme, a negative number, or a scheme without a stock class.
    """
    order = _in_order(n_caught, classes)
    if "stock" not in order:
        raise NumberFault("PSD needs the published five lengths; this scheme has no 'stock'")
    above = order[order.index("stock") :]
    held = {name: count(n_caught.get(name, 0), f"fish caught in {name}") for name in above}
    total = sum(held.values())
    return {name: 100 * n / total for name, n in held.items()} if total else None


def simultaneous_limits(counts: Sequence[int], level: float = 0.95) -> list[Limits]:
    """Return limits for all shares of a whole at once, ``p +/- sqrt(chi2[k-1] p(1-p)/n)``, kept within 0 and 1.

    counts
        Fish of each kind; k is the number of kinds that have any. Kinds of fewer than 20 fish: be wary.
    returns
        Limits in order; of one kind alone, or of no fish, there is nothing to part and each is (p, p) or (0, 1).
    raises
        NumberFault for a number that is negative or not whole, or a level outside 0 to 1.
    source
        Brenden TO, Wagner T, Murphy BR (2008) North American Journal of Fisheries Management 28:1233-1242, as in
        the R package FSA.
    """
    given = [count(value, "fish of a kind") for value in listed(counts, "fish of each kind")]
    n, k = sum(given), sum(value > 0 for value in given)
    if not n:
        return [Limits(0.0, 1.0)] * len(given)
    quantile = float(chdtri(k - 1, 1 - level_of(level))) if k > 1 else 0.0
    reach = [float(np.sqrt(quantile * (x / n) * (1 - x / n) / n)) for x in given]
    return [Limits(max(0.0, x / n - r), min(1.0, x / n + r)) for x, r in zip(given, reach, strict=True)]
