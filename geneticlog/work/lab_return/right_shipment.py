"""Whether a file is about the vials of the shipment it is read for, or of another one."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING

from geneticlog.errors import Refused
from geneticlog.rules.lab_return.drafts.draft import Draft
from geneticlog.rules.sentences import n_of

if TYPE_CHECKING:
    from geneticlog.work.lab_return.place_rows import PlacedRow

LEAST_SHARE = 0.5  # of a file's vials, below which somebody is asked whether it is the right shipment
NOWHERE = "in no shipment of this database"


def check_shipment(placed: Sequence[PlacedRow], shipment: str, file: str) -> str:
    """Return a warning where few of a file's vials are in the shipment, and "" where they are.

    Rows whose code cannot be read say nothing either way.

    raises
        Refused where none of them is, with the shipments that they are in.
    """
    here, elsewhere = set(), {}
    for each in placed:
        if each.vial is not None:
            here.add(each.draft.code)
        elif each.draft.code:
            elsewhere[each.draft.code] = each.other_shipment
    n = len(here) + len(elsewhere)
    if not elsewhere or len(here) >= LEAST_SHARE * n:
        return ""
    counted = Counter(elsewhere.values()).most_common()
    shipments = [code for code, _ in counted if code]
    parts = [f"{_of(k)} in {code}" if code else f"{_of(k)} {NOWHERE}" for code, k in counted]
    where = ", ".join(parts)
    if here:
        are = "is" if len(here) == 1 else "are"
        doubt = f"only {len(here)} of the {n} vials of {file} {are} in shipment {shipment} ({where}): the right one?"
        if shipments:
            several = " ".join(f"--shipment {code}" for code in (shipment, *shipments))
            doubt += f" One file over several is read once for all: withdraw this reading, then say {several}"
        return doubt
    way_out = (
        f"read it with: geneticlog return read {file} --shipment {shipments[0]}"
        if len(shipments) == 1
        else "say with --shipment which one the file is about"
        if shipments
        else "see the shipments with: geneticlog shipment list"
    )
    raise Refused(f"{file}: none of its {n} vials is in shipment {shipment}; {where}; {way_out}")


def none_is_here(drafts: Sequence[Draft], sent: Collection[str]) -> str:
    """Return a note for the preview where no vial of a file is in the shipment, and "" where one is."""
    codes = {draft.code for draft in drafts if draft.code}
    if not codes or codes & set(sent):
        return ""
    return f"none of the {len(codes)} vials of the file is in this shipment, so return read refuses it"


def _of(n: int) -> str:
    return n_of(n, "is", "are")
