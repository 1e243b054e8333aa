"""Variances over sites against statsmodels: cluster-robust, HC2, and a t test of site means."""

from __future__ import annotations

import numpy as np
import pytest
import statsmodels.regression.linear_model as sm

from geneticlog.rules.statistics.clusters import clustered


def cells(classes: np.ndarray, sites: np.ndarray, q: np.ndarray) -> dict[str, dict[str, tuple[int, float]]]:
    held: dict[str, dict[str, tuple[int, float]]] = {}
    for name, site, value in zip(classes, sites, q, strict=True):
        n, total = held.setdefault(str(name), {}).get(str(site), (0, 0.0))
        held[str(name)][str(site)] = (n + 1, total + value)
    return held


def test_even_sites_and_one_class_are_the_cluster_robust_variance_of_a_mean() -> None:
    random = np.random.default_rng(1)
    sites = np.repeat(np.arange(7), 5)
    q = np.clip(0.3 + 0.2 * random.standard_normal(7)[sites] + 0.1 * random.standard_normal(35), 0, 1)
    told = clustered(cells(np.zeros(35, int), sites, q), {"0": 1.0})
    theirs = sm.OLS(q, np.ones(35)).fit(
        cov_type="cluster", cov_kwds={"groups": sites, "use_correction": True}
    )
    assert told.variance == pytest.approx(float(theirs.bse[0]) ** 2, rel=1e-9)
    assert told.df == pytest.approx(6)  # a t test of seven site means


def test_a_site_of_one_fish_each_is_the_hc2_variance_of_weighted_classes() -> None:
    random = np.random.default_rng(2)
    classes = np.repeat([0, 1, 2], [5, 9, 12])
    q = random.random(26)
    weights = {"0": 0.2, "1": 0.5, "2": 0.3}
    told = clustered(cells(classes, np.arange(26), q), weights)
    theirs = sm.OLS(q, np.eye(3)[classes]).fit(cov_type="HC2")
    w = np.array(list(weights.values()))
    assert told.variance == pytest.approx(float(w @ theirs.cov_params() @ w), rel=1e-9)
    # Satterthwaite's degrees of freedom of a stratified mean with one spread: (sum g)^2 / sum g^2/(n-1)
    g = w**2 / np.array([5, 9, 12])
    assert told.df == pytest.approx(g.sum() ** 2 / (g**2 / (np.array([5, 9, 12]) - 1)).sum(), rel=1e-9)


def test_a_class_whose_fish_are_all_of_one_site_adds_no_variance_over_sites() -> None:
    random = np.random.default_rng(3)
    sites, q = np.repeat(np.arange(6), 4), random.random(24)
    one_class = cells(np.zeros(24, int), sites, q)
    alone = clustered(one_class, {"0": 1.0})
    both = clustered({**one_class, "1": {"2": (5, 1.5)}}, {"0": 0.75, "1": 0.25})
    assert alone.variance is not None
    assert both.variance == pytest.approx(0.75**2 * alone.variance, rel=1e-9)
