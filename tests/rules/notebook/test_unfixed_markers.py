"""Markers that are not fixed, against a general optimiser, the diagnostic case, and fish of known crosses."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize

from geneticlog.rules.ancestry import from_genotypes
from geneticlog.rules.arguments import NumberFault
from geneticlog.rules.genetics.hybrid_classes import accept_class, class_likelihoods, free_likelihood
from geneticlog.rules.notebook.unfixed_markers import (
    accept_unfixed_class,
    genotype_chances,
    unfixed_ancestry,
    unfixed_class_likelihoods,
)

loci = st.lists(
    st.tuples(
        st.sampled_from([0, 1, 2, -1]), st.floats(0.5, 1.0).map(lambda r: round(r, 2)), st.floats(0, 0.4)
    ),
    min_size=3,
    max_size=40,
).filter(lambda held: any(x >= 0 for x, _, _ in held))
rates = st.sampled_from([0.002, 0.005, 0.05])


def log_likelihood(q: float, h: float, x: list[int], r: list[float], s: list[float], e: float) -> float:
    """Written out from the formula, locus by locus: what the fish is at a locus, then each allele misread alone."""
    p2, p1, p0 = q - h / 2, h, 1 - q - h / 2
    total = 0.0
    for seen, a, b in zip(x, r, s, strict=True):
        if seen < 0:
            continue
        true = {
            2: p2 * a**2 + p1 * a * b + p0 * b**2,
            1: 2 * p2 * a * (1 - a) + p1 * (a * (1 - b) + (1 - a) * b) + 2 * p0 * b * (1 - b),
            0: p2 * (1 - a) ** 2 + p1 * (1 - a) * (1 - b) + p0 * (1 - b) ** 2,
        }
        chance = 0.0
        for n_true, share in true.items():
            for first in (0, 1):
                for second in (0, 1):
                    if first + second == seen:
                        one, two = n_true >= 1, n_true == 2
                        chance += share * (e if first != one else 1 - e) * (e if second != two else 1 - e)
        total += float(np.log(max(chance, 1e-300)))
    return total


@given(loci, rates)
@settings(max_examples=40, deadline=None)
def test_no_other_q_and_h_are_likelier(held: list[tuple[int, float, float]], rate: float) -> None:
    x, r, s = (list(part) for part in zip(*held, strict=True))
    found = unfixed_ancestry(x, r, s, rate)
    top = found.log_likelihood
    assert log_likelihood(found.q, found.heterozygosity, x, r, s, rate) == pytest.approx(top, abs=1e-7)
    # Shares as the squares of a point on the unit sphere: a general optimiser needs no bounds then.
    best = max(
        -float(
            minimize(
                lambda v: (
                    -log_likelihood((v[2] ** 2 + v[1] ** 2 / 2) / (v @ v), v[1] ** 2 / (v @ v), x, r, s, rate)
                ),
                start,
            ).fun
        )
        for start in (np.ones(3), np.array([1.0, 0.3, 0.1]))
    )
    assert best <= top + 1e-7
    assert best >= top - 1e-3


@given(
    st.lists(st.sampled_from([-1, 0, 1, 2]), min_size=1, max_size=60).filter(lambda x: max(x) >= 0),
    st.sampled_from([0.0, 0.005, 0.1]),
)
@settings(max_examples=50, deadline=None)
def test_fixed_markers_are_the_diagnostic_case(x: list[int], rate: float) -> None:
    counts = x.count(0), x.count(1), x.count(2)
    fixed = [1] * len(x), [0] * len(x)
    found = unfixed_ancestry(x, *fixed, rate)
    assert found.log_likelihood == pytest.approx(free_likelihood(*counts, rate), abs=1e-9)
    if rate == 0:
        fish = from_genotypes([x])
        assert (found.q, found.heterozygosity) == pytest.approx(
            (fish.q[0], fish.heterozygosity[0]), abs=1e-12
        )
        assert found.n_loci == fish.n_loci[0]
    assert unfixed_class_likelihoods(x, *fixed, rate) == pytest.approx(class_likelihoods(*counts, rate))
    ours, theirs = accept_unfixed_class(x, *fixed, rate), accept_class(*counts, rate)
    assert (ours.name, ours.margin) == (theirs.name, pytest.approx(theirs.margin))


def test_fish_of_known_crosses_get_their_q_and_h_back() -> None:
    random = np.random.default_rng(11)
    r, s = random.uniform(0.7, 1.0, 2_000), random.uniform(0.0, 0.2, 2_000)
    for shares, q, h in (
        ((1.0, 0.0, 0.0), 0.0, 0.0),
        ((0.0, 1.0, 0.0), 0.5, 1.0),
        ((0.25, 0.5, 0.25), 0.5, 0.5),
        ((0.5, 0.5, 0.0), 0.25, 0.5),
    ):
        chances = genotype_chances(shares, r, s, 0.005)
        x = (random.random((2_000, 1)) > chances.cumsum(axis=1)[:, :2]).sum(axis=1)
        found = unfixed_ancestry(x, r, s, 0.005)
        assert (found.q, found.heterozygosity) == pytest.approx((q, h), abs=0.05)
        # Alleles counted as if the markers were fixed lean to the middle: what the frequencies are there for.
        naive = from_genotypes([x])
        assert abs(found.q - q) < abs(naive.q[0] - q) or q == 0.5


def test_what_no_cross_can_show_is_named_by_its_locus() -> None:
    with pytest.raises(NumberFault, match="locus 3: its genotype cannot be"):
        unfixed_ancestry([-1, 1, 0], [1, 1, 1], [0, 0, 1])
    assert unfixed_ancestry([-1, 1, 0], [1, 1, 1], [0, 0, 1], 0.005).n_loci == 2
    with pytest.raises(NumberFault, match="no locus scored tells the parents apart"):
        unfixed_ancestry([0, 1], [0.5, 0.2], [0.5, 0.2])
