"""The chains that a carry file brings along: whole, true to the events that came with them, and kept beside ours."""

from __future__ import annotations

from geneticlog.errors import Refused
from geneticlog.rules.finding.finding_kinds import FindingKind
from geneticlog.store.chains import events_told, keep_entries, require_whole
from geneticlog.store.row_digests import row_digest
from geneticlog.work.carry.carry_merge import Merge


def take_chains(merge: Merge, *, digest: str) -> None:
    """Keep the chains of a carry file. Raises Refused for one that is broken, and for an event that it tells otherwise.

    A chain that is not the one known here from some entry on opens a finding: that database was set back to an earlier
    copy, was copied and used twice, or its history was rewritten. digest: SHA-256 of the file.
    """
    entries = sorted(merge.of.get("journal", []), key=lambda one: (one["station"], one["number"]))
    try:
        require_whole(entries)
    except ValueError as fault:
        raise Refused(
            f"the history in the file does not hold together: {fault}; nothing was carried in; carry it out again"
        ) from None
    told = {uid: said for one in entries for uid, said in events_told(one).items()}
    for event in merge.of.get("event", []):
        if told.get(event["uid"]) not in (None, row_digest(event.items())):
            raise Refused(
                f"the event {event['verb']} {event['subject']} in the file is not as its station wrote it; "
                "nothing was carried in; carry it out again"
            )
    merge.did.n_chained, parted = keep_entries(merge.session.connection(), entries, carried_by=digest)
    for chain in parted:
        for survey in merge.surveys.values():
            merge.finding(
                f"history_parted:{chain.station}:{chain.number}", FindingKind.HISTORY_PARTED,
                f"The history of the database that survey {survey.code} came from (station {chain.station[:8]}) is not"
                f" the one known here from entry {chain.number} on: it was set back to an earlier copy, was copied and"
                " went on twice, or was rewritten. Ask who keeps it, then close this.",
                {"station": chain.station, "entry": chain.number}, survey_id=survey.id,
            )  # fmt: skip
            break
