"""Whom the office asks to settle a finding, so that none lies in the wrong tray. Common practice, no source."""

from __future__ import annotations

from geneticlog.rules.lab_return.finding_kinds import FINDINGS

CREW, OFFICE, LAB, BIOLOGIST = "the crew", "the office", "the lab", "the biologist"
BY_KIND = {
    # labels, boxes and lists, which the office has at hand
    **dict.fromkeys(
        (
            "unexpected",
            "code_respelled",
            "duplicate_row",
            "hidden_rows",
            "shipment_not_sent",
            "shipment_closed",
        ),
        OFFICE,
    ),
    # only the lab knows
    **dict.fromkeys(("missing", "returned_though_gone", "blank_typed", "loci_unknown"), LAB),
    # what a fish is worth to the survey, and which of two vials is right
    **dict.fromkeys(
        ("failed", "same_genotype", "same_genotype_many", "identical_run", "duplicates_disagree"), BIOLOGIST
    ),
}


def waits_for(kind: str) -> str:
    """Return whom a finding of this kind waits for.

    Doubts raised while fish were logged wait for the crew; values that are held, for the lab; the rest for the
    biologist.
    """
    if kind in BY_KIND:
        return BY_KIND[kind]
    known = FINDINGS.get(kind)
    if known is None:
        return CREW
    return LAB if known.holds else BIOLOGIST
