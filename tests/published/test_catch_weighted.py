"""The catch-weighted mean, against the invented survey's numbers worked out outside this package."""

from __future__ import annotations

import numpy as np
import pytest
from invented import ALL_Q, CAUGHT, GROUPS

from geneticlog.rules.bootstrap import t_interval
from geneticlog.rules.strata import catch_weighted
from geneticlog.rules.sums import sums_of
from geneticlog.rules.trend import welch


def test_means_and_variances_of_the_classes() -> None:
    sums = {name: sums_of(q, 50) for name, q in GROUPS.items()}
    assert [held.mean for held in sums.values()] == pytest.approx([0.15625, 0.27, 0.39, 0.485, 0.655])
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


def test_the_interval_on_its_effective_number() -> None:
    # Extension of Korn & Graubard (1998); 28 x 100 alleles. No outside program has it: written out with scipy.
    found = catch_weighted(GROUPS, CAUGHT, 50)
    assert found.n_effective == pytest.approx(707.05, abs=5e-3)
    assert (found.low, found.high) == pytest.approx((0.226574, 0.292431), abs=1e-5)


def test_larger_against_smaller_by_welch() -> None:
    larger = [q for name, group in GROUPS.items() if name != "stock" for q in group]
    found = welch(larger, GROUPS["stock"])
    assert found is not None
    assert found.difference == pytest.approx(0.23125, abs=1e-5)
    assert (found.t, found.df) == pytest.approx((6.188538, 25.935), abs=5e-4)
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
