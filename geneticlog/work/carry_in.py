"""Take in surveys that another database carried out: what is newer is taken, what both changed is kept twice."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from geneticlog.errors import Refused
from geneticlog.rules.vialcode import printed
from geneticlog.store.tables import (
    Event,
    Finding,
    Fish,
    Lake,
    Office,
    PlanTarget,
    PrintRun,
    Result,
    SamplingPlan,
    ShipmentPosition,
    Survey,
    Vial,
)
from geneticlog.work.carry import ALL_MINTED, columns_of, events_about, versions
from geneticlog.work.open_finding import open_finding
from geneticlog.work.record import fish_name, new_uid, record


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

    @property
    def changed(self) -> bool:
        return bool(
            self.n_new or self.n_taken or self.n_removed or self.findings or self.n_events
            or self.station is not None
        )  # fmt: skip


class _Merge:
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

    # --- one kind after the other ---

    def run(self) -> CarriedIn:
        self._places()
        ours = events_about(
            self.session, self.surveys.values(), self.lakes.values(),
            [line["code"] for line in self.of.get("vial", [])],
        )  # fmt: skip
        self.ours = versions(ours)
        known = {event.uid for event in ours}
        self._changed_places()
        self._runs()
        self._fish()
        self._vials()
        self._undone_fish()
        self._findings()
        self._events(known)
        return self.did

    def _places(self) -> None:
        """Offices, lakes, plans and surveys that are not here yet."""
        for line in self.of.get("office", []):
            office = self.session.scalar(select(Office).where(Office.prefix == line["prefix"]))
            station = self.head.get("station") if self.head.get("office") == line["prefix"] else None
            if office is None:
                self.session.add(
                    Office(
                        prefix=line["prefix"], name=line["name"], station=station or 0,
                        next_serial=1 if station else ALL_MINTED,
                    )
                )  # fmt: skip
                self.did.station = station
                self.did.n_new += 1
            elif station and office.next_serial == ALL_MINTED and office.station == 0:
                office.station, office.next_serial = station, 1
                self.did.station = station
        for line in self.of.get("lake", []):
            lake = self._find(Lake, line["uid"]) or self.session.scalar(
                select(Lake).where(Lake.code == line["code"])
            )
            self.lakes[line["uid"]] = lake or self._new(Lake(**line))
        for line in sorted(self.of.get("sampling_plan", []), key=lambda line: (line["made_at"], line["uid"])):
            line = dict(line)
            lake, targets, uid = self.lakes[line.pop("lake")], line.pop("targets"), line["uid"]
            plan = self._find(SamplingPlan, uid)
            if plan is None:
                last = self.session.scalar(
                    select(func.max(SamplingPlan.number)).where(SamplingPlan.lake_id == lake.id)
                )
                plan = SamplingPlan(
                    **line, lake_id=lake.id, number=(last or 0) + 1,
                    targets=[PlanTarget(size_class=name, target=n) for name, n in sorted(targets.items())],
                )  # fmt: skip
                self._new(plan)
            self.plans[uid] = plan
        for line in self.of.get("survey", []):
            line = dict(line)
            lake, plan_uid = self.lakes[line.pop("lake")], line.pop("plan")
            survey = self._find(Survey, line["uid"])
            if survey is None:
                if self.session.scalar(select(Survey.id).where(Survey.code == line["code"])):
                    raise Refused(
                        f"there is another survey {line['code']} here, opened in this database; nothing was carried "
                        "in. Open a survey once, at the office, and carry it out to the boats"
                    )
                survey = self._new(
                    Survey(**line, lake=lake, sampling_plan=self.plans[plan_uid] if plan_uid else None)
                )
            self.surveys[line["uid"]] = survey

    def _changed_places(self) -> None:
        for line in self.of.get("lake", []):
            self._settle_row("lake", self.lakes[line["uid"]], line, "code")
        for line in self.of.get("survey", []):
            plain = {name: value for name, value in line.items() if name not in ("lake", "plan")}
            survey = self.surveys[line["uid"]]
            self._settle_row("survey", survey, plain, "code", survey_id=survey.id)

    def _settle_row(self, kind: str, row: Any, line: dict[str, Any], name: str, **about: Any) -> None:
        ours = columns_of(row)
        ours.pop("table")
        # the same lake may have been entered on both sides: its identity and its entering stay ours
        theirs = line if ours["uid"] == line["uid"] else line | {
            key: ours[key] for key in ("uid", "added_at", "added_by") if key in ours
        }  # fmt: skip

        def take() -> None:
            for key, value in theirs.items():
                setattr(row, key, value)

        self.settle(kind, ours[name], ours, theirs, take, f"{kind.capitalize()} {ours[name]}", **about)

    def _runs(self) -> None:
        for line in self.of.get("print_run", []):
            line = dict(line)
            survey_uid = line.pop("survey")
            run = self._find(PrintRun, line["uid"])
            if run is None:
                last = self.session.scalar(select(func.max(PrintRun.number))) or 0
                survey = self.surveys[survey_uid] if survey_uid else None
                run = self._new(PrintRun(**line, number=last + 1, survey_id=survey.id if survey else None))
            self.runs[line["uid"]] = run

    def _fish(self) -> None:
        known = {line["uid"]: self._find(Fish, line["uid"]) for line in self.of.get("fish", [])}
        # those that are here first: one that was renumbered there makes room for another
        for line in sorted(self.of.get("fish", []), key=lambda line: known[line["uid"]] is None):
            line = dict(line)
            survey = self.surveys[line.pop("survey")]
            fish = known[line["uid"]]
            if fish is None:
                side = self.newer("fish", line["uid"])
                if side == "ours":
                    continue  # it was undone here, and nothing has happened to it there since
                was_here = ("fish", line["uid"]) in self.ours
                fish = self._new_fish(survey, line)
                if was_here and side == "both":
                    self.both(
                        "fish", fish.uid, {"in the log": False}, {"in the log": True},
                        f"Fish {fish_name(survey.code, fish.number)}", survey_id=survey.id, fish_id=fish.id,
                    )  # fmt: skip
                continue
            self.fish[fish.uid] = fish
            ours = columns_of(fish)
            ours.pop("table")
            self.settle(
                "fish", fish.uid, ours, line, lambda fish=fish, line=line: self._take_fish(fish, line),  # type: ignore[misc]
                f"Fish {fish_name(survey.code, fish.number)}", survey_id=survey.id, fish_id=fish.id,
            )  # fmt: skip

    def _new_fish(self, survey: Survey, line: dict[str, Any]) -> Fish:
        number, source = line["number"], line["source"]
        if self._taken(survey, number):
            last = self.session.scalar(select(func.max(Fish.number)).where(Fish.survey_id == survey.id)) or 0
            coming = [one["number"] for one in self.of.get("fish", []) if one["survey"] == survey.uid]
            line["number"] = max([last, *coming]) + 1
        twin = None
        if source is not None:
            twin = self.session.scalar(select(Fish).where(Fish.survey_id == survey.id, Fish.source == source))
            if twin is not None:
                line["source"] = f"{source}@{line['uid'][:8]}"
        fish: Fish = self._new(Fish(**line, survey=survey, vials=[]))
        self.fish[fish.uid] = fish
        if fish.number != number or twin is not None:
            self.did.n_renumbered += fish.number != number
            record(
                self.session, "renumbered", "fish", fish_name(survey.code, fish.number), now=self.now, by=self.by,
                old={"number": number}, new={"uid": fish.uid, "number": fish.number},
                why=f"fish {number} of survey {survey.code} is another fish here",
            )  # fmt: skip
        if twin is not None:
            name = fish_name(survey.code, fish.number)
            self.finding(
                f"same_log_line:{fish.uid}", "same_log_line",
                f"Fish {name} was logged there from the same line of a log as fish {twin.number} here; if it is "
                "the same fish, take one of them out.",
                {"fish": fish.number, "twin": twin.number}, survey_id=survey.id, fish_id=fish.id,
            )  # fmt: skip
        return fish

    def _take_fish(self, fish: Fish, line: dict[str, Any]) -> None:
        for name, value in line.items():
            if name == "number" and value != fish.number and self._taken(fish.survey, value):
                continue
            if name == "source" and value != fish.source and value is not None and self.session.scalar(
                select(Fish.id).where(Fish.survey_id == fish.survey_id, Fish.source == value)
            ):  # fmt: skip
                continue
            setattr(fish, name, value)
        self.session.flush()

    def _taken(self, survey: Survey, number: int) -> bool:
        return (
            self.session.scalar(select(Fish.id).where(Fish.survey_id == survey.id, Fish.number == number))
            is not None
        )

    def _vials(self) -> None:
        codes = [line["code"] for line in self.of.get("vial", [])]
        here: dict[str, Vial] = {}
        for start in range(0, len(codes), 500):
            found = self.session.scalars(select(Vial).where(Vial.code.in_(codes[start : start + 500])))
            here |= {vial.code: vial for vial in found}
        waiting = []
        for line in self.of.get("vial", []):
            line = dict(line)
            run_uid, fish_uid = line.pop("print_run"), line.pop("fish")
            vial = here.get(line["code"])
            if vial is None:
                fish = self.fish.get(fish_uid) if fish_uid else None
                if fish_uid and fish is None:  # its fish was undone here, so the vial is free here
                    line |= {
                        "standing": "printed",
                        "role": "sample",
                        "tissue": None,
                        "filled_at": None,
                        "filled_by": None,
                    }
                self.session.add(
                    Vial(
                        **line, print_run=self.runs[run_uid] if run_uid else None,
                        fish_id=fish.id if fish else None, fish_n=1 if fish else None,
                    )
                )  # fmt: skip
                self.did.n_new += 1
                continue
            ours = columns_of(vial) | {"fish": vial.fish.uid if vial.fish else None}
            ours.pop("table")
            theirs = line | {"fish": fish_uid}
            about: dict[str, Any] = {"vial_id": vial.id}
            if vial.print_run is not None and vial.print_run.survey_id is not None:
                about["survey_id"] = vial.print_run.survey_id
            if vial.fish_id is not None:
                about["fish_id"] = vial.fish_id
            self.settle(
                "vial", vial.code, ours, theirs,
                lambda vial=vial, theirs=theirs: waiting.append((vial, theirs)),  # type: ignore[misc]
                f"Vial {printed(vial.code)}", **about,
            )  # fmt: skip
        self.session.flush()
        for vial, _ in waiting:  # all are emptied before any is filled: two may have changed places
            if vial.fish_id is not None:
                vial.fish_id, vial.fish_n, vial.standing = None, None, "printed"
        self.session.flush()
        for vial, theirs in waiting:
            fish = self.fish.get(theirs.pop("fish") or "")
            for name, value in theirs.items():
                setattr(vial, name, value)
            vial.fish_id, vial.fish_n = (fish.id, 1) if fish else (None, None)
            if fish is None and vial.standing in ("filled", "lost"):
                vial.standing = "printed"
        self.session.flush()
        for fish in self.fish.values():
            self.session.expire(fish, ["vials"])

    def _undone_fish(self) -> None:
        """Fish that are here and were undone there."""
        carried = {line["uid"] for line in self.of.get("fish", [])}
        undone = {
            json.loads(event["old"] or "{}").get("uid"): event
            for event in self.of.get("event", [])
            if event["subject_kind"] == "fish" and event["verb"] == "undone"
        }
        for uid, event in undone.items():
            fish = self._find(Fish, uid) if uid and uid not in carried else None
            if fish is None:
                continue
            name = fish_name(fish.survey.code, fish.number)
            side = self.newer("fish", fish.uid)
            if side == "ours":
                continue
            if side == "both" or fish.vials or self._has_left(fish):
                self.both(
                    "fish", fish.uid, {"in the log": True}, {"in the log": False},
                    f"Fish {name}", survey_id=fish.survey_id, fish_id=fish.id,
                )  # fmt: skip
                continue
            for finding in self.session.scalars(select(Finding).where(Finding.fish_id == fish.id)):
                finding.fish_id = None
                if finding.decision is None:
                    finding.decision, finding.decided_at, finding.decided_by = (
                        "close",
                        event["at"],
                        event["by"],
                    )
                    finding.why = "the fish was taken out of the log"
            self.session.flush()
            self.session.delete(fish)
            self.session.flush()
            self.did.n_removed += 1

    def _has_left(self, fish: Fish) -> bool:
        ids = [vial.id for vial in fish.vials]
        return bool(
            self.session.scalar(select(Result.id).where(Result.vial_id.in_(ids)).limit(1))
            or self.session.scalar(
                select(ShipmentPosition.id).where(ShipmentPosition.vial_id.in_(ids)).limit(1)
            )
        )

    def _findings(self) -> None:
        for line in self.of.get("finding", []):
            line = dict(line)
            survey, fish_uid, code = self.surveys[line.pop("survey")], line.pop("fish"), line.pop("vial")
            there = self.session.scalar(select(Finding).where(Finding.key == line["key"]))
            decided = {name: line[name] for name in ("decision", "decided_at", "decided_by", "why")}
            if there is not None:
                if there.decision is None and decided["decision"] is not None:
                    for name, value in decided.items():
                        setattr(there, name, value)
                    self.did.n_taken += 1
                continue
            last = self.session.scalar(select(func.max(Finding.number))) or 0
            vial = self.session.scalar(select(Vial).where(Vial.code == code)) if code else None
            fish = self.fish.get(fish_uid) if fish_uid else None
            self._new(
                Finding(
                    **line, number=last + 1, survey_id=survey.id, fish_id=fish.id if fish else None,
                    vial_id=vial.id if vial else None,
                )
            )  # fmt: skip

    def _events(self, known: set[str]) -> None:
        uids = [line["uid"] for line in self.of.get("event", []) if line["uid"] not in known]
        for start in range(0, len(uids), 500):
            known |= set(
                self.session.scalars(select(Event.uid).where(Event.uid.in_(uids[start : start + 500])))
            )
        for line in self.of.get("event", []):
            if line["uid"] not in known:
                self.session.add(Event(**line))
                self.did.n_events += 1
        self.session.flush()

    def _find(self, kind: Any, uid: str) -> Any:
        return self.session.scalar(select(kind).where(kind.uid == uid))

    def _new(self, row: Any) -> Any:
        self.session.add(row)
        self.session.flush()
        self.did.n_new += 1
        return row


def carry_in(
    session: Session,
    head: dict[str, Any],
    lines: list[dict[str, Any]],
    *,
    digest: str,
    now: datetime,
    by: str,
) -> CarriedIn:
    """Take the records of a carry file into this database.

    For each lake, survey, fish and vial the side whose history holds all of the other's is newer, and its values
    stand. Where each side has something that the other has not, ours stand, theirs are kept in a finding. A
    fish whose number is another fish here gets the next free number. Carrying in twice changes nothing.

    digest: SHA-256 of the file, for the history. Raises Refused where a survey of the same code is another one.
    """
    try:
        did = _Merge(session, head, [dict(line) for line in lines], now, by).run()
    except (KeyError, TypeError) as fault:
        raise Refused(f"the file does not hold together ({fault!r}); nothing was carried in") from None
    if did.changed:
        session.add(
            Event(
                uid=new_uid(), at=now, by=by, verb="carried_in", subject_kind="carry_file", subject=digest,
                old=None, why=None,
                new=json.dumps({"surveys": list(did.surveys), "n_new": did.n_new, "n_taken": did.n_taken}),
            )
        )  # fmt: skip
        session.flush()
    return did


def _said(value: Any) -> str:
    return "nothing" if value is None else str(value)
