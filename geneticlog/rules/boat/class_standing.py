"""How the swabs of a size class stand to its target. Common practice, no source."""

from __future__ import annotations

from enum import StrEnum


class ClassStanding(StrEnum):
    """What the swabs of a size class are to its target; the text is how it is said."""

    NO_TARGET = "no target"
    AS_THEY_COME = "as they come"  # the plan wants no certain number of this class
    MORE_THAN_WANTED = "more than wanted"
    NONE_WANTED = "none wanted"
    FULL = "full"
    NONE_CAUGHT = "none caught"
    ALL_CAUGHT_ARE_SWABBED = "all caught are swabbed"  # short, and the fish to fill it have not been caught
    SHORT = "short"


def covering(n_swabbed: int, n_failed: int) -> int:
    """Return the swabbed fish that cover a target: those that did not fail."""
    return n_swabbed - n_failed


def short_by(n_covering: int, target: int | None) -> int | None:
    """Return the swabs still wanted of a class; None where it has no target."""
    return None if target is None else max(0, target - n_covering)


def class_standing(n_caught: int, n_swabbed: int, n_covering: int, target: int | None) -> ClassStanding:
    """Return how a class stands; ``n_covering`` are the swabbed fish that did not fail."""
    if target is None:
        return ClassStanding.NO_TARGET
    if n_covering > target:
        return ClassStanding.MORE_THAN_WANTED
    if n_covering == target:
        return ClassStanding.NONE_WANTED if target == 0 else ClassStanding.FULL
    if n_caught == 0:
        return ClassStanding.NONE_CAUGHT
    return ClassStanding.ALL_CAUGHT_ARE_SWABBED if n_swabbed >= n_caught else ClassStanding.SHORT
