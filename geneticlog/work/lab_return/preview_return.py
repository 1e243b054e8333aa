"""Look at a lab's file before anything is stored: how it would be read, and everything doubtful."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from geneticlog.rules.lab_return.drafts.draft import Draft
from geneticlog.rules.lab_return.sheet.account_items import Account
from geneticlog.rules.lab_return.sheet.reading import Reading
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.label.vial_states import VialRole
from geneticlog.rules.result.result_states import ReturnedAs
from geneticlog.rules.shipment.custody import ShipmentStanding
from geneticlog.store.tables import Shipment
from geneticlog.work.finding.open_findings import Found
from geneticlog.work.lab_return.known_before.expected import Expected, all_together
from geneticlog.work.lab_return.known_before.returned_vials import Sent
from geneticlog.work.lab_return.place_rows import n_placed, place_rows
from geneticlog.work.lab_return.return_findings import findings_of
from geneticlog.work.lab_return.right_shipment import none_is_here
from geneticlog.work.lab_return.understand import understand


@dataclass(frozen=True)
class Preview:
    """A file's reading, its form (encoding and separator), the drafts of its rows and what is doubtful in
    them.

    While the reading has questions there are no drafts.
    """

    reading: Reading
    form: str
    drafts: tuple[Draft, ...]
    doubtful: tuple[tuple[str, str, tuple[int, ...]], ...]  # kind, sentence, rows
    n_typed: int = 0
    n_failed: int = 0
    n_held: int = 0
    loci_from_panel: bool = False
    account: Account = field(default_factory=lambda: Account(()))


def preview_of_each(content: bytes, file_name: str, layout: Layout, each: Mapping[str, Expected]) -> Preview:
    """Return how a file over shipments would be read; its questions are those that reading it for each would ask.

    each
        what is known of the shipments, by their codes; of one at least.
    raises
        SheetFault for a file that cannot be read at all.
    """
    if len(each) == 1:
        return preview_return(content, file_name, layout, *each.values())
    for expected in each.values():
        seen = preview_return(content, file_name, layout, expected)
        if seen.reading.questions:
            return seen
    return preview_return(content, file_name, layout, all_together(each))


def preview_return(
    content: bytes,
    file_name: str,
    layout: Layout,
    expected: Expected | None = None,
) -> Preview:
    """Return how a file would be read; nothing is stored.

    expected
        what is known of the shipment that it is about.
    raises
        SheetFault for a file that cannot be read at all.
    """
    expected = expected or Expected()
    seen = understand(content, file_name, layout, expected)
    sheet, reading, drafts, sent = seen.sheet, seen.reading, seen.drafts, expected.sent
    if reading.questions:
        return Preview(reading, sheet.form, (), (), account=seen.account)
    strange = none_is_here(drafts, sent) if sent is not None else ""
    if strange:
        reading = replace(reading, doubts=(*reading.doubts, strange))
    if sent is None:
        codes = dict.fromkeys(draft.code for draft in drafts if draft.code)
        sent = {code: Sent(i, code, VialRole.SAMPLE, None, None, None) for i, code in enumerate(codes)}
    findings: list[Found] = []
    placed = place_rows(drafts, sent, findings)
    findings += findings_of(
        placed,
        sheet,
        Shipment(standing=ShipmentStanding.SENT),
        sent,
        expected.rule_set,
        reading.sheet_rows,
        reading.layout.taxa,
    )
    for each in findings:
        each.sheet_rows = reading.sheet_rows
    n = n_placed(placed)
    return Preview(
        reading=reading,
        form=sheet.form,
        drafts=tuple(drafts),
        doubtful=tuple((each.kind, each.text, tuple(each.rows)) for each in findings),
        n_typed=n[ReturnedAs.MATCHED],
        n_failed=n[ReturnedAs.FAILED],
        n_held=n[ReturnedAs.HELD],
        loci_from_panel=seen.loci_from_panel,
        account=seen.account,
    )
