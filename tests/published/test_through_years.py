"""The random-effects line against statsmodels: the mean of a meta-analysis, and weighted least squares."""

from __future__ import annotations

import numpy as np
import pytest
import statsmodels.regression.linear_model as sm
from scipy import optimize, stats
from statsmodels.stats.meta_analysis import combine_effects
from statsmodels.tools.tools import add_constant

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


# what the line weighs by: each variance half-way, on a scale of ratios, to the mean of all
HALF_WAY = np.sqrt(VARIANCES * VARIANCES.mean())
DESIGN = add_constant(YEARS - YEARS[0])


def test_the_line_is_weighted_least_squares_at_the_between_survey_variance() -> None:
    def left(tau2: float) -> float:
        fit = sm.WLS(MEANS, DESIGN, weights=1 / (HALF_WAY + tau2)).fit()
        return float((fit.wresid**2).sum()) - 3

    tau2 = optimize.brentq(left, 0, 1, xtol=1e-14)
    fit = sm.WLS(MEANS, DESIGN, weights=1 / (HALF_WAY + tau2)).fit()
    change = yearly_change(YEARS, MEANS, VARIANCES)
    assert change.between_sd**2 == pytest.approx(tau2, rel=1e-6)
    assert change.slope == pytest.approx(float(fit.params[1]), rel=1e-6)
    # the limits of tau leave the weighted squares at the ends of chi-squared of 3 degrees of freedom
    for end, tail in ((change.between_low, 0.975), (change.between_high, 0.025)):
        at_end = sm.WLS(MEANS, DESIGN, weights=1 / (HALF_WAY + end**2)).fit()
        squares = float((at_end.wresid**2).sum())
        assert squares == pytest.approx(stats.chi2.ppf(tail, 3), rel=1e-6) or (end == 0 and tail > 0.5)
    # statsmodels scales by the weighted squares / df: the Hartung-Knapp interval
    assert (change.low, change.high) == pytest.approx(tuple(fit.conf_int()[1]), rel=1e-5)
    assert change.p == pytest.approx(float(fit.pvalues[1]), rel=1e-5)
    assert change.df == 3


def test_surveys_nearer_to_the_line_than_their_errors_keep_the_interval_of_hartung_and_knapp() -> None:
    near = 0.1 + 0.02 * (YEARS - YEARS[0]) + 0.021 * np.array([1, -1, 0.5, 1, -0.5])
    change = yearly_change(YEARS, near, VARIANCES)
    fit = sm.WLS(near, DESIGN, weights=1 / HALF_WAY).fit()
    # below 1, and the limits still farther than those of the errors alone
    assert 0.62 < fit.mse_resid**0.5 < 1
    assert change.between_sd == 0
    assert (change.low, change.high) == pytest.approx(tuple(fit.conf_int()[1]), rel=1e-6)
    assert change.p == pytest.approx(float(fit.pvalues[1]), rel=1e-6)


def test_surveys_on_one_line_keep_their_own_errors() -> None:
    on_line = 0.1 + 0.02 * (YEARS - YEARS[0])
    fit = sm.WLS(on_line, DESIGN, weights=1 / HALF_WAY).fit(cov_type="fixed scale")
    change = yearly_change(YEARS, on_line, VARIANCES)
    reach = stats.norm.ppf(0.975) * float(fit.bse[1])
    assert change.between_sd == 0
    assert (change.slope, change.high - change.slope) == pytest.approx((0.02, reach), rel=1e-6)
    assert change.p == pytest.approx(2 * stats.norm.sf(0.02 / float(fit.bse[1])), rel=1e-6)
    none = yearly_change(YEARS, np.zeros(5), VARIANCES)  # a lake without the taxon, five times
    assert (none.slope, none.high, none.p) == (0, pytest.approx(reach, rel=1e-6), 1)


@pytest.mark.parametrize("scatter", [0.0, 0.5, 1.0, 3.0])
def test_p_and_limits_agree_at_every_level(scatter: float) -> None:
    means = 0.1 + 0.01 * (YEARS - YEARS[0]) + 0.03 * scatter * np.array([1, -1, 0.5, 1, -0.5])
    p = yearly_change(YEARS, means, VARIANCES).p
    for level, leaves_out in ((1 - p - 1e-6, True), (1 - p + 1e-6, False)):
        change = yearly_change(YEARS, means, VARIANCES, level=level)
        assert (change.low > 0 or change.high < 0) == leaves_out


def test_a_stocking_is_a_step_where_degrees_of_freedom_are_left() -> None:
    years = np.arange(2016.0, 2026.0)
    means = 0.1 + 0.2 * (years >= 2021) + 0.001 * np.array([1, -1, 2, 0, -2, 1, 0, 1, -1, 0])
    change = yearly_change(years, means, np.full(10, 0.0004), {"stocked 2020": 2020.5})
    (name, rise, low, high, p), *_ = change.steps
    assert (name, rise) == ("stocked 2020", pytest.approx(0.2, abs=0.01))
    assert low < 0.2 < high
    assert p < 0.001
    assert change.low < 0 < change.high


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
