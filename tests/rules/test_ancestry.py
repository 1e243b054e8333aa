"""Single fish: q and H from genotypes, classes by likelihood and by rule set, and what q alone cannot tell."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import binom, multinomial

from geneticlog.rules.ancestry import (
    DEFAULT_RULE_SET,
    MISSING,
    RuleSetFault,
    accept_class,
    ancestry_class,
    class_likelihoods,
    from_genotypes,
    genotype_counts,
    heterozygosity_fits,
    rule_set_from_toml,
    support_interval,
)
from geneticlog.rules.arguments import NumberFault
from geneticlog.rules.genetics.hybrid_classes import (
    CLASS_GENOTYPES,
    chance_of_heterozygous_loci,
    class_likelihoods_many,
    free_likelihood,
    marker_variance,
    miscalls,
)

genotypes = st.lists(st.integers(0, 2), min_size=1, max_size=80)


@pytest.mark.parametrize(
    ("counts", "q", "h", "n_loci"),
    [
        pytest.param([0, 0, 0, 0], 0, 0, 4, id="northern"),
        pytest.param([1, 1, 1, 1], 0.5, 1, 4, id="F1"),
        pytest.param([0, 1, 1, 2], 0.5, 0.5, 4, id="F2: the same q as an F1"),
        pytest.param([0, 0, 1, 1], 0.25, 0.5, 4, id="first backcross to northern"),
        pytest.param([2, MISSING, 1, MISSING], 0.75, 0.5, 2, id="loci without a call do not count"),
        pytest.param([MISSING] * 4, np.nan, np.nan, 0, id="nothing scored"),
    ],
)
def test_q_and_heterozygosity_from_genotypes(counts: list[int], q: float, h: float, n_loci: int) -> None:
    found = from_genotypes([counts])
    assert found.q[0] == pytest.approx(q, nan_ok=True)
    assert found.heterozygosity[0] == pytest.approx(h, nan_ok=True)
    assert found.n_loci[0] == n_loci


@given(genotypes)
def test_what_a_lab_prints_leads_back_to_the_genotypes(x: list[int]) -> None:
    found = from_genotypes([x])
    q, h = round(float(found.q[0]), 4), round(float(found.heterozygosity[0]), 4)
    assert genotype_counts(q, h, len(x)) == (x.count(0), x.count(1), x.count(2))
    assert heterozygosity_fits(q, h, len(x))


@pytest.mark.parametrize(
    ("q", "h", "n_loci"),
    [
        pytest.param(0.5, 0.5143, 35, id="odd: calls are missing"),
        pytest.param(0.31, 0.2, 35, id="no multiple of 1/70"),
        pytest.param(0.0286, 0.4, 35, id="more heterozygous loci than alleles"),
    ],
)
def test_no_counts_are_made_up_for_a_pair_that_cannot_be(q: float, h: float, n_loci: int) -> None:
    assert genotype_counts(q, h, n_loci) is None


def test_homozygosity_in_the_column_of_heterozygosity_breaks_the_bound() -> None:
    assert not heterozygosity_fits(0.05, 0.9, 35)
    assert heterozygosity_fits(0.5, 1.0, 35)


@given(st.tuples(*[st.integers(0, 40)] * 3).filter(any), st.floats(0.001, 0.2))
@settings(max_examples=60)
def test_class_likelihoods_equal_the_multinomial_of_scipy(counts: tuple[int, ...], rate: float) -> None:
    n = sum(counts)
    constant = math.lgamma(n + 1) - sum(math.lgamma(k + 1) for k in counts)
    found = class_likelihoods(*counts, rate)
    for name, chances in CLASS_GENOTYPES.items():
        misread = np.array(chances) @ miscalls(rate)
        assert found[name] == pytest.approx(multinomial.logpmf(counts, n, misread) - constant)
    assert list(class_likelihoods_many([counts], rate)[0]) == list(found.values())


@given(st.tuples(*[st.integers(0, 30)] * 3).filter(any), st.sampled_from([0.0, 0.005, 0.05]))
@settings(max_examples=80)
def test_free_q_and_h_are_the_best_of_a_grid_of_them(counts: tuple[int, ...], rate: float) -> None:
    best = free_likelihood(*counts, rate)
    grid = np.array([(a / 40, b / 40, 1 - (a + b) / 40) for a in range(41) for b in range(41 - a)])
    misread = np.clip(grid, 0, 1) @ miscalls(rate)
    with np.errstate(divide="ignore", invalid="ignore"):
        on_grid = np.where(np.array(counts) > 0, np.array(counts) * np.log(misread), 0.0).sum(axis=1)
    assert best >= on_grid.max() - 1e-7
    assert best <= on_grid.max() + 0.05 * sum(counts) + 1  # and close to it, not above what q and H can reach


@pytest.mark.parametrize(
    ("counts", "name"),
    [
        ((35, 0, 0), "northern"),
        ((300, 0, 0), "northern"),  # many loci: perfect calls must not count against the class
        ((34, 1, 0), "northern"),
        ((0, 0, 35), "Florida"),
        ((0, 35, 0), "F1"),
        ((0, 34, 1), "F1"),
        ((9, 17, 9), "F2"),
        ((0, 18, 17), "backcross to Florida"),
        ((20, 14, 1), "generation not resolved"),
        ((30, 5, 0), "generation not resolved"),
        ((1, 1, 0), "generation not resolved"),  # two loci tell nothing
    ],
)
def test_accepting_a_class_with_miscalls(counts: tuple[int, int, int], name: str) -> None:
    assert accept_class(*counts).name == name


@pytest.mark.parametrize(
    ("q", "h", "n_loci", "name"),
    [
        (0.0, 0.0, 35, "northern"),
        (0.05, None, 35, "northern"),
        (0.051, None, 35, "intergrade"),
        (0.95, 0.1, 35, "Florida"),
        (1.0, None, 35, "Florida"),
        (0.5, 1.0, 35, "F1"),
        (0.45, 0.9, 35, "F1"),
        (0.5, 0.89, 35, "intergrade"),
        (0.5, None, 35, "undetermined"),
        (0.3, None, 35, "intergrade"),
        (0.56, 0.88, 35, "intergrade"),
        (0.5, 1.0, 11, "undetermined"),
        (0.0, 0.0, 11, "undetermined"),
        (0.0, 0.0, None, "northern"),
    ],
)
def test_the_default_rule_set(q: float, h: float | None, n_loci: int | None, name: str) -> None:
    assert ancestry_class(q, h, n_loci) == name


@given(st.floats(0, 1))
def test_from_q_alone_no_fish_is_an_f1(q: float) -> None:
    assert ancestry_class(q, None, 35) != "F1"


def test_another_pair_of_taxa_gets_its_own_words() -> None:
    words = {"taxon": "spotted", "other_taxon": "smallmouth"}
    assert ancestry_class(0.98, 0.02, 35, **words) == "spotted"
    assert ancestry_class(0.02, 0.02, 35, **words) == "smallmouth"


TOML = """
name = "state programme"
dated = 2025-03-01
pure = 0.10
f1_low = 0.4
f1_high = 0.6
f1_least_h = 0.85
least_loci = 20
"""


def test_a_rule_set_is_read_from_toml_and_says_itself_in_a_sentence() -> None:
    held = rule_set_from_toml(TOML)
    assert (held.name, held.dated, held.pure, held.least_loci) == ("state programme", "2025-03-01", 0.1, 20)
    assert ancestry_class(0.08, None, 35, held) == "northern"
    assert ancestry_class(0.08, None, 19, held) == "undetermined"
    for part in ("state programme", "2025-03-01", "q ≤ 0.1", "85 %", "20 loci"):
        assert part in held.sentence()
    assert DEFAULT_RULE_SET.name in DEFAULT_RULE_SET.sentence()


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("pure = 0.10", "pure = 0.6", "pure is 0.6"),
        ("pure = 0.10", "", "'pure' is missing"),
        ("pure = 0.10", 'pure = "ten"', "pure is 'ten'"),
        ("pure = 0.10", "pure = true", "pure is True"),
        ("f1_low = 0.4", "f1_low = 0.05", "0.05 to 0.6"),
        ("f1_least_h = 0.85", "f1_least_h = 1.2", "f1_least_h is 1.2"),
        ("least_loci = 20", "least_loci = 0", "least_loci is 0"),
        ("2025-03-01", '"spring"', "'spring' is not a date"),
        ('"state programme"', '" "', "needs a name"),
        ("least_loci = 20", "least_locus = 20", "'least_locus' is not a key"),
        ("name =", "name", "not TOML"),
    ],
)
def test_a_rule_set_that_cannot_be_is_refused(old: str, new: str, words: str) -> None:
    with pytest.raises(RuleSetFault, match=words):
        rule_set_from_toml(TOML.replace(old, new))


@given(st.integers(1, 200), st.data())
@settings(max_examples=60)
def test_the_support_interval_ends_where_the_likelihood_has_dropped(two_l: int, data: st.DataObject) -> None:
    k = data.draw(st.integers(0, two_l))
    low, high = support_interval(k, two_l)
    best = binom.logpmf(k, two_l, k / two_l)
    assert low <= k / two_l <= high
    for edge in (low, high):
        if 0 < edge < 1:
            assert best - binom.logpmf(k, two_l, edge) == pytest.approx(2.0, abs=1e-5)


def test_marker_variance_is_that_of_simulated_f2_fish() -> None:
    random = np.random.default_rng(4)
    x = random.choice(3, p=CLASS_GENOTYPES["F2"], size=(20_000, 35))
    found = from_genotypes(x)
    var_q, var_h = marker_variance(0.5, 0.5, 35)
    assert found.q.var() == pytest.approx(var_q, rel=0.04)
    assert found.heterozygosity.var() == pytest.approx(var_h, rel=0.04)


@given(st.integers(0, 6), st.integers(1, 80), st.data())
def test_heterozygous_loci_equal_scipy(backcross: int, n_loci: int, data: st.DataObject) -> None:
    low = data.draw(st.integers(0, n_loci))
    high = data.draw(st.integers(low, n_loci))
    expected = binom.cdf(high, n_loci, 0.5**backcross) - binom.cdf(low - 1, n_loci, 0.5**backcross)
    assert chance_of_heterozygous_loci(low, high, backcross, n_loci) == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: from_genotypes([[0, 3]]), "fish 1, locus 2 is 3"),
        (lambda: from_genotypes([0, 1]), "a table of fish by loci"),
        (lambda: from_genotypes([[0, "x"]]), "not a number"),
        (lambda: class_likelihoods(0, 0, 0), "no locus is scored"),
        (lambda: class_likelihoods(3, -1, 0), "loci with 1: -1"),
        (lambda: class_likelihoods(3, 1, 0, 1.5), "miscall rate: 1.5 is not"),
        (lambda: class_likelihoods_many([[1, 2]]), "three numbers a fish"),
        (lambda: ancestry_class(1.2, None, 35), "q: 1.2 is not"),
        (lambda: ancestry_class(0.2, 45, 35), "heterozygosity: 45 is not"),
        (lambda: support_interval(5, 4), "5 is more than the 4"),
        (lambda: support_interval(1, 4, 0), "drop in log units"),
        (lambda: chance_of_heterozygous_loci(5, 3, 1, 35), "from 5 to 3"),
    ],
)
def test_wrong_input_is_named(call: object, words: str) -> None:
    with pytest.raises(NumberFault, match=words):
        call()
