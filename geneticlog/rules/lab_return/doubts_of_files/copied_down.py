"""Shares that somebody dragged or pasted: one value again and again, each one step above the last, or a block twice.

Fish of one brood may be alike, so it is asked how often a value occurs among all fish of the file: where chance makes
such a pattern in less than one of a thousand files, the values are held. A run that is shorter is a finding that holds
nothing.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import pairwise
from math import comb, prod

from geneticlog.rules.finding.finding_kinds import FindingKind
from geneticlog.rules.lab_return.columns.value_checks import identical_runs
from geneticlog.rules.lab_return.doubts_of_files.changed_copies import changed_copies
from geneticlog.rules.lab_return.doubts_of_files.sorted_parts import mostly_sorted, sorted_parts
from geneticlog.rules.lab_return.drafts.draft import Draft

LEAST_ALIKE, LEAST_STEPS, LEAST_BLOCK = (
    5,
    6,
    4,
)  # neighbours of one share, of one step, and values that come twice
LEAST_PAIRS, LEAST_PAIRS_OF_SHARES, MOSTLY_NEXT = (
    2,
    6,
    0.5,
)  # of alike neighbours, and their part of all alike
LEAST_ALL = 12  # shares of a file that all go up by one step
NEAR = 10  # rows above and below a run: fish of one place are neighbours, and alike
LEAST_OTHERS = 5  # fish beside a run, to tell how often its share occurs
MOST_PAIRS = 300_000  # of rows that are alike; where there are more, the values are few, and say little
BY_CHANCE = 0.001  # files in which chance makes such a pattern
AROUND = 0.05  # of a share: nearly as often as it are those so near
NEARLY_PURE = 0.05  # fish nearer to 0 or 1 share their few alleles by chance
Said = tuple[float, float | None, int | None]  # share, heterozygosity and loci scored
Copied = tuple[str, list[Draft]]


def note_copied_down(drafts: Sequence[Draft], known: Callable[[str], Mapping[int, int]]) -> None:
    """Note on each draft of a pattern that its share may have been copied; it is then held.

    known
        by row, the number of its fish (fish_id), for two vials of one fish are meant to be alike.
    """
    fish = known("fish_id")
    noted: set[int] = set()
    for how, of in copied_down(drafts, fish):
        for draft in of:
            if draft.row not in noted:
                noted.add(draft.row)
                draft.note(FindingKind.COPIED_DOWN, how=how)


def copied_down(drafts: Sequence[Draft], fish: Mapping[int, int]) -> list[Copied]:
    """Return the patterns of shares that chance does not make: what is seen, in words, and the drafts.

    fish
        by row, which fish it is about; rows of one fish are not compared.
    """
    figures = [_said(draft) for draft in drafts]
    shares = [one[0] if one else None for one in figures]
    parts = sorted_parts(shares)
    steps = [
        list(drafts[a:b])
        for a, b in equal_steps([one[0] if one and one[1] is None else None for one in figures])
        if len(parts.get(a, ())) < 2 * (b - a)
    ]
    patterns = [("neighbouring vials have the same step from one q to the next", run) for run in steps]
    if not in_order([share for share in shares if share is not None]):
        shuffled = [None if i in parts else one for i, one in enumerate(figures)]
        patterns += [*_runs(drafts, shuffled), *_pairs(drafts, shuffled, fish)]
    patterns += _blocks(drafts, figures, fish, parts)
    seen = {draft.row for _, of in patterns for draft in of}
    changed = _changed(drafts, figures, fish, parts)
    return patterns + [
        (how, of) for how, of in changed if 2 * sum(draft.row in seen for draft in of) < len(of)
    ]


def _changed(
    drafts: Sequence[Draft],
    figures: Sequence[Said | None],
    fish: Mapping[int, int],
    parts: Mapping[int, range],
) -> list[Copied]:
    """Blocks that were copied and changed."""
    shares = {i: one[0] for i, one in enumerate(figures) if one}
    mixed = frozenset(i for i, share in shares.items() if is_mixed(share))
    numbers: dict[str, int] = {}
    which = {
        i: fish.get(draft.row, -numbers.setdefault(draft.code or "", len(numbers) + 1))
        for i, draft in enumerate(drafts)
        if draft.row in fish or draft.code
    }
    return [(how, [drafts[i] for i in rows]) for how, rows in changed_copies(shares, mixed, which, parts)]


def _runs(drafts: Sequence[Draft], figures: Sequence[Said | None]) -> Iterator[Copied]:
    """Neighbours with one share, and one heterozygosity where it is given."""
    alike = [(one[0], one[1]) if one and is_mixed(one[0]) else None for one in figures]
    for first, last in identical_runs(alike, LEAST_ALIKE):
        others, near = (
            [one for one in (*figures[before:first], *figures[last + 1 : after]) if one is not None]
            for before, after in ((0, len(figures)), (max(first - NEAR, 0), last + 1 + NEAR))
        )
        often = max(
            (sum(one[:2] == alike[first] for one in each) + 1) / (len(each) + 2) for each in (others, near)
        )
        if len(others) >= LEAST_OTHERS and len(figures) * float(often ** (last - first)) < BY_CHANCE:
            what = "q" if drafts[first].heterozygosity is None else "q and H"
            yield f"neighbouring vials have the same {what}", list(drafts[first : last + 1])


def _pairs(
    drafts: Sequence[Draft], figures: Sequence[Said | None], fish: Mapping[int, int]
) -> Iterator[Copied]:
    """Pairs of neighbours alike in all that is given of them, far more than pairs of other rows: a look-up of the
    nearest row gives a vial that is not in its list the values of the one before. Of shares without H there have to be
    more such pairs, and hardly others, since fish of one place are neighbours."""
    mixed = [one if one and is_mixed(one[0]) else None for one in figures]
    n = sum(one is not None for one in mixed)
    every = sum(comb(times, 2) for one, times in Counter(mixed).items() if one is not None)
    next_to = [
        i
        for i, (a, b) in enumerate(pairwise(mixed))
        if a is not None and a == b and not _one_fish(drafts[i], drafts[i + 1], fish)
    ]
    full = all(None not in one for one in mixed if one)
    least = LEAST_PAIRS if full else max(LEAST_PAIRS_OF_SHARES, MOSTLY_NEXT * every)
    if (
        len(next_to) < least
        or n < 2 * LEAST_OTHERS
        or at_least(len(next_to), every, 2 / n) >= (BY_CHANCE if full else BY_CHANCE**2)
    ):
        return
    pairs = (i for i, (a, b) in enumerate(pairwise(figures)) if a is not None and a == b)  # pure ones, too
    rows = {i + step for i in pairs for step in (0, 1)}
    given = "q, H and loci" if full else "q"
    yield f"vials have the {given} of the vial before", [drafts[i] for i in sorted(rows)]


def _blocks(
    drafts: Sequence[Draft],
    figures: Sequence[Said | None],
    fish: Mapping[int, int],
    parts: Mapping[int, range],
) -> list[Copied]:
    """Values that come twice in one order, or once upwards and once downwards, or as what they leave of one."""
    blocks = []
    for turned_round in (False, True):
        words = "what the values of other rows leave of one" if turned_round else "the values of other rows"
        for how, first_of, second_of in _repeated(drafts, figures, fish, parts, left_of_one=turned_round):
            both = sorted({*first_of, *second_of})
            blocks.append((f"vials have {words} in {how} order", [drafts[i] for i in both]))
    return blocks


def _left_of_one(one: Said) -> Said | None:
    """What is left of a mixed share, at the digits of any share; None for one that is near its own rest."""
    return (round(1 - one[0], 9), *one[1:]) if is_mixed(one[0]) and abs(one[0] - 0.5) > NEARLY_PURE else None


def _repeated(
    drafts: Sequence[Draft],
    figures: Sequence[Said | None],
    fish: Mapping[int, int],
    parts: Mapping[int, range],
    *,
    left_of_one: bool,
) -> Iterator[tuple[str, list[int], list[int]]]:
    """Yield rows and the rows that have what they have, or leave of one: one block after the other, in the same order
    or turned.

    Chance is that of each value's share of all values, over every place where a block could be, in both orders, as it
    is or turned round.
    """
    n = len(figures)
    at: dict[Said, list[int]] = {}
    for i, figure in enumerate(figures):
        if figure:
            at.setdefault(_key(figure), []).append(i)
    keys = [_left_of_one(one) if left_of_one and one else one and _key(one) for one in figures]
    pairs = sum(len(at.get(key, ())) for key in keys if key)
    if not LEAST_BLOCK <= pairs <= MOST_PAIRS:
        return
    known = sorted(one[0] for one in figures if one)
    same: dict[int, list[int]] = {}  # by how many rows below, the first rows
    turned: dict[int, list[int]] = {}  # by the sum of both rows
    for first, key in enumerate(keys):
        for second in at.get(key, ()) if key else ():
            if second > first and not _one_fish(drafts[first], drafts[second], fish):
                same.setdefault(second - first, []).append(first)
                turned.setdefault(second + first, []).append(first)
    for how, by_place, sign in (("the same", same, 1), ("the opposite", turned, -1)):
        for place, firsts in by_place.items():
            blocks = [
                block
                for block in _in_a_row(sorted(firsts))
                if not mostly_sorted(block, parts)
                and len({keys[i] for i in block}) >= LEAST_BLOCK
                and 2 * n * n * prod(_often(keys[i], at, known, own=keys[i] == figures[i]) for i in block)
                < BY_CHANCE
            ]
            if blocks:  # and every other row that fits
                fit = [i for i in range(n) if _fits(figures, left_of_one, i, place + sign * i)]
                yield how, fit, [place + sign * i for i in fit]


def _often(
    key: Said | None, at: Mapping[Said, Sequence[int]], shares: Sequence[float], *, own: bool
) -> float:
    """How often a value occurs among the other rows; of one that only its copy has, as often as its neighbours among
    the whole numbers of alleles at the loci scored, but at most once in all rows."""
    if key is None:
        return 1.0
    few, n = len(at[key]) - own, len(shares)
    if few > 1 or not key[2]:
        return max(few, 1) / n
    nearly = bisect_right(shares, key[0] + AROUND) - bisect_left(shares, key[0] - AROUND)
    return min(1.0, nearly / (4 * AROUND * key[2])) / n


def _fits(figures: Sequence[Said | None], left_of_one: bool, first: int, second: int) -> bool:
    """Whether a row below another one has what that one has, or leaves of one."""
    a, b = figures[first], figures[second] if first < second < len(figures) else None
    if a is None or b is None:
        return False
    return _key((1 - a[0], *a[1:]) if left_of_one else a) == _key(b)


def _key(figure: Said) -> Said:
    return (round(figure[0], 9), *figure[1:])


def _said(draft: Draft) -> Said | None:
    """The figures of a fish; None without a share, and where its genotypes tell it from others."""
    return None if draft.q is None or draft.genotypes else (draft.q, draft.heterozygosity, draft.n_loci)


def is_mixed(q: float) -> bool:
    """Whether a share tells fish apart: nearly pure fish share their few alleles, and first crosses are all alike."""
    return NEARLY_PURE < q < 1 - NEARLY_PURE and q != 0.5


def _one_fish(a: Draft, b: Draft, fish: Mapping[int, int]) -> bool:
    same = a.row in fish and fish[a.row] == fish.get(b.row)
    return same or (a.code is not None and a.code == b.code)


def at_least(k: int, n: int, p: float) -> float:
    """The chance of k or more of n; n may be millions of pairs.

    A binomial tail is a regularised incomplete beta (NIST Digital Library of Mathematical Functions 8.17.5).
    """
    from scipy.special import betainc

    return float(betainc(k, n - k + 1, p)) if 0 < k <= n else float(k <= 0)


def _in_a_row(places: Sequence[int]) -> Iterator[list[int]]:
    """Parts of rising whole numbers that follow one another."""
    part: list[int] = []
    for place in places:
        if part and place != part[-1] + 1:
            yield part
            part = []
        part.append(place)
    if part:
        yield part


def in_order(shares: list[float]) -> bool:
    """Whether shares rise, or fall, from the first to the last."""
    return shares in (sorted(shares), sorted(shares, reverse=True))


def equal_steps(shares: Sequence[float | None]) -> list[tuple[int, int]]:
    """The runs (first, one after the last) of shares that grow by one step; of a file in their order, the whole."""
    known = [share for share in shares if share is not None]
    least = max(LEAST_ALL, len(known)) if in_order(known) else LEAST_STEPS
    steps: list[tuple[object, ...] | None] = [
        None if a is None or b is None or abs(b - a) < 1e-9 else (round(b - a, 6),)
        for a, b in pairwise(shares)
    ]
    return [(first, last + 2) for first, last in identical_runs(steps, least - 1)]
