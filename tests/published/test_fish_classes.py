"""Classes of single fish: against a published table, and the formulas worked out outside this package."""

from __future__ import annotations

import math

import pytest
from printed import as_printed
from samples import ALLATOONA_H, ALLATOONA_HETEROZYGOUS, ALLATOONA_Q
from scipy.stats import binom

from geneticlog.rules.ancestry import (
    accept_class,
    ancestry_class,
    class_likelihoods,
    from_genotypes,
    parity_holds,
    support_interval,
)
from geneticlog.rules.genetics.hybrid_classes import (
    BACKCROSS_FLORIDA,
    BACKCROSS_NORTHERN,
    F1,
    F2,
    FLORIDA,
    NORTHERN,
    chance_of_heterozygous_loci,
    chance_of_passing_as_pure,
    free_likelihood,
    marker_variance,
)
from geneticlog.rules.shipment.duplicates import proportions_apart


@pytest.mark.parametrize(
    ("label", "backcross", "low", "high", "printed"),
    [
        # Malde K et al. (2017) BMC Genomics 18:76, doi:10.1186/s12864-016-3416-5, Table 4: 50 diagnostic markers.
        # Its "F2" is a first backcross, its "F3" a second, and so on.
        ("F1", 0, 36, 50, 1.000),
        ("F2", 1, 19, 35, 0.966),
        ("F3", 2, 10, 18, 0.808),
        ("F4", 3, 5, 9, 0.677),
        ("F5", 4, 3, 4, 0.411),
        ("F6", 5, 2, 2, 0.261),
        ("F7", 6, 1, 1, 0.361),
    ],
)  # CLS-1
def test_heterozygous_loci_by_generation(
    label: str, backcross: int, low: int, high: int, printed: float
) -> None:
    assert chance_of_heterozygous_loci(low, high, backcross, 50) == pytest.approx(printed, abs=5e-4), label


def test_a_native_fish_has_no_heterozygous_locus() -> None:
    # CLS-1, last line of the same table: native, 0 loci, 1.000
    assert math.exp(class_likelihoods(50, 0, 0, miscall_rate=0)[NORTHERN]) == 1.0


def test_the_ranges_of_the_table_are_where_each_generation_is_likeliest() -> None:
    # CLS-1: without genotyping error the table's "F2" would reach from 19 to 49 loci, and its F1 be 50 alone
    likeliest = {
        h: max(range(7), key=lambda k: chance_of_heterozygous_loci(h, h, k, 50)) for h in range(1, 51)
    }
    ranges = {k: [h for h, best in likeliest.items() if best == k] for k in range(7)}
    ends = {k: (min(loci), max(loci)) for k, loci in ranges.items()}
    assert ends == {0: (50, 50), 1: (19, 49), 2: (10, 18), 3: (5, 9), 4: (3, 4), 5: (2, 2), 6: (1, 1)}


NEVER = -math.inf
# CLS-2. The six-class likelihood of Fitzpatrick BM (2012) BMC Evolutionary Biology 12:131; values by hand with scipy.
# In the order of CLASSES below; None: no value is given.
CLASSES = (NORTHERN, FLORIDA, F1, F2, BACKCROSS_NORTHERN, BACKCROSS_FLORIDA)


@pytest.mark.parametrize(
    ("counts", "miscall_rate", "expected"),
    [
        ((18, 17, 0), 0, (NEVER, NEVER, NEVER, -36.7368, -24.2602, NEVER)),
        ((10, 18, 7), 0, (NEVER, NEVER, NEVER, -36.0437, NEVER, NEVER)),
        ((0, 35, 0), 0, (NEVER, NEVER, 0, -24.2602, -24.2602, -24.2602)),
        ((34, 1, 0), 0, (NEVER, None, None, -47.8272, -24.2602, None)),
        ((34, 1, 0), 0.005, (-4.951, None, -180.3232, -47.8272, -24.4306, None)),
        ((1, 33, 1), 0.005, (-162.7427, -162.7427, -10.9367, -25.6464, -29.5635, -29.5635)),
    ],
)
def test_class_likelihoods(
    counts: tuple[int, int, int], miscall_rate: float, expected: tuple[float | None, ...]
) -> None:
    found = class_likelihoods(*counts, miscall_rate)
    for name, value in zip(CLASSES, expected, strict=True):
        if value is not None:
            assert found[name] == pytest.approx(value, abs=1e-4), name


@pytest.mark.parametrize(
    ("counts", "q", "h", "free", "aic_difference", "name"),
    [
        ((18, 17, 0), 0.242857, 0.485714, -24.2459, -1.97, BACKCROSS_NORTHERN),
        ((10, 18, 7), 0.457143, 0.514286, -35.7633, -1.44, F2),
        ((34, 1, 0), None, None, -4.5409, None, "generation not resolved"),
    ],
)
def test_a_class_is_accepted_by_the_published_rule(
    counts: tuple[int, int, int], q: float | None, h: float | None, free: float, aic_difference: float | None,
    name: str,
) -> None:  # fmt: skip
    # CLS-2
    found = accept_class(*counts, miscall_rate=0)
    assert free_likelihood(*counts) == pytest.approx(free, abs=1e-4)
    assert found.name == name
    if aic_difference is not None:
        assert found.aic_difference == pytest.approx(aic_difference, abs=5e-3)
    fish = from_genotypes([[0] * counts[0] + [1] * counts[1] + [2] * counts[2]])
    if q is not None:
        assert (fish.q[0], fish.heterozygosity[0]) == pytest.approx((q, h), abs=5e-7)


