"""What became of a vial at the lab, as far as another database tells it. The words are those that are stored."""

from __future__ import annotations

from enum import StrEnum


class ToldFate(StrEnum):
    """What the database that ships a vial says of it."""

    SHIPPED = "shipped"  # and nothing is known yet
    TYPED = "typed"
    FAILED = "failed"
