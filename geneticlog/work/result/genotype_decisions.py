"""What a person decided where a lab's stated value and its genotypes differ: which of the two is in the numbers."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import ColumnElement, select
from sqlalchemy.orm import Session

from geneticlog.errors import Refused
from geneticlog.rules.finding.decision import Decision
from geneticlog.rules.finding.finding_kinds import FindingKind
from geneticlog.rules.vialcode import printed
from geneticlog.store.tables import Finding, Fish, Result, ReturnRow, Vial
from geneticlog.work.result.called_loci import called_loci

Value = tuple[str, str, float | None, float | None]  # vial code, what, before, after
Values = dict[tuple[str, str, int], float | None]  # by vial code, name and the id of the result
KIND = FindingKind.GENOTYPES_DISAGREE
STATED = (
    "q",
    "other_q",
    "third_q",
    "heterozygosity",
    "n_loci",
)  # what a lab states and genotypes are counted for


@dataclass(frozen=True, slots=True)
class Settled:
    """One result whose stated value and genotypes differ, settled by a person.

    believes_genotypes
        The count of the genotypes is in the numbers; else what the lab stated is, and the genotypes count for
        nothing.
    words
        The finding, its decision and both values, in a few words.
    """

    believes_genotypes: bool
    words: str


def settled_genotypes(session: Session, of: ColumnElement[bool]) -> dict[int, Settled]:
    """Return, by the result's id, what was decided of each result whose genotypes give another value.

    of
        which results, said of Result or of the Fish whose vial they are about.
    """
    rows = session.execute(
        select(Result.id, ReturnRow.row_number, Finding)
        .join(ReturnRow, ReturnRow.id == Result.return_row_id)
        .join(Vial, Vial.id == Result.vial_id)
        .outerjoin(Fish, Fish.id == Vial.fish_id)
        .join(Finding, (Finding.vial_id == Vial.id) & (Finding.return_file_id == ReturnRow.return_file_id))
        .where(of, Finding.kind == KIND, Finding.decision.in_([Decision.ACCEPT, Decision.RECOUNT]))
    )
    return {
        result_id: _settled(finding) for result_id, row_number, finding in rows if row_number in finding.rows
    }


def _settled(finding: Finding) -> Settled:
    facts = finding.data.facts
    name = f"F{finding.number}"
    if finding.decision == Decision.RECOUNT:
        return Settled(
            True,
            f"{facts['counted']} counted from the genotypes, the lab stated {facts['stated']} ({name}, recount)",
        )
    return Settled(
        False, f"{facts['stated']} as the lab stated, its genotypes give {facts['counted']} ({name}, accept)"
    )


def recount(session: Session, results: Sequence[Result]) -> list[dict[str, Any]]:
    """Give results the q, H and loci of their own genotypes; return what each held before, to be given back.

    Raises Refused for a result without a called locus.
    """
    calls = called_loci(session, Result.id.in_([result.id for result in results]))
    before = []
    for result in results:
        if result.id not in calls:
            raise Refused(f"{printed(result.vial.code)} has no genotypes to count; accept or reject it")
        n0, n1, n2 = calls[result.id].loci
        scored = n0 + n1 + n2
        before.append({"result": result.id, **{name: getattr(result, name) for name in STATED}})
        result.q, result.heterozygosity, result.n_loci = (n1 + 2 * n2) / (2 * scored), n1 / scored, scored
        # genotypes at loci of two taxa tell of no third; a share of the other taxon is the rest
        result.third_q = None
        result.other_q = None if result.other_q is None else (2 * n0 + n1) / (2 * scored)
    return before


def take_stated(results: Sequence[Result], facts: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Let what the lab stated stand: an H that it did not state, and was counted from the genotypes, goes.

    facts
        of the finding. Returns what each result held before, as `recount` does.
    """
    before = []
    for result in results:
        if facts.get("heterozygosity") is None and result.heterozygosity is not None:
            before.append({"result": result.id, **{name: getattr(result, name) for name in STATED}})
            result.heterozygosity = None
    return before


def give_back(session: Session, before: Sequence[Mapping[str, Any]]) -> None:
    """Give results back what they held before the decision."""
    for values in before:
        result = session.get_one(Result, values["result"])
        for name in STATED:
            setattr(result, name, values[name])


def values_of(results: Sequence[Result]) -> Values:
    """Return q, H and loci of results, by vial code, name and the result's id."""
    return {
        (result.vial.code, name, result.id): getattr(result, name)
        for result in results
        for name in ("q", "heterozygosity", "n_loci")
    }


def changed_values(before: Values, after: Values) -> list[Value]:
    """Return the values that a decision changed, of results that were there before it."""
    return [(*key[:2], before[key], value) for key, value in after.items() if before.get(key, value) != value]
