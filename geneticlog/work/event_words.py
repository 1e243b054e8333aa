"""Events in words: what was done, for every list of what happened."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import datetime
from typing import Any

from geneticlog.rules.sentences import n_of
from geneticlog.settings import local_time
from geneticlog.store.tables import Event
from geneticlog.work.changed_words import changes_in_words

COUNTED = {"n_typed": "with a result", "n_failed": "without", "n_held": "held", "n_unchanged": "as before"}


def event_in_words(event: Event) -> str:
    """Return what an event did, without its subject: "sent by a carrier", "decided: accept (was reject)"."""
    new, old = json.loads(event.new or "{}"), json.loads(event.old or "{}")
    if event.verb in _WORDS:
        return _WORDS[event.verb](new, old)
    changed = ", ".join(changes_in_words(old, new))
    said = event.verb.replace("_", " ")
    return f"{said}: {changed}" if changed else said


def _packed(new: dict[str, Any], _: dict[str, Any]) -> str:
    n = len(new.get("vials", {}))
    return f"packed for lab {new.get('lab')}: {n_of(n, 'vial')} placed"


def _unpacked(_: dict[str, Any], old: dict[str, Any]) -> str:
    return f"{len(old.get('vials', {}))} taken out"


def _sent(new: dict[str, Any], _: dict[str, Any]) -> str:
    way = " ".join(filter(None, [new.get("carrier"), new.get("tracking")]))
    left = f" {local_time(datetime.fromisoformat(new['sent_at']))}" if new.get("sent_at") else ""
    return f"sent{left}: {n_of(int(new.get('n_vials') or 0), 'vial')}" + (f", {way}" if way else "")


def _arrived(new: dict[str, Any], _: dict[str, Any]) -> str:
    noted = "; ".join(f"{code} {how}" for code, how in new.get("vials", {}).items())
    taken_in = f", taken in by {new['received_by']}" if new.get("received_by") else ""
    when = f" {local_time(datetime.fromisoformat(new['arrived_at']))}" if new.get("arrived_at") else ""
    return f"arrived{when}{taken_in}" + (f" ({noted})" if noted else "")


def _return_read(new: dict[str, Any], _: dict[str, Any]) -> str:
    parts = [f"{new[name]} {words}" for name, words in COUNTED.items() if new.get(name)]
    return f"{new.get('file')} read: {n_of(int(new.get('n_rows') or 0), 'row')}" + (
        f", {', '.join(parts)}" if parts else ""
    )


def _withdrawn(new: dict[str, Any], old: dict[str, Any]) -> str:
    if "file" not in old:
        return "withdrawn"
    n = new.get("n_results")
    gone = n_of(int(n or 0), "result no longer counts", "results no longer count")
    return f"the reading of {old['file']} withdrawn: {gone}"


def _billed(new: dict[str, Any], _: dict[str, Any]) -> str:
    return f"billed: {n_of(int(new.get('n_billed') or 0), 'sample')}"


def _decided(new: dict[str, Any], old: dict[str, Any]) -> str:
    before = f" (was {old['decision']})" if old.get("decision") else ""
    words = "closed itself" if new.get("answered") else f"decided: {new.get('decision')}"
    named = (
        [*new.get("vials", []), *filter(None, [new.get("vial")])]
        if new.get("vials") or new.get("vial")
        else []
    )
    row = f" row {new['row']}" if new.get("row") is not None else ""
    return f"{words}{row}{''.join(f' {code}' for code in named)}{before}"


def _reopened(_: dict[str, Any], old: dict[str, Any]) -> str:
    return f"opened again (was decided: {old['decision']})" if old.get("decision") else "opened again"


_WORDS: dict[str, Callable[[dict[str, Any], dict[str, Any]], str]] = {
    "packed": _packed,
    "unpacked": _unpacked,
    "sent": _sent,
    "arrived": _arrived,
    "return_read": _return_read,
    "return_withdrawn": _withdrawn,
    "billed": _billed,
    "decided": _decided,
    "handed_over": lambda new, old: (
        f"handed over by the device, entered there at {local_time(datetime.fromisoformat(new['entered_at']))}"
    ),
    "reopened": _reopened,
    "closed": lambda new, old: "closed",
    "opened": lambda new, old: f"opened: {new['text']}" if "text" in new else "opened",
}
