"""Whether a report that was sent out still holds: what it rested on, against what counts now, in words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from geneticlog.rules.sentences import listed, n_of

MOST_NAMED = 4
TOLERANCE = 1e-9  # of a proportion: nearer is the same number


@dataclass(frozen=True)
class Counted:
    """One result that counts: its fish, the size class of that fish, q and heterozygosity, the loci scored."""

    fish: str
    size_class: str | None
    q: float
    heterozygosity: float | None = None
    n_loci: int | None = None


@dataclass(frozen=True)
class Basis:
    """What a report rests on: vial -> the result that counts; survey -> size class ("" for none) -> fish caught."""

    results: Mapping[str, Counted] = field(default_factory=dict)
    caught: Mapping[str, Mapping[str, int]] = field(default_factory=dict)


@dataclass(frozen=True)
class Verdict:
    """What became of the basis of a report; n_newer: results that count now and were not there then."""

    changes: tuple[str, ...]
    n_newer: int

    @property
    def outdated(self) -> bool:
        return bool(self.changes)


def verdict_on(then: Basis, now: Basis) -> Verdict:
    """Return what has changed behind a report.

    A result that was taken back, decided otherwise, corrected, or whose fish or catch was corrected makes it outdated.
    Results of later returns and surveys do not: what was reported of the earlier fish still holds.
    """
    gone = sorted(vial for vial in then.results if vial not in now.results)
    both = [(vial, one, now.results[vial]) for vial, one in then.results.items() if vial in now.results]
    moved = [
        f"{vial} from {_percent(old.q)} to {_percent(new.q)}"
        for vial, old, new in both
        if abs(old.q - new.q) > TOLERANCE
    ]
    other = [
        vial
        for vial, old, new in both
        if abs(old.q - new.q) <= TOLERANCE
        and (not _same(old.heterozygosity, new.heterozygosity) or old.n_loci != new.n_loci)
    ]
    sized = [
        f"fish {new.fish} from {old.size_class or 'no size class'} to {new.size_class or 'no size class'}"
        for _, old, new in both
        if old.size_class != new.size_class
    ]
    catches = [
        f"{survey} from {sum(classes.values())} to {sum(now.caught.get(survey, {}).values())} fish"
        for survey, classes in then.caught.items()
        if dict(classes) != dict(now.caught.get(survey, {})) and not sized
    ]
    changes = [
        _said(gone, "result that no longer counts", "results that no longer count"),
        _said(moved, "result changed", "results changed"),
        _said(other, "result with other heterozygosity or loci", "results with other heterozygosity or loci"),
        _said(sized, "fish of another size class", "fish of another size class"),
        _said(catches, "catch corrected", "catches corrected"),
    ]
    n_newer = sum(vial not in then.results for vial in now.results)
    return Verdict(tuple(one for one in changes if one), n_newer)


def _said(which: list[str], singular: str, several: str) -> str:
    if not which:
        return ""
    named = which if len(which) <= MOST_NAMED else [*which[:MOST_NAMED], f"{len(which) - MOST_NAMED} more"]
    return f"{n_of(len(which), singular, several)}: {listed(named)}"


def _same(a: float | None, b: float | None) -> bool:
    return a == b if a is None or b is None else abs(a - b) <= TOLERANCE


def _percent(q: float) -> str:
    return f"{100 * q:.1f} %"
