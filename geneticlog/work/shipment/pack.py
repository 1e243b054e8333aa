"""Pack vials into a shipment: chosen by survey, by what the plan still needs, or one by one."""

from __future__ import annotations

import re
import secrets
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from sqlalchemy import func, select
from sqlalchemy.orm import Session, joinedload, object_session

from geneticlog.errors import Refused
from geneticlog.rules.label.vial_states import VialRole, VialStanding
from geneticlog.rules.shipment.blind import SeenVial, dealt, gives_away
from geneticlog.rules.shipment.custody import Custody, ShipmentStanding, custody_of, move
from geneticlog.rules.shipment.duplicates import blanks_advised, duplicates_advised
from geneticlog.rules.shipment.manifest_form import ManifestForm
from geneticlog.rules.shipment.plates import container as container_named
from geneticlog.rules.shipment.plates import next_positions, parse_position, sort_key
from geneticlog.rules.stamp import Stamp
from geneticlog.rules.vialcode import printed
from geneticlog.store.tables import Fish, Lab, Panel, Shipment, ShipmentPosition, Survey, Vial
from geneticlog.work.events import find_lab, find_shipment, record
from geneticlog.work.result.in_the_numbers import of_its_species
from geneticlog.work.shipment.correct_shipment import say_medium, without_medium
from geneticlog.work.shipment.packable import form_of, why_not
from geneticlog.work.shipment.refuse_packages import refuse_more_packages

SHIPMENT_CODE = re.compile(r"[A-Z0-9][A-Z0-9._-]{0,23}")
MOST_NAMED = 10


class NotPackable(Refused):
    """A vial that may not be packed; the sentence says why, one line a vial."""


@dataclass(frozen=True)
class Packed:
    """What is in a shipment after packing, and what is advised beside it."""

    shipment: str
    lab: str
    container: str
    n_new: int
    n_vials: int
    n_samples: int
    n_blind_duplicates: int
    n_blanks: int
    duplicates_advised: int
    blanks_advised: int
    n_containers: int
    n_without_medium: int = 0  # vials that do not say what they are kept in, blanks aside
    shuffled: bool = False
    dealt_anew: bool = False  # all places, also those of the vials that were packed before
    gives_away: tuple[str, ...] = ()
    n_other_species: int = 0  # vials of fish of another species than their survey's


@dataclass(frozen=True)
class Packing:
    """How vials are put into a shipment; what is absent is as the lab's manifest form says, or as it was packed.

    shuffle, seed
        the places are ours to deal: by chance, with a seed that is kept. Vials scanned into a box keep the order of
        the scan. Where vials are added to a shipment whose places were dealt, all of them are dealt again.
    blanks
        printed vials that hold preservative and no fish; they become blanks for good.
    medium
        what the vials are kept in that do not say it themselves; it is written on each of them.
    keep_free
        positions left empty for the lab's controls.
    add
        put them into a shipment that is packed already and keep its container.
    """

    blanks: Sequence[Vial] = ()
    container: str | None = None
    order: str | None = None
    keep_free: Sequence[str] = ()
    panel: Panel | None = None
    fill_ml: float | None = None
    medium: str | None = None
    seal: str | None = None
    n_packages: int | None = None
    remarks: str | None = None
    add: bool = False
    shuffle: bool = False
    seed: str | None = None


AS_THE_FORM_SAYS = Packing()


def pack(
    session: Session,
    code: str,
    vials: Sequence[Vial],
    how: Packing = AS_THE_FORM_SAYS,
    *,
    lab: str,
    stamp: Stamp,
) -> Packed:
    """Put vials into a shipment, in this order; all or nothing.

    raises
        NotPackable with one line a vial; Refused for a shipment that is there already or has been sent, a
        wrong code, no vials; NotFound for the lab; PositionError.
    """
    code = code.strip().upper()
    everything = [*vials, *how.blanks]
    _refuse_what_is_asked(code, everything, how)
    to = find_lab(session, lab)
    form = form_of(to)
    _refuse_any(session, everything, set(how.blanks))
    shipment = _to_add_to(session, code, to) if how.add else _new(session, code, to, form, how, stamp)
    filled = [position.vial for position in shipment.positions]
    kept = _kept_free(shipment, form, how)
    deal_anew = shipment.shuffle_seed is not None
    seed = (how.seed or secrets.token_hex(8)) if how.shuffle or deal_anew else None
    if not filled or deal_anew:
        shipment.shuffle_seed = seed
    _make_blanks(session, how.blanks, stamp)
    for vial in everything:
        move(vial.code, custody_of(vial.standing), Custody.PACKED)
    placements = _place(session, shipment, everything, kept, seed, anew=deal_anew)
    if how.medium:
        said = [vial for vial in everything if vial.role != VialRole.BLANK]
        say_medium(session, said, how.medium, stamp=stamp, why=f"said when packed in shipment {code}")
    media = Counter(vial.medium for vial in [*filled, *everything] if vial.medium)
    shipment.medium = how.medium or shipment.medium or (media.most_common(1)[0][0] if media else None)
    for name in ("fill_ml", "seal", "n_packages", "panel", "remarks"):
        setattr(shipment, name, getattr(how, name) or getattr(shipment, name))
    session.flush()
    refuse_more_packages(shipment, shipment.n_packages)
    new = {"lab": to.code, "vials": placements, "kept_free": sorted(kept), "seed": seed}
    record(session, "packed", "shipment", code, stamp=stamp, new=new)
    session.flush()
    return replace(summed(shipment, n_new=len(everything)), dealt_anew=deal_anew)


