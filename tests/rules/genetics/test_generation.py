"""What the loci of one fish carry: simulated fish, an outside optimiser, and wrong input named."""

from __future__ import annotations

import math
from collections import Counter
from functools import cache

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize
from scipy.stats import chi2

from geneticlog.rules.ancestry import MISSING, from_genotypes, genotype_counts
from geneticlog.rules.arguments import NumberFault
from geneticlog.rules.genetics.generation import (
    FROM_GENOTYPES,
    FROM_PRINTED,
    NO_FIT,
    NO_H,
    NO_LOCI,
    TOO_FEW,
    generation_of,
)
from geneticlog.rules.genetics.hybrid_classes import (
    CLASS_GENOTYPES,
    LEAST_MARGIN,
    MISCALL_RATE,
    NOT_RESOLVED,
    accept_class,
    class_likelihoods_many,
    class_names,
    miscalls,
)
from geneticlog.rules.genetics.rule_set import RuleSet, RuleSetFault

LATER = {
    "second backcross": (0.75, 0.25, 0.0),
    "third backcross": (0.875, 0.125, 0.0),
    "young of two backcrosses": (0.5625, 0.375, 0.0625),
}
N_FISH = 600
loci = st.tuples(*[st.integers(0, 40)] * 3).filter(any)


@cache
def named(kind: str, n_loci: int) -> Counter[str]:
    """What the rule says of 600 simulated fish of one kind, counts of genotypes drawn locus by locus."""
    random = np.random.default_rng(7)
    true = random.choice(3, p={**CLASS_GENOTYPES, **LATER}[kind], size=(N_FISH, n_loci))
    # an allele is misread with a chance of MISCALL_RATE: drawn allele by allele, not from the table of the rule
    alleles = np.stack([true >= 1, true == 2]) ^ (random.random((2, N_FISH, n_loci)) < MISCALL_RATE)
    fish = from_genotypes(alleles.sum(axis=0))
    return Counter(
        generation_of(float(q), float(h), n_loci).told
        for q, h in zip(fish.q, fish.heterozygosity, strict=True)
    )


@pytest.mark.parametrize("n_loci", [38, 60])
@pytest.mark.parametrize("kind", CLASS_GENOTYPES)
def test_simulated_fish_are_mostly_named_as_what_they_are(kind: str, n_loci: int) -> None:
    told = named(kind, n_loci)
    assert set(told) <= {kind, NOT_RESOLVED}  # nothing is named as something else
    assert told[kind] > 0.55 * N_FISH


@pytest.mark.parametrize("n_loci", [38, 60])
def test_a_true_f2_is_left_unresolved_as_often_as_the_aic_condition_says(n_loci: int) -> None:
    # lnL_free - lnL_class < 1 with two parameters free: twice that is chi-squared with 2 df in large samples
    expected = float(chi2.cdf(2, 2))
    assert named("F2", n_loci)["F2"] / N_FISH == pytest.approx(expected, abs=4 * math.sqrt(0.25 / N_FISH))


@pytest.mark.parametrize("n_loci", [38, 60])
@pytest.mark.parametrize("kind", LATER)
def test_later_crosses_are_mostly_not_resolved(kind: str, n_loci: int) -> None:
    told = named(kind, n_loci)
    assert told[NOT_RESOLVED] > 0.9 * N_FISH
    assert named(kind, 60)[NOT_RESOLVED] >= named(kind, 38)[NOT_RESOLVED]


@given(loci, st.sampled_from([0.001, 0.005, 0.05]))
@settings(max_examples=40, deadline=None)
def test_the_aic_is_that_of_free_q_and_h_by_an_outside_optimiser(
    counts: tuple[int, int, int], rate: float
) -> None:
    misread = miscalls(rate)

    def minus_log(shares: np.ndarray) -> float:
        # a point of the triangle of true genotype shares, by squares, so that it never leaves it
        true = shares**2 / max(float((shares**2).sum()), 1e-300)
        return -float(sum(n * math.log(p) for n, p in zip(counts, true @ misread, strict=True) if n))

    total = sum(counts)
    starts = [np.sqrt(np.array([n / total + 0.01 for n in counts])), *(np.eye(3) + 0.1)]
    tight = {"xatol": 1e-9, "fatol": 1e-10, "maxiter": 3000}
    free = -min(
        float(minimize(minus_log, start, method="Nelder-Mead", options=tight).fun) for start in starts
    )
    found = accept_class(*counts, miscall_rate=rate)
    best = max(found.likelihoods.values())
    assert found.aic_difference == pytest.approx((2 - 2 * best) - (4 - 2 * free), abs=1e-4)
    assert found.accepted == (found.margin >= LEAST_MARGIN and found.aic_difference < 0)
    assert found.aic_difference >= -2 - 1e-9  # free q and H are never worse than a class


@given(loci)
@settings(max_examples=60)
def test_whose_alleles_are_counted_only_changes_the_words(counts: tuple[int, int, int]) -> None:
    found = accept_class(*counts, taxon="spotted", other_taxon="smallmouth")
    mirrored = accept_class(*counts[::-1], taxon="smallmouth", other_taxon="spotted")
    assert found.name == mirrored.name
    for name, value in found.likelihoods.items():
        assert value == pytest.approx(mirrored.likelihoods[name], rel=1e-12)
    assert found.name in (*class_names("spotted", "smallmouth"), NOT_RESOLVED)


