"""The counts of a shipment's return, which always add up."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class ReturnedRow:
    """One row in force of a return: the vial it is about (None: none of ours) and what it said.

    outcome: typed, failed, conflicting, or another word for a row that came back and is neither of the two
    settled: a person or the reading has made one result of this vial the one that counts
    """

    vial: str | None
    outcome: str
    settled: bool = False


@dataclass(frozen=True)
class Counts:
    """Vials sent and returned (vials), rows about other codes and extra rows (rows).

    blanks, clean_blanks: blanks among the returned, and those of them that gave nothing, as a blank should. A clean
    blank is matched and not failed: it brought what was wanted of it.
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

    def adds_up(self, n_rows: int) -> bool:
        """Return whether the three identities hold for so many rows in force."""
        return (
            self.returned == self.matched + self.failed + self.conflicting
            and self.sent == self.returned + self.missing
            and n_rows == self.returned + self.duplicate_rows + self.unexpected
            and 0 <= self.clean_blanks <= min(self.blanks, self.matched)
            and self.blanks <= self.returned
            and min(self.missing, self.unexpected, self.duplicate_rows, self.matched, self.failed) >= 0
        )


def standing_of(rows: Iterable[ReturnedRow]) -> str:
    """Return what the rows of one sent vial come to: matched, failed or conflicting.

    conflicting: rows that contradict each other and are not settled; failed: nothing but failures; matched:
    everything else, also a doubtful value, which is about this vial and has a finding of its own.
    """
    there = list(rows)
    counted = [row for row in there if row.settled]
    if not counted and any(row.outcome == "conflicting" for row in there):
        return "conflicting"
    said = counted or [row for row in there if row.outcome != "duplicate"] or there
    return "failed" if all(row.outcome == "failed" for row in said) else "matched"


def count_return(sent: Collection[str], rows: Iterable[ReturnedRow], blanks: Collection[str] = ()) -> Counts:
    """Return the counts of a return against what was sent; ``blanks`` are the vials that hold no fish.

    sent = positions; returned = sent vials with at least one row; missing = sent - returned; matched, failed
    and conflicting part the returned, a blank that gave nothing being matched; unexpected = rows about a code
    that is not in the shipment; duplicate_rows = rows beyond the first of each returned vial.
    """
    vials = frozenset(sent)
    by_vial: dict[str, list[ReturnedRow]] = defaultdict(list)
    unexpected = 0
    for row in rows:
        if row.vial is not None and row.vial in vials:
            by_vial[row.vial].append(row)
        else:
            unexpected += 1
    standing = {vial: standing_of(there) for vial, there in by_vial.items()}
    there = [vial for vial in by_vial if vial in frozenset(blanks)]
    clean = [vial for vial in there if standing[vial] == "failed"]
    standing.update(dict.fromkeys(clean, "matched"))
    standings = list(standing.values())
    return Counts(
        sent=len(vials),
        returned=len(by_vial),
        matched=standings.count("matched"),
        failed=standings.count("failed"),
        missing=len(vials) - len(by_vial),
        unexpected=unexpected,
        conflicting=standings.count("conflicting"),
        duplicate_rows=sum(map(len, by_vial.values())) - len(by_vial),
        blanks=len(there),
        clean_blanks=len(clean),
    )
