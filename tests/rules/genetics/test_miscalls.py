"""What misreading alone can explain of a fish: carriers, pure fish and F1, and the rate of a panel."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from geneticlog.rules.ancestry import ancestry_class
from geneticlog.rules.arguments import NumberFault
from geneticlog.rules.genetics.miscalls import (
    ASSUMED_RATE,
    CARRIER_MARGIN,
    MEASURED,
    MiscallRate,
    carrier_ratio,
    false_carriers,
    fewest_alleles,
    is_carrier,
    measured_rate,
    misread_heterozygotes,
    stated_rate,
)

ONE_PERCENT = MiscallRate(0.01, 0.0, 0.01, MEASURED)


@pytest.mark.parametrize("rate", [0.0, 0.001, 0.005, 0.01, 0.02, 0.05])
def test_at_most_one_pure_fish_in_twenty_is_named_a_carrier(rate: float) -> None:
    assert max(false_carriers(loci, rate) for loci in range(1, 150)) <= 0.05
    # judged by a rate that is too high, fewer are
    assert false_carriers(38, rate, 0.05) <= false_carriers(38, rate) + 1e-12


def test_a_carrier_has_the_alleles_at_which_the_ratio_passes_the_cut_off() -> None:
    k = fewest_alleles(38, 0.01)
    assert carrier_ratio(k, 76, 0.01) >= CARRIER_MARGIN > carrier_ratio(k - 1, 76, 0.01)
    assert is_carrier(k / 76, 38, ONE_PERCENT)
    assert not is_carrier((k - 1) / 76, 38, ONE_PERCENT)
    assert not is_carrier(0.0, 38, 0.0)
    assert is_carrier(1 / 76, 38, 0.0)  # a panel that never errs: one allele is enough
    assert is_carrier(0.5, None, ASSUMED_RATE)
    assert ASSUMED_RATE.high == pytest.approx(
        0.0386 / 2, abs=1e-3
    )  # of calls, one allele each (White & Shaklee 1991)
    assert not is_carrier(0.01, None, ASSUMED_RATE)  # one allele of a fish whose loci nobody stated


def test_few_loci_name_no_carrier_where_nothing_could() -> None:
    assert fewest_alleles(1, 0.5) == 3
    assert false_carriers(1, 0.5) == 0.0


def test_duplicates_and_known_fish_give_one_rate() -> None:
    told = measured_rate(duplicates=[(76, 1), (70, 0)], known=[(76, 1)])
    assert told is not None
    assert (told.n_misread, told.n_read) == (2, 2 * 146 + 76)
    assert told.rate == pytest.approx(2 / 368)
    assert told.low < told.rate < told.high
    assert measured_rate() is None
    # the share of alleles that differ, halved
    assert measured_rate([(1000, 10)]).rate == pytest.approx(0.01 / 2)  # type: ignore[union-attr]


def test_a_stated_rate_keeps_its_limit_or_takes_four_times_the_rate() -> None:
    assert stated_rate(0.005).high == pytest.approx(ASSUMED_RATE.high)
    assert stated_rate(0.004, 0.006).high == 0.006
    assert stated_rate(0.05).high == 0.1


def test_classes_go_by_the_rate_too() -> None:
    # 4 of 76 alleles are above the cut-off of .05, and a panel that misreads up to 2 % makes no carrier of them
    assert ancestry_class(4 / 76, 4 / 38, 38) == "intergrade"
    assert ancestry_class(4 / 76, 4 / 38, 38, miscall_rate=0.02) == "northern"
    assert ancestry_class(1 - 4 / 76, 4 / 38, 38, miscall_rate=0.02) == "Florida"
    assert ancestry_class(6 / 76, 6 / 38, 38, miscall_rate=0.02) == "intergrade"
    # an F1 of 38 loci with 4 misread ones has H .895
    assert ancestry_class(0.5, 34 / 38, 38) == "intergrade"
    assert ancestry_class(0.5, 34 / 38, 38, miscall_rate=0.02) == "F1"
    assert ancestry_class(0.5, 19 / 38, 38, miscall_rate=0.02) == "intergrade"


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: carrier_ratio(5, 4, 0.01), "5 is more than the 4"),
        (lambda: carrier_ratio(1, 0, 0.01), "0"),
        (lambda: carrier_ratio(1, 4, 1.5), "1.5"),
        (lambda: fewest_alleles(0, 0.01), "0"),
        (lambda: fewest_alleles(38, 0.01, 0.0), "0.0"),
        (lambda: fewest_alleles(38, -0.1), "-0.1"),
        (lambda: is_carrier(1.2, 38, 0.01), "1.2"),
        (lambda: is_carrier(0.5, 2.5, 0.01), "2.5"),  # type: ignore[arg-type]
        (lambda: false_carriers(38, 2), "2"),
        (lambda: misread_heterozygotes(39, 38, 0.01), "39"),
        (lambda: measured_rate([(10, 11)]), "11"),
        (lambda: measured_rate([(10, 1)], level=95), "95"),
        (lambda: measured_rate(3), "3"),  # type: ignore[arg-type]
        (lambda: stated_rate(0.5), "percentage"),
        (lambda: stated_rate(0.01, 0.005), "below the rate"),
        (lambda: ancestry_class(0.5, 0.5, 38, miscall_rate=2), "2"),
    ],
)  # fmt: skip
def test_wrong_input_is_named(call: Callable[[], Any], said: str) -> None:
    with pytest.raises(NumberFault, match=said.replace("(", r"\(")):
        call()
