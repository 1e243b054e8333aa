"""Each column of a report's tables holds what its heading says: two swapped values do not pass."""

from __future__ import annotations

from collections import Counter
from datetime import date
from operator import attrgetter
from typing import Any

from lakes_support import (
    NOW,
    add_fish,
    add_lake,
    add_panel,
    add_result,
    add_stocking,
    add_survey,
    add_typed,
    add_vial,
)
from sqlalchemy.orm import Session

from geneticlog.faces.report.columns import InSurvey
from geneticlog.faces.report.tables import lake_tables
from geneticlog.rules.stamp import Stamp
from geneticlog.store.tables import Genotype
from geneticlog.work.report.facts import LakeFacts
from geneticlog.work.report.gather import gather_lake

# heading -> the attribute it stands for, where that has another name; said again here, and not taken from the columns
NAMES = {
    "classes": {"share_unseen": "unseen"},
    "surveys": {
        **{name: f"swabbed.{name}" for name in ("mean", "low", "high", "guard")}, "share_unseen": "swabbed.unseen",
        **{f"weighted_{name}": f"catch_weighted.{name}" for name in ("mean", "low", "high")},
        "share_of_catch_covered": "catch_weighted.share_of_catch_covered",
        "young_minus_adult": "young_minus_adult.difference",
        **{f"young_minus_adult_{name}": f"young_minus_adult.{name}" for name in ("low", "high", "p", "p_holm")},
        **{f"trend_{name}": f"trend.{name}" for name in ("statistic", "expected", "p", "p_holm")},
        "slope_a_class": "trend.slope.per_class",
        **{f"slope_{name}": f"trend.slope.{name}" for name in ("low", "high", "p")},
        "rank_on_length": "rank_on_length.correlation",
        **{f"rank_on_length_{name}": f"rank_on_length.{name}" for name in ("low", "high", "n", "p", "p_holm", "guard")},
        "mean_heterozygosity": "heterozygosity.mean",
        **{f"mean_heterozygosity_{name}": f"heterozygosity.mean_{name}" for name in ("low", "high")},
        **{name: f"heterozygosity.{name}" for name in ("deficit", "deficit_low", "deficit_high", "flag")},
        "n_heterozygosity": "heterozygosity.n", "flag_hint": "heterozygosity.hint",
        "weighted_carriers": "carriers.mean", "weighted_carriers_low": "carriers.low",
        "weighted_carriers_high": "carriers.high",
    },
    "size_structure": {
        name: f"survey.size_structure.{name}" for name in ("unit", "n_substock", "n_left_out")
    },
    "changes": {
        "earlier_share_of_catch": "earlier_covered", "later_share_of_catch": "later_covered",
        **{f"{side}_{name}": f"{side}.{name}" for side in ("young", "adult")
           for name in ("difference", "low", "high", "p", "p_holm", "n_earlier", "n_later")},
    },
    "fish": {
        "surveyed_on": "survey.surveyed_on", "fish": "number", "total_length": "length", "total_length_mm": "length_mm",
        "q_low": "generation.low", "q_high": "generation.high", "interval_drop": "generation.drop",
        "generation": "generation.accepted", "why_none": "generation.why",
        **{name: f"generation.{name}" for name in (
            "likeliest", "second", "margin", "aic_difference", "miscall_rate", "counted_from", "counted_q",
            "counted_heterozygosity")},
    },
    "samples": {"what": "text"},
    "loci": {
        "locus": "marker", "n_fish_0_alleles": "n_none", "n_fish_1_allele": "n_one", "n_fish_2_alleles": "n_two",
        "allele_frequency": "frequency", "expected_heterozygosity": "expected", "p_with_the_others": "p_step",
        "p_with_the_others_holm": "p_step_holm",
    },
    "next": {"spread_is_borrowed": "borrowed"},
}  # fmt: skip
# a value that means nothing where another one is not known
UNKNOWN_WITHOUT = {
    "generation.drop": "generation.low", "generation.miscall_rate": "generation.likelihoods", "borrowed": "spread",
}  # fmt: skip
ELSEWHERE = {"compare_with_care", "alike"}  # sentences, joined


def a_lake(session: Session) -> LakeFacts:
    """Return a lake of two surveys in which no two numbers of a row are alike by chance."""
    lake, panel = add_lake(session), add_panel(session)
    for year, shift in ((2024, 0), (2026, 9)):
        survey = add_survey(session, lake, f"HERON-{year}", date(year, 4, 9 + shift))
        lengths = (9.1, 9.7, 10.3, 13.2, 13.9, 14.6, 14.8, 16.1, 16.4, 17.2, 20.3, 21.4)
        alleles = [(7 * i + shift) % 71 for i in range(len(lengths))]
        # heterozygous loci that these alleles allow, another number for each fish
        fish = [
            (length, n / 76, (n % 2 + 2 * (i % 4) * (8 < n < 68)) / 38)
            for i, (length, n) in enumerate(zip(lengths, alleles, strict=True))
        ]
        add_typed(session, survey, fish, panel=panel)
        for length in (7.2, 9.4, 12.5, 15.3):
            add_fish(session, survey, length, n_fish=3)
        for weight in (310.0, 700.0):
            add_fish(session, survey, 13.0 if weight > 500 else 10.0, weight_g=weight)
        vial = add_vial(session, add_fish(session, survey, 12.1, weight_g=450.0))
        result = add_result(session, vial, 20 / 76, 0.2, 38, panel, call_rate=0.95, lab_class="hybrid")
        calls = ([0] * 20 + [1] * 15 + [2] * 3) if year == 2026 else ()
        session.add_all(
            Genotype(result_id=result.id, marker=f"M{i:02}", n_alleles=n) for i, n in enumerate(calls)
        )
        add_result(session, add_vial(session, add_fish(session, survey, 18.3)), None, failure="no DNA")
    add_stocking(session, lake, date(2025, 5, 1), 1500)
    session.flush()
    return gather_lake(session, "HERON", stamp=Stamp(NOW, "Ada Test"))


def test_each_column_holds_what_its_heading_says(sqlite_session: Session) -> None:
    lake = a_lake(sqlite_session)
    tables = lake_tables(lake)
    assert set(tables) == {*NAMES, "class_differences", "composition", "stockings"}
    for name, (columns, rows) in tables.items():
        assert list(rows), name
        assert max(Counter(column.heading for column in columns).values()) == 1
        for column in columns:
            if column.heading in ELSEWHERE:
                continue
            for row in rows:
                found, want = column.value(row), wanted(name, column.heading, row)
                assert (found or None) == (want or None), (name, column.heading)


def wanted(name: str, heading: str, row: Any) -> Any:
    whose = row.one if isinstance(row, InSurvey) else row
    if name == "classes" and heading.startswith("n_") and not hasattr(whose, heading):
        return whose.composition.get(heading.removeprefix("n_"))
    if heading.startswith("log_likelihood_"):
        kinds = whose.generation.likelihoods or {}
        return next((value for kind, value in kinds.items() if kind.replace(" ", "_") == heading[15:]), None)
    path = NAMES.get(name, {}).get(heading, heading)
    if isinstance(row, InSurvey) and (path == "survey" or path.startswith("survey.")):
        return row.survey.survey if path == "survey" else attrgetter(path)(row)
    if unknown := UNKNOWN_WITHOUT.get(path):
        return attrgetter(path)(whose) if attrgetter(unknown)(whose) is not None else None
    return attrgetter(path)(whose)
