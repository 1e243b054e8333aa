"""Values that the lab gave before, for the vials of another shipment: a column pasted beside another list of codes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Hashable, Iterator, Mapping, Sequence
from math import comb, log
from typing import NamedTuple

import numpy as np

from geneticlog.rules.finding.finding_kinds import FindingKind
from geneticlog.rules.lab_return.doubts_of_files.copied_down import BY_CHANCE, is_mixed
from geneticlog.rules.lab_return.doubts_of_files.repeated_order import repeated_blocks, with_gaps
from geneticlog.rules.lab_return.doubts_of_files.sorted_parts import mostly_sorted, sorted_parts
from geneticlog.rules.lab_return.drafts.draft import Draft

LEAST_SET = 8  # mixed fish of a file, to compare them without their order
MOST_VALUES = 1000  # of two lists, whose ways to be split a float can count
N_WAYS = 8  # three keys in two orders, and the two keys of the comparison without order


class Given(NamedTuple):
    """What a result of another shipment says, which fish it is of, and where its vial is in our list."""

    fish_id: int | None
    q: float
    heterozygosity: float | None
    n_loci: int | None
    place: int


ROWS, LIST, NONE = "the order of the rows", "the order of our list", ""
Elsewhere = Mapping[str, Sequence[Given]]  # by shipment, in the order of the lab's rows


class _Value(NamedTuple):
    q: float
    full: Hashable | None  # share, heterozygosity and loci; None where only a share is given
    at: int  # of the drafts, or of all that was given
    place: int


def note_of_another_shipment(
    drafts: Sequence[Draft], elsewhere: Elsewhere, places: Mapping[str, int], fish: Mapping[int, int]
) -> None:
    """Note on each draft that it has the value of another shipment's vial, where chance hardly makes so many; it is
    then held.

    drafts
        of the vials of this shipment.
    places
        by vial code, the place in our list.
    fish
        by row, which fish it is of; another vial of the same fish is meant to be alike.
    """
    noted: set[int] = set()
    for how, at in of_another_shipment(drafts, elsewhere, places, fish):
        for i in at:
            if i not in noted:
                noted.add(i)
                drafts[i].note(FindingKind.COPIED_DOWN, how=how)


def of_another_shipment(
    drafts: Sequence[Draft], elsewhere: Elsewhere, places: Mapping[str, int], fish: Mapping[int, int]
) -> Iterator[tuple[str, list[int]]]:
    """Yield what is seen, in words, and the drafts by their place: blocks in one order, or all values in any order."""
    here = [
        _Value(
            draft.q, _full(draft.q, draft.heterozygosity, draft.n_loci), i, places.get(draft.code or "", i)
        )
        for i, draft in enumerate(drafts)
        if draft.q is not None and is_mixed(draft.q) and not draft.genotypes
    ]
    ours = frozenset(fish.values())
    beyond = {code: mixed for code, given in elsewhere.items() if (mixed := _mixed(given, ours))}
    if not here or not beyond:
        return
    by_place = sorted(range(len(drafts)), key=lambda i: places.get(drafts[i].code or "", i))
    orders = {ROWS: range(len(drafts)), LIST: by_place, NONE: ()}
    for words, at, order in (*_in_one_order(here, beyond), *_without_order(here, beyond)):
        yield words, _with_pure(at, drafts, orders[order])


def _with_pure(at: Sequence[int], drafts: Sequence[Draft], order: Sequence[int]) -> list[int]:
    """The rows of a block with the nearly pure fish among and beside them, which were pasted with the others; of one
    without an order, those of all of the file."""
    block = frozenset(at)
    ends = [i for i, row in enumerate(order) if row in block]
    first, last = (ends[0], ends[-1]) if ends else (0, len(drafts) - 1)
    while ends and first and _is_pure(drafts[order[first - 1]]):
        first -= 1
    while ends and last + 1 < len(order) and _is_pure(drafts[order[last + 1]]):
        last += 1
    among = (order or range(len(drafts)))[first : last + 1]
    return sorted({i for i in among if _is_pure(drafts[i])} | block)


def _is_pure(draft: Draft) -> bool:
    return draft.q is not None and not is_mixed(draft.q)


def _full(q: float, heterozygosity: float | None, n_loci: int | None) -> Hashable | None:
    return None if heterozygosity is None and n_loci is None else (_exact(q), heterozygosity, n_loci)


def _exact(q: float) -> float:
    return round(q, 9)


def _percent(q: float) -> int:
    return int(100 * q + 0.5 + 1e-9)


def _mixed(given: Sequence[Given], ours: Collection[int]) -> list[_Value]:
    return [
        _Value(one.q, _full(one.q, one.heterozygosity, one.n_loci), i, one.place)
        for i, one in enumerate(given)
        if is_mixed(one.q) and one.fish_id not in ours
    ]


_KEYS: tuple[Callable[[_Value], Hashable | None], ...] = (
    lambda one: one.full,
    lambda one: _exact(one.q),
    lambda one: _percent(one.q),
)


def _in_one_order(
    here: Sequence[_Value], beyond: Mapping[str, Sequence[_Value]]
) -> Iterator[tuple[str, list[int], str]]:
    """Blocks in the order of the rows, or of our lists; those in the order of their shares say nothing, for files that
    are sorted so are alike."""
    for order in (ROWS, LIST):
        mine = sorted(here, key=lambda one: one.place) if order == LIST else here
        lists = {
            code: sorted(each, key=lambda one: one.place) if order == LIST else each
            for code, each in beyond.items()
        }
        parts = sorted_parts([one.q for one in mine])
        for key in _KEYS:
            values: list[Hashable | None] = []
            whose: list[str] = []
            for code, each in lists.items():
                values += [*map(key, each), None]
                whose += [code] * (len(each) + 1)
            keys = [key(one) for one in mine]
            for block in repeated_blocks(keys, values):
                if mostly_sorted(block.here, parts) or block.log_chance > log(BY_CHANCE / N_WAYS):
                    continue
                how = "opposite" if block.turned else "same"
                code = whose[block.beyond[0]]
                words = f"vials have the values of shipment {code} in the {how} order"
                yield words, [mine[i].at for i in with_gaps(block, keys, values)[0]], order


def _without_order(
    here: Sequence[_Value], beyond: Mapping[str, Sequence[_Value]]
) -> Iterator[tuple[str, list[int], str]]:
    """All values of the file among those of one shipment, or all of that one in the file, as often."""
    for key in _KEYS[:2]:
        mine = Counter(value for one in here if (value := key(one)) is not None)
        for code, each in beyond.items():
            theirs = Counter(value for one in each if (value := key(one)) is not None)
            few, many = sorted((mine, theirs), key=lambda values: values.total())
            if (
                few.total() < LEAST_SET
                or few - many
                or all_found_by_chance(few, many) * len(beyond) > BY_CHANCE / N_WAYS
            ):
                continue
            among = [one.at for one in here if key(one) in few]
            yield f"vials have the values of shipment {code} in another order", among, NONE


def all_found_by_chance(few: Counter[Hashable], many: Counter[Hashable]) -> float:
    """Return how often chance has the values of the smaller list all in the larger one, as often.

    All ways to part the values of both lists into lists of these lengths are alike (a permutation test): of each value
    at most half may come into the smaller list. The ways are the coefficients of a product of polynomials.
    """
    n, m = few.total(), many.total()
    if n + m > MOST_VALUES:
        return 1.0
    ways = np.ones(1)
    for value, k in many.items():
        of_value = k + few[value]
        part = np.array([float(comb(of_value, i)) for i in range(of_value // 2 + 1)])
        ways = np.convolve(ways, part)[: n + 1]
    return float(ways[n] / comb(n + m, n)) if len(ways) > n else 0.0
