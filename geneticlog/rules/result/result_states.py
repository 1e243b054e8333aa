"""The states of a row of a return and of a result. The words are those that are stored."""

from __future__ import annotations

from enum import StrEnum


class Outcome(StrEnum):
    """What a row of a return came to; a result is typed or failed."""

    TYPED = "typed"
    FAILED = "failed"
    UNEXPECTED = "unexpected"  # about no vial of the shipment
    DUPLICATE = "duplicate"  # repeats another row of the file
    CONFLICTING = "conflicting"  # contradicts another row of the file
    DOUBTFUL = "doubtful"  # waits for a decision


class ResultStanding(StrEnum):
    """Whether a result counts."""

    CURRENT = "current"  # in the numbers
    SUPERSEDED = "superseded"  # a later file replaced it, or its reading was withdrawn
    REJECTED = "rejected"  # a person decided
    HELD = "held"  # waits for a decision; in no number


# the results that a later decision or file still has to look at
UNDER_WAY = (ResultStanding.CURRENT, ResultStanding.HELD)


class ReturnedAs(StrEnum):
    """What a returned vial comes to in the counts of a shipment."""

    MATCHED = "matched"
    FAILED = "failed"
    CONFLICTING = "conflicting"
    HELD = "held"
    REJECTED = "rejected"


class Verdict(StrEnum):
    """What the account of a lab's file says of one thing in it."""

    USED = "used"
    HARMLESS = "harmless"
    HELD = "held"
    ASKED = "asked"
