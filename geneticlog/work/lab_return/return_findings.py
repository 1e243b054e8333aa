"""The findings of a return, gathered from its rows: one a row or, for the lesser kinds, one a file."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from geneticlog.rules.finding.finding_kinds import ABOUT_THE_CODE, FINDINGS, FindingKind
from geneticlog.rules.genetics.rule_set import DEFAULT_RULE_SET, RuleSet
from geneticlog.rules.lab_return.account.account_of_marks import HIDDEN
from geneticlog.rules.lab_return.doubts_of_rows.own_controls import doubt_of_control
from geneticlog.rules.lab_return.drafts.draft import Draft
from geneticlog.rules.lab_return.sheet.sheet_rows import ONE_TABLE, SheetRows
from geneticlog.rules.lab_return.words.headings import Taxa
from geneticlog.rules.label.vial_states import VialRole
from geneticlog.rules.result.result_states import Outcome, ResultStanding
from geneticlog.rules.shipment.custody import ShipmentStanding
from geneticlog.rules.vialcode import nearest
from geneticlog.store.sheets import Sheet
from geneticlog.store.tables import Shipment
from geneticlog.work.finding.open_findings import Found
from geneticlog.work.lab_return.known_before.returned_vials import Sent
from geneticlog.work.lab_return.return_patterns import few_loci, lineages, outside_in_words, runs

if TYPE_CHECKING:
    from geneticlog.work.lab_return.place_rows import PlacedRow

MOST_COMPARED = 300_000  # codes compared with unreadable ones to offer the nearest; more would take minutes


def findings_of(
    placed: Sequence[PlacedRow],
    sheet: Sheet,
    shipment: Shipment,
    sent: Mapping[str, Sent],
    rule_set: RuleSet = DEFAULT_RULE_SET,
    sheet_rows: SheetRows = ONE_TABLE,
    taxa: Taxa | None = None,
) -> list[Found]:
    """Return what is doubtful in the rows, one finding a row or, for the lesser kinds, one a file.

    rule_set
        the one in force, which names no class below its least number of loci.
    sheet_rows
        which sheet a row is of, where several are read as one.
    taxa
        the two that the shares tell apart, for the lab's own controls.
    """
    findings: list[Found] = []
    gathered: dict[tuple[FindingKind, str], Found] = {}
    unreadable = sum(
        noted.kind == FindingKind.UNREADABLE_CODE for each in placed for noted in each.draft.noted
    )
    compare = 0 < unreadable * len(sent) <= MOST_COMPARED
    among = outside_in_words([each.draft for each in placed], sheet_rows)
    known = _Known(rule_set, among, sent if compare else {}, taxa or Taxa())
    for each in placed:
        if each.unchanged:
            continue  # its findings are those of the earlier file, decided or not
        if each.outcome == Outcome.DUPLICATE:
            _gather(gathered, FindingKind.DUPLICATE_ROW, each.draft.row, {})
            continue
        if each.standing == ResultStanding.CURRENT and each.draft.q is not None and each.draft.n_loci is None:
            _gather(gathered, FindingKind.LOCI_UNKNOWN, each.draft.row, {})
        for kind, facts in each.draft.noted:
            if _is_told(kind, each, rule_set):
                _note(findings, gathered, kind, facts, each, known)
        findings += _of_its_vial(each)
    held_rows = {
        each.draft.row for each in placed for noted in each.draft.noted if noted.facts.get("mark") == HIDDEN
    }
    hidden = [each.draft.row for each in placed if each.draft.row in sheet.hidden_rows - held_rows]
    if hidden:
        findings.append(Found(FindingKind.HIDDEN_ROWS, {}, hidden))
    if shipment.standing == ShipmentStanding.PACKED:
        findings.append(Found(FindingKind.SHIPMENT_NOT_SENT, {}))
    if shipment.standing == ShipmentStanding.CLOSED and shipment.closed_at is not None:
        findings.append(
            Found(FindingKind.SHIPMENT_CLOSED, {"closed_on": f"{shipment.closed_at.astimezone():%Y-%m-%d}"})
        )
    patterns = [*few_loci(placed, rule_set), *runs(placed), *lineages(placed)]
    return [*findings, *gathered.values(), *patterns]


@dataclass(frozen=True)
class _Known:
    """What the sentences of findings need: the rule set, which values are far from the others by role, and the vials
    sent that an unreadable code is compared with.
    """

    rule_set: RuleSet
    among: Mapping[str, str]
    compared: Mapping[str, Sent]
    taxa: Taxa


def _is_told(kind: FindingKind, each: PlacedRow, rule_set: RuleSet) -> bool:
    """Whether what was noted of a row is worth a finding."""
    if kind == FindingKind.FAILED and each.vial is not None and each.vial.role == VialRole.BLANK:
        return False  # a blank is meant to give nothing
    if kind == FindingKind.LOW_CALL_RATE and each.draft.n_loci and each.draft.n_loci < rule_set.least_loci:
        return False  # told as too few loci, which says more
    if kind == FindingKind.LONGER_CODE and each.outcome == Outcome.CONFLICTING:
        return False  # which of its rows is right decides that, too
    # what a stranger's row says is not looked at before a person says whose it is
    return each.vial is not None or kind in ABOUT_THE_CODE


def _note(
    findings: list[Found],
    gathered: dict[tuple[FindingKind, str], Found],
    kind: FindingKind,
    facts: Mapping[str, object],
    each: PlacedRow,
    known: _Known,
) -> None:
    """Make a finding of what was noted of a row, or add the row to the file's finding of that kind."""
    draft, vial = each.draft, each.vial
    if FINDINGS[kind].per_file:
        _gather(gathered, kind, draft.row, {**facts, "vial": vial.code if vial else draft.written})
        return
    shown: dict[str, object] = {**facts, "vial": vial.code if vial else draft.code or draft.written}
    if kind == FindingKind.IMPOSSIBLE_VALUE:
        shown["among"] = known.among.get(str(facts.get("role")), "")
    if kind == FindingKind.UNREADABLE_CODE:
        near = nearest(draft.written, known.compared) if known.compared else []
        shown["candidates"] = f"; nearest in this shipment: {', '.join(near)}" if near else ""
        if draft.q is not None and (doubt := doubt_of_control(draft.written, draft.q, known.taxa)):
            shown["candidates"] = doubt
        shown["nearest"] = near
    if vial is None:
        shown["values"] = result_values(draft)
    findings.append(Found(kind, shown, [draft.row], vial.id if vial else None))


