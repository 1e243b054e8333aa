"""STRAT-4: the catch-weighted mean, against the invented survey's numbers made with scipy 1.17.1 and statsmodels 0.15.0
outside this package (means, variances, standard errors, Welch's t)."""

from __future__ import annotations

import numpy as np
import pytest
from invented import ALL_Q, CAUGHT, GROUPS
from scipy.stats import beta, t

from geneticlog.rules.intervals import mean_proportion, t_quantile
from geneticlog.rules.statistics.bootstrap import t_interval
from geneticlog.rules.statistics.sums import Sums, sums_of
from geneticlog.rules.strata import catch_weighted, catch_weighted_from_sums
from geneticlog.rules.trend import welch


def test_means_and_variances_of_the_classes() -> None:
    sums = {name: sums_of(q, 50) for name, q in GROUPS.items()}
    assert [held.mean for held in sums.values()] == pytest.approx(
        [0.15625, 0.27, 0.39, 0.485, 0.655], abs=5e-9
    )
    assert [held.variance for held in sums.values()] == pytest.approx(
        [0.00325536, 0.0048, 0.0058, 0.00523333, 0.00605], abs=5e-9
    )


def test_the_plain_mean_of_evenly_swabbed_classes_is_far_off() -> None:
    assert np.mean(ALL_Q) == pytest.approx(0.321429, abs=5e-7)
    assert catch_weighted(GROUPS, CAUGHT, 50).mean == pytest.approx(0.2584875, abs=5e-8)


def test_double_sampling_error_and_satterthwaite_degrees_of_freedom() -> None:
    # Cochran WG (1977) Sampling Techniques, 3rd ed., ch. 12 [chapter from memory]: the formula; arithmetic with scipy.
    found = catch_weighted(GROUPS, CAUGHT, 50)
    assert found.se == pytest.approx(0.0154088, abs=5e-8)
    assert found.df == pytest.approx(18.7147, abs=5e-5)
    assert (found.n, found.share_covered, found.guard) == (28, 1.0, "")


def test_the_t_intervals_and_other_standard_errors_of_the_invented_survey() -> None:
    found, sums = catch_weighted(GROUPS, CAUGHT, 50), {name: sums_of(q, 50) for name, q in GROUPS.items()}
    assert found.mean is not None
    assert found.se is not None
    assert found.df is not None
    t_975 = float(t_quantile(np.array([found.df]), 0.95)[0])
    assert t_975 == pytest.approx(2.095186, abs=5e-7)
    reach = t_975 * found.se
    assert (found.mean - reach, found.mean + reach) == pytest.approx((0.226203, 0.290772), abs=5e-7)
    # Within classes alone, as if the catch were endless: without and with the finite-population factor of the catch,
    # and with one variance for all classes (28 fish less 5 classes).
    own = {name: held.variance or 0.0 for name, held in sums.items()}
    within = within_classes(own)
    assert within == pytest.approx(0.0130918, abs=5e-8)
    assert (found.mean - t_975 * within, found.mean + t_975 * within) == pytest.approx(
        (0.231058, 0.285917), abs=5e-7
    )
    factor = {name: 1 - held.n / CAUGHT[name] for name, held in sums.items()}
    assert within_classes({name: own[name] * factor[name] for name in own}) == pytest.approx(
        0.0122382, abs=5e-8
    )
    pooled = sum((held.n - 1) * own[name] for name, held in sums.items()) / (28 - 5)
    assert pooled == pytest.approx(0.00465815, abs=5e-9)
    assert within_classes(dict.fromkeys(own, pooled)) == pytest.approx(0.0140999, abs=5e-8)


def within_classes(variances: dict[str, float]) -> float:
    """Take the standard error of the weighted mean of an endless catch, the classes having these variances."""
    sums = {}
    for name, q in GROUPS.items():
        n, mean = len(q), float(np.mean(q))
        sums[name] = Sums(n, n * mean, n * mean**2 + (n - 1) * variances[name], None)
    se = catch_weighted_from_sums(sums, {name: caught * 10**9 for name, caught in CAUGHT.items()}).se
    assert se is not None
    return se


