"""Numbers that the project chose, entered a second time: each decides what a person is told, and none has a source to
be checked against. Whoever changes one on purpose changes it here too; a slip of a digit is seen.

Where a number follows from something else, that is said in its place; the others are of `common practice, no source`.
"""

from __future__ import annotations

from importlib import import_module

import pytest

CHOSEN = {
    "rules.ancestry": {"MISSING": -1, "HYBRID_INDEX_DROP": 2.0, "NINETY_FIVE_DROP": 1.920729},
    "rules.arguments": {"RESAMPLES": 9_999},
    "rules.boat.card": {"MOST_REMEMBERED": 20},
    "rules.boat.logline": {"MOST_IN_A_TALLY": 1000},
    "rules.boat.plausible": {
        "USUAL_RELATIVE_WEIGHT": (50, 160), "GROSS_RELATIVE_WEIGHT": (20, 400),
        "ANY_SPECIES": (10, 40, 900, 1200),
    },
    "rules.genetics.broods": {
        "LEAST_FISH": 12, "LEAST_LOCI": 20, "ALPHA": 0.01, "SHUFFLES": 199, "AT_MOST": 3.0,
        "FEWEST_SHUFFLES": 100, "SIB": 0.5, "MOST_OF_ONE": 0.5,
    },
    "rules.genetics.generation": {"LEAST_INFORMATIVE_LOCI": 50, "SAME_Q": 0.0051},
    "rules.genetics.hybrid_classes": {"MISCALL_RATE": 0.005, "LEAST_MARGIN": 2.0},
    "rules.genetics.lineage": {
        "LEAST_P": 0.1, "MOST_P": 0.9, "LEAST_F": 0.5, "LEAST_FISH": 10, "NEAR_PURE": 0.2,
        "LEAST_EACH": 0.1, "LEAST_BOTH": 0.6,
    },
    "rules.genetics.loci": {
        "LEAST_LOCI": 10, "NEARLY_ALL": 0.8, "BY_ITSELF": 2.0, "ALPHA_LAB": 0.01, "LEAST_FISH": 30,
        "LEAST_P": 1e-300,
    },
    "rules.genetics.miscalls": {
        "CARRIER_MARGIN": 2.0, "FEWEST_LOCI": 25, "MOST_FALSE": 0.05, "HIGHEST_RATE": 0.1,
    },
    "rules.genetics.rule_set": {"LONGEST_NAME": 60},
    "rules.intervals": {"GUARD_FISH": 0.02, "FEW": 16, "NO_VARIANCE": 1e-12, "NO_ALLELE": 1e-12},
    "rules.lab_return.account.account": {"MOST_WORDS": 6, "LEAST_ACCEPTED": 0.6, "MOST_SIGNED": 5},
    "rules.lab_return.account.account_of_marks": {"MOST_LINES": 5},
    "rules.lab_return.account.one_assay": {"MOST_WAYS": 6},
    "rules.lab_return.account.other_jobs": {
        "DAYS_ROOM": 2, "DAYS_APART": 30, "DAYS_ODD": 180, "DAYS_AHEAD": 1, "MOST_OTHER_DAYS": 0.25, "LEAST_DATED": 4,
        "LEAST_LOCI": 5, "MOST_EARLY": 0.5,
    },
    "rules.lab_return.account.other_lakes": {"SHORTEST": 4},
    "rules.lab_return.account.other_names": {"MOST_NAMES": 4},
    "rules.lab_return.cells.percent_or_fraction": {
        "LEAST_PERCENT": 0.65, "MOST_FIT": 0.8, "FEW_FIT": 0.5, "MOSTLY": 0.75, "ROUNDING": 0.0005,
        "NEAR": 0.02, "TELLING_ROOM": 0.25, "LEAST_NONE": 0.1, "UNLIKELY": 0.001, "LEAST_TELLING": 4,
    },
    "rules.lab_return.columns.column_choice": {"MOST_BARE": 12},
    "rules.lab_return.columns.column_roles": {"LEAST_LOCI": 5},
    "rules.lab_return.columns.column_units": {"NEAR_WHOLE": 2, "LEAST_SUMS": 3, "MOST_SUMS": 0.9},
    "rules.lab_return.columns.column_values": {"MOST_SHOWN": 5, "LEAST_COMMON": 0.6, "LEAST_PARTED": 3},
    "rules.lab_return.columns.genotype_columns": {"MOSTLY_COUNTS": 0.8},
    "rules.lab_return.columns.genotypes": {
        "LEAST_MARKERS": 5, "LEAST_FISH_TO_TELL": 5, "NEAR_ENOUGH": 0.0051,
    },
    "rules.lab_return.columns.lab_classes": {"FARTHEST_F1": 0.25},
    "rules.lab_return.columns.odd_loci": {"LEAST_ALIKE": 8, "SHARE_ALIKE": 0.8, "MOST_NAMED": 6},
    "rules.lab_return.columns.read_columns": {"LEAST_WORDS": 4},
    "rules.lab_return.columns.third_lineage": {"LEAST_THIRD": 0.05},
    "rules.lab_return.columns.value_checks": {
        "SUM_TOLERANCE": 0.002, "LEAST_CALL_RATE": 0.90, "HELD_CALL_RATE": 0.50,
    },
    "rules.lab_return.columns.whose_share": {"LEAST_AGREEING": 2, "LEAST_AGAINST": 2, "MOST_AGAINST": 0.1},
    "rules.lab_return.doubts_of_files.changed_copies": {
        "BY_CHANCE": 0.0001, "FINEST": 6, "MOST_ROWS": 5_000, "LEAST_STEPS": 3,
    },
    "rules.lab_return.doubts_of_files.class_probabilities": {
        "LEAST_ROWS": 4, "LEAST_SHARE": 0.9, "MARGIN": 0.015,
    },
    "rules.lab_return.doubts_of_files.controls_against": {
        "LEAST_AGAINST": 3, "LEAST_KINDS": 2, "LEAST_PART": 0.2,
    },
    "rules.lab_return.doubts_of_files.copied_down": {
        "LEAST_ALIKE": 5, "LEAST_STEPS": 6, "LEAST_BLOCK": 4, "LEAST_PAIRS": 2,
        "LEAST_PAIRS_OF_SHARES": 6, "MOSTLY_NEXT": 0.5, "LEAST_ALL": 12, "NEAR": 10, "LEAST_OTHERS":
        5, "MOST_PAIRS": 300_000, "BY_CHANCE": 0.001, "AROUND": 0.05, "NEARLY_PURE": 0.05,
    },
    "rules.lab_return.columns.likelier_answers": {"APART": 0.1},
    "rules.lab_return.doubts_of_files.lines_against": {"LEAST_VALUES": 5, "ROOM": 0.02},
    "rules.lab_return.doubts_of_files.sums_in_words": {"LEAST_PURE": 0.9, "LEAST_COUNTED": 0.8},
    "rules.lab_return.doubts_of_files.loci_against": {
        "LEAST_FISH": 12, "LEAST_LOCI": 8, "LEAST_ALONG": 0.25, "TIMES_CHANCE": 2, "LEAST_AGAINST": 2,
        "LEAST_AGAINST_SHARE": 0.05, "MOST_MISSING": 0.5, "MOST_SHOWN": 4, "HALF_AS_MUCH": 0.5,
    },
    "rules.lab_return.doubts_of_files.odd_columns": {
        "LEAST_ROWS": 6, "LEAST_VALUES": 4, "NEARLY_ALL": 0.9, "ROOM": 0.0101,
    },
    "rules.lab_return.doubts_of_files.left_out": {"MOSTLY_SAME": 0.8, "LEAST_SAME": 6},
    "rules.lab_return.doubts_of_files.odd_shares": {
        "LEAST_ROWS": 10, "LEAST_ZERO": 2, "MOST_ZERO": 0.25, "GAP": 0.15, "LEAST_WIDTH": 0.3,
        "LEAST_ALIKE": 12, "MOST_ALIKE": 0.1, "PURE": 0.05, "NEARLY_ALL": 0.8, "F1_LEAST": 0.9,
        "LEAST_WHOLE": 40, "LEAST_SINGLE": 3, "LEAST_FROM_TEN": 30,
    },
    "rules.lab_return.doubts_of_files.of_another_shipment": {
        "LEAST_SET": 8, "MOST_VALUES": 1_000, "N_WAYS": 8,
    },
    "rules.lab_return.doubts_of_files.often_again": {
        "LEAST_AGAIN": 3, "LEAST_OTHERS": 10, "APART": 0.15, "FAR_APART": 0.3, "BY_CHANCE": 1e-05,
        "FEW_LOCI": 10,
    },
    "rules.lab_return.doubts_of_files.own_numbers": {
        "LEAST_ROWS": 8, "LEAST_VALUES": 6, "NEARLY_ALL": 0.9, "INCH": 25.4, "POUND": 453.59237,
        "OUNCE": 28.349523125, "ROOM": 0.006,
    },
    "rules.lab_return.doubts_of_files.regular_shares": {
        "PURE": 0.03, "LEAST_MIXED": 12, "MOST_VALUES": 5, "EACH": 3, "PARTS": (20, 16, 12),
        "LEAST_STEPS": 12, "LEAST_TWICE": 8, "MOSTLY": 0.9, "MOSTLY_TWICE": 0.7, "FEW_LOCI": 10,
        "ONE_DIGIT": 0.02, "APART": 0.2, "STEP_IN_DIGITS": 4,
    },
    "rules.lab_return.doubts_of_files.repeated_order": {
        "WINDOW": 4, "MOST_PLACES": 200_000, "MOST_LEFT_OUT": 2, "MOST_OFTEN": 50,
    },
    "rules.lab_return.doubts_of_files.same_genotypes": {
        "LEAST_SHARED_LOCI": 12, "MOST_DIFFERENT": 0.05, "MOST_CHANCE": 0.05,
    },
    "rules.lab_return.doubts_of_files.sorted_alone": {
        "MOSTLY_ONE": 0.8, "LEAST_ROWS": 16, "LEAST_VALUES": 8, "LEAST_IN_WELLS": 6,
    },
    "rules.lab_return.doubts_of_files.sorted_parts": {
        "LEAST_VALUES": 8, "LEAST_ROWS": 10, "FEWER_VALUES": 5,
    },
    "rules.lab_return.doubts_of_files.tables_beside": {"LEAST_IDS": 3},
    "rules.lab_return.doubts_of_files.turned_block": {"LEAST_AGAINST": 3, "LEAST_AGREEING": 2},
    "rules.lab_return.doubts_of_files.turned_tables": {
        "LEAST_FISH": 5, "LEAST_BLOCK": 6, "OF_A_BLOCK": 1e-09, "UNLIKE": 1e-05, "ALIKE": 0.05,
    },
    "rules.lab_return.doubts_of_files.unlike_earlier": {
        "LEAST_AGAIN": 5, "LEAST_CHANGED": 0.5, "APART": 0.0101, "LEAST_ALIKE": 0.8,
    },
    "rules.lab_return.doubts_of_files.whole_numbers": {
        "LEAST_ROWS": 2, "MOST_IMPOSSIBLE": 0.25, "MOST_COARSE": 6, "LEAST_OF_TWO_KINDS": 8,
    },
    "rules.lab_return.doubts_of_rows.cut_off": {"LEAST_ROWS": 4},
    "rules.lab_return.doubts_of_rows.far_from_others": {
        "LEAST_ROWS": 6, "MOST_FAR": 2, "MOST_FAR_SHARE": 0.2, "OF_MEDIAN": 0.75, "READS_OF_MEDIAN": 0.1,
        "DNA_OF_MEDIAN": 0.01,
    },
    "rules.lab_return.doubts_of_rows.genotypes_beside": {
        "LEAST_ROWS": 6, "LEAST_FIT": 0.8, "MOST_OTHER": 0.25, "NEAR": 0.0051,
    },
    "rules.lab_return.doubts_of_rows.kept_words": {"MOST_WORDS": 6},
    "rules.lab_return.doubts_of_rows.known_fish": {"LEAST_CHANCE": 0.001},
    "rules.lab_return.doubts_of_rows.lost_points": {
        "LEAST_ROWS": 8, "MOSTLY": 0.6, "LEAST_ABOVE": 2, "FAR": 1.15, "LEAST_PADDED": 3, "MOST_BARE": 0.15,
    },
    "rules.lab_return.doubts_of_rows.made_of_runs": {
        "LEAST_ROWS": 4, "LEAST_MEANS": 0.75, "MOST_RUNS": 4, "FAR": 0.2, "OF_MEDIAN": 4.0,
    },
    "rules.lab_return.doubts_of_rows.odd_rows": {"LEAST_ROWS": 8, "MOST_ODD": 2, "MOST_ODD_SHARE": 0.1},
    "rules.lab_return.doubts_of_rows.odd_sums": {
        "LEAST_ROWS": 8, "NEARLY_ALL": 0.9, "LEAST_ROOM": 0.0011, "MOST_BELOW": 2,
        "MOST_BELOW_SHARE": 0.05, "NEARLY": 0.95,
    },
    "rules.lab_return.doubts_of_rows.other_codes": {"LEAST_SHARE": 0.5},
    "rules.lab_return.doubts_of_rows.other_measures": {
        "LEAST_ALIKE": 0.75, "LEAST_ROWS": 4, "LEAST_KINDS": 3, "MOST_UNLIKE": 2, "LEAST_COMPARED": 8,
        "LEAST_SPREAD": 1.2, "LEAST_ALONG": 0.4, "NEAR_ONE": 0.98, "ROOM": 0.01,
        "_IN_MM": (1.0, 10.0, 25.4, 304.8), "_IN_G": (1.0, 1000.0, 453.59237, 28.349523),
    },
    "rules.lab_return.doubts_of_rows.own_controls": {"ROOM": 0.1},
    "rules.lab_return.doubts_of_rows.other_shares": {"LEAST_ALIKE": 0.75, "LEAST_ROWS": 4},
    "rules.lab_return.doubts_of_rows.own_limits": {
        "FAR": 4.0, "LEAST_WIDE": 0.1, "LEAST_ROWS": 6, "MOST_BEYOND": 0.25, "NEARLY_ALL": 0.8,
        "OF_MEDIAN": 3.0, "WHOLE": 1.5, "AT_THE_END": 0.05,
    },
    "rules.lab_return.doubts_of_rows.own_records": {
        "MOSTLY_OURS": 0.9, "LEAST_ALIKE": 0.75, "LEAST_ROWS": 6, "FIRST_YEAR": 1980,
    },
    "rules.lab_return.doubts_of_rows.repeated_numbers": {"LEAST_ROWS": 8, "MOST_REPEATED": 2},
    "rules.lab_return.doubts_of_rows.replicate_means": {"FEWEST": 3, "LEAST_ALIKE": 0.8, "APART": 0.15},
    "rules.lab_return.drafts.counted_of": {"LEAST_WHOLE": 0.25, "LEAST_ROWS": 4},
    "rules.lab_return.drafts.drafts": {"LEAST_PURE": 0.75},
    "rules.lab_return.drafts.few_called": {"HELD_SHARE": 0.20, "FEWEST": 3},
    "rules.lab_return.drafts.longer_codes": {"FEWEST": 3, "MOST_PARTS": 4, "MOST_ASKED": 0.5},
    "rules.lab_return.drafts.recounted": {"LEAST_STEP": 1e-6},
    "rules.lab_return.drafts.same_result": {"USUAL": 0.5, "LEAST_WRITTEN": 4},
    "rules.lab_return.drafts.unit_in_doubt": {
        "MOST_OF_AN_INDEX": 2.0, "LEAST_IMPOSSIBLE": 2, "MANY_IMPOSSIBLE": 0.25,
    },
    "rules.lab_return.sheet.heading_rows": {"FEWEST_ABOVE": 3, "SURE": 4, "SEARCHED": 100},
    "rules.lab_return.sheet.reading": {"SHORTEST": 9},
    "rules.lab_return.sheet.sample_rows": {"MOST_LETTERS": 200, "LOOKED_AT": 50, "MOST_WORDS": 3},
    "rules.lab_return.sheet.sheet_rows": {"LEAST_STEP": 1_000, "MOST_STEP": 100_000},
    "rules.lab_return.sheet.tall": {"SEARCHED": 100, "LEAST_ROWS": 2, "MOST_TAXA": 3},
    "rules.lab_return.sheet.unknown_lines": {"MOST_LINES": 3, "SHOWN": 12, "LONGEST": 70},
    "rules.label.label_stock": {
        "QUIET_MODULES": 4, "FEWEST_DOTS": 3, "SAFE_DOTS": 4, "LEAST_MODULE_MM": 0.25,
        "SMALL_TUBE_MM": 10.0, "MM_PER_INCH": 25.4, "SLACK_MM": 1e-6,
    },
    "rules.lakes.reasons": {"MOSTLY": 0.8},
    "rules.plan.likely_fish": {"N_UNKNOWN": 20},
    "rules.plan.likely_numbers": {"SURVEYS_FOR_WIDTH": 200, "SURVEYS_FOR_CHANCE": 500},
    "rules.report.comparability": {
        "LOCI_APART": 0.1, "MATTERS": 0.1, "LEAST_COMMON": 0.8, "SEASON_MONTHS": 1,
    },
    "rules.report.outdated": {"MOST_NAMED": 4, "TOLERANCE": 1e-9},
    "rules.sampling": {"MOST_FISH": 1_000_000},
    "rules.seeds": {"SEED": 20_260_101, "SEED_OF_PLANS": 20_260_411, "SEED_OF_BROODS": 20_260_412},
    "rules.shipment.duplicates": {
        "LEAST_DUPLICATES": 2, "Q_APART": 0.05, "GOOD": 0.01, "REVIEW": 0.02, "LEAST_BLANKS": 1,
    },
    "rules.statistics.clusters": {"LEAST_SITES": 6, "LEAST_SITES_TO_SAY": 3, "NO_SPREAD": 1e-12},
    "rules.statistics.contrast": {"GUARD_FISH": 0.005, "SPARE_FISH": 0.75},
    "rules.statistics.estimates": {
        "ALPHA": 0.05, "LEAST_TO_READ": 5, "WIDE_FROM": 0.30, "NORMAL_95": 1.959964,
    },
    "rules.statistics.guarded_variance": {"FULL_FROM": 2.0},
    "rules.statistics.jonckheere": {"EXACT_WORK": 60_000},
    "rules.statistics.site_cells": {"LEAST_LOGGED": 0.5, "ALIKE_FROM": 1.5},
    "rules.statistics.strata_limits": {"SPARE_FISH": 0.12},
    "rules.statistics.through_years": {"LEAST_SURVEYS": 3, "LEAST_DF": 2, "HALF_WAY": 0.5},
    "rules.trend": {"EXACT_SPLITS": 100_000, "EXACT_RANKS": 8},
    "rules.vialcode": {"LENGTH": 9},
    "work.boat.fill_vial": {"MOST_CODES_COMPARED": 5000},
    "work.boat.sheet_layout": {"MOST_HEADING_ROW": 40, "DAYS_APART": 7},
    "work.devices.devices": {"MOST_TRIES": 10, "LONGEST_NAME": 60},
    "work.finding.finding_rows": {"MOST_SHOWN": 20},
    "work.lab_return.dropped_file": {"MOST_FILES": 8},
    "work.lab_return.find_same_fish": {"MOST_IN_PAIRS": 4},
    "work.lab_return.known_before.given_elsewhere": {"MOST": 50_000},
    "work.lab_return.known_before.like_before": {
        "LEAST_BEFORE": 10, "LEAST_NOW": 5, "ROOM": 0.1, "FEWEST_INSIDE": 0.5, "ERRORS": 5, "FAR":
        0.3, "HARDLY_ANY": 0.1, "RUN_OF_ZEROS": 1e-4, "MANY_ZERO": 1e-06, "BY_CHANCE": 0.001,
    },
    "work.lab_return.return_findings": {"MOST_COMPARED": 300_000},
    "work.lab_return.right_shipment": {"LEAST_SHARE": 0.5},
    "work.lab_return.sheets.by_well": {
        "LEAST_WELLS": 0.8, "LEAST_STRANGE": 3, "LEAST_MOVED": 4, "LEAST_SAME": 4,
        "LEAST_SAME_SHARE": 0.2, "MOSTLY_APART": 0.9,
    },
    "work.lab_return.sheets.class_counts": {"SEARCHED": 30, "FEWEST": 3},
    "work.lab_return.sheets.key_sheet": {"LEAST_KEYED": 0.8, "FEWEST": 2},
    "work.lab_return.sheets.lab_sheet": {"MOST_TABLES": 50},
    "work.lab_return.sheets.plate_grid": {"STEP": 100, "MOST": 1_000_000, "LAST_ROW": 500},
    "work.lab_return.sheets.put_together": {"MOST_PARTS": 3, "FEWEST": 3, "FIRST": 40, "SEARCHED": 200},
    "work.lab_return.sheets.same_vials": {"LEAST_SHARED": 0.5, "LEAST_OTHER": 2, "PERCENTS": 1.5},
    "work.lab_return.sheets.side_by_side": {"MOST_ROWS": 1000},
    "work.lab_return.sheets.tables_of_sheet": {"MOST_ROWS": 1000, "LAST": 10_000_000},
    "work.lab_return.sheets.turned": {
        "LEAST_CODES": 3, "LEAST_SHARE": 0.8, "MOST": 1_000_000, "SEARCHED": 30, "MOST_ROWS": 400,
    },
    "work.lab_return.understand": {"LEAST_UNREAD": 4, "MOSTLY_UNREAD": 0.9, "MOST_LINES": 200},
    "work.label.print_labels": {"MOST_LABELS": 20_000, "MOST_CODES_COMPARED": 5000},
    "work.lakes.progress": {"MANY": 200},
    "work.life": {"MOST_NAMED": 5},
    "work.plan.evidence": {"DEFAULT_SPREAD": 0.25, "DEFAULT_MEAN": 0.5, "FLOOR_SPREAD": 0.02},
    "work.plan.make_plan": {"CURVE": (3, 5, 8, 10, 15, 20, 30, 45, 60)},
    "work.plan.needs": {"MOST_PLANNED": 100_000},
    "work.plan.wishes": {"LEAST_A_CLASS": 5, "WANTED_A_CLASS": 8, "POWER": 0.8},
    "work.portfolio.gather": {"OLD_AFTER_DAYS": 1095, "STEPS": 5},
    "work.report.lake_class_pairs": {"FEWEST_FISH": 2},
    "work.report.lake_sites": {"ONE_BROOD_FROM": 0.5, "FEWEST_YOUNG": 3},
    "work.report.lake_sizes": {"WARY_BELOW": 20},
    "work.report.lake_years": {"DAYS_A_YEAR": 365.25, "LEAST_VARIANCE": 1e-6},
    "work.report.next_plan": {"LAKE_HALF_WIDTH": 0.05},
    "work.shipment.gone_vials": {"MOST_IN_HAND": 2},
    "work.shipment.pack": {"MOST_NAMED": 10},
}  # fmt: skip


@pytest.mark.parametrize("module", CHOSEN)
def test_a_chosen_number_is_the_one_that_was_chosen(module: str) -> None:
    found = import_module(f"geneticlog.{module}")
    assert {name: getattr(found, name) for name in CHOSEN[module]} == CHOSEN[module]