def _refuse_what_is_asked(code: str, vials: Sequence[Vial], how: Packing) -> None:
    if not SHIPMENT_CODE.fullmatch(code):
        raise Refused(
            f"{code!r} cannot be a shipment code; use up to 24 letters, digits, hyphens, dots, a letter or digit first"
        )
    if not vials:
        raise Refused("there is no vial to pack; name some, or choose them with --survey or --coverage")
    if how.fill_ml is not None and not how.fill_ml > 0:
        raise Refused(f"{how.fill_ml:g} mL is not a possible fill of a vial; it must be above 0")


def _to_add_to(session: Session, code: str, to: Lab) -> Shipment:
    """The shipment that vials are added to. Raises Refused where it has left or goes to another lab."""
    shipment = find_shipment(session, code)
    if shipment.standing != ShipmentStanding.PACKED:
        raise Refused(f"shipment {code} is {shipment.standing} already; pack the vials into a new one")
    if shipment.lab_id != to.id:
        raise Refused(f"shipment {code} goes to lab {shipment.lab.code}, not to {to.code}")
    return shipment


def _new(session: Session, code: str, to: Lab, form: ManifestForm, how: Packing, stamp: Stamp) -> Shipment:
    if session.scalar(select(Shipment.id).where(Shipment.code == code)) is not None:
        raise Refused(f"there is a shipment {code} already; put more vials into it with --add")
    shipment = Shipment(
        code=code,
        lab=to,
        container=container_named(how.container or form.container).name,
        filling_order=how.order or form.order,
        packed_at=stamp.now,
        packed_by=stamp.by,
    )
    session.add(shipment)
    return shipment


def _kept_free(shipment: Shipment, form: ManifestForm, how: Packing) -> set[str]:
    """Keep positions free, those asked for or else the form's, beside those that were kept before; return all."""
    free = [*how.keep_free] or ([*form.keep_free] if shipment.container == form.container else [])
    before = shipment.kept_free if how.add else ()
    kept = {parse_position(shipment.container, text) for text in [*free, *before]}
    shipment.kept_free = sorted(kept)
    return kept


def _make_blanks(session: Session, blanks: Iterable[Vial], stamp: Stamp) -> None:
    for blank in blanks:
        move(blank.code, custody_of(blank.standing), Custody.STORED)
        blank.standing, blank.role = VialStanding.BLANK, VialRole.BLANK
        blank.filled_at, blank.filled_by = stamp.now, stamp.by
        record(session, "filled", "vial", blank.code, stamp=stamp, new={"role": VialRole.BLANK})


def _place(
    session: Session,
    shipment: Shipment,
    vials: Sequence[Vial],
    kept: set[str],
    seed: str | None,
    *,
    anew: bool,
) -> dict[str, str]:
    """Put vials into the next free places, dealt where there is a seed; ``anew``: with all that are there already.

    Returns, by code, where each vial was put.
    """
    positions = list(shipment.positions)
    if anew:
        for at in positions:  # out of the way of one another
            at.position = f"~{at.id}"
        session.flush()
        taken: list[tuple[int, str]] = []
    else:
        taken = [(at.container_number, at.position) for at in positions]
    moved = positions if anew else []
    n = len(moved) + len(vials)
    run = next_positions(shipment.container, n, taken, shipment.filling_order, kept)
    if seed is not None:
        run = [run[at] for at in dealt(n, seed)]
    for at, (number, position) in zip(moved, run, strict=False):
        at.container_number, at.position = number, position
    for vial, (number, position) in zip(vials, run[len(moved) :], strict=True):
        shipment.positions.append(ShipmentPosition(vial=vial, container_number=number, position=position))
    placed = [at.vial for at in moved] + list(vials)
    return {vial.code: f"{number}:{at}" for vial, (number, at) in zip(placed, run, strict=True)}


