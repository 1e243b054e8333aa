"""A part of a column that was copied and then changed: rounded, moved by one amount, or taken from one amount."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence, Set
from itertools import pairwise
from math import log

from geneticlog.rules.lab_return.doubts_of_files.repeated_order import Block, repeated_blocks
from geneticlog.rules.lab_return.doubts_of_files.sorted_parts import mostly_sorted

BY_CHANCE = 0.0001  # files with such a block by chance, for each way; neighbouring steps share a value
FINEST = 6  # digits to which two steps are the same
MOST_ROWS = 5_000  # of a file; a longer one was put together by a program
LEAST_STEPS = 3  # different ones in a block: a series of one step is another pattern


def changed_copies(
    shares: Mapping[int, float], mixed: Set[int], fish: Mapping[int, int], parts: Mapping[int, range]
) -> Iterator[tuple[str, list[int]]]:
    """Yield what is seen, in words, and the rows from the first to the last of each of two blocks that are alike.

    shares
        by the place of the row, in the order of the file.
    mixed
        the places of those that tell fish apart; the others are no evidence, and are copied with them.
    fish
        by place, which fish it is; rows of one fish are meant to be alike.
    parts
        those of the file that are in the order of their shares; what is in them is not compared.
    """
    places, values = list(shares), list(shares.values())
    if not 2 <= len(values) <= MOST_ROWS:
        return
    percents = [int(100 * q + 0.5 + 1e-9) for q in values]
    steps = [round(b - a, FINEST) for a, b in pairwise(values)]
    back = [-step for step in steps]
    for words, blocks, width in (
        ("the values of other rows, to the percent,", repeated_blocks(percents, percents), 1),
        ("the values of other rows, moved by one amount,", _moved(steps, back, left=False), 2),
        ("what the values of other rows leave of one amount", _moved(steps, back, left=True), 2),
    ):
        for block in blocks:
            kept = block.only(lambda i, j: i < j and not _one_fish(places[i], places[j], fish))
            telling = [_telling(i, values, places, mixed, width) for i in kept.here]
            different = {one for one in telling if one is not None}
            log_chance = kept.log_pairs + sum(
                log_p for one, log_p in zip(telling, kept.log_alike, strict=True) if one is not None
            )
            if len(different) < LEAST_STEPS or log_chance > log(BY_CHANCE):
                continue
            if mostly_sorted([places[i] for i in kept.here], parts):
                continue
            rows = {
                row
                for at in (kept.here, kept.beyond)
                for row in range(places[min(at)], places[max(at) + width - 1] + 1)
            }
            order = "opposite" if block.turned else "same"
            yield f"vials have {words} in the {order} order", sorted(rows)


def _telling(
    i: int, values: Sequence[float], places: Sequence[int], mixed: Set[int], width: int
) -> float | None:
    """The share, or the step to the next one, where it is evidence: pure fish, and steps between them, are none."""
    at = range(i, i + width)
    if all(places[k] not in mixed for k in at) or (width > 1 and values[i] == values[i + 1]):
        return None
    return values[i] if width == 1 else round(values[i + 1] - values[i], FINEST)


def _moved(steps: Sequence[float], back: Sequence[float], *, left: bool) -> Iterator[Block]:
    """Blocks of the same steps: values moved by one amount have the same steps in the same order, or backwards in the
    opposite one; what they leave of one amount has the others."""
    for wanted, turned in ((back, False), (steps, True)) if left else ((steps, False), (back, True)):
        yield from (block for block in repeated_blocks(steps, steps, wanted) if block.turned == turned)


def _one_fish(a: int, b: int, fish: Mapping[int, int]) -> bool:
    return a in fish and fish[a] == fish.get(b)
