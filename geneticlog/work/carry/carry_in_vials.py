"""Carry in the vials of a survey; two may have changed places, so all are emptied before any is filled."""

from __future__ import annotations

from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import joinedload

from geneticlog.rules.label.vial_states import VialRole, VialStanding
from geneticlog.rules.shipment.custody import NOT_IN_HAND
from geneticlog.rules.vialcode import printed
from geneticlog.store.chunks import in_chunks
from geneticlog.store.tables import Vial
from geneticlog.work.carry.carry_merge import Merge
from geneticlog.work.carry.carry_out import columns_of

# A label that is on no fish: what a vial is again when its fish is gone.
FREE = {"standing": VialStanding.PRINTED, "role": VialRole.SAMPLE, "tissue": None, "filled_at": None, "filled_by": None,
        "gone_why": None}  # fmt: skip


def take_vials(merge: Merge) -> None:
    """Add the vials of the file that are not here, and settle those that are by whose events are newer."""
    here = _here(merge)
    waiting: list[tuple[Vial, dict[str, Any]]] = []
    for line in merge.of.get("vial", []):
        line = dict(line)
        run_uid, fish_uid = line.pop("print_run"), line.pop("fish")
        vial = here.get(line["code"])
        if vial is None:
            _add(merge, line, run_uid, fish_uid)
        else:
            _settle(merge, vial, line | {"fish": fish_uid}, waiting)
    merge.session.flush()
    for vial, theirs in waiting:  # all are emptied before any is filled: two may have changed places
        if vial.fish_id is not None and "fish" in theirs:
            vial.fish_id, vial.fish_n, vial.standing = None, None, VialStanding.PRINTED
    merge.session.flush()
    for vial, theirs in waiting:
        _take(merge, vial, theirs)
    merge.session.flush()
    for fish in merge.fish.values():
        merge.session.expire(fish, ["vials"])


def _here(merge: Merge) -> dict[str, Vial]:
    """The vials of the file that are in this database, by code."""
    codes = [line["code"] for line in merge.of.get("vial", [])]
    here: dict[str, Vial] = {}
    for some in in_chunks(codes):
        question = select(Vial).where(Vial.code.in_(some))
        found = merge.session.scalars(question.options(joinedload(Vial.fish), joinedload(Vial.print_run)))
        here |= {vial.code: vial for vial in found}
    return here


def _add(merge: Merge, line: dict[str, Any], run_uid: str | None, fish_uid: str | None) -> None:
    fish = merge.fish.get(fish_uid) if fish_uid else None
    if fish_uid and fish is None:  # its fish was undone here, so the vial is free here
        line |= FREE
    merge.session.add(
        Vial(
            **line, print_run=merge.runs[run_uid] if run_uid else None,
            fish_id=fish.id if fish else None, fish_n=1 if fish else None,
        )
    )  # fmt: skip
    merge.did.n_new += 1


def _settle(
    merge: Merge, vial: Vial, theirs: dict[str, Any], waiting: list[tuple[Vial, dict[str, Any]]]
) -> None:
    """Let the newer side of a vial hold; what is taken of theirs waits until every vial is looked at."""
    ours = columns_of(vial) | {"fish": vial.fish.uid if vial.fish else None}
    ours.pop("table")
    about: dict[str, Any] = {"vial_id": vial.id}
    if vial.print_run is not None and vial.print_run.survey_id is not None:
        about["survey_id"] = vial.print_run.survey_id
    if vial.fish_id is not None:
        about["fish_id"] = vial.fish_id
    merge.settle(
        "vial", vial.code, ours, theirs, lambda taken: waiting.append((vial, dict(taken))),
        f"Vial {printed(vial.code)}", **about,
    )  # fmt: skip


def _take(merge: Merge, vial: Vial, theirs: dict[str, Any]) -> None:
    moves = "fish" in theirs
    fish = merge.fish.get(theirs.pop("fish", None) or "")
    for name, value in theirs.items():
        setattr(vial, name, value)
    if not moves:
        return
    vial.fish_id, vial.fish_n = (fish.id, 1) if fish else (None, None)
    if fish is None and vial.standing in (VialStanding.FILLED, *NOT_IN_HAND):
        for name, value in FREE.items():
            setattr(vial, name, value)