@example([0] * 29 + [1] + [2] * 11)  # q .280, H .024: a last 0 that a number does not keep
@example([0] * 28 + [1] + [2] * 8)
@given(st.lists(st.sampled_from([0, 1, 2, MISSING]), min_size=13, max_size=90).filter(lambda x: max(x) >= 0))
@settings(max_examples=80)
def test_genotypes_and_what_a_lab_prints_of_them_say_the_same(x: list[int]) -> None:
    counts = (x.count(0), x.count(1), x.count(2))
    fish = from_genotypes([x])
    q, h, n = float(fish.q[0]), float(fish.heterozygosity[0]), int(fish.n_loci[0])
    by_genotypes = generation_of(q, h, n, genotypes=counts)
    for digits in (4, 3) if n < 80 else (4,):
        printed = generation_of(round(q, digits), round(h, digits), n)
        assert printed.loci_by_alleles == counts
        assert (printed.told, printed.low, printed.high) == (
            by_genotypes.told,
            by_genotypes.low,
            by_genotypes.high,
        )
    assert (by_genotypes.counted_from, printed.counted_from) == (FROM_GENOTYPES, FROM_PRINTED)
    assert (by_genotypes.counted_q, by_genotypes.counted_heterozygosity) == pytest.approx((q, h))
    assert printed.counted_q is None
    if n < 12:
        assert by_genotypes.told == TOO_FEW


@pytest.mark.parametrize(
    ("q", "h", "n_loci", "why", "has_interval"),
    [
        pytest.param(0.25, None, 38, NO_H, True, id="from q alone: an interval, no class"),
        pytest.param(0.25, 0.5, None, NO_LOCI, False, id="without the loci: nothing"),
        pytest.param(0.25, 0.5, 37, NO_FIT, True, id="half an allele at 37 loci"),
        pytest.param(0.3, 0.5, 38, NO_FIT, True, id="a q of tenths that 38 loci cannot give"),
        pytest.param(0.5, 0.9, 11, TOO_FEW, True, id="fewer loci than the rule set asks for"),
    ],
)
def test_why_there_is_no_generation(
    q: float, h: float | None, n_loci: int | None, why: str, has_interval: bool
) -> None:
    found = generation_of(q, h, n_loci) if why != TOO_FEW else generation_of(10 / 22, 10 / 11, n_loci)
    assert (found.accepted, found.why, found.low is not None) == (None, why, has_interval)
    assert (found.likelihoods is None) == (why != TOO_FEW)


def test_digits_that_cannot_tell_one_allele_from_the_next_give_no_counts() -> None:
    assert genotype_counts(0.26, 0.45, 20) is None  # 10.4 alleles, and whole percent
    assert genotype_counts(0.26, 0.5, 60) is None  # 31.2 alleles: two decimals leave 0.6 of an allele open
    assert genotype_counts(0.243, 0.486, 35) == (18, 17, 0)
    assert genotype_counts(0.2429, 0.4857, 35) == (18, 17, 0)
    assert genotype_counts(0.243, 0.486, 36) is None


GOOD = {"name": "x", "dated": "2026-01-01", "pure": 0.05, "f1_low": 0.45, "f1_high": 0.55, "f1_least_h": 0.9}


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: generation_of(1.2, 0.1, 38), r"q: 1\.2"),
        (lambda: generation_of(0.2, -0.1, 38), r"heterozygosity: -0\.1"),
        (lambda: generation_of(0.2, 0.1, 0), "loci scored: 0"),
        (lambda: generation_of(0.2, 0.1, 38.5), r"loci scored: 38\.5"),
        (lambda: generation_of(math.nan, 0.1, 38), "q: nan"),
        (lambda: generation_of(0.2, 0.1, 38, genotypes=(1, 2)), "not 2 numbers"),
        (lambda: generation_of(0.2, 0.1, 38, genotypes=(1, -2, 3)), "loci with 1 Florida alleles: -2"),
        (lambda: generation_of(0.2, 0.1, 38, genotypes=(0, 0, 0)), "no locus is scored"),
        (lambda: generation_of(0.2, 0.1, 38, miscall_rate=2), "miscall rate: 2"),
        (lambda: generation_of(0.2, 0.1, 38, drop=-1), "drop in log units: -1"),
        (lambda: generation_of(0.2, 0.1, 38, taxon="Spotted", other_taxon="spotted"), "both are 'Spotted'"),
        (lambda: class_likelihoods_many([[1, 2, "x"]]), "not a number"),
        (lambda: class_likelihoods_many([[1, 2, 3], [1, -2, 3]]), "with 1 Florida alleles: fish 2 has -2"),
        (lambda: class_likelihoods_many([[1, math.nan, 3]]), "fish 1 has nan"),
        (lambda: RuleSet(**GOOD, least_loci=12.5), "least_loci is 12.5; a whole number is wanted"),
        (lambda: RuleSet(**{**GOOD, "pure": "5 %"}, least_loci=12), "pure is '5 %'; a number is wanted"),
        (lambda: RuleSet(**{**GOOD, "pure": math.nan}, least_loci=12), "pure is nan"),
        (lambda: RuleSet(**{**GOOD, "dated": "20260101"}, least_loci=12), "'20260101' is not a date"),
    ],
)
def test_wrong_input_is_named(call: object, words: str) -> None:
    with pytest.raises((NumberFault, RuleSetFault), match=words):
        call()


def test_a_rule_set_may_reach_the_ends_of_what_its_cut_offs_can_be() -> None:
    widest = RuleSet(**{**GOOD, "pure": 0.0, "f1_low": 0.5, "f1_high": 0.5, "f1_least_h": 1.0}, least_loci=1)
    assert (widest.pure, widest.f1_low, widest.f1_high, widest.least_loci) == (0.0, 0.5, 0.5, 1)
