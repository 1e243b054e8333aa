"""What the fish of many surveys can miss, worked out at once: `unseen` as arrays."""

from __future__ import annotations

import numpy as np

from geneticlog.rules.arguments import Floats, count, level_of
from geneticlog.rules.statistics.guarded_variance import sum_over_classes


def unseen_shares_of_catches(n_caught: Floats, n_typed: Floats, level: float = 0.95) -> Floats:
    """Return `unseen_share_of_catch` of many catches at once, (catches,), the same to the last digit.

    n_caught, n_typed
        (classes, catches) each; 0 where a catch has fewer classes than others.
    """
    for values, what in ((n_caught, "fish caught"), (n_typed, "fish typed")):
        odd = values[(values < 0) | (values != np.floor(values))]
        if odd.size:
            count(float(odd[0]), what)
    total = n_caught.sum(axis=0)
    shares = unseen_shares(n_caught / np.where(total, total, 1.0), n_typed, level)
    return np.where(total, shares, 1.0)


def unseen_shares(weights: Floats, n_typed: Floats, level: float = 0.95) -> Floats:
    """Return `unseen_share_of_weights` of many groups at once, (groups,), the same to the last digit.

    weights, n_typed
        (classes, groups) each; 0 where a group has fewer classes than others.
    """
    bound = -np.log(1 - level_of(level))
    if not len(weights):
        return np.ones(weights.shape[1])
    in_view = (n_typed > 0) & (weights > 0)
    hidden = sum_over_classes(np.where(n_typed == 0, weights, 0.0))
    w, n = np.where(in_view, weights, 0.0), np.where(in_view, n_typed, 1.0)
    order = np.argsort(-w / n, axis=0, kind="stable")  # classes out of view come last
    w, n, in_view = (np.take_along_axis(rows, order, axis=0) for rows in (w, n, in_view))
    ratio = np.log(np.where(in_view, w / n, 1.0))
    level_with = (np.cumsum(n * ratio, axis=0) - bound) / np.cumsum(n, axis=0)  # c when these alone hide any
    places = np.arange(len(w))[:, np.newaxis]
    last = np.where(in_view & (ratio > level_with), places, 0).max(axis=0)
    x = -np.expm1(-np.maximum(ratio - np.take_along_axis(level_with, last[np.newaxis], axis=0), 0.0))
    shares = np.minimum(1.0, hidden + sum_over_classes(w * x))
    return np.where(in_view.any(axis=0), shares, 1.0)
