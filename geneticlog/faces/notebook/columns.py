"""The columns of every table of the data door: name, dtype, unit and meaning. One row a column; nothing else is shown.

dtypes are those of pandas that hold an absent value: Int64, Float64, string, boolean, category, and datetime64 for days
(midnight, no zone) and moments (UTC). Proportions run from 0 to 1.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

TEXT, COUNT, NUMBER, YES_NO, KIND = "string", "Int64", "Float64", "boolean", "category"
DAY, MOMENT = "datetime64[ns]", "datetime64[ns, UTC]"


@dataclass(frozen=True)
class Column:
    """One column of a table: its dtype, its unit (None: none) and what it holds."""

    name: str
    dtype: str
    meaning: str
    unit: str | None = None


def _c(name: str, dtype: str, meaning: str, unit: str | None = None) -> Column:
    return Column(name, dtype, meaning, unit)


LAKE = _c("lake", KIND, "code of the lake")
SURVEY = _c("survey", KIND, "code of the survey")
SURVEYED_ON = _c("surveyed_on", DAY, "day of the survey")
SIZE_CLASS = _c("size_class", KIND, "size class, in ascending order; judged in the unit measured")
Q = _c("q", NUMBER, "share of alleles of the panel's first taxon (Florida)", "0 to 1")
HETEROZYGOSITY = _c("heterozygosity", NUMBER, "share of loci heterozygous between the two taxa", "0 to 1")
N_LOCI = _c("n_loci", COUNT, "loci scored", "loci")
CALL_RATE = _c(
    "call_rate", NUMBER, "share of the panel's loci that were called, as the lab states it", "0 to 1"
)
LOW = _c("low", NUMBER, "lower 95 % limit", "0 to 1")
HIGH = _c("high", NUMBER, "upper 95 % limit", "0 to 1")

TABLES: dict[str, tuple[Column, ...]] = {
    "surveys": (
        SURVEY,
        LAKE,
        SURVEYED_ON,
        _c("gear", KIND, "gear the fish were caught with"),
        _c("species", KIND, "species the survey was made for"),
        _c("effort_minutes", NUMBER, "effort", "minutes"),
        _c("length_unit", KIND, "unit in which lengths are measured"),
        _c("weight_unit", KIND, "unit in which weights are measured"),
        _c("n_caught", COUNT, "fish of the species caught, tallies in full", "fish"),
        _c("n_swabbed", COUNT, "fish with a filled vial", "fish"),
        _c("n_resulted", COUNT, "fish with a result that counts", "fish"),
    ),
    "fish": (
        LAKE,
        SURVEY,
        SURVEYED_ON,
        _c("fish", COUNT, "number of the fish within its survey"),
        _c("n_fish", COUNT, "fish in the row: 1, or more for a tally", "fish"),
        _c("species", KIND, "species of the fish"),
        _c("length", NUMBER, "total length as measured", "length_unit"),
        _c("length_unit", KIND, "unit of length"),
        _c("length_mm", NUMBER, "total length", "mm"),
        _c("weight", NUMBER, "weight as measured", "weight_unit"),
        _c("weight_unit", KIND, "unit of weight"),
        _c("weight_g", NUMBER, "weight", "g"),
        SIZE_CLASS,
        _c(
            "relative_weight",
            NUMBER,
            "relative weight Wr; absent below the least length of the equation",
            "%",
        ),
        _c("fate", KIND, "released, kept or died"),
        _c("site", TEXT, "site or run within the survey"),
        _c("swabbed", YES_NO, "whether the fish has a filled vial"),
        _c("in_the_numbers", YES_NO, "whether its result is one that counts and means use"),
        Q,
        HETEROZYGOSITY,
        N_LOCI,
        CALL_RATE,
    ),
    "vials": (
        _c("vial", TEXT, "vial code"),
        SURVEY,
        _c("fish", COUNT, "number of the fish within its survey"),
        _c("standing", KIND, "printed, filled, blank, void or lost"),
        _c("role", KIND, "sample, blind_duplicate or blank"),
        _c("tissue", KIND, "mouth_swab or fin_clip"),
        _c("medium", TEXT, "what the tissue is kept in"),
        _c("filled_at", MOMENT, "when it was filled"),
        _c("shipment", KIND, "code of the shipment it is in"),
        _c("container_number", COUNT, "plate or box of the shipment"),
        _c("position", TEXT, "well or place, as A01"),
        _c("arrival", KIND, "ok, missing, broken or leaked"),
    ),
    "results": (
        _c("vial", TEXT, "vial code"),
        SURVEY,
        _c("fish", COUNT, "number of the fish within its survey"),
        _c("shipment", KIND, "code of the shipment"),
        _c("file", KIND, "name of the file the lab sent"),
        _c("row", COUNT, "row of that file, the first is 1"),
        _c("panel", KIND, "code of the panel"),
        _c("outcome", KIND, "typed or failed"),
        _c("standing", KIND, "current, superseded, rejected or held"),
        _c("counts", YES_NO, "whether it is the result that counts for its fish"),
        Q,
        _c("other_q", NUMBER, "share of the panel's other taxon, where the lab gives it", "0 to 1"),
        _c("third_q", NUMBER, "share of a third lineage, where the lab gives it", "0 to 1"),
        HETEROZYGOSITY,
        N_LOCI,
        CALL_RATE,
        _c("lab_class", TEXT, "the lab's own word for the kind of fish"),
        _c("failure", TEXT, "the lab's own word for a failure"),
    ),
    "genotypes": (
        _c("vial", TEXT, "vial code"),
        SURVEY,
        _c("fish", COUNT, "number of the fish within its survey"),
        _c("marker", KIND, "locus, by the lab's name for it"),
        _c("n_alleles", COUNT, "alleles of the panel's first taxon; absent: no call", "0, 1, 2"),
    ),
    "stockings": (
        LAKE,
        _c("stocked_on", DAY, "day of the stocking"),
        _c("taxon", KIND, "kind of fish"),
        _c("n_fish", COUNT, "fish stocked", "fish"),
        _c("size", TEXT, "their size in words"),
        _c("source", TEXT, "where they came from"),
    ),
    "findings": (
        _c("finding", TEXT, "number of the finding, as F12"),
        _c("kind", KIND, "kind of finding"),
        _c("shipment", KIND, "code of the shipment it concerns"),
        SURVEY,
        _c("vial", TEXT, "vial code it concerns"),
        _c("text", TEXT, "the finding in a sentence"),
        _c("opened_at", MOMENT, "when it was opened"),
        _c("decision", KIND, "what was decided; absent: open"),
        _c("decided_at", MOMENT, "when it was decided"),
        _c("decided_by", TEXT, "who decided it"),
        _c("why", TEXT, "the reason given"),
    ),
    "classes": (
        LAKE,
        SURVEY,
        SURVEYED_ON,
        SIZE_CLASS,
        _c("n_caught", COUNT, "fish caught", "fish"),
        _c("n_swabbed", COUNT, "fish with a filled vial", "fish"),
        _c("n_resulted", COUNT, "fish with a result that counts", "fish"),
        _c("mean", NUMBER, "mean q of the fish typed", "0 to 1"),
        LOW,
        HIGH,
        _c("guard", TEXT, "what to mind: too few to read, wide; absent: nothing"),
    ),
    "changes": (
        LAKE,
        _c("earlier", TEXT, "code of the earlier survey"),
        _c("later", TEXT, "code of the later survey"),
        _c("group", KIND, "lake, young or adult"),
        _c("difference", NUMBER, "later minus earlier mean q, each weighted alike to the catch", "-1 to 1"),
        _c("low", NUMBER, "lower 95 % limit", "-1 to 1"),
        _c("high", NUMBER, "upper 95 % limit", "-1 to 1"),
        _c("p", NUMBER, "p of no change, from the same statistic as the limits"),
        _c("n_earlier", COUNT, "fish typed in the earlier survey", "fish"),
        _c("n_later", COUNT, "fish typed in the later survey", "fish"),
    ),
    "lakes": (
        LAKE,
        _c("name", TEXT, "name of the lake"),
        _c("survey", TEXT, "survey the numbers are of"),
        SURVEYED_ON,
        _c("n", COUNT, "fish typed", "fish"),
        _c("mean", NUMBER, "mean q weighted to the catch", "0 to 1"),
        LOW,
        HIGH,
        _c("change", NUMBER, "change since the survey before", "-1 to 1"),
        _c("change_low", NUMBER, "lower 95 % limit of the change", "-1 to 1"),
        _c("change_high", NUMBER, "upper 95 % limit of the change", "-1 to 1"),
        _c("change_p", NUMBER, "p of no change"),
    ),
}


def described(table: str) -> Sequence[tuple[str, str, str, str]]:
    """Return the columns of a table as rows: name, dtype, unit, meaning. Raises KeyError for another table."""
    return [(column.name, column.dtype, column.unit or "", column.meaning) for column in TABLES[table]]
