"""The counts of a shipment's return, which always add up."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass

from geneticlog.rules.result.result_states import Outcome, ResultStanding, ReturnedAs


@dataclass(frozen=True)
class ReturnedRow:
    """One row in force of a return: the vial it is about (None: none of ours) and the outcome of its row."""

    vial: str | None
    outcome: Outcome


Standing = tuple[ResultStanding, Outcome]  # of one result of a vial


@dataclass(frozen=True)
class Counts:
    """Vials sent and returned (vials), rows about other codes and extra rows (rows).

    matched
        with a number that counts, or a blank that gave nothing, as a blank should.
    failed
        without a number, and that is what counts of them.
    conflicting
        held, for rows that contradict each other.
    held
        held for another reason: in no number until a person decides.
    rejected
        a person decided that what came back is in no number.
    blanks, clean_blanks
        blanks among the returned, and those of them that gave nothing.
    """

    sent: int
    returned: int
    matched: int
    failed: int
    missing: int
    unexpected: int
    conflicting: int
    duplicate_rows: int
    blanks: int = 0
    clean_blanks: int = 0
    held: int = 0
    rejected: int = 0


def standing_of(results: Iterable[Standing], outcomes: Iterable[Outcome] = ()) -> ReturnedAs:
    """Return what a returned vial comes to: matched, failed, conflicting, held or rejected.

    results
        of the vial that no later file has replaced.
    outcomes
        of its rows in force; they tell why a result is held.
    """
    standings = set(results)
    if (ResultStanding.CURRENT, Outcome.TYPED) in standings:
        return ReturnedAs.MATCHED
    if (ResultStanding.CURRENT, Outcome.FAILED) in standings:
        return ReturnedAs.FAILED
    if any(standing == ResultStanding.HELD for standing, _ in standings):
        return ReturnedAs.CONFLICTING if Outcome.CONFLICTING in set(outcomes) else ReturnedAs.HELD
    return ReturnedAs.REJECTED


def count_return(
    sent: Collection[str],
    rows: Iterable[ReturnedRow],
    results: Mapping[str, Collection[Standing]],
    blanks: Collection[str] = (),
) -> Counts:
    """Return the counts of a return against what was sent; ``blanks`` are the vials that hold no fish.

    sent = positions; returned = sent vials with at least one row; missing = sent - returned; matched, failed,
    conflicting, held and rejected part the returned, a blank that gave nothing being matched; unexpected = rows about a
    code that is not in the shipment; duplicate_rows = rows beyond the first of each returned vial.
    """
    vials, empty = frozenset(sent), frozenset(blanks)
    outcomes: dict[str, list[Outcome]] = defaultdict(list)
    unexpected = 0
    for row in rows:
        if row.vial is not None and row.vial in vials:
            outcomes[row.vial].append(row.outcome)
        else:
            unexpected += 1
    standing = {vial: standing_of(results.get(vial, ()), there) for vial, there in outcomes.items()}
    clean = [vial for vial in standing if vial in empty and standing[vial] == ReturnedAs.FAILED]
    standing.update(dict.fromkeys(clean, ReturnedAs.MATCHED))
    standings = list(standing.values())
    return Counts(
        sent=len(vials),
        returned=len(standing),
        matched=standings.count(ReturnedAs.MATCHED),
        failed=standings.count(ReturnedAs.FAILED),
        missing=len(vials) - len(standing),
        unexpected=unexpected,
        conflicting=standings.count(ReturnedAs.CONFLICTING),
        duplicate_rows=sum(map(len, outcomes.values())) - len(standing),
        blanks=sum(vial in empty for vial in standing),
        clean_blanks=len(clean),
        held=standings.count(ReturnedAs.HELD),
        rejected=standings.count(ReturnedAs.REJECTED),
    )
