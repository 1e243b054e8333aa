"""What became of a fish that was handed in: a card of the log, or a row of a field sheet."""

from __future__ import annotations

from enum import StrEnum


class Doing(StrEnum):
    """What handing in a fish did."""

    STORED = "stored"
    COMPLETED = "completed"  # a part was added to its fish
    CHANGED = "changed"
    ALREADY = "already"  # it was there, and nothing changed
    UNDONE = "undone"  # it was stored once and taken back, and stays so
    TAKEN_OUT = "taken out"
    LEFT_OUT = "left out"
