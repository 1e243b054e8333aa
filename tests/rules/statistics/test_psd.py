"""Proportional size distribution from counts, and limits for several shares at once."""

from __future__ import annotations

import pytest
import scipy.stats

from geneticlog.rules.arguments import NumberFault
from geneticlog.rules.schemes import FIVE_LENGTH
from geneticlog.rules.statistics.psd import increments, simultaneous_limits, size_indices


def test_an_index_is_printed_as_a_whole_number_and_says_its_fish() -> None:
    caught = {"substock": 9, "stock": 3, "quality": 4, "trophy": 1}
    psd, preferred, memorable, trophy = size_indices(caught, FIVE_LENGTH)
    assert (psd.name, psd.n_at_least, psd.n_stock, psd.printed) == ("PSD", 5, 8, "63")  # 62.5 rounds up
    assert (preferred.printed, memorable.printed, trophy.printed) == ("13", "13", "13")


def test_increments_add_up_to_a_hundred_and_leave_substock_out() -> None:
    found = increments({"substock": 50, "stock": 10, "quality": 6, "trophy": 4}, FIVE_LENGTH)
    assert found == {"stock": 50, "quality": 30, "preferred": 0, "memorable": 0, "trophy": 20}


def test_without_stock_fish_there_is_no_index() -> None:
    found = size_indices({"substock": 50}, FIVE_LENGTH)
    assert {(index.value, index.limits, index.printed) for index in found} == {(None, None, "none")}
    assert increments({"substock": 50}, FIVE_LENGTH) is None


def test_simultaneous_limits_by_the_formula() -> None:
    reach = (scipy.stats.chi2.ppf(0.95, 2) * 0.5 * 0.5 / 40) ** 0.5
    found = simultaneous_limits([20, 12, 8, 0])
    assert found[0] == pytest.approx((0.5 - reach, 0.5 + reach))
    assert found[3] == (0.0, 0.0)
    assert simultaneous_limits([0, 0]) == [(0.0, 1.0)] * 2
    assert simultaneous_limits([7, 0]) == [(1.0, 1.0), (0.0, 0.0)]


def test_wrong_input_is_named() -> None:
    with pytest.raises(NumberFault, match="'giant' is not a size class"):
        size_indices({"giant": 3}, FIVE_LENGTH)
    with pytest.raises(NumberFault, match="no 'quality'"):
        size_indices({}, ("stock", "trophy"))
    with pytest.raises(NumberFault, match="fish caught in stock: -3"):
        size_indices({"stock": -3}, FIVE_LENGTH)