def _of_its_vial(each: PlacedRow) -> list[Found]:
    """The finding of a row about no vial of the shipment, or of a blank that gave a result."""
    draft, vial = each.draft, each.vial
    if vial is None:
        if draft.code is None:
            return []
        told: dict[str, object] = {"vial": draft.code, "where": each.where, "values": result_values(draft)}
        return [Found(FindingKind.UNEXPECTED, told, [draft.row], each.stranger_id)]
    if vial.role == VialRole.BLANK and draft.outcome == Outcome.TYPED and draft.q is not None:
        return [
            Found(FindingKind.BLANK_TYPED, {"vial": vial.code, "q": f"{draft.q:.4g}"}, [draft.row], vial.id)
        ]
    return []


def result_values(draft: Draft) -> dict[str, object]:
    """Return what a row says in the columns of a result, for the day a person says whose it is."""
    return {
        "outcome": draft.outcome,
        "q": draft.q,
        "other_q": draft.other_q,
        "third_q": draft.third_q,
        "heterozygosity": draft.heterozygosity,
        "n_loci": draft.n_loci,
        "call_rate": draft.call_rate,
        "lab_class": draft.lab_class,
        "failure": draft.failure,
    }


def _gather(
    gathered: dict[tuple[FindingKind, str], Found], kind: FindingKind, row: int, facts: dict[str, object]
) -> None:
    """Add a row to the finding of its kind; copies of different blocks have one each, doubts of a file are one."""
    key = kind, str(facts["how"]) if kind == FindingKind.COPIED_DOWN else ""
    if key not in gathered:
        gathered[key] = Found(kind, facts, [row])
        return
    gathered[key].rows += [] if row in gathered[key].rows[-1:] else [row]
    before, also = (str(one.get("said", "")) for one in (gathered[key].facts, facts))
    if also not in before:
        gathered[key].facts["said"] = f"{before}; {also}"
