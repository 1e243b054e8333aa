"""Wrong input to any public function of the modules of statistics listed below raises a fault of our own that says
which value is wrong."""

from __future__ import annotations

import inspect
from collections.abc import Callable
from math import inf, nan
from types import ModuleType
from typing import Any

import numpy as np
import pytest

from geneticlog.errors import GeneticlogError
from geneticlog.rules import ancestry, intervals, sampling, schemes, species, strata, trend
from geneticlog.rules.genetics import (
    generation,
    hardy_weinberg,
    heterozygote_deficit,
    hybrid_classes,
    lineage,
    loci,
)
from geneticlog.rules.lab_return.doubts_of_files import same_genotypes
from geneticlog.rules.notebook import known_catch, marker_spread, ratio, unfixed_markers
from geneticlog.rules.statistics import (
    bootstrap,
    comparison,
    contrast,
    estimates,
    growth,
    holm,
    planned_intervals,
    psd,
    sums,
    unseen,
    weighted_share,
)

# Kinds of argument: wrong values, each with what the fault has to say of it.
Wrong = list[tuple[Any, str]]
COUNT: Wrong = [
    (-1, "-1"),
    (1.5, "1.5"),
    (nan, "nan"),
    (inf, "inf"),
    ("7", "'7'"),
    (None, "None"),
    ([], "[]"),
]
FROM_ONE: Wrong = [(0, "0"), *COUNT]
SHARE: Wrong = [(1.2, "1.2"), (-0.1, "-0.1"), (nan, "nan"), (inf, "inf"), ("0.5", "'0.5'"), (None, "None")]
LEVEL: Wrong = [(0, "0"), (1, "1"), (95, "95"), *SHARE]
NUMBER: Wrong = [(nan, "nan"), (inf, "inf"), ("3", "'3'"), (None, "None"), ([], "[]")]
FROM_ZERO: Wrong = [(-1, "-1"), *NUMBER]
ABOVE_ZERO: Wrong = [(0, "0"), *FROM_ZERO]
NUMBERS: Wrong = [
    ([], "none"), ([nan], "nan"), ([0.1, inf], "number 2 is inf"), (["0.1"], "0.1"), (["x"], "'x'"),
    ([[0.1, 0.2]], "(1, 2)"), ({}, "{}"), (None, "nan"),
]  # fmt: skip
Q: Wrong = [([0.1, 1.2], "1.2"), ([45], "percentage"), ([-0.1, 0.2], "-0.1"), *NUMBERS]
TABLE: Wrong = [([0, 1], "(2,)"), ([[0, 3]], "3"), ([[0, nan]], "nan"), ([["x", 1]], "x"), (None, "()")]
BY_CLASS: Wrong = [(None, "None"), (3, "3"), ("stock", "'stock'"), ([0.1], "[0.1]")]
CAUGHT: Wrong = [
    *BY_CLASS, ({"stock": -3}, "-3"), ({"stock": 2.5}, "2.5"), ({"stock": nan}, "nan"), ({"stock": "9"}, "'9'"),
]  # fmt: skip
CATCH: Wrong = [*BY_CLASS, ({"stock": -3}, "-3"), ({"stock": nan}, "nan"), ({"stock": "9"}, "'9'")]
SPECIES: Wrong = [("perch", "'perch'"), ("", "''"), (None, "None"), (3, "3"), ([], "[]")]
UNIT: Wrong = [("furlong", "'furlong'"), (None, "None"), ([], "[]")]
LENGTH: Wrong = [(0, "0"), (-3, "-3"), (nan, "nan"), (inf, "inf"), ("300", "'300'"), (None, "None")]
LIST: Wrong = [(3, "3"), (None, "None"), ("stock", "'stock'")]
ALLELES: Wrong = [([3], "3 alleles"), (["70"], "70"), ([70, 70], "2 groups")]

SUMS = sums.sums_of([0.1, 0.2], 35)
FIVE = schemes.five_length("largemouth_bass")
HELD = comparison.SurveySums("A", FIVE, {"stock": 5}, {"stock": SUMS})
SIDE = contrast.Side({"stock": SUMS}, {"stock": 1.0})
SIDES: Wrong = [
    (None, "None"),
    (contrast.Side({"stock": SUMS}, {"stock": -1.0}), "-1"),
    (contrast.Side({"stock": SUMS}, {"giant": 1.0}), "'giant'"),
    (contrast.Side({"stock": SUMS}, {"stock": 0.5}), "0.5"),
    (contrast.Side({"stock": SUMS}, {"stock": 1.0}, -4), "-4"),
]
SURVEYS: Wrong = [(None, "None"), ("A", "'A'"), (3, "3")]
ONE, TWO = np.array([0.2]), np.array([9.0])

