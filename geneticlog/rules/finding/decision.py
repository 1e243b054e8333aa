"""The decisions on a finding. The words are those that are stored and typed."""

from __future__ import annotations

from enum import StrEnum


class Decision(StrEnum):
    """What a person settled about a finding."""

    ACCEPT = "accept"  # what the lab says counts
    RECOUNT = "recount"  # the genotypes count, and not the stated value
    REJECT = "reject"  # the result is in no number
    MATCH = "match"  # the row is about a vial that a person names
    RESAMPLE = "resample"  # the result is in no number, and the fish must be sampled again
    CLOSE = "close"  # seen; nothing changes
