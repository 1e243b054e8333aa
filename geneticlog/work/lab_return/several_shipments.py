"""Read one file that is about the vials of several shipments: once, and each row to its own."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from sqlalchemy.orm import Session

from geneticlog.errors import Refused
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.stamp import Stamp
from geneticlog.work.events import find_shipment
from geneticlog.work.lab_return.kept_layout import layout_for
from geneticlog.work.lab_return.known_before.returned_vials import sent_vials
from geneticlog.work.lab_return.look_first import Looked
from geneticlog.work.lab_return.read_return import LabFile, ReturnRead, Share, read_return
from geneticlog.work.lab_return.store_return import Progress


def read_for_shipments(
    session: Session,
    file: LabFile,
    codes: Sequence[str],
    *,
    stamp: Stamp,
    layout: Layout | None = None,
    progress: Progress | None = None,
    looked: Mapping[str, Looked] | None = None,
) -> list[ReturnRead]:
    """Store what a lab says of the vials of several shipments, all of it or nothing; return one reading a shipment.

    Each row goes to the shipment its vial was sent in; rows about no vial of theirs go to the first that is named.

    looked
        by shipment, what ``look_first`` made of the file.
    raises
        As `read_return`; Refused for shipments of different labs, or whose panels tell different taxa apart.
    """
    shipments = [
        find_shipment(session, code) for code in dict.fromkeys(code.strip().upper() for code in codes)
    ]
    first, *others = shipments
    for other in others:
        if other.lab_id != first.lab_id:
            raise Refused(
                f"shipment {first.code} went to lab {first.lab.code} and {other.code} to {other.lab.code}; one file is"
                " of one lab"
            )
        if layout_for(session, other).taxa != layout_for(session, first).taxa:
            raise Refused(
                f"the panels of shipments {first.code} and {other.code} tell different taxa apart; ask the lab for a"
                " file of each"
            )
    vials = {one.code: frozenset(sent_vials(session, one.id)) for one in shipments}
    done = []
    for shipment in shipments:
        elsewhere = frozenset().union(*(codes for code, codes in vials.items() if code != shipment.code))
        done.append(
            read_return(
                session, file, shipment.code, stamp=stamp, layout=layout, progress=progress,
                share=Share(
                    elsewhere - vials[shipment.code], shipment is not first, (looked or {}).get(shipment.code),
                    [one.code for one in shipments],
                ),
            )
        )  # fmt: skip
    return done