def unpack(session: Session, code: str, vials: Sequence[Vial], *, stamp: Stamp, why: str) -> Packed:
    """Take vials out of a shipment that has not been sent. Raises Refused for one that is not in it."""
    shipment = find_shipment(session, code)
    if shipment.standing != ShipmentStanding.PACKED:
        raise Refused(
            f"shipment {shipment.code} is {shipment.standing} already; its list stays as it was sent"
        )
    where = {position.vial_id: position for position in shipment.positions}
    if strangers := [printed(vial.code) for vial in vials if vial.id not in where]:
        raise Refused(f"not in shipment {shipment.code}: {', '.join(strangers[:MOST_NAMED])}")
    out = {vial.code: where[vial.id].position for vial in vials}
    for vial in dict.fromkeys(vials):
        session.delete(where[vial.id])
    session.flush()
    session.refresh(shipment, ["positions"])
    record(session, "unpacked", "shipment", shipment.code, stamp=stamp, old={"vials": out}, why=why)
    session.flush()
    return summed(shipment, n_new=-len(out))


def summed(shipment: Shipment, *, n_new: int = 0) -> Packed:
    """Return what is in a shipment, counted."""
    roles = Counter(position.vial.role for position in shipment.positions)
    return Packed(
        shipment=shipment.code,
        lab=shipment.lab.code,
        container=shipment.container,
        n_new=n_new,
        n_vials=len(shipment.positions),
        n_samples=roles[VialRole.SAMPLE],
        n_blind_duplicates=roles[VialRole.BLIND_DUPLICATE],
        n_blanks=roles[VialRole.BLANK],
        duplicates_advised=duplicates_advised(roles[VialRole.SAMPLE]),
        blanks_advised=blanks_advised(roles[VialRole.SAMPLE]),
        n_containers=max((position.container_number for position in shipment.positions), default=0),
        n_without_medium=len(without_medium(shipment)),
        shuffled=shipment.shuffle_seed is not None,
        gives_away=tuple(told_apart(shipment)),
        n_other_species=_n_other_species(shipment),
    )


def _n_other_species(shipment: Shipment) -> int:
    """How many vials are of fish of another species than their survey's; one question for all of them."""
    session = object_session(shipment)
    if session is None:
        return 0
    query = (
        select(func.count(ShipmentPosition.id))
        .join(Vial, Vial.id == ShipmentPosition.vial_id)
        .join(Fish, Fish.id == Vial.fish_id)
        .join(Survey, Survey.id == Fish.survey_id)
        .where(ShipmentPosition.shipment_id == shipment.id, ~of_its_species())
    )
    return session.scalar(query) or 0


def told_apart(shipment: Shipment) -> list[str]:
    """Return what would tell the lab which vials are second ones or blanks."""
    at_its_place = sorted(
        shipment.positions,
        key=lambda at: sort_key(shipment.container, at.container_number, at.position, shipment.filling_order),
    )
    seen = [
        SeenVial(at.vial.code, at.vial.print_run_id, place, at.vial.role != VialRole.SAMPLE)
        for place, at in enumerate(at_its_place)
    ]
    return gives_away(seen, in_order_of_scan=shipment.shuffle_seed is None)


def _refuse_any(session: Session, vials: Sequence[Vial], blanks: set[Vial]) -> None:
    ids = [vial.id for vial in vials]
    inside = {
        position.vial_id: position.shipment.code
        for position in session.scalars(
            select(ShipmentPosition)
            .where(ShipmentPosition.vial_id.in_(ids))
            .options(joinedload(ShipmentPosition.shipment))
        )
    }
    faults = [
        f"{printed(code)} is named {n} times" for code, n in Counter(v.code for v in vials).items() if n > 1
    ]
    for vial in dict.fromkeys(vials):
        reason: str | None = None
        if vial.id in inside:
            reason = f"is in shipment {inside[vial.id]} already"
        elif vial in blanks:
            if vial.standing != VialStanding.PRINTED:
                reason = f"cannot be a blank: it is {vial.standing} already"
        elif vial.standing not in (VialStanding.FILLED, VialStanding.BLANK):
            reason = why_not(session, vial)
        if reason:
            faults.append(f"{printed(vial.code)} {reason}")
    if faults:
        more = f"\n… and {len(faults) - MOST_NAMED} more" if len(faults) > MOST_NAMED else ""
        told = "; nothing was packed" if len(faults) == 1 else "\nnothing was packed"
        raise NotPackable("\n".join(faults[:MOST_NAMED]) + more + told)
