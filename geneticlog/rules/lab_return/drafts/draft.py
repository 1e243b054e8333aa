"""What one row of a lab's file says of one vial."""

from __future__ import annotations

from dataclasses import dataclass, field

from geneticlog.rules.finding.finding_kinds import (
    FINDINGS,
    FindingKind,
    Noted,
)
from geneticlog.rules.result.result_states import Outcome

LEFT_BLANK = "left blank"  # what stands for the lab's words where a cell is empty


@dataclass(slots=True)
class Draft:
    """What one row says. Shares are of one; ``code`` is None where the text is no vial code.

    ``outcome`` is typed or failed; ``failure`` the lab's own words; ``noted`` what is doubtful, and ``held``
    whether one of these keeps the result out of the numbers until a person decides.
    """

    row: int
    written: str
    code: str | None
    outcome: Outcome = Outcome.TYPED
    q: float | None = None
    other_q: float | None = None
    third_q: float | None = None
    heterozygosity: float | None = None
    call_rate: float | None = None
    n_loci: int | None = None
    lab_class: str | None = None
    failure: str | None = None
    genotypes: dict[str, int | None] | None = None
    noted: list[Noted] = field(default_factory=list)
    held: bool = False
    half_digits: tuple[float, float] = (0.0, 0.0)  # of q and of heterozygosity, as written

    @property
    def said(self) -> tuple[object, ...]:
        """What two rows of one vial must share to be the same result."""
        calls = tuple(sorted(self.genotypes.items())) if self.genotypes else None
        unread = tuple(
            str(noted.facts.get("written"))
            for noted in self.noted
            if FINDINGS[noted.kind].holds and noted.kind != FindingKind.LONGER_CODE
        )
        shares = (self.q, self.other_q, self.third_q, self.heterozygosity, self.n_loci, self.call_rate)
        return (self.outcome, *shares, self.lab_class, calls, unread)

    def note(self, kind: FindingKind, **facts: object) -> None:
        """Note something doubtful; the result is held where that kind of finding holds it."""
        self.noted.append(Noted(kind, facts))
        self.held = self.held or FINDINGS[kind].holds


def said_again(draft: Draft, row_number: int, code: str) -> Draft:
    return Draft(
        row_number,
        code,
        code,
        draft.outcome,
        draft.q,
        draft.other_q,
        draft.third_q,
        draft.heterozygosity,
        draft.call_rate,
        draft.n_loci,
        draft.lab_class,
        draft.failure,
        None,
        draft.noted.copy(),
        draft.held,
        draft.half_digits,
    )
