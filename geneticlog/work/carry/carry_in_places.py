"""Carry in what a survey stands on: office, lake, plan, survey and print runs."""

from __future__ import annotations

from typing import Any

from sqlalchemy import func, select

from geneticlog.errors import Refused
from geneticlog.store.tables import Lake, Office, PlanTarget, PrintRun, SamplingPlan, Survey
from geneticlog.work.carry.carry_merge import Merge
from geneticlog.work.carry.carry_out import columns_of
from geneticlog.work.carry.vial_fates import ALL_MINTED
from geneticlog.work.events import new_uid


def take_places(merge: Merge) -> None:
    """Offices, lakes, plans and surveys that are not here yet."""
    for line in merge.of.get("office", []):
        _take_office(merge, line)
    for line in merge.of.get("lake", []):
        lake = merge.find(Lake, line["uid"]) or merge.session.scalar(
            select(Lake).where(Lake.code == line["code"])
        )
        merge.lakes[line["uid"]] = lake or merge.new(Lake(**line))
    for line in sorted(merge.of.get("sampling_plan", []), key=lambda line: (line["made_at"], line["uid"])):
        line = dict(line)
        lake, targets, uid = merge.lakes[line.pop("lake")], line.pop("targets"), line["uid"]
        plan = merge.find(SamplingPlan, uid)
        if plan is None:
            last = merge.session.scalar(
                select(func.max(SamplingPlan.number)).where(SamplingPlan.lake_id == lake.id)
            )
            plan = SamplingPlan(
                **line, lake_id=lake.id, number=(last or 0) + 1,
                targets=[PlanTarget(size_class=name, target=n) for name, n in sorted(targets.items())],
            )  # fmt: skip
            merge.new(plan)
        merge.plans[uid] = plan
    for line in merge.of.get("survey", []):
        line = dict(line)
        lake, plan_uid = merge.lakes[line.pop("lake")], line.pop("plan")
        survey = merge.find(Survey, line["uid"])
        if survey is None:
            if merge.session.scalar(select(Survey.id).where(Survey.code == line["code"])):
                raise Refused(
                    f"there is another survey {line['code']} here, opened in this database; nothing was carried "
                    "in. Open a survey once, at the office, and carry it out to the boats"
                )
            survey = merge.new(
                Survey(**line, lake=lake, sampling_plan=merge.plans[plan_uid] if plan_uid else None)
            )
        merge.surveys[line["uid"]] = survey


def _take_office(merge: Merge, line: dict[str, Any]) -> None:
    """Take an office that is not here yet, the block of codes given to this database, and the office's own UUID."""
    office = merge.session.scalar(select(Office).where(Office.prefix == line["prefix"]))
    station = merge.head.get("station") if merge.head.get("office") == line["prefix"] else None
    uid = line.get("uid")  # files of older programs tell none
    if office is None:
        merge.session.add(
            Office(
                prefix=line["prefix"], name=line["name"], station=station or 0,
                next_serial=1 if station else ALL_MINTED, uid=uid or new_uid(),
            )
        )  # fmt: skip
        merge.did.station = station
        merge.did.n_new += 1
        return
    if station and office.next_serial == ALL_MINTED and office.station == 0:
        office.station, office.next_serial = station, 1
        merge.did.station = station
    ours = office.station == 0 and office.next_serial != ALL_MINTED
    if uid and uid != office.uid and not ours:  # entered by hand on the boat: the office's own counts
        office.uid = uid
        merge.did.n_taken += 1


def settle_places(merge: Merge) -> None:
    for line in merge.of.get("lake", []):
        _settle_row(merge, "lake", merge.lakes[line["uid"]], line, "code")
    for line in merge.of.get("survey", []):
        plain = {name: value for name, value in line.items() if name not in ("lake", "plan")}
        survey = merge.surveys[line["uid"]]
        _settle_row(merge, "survey", survey, plain, "code", survey_id=survey.id)


def _settle_row(merge: Merge, kind: str, row: Any, line: dict[str, Any], name: str, **about: Any) -> None:
    ours = columns_of(row)
    ours.pop("table")
    # the same lake may have been entered on both sides: its identity and its entering stay ours
    theirs = line if ours["uid"] == line["uid"] else line | {
        key: ours[key] for key in ("uid", "added_at", "added_by") if key in ours
    }  # fmt: skip

    def take(taken: dict[str, Any]) -> None:
        for key, value in taken.items():
            setattr(row, key, value)

    merge.settle(kind, ours[name], ours, theirs, take, f"{kind.capitalize()} {ours[name]}", **about)


def take_print_runs(merge: Merge) -> None:
    for line in merge.of.get("print_run", []):
        line = dict(line)
        survey_uid = line.pop("survey")
        run = merge.find(PrintRun, line["uid"])
        if run is None:
            last = merge.session.scalar(select(func.max(PrintRun.number))) or 0
            survey = merge.surveys[survey_uid] if survey_uid else None
            run = merge.new(PrintRun(**line, number=last + 1, survey_id=survey.id if survey else None))
        merge.runs[line["uid"]] = run
