"""What may be decided on a finding: the decisions its kind takes, and the vials and the row that they must name."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy.orm import Session

from geneticlog.errors import Refused
from geneticlog.rules.finding.decision import Decision
from geneticlog.rules.finding.finding_kinds import FINDINGS, FindingKind
from geneticlog.rules.lab_return.sheet.sheet_rows import ONE_TABLE
from geneticlog.rules.vialcode import printed
from geneticlog.store.tables import Finding, ReturnFile, Vial
from geneticlog.work.finding.finding_vials import OF_VIALS
from geneticlog.work.result.kept_reading import sheet_rows_of

ACTIONS = tuple(Decision)
# of a doubt of the log: the value itself is changed with `correct`
OF_THE_LOG = (Decision.ACCEPT, Decision.CLOSE)


@dataclass(frozen=True)
class Asked:
    """A decision as it is asked for: what, why, and which vials or which row it is about."""

    action: str
    why: str
    vials: Sequence[Vial] = ()
    row: int | None = None


def checked(session: Session, finding: Finding, asked: Asked) -> Decision:
    """Return the decision that is asked for. Raises Refused where this finding cannot take it."""
    name = f"F{finding.number}"
    _refuse_withdrawn(session, finding)
    kind = FINDINGS.get(finding.kind)
    can = kind.decisions if kind else OF_THE_LOG
    if asked.action not in can:
        raise Refused(f"{name} cannot be decided with {asked.action}; it takes: {', '.join(can)}")
    rows = finding.rows
    _check_vials(finding, asked.action, asked.vials)
    if asked.row is not None and asked.row not in rows:
        raise Refused(
            f"{name} is about rows {', '.join(map(str, rows)) or 'of no file'}, not row {asked.row}"
        )
    action = Decision(asked.action)
    if action is Decision.ACCEPT and asked.row is None and which_row(finding):
        ways = " or ".join(f"--row {number}{_of_sheet(session, finding, number)}" for number in rows)
        raise Refused(f"{name}: say which row is right, with {ways}")
    return action


def either_of(finding: Finding) -> tuple[str, ...]:
    """Return the codes of the vials of which a person says which one to reject or resample; empty where none is."""
    vials = sorted(finding.data.vials) if finding.kind in OF_VIALS else []
    return tuple(vials) if len(vials) > 1 else ()


def which_row(finding: Finding) -> bool:
    """Whether a person who accepts must say which of the rows is right."""
    return finding.kind == FindingKind.CONFLICTING and len(finding.rows) > 1


def _refuse_withdrawn(session: Session, finding: Finding) -> None:
    file = session.get(ReturnFile, finding.return_file_id) if finding.return_file_id else None
    if file is not None and file.withdrawn_at is not None and finding.kind != FindingKind.MISSING:
        raise Refused(
            f"F{finding.number} is about a reading of {file.name} that was withdrawn on"
            f" {file.withdrawn_at.astimezone():%Y-%m-%d}, so there is nothing to decide"
        )


def _check_vials(finding: Finding, action: str, vials: Sequence[Vial]) -> None:
    """Refuse a vial where none is named, and a decision that must name one of several and does not."""
    name = f"F{finding.number}"
    if action == Decision.MATCH:
        if len(vials) > 1:
            raise Refused(f"a row is about one vial; say which one {name} is about")
        return
    either = either_of(finding)
    shown = [printed(code) for code in either]
    about = {*either, *([finding.vial.code] if finding.vial else [])}
    strange = [vial.code for vial in vials if vial.code not in about]
    if strange and either:
        raise Refused(f"{name} is about {' or '.join(shown)}, not {printed(strange[0])}")
    if strange:
        raise Refused(
            f"{name} is not about two vials, so no vial is named; say: geneticlog finding decide {name} {action}"
        )
    if action in (Decision.REJECT, Decision.RESAMPLE) and either and not vials:
        ways = " or ".join(f'geneticlog finding decide {name} {action} "{code}" --why TEXT' for code in shown)
        raise Refused(f"{name} is about {' and '.join(shown)}; say which one to {action}, or both: {ways}")


def _of_sheet(session: Session, finding: Finding, number: int) -> str:
    """Say which row of which sheet a number means, where several sheets were read as one return."""
    file = session.get(ReturnFile, finding.return_file_id)
    numbering = sheet_rows_of(file) if file else ONE_TABLE
    return f" (row {numbering.words([number])})" if numbering.sheets else ""
