"""The random-effects line against statsmodels: the mean of a meta-analysis, and weighted least squares."""

from __future__ import annotations

import numpy as np
import pytest
import statsmodels.api as sm
from scipy import optimize, stats
from statsmodels.stats.meta_analysis import combine_effects

from geneticlog.rules.arguments import NumberFault
from geneticlog.rules.statistics import through_years
from geneticlog.rules.statistics.through_years import yearly_change

YEARS = np.array([2014.3, 2016.4, 2019.3, 2022.4, 2026.3])  # invented surveys
MEANS = np.array([0.11, 0.22, 0.16, 0.31, 0.28])
VARIANCES = np.array([0.0004, 0.0009, 0.0003, 0.0012, 0.0006])


def test_between_survey_variance_of_a_mean_is_paule_mandel_of_statsmodels() -> None:
    theirs = combine_effects(MEANS, VARIANCES, method_re="iterated", use_t=True)
    ones = np.ones((5, 1))
    tau2 = through_years._between(ones, MEANS, VARIANCES, 4)
    assert tau2 == pytest.approx(theirs.tau2, rel=1e-4)
    mean, covariance, squares = through_years._weighted(ones, MEANS, VARIANCES + tau2)
    assert mean[0] == pytest.approx(theirs.mean_effect_re, rel=1e-5)
    # Hartung-Knapp variance of that mean
    assert covariance[0, 0] * squares / 4 == pytest.approx(theirs.var_hksj_re, rel=1e-4)


def test_the_line_is_weighted_least_squares_at_the_between_survey_variance() -> None:
    design = sm.add_constant(YEARS - YEARS[0])

    def left(tau2: float) -> float:
        fit = sm.WLS(MEANS, design, weights=1 / (VARIANCES + tau2)).fit()
        return float((fit.wresid**2).sum()) - 3

    tau2 = optimize.brentq(left, 0, 1, xtol=1e-14)
    fit = sm.WLS(MEANS, design, weights=1 / (VARIANCES + tau2)).fit()
    told = yearly_change(YEARS, MEANS, VARIANCES)
    assert told.between_sd**2 == pytest.approx(tau2, rel=1e-6)
    assert told.slope == pytest.approx(float(fit.params[1]), rel=1e-6)
    # statsmodels scales by the weighted squares / df, which is 1 at this variance: the Hartung-Knapp interval
    assert (told.low, told.high) == pytest.approx(tuple(fit.conf_int()[1]), rel=1e-5)
    assert told.p == pytest.approx(float(fit.pvalues[1]), rel=1e-5)
    assert told.df == 3


def test_surveys_that_agree_keep_their_own_errors() -> None:
    on_line = 0.1 + 0.02 * (YEARS - YEARS[0])
    told = yearly_change(YEARS, on_line, VARIANCES)
    fit = sm.WLS(on_line, sm.add_constant(YEARS - YEARS[0]), weights=1 / VARIANCES).fit(
        cov_type="fixed scale"
    )
    reach = stats.t.ppf(0.975, 3) * float(fit.bse[1])
    assert told.between_sd == 0
    assert (told.slope, told.high - told.slope) == pytest.approx((0.02, reach), rel=1e-6)


def test_a_stocking_is_a_step_where_degrees_of_freedom_are_left() -> None:
    years = np.arange(2016.0, 2026.0)
    means = 0.1 + 0.2 * (years >= 2021) + 0.001 * np.array([1, -1, 2, 0, -2, 1, 0, 1, -1, 0])
    told = yearly_change(years, means, np.full(10, 0.0004), {"stocked 2020": 2020.5})
    (name, rise, low, high, p), *_ = told.steps
    assert (name, rise) == ("stocked 2020", pytest.approx(0.2, abs=0.01))
    assert low < 0.2 < high
    assert p < 0.001
    assert told.low < 0 < told.high


@pytest.mark.parametrize(
    ("years", "steps", "said"),
    [
        ([2020.0, 2022.0], None, "too few degrees"),
        ([2020.0, 2020.0, 2020.0], None, "all of one date"),
        ([2020.0, 2021.0, 2022.0, 2023.0], {"stocked": 2021.5}, "too few degrees"),
        ([2020.0, 2021.0, 2022.0, 2023.0, 2024.0], {"stocked": 2019.0}, "either side"),
    ],
)
def test_what_cannot_be_told_is_refused(
    years: list[float], steps: dict[str, float] | None, said: str
) -> None:
    with pytest.raises(NumberFault, match=said):
        yearly_change(years, [0.2] * len(years), [0.001] * len(years), steps)
    with pytest.raises(NumberFault, match="not above 0"):
        yearly_change([1, 2, 3], [0.1, 0.2, 0.3], [0.1, 0.0, 0.1])
