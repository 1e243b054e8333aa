"""Numbers that the project chose, entered a second time: each decides what a person is told, and none has a source to
be checked against. Whoever changes one on purpose changes it here too; a slip of a digit is seen.

Where a number follows from something else, that is said in its place; the others are of `common practice, no source`.
"""

from __future__ import annotations

from importlib import import_module

import pytest

CHOSEN = {
    "rules.statistics.estimates": {"LEAST_TO_READ": 5, "WIDE_FROM": 0.30},
    "rules.statistics.clusters": {"LEAST_SITES": 6, "LEAST_SITES_TO_SAY": 3},
    "rules.statistics.contrast": {"GUARD_FISH": 0.005, "SPARE_FISH": 0.75},
    "rules.statistics.guarded_variance": {"FULL_FROM": 2.0},
    "rules.statistics.strata_limits": {"SPARE_FISH": 0.12},
    "rules.statistics.through_years": {"LEAST_SURVEYS": 3, "LEAST_DF": 2, "HALF_WAY": 0.5},
    "rules.intervals": {"GUARD_FISH": 0.02, "FEW": 16},
    "rules.report.comparability": {"ALPHA": 0.05, "LOCI_APART": 0.1, "MATTERS": 0.1, "LEAST_COMMON": 0.8},
    "rules.lakes.reasons": {"MOSTLY": 0.8},
    "rules.genetics.broods": {"LEAST_FISH": 12, "LEAST_LOCI": 20, "ALPHA": 0.01, "SHUFFLES": 199, "AT_MOST": 3.0},
    "rules.genetics.generation": {"LEAST_INFORMATIVE_LOCI": 50},
    "rules.genetics.hybrid_classes": {"MISCALL_RATE": 0.005, "LEAST_MARGIN": 2.0},
    "rules.genetics.lineage": {
        "LEAST_P": 0.1, "MOST_P": 0.9, "LEAST_F": 0.5, "LEAST_FISH": 10, "NEAR_PURE": 0.2, "LEAST_EACH": 0.1,
        "LEAST_BOTH": 0.6,
    },
    "rules.genetics.loci": {
        "ALPHA": 0.05, "LEAST_LOCI": 10, "NEARLY_ALL": 0.8, "BY_ITSELF": 2.0, "ALPHA_LAB": 0.01, "LEAST_FISH": 30,
    },
    "rules.genetics.miscalls": {"CARRIER_MARGIN": 2.0, "FEWEST_LOCI": 25, "MOST_FALSE": 0.05, "HIGHEST_RATE": 0.1},
    "rules.shipment.duplicates": {"LEAST_DUPLICATES": 2, "Q_APART": 0.05, "GOOD": 0.01, "REVIEW": 0.02},
    "rules.lab_return.columns.value_checks": {"SUM_TOLERANCE": 0.002, "LEAST_CALL_RATE": 0.90, "HELD_CALL_RATE": 0.50},
    "rules.lab_return.columns.third_lineage": {"LEAST_THIRD": 0.05},
    "rules.lab_return.doubts_of_files.same_genotypes": {
        "LEAST_SHARED_LOCI": 12,
        "MOST_DIFFERENT": 0.05,
        "MOST_CHANCE": 0.05,
    },
    "rules.lab_return.cells.percent_or_fraction": {
        "LEAST_PERCENT": 0.65,
        "MOST_FIT": 0.8,
        "FEW_FIT": 0.5,
        "MOSTLY": 0.75,
    },
    "rules.lab_return.columns.genotypes": {"LEAST_MARKERS": 5, "LEAST_FISH_TO_TELL": 5},
    "rules.label.label_stock": {
        "QUIET_MODULES": 4, "FEWEST_DOTS": 3, "SAFE_DOTS": 4, "LEAST_MODULE_MM": 0.25, "SMALL_TUBE_MM": 10.0,
    },
    "rules.boat.logline": {"MOST_IN_A_TALLY": 1000},
    "work.plan.wishes": {"LEAST_A_CLASS": 5, "WANTED_A_CLASS": 8, "POWER": 0.8},
    "work.plan.evidence": {"DEFAULT_SPREAD": 0.25, "DEFAULT_MEAN": 0.5, "FLOOR_SPREAD": 0.02},
    "work.report.lake_sites": {"ONE_BROOD_FROM": 0.5, "FEWEST_YOUNG": 3},
    "work.report.lake_sizes": {"WARY_BELOW": 20},
    "work.report.next_plan": {"LAKE_HALF_WIDTH": 0.05},
    "work.lab_return.known_before.like_before": {"LEAST_BEFORE": 10, "LEAST_NOW": 5, "ROOM": 0.1, "FEWEST_INSIDE": 0.5},
    "work.lab_return.sheets.by_well": {"LEAST_WELLS": 0.8, "LEAST_STRANGE": 3, "LEAST_MOVED": 4},
    "work.portfolio.gather": {"OLD_AFTER_DAYS": 1095},
    "work.shipment.gone_vials": {"MOST_IN_HAND": 2},
}  # fmt: skip


@pytest.mark.parametrize("module", CHOSEN)
def test_a_chosen_number_is_the_one_that_was_chosen(module: str) -> None:
    found = import_module(f"geneticlog.{module}")
    assert {name: getattr(found, name) for name in CHOSEN[module]} == CHOSEN[module]