# function, arguments that are right, and which kind each is; an argument that is left out takes anything.
CALLS: list[tuple[Callable[..., Any], dict[str, Any], dict[str, Wrong]]] = [
    *(
        (f, {"x": 1, "n": 5}, {"x": [(6, "6"), *COUNT], "n": [(0, "0"), *COUNT], "level": LEVEL})
        for f in (intervals.wilson, intervals.clopper_pearson, intervals.jeffreys, intervals.share)
    ),
    (
        intervals.mean_proportion,
        {"q": [0.1, 0.2], "n_loci": 35},
        {
            "q": Q,
            "n_loci": [([35, 35, 35], "3 numbers for 2"), ([35, 0], "0"), (34.5, "34.5"), ("35", "35")],
            "level": LEVEL,
            "guard_fish": FROM_ZERO,
        },
    ),
    (
        intervals.mean_from_sums,
        {"n": 2, "sum_q": 0.3, "sum_q2": 0.05, "n_alleles": 140},
        {
            "n": [(-1, "-1"), (2.5, "2.5"), (nan, "nan"), ("2", "2")],
            "sum_q": [(2.1, "2.1"), (-0.1, "-0.1"), (nan, "nan")],
            "sum_q2": [(0.5, "0.5"), (0.01, "0.01"), (nan, "nan")],
            "n_alleles": [(3, "3 alleles"), ("70", "70")],
            "level": LEVEL,
            "guard_fish": FROM_ZERO,
        },
    ),
    (
        intervals.mean_from_sums_many,
        {"n": [2], "sum_q": [0.3], "sum_q2": [0.05], "n_alleles": [140]},
        {
            "n": NUMBERS,
            "sum_q": NUMBERS,
            "sum_q2": NUMBERS,
            "n_alleles": ALLELES,
            "level": LEVEL,
            "guard_fish": FROM_ZERO,
        },
    ),
    (
        intervals.effective_number,
        {"spread": ONE, "variance": ONE / 20, "df": TWO, "n_alleles": TWO, "level": 0.95},
        {
            "spread": [([-0.1], "-0.1"), (["x"], "'x'")],
            "variance": [([0.0], "0"), ([nan], "nan")],
            "df": [([0.0], "0"), ([nan], "nan")],
            "n_alleles": [([1.0], "0"), (["x"], "'x'")],
            "level": LEVEL,
        },
    ),
    (
        intervals.guarded_number,
        {
            "n": np.array([8.5]),
            "sum_q": ONE,
            "sum_q2": ONE / 2,
            "n_alleles": np.array([500.0]),
            "level": 0.95,
        },
        {"n_alleles": [([1.0], "0"), (["x"], "'x'")], "level": LEVEL},
    ),
    (
        intervals.t_quantile,
        {"df": TWO, "level": 0.95},
        {"df": [([0.0], "0"), ([nan], "nan"), (["x"], "'x'")], "level": LEVEL},
    ),
    (
        intervals.beta_limits,
        {"p": ONE, "n_eff": TWO, "level": 0.95},
        {
            "p": [([1.2], "1.2"), ([nan], "nan"), ([0.1, 0.2], "2 against 1")],
            "n_eff": [([0.0], "0"), ([-3], "-3")],
            "level": LEVEL,
        },
    ),
    (
        intervals.difference,
        {"a": intervals.share(1, 5), "b": intervals.share(2, 5)},
        {"a": [(None, "None"), (0.2, "0.2")], "b": [(intervals.share(1, 5, 0.9), "0.9")]},
    ),
    (estimates.unseen_share, {"n": 5}, {"n": COUNT, "level": LEVEL}),
    (
        estimates.fish_to_meet,
        {"share": 0.1},
        {"share": [(0.0, "0"), (1.5, "1.5"), (nan, "nan")], "level": LEVEL},
    ),
    (
        unseen.unseen_share_of_weights,
        {"weights": [0.4, 0.6], "n_typed": [5, 9]},
        {
            "weights": [([0.4, nan], "nan"), ([1.0], "1 against 2")],
            "n_typed": [([5, nan], "nan")],
            "level": LEVEL,
        },
    ),
    (
        unseen.unseen_share_of_catch,
        {"n_caught": [5, 9], "n_typed": [2, 0]},
        {
            "n_caught": [
                ([5, -1], "-1"),
                ([5, 1.5], "1.5"),
                ([5, nan], "nan"),
                ([5], "1 against 2"),
                ([], "none"),
            ],
            "n_typed": [
                ([2, -1], "-1"),
                ([2, 1.5], "1.5"),
                ([2, inf], "inf"),
                ([2], "2 against 1"),
                ([], "none"),
            ],
            "level": LEVEL,
        },
    ),
    (
        weighted_share.catch_weighted_share,
        {"n_kind": {"stock": 1}, "n_typed": {"stock": 4}, "n_caught": {"stock": 5}},
        {
            "n_kind": [*CAUGHT, ({"stock": 5}, "5 fish of the kind but 4 typed"), ({"giant": 1}, "'giant'")],
            "n_typed": [*CAUGHT, ({"stock": 6}, "6 fish typed but 5 caught"), ({"giant": 1}, "'giant'")],
            "n_caught": [*CAUGHT, ({"stock": 3}, "4 fish typed but 3 caught")],
            "level": LEVEL,
        },
    ),
    (
        estimates.reaches_the_unseen,
        {"low": 0.0, "high": 0.2, "seen": 0.0, "unseen": 0.1},
        {"seen": SHARE, "low": SHARE[:-1], "high": SHARE[:-1], "unseen": SHARE[:-1]},
    ),
    (estimates.guard_words, {"n": 5, "low": 0.1, "high": 0.2}, {}),
    (
        strata.catch_weighted,
        {"groups": {"stock": [0.1, 0.2]}, "n_caught": {"stock": 5}, "n_loci": 35},
        {
            "groups": [
                *BY_CLASS,
                ({"stock": [0.1, 1.2]}, "1.2"),
                ({"stock": [nan]}, "nan"),
                ({"giant": [0.2]}, "'giant'"),
            ],
            "n_caught": [*CAUGHT, ({"stock": 1}, "1 were caught"), ({}, "'stock'")],
            "n_loci": [
                ({}, "'stock'"),
                ({"stock": 35, "giant": 35}, "'giant'"),
                ([35, 35, 35], "3 numbers"),
                (0, "0"),
            ],
            "level": LEVEL,
            "guard_fish": FROM_ZERO,
        },
    ),
    (
        strata.catch_weighted_from_sums,
        {"sums": {"stock": SUMS}, "n_caught": {"stock": 5}},
        {
            "sums": [*BY_CLASS, ({"stock": 3}, "3"), ({"giant": SUMS}, "'giant'")],
            "n_caught": CAUGHT,
            "level": LEVEL,
            "guard_fish": FROM_ZERO,
        },
    ),
    (
        strata.means_at_weights,
        {"surveys": [{"stock": SUMS}], "weights": {"stock": 1.0}},
        {
            "surveys": [
                ([one], words) for one, words in [*BY_CLASS, ({"stock": 3}, "'stock'"), ({}, "'stock'")]
            ],
            "weights": [
                ({"stock": 0.5}, "0.5"),
                ({"giant": 1.0}, "'giant'"),
                ({"stock": "all"}, "'all'"),
                (3, "3"),
            ],
            "level": LEVEL,
        },
    ),
    *(
        (
            f,
            {"sums": {"stock": SUMS}, "n_in_class": {"stock": 5}},
            {
                "sums": [*BY_CLASS, ({"stock": 3}, "3"), ({"giant": SUMS}, "'giant'")],
                "n_in_class": [*CAUGHT, ({"stock": 1}, "1 were counted"), ({}, "'stock'")],
                "level": LEVEL,
                "guard_fish": FROM_ZERO,
            },
        )
        for f in (known_catch.known_totals, known_catch.post_stratified)
    ),
    (
        known_catch.mean_in_closed_water,
        {"sums": SUMS, "n_in_water": 5},
        {
            "sums": [(None, "None"), (0.2, "0.2")],
            "n_in_water": [(1, "1 were counted"), *COUNT],
            "level": LEVEL,
            "guard_fish": FROM_ZERO,
        },
    ),
    (
        strata.catch_weighted_many,
        {"surveys": [({"stock": SUMS}, {"stock": 5})]},
        {
            "surveys": [
                ([({"giant": SUMS}, {"stock": 5})], "'giant'"),
                ([({"stock": SUMS}, {"stock": 1})], "1 were"),
            ],
            "level": LEVEL,
            "guard_fish": FROM_ZERO,
        },
    ),
    (
        strata.mean_over_classes,
        {
            "sums": {"stock": SUMS},
            "n_caught": {"stock": 5},
            "coefficients": lambda n, size: 1 / n,
            "weights": strata.CATCH,
            "level": 0.95,
            "guard_fish": 0.02,
        },
        {
            "sums": [*BY_CLASS, ({"stock": 3}, "3"), ({"giant": SUMS}, "'giant'")],
            "n_caught": CAUGHT,
            "level": LEVEL,
            "guard_fish": FROM_ZERO,
        },
    ),
    (
        sums.together,
        {"groups": [SUMS]},
        {"groups": [([3], "3"), ([None], "None")]},
    ),
    (
        sums.Sums,
        {"n": 5, "sum_q": 1.0, "sum_q2": 0.4, "n_alleles": 350.0},
        {
            "n": [(0, "0 proportions"), *COUNT],
            "sum_q": [(9.0, "9"), (-1.0, "-1"), (3.0, "0.4"), *NUMBER],
            "sum_q2": [(9.0, "9"), (0.1, "0.1"), *NUMBER],
            "n_alleles": [(3, "3 alleles"), *(wrong for wrong in NUMBER if wrong[0] is not None)],
        },
    ),
    (
        sums.sums_of,
        {"q": [0.1, 0.2], "n_loci": 35},
        {
            "q": [wrong for wrong in Q if wrong[0] not in ([], {})],
            "n_loci": [([35], "1"), (0, "0"), ("35", "35")][1:],
        },
    ),
    (
        trend.jonckheere_terpstra,
        {"groups": [[1, 2], [3, 4]]},
        {
            "groups": [
                (3, "3"),
                (None, "None"),
                ([[], []], "no class"),
                ([[1, nan], [2]], "nan"),
                ({"stock": ["x"]}, "'x'"),
            ],
            "n_resamples": FROM_ONE,
            "seed": COUNT,
        },
    ),
    (
        trend.permutation_difference,
        {"a": [1, 2], "b": [2, 3]},
        {"a": NUMBERS, "b": NUMBERS, "n_resamples": FROM_ONE, "seed": COUNT},
    ),
    (trend.welch, {"a": [1, 2], "b": [2, 3]}, {"a": NUMBERS, "b": NUMBERS, "level": LEVEL}),
    (trend.ranks, {"values": [1, 2]}, {"values": NUMBERS}),
    (
        trend.spearman,
        {"x": [1, 2, 3], "y": [2, 1, 3]},
        {"x": NUMBERS, "y": [([1, 2], "3 against 2"), *NUMBERS], "level": LEVEL, "exact_up_to": COUNT},
    ),
    (
        trend.rank_limits,
        {"correlation": 0.5, "n": 8},
        {"correlation": [(1.2, "1.2"), *NUMBER], "n": COUNT, "level": LEVEL},
    ),
    (
        trend.kendall_tau_b,
        {"x": [1, 2, 3], "y": [2, 1, 3]},
        {"x": NUMBERS, "y": [([1, 2], "3 against 2"), *NUMBERS]},
    ),
    (holm.holm, {"p": [0.1, 0.2]}, {"p": [*LIST, ([0.1, 1.2], "1.2"), ([nan], "nan"), (["x"], "'x'")]}),
    (
        sampling.half_width_of,
        {"spread": 0.1, "n_fish": 5},
        {"spread": FROM_ZERO, "n_fish": [(1, "1"), *FROM_ONE], "level": LEVEL},
    ),
    (
        sampling.fish_for_half_width,
        {"s": 0.1, "half_width": 0.05},
        {
            "s": [(5, "5"), (0.8, "0.8"), *ABOVE_ZERO],
            "half_width": [(1e-9, "1e-09"), *ABOVE_ZERO],
            "level": LEVEL,
        },
    ),
    (
        sampling.fish_for_share,
        {"share": 0.5, "half_width": 0.05},
        {
            "share": SHARE,
            "half_width": ABOVE_ZERO,
            "quantile": ABOVE_ZERO,
            "population": [wrong for wrong in FROM_ONE if wrong[0] is not None],
        },
    ),
    (
        sampling.chance_of_a_carrier,
        {"frequency": 0.1, "n_fish": 5},
        {
            "frequency": SHARE,
            "n_fish": COUNT,
            "population": [(4, "4"), *(one for one in FROM_ONE if one[0] is not None)],
        },
    ),
    (
        sampling.chance_of_an_allele,
        {"frequency": 0.1, "n_fish": 5, "n_loci": 35},
        {"frequency": SHARE, "n_fish": COUNT, "n_loci": FROM_ONE},
    ),
    (
        sampling.fish_for_a_carrier,
        {"frequency": 0.1},
        {"frequency": [(0, "0"), (1e-17, "1e-17"), (5e-324, "4.94066e-324"), *SHARE], "chance": LEVEL},
    ),
    *(
        (
            f,
            {
                "n": 10,
                "catch": {"stock": 5, "quality": 3},
                "spread": {"stock": 0.1, "quality": 0.2},
                "rule": "least_variance",
            },
            {
                "n": n,
                "catch": [*CATCH, ({}, "no size class")],
                "spread": [
                    *BY_CLASS[1:],
                    ({"stock": -1, "quality": 0.1}, "-1"),
                    ({"stock": 0.1}, "'quality'"),
                    ({"stock": 0.1, "quality": 0.2, "giant": 0.3}, "'giant'"),
                ],
                "rule": [("best", "'best'"), (3, "3"), (["equal"], "['equal']")],
            },
        )
        for f, n in ((sampling.allocation_shares, FROM_ZERO), (sampling.allocate, COUNT))
    ),
    (
        planned_intervals.likely_sums,
        {"n_fish": 5, "mean": 0.3, "spread": 0.1},
        {"n_fish": COUNT, "mean": SHARE, "spread": FROM_ZERO},
    ),
    (
        planned_intervals.expected_interval,
        {"mean": 0.3, "spread": 0.1, "n_fish": 5},
        {"mean": SHARE, "spread": FROM_ZERO, "n_fish": COUNT, "level": LEVEL},
    ),
    (
        planned_intervals.fish_for_interval,
        {"mean": 0.3, "spread": 0.1, "half_width": 0.1},
        {"mean": SHARE, "spread": FROM_ZERO, "half_width": ABOVE_ZERO, "level": LEVEL},
    ),
    (planned_intervals.half_width, {"interval": None}, {}),
    (ancestry.from_genotypes, {"counts": [[0, 1, 2]]}, {"counts": TABLE}),
    *(
        (
            f,
            {"q": 0.5, "heterozygosity": 1.0, "n_loci": 35},
            {"q": SHARE, "heterozygosity": SHARE, "n_loci": FROM_ONE},
        )
        for f in (
            ancestry.genotype_counts,
            ancestry.heterozygosity_fits,
            ancestry.parity_holds,
            hybrid_classes.marker_variance,
        )
    ),
    (
        ancestry.loci_that_fit,
        {"q": [0.1, 0.2], "heterozygosity": [0.1, 0.2]},
        {
            "q": Q,
            "heterozygosity": [([0.1], "2 against 1"), *(wrong for wrong in Q if wrong[0] is not None)],
            "decimals": [wrong for wrong in FROM_ONE if wrong[0] is not None],
            "most": FROM_ONE,
        },
    ),
    (
        ancestry.support_interval,
        {"n_florida_alleles": 3, "n_alleles": 70},
        {"n_florida_alleles": [(71, "71"), *COUNT], "n_alleles": FROM_ONE, "drop": ABOVE_ZERO},
    ),
    (
        ancestry.ancestry_class,
        {"q": 0.5, "heterozygosity": 1.0, "n_loci": 35},
        {
            "q": SHARE,
            "heterozygosity": SHARE[:-1],
            "n_loci": [wrong for wrong in COUNT if wrong[0] is not None],
            "rule_set": [("strict", "'strict'"), (None, "None")],
        },
    ),
    (
        hybrid_classes.class_names,
        {"taxon": "Florida", "other_taxon": "northern"},
        {"other_taxon": [("florida", "Florida")]},
    ),
    (hybrid_classes.miscalls, {"rate": 0.01}, {"rate": SHARE}),
    *(
        (f, {"n0": 1, "n1": 2, "n2": 3}, {"n0": COUNT, "n1": COUNT, "n2": COUNT, "miscall_rate": SHARE})
        for f in (
            hybrid_classes.class_likelihoods,
            hybrid_classes.free_likelihood,
            hybrid_classes.accept_class,
        )
    ),
    (
        hybrid_classes.accept_likelihoods,
        {"likelihoods": {"F1": -3.0, "F2": -9.0}, "free": -2.5},
        {
            "likelihoods": [
                (None, "None"),
                ({"F1": -3.0}, "two classes"),
                ([-3.0, -9.0], "[-3.0, -9.0]"),
                ({"F1": nan, "F2": -9.0}, "F1: nan"),
                ({"F1": -3.0, "F2": "x"}, "'x'"),
            ],
            "free": NUMBER,
        },
    ),
    (
        unfixed_markers.genomic_shares,
        {"q": 0.5, "heterozygosity": 0.4},
        {"q": SHARE, "heterozygosity": SHARE},
    ),
    (unfixed_markers.genomic_shares, {"q": 0.1, "heterozygosity": 0.2}, {"heterozygosity": [(0.3, "0.3")]}),
    (
        unfixed_markers.genotype_chances,
        {"shares": [0.5, 0.3, 0.2], "florida": [0.9, 1.0], "northern": [0.2, 0.0]},
        {
            "shares": [([0.5, 0.5], "[0.5, 0.5]"), ([0.5, 0.3, 0.3], "0.3"), *Q],
            "florida": [([0.9], "1 against 2"), *Q],
            "northern": [([0.2], "2 against 1"), *Q],
            "miscall_rate": SHARE,
        },
    ),
    *(
        (
            f,
            {"genotypes": [0, 1, 2, -1], "florida": [0.9] * 4, "northern": [0.1] * 4},
            {
                "genotypes": [
                    ([0, 1, 3, 1], "locus 3 is 3"),
                    ([0, 0.5, 1, 1], "0.5"),
                    ([0, 1], "2 against 4"),
                    ([-1] * 4, "no locus"),
                    ([[0, 1, 2, 1]], "(1, 4)"),
                    ([0, nan, 1, 1], "nan"),
                    (["0", 1, 1, 1], "'0'"),
                    (None, "nan"),
                ],
                "florida": [([0.9], "1 against 4"), *Q],
                "northern": [([0.2], "4 against 1"), *Q],
                "miscall_rate": SHARE,
            },
        )
        for f in (
            unfixed_markers.unfixed_class_likelihoods,
            unfixed_markers.unfixed_ancestry,
            unfixed_markers.accept_unfixed_class,
        )
    ),
    *(
        (
            f,
            {"genotypes": [1], "florida": [0.9], "northern": [0.1]},
            {"other_taxon": [("florida", "Florida")]},
        )
        for f in (unfixed_markers.unfixed_class_likelihoods, unfixed_markers.accept_unfixed_class)
    ),
    (
        marker_spread.expected_of_class,
        {"name": "F2", "n_loci": 35},
        {
            "name": [("F3", "'F3'"), (None, "None"), ([], "[]")],
            "n_loci": FROM_ONE,
            "other_taxon": [("florida", "Florida")],
        },
    ),
    (
        marker_spread.expected_of_backcross,
        {"backcross": 2, "n_loci": 35},
        {"backcross": COUNT, "n_loci": FROM_ONE},
    ),
    (
        marker_spread.marker_share,
        {"q": [0.1, 0.2], "heterozygosity": [0.1, 0.2], "n_loci": 35},
        {
            "q": Q,
            "heterozygosity": [([0.1], "2 against 1"), *Q],
            "n_loci": [([35, 35, 35], "3 numbers for 2"), ([35, 0], "0"), (34.5, "34.5"), ("35", "35")],
        },
    ),
    (
        generation.generation_of,
        {"q": 0.25, "heterozygosity": 0.5, "n_loci": 38, "genotypes": (19, 19, 0)},
        {
            "q": SHARE,
            "heterozygosity": [one for one in SHARE if one[0] is not None],
            "genotypes": [
                ((1, 2), "2 numbers"),
                ((0, 0, 0), "no locus"),
                ((1, -2, 3), "-2"),
                ((1, 1.5, 3), "1.5"),
            ],
            "miscall_rate": SHARE,
            "drop": ABOVE_ZERO,
            "other_taxon": [("florida", "Florida")],
        },
    ),
    (
        generation.generation_of,
        {"q": 0.25, "heterozygosity": None, "n_loci": 38},
        {"n_loci": [one for one in FROM_ONE if one[0] is not None]},
    ),
    (
        hybrid_classes.class_likelihoods_many,
        {"counts": [[1, 2, 3]]},
        {
            "counts": [
                ([[1, 2]], "(1, 2)"),
                ([[1, -2, 3]], "-2"),
                ([[1, nan, 3]], "nan"),
                ([["x", 1, 2]], "x"),
            ],
            "miscall_rate": SHARE,
        },
    ),
    (
        hybrid_classes.chance_of_heterozygous_loci,
        {"low": 1, "high": 3, "backcross": 1, "n_loci": 35},
        {"low": [(4, "4"), *COUNT], "high": COUNT, "backcross": COUNT, "n_loci": FROM_ONE},
    ),
    (
        hybrid_classes.chance_of_passing_as_pure,
        {"backcross": 1, "n_loci": 35, "pure": 0.05},
        {"backcross": COUNT, "n_loci": FROM_ONE, "pure": SHARE},
    ),
    (species.species_key, {"text": "lmb"}, {"text": SPECIES}),
    (species.row, {"species": "bluegill"}, {"species": SPECIES}),
    (
        species.size_class,
        {"species": "bluegill", "length": 100, "unit": "mm"},
        {"species": SPECIES, "length": LENGTH, "unit": UNIT},
    ),
    (
        species.standard_weight,
        {"species": "bluegill", "length": 100},
        {"species": SPECIES, "length": LENGTH, "unit": UNIT},
    ),
    (
        species.relative_weight,
        {"species": "bluegill", "length_mm": 100, "weight_g": 10},
        {"species": SPECIES, "length_mm": LENGTH, "weight_g": LENGTH},
    ),
    (FIVE.judge, {"length": 300, "unit": "mm"}, {"length": LENGTH, "unit": UNIT}),
    (FIVE.size_classes, {"unit": "mm"}, {"unit": UNIT}),
    (
        schemes.Scheme.from_json,
        {"text": FIVE.to_json()},
        {"text": [("", "no size-class scheme"), ("{}", "name"), (None, "scheme")]},
    ),
    (schemes.five_length, {"species": "bluegill"}, {"species": [("alabama_bass", "Alabama bass"), *SPECIES]}),
    (
        schemes.inch_groups,
        {"species": "bluegill", "first": 3, "last": 9},
        {
            "species": SPECIES,
            "first": LENGTH,
            "last": [(2, "2"), *LENGTH],
            "step": [(4, "4"), *LENGTH],
            "adult_from": [(12, "12"), *LENGTH[:-1]],
        },
    ),
    (
        schemes.two_groups,
        {"species": "bluegill", "adult_from": 6, "unit": "in"},
        {"species": SPECIES, "adult_from": LENGTH, "unit": [("cm", "'cm'"), *UNIT]},
    ),
    (
        psd.size_indices,
        {"n_caught": {"stock": 3}, "classes": schemes.FIVE_LENGTH},
        {
            "n_caught": [*CAUGHT, ({"giant": 3}, "'giant'")],
            "classes": [*LIST, (("stock", "trophy"), "'quality'")],
            "level": LEVEL,
        },
    ),
    (
        psd.increments,
        {"n_caught": {"stock": 3}, "classes": schemes.FIVE_LENGTH},
        {
            "n_caught": [*CAUGHT, ({"giant": 3}, "'giant'")],
            "classes": [*LIST, (("young", "adult"), "'stock'")],
        },
    ),
    (
        psd.simultaneous_limits,
        {"counts": [3, 4]},
        {"counts": [*LIST, ([3, -4], "-4"), ([nan], "nan"), (["3"], "'3'")], "level": LEVEL},
    ),
    (
        hardy_weinberg.hardy_weinberg,
        {"n_aa": 1, "n_ab": 2, "n_bb": 3},
        {"n_aa": COUNT, "n_ab": COUNT, "n_bb": COUNT},
    ),
    (
        hardy_weinberg.exact_p_at_fixation,
        {"n_aa": 1, "n_ab": 2, "n_bb": 3, "f": 0.2},
        {"n_aa": COUNT, "n_ab": COUNT, "n_bb": COUNT, "f": [(1.2, "1.2"), (-1.1, "-1.1"), *NUMBER]},
    ),
    (
        loci.judge_loci,
        {"counts": [loci.LocusCounts("M1", 1, 2, 3)]},
        {
            "counts": [
                *LIST,
                ([3], "3"),
                ([loci.LocusCounts("M1", -1, 2, 3)], "-1"),
                ([loci.LocusCounts("M1", 1, 2.5, 3)], "2.5"),  # type: ignore[arg-type]
                ([loci.LocusCounts("M1", 1, 2, 3)] * 2, "twice"),
            ]
        },
    ),
    (
        heterozygote_deficit.deficit_limits,
        {"q": [0.1, 0.2], "heterozygosity": [0.1, 0.2]},
        {"q": Q, "heterozygosity": [([0.1], "2 against 1"), *Q], "level": LEVEL},
    ),
    (
        lineage.lineage_sign,
        {"q": [0.1, 0.2], "heterozygosity": [0.1, 0.2], "n_loci": 35},
        {
            "q": Q,
            "heterozygosity": [([0.1], "2 against 1"), *Q],
            "n_loci": [wrong for wrong in FROM_ONE if wrong[0] is not None],
        },
    ),
    (
        lineage.lineage_sign_from_sums,
        {"n": 2, "sum_q": 0.3, "sum_q2": 0.05, "sum_h": 0.3, "n_near_northern": 1, "n_near_florida": 0},
        {
            "n": COUNT,
            "sum_q": NUMBER,
            "sum_q2": [(-1, "-1"), (0.9, "0.9"), *NUMBER],
            "sum_h": [(2.4, "1.2"), *NUMBER],
            "n_near_northern": [(3, "3"), *COUNT],
            "n_near_florida": COUNT,
        },
    ),
    (
        same_genotypes.same_genotypes,
        {"genotypes": [[0, 1]], "names": ["a"]},
        {
            "genotypes": TABLE,
            "names": [*LIST, (["a", "b"], "2 names")],
            "least_loci": FROM_ONE,
            "most_different": SHARE,
            "most_chance": [(0, "0"), *SHARE],
            "at_once": FROM_ONE,
        },
    ),
    (bootstrap.mean_of, {"samples": np.ones((2, 3))}, {}),
    (bootstrap.t_interval, {"values": [1, 2, 3]}, {"values": NUMBERS, "level": LEVEL}),
    *(
        (
            f,
            {"values": [1, 2, 3]},
            {"values": NUMBERS, "level": LEVEL, "n_resamples": FROM_ONE, "seed": COUNT},
        )
        for f in (bootstrap.percentile_interval, bootstrap.bca_interval)
    ),
    (bootstrap.acceleration, {"values": [1, 2, 3]}, {"values": NUMBERS}),
    (
        comparison.compare_surveys,
        {"pairs": [(HELD, HELD)]},
        {"pairs": [([(one, HELD)], words) for one, words in SURVEYS], "level": LEVEL},
    ),
    (
        comparison.sums_by_length,
        {"name": "A", "scheme": FIVE, "unit": "mm", "caught": [((300, "mm"), 2)], "typed": []},
        {
            "unit": [("furlong", "furlong")],
            "caught": [([((300, "furlong"), 2)], "furlong"), ([((-3, "mm"), 2)], "-3")],
            "typed": [([comparison.TypedFish((300, "mm"), 1.2, 38)], "1.2")],
        },
    ),
    (
        comparison.common_weights,
        {"earlier": HELD, "later": HELD},
        {"earlier": SURVEYS, "later": SURVEYS},
    ),
    (
        comparison.weights_of_all,
        {"surveys": [HELD, HELD]},
        {"surveys": [([HELD, one], words) for one, words in SURVEYS]},
    ),
    (
        contrast.contrast,
        {"first": SIDE, "second": SIDE},
        {"first": SIDES, "second": SIDES, "level": LEVEL, "guard_fish": FROM_ZERO, "spare_fish": FROM_ZERO},
    ),
    (
        contrast.contrasts,
        {"pairs": [(SIDE, SIDE)]},
        {
            "pairs": [([(one, SIDE)], words) for one, words in SIDES],
            "level": LEVEL,
            "guard_fish": FROM_ZERO,
            "spare_fish": FROM_ZERO,
        },
    ),
    (
        growth.association,
        {"q": [0.1, 0.2, 0.3], "measure": [90, 95, 99]},
        {"q": Q, "measure": [([90], "3 against 1"), *NUMBERS], "level": LEVEL},
    ),
    (
        growth.association_over_classes,
        {"groups": {"stock": ([0.1, 0.2, 0.3], [90, 95, 99])}},
        {
            "groups": [
                *BY_CLASS,
                ({"stock": 3}, "3"),
                ({"stock": ([0.1],)}, "1 lists"),
                ({"stock": ([1.2], [90])}, "1.2"),
                ({"stock": ([0.1], [90, 95])}, "1 against 2"),
            ],
            "level": LEVEL,
        },
    ),
    (
        ratio.pooled_ratio,
        {"florida_alleles": [1, 2], "n_loci": [35, 35]},
        {
            "florida_alleles": [([1, 71], "71"), ([1], "1 against 2"), *NUMBERS],
            "n_loci": [([35, 0], "0"), ([35, 34.5], "34.5"), *NUMBERS],
        },
    ),
    (
        ratio.pooled_interval,
        {"florida_alleles": [1, 2], "n_loci": [35, 35]},
        {
            "florida_alleles": [([1, 71], "71"), ([1], "1 against 2"), *NUMBERS],
            "n_loci": [([35, 0], "0"), ([35, 34.5], "34.5"), *NUMBERS],
            "level": LEVEL,
        },
    ),
    (
        ratio.design_effect,
        {"mean": 0.5, "se": 0.1, "n_alleles": 70},
        {"mean": SHARE, "se": FROM_ZERO, "n_alleles": ABOVE_ZERO},
    ),
]

