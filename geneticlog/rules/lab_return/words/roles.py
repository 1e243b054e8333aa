"""What a column of a lab's file can be taken for."""

from __future__ import annotations

from enum import StrEnum


class ColumnRole(StrEnum):
    """What a column holds; layouts and options name it by these words."""

    VIAL = "vial"
    Q = "q"
    OTHER_Q = "other_q"
    THIRD_Q = "third_q"
    HETEROZYGOSITY = "heterozygosity"
    N_LOCI = "n_loci"
    CALL_RATE = "call_rate"
    LAB_CLASS = "lab_class"
    FAILURE = "failure"
    MARKER = "marker"
    NOT_USED = ""


# each role in words; the first group carries a result
ROLES = {
    ColumnRole.VIAL: "our vial code",
    ColumnRole.Q: "share of {taxon} alleles",
    ColumnRole.OTHER_Q: "share of {other_taxon} alleles",
    ColumnRole.THIRD_Q: "share of a third lineage",
    ColumnRole.HETEROZYGOSITY: "share of heterozygous loci",
    ColumnRole.N_LOCI: "loci scored",
    ColumnRole.CALL_RATE: "call rate",
    ColumnRole.LAB_CLASS: "the lab's class",
    ColumnRole.FAILURE: "the lab's word on the sample",
    ColumnRole.MARKER: "genotype at one locus",
    ColumnRole.NOT_USED: "not used",
}
PROPORTIONS = (
    ColumnRole.Q, ColumnRole.OTHER_Q, ColumnRole.THIRD_Q, ColumnRole.HETEROZYGOSITY, ColumnRole.CALL_RATE,
)  # fmt: skip
