"""The results that findings are about, and what they count for after every decision."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.errors import Refused
from geneticlog.rules.finding.finding_kinds import FINDINGS
from geneticlog.rules.finding.standing import About, standing_of
from geneticlog.rules.finding.standing import Result as Judged
from geneticlog.rules.result.result_states import Outcome, ResultStanding
from geneticlog.rules.vialcode import printed
from geneticlog.store.tables import Finding, Result, ReturnRow, Vial
from geneticlog.work.finding.finding_vials import OF_VIALS
from geneticlog.work.result.earlier_results import replace_earlier
from geneticlog.work.result.in_the_numbers import in_force


def results_of(session: Session, finding: Finding) -> list[Result]:
    """The results a finding is about: those of its rows; of a pair that disagrees, both vials'."""
    if finding.kind in OF_VIALS:
        of_vials = (
            select(Result).join(Vial, Vial.id == Result.vial_id).where(Vial.code.in_(finding.data.vials))
        )
        return list(session.scalars(of_vials.where(in_force()).order_by(Result.id)))
    if finding.return_file_id is None or not finding.rows:
        return []
    return list(
        session.scalars(
            select(Result)
            .join(ReturnRow, ReturnRow.id == Result.return_row_id)
            .where(ReturnRow.return_file_id == finding.return_file_id, ReturnRow.row_number.in_(finding.rows))
            .order_by(Result.id)
        )
    )


class Known:
    """The findings about each result, looked up once for a whole round of decisions."""

    def __init__(self, session: Session) -> None:
        self.session = session
        self._of_file: dict[int, dict[int, list[Finding]]] = {}
        self._of_pairs: dict[str, list[Finding]] | None = None

    def about(self, result: Result) -> list[Finding]:
        """Return the findings that touch a result."""
        row = result.return_row
        found = [] if row is None else self._in(row.return_file_id).get(row.row_number, [])
        return [*found, *self._pairs().get(result.vial.code, [])]

    def _in(self, file_id: int) -> dict[int, list[Finding]]:
        if file_id not in self._of_file:
            by_row: dict[int, list[Finding]] = defaultdict(list)
            for finding in self.session.scalars(select(Finding).where(Finding.return_file_id == file_id)):
                for number in () if finding.kind in OF_VIALS else finding.rows:
                    by_row[number].append(finding)
            self._of_file[file_id] = by_row
        return self._of_file[file_id]

    def _pairs(self) -> dict[str, list[Finding]]:
        if self._of_pairs is None:
            self._of_pairs = defaultdict(list)
            for finding in self.session.scalars(select(Finding).where(Finding.kind.in_(OF_VIALS))):
                for code in finding.data.vials:
                    self._of_pairs[code].append(finding)
        return self._of_pairs


def stand(known: Known, result: Result) -> None:
    """Give a result the standing that all decisions about it come to."""
    if result.standing == ResultStanding.SUPERSEDED:
        return
    row = result.return_row.row_number if result.return_row else None
    judged = Judged(result.vial.code, row, result.outcome)
    judgements = []
    for finding in known.about(result):
        kind = FINDINGS.get(finding.kind)
        if kind is not None and kind.of_vials and _came_later(result, finding):
            continue
        judgements.append(
            About(
                finding.decision,
                holds=kind is not None and kind.holds,
                vials=finding.data.about,
                row=finding.data.row,
                unmatched=result.id in finding.data.unmatched,
            )
        )
    after = standing_of(judged, judgements)
    if after is ResultStanding.CURRENT:
        refuse_unreadable(result)
    result.standing = after
    if after is not ResultStanding.CURRENT:
        result.fish_id = None


def stand_again(session: Session, results: Sequence[Result]) -> None:
    """Give results the standing that the findings about them come to."""
    known = Known(session)
    for result in results:
        stand(known, result)
    replace_earlier(session, results)
    session.flush()


def refuse_unreadable(result: Result) -> None:
    if result.outcome == Outcome.TYPED and result.q is None:
        raise Refused(
            f"{printed(result.vial.code)} has no readable proportion in this row, so nothing can be accepted; reject"
            f' it, or enter what the lab says (geneticlog correct result {result.vial.code} --q "21 %" --why TEXT) and'
            " accept it then"
        )


def _came_later(result: Result, finding: Finding) -> bool:
    """Whether a file brought the result after the decision on its vial, which knew nothing of it."""
    row, decided_at = result.return_row, finding.decided_at
    return row is not None and decided_at is not None and row.return_file.read_at > decided_at
