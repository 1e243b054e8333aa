"""Two histories of the same rows: which side is newer, and what is kept where both went on."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.store.tables import Finding, Fish, Lake, PrintRun, SamplingPlan, Survey
from geneticlog.work.carry.carry_out import versions
from geneticlog.work.finding.open_finding import open_finding


@dataclass
class CarriedIn:
    """What a carry file changed: rows that are new, taken, or (findings) changed on both sides."""

    surveys: tuple[str, ...]
    n_new: int = 0
    n_taken: int = 0
    n_removed: int = 0
    n_renumbered: int = 0
    station: int | None = None
    findings: list[str] = field(default_factory=list)
    n_events: int = 0
    n_told: int = 0  # surveys of which it tells what became of the vials at the lab

    @property
    def changed(self) -> bool:
        return bool(
            self.n_new or self.n_taken or self.n_removed or self.findings or self.n_events
            or self.station is not None
        )  # fmt: skip


class Merge:
    """One carry file on its way into this database: its lines by table, what is here, and what was done."""

    def __init__(
        self, session: Session, head: dict[str, Any], lines: list[dict[str, Any]], now: datetime, by: str
    ) -> None:
        self.session, self.now, self.by = session, now, by
        self.head = head
        self.of: dict[str, list[dict[str, Any]]] = {}
        for line in lines:
            self.of.setdefault(line.pop("table"), []).append(line)
        self.did = CarriedIn(tuple(head["surveys"]))
        self.theirs = versions(self.of.get("event", []))
        self.ours: dict[tuple[str, str], set[str]] = {}
        self.lakes: dict[str, Lake] = {}
        self.plans: dict[str, SamplingPlan] = {}
        self.surveys: dict[str, Survey] = {}
        self.runs: dict[str, PrintRun] = {}
        self.fish: dict[str, Fish] = {}

    # --- which side is newer ---

    def newer(self, kind: str, identity: str) -> str:
        """Return "theirs", "ours" or "both": whose events hold all of the other's."""
        ours, theirs = self.ours.get((kind, identity), set()), self.theirs.get((kind, identity), set())
        if ours < theirs:
            return "theirs"
        return "ours" if theirs < ours else "both"

    def settle(
        self,
        kind: str,
        identity: str,
        ours: dict[str, Any],
        theirs: dict[str, Any],
        take: Callable[[], None],
        told: str,
        **about: Any,
    ) -> None:
        """Take their values, keep ours, or keep both and open a finding."""
        if ours == theirs:
            return
        side = self.newer(kind, identity)
        if side == "theirs":
            take()
            self.did.n_taken += 1
        elif side == "both":
            self.both(kind, identity, ours, theirs, told, **about)

    def both(
        self, kind: str, identity: str, ours: dict[str, Any], theirs: dict[str, Any], told: str, **about: Any
    ) -> None:
        differ = {
            name: (ours.get(name), theirs.get(name)) for name in theirs if ours.get(name) != theirs.get(name)
        }
        digest = hashlib.sha256(json.dumps(theirs, sort_keys=True, default=str).encode()).hexdigest()[:12]
        values = "; ".join(
            f"{name} {_said(old)} here, {_said(new)} there" for name, (old, new) in differ.items()
        )
        self.finding(
            f"carried_{kind}:{identity}:{digest}", "changed_on_both_sides",
            f"{told} was changed here and in the database that was carried in: {values}. "
            "Both are kept: what is here stands until somebody corrects it.",
            {"ours": {name: old for name, (old, _) in differ.items()},
             "theirs": {name: new for name, (_, new) in differ.items()}},
            **about,
        )  # fmt: skip

    def finding(self, key: str, kind: str, text: str, data: dict[str, Any], **about: Any) -> None:
        if self.session.scalar(select(Finding.id).where(Finding.key == key)) is None:
            opened = open_finding(
                self.session, key=key, kind=kind, text=text, data=data, now=self.now, by=self.by, **about
            )
            self.did.findings.append(f"F{opened.number}: {text}")

    def find(self, kind: Any, uid: str) -> Any:
        return self.session.scalar(select(kind).where(kind.uid == uid))

    def new(self, row: Any) -> Any:
        self.session.add(row)
        self.session.flush()
        self.did.n_new += 1
        return row


def _said(value: Any) -> str:
    return "nothing" if value is None else str(value)