def test_a_single_fish_borrows_the_pooled_variance() -> None:
    # Two classes of the invented survey with a third of one fish: V = sum w^2 s^2 / n + sum w (p - p_w)^2 / n', s^2 of
    # the single fish the pooled one of .00325536 (8 fish) and .0048 (8 fish), which is .00402768. By hand.
    groups = {"stock": GROUPS["stock"], "quality": GROUPS["quality"], "trophy": [0.65]}
    found = catch_weighted(groups, {"stock": 90, "quality": 60, "trophy": 50}, 50)
    w, p = [0.45, 0.30, 0.25], [0.15625, 0.27, 0.65]
    mean = 0.3138125
    within = 0.45**2 * 0.00325536 / 8 + 0.30**2 * 0.0048 / 8 + 0.25**2 * 0.00402768
    between = sum(share * (at - mean) ** 2 for share, at in zip(w, p, strict=True)) / 200
    assert found.mean == pytest.approx(mean)
    assert found.se == pytest.approx((within + between) ** 0.5, abs=1e-7)
    assert found.borrowed == ("trophy",)
    assert "borrowed" in found.guard


def test_the_interval_on_its_effective_number() -> None:
    # KG-5. Extension of Korn & Graubard (1998); 28 x 100 alleles. No outside program has it: written out with scipy.
    found = catch_weighted(GROUPS, CAUGHT, 50, guard_fish=0.0)
    assert found.n_effective == pytest.approx(707.05, abs=5e-3)
    assert (found.low, found.high) == pytest.approx((0.226574, 0.292431), abs=1e-5)


def test_the_limits_on_guarded_variances() -> None:
    # Korn & Graubard (1998) on class variances with fish added, written out with numpy and scipy from the q of the
    # fish: 0.02 at 0 and at 1, or a part of 0.12 at the lowest and highest q (.07 and .71), whichever is more, shared
    # by the classes as their variances weigh.
    measured, low, high = sum(CAUGHT.values()), 0.07, 0.71
    w = {name: CAUGHT[name] / measured for name in GROUPS}
    g = {name: w[name] ** 2 / len(q) for name, q in GROUPS.items()}
    mean = sum(w[name] * np.mean(q) for name, q in GROUPS.items())
    within, below = 0.0, 0.0
    for name, q in GROUPS.items():

        def added(fish: float, *at: float, q: list[float] = q) -> tuple[float, float]:
            weights = np.array([1.0] * len(q) + [fish] * 2)
            values = np.array([*q, *at])
            m = np.average(values, weights=weights)
            return m, float(
                np.average((values - m) ** 2, weights=weights) * weights.sum() / (weights.sum() - 1)
            )

        m, v = added(0.02, low, high)
        share = g[name] / sum(g.values())
        stands_out = min(1.0, v / (2 * min(m - low, high - m)) ** 2)
        variance = max(added(0.02 * share, 0.0, 1.0)[1], added(0.12 * share * stands_out, low, high)[1])
        within += g[name] * variance
        below += (g[name] * variance) ** 2 / (len(q) - 1)
    between = sum(w[name] * (np.mean(q) - mean) ** 2 for name, q in GROUPS.items()) / measured
    df = within**2 / below
    n_eff = mean * (1 - mean) / (within + between) * (t.ppf(0.975, 2799) / t.ppf(0.975, df)) ** 2
    expected = (
        beta.ppf(0.025, n_eff * mean, n_eff * (1 - mean) + 1),
        beta.ppf(0.975, n_eff * mean + 1, n_eff * (1 - mean)),
    )
    found = catch_weighted(GROUPS, CAUGHT, 50)
    assert (found.low, found.high) == pytest.approx(expected, abs=1e-9)
    assert (found.se, found.n_effective) == pytest.approx((0.0154088, 707.05), rel=1e-5)


def test_larger_against_smaller_by_welch() -> None:
    # WELCH-2: 20 fish of quality length and above against 8 below
    larger = [q for name, group in GROUPS.items() if name != "stock" for q in group]
    found = welch(larger, GROUPS["stock"])
    assert found is not None
    assert found.difference == pytest.approx(0.23125, abs=1e-5)
    assert found.t == pytest.approx(6.188538, abs=1e-5)
    assert found.df == pytest.approx(25.935, abs=5e-4)
    assert (found.low, found.high) == pytest.approx((0.154431, 0.308069), abs=1e-5)


def test_t_intervals_of_the_classes_for_comparison() -> None:
    expected = {
        "stock": (0.1086, 0.2039),
        "quality": (0.2121, 0.3279),
        "preferred": (0.3101, 0.4699),
        "memorable": (0.3699, 0.6001),
        "trophy": (-0.0438, 1.3538),  # two fish: outside 0 to 1, which is why no report shows it
    }
    for name, limits in expected.items():
        assert t_interval(GROUPS[name]) == pytest.approx(limits, abs=5e-5), name
    assert t_interval(ALL_Q) == pytest.approx((0.2588, 0.3841), abs=5e-5)
    ours = mean_proportion(GROUPS["trophy"], 50)
    assert ours.guard == "too few to read; wide"
    assert ours.low is not None
    assert ours.high is not None
    assert 0 <= ours.low < ours.high <= 1