MODULES: tuple[ModuleType, ...] = (
    *(
        ancestry,
        bootstrap,
        comparison,
        estimates,
        generation,
        growth,
        hardy_weinberg,
        heterozygote_deficit,
        hybrid_classes,
        intervals,
        known_catch,
        lineage,
        loci,
        marker_spread,
    ),
    *(planned_intervals, psd, ratio, same_genotypes, sampling, schemes, species, strata, sums, trend),
    *(unfixed_markers, unseen, weighted_share),
)


TRIED = [
    pytest.param(function, right, argument, wrong, id=f"{function.__qualname__}({argument})")
    for function, right, kinds in CALLS
    for argument, wrong in kinds.items()
]


@pytest.mark.parametrize(("function", "right", "argument", "wrong"), TRIED)
def test_wrong_input_raises_a_fault_that_says_which_value(
    function: Callable[..., Any], right: dict[str, Any], argument: str, wrong: Wrong
) -> None:
    for value, said in wrong:
        try:
            found = function(**{**right, argument: value})
        except GeneticlogError as fault:
            assert said in str(fault), repr(value)  # noqa: PT017 (many values, one test)
        else:
            pytest.fail(f"{argument} = {value!r} was taken and gave {found!r}")


@pytest.mark.parametrize("call", CALLS, ids=lambda call: call[0].__qualname__)
def test_the_right_input_beside_it_is_taken(call: tuple[Callable[..., Any], dict[str, Any], dict]) -> None:
    function, right, kinds = call
    function(**right)
    assert set(kinds) <= set(inspect.signature(function).parameters)


@pytest.mark.parametrize("module", MODULES, ids=lambda module: module.__name__.rpartition(".")[2])
def test_every_public_function_is_tried(module: ModuleType) -> None:
    tried = {function.__name__ for function, _, _ in CALLS}
    public = {
        name
        for name, function in inspect.getmembers(module, inspect.isfunction)
        if function.__module__ == module.__name__ and not name.startswith("_")
    }
    assert public <= tried
