"""Two histories of the same rows: which side is newer, and what is kept where both went on."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.rules.finding.finding_kinds import FindingKind
from geneticlog.rules.stamp import Stamp
from geneticlog.store.tables import Finding, Fish, Lake, PrintRun, SamplingPlan, Survey
from geneticlog.work.carry.carry_out import versions
from geneticlog.work.carry.clashes import PARTS, Difference, differences, part_words
from geneticlog.work.events import record
from geneticlog.work.finding.open_finding import About, open_finding

# What follows for a vial from the fish that it is on.
AFTER_FISH = {"standing", "role", "tissue", "medium", "filled_at", "filled_by"}


@dataclass
class CarriedIn:
    """What a carry file changed: rows that are new, taken, or (findings) changed on both sides."""

    surveys: tuple[str, ...]
    n_new: int = 0
    n_taken: int = 0
    n_removed: int = 0
    n_renumbered: int = 0
    merged: list[str] = field(default_factory=list)  # what was put together of both sides, in words
    station: int | None = None
    findings: list[str] = field(default_factory=list)
    n_events: int = 0
    n_chained: int = 0  # entries of the journals of other stations
    n_told: int = 0  # surveys of which it tells what became of the vials at the lab

    @property
    def changed(self) -> bool:
        return bool(
            self.n_new or self.n_taken or self.n_removed or self.findings or self.merged or self.n_events
            or self.station is not None
        )  # fmt: skip


class Merge:
    """One carry file on its way into this database: its lines by table, what is here, and what was done."""

    def __init__(
        self, session: Session, head: dict[str, Any], lines: list[dict[str, Any]], stamp: Stamp
    ) -> None:
        self.session, self.stamp = session, stamp
        self.head = head
        self.of: dict[str, list[dict[str, Any]]] = {}
        for line in lines:
            self.of.setdefault(line.pop("table"), []).append(line)
        self.did = CarriedIn(tuple(head["surveys"]))
        self.theirs = versions(self.of.get("event", []))
        self.events: dict[str, Any] = {event["uid"]: event for event in self.of.get("event", [])}
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
        take: Callable[[dict[str, Any]], None],
        named: str,
        **about: Any,
    ) -> None:
        """Take their values, keep ours, put the parts together that do not clash, and open a finding for the rest.

        take: sets the columns that it is given
        """
        if ours == theirs:
            return
        side = self.newer(kind, identity)
        if side == "theirs":
            take(theirs)
            self.did.n_taken += 1
        if side != "both":
            return
        our_uids, their_uids = (
            self.ours.get((kind, identity), set()),
            self.theirs.get((kind, identity), set()),
        )
        differ = differences(
            ours, theirs,
            [self.events[uid] for uid in our_uids - their_uids], [self.events[uid] for uid in their_uids - our_uids],
        )  # fmt: skip
        if kind == "vial" and differ.clashing:
            differ = Difference(
                (), (*differ.only_theirs, *differ.clashing)
            )  # a vial is on one fish, or the other
        if differ.only_theirs:
            columns = {*differ.put_together, *(AFTER_FISH if "fish" in differ.only_theirs else ())}
            take({name: theirs[name] for name in sorted(columns) if name in theirs})
            values = ", ".join(f"{_name(part)} {part_words(part, theirs)}" for part in differ.only_theirs)
            self.did.merged.append(f"{named}: {values} taken from there, the rest as it is here.")
            record(
                self.session, "merged", kind, about.get("subject", identity), stamp=self.stamp,
                old={name: ours.get(name) for name in differ.put_together},
                new={"uid": theirs.get("uid", identity)} | {name: theirs.get(name) for name in differ.put_together},
                why="changed on two sides in different parts",
            )  # fmt: skip
        if differ.clashing:
            self.both(kind, identity, ours, theirs, named, differ.clashing, **about)

    def both(
        self,
        kind: str,
        identity: str,
        ours: dict[str, Any],
        theirs: dict[str, Any],
        named: str,
        parts: Sequence[str],
        **about: Any,
    ) -> None:
        """Open a finding for the parts that both sides changed: ours stand."""
        about.pop("subject", None)
        columns = [name for part in parts for name in PARTS.get(part, (part,))]
        digest = hashlib.sha256(
            json.dumps({name: theirs.get(name) for name in columns}, sort_keys=True, default=str).encode()
        ).hexdigest()[:12]
        values = "; ".join(
            f"{_name(part)} {self._words(part, ours)} here, {self._words(part, theirs)} there"
            for part in parts
            if not (kind == "vial" and part in AFTER_FISH and "fish" in parts)
        )
        self.finding(
            f"carried_{kind}:{identity}:{digest}", FindingKind.CHANGED_ON_BOTH_SIDES,
            f"{named} was changed here and in the database that was carried in: {values}. "
            "Both are kept: what is here counts until somebody corrects it.",
            {"ours": {name: ours.get(name) for name in columns},
             "theirs": {name: theirs.get(name) for name in columns}},
            **about,
        )  # fmt: skip

    def _words(self, part: str, row: dict[str, Any]) -> str:
        if part != "fish":
            return part_words(part, row)
        uid = row.get("fish")
        fish = self.fish.get(uid) if uid else None
        if uid and fish is None:
            fish = self.find(Fish, uid)
        if fish is None:
            return "another fish" if uid else "no fish"
        length = part_words("length", vars(fish))
        return f"fish {fish.number}" + (f" ({length})" if length != "nothing" else "")

    def finding(self, key: str, kind: FindingKind, text: str, data: dict[str, Any], **about: Any) -> None:
        if self.session.scalar(select(Finding.id).where(Finding.key == key)) is None:
            opened = open_finding(
                self.session, key=key, kind=kind, text=text, data=data, stamp=self.stamp, about=About(**about)
            )
            self.did.findings.append(f"F{opened.number}: {text}")

    def find(self, kind: Any, uid: str) -> Any:
        if not isinstance(uid, str):
            raise TypeError("a row is named by a text")
        return self.session.scalar(select(kind).where(kind.uid == uid))

    def new(self, row: Any) -> Any:
        self.session.add(row)
        self.session.flush()
        self.did.n_new += 1
        return row


def _name(part: str) -> str:
    return {"fish": "on", "n_fish": "number of fish", "surveyed_on": "date"}.get(part, part.replace("_", " "))
