"""Carry in the fish of a survey: new ones, changed ones, and those that were taken out of the log there."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import selectinload

from geneticlog.rules.finding.decision import Decision
from geneticlog.rules.finding.finding_kinds import FindingKind
from geneticlog.store.chunks import in_chunks
from geneticlog.store.tables import Finding, Fish, Result, ShipmentPosition, Survey
from geneticlog.work.carry.carry_merge import Merge
from geneticlog.work.carry.carry_out import columns_of
from geneticlog.work.carry.clashes import fish_words
from geneticlog.work.events import fish_name, record
from geneticlog.work.fish_columns import length_of, measured_columns, weight_of


class _Held:
    """The fish that are here, looked up once: those of the file by uid, and what each survey has given away."""

    def __init__(self, merge: Merge) -> None:
        session = merge.session
        uids = [line["uid"] for line in merge.of.get("fish", [])]
        self.fish: dict[str, Fish] = {}
        for some in in_chunks(uids):
            question = select(Fish).where(Fish.uid.in_(some))
            self.fish |= {
                fish.uid: fish for fish in session.scalars(question.options(selectinload(Fish.vials)))
            }
        self.numbers: dict[int, set[int]] = {}
        self.sources: dict[int, dict[str, int]] = {}  # source -> number
        self.next: dict[int, int] = {}
        for survey in merge.surveys.values():
            columns = select(Fish.number, Fish.source).where(Fish.survey_id == survey.id)
            rows = session.execute(columns).all()
            coming = [line["number"] for line in merge.of.get("fish", []) if line["survey"] == survey.uid]
            self.numbers[survey.id] = {number for number, _ in rows}
            self.sources[survey.id] = {source: number for number, source in rows if source}
            self.next[survey.id] = max([0, *self.numbers[survey.id], *coming]) + 1

    def free_number(self, survey_id: int) -> int:
        """Give a number that neither side has used."""
        self.next[survey_id] += 1
        return self.next[survey_id] - 1

    def note(self, fish: Fish, survey_id: int, number: int | None = None, source: str | None = None) -> None:
        """Note what a fish has now, and no longer (``number`` and ``source`` of before)."""
        self.numbers[survey_id] = (self.numbers[survey_id] - {number}) | {fish.number}
        self.sources[survey_id].pop(source or "", None)
        if fish.source:
            self.sources[survey_id][fish.source] = fish.number


def take_fish(merge: Merge) -> None:
    """Add the fish of the file that are not here, and settle those that are by whose events are newer."""
    here = _Held(merge)
    known = {line["uid"]: here.fish.get(line["uid"]) for line in merge.of.get("fish", [])}
    # those that are here first: one that was renumbered there makes room for another
    for line in sorted(merge.of.get("fish", []), key=lambda line: known[line["uid"]] is None):
        line = dict(line)
        survey = merge.surveys[line.pop("survey")]
        fish = known[line["uid"]]
        if fish is None:
            side = merge.newer("fish", line["uid"])
            if side == "ours":
                continue  # it was undone here, and nothing has happened to it there since
            was_here = ("fish", line["uid"]) in merge.ours
            fish = _new_fish(merge, here, survey, line)
            if was_here and side == "both":
                merge.session.flush()
                merge.both(
                    "fish", fish.uid, {"in the log": False}, {"in the log": True}, _told(fish, line),
                    ["in the log"], survey_id=survey.id, fish_id=fish.id,
                )  # fmt: skip
            continue
        merge.fish[fish.uid] = fish
        ours = columns_of(fish)
        ours.pop("table")
        merge.settle(
            "fish", fish.uid, ours, line, lambda taken, fish=fish: _take_fish(merge, here, fish, taken),  # type: ignore[misc]
            _told(fish, ours), survey_id=survey.id, fish_id=fish.id, subject=fish_name(survey.code, fish.number),
        )  # fmt: skip
    merge.session.flush()


def _new_fish(merge: Merge, ours: _Held, survey: Survey, line: dict[str, Any]) -> Fish:
    number, source = line["number"], line["source"]
    if number in ours.numbers[survey.id]:
        line["number"] = ours.free_number(survey.id)
    twin = ours.sources[survey.id].get(source) if source is not None else None
    if twin is not None:
        line["source"] = f"{source}@{line['uid'][:8]}"
    fish = Fish(**line, survey=survey, vials=[])
    merge.session.add(fish)
    merge.did.n_new += 1
    ours.note(fish, survey.id)
    merge.fish[fish.uid] = fish
    if fish.number != number or twin is not None:
        merge.did.n_renumbered += fish.number != number
        record(
            merge.session, "renumbered", "fish", fish_name(survey.code, fish.number), stamp=merge.stamp,
            old={"number": number}, new={"uid": fish.uid, "number": fish.number},
            why=f"fish {number} of survey {survey.code} is another fish here",
        )  # fmt: skip
    if twin is not None:
        merge.session.flush()
        name = fish_name(survey.code, fish.number)
        merge.finding(
            f"same_log_line:{fish.uid}", FindingKind.SAME_LOG_LINE,
            f"Fish {name} was logged there from the same line of a log as fish {twin} here; if it is "
            "the same fish, take one of them out.",
            {"fish": fish.number, "twin": twin}, survey_id=survey.id, fish_id=fish.id,
        )  # fmt: skip
    return fish


def _take_fish(merge: Merge, ours: _Held, fish: Fish, line: dict[str, Any]) -> None:
    survey_id, was = fish.survey_id, (fish.number, fish.source)
    for name, value in line.items():
        if name == "number" and value != fish.number and value in ours.numbers[survey_id]:
            continue
        if name == "source" and value != fish.source and value in ours.sources[survey_id]:
            continue
        setattr(fish, name, value)
    if not {"length", "weight"} <= set(line) and {"length", "weight", "species"} & set(line):
        # parts of two sides: what follows from them is judged anew
        length = length_of(fish)
        for name, value in measured_columns(fish.survey, fish.species, length, weight_of(fish)).items():
            if name != "size_class" or length is not None:
                setattr(fish, name, value)
    ours.note(fish, survey_id, *was)
    merge.session.flush()


def _told(fish: Fish, row: Mapping[str, Any]) -> str:
    """Return which fish that is, in words."""
    codes = [vial.code for vial in fish.vials]
    return f"Fish {fish.number} of survey {fish.survey.code}{fish_words(row, codes)}"


def remove_undone_fish(merge: Merge) -> None:
    """Fish that are here and were undone there."""
    carried = {line["uid"] for line in merge.of.get("fish", [])}
    undone = {
        json.loads(event["old"] or "{}").get("uid"): event
        for event in merge.of.get("event", [])
        if event["subject_kind"] == "fish" and event["verb"] == "undone"
    }
    for uid, event in undone.items():
        fish = merge.find(Fish, uid) if uid and uid not in carried else None
        if fish is None:
            continue
        side = merge.newer("fish", fish.uid)
        if side == "ours":
            continue
        if side == "both" or fish.vials or _has_left(merge, fish):
            merge.both(
                "fish", fish.uid, {"in the log": True}, {"in the log": False}, _told(fish, vars(fish)),
                ["in the log"], survey_id=fish.survey_id, fish_id=fish.id,
            )  # fmt: skip
            continue
        for finding in merge.session.scalars(select(Finding).where(Finding.fish_id == fish.id)):
            finding.fish_id = None
            if finding.decision is None:
                finding.decision, finding.decided_at, finding.decided_by = (
                    Decision.CLOSE,
                    event["at"],
                    event["by"],
                )
                finding.why = "the fish was taken out of the log"
        merge.session.flush()
        merge.session.delete(fish)
        merge.session.flush()
        merge.did.n_removed += 1


def _has_left(merge: Merge, fish: Fish) -> bool:
    ids = [vial.id for vial in fish.vials]
    return bool(
        merge.session.scalar(select(Result.id).where(Result.vial_id.in_(ids)).limit(1))
        or merge.session.scalar(select(ShipmentPosition.id).where(ShipmentPosition.vial_id.in_(ids)).limit(1))
    )
