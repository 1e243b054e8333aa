"""The states of a vial, and what it holds a sample for. The words are those that are stored."""

from __future__ import annotations

from enum import StrEnum


class VialStanding(StrEnum):
    """What became of a vial on this side: printed is free, lost and broken were filled and are gone."""

    PRINTED = "printed"
    FILLED = "filled"
    BLANK = "blank"  # preservative without a fish
    VOID = "void"
    LOST = "lost"
    BROKEN = "broken"


class VialRole(StrEnum):
    """What a vial is for."""

    SAMPLE = "sample"
    BLIND_DUPLICATE = "blind_duplicate"
    BLANK = "blank"
