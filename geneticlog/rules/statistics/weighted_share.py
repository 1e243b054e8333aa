"""The share of a lake's fish that are of a kind when size classes were swabbed unevenly."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from scipy.special import ndtri

from geneticlog.rules.arguments import NumberFault, by_name, count, level_of
from geneticlog.rules.intervals import clopper_pearson, wilson
from geneticlog.rules.statistics.estimates import guard_words
from geneticlog.rules.statistics.unseen import unseen_share_of_catch
from geneticlog.rules.strata import PART_OF_CATCH, CatchWeighted


def catch_weighted_share(
    n_kind: Mapping[str, int], n_typed: Mapping[str, int], n_caught: Mapping[str, int], level: float = 0.95
) -> CatchWeighted:
    """Return the share of the catch that is of a kind, with each size class weighing what it makes up of the catch.

    With w_h the share of class h in the n' fish caught of classes with a fish typed, p_h = x_h / n_h and (l_h, u_h)
    its Clopper-Pearson limits: ``p = sum w_h p_h``, ``low = p - sqrt(sum w_h^2 (p_h - l_h)^2 + B)`` and
    ``high = p + sqrt(sum w_h^2 (u_h - p_h)^2 + B)``, cut to 0 and 1, where ``B = z^2 sum w_h (p_h - p)^2 / n'`` stands
    for the sampling of the catch itself. One class alone has its Wilson limits; where no fish typed is of the kind, or
    every one is, the one limit is exact, as in `unseen_share_of_catch` at (1 + level) / 2.

    n_kind, n_typed, n_caught
        Size class -> fish of the kind, fish with a result, fish measured.
    returns
        CatchWeighted; where a class was caught and not typed the others are taken to represent it, and the guard
        says so.
    raises
        NumberFault for fish of the kind without the fish typed, or more of them; fish typed of a class without its
        catch, or more of them; numbers that are not whole.
    source
        Limits of a weighted sum: Zou GY, Huang W, Zhang X (2009) Computational Statistics and Data Analysis
        53:1080-1085 [memory], by the method of Zou and Donner (2008); B as in Cochran WG (1977) Sampling Techniques,
        3rd ed., ch. 12. Clopper-Pearson within classes, as with Wilson's limits a kind found in one fish of twenty is
        covered in 88 to 92 of 100 surveys (DEVELOPERS.md).
    """
    z = float(ndtri((1 + level_of(level)) / 2))
    caught = {
        name: count(n, f"fish caught in {name}") for name, n in by_name(n_caught, "fish caught").items()
    }
    typed = {name: count(n, f"fish typed in {name}") for name, n in by_name(n_typed, "fish typed").items()}
    kind = {
        name: count(n, f"fish of the kind in {name}")
        for name, n in by_name(n_kind, "fish of the kind").items()
    }
    for counts, most, what, of in (
        (typed, caught, "fish typed", "caught"),
        (kind, typed, "fish of the kind", "typed"),
    ):
        for name, n in counts.items():
            if n > most.get(name, 0):
                raise NumberFault(f"size class {name!r}: {n} {what} but {most.get(name, 0)} {of}")
    covered = [name for name in caught if typed.get(name)]
    uncovered = tuple(name for name, n in caught.items() if n and name not in covered)
    total = sum(caught.values())
    measured = sum(caught[name] for name in covered)
    n_fish = sum(typed[name] for name in covered)
    share = measured / total if total else None
    if not covered:
        return CatchWeighted(
            None, None, None, 0, guard=guard_words(0, None, None), level=level, share_covered=share,
            uncovered=uncovered,
        )  # fmt: skip
    of_class = [(kind.get(name, 0), typed[name]) for name in covered]
    w = np.array([caught[name] for name in covered]) / measured
    p_h = np.array([x / n for x, n in of_class])
    p = float(np.clip(w @ p_h, 0.0, 1.0))
    if len(covered) == 1:
        low, high = wilson(*of_class[0], level)
    else:
        limits = np.array([clopper_pearson(x, n, level) for x, n in of_class])
        between = z**2 * float((w * (p_h - p) ** 2).sum()) / measured
        low = max(0.0, p - (float((w**2 * (p_h - limits[:, 0]) ** 2).sum()) + between) ** 0.5)
        high = min(1.0, p + (float((w**2 * (limits[:, 1] - p_h) ** 2).sum()) + between) ** 0.5)
        if all(x == 0 for x, _ in of_class) or all(x == n for x, n in of_class):
            p = float(round(p))  # the shares of the catch add up to 1 but for rounding
            reach = unseen_share_of_catch(
                [caught[name] for name in covered], [typed[name] for name in covered], (1 + level) / 2
            )
            low, high = (0.0, reach) if p == 0.0 else (1.0 - reach, 1.0)
    part = PART_OF_CATCH if uncovered else ""
    return CatchWeighted(
        p, low, high, n_fish, guard=guard_words(n_fish, low, high, part), level=level, share_covered=share,
        uncovered=uncovered,
    )  # fmt: skip
