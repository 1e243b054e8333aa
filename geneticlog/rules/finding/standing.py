"""What a result counts for after all decisions on the findings about it, whatever their order.

A result with a finding that holds it is in no number until every such finding is accepted or recounted, and one that
any finding rejects is out. Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass

from geneticlog.rules.finding.decision import Decision
from geneticlog.rules.result.result_states import Outcome, ResultStanding

SETTLES = (Decision.ACCEPT, Decision.RECOUNT)  # decisions after which a finding holds a result no longer


@dataclass(frozen=True)
class Result:
    """The result that is judged: its vial, the row it came from (None: of no row) and what the row came to."""

    vial: str
    row: int | None
    outcome: Outcome


@dataclass(frozen=True)
class About:
    """What one finding about a result says.

    decision
        None: it waits.
    holds
        whether results wait for its decision.
    vials
        the vials that the decision was about; empty: all of them.
    row
        the row that the decision let count, of several that differ; None: none was named.
    unmatched
        the result came of a match that was taken back.
    """

    decision: Decision | None
    holds: bool = False
    vials: Collection[str] = ()
    row: int | None = None
    unmatched: bool = False


def standing_of(result: Result, findings: Iterable[About]) -> ResultStanding:
    """Return the standing of a result that no later file has replaced."""
    findings = list(findings)
    if any(_out(result, one) for one in findings):
        return ResultStanding.REJECTED
    if any(one.holds and one.decision not in SETTLES for one in findings):
        return ResultStanding.HELD
    return ResultStanding.CURRENT


def _out(result: Result, finding: About) -> bool:
    """Whether a decision takes a result out of the numbers."""
    meant = not finding.vials or result.vial in finding.vials
    return (
        finding.unmatched
        or (finding.decision is Decision.ACCEPT and finding.row not in (None, result.row))
        or (finding.decision is Decision.REJECT and meant)
        or (finding.decision is Decision.RESAMPLE and meant and result.outcome is Outcome.TYPED)
    )
