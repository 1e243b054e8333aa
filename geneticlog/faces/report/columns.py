"""The columns of a report's tables: heading, where the value is, and its unit, in one place for CSV and XLSX.

A heading and its value stand on one line here, so that no list of headings can slip against a list of values.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from operator import attrgetter
from typing import Any

Sheet = tuple[Sequence[str], Sequence[Sequence[Any]]]
SHARE, MM, PERCENT, LOG = "share, 0 to 1", "mm", "% of standard weight", "log units"
AS_MEASURED = "as measured; see the column of its unit"


@dataclass(frozen=True)
class Column:
    """One column: its heading, how its value is got from a row's object, its unit ("" for a count or a word), and what
    it is, where the heading alone could be misread.
    """

    heading: str
    value: Callable[[Any], Any]
    unit: str = ""
    meaning: str = ""


@dataclass(frozen=True)
class InSurvey:
    """One row of a table that is about a part of a survey: the survey, and the part."""

    survey: Any
    one: Any


def at(heading: str, path: str = "", unit: str = "", *, meaning: str = "") -> Column:
    """Return the column of an attribute, "catch_weighted.mean"; the heading is its name where no path is given."""
    return Column(heading, attrgetter(path or heading), unit, meaning)


def of(heading: str, path: str = "", unit: str = "") -> Column:
    """Return the column of an attribute of the part of a survey that a row is about."""
    return at(heading, f"one.{path or heading}", unit)


def sheet(columns: Sequence[Column], rows: Iterable[Any]) -> Sheet:
    """Return a table: its headings, and a row of values for each object."""
    return tuple(column.heading for column in columns), [
        [column.value(row) for column in columns] for row in rows
    ]


SURVEY = at("survey", "survey.survey")

CLASSES = (
    SURVEY, of("size_class"), of("n_caught"), of("n_swabbed"), of("n_resulted"), of("mean", unit=SHARE),
    of("low", unit=SHARE), of("high", unit=SHARE), of("guard"), of("share_unseen", "unseen", SHARE),
    of("least_q", unit=SHARE), of("most_q", unit=SHARE), of("n_carriers"), of("carriers_low", unit=SHARE),
    of("carriers_high", unit=SHARE), of("mean_relative_weight", unit=PERCENT),
    of("relative_weight_low", unit=PERCENT), of("relative_weight_high", unit=PERCENT), of("n_weighed"),
)  # fmt: skip
CLASS_DIFFERENCES = (
    SURVEY, of("larger"), of("smaller"), of("difference", unit=SHARE), of("low", unit=SHARE), of("high", unit=SHARE),
    of("p"), of("p_holm"), of("n_larger"), of("n_smaller"), of("guard"),
)  # fmt: skip
COMPOSITION = (
    SURVEY, of("size_class"), of("ancestry_class"), of("n_fish"), of("n_resulted"), of("share", unit=SHARE),
    of("low", unit=SHARE), of("high", unit=SHARE), of("guard"),
)  # fmt: skip
SURVEYS = (
    at("survey"), at("surveyed_on"), at("gear"), at("species"), at("n_caught"), at("n_swabbed"), at("n_resulted"),
    at("mean", "swabbed.mean", SHARE), at("low", "swabbed.low", SHARE), at("high", "swabbed.high", SHARE),
    at("guard", "swabbed.guard"), at("share_unseen", "swabbed.unseen", SHARE),
    at("weighted_mean", "catch_weighted.mean", SHARE), at("weighted_low", "catch_weighted.low", SHARE),
    at("weighted_high", "catch_weighted.high", SHARE),
    at("share_of_catch_covered", "catch_weighted.share_of_catch_covered", SHARE),
    at("young_minus_adult", "young_minus_adult.difference", SHARE),
    at("young_minus_adult_low", "young_minus_adult.low", SHARE),
    at("young_minus_adult_high", "young_minus_adult.high", SHARE), at("young_minus_adult_p", "young_minus_adult.p"),
    at("young_minus_adult_p_holm", "young_minus_adult.p_holm"), at("trend_statistic", "trend.statistic"),
    at("trend_expected", "trend.expected"), at("trend_p", "trend.p"), at("trend_p_holm", "trend.p_holm"),
    at("slope_a_class", "trend.slope.per_class", SHARE), at("slope_low", "trend.slope.low", SHARE),
    at("slope_high", "trend.slope.high", SHARE), at("slope_p", "trend.slope.p"),
    at("rank_on_length", "rank_on_length.correlation"), at("rank_on_length_low", "rank_on_length.low"),
    at("rank_on_length_high", "rank_on_length.high"), at("rank_on_length_n", "rank_on_length.n"),
    at("rank_on_length_p", "rank_on_length.p"), at("rank_on_length_p_holm", "rank_on_length.p_holm"),
    at("rank_on_length_guard", "rank_on_length.guard"), at("mean_heterozygosity", "heterozygosity.mean", SHARE),
    at("mean_heterozygosity_low", "heterozygosity.mean_low", SHARE),
    at("mean_heterozygosity_high", "heterozygosity.mean_high", SHARE), at("deficit", "heterozygosity.deficit"),
    at("deficit_low", "heterozygosity.deficit_low"), at("deficit_high", "heterozygosity.deficit_high"),
    at("n_heterozygosity", "heterozygosity.n"), at("flag", "heterozygosity.flag"),
    at("flag_hint", "heterozygosity.hint"), at("n_carriers"), at("weighted_carriers", "carriers.mean", SHARE),
    at("weighted_carriers_low", "carriers.low", SHARE), at("weighted_carriers_high", "carriers.high", SHARE),
)  # fmt: skip
SIZE_STRUCTURE = (
    SURVEY, of("index"), Column("least_length", lambda row: row.one.least_length, "see the column unit"),
    of("value", unit="0 to 100"), of("low", unit="0 to 100"), of("high", unit="0 to 100"), of("n_at_least"),
    of("n_stock"), of("guard"), at("unit", "survey.size_structure.unit"),
    at("n_substock", "survey.size_structure.n_substock"), at("n_left_out", "survey.size_structure.n_left_out"),
)  # fmt: skip
SAMPLES = (
    SURVEY, of("vial"), of("fish"), of("what", "text"), of("standing"), of("decision"), of("decided_by"),
    of("decided_at"), of("why"),
)  # fmt: skip
STOCKINGS = (at("stocked_on"), at("taxon"), at("n_fish"), at("size"), at("source"))
NEXT = (
    at("size_class"), at("n_resulted"),
    at("half_width", unit=SHARE, meaning="half of the 95 % interval of the class mean now"),
    at("spread", unit=SHARE, meaning="standard deviation of q in the class"),
    Column("spread_is_borrowed", lambda row: row.borrowed if row.spread is not None else None),
    at("likely_catch", meaning="fish of the class that an average outing would catch"),
    at("n_wanted", meaning="fish to swab so that the lake's mean gets the half-width planned for"),
    at("half_width_then", unit=SHARE, meaning="half-width of the class mean to expect with n_wanted fish"),
    at("cost", meaning="lab fees of n_wanted fish, in the office's own currency"),
    at("n_for_half_width", meaning="fish to swab so that the class's own mean gets the half-width of --half-width"),
)  # fmt: skip
FISH = (
    SURVEY, at("surveyed_on", "survey.surveyed_on"), of("fish", "number"), of("vial"),
    of("total_length", "length", AS_MEASURED), of("length_unit"), of("total_length_mm", "length_mm", MM),
    of("weight", unit=AS_MEASURED), of("weight_unit"), of("weight_g", unit="g"), of("relative_weight", unit=PERCENT),
    of("size_class"), of("q", unit=SHARE), of("q_low", "generation.low", SHARE), of("q_high", "generation.high", SHARE),
    Column("interval_drop", lambda row: _drop(row.one.generation), LOG), of("heterozygosity", unit=SHARE),
    of("n_loci"), of("call_rate", unit=SHARE), of("call_rate_from"), of("ancestry_class"), of("lab_class"),
    of("panel"), of("doubtful"), of("generation", "generation.accepted"),
    Column("why_none", lambda row: row.one.generation.why or None), of("likeliest", "generation.likeliest"),
    of("second", "generation.second"), of("margin", "generation.margin", LOG),
    of("aic_difference", "generation.aic_difference"),
    Column("miscall_rate", lambda row: _miscalls(row.one.generation), SHARE),
    of("counted_from", "generation.counted_from"), of("counted_q", "generation.counted_q", SHARE),
    of("counted_heterozygosity", "generation.counted_heterozygosity", SHARE),
)  # fmt: skip

LOCI = (
    SURVEY, of("locus", "marker"), of("n_fish_0_alleles", "n_none"), of("n_fish_1_allele", "n_one"),
    of("n_fish_2_alleles", "n_two"), of("n_no_call"), of("n_called"), of("call_rate", unit=SHARE),
    of("allele_frequency", "frequency", SHARE), of("heterozygosity", unit=SHARE),
    of("expected_heterozygosity", "expected", SHARE), of("fis"), of("p"), of("p_holm"),
    of("p_with_the_others", "p_step"), of("p_with_the_others_holm", "p_step_holm"), of("departs"), of("out_of_step"),
    of("by_itself"),
)  # fmt: skip


def _drop(generation: Any) -> float | None:
    return generation.drop if generation.low is not None else None


def _miscalls(generation: Any) -> float | None:
    return generation.miscall_rate if generation.likelihoods else None


def count_of(kind: str) -> Column:
    """Return the column that counts the fish of one ancestry class in a size class."""
    return Column(f"n_{kind}", lambda row: row.one.composition.get(kind, 0))


def likelihood_of(kind: str) -> Column:
    """Return the column of the log-likelihood of one of the six classes for a fish."""
    heading = f"log_likelihood_{kind.replace(' ', '_')}"
    return Column(heading, lambda row: (row.one.generation.likelihoods or {}).get(kind), LOG)
