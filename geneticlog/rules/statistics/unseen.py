"""What fish spread over size classes can miss: the largest part of a catch that a kind of fish may make up unseen."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from geneticlog.rules.arguments import numbers, same_length
from geneticlog.rules.statistics.unseen_shares import unseen_shares, unseen_shares_of_catches


def unseen_share_of_catch(n_caught: ArrayLike, n_typed: ArrayLike, level: float = 0.95) -> float:
    """Return the largest share of the catch that a kind of fish can make up and still be absent from the fish typed.

    With w_h the share of class h in the catch, n_h its typed fish and x_h the share of its fish that are of the kind,
    it is the largest ``sum w_h x_h`` with ``prod (1 - x_h)^n_h >= 1 - level``, x_h from 0 to 1: no kind, in whatever
    sizes it lives, is missed with a higher chance when it makes up more. One class gives ``unseen_share(n)``; classes
    swabbed unevenly give more, as a kind may live in a common size of which few were typed. A class that was caught
    and not typed hides its fish entirely.

    In ``y_h = -ln(1 - x_h)`` the sum is concave and the bound is a plane, so the best y are
    ``max(0, ln(w_h / n_h) - c)``; the classes with y > 0 are those of the greatest w_h / n_h, and c follows from the
    bound.

    n_caught, n_typed
        (classes,) each: fish caught and fish with a result, in one order; fish caught without a size class are a
        class of their own.
    returns
        0 to 1; 1.0 where nothing was typed or nothing was caught, as nothing is known.
    raises
        NumberFault for numbers that are not whole, below 0 or of different lengths.
    source
        The exact binomial limit at 0 of n (Clopper & Pearson 1934, one-sided), over strata; the maximum by Lagrange
        multipliers (Boyd S, Vandenberghe L (2004) Convex Optimization, section 5.5.3, "water-filling").
    """
    caught, typed = numbers(n_caught, "fish caught"), numbers(n_typed, "fish typed")
    same_length(caught, typed, "fish caught and fish typed")
    return float(unseen_shares_of_catches(caught[:, np.newaxis], typed[:, np.newaxis], level)[0])


def unseen_share_of_weights(weights: ArrayLike, n_typed: ArrayLike, level: float = 0.95) -> float:
    """Return `unseen_share_of_catch` of classes whose weights are given: (classes,) each, together 1."""
    w, typed = numbers(weights, "weights"), numbers(n_typed, "fish typed")
    same_length(w, typed, "weights and fish typed")
    return float(unseen_shares(w[:, np.newaxis], typed[:, np.newaxis], level)[0])
