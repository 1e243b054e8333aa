"""Which row of a sheet read again is which row of its first reading: by the rows around it, never by its number."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass, field
from difflib import SequenceMatcher


@dataclass
class SameRows:
    """How the rows of two readings belong together, by their places in the lists.

    same: new -> old; added: new rows that were not there; gone: old rows that are there no more
    doubtful: new rows that may be a changed old row or a new fish, with the old rows they may be
    """

    same: dict[int, int] = field(default_factory=dict)
    added: list[int] = field(default_factory=list)
    gone: list[int] = field(default_factory=list)
    doubtful: dict[int, list[int]] = field(default_factory=dict)


def same_rows(old: Sequence[Hashable], new: Sequence[Hashable], known: dict[int, int]) -> SameRows:
    """Return how two readings of a sheet belong together.

    old, new: what each row says, in order, equal where it says the same
    known: new -> old for the rows that are known otherwise (by a vial or a number)

    A row is the same where it says the same and stands between rows that agree, or was moved whole; a changed row
    is known where as many rows changed between two that agree as are there now. Rows that came or went between
    others are added or gone. Where rows changed and came or went in one place, it is doubtful which is which.
    """
    known = dict(known)
    taken = set(known.values())
    old_marks = [("known", at) if at in taken else ("says", what) for at, what in enumerate(old)]
    new_marks = [("known", known[at]) if at in known else ("says", what) for at, what in enumerate(new)]
    pairs = SameRows(same=dict(known))
    blocks: list[tuple[list[int], list[int]]] = []
    for tag, a, b, c, d in SequenceMatcher(None, old_marks, new_marks, autojunk=False).get_opcodes():
        olds = [at for at in range(a, b) if at not in taken]
        news = [at for at in range(c, d) if at not in known]
        if tag == "equal":
            pairs.same |= {
                at: other for at, other in zip(range(c, d), range(a, b), strict=True) if at not in known
            }
        else:
            blocks.append((olds, news))
    _pair_moved(old, new, blocks, pairs)
    for olds, news in blocks:
        if len(olds) == len(news):
            pairs.same |= dict(zip(news, olds, strict=True))
        elif not olds:
            pairs.added += news
        elif not news:
            pairs.gone += olds
        else:
            pairs.doubtful |= {at: list(olds) for at in news}
    return pairs


def _pair_moved(
    old: Sequence[Hashable],
    new: Sequence[Hashable],
    blocks: list[tuple[list[int], list[int]]],
    pairs: SameRows,
) -> None:
    """Pair rows that went from one place and came, saying the same, in another."""
    gone: dict[Hashable, list[int]] = {}
    for olds, _ in blocks:
        for at in olds:
            gone.setdefault(old[at], []).append(at)
    for _, news in blocks:
        for at in list(news):
            if gone.get(new[at]):
                other = gone[new[at]].pop(0)
                pairs.same[at] = other
                news.remove(at)
                next(olds for olds, _ in blocks if other in olds).remove(other)