@pytest.mark.parametrize(
    ("k", "drop", "low", "high"),
    [
        # The hybrid-index support interval (Buerkle CA (2005) Molecular Ecology Notes 5:684-687), by scipy.
        (18, 2.0, 0.163025, 0.369436),
        (18, 1.920729, 0.164688, 0.367065),
        (0, 2.0, 0.0, 0.0281671),  # closed form: 1 - exp(-2/70)
    ],
)
def test_support_interval_of_one_fish(k: int, drop: float, low: float, high: float) -> None:
    # LL-1
    assert support_interval(k, 70, drop) == pytest.approx((low, high), abs=1e-5)


def test_the_fish_of_the_support_interval() -> None:
    # LL-1: 18 Florida alleles of 70
    assert from_genotypes([[1] * 18 + [0] * 17]).q[0] == pytest.approx(0.2571429, abs=5e-8)
    # and its closed form at no Florida allele, 1 - exp(-d/70)
    assert support_interval(0, 70, 2.0).high == pytest.approx(1 - math.exp(-2 / 70), abs=1e-9)


@pytest.mark.parametrize(
    ("n_loci", "sd_q_f2", "sd_q_backcross", "sd_h", "step"),
    [
        # VAR-1. Var(q) = [4q(1-q) - H]/4L with the class means of the R package HIest; table by scipy.
        (2, "0.2500", "0.1768", "0.3536", "0.25"),
        (12, "0.1021", "0.0722", "0.1443", "0.0417"),
        (25, "0.0707", "0.0500", "0.1000", "0.0200"),
        (35, "0.0598", "0.0423", "0.0845", "0.01429"),
        (38, "0.0574", "0.0406", "0.0811", "0.01316"),
        (73, "0.0414", "0.0293", "0.0585", "0.00685"),
    ],
)
def test_spread_that_markers_alone_give(
    n_loci: int, sd_q_f2: str, sd_q_backcross: str, sd_h: str, step: str
) -> None:
    f2, backcross = marker_variance(0.5, 0.5, n_loci), marker_variance(0.25, 0.5, n_loci)
    assert f2[0] ** 0.5 == as_printed(sd_q_f2)
    assert backcross[0] ** 0.5 == as_printed(sd_q_backcross)
    assert [f2[1] ** 0.5, backcross[1] ** 0.5] == [as_printed(sd_h)] * 2
    assert 1 / proportions_apart(1.0, 0.0, n_loci, n_loci).n_alleles == as_printed(step)


# LEAK-1. Chance that a first, second, third and fourth backcross passes as northern: no Florida allele at all, q up to
# .05, q up to .10. Binomial, by scipy outside this package.
LEAKS = {
    12: ("0.00024 0.0032 0.019", "0.032 0.158 0.391", "0.201 0.547 0.818", "0.461 0.830 0.965"),
    25: ("3e-8 1e-5 0.0020", "0.00075 0.0321 0.378", "0.0355 0.380 0.917", "0.199 0.797 0.996"),
    35: ("3e-11 2e-7 0.00025", "4.2e-5 0.0136 0.322", "0.0093 0.348 0.937", "0.104 0.827 0.999"),
    38: ("4e-12 3e-8 5.8e-5", "1.8e-5 0.0072 0.231", "0.0063 0.284 0.906", "0.0861 0.788 0.998"),
    73: ("0 2e-13 5e-8", "8e-10 0.0008 0.155", "5.8e-5 0.293 0.965", "0.0090 0.915 1.000"),
}


@pytest.mark.parametrize("n_loci", LEAKS)
def test_later_backcrosses_pass_as_pure(n_loci: int) -> None:
    for backcross, row in enumerate(LEAKS[n_loci], start=1):
        for pure, printed in zip((0.0, 0.05, 0.10), row.split(), strict=True):
            found = chance_of_passing_as_pure(backcross, n_loci, pure)
            wanted = pytest.approx(0, abs=1e-20) if printed == "0" else as_printed(printed)
            assert found == wanted, (backcross, pure)


@pytest.mark.parametrize(
    ("n_loci", "at_05", "at_10"), [(12, 1, 2), (25, 2, 5), (35, 3, 7), (38, 3, 7), (73, 7, 14)]
)
def test_heterozygous_loci_that_a_cut_off_allows(n_loci: int, at_05: int, at_10: int) -> None:
    # LEAK-1, second column: a first backcross passes with up to so many heterozygous loci; its chance by scipy
    for pure, most in ((0.05, at_05), (0.10, at_10)):
        assert chance_of_passing_as_pure(1, n_loci, pure) == pytest.approx(
            binom.cdf(most, n_loci, 0.5), rel=1e-9
        )


def test_the_two_enzyme_loci_of_the_1980s() -> None:
    # Below the table of LEAK-1: an F2 looks pure, of either kind, with chance .125 and like an F1 with .25
    pure = [math.exp(class_likelihoods(*loci, miscall_rate=0)[F2]) for loci in ((2, 0, 0), (0, 0, 2))]
    assert sum(pure) == pytest.approx(0.125)
    assert math.exp(class_likelihoods(0, 2, 0, miscall_rate=0)[F2]) == pytest.approx(0.25)


def test_a_known_f1_lot_is_named_f1() -> None:
    # GEN-5. Silliman et al. 2021: five fish, all q = .5 and H = 1
    assert [ancestry_class(0.5, 1.0, 35) for _ in range(5)] == ["F1"] * 5


def test_all_nine_allatoona_fish_fail_parity() -> None:
    # GEN-1. Silliman et al. 2021 (samples.py): 2Lq - LH is odd for each, so some calls are missing.
    for q, h, heterozygous in zip(ALLATOONA_Q, ALLATOONA_H, ALLATOONA_HETEROZYGOUS, strict=True):
        assert round(35 * h) == heterozygous
        assert not parity_holds(q, h, 35)
