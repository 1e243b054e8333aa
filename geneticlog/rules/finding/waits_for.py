"""Whom the office asks to settle a finding, so that none lies in the wrong tray. Common practice, no source."""

from __future__ import annotations

from geneticlog.rules.finding.finding_kinds import FINDINGS, FindingKind

CREW, OFFICE, LAB, BIOLOGIST = "the crew", "the office", "the lab", "the biologist"
BY_KIND = {
    # labels, boxes and lists, which the office has at hand
    **dict.fromkeys(
        (
            FindingKind.UNEXPECTED,
            FindingKind.CODE_RESPELLED,
            FindingKind.DUPLICATE_ROW,
            FindingKind.HIDDEN_ROWS,
            FindingKind.SHIPMENT_NOT_SENT,
            FindingKind.SHIPMENT_CLOSED,
        ),
        OFFICE,
    ),
    # only the lab knows
    **dict.fromkeys(
        (
            FindingKind.MISSING,
            FindingKind.LEFT_OUT,
            FindingKind.RETURNED_THOUGH_GONE,
            FindingKind.BLANK_TYPED,
            FindingKind.LOCI_UNKNOWN,
        ),
        LAB,
    ),
    # what a fish is worth to the survey, and which of two vials is right
    **dict.fromkeys(
        (
            FindingKind.FAILED,
            FindingKind.SAME_GENOTYPE,
            FindingKind.SAME_GENOTYPE_MANY,
            FindingKind.IDENTICAL_RUN,
            FindingKind.DUPLICATES_DISAGREE,
        ),
        BIOLOGIST,
    ),
}


def waits_for(kind: FindingKind) -> str:
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
