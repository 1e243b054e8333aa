"""Print labels: mint a block of codes as a print run, print a smeared one again, void what is spoiled."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from sqlalchemy import func, insert, select
from sqlalchemy.orm import Session

from geneticlog.errors import NotFound, Refused
from geneticlog.rules.label.vial_states import VialStanding
from geneticlog.rules.stamp import Stamp
from geneticlog.rules.vialcode import VialCodeError, mint, nearest, parse, printed
from geneticlog.store.chunks import in_chunks
from geneticlog.store.tables import Office, PrintRun, ShipmentPosition, Survey, Vial
from geneticlog.work.catalogue.office import find_office
from geneticlog.work.events import find_survey, new_uid, record, record_all

BLOCK = 32**4  # serials of one station: the codes one database may mint for one office
MOST_LABELS = 20_000  # in one print run; a wall against a slip of the keyboard
MOST_CODES_COMPARED = 5000


@dataclass(frozen=True)
class Labels:
    """Labels to be set: the codes in their order, and by code what is in the corner."""

    run: int | None
    office: str | None
    survey: str | None
    codes: tuple[str, ...]
    corners: dict[str, str]
    serials: tuple[int, int, int] = (
        0,
        0,
        0,
    )  # of new ones: the station, its first serial, the one after the last


def next_labels(session: Session, n_labels: int, *, survey: str | None, office: str | None) -> Labels:
    """Return the labels that a print run of now would have; nothing is stored.

    Raises as print_labels.
    """
    if not 1 <= n_labels <= MOST_LABELS:
        raise Refused(f"{n_labels} is not a number of labels for one print run, 1 to {MOST_LABELS}")
    outing = find_survey(session, survey) if survey else None
    holder = find_office(session, office)
    codes: list[str] = []
    serial = holder.next_serial
    while len(codes) < n_labels:
        if serial >= BLOCK:
            raise Refused(
                f"office {holder.prefix} has codes left for {len(codes)} labels at station {holder.station}, and"
                f" {n_labels} are wanted; print fewer, or go on in a database with another station"
            )
        if code := mint(holder.prefix, holder.station * BLOCK + serial):
            codes.append(code)
        serial += 1
    return Labels(
        run=(session.scalar(select(func.max(PrintRun.number))) or 0) + 1,
        office=holder.prefix,
        survey=outing.code if outing else None,
        codes=tuple(codes),
        corners=dict.fromkeys(codes, _corner(outing)),
        serials=(holder.station, holder.next_serial, serial),
    )


@dataclass(frozen=True)
class LabelSheet:
    """What a print run is printed on: the stock's name, what its labels show (wrap, cap, both), and the first slot."""

    stock: str
    content: str
    start_slot: int = 1


def print_labels(
    session: Session,
    n_labels: int,
    sheet: LabelSheet,
    *,
    survey: str | None,
    office: str | None,
    stamp: Stamp,
    ready: Labels | None = None,
) -> Labels:
    """Mint the next codes of an office and enter them as a print run, each with its free vial.

    Codes are never used twice: the next serial is kept with the office, and one program writes at a time.

    ready: what next_labels returned a moment ago: those are entered where nobody has taken a code meanwhile, and are
    not worked out again while others wait

    Raises Refused for no label or more than 20 000 of them, or when the office's block of codes is used up;
    NotFound for an office or a survey that is not there.
    """
    outing = find_survey(session, survey) if survey else None
    holder = find_office(session, office)
    labels = ready
    if labels is None or not _still_next(session, labels, holder, outing):
        labels = next_labels(session, n_labels, survey=survey, office=office)
    _, _, holder.next_serial = labels.serials
    run = PrintRun(
        uid=new_uid(),
        number=labels.run,
        office=labels.office,
        n_labels=n_labels,
        stock=sheet.stock,
        start_slot=sheet.start_slot,
        content=sheet.content,
        survey_id=outing.id if outing else None,
        printed_at=stamp.now,
        printed_by=stamp.by,
    )
    session.add(run)
    session.flush()
    session.execute(insert(Vial), [{"code": code, "print_run_id": run.id} for code in labels.codes])
    record(
        session,
        "printed",
        "print_run",
        str(labels.run),
        stamp=stamp,
        new={
            "first": labels.codes[0],
            "last": labels.codes[-1],
            "n_labels": n_labels,
            "stock": sheet.stock,
            "survey": labels.survey,
        },
    )
    return labels


def _still_next(session: Session, ready: Labels, holder: Office, outing: Survey | None) -> bool:
    """Whether labels that were looked at ahead are still the next ones, and would look the same."""
    last = session.scalar(select(func.max(PrintRun.number))) or 0
    return (
        (ready.office, ready.run) == (holder.prefix, last + 1)
        and ready.serials[:2] == (holder.station, holder.next_serial)
        and set(ready.corners.values()) == {_corner(outing)}
    )


def labels_again(session: Session, texts: Iterable[str], *, run: int | None) -> Labels:
    """Return labels that were printed before, to be printed again: the same codes, never new ones.

    All labels of a run when ``run`` is given, its void ones left out; else the codes named, each scanned or
    typed. Raises NotFound for a run or a code that is not there, Refused for a void one.
    """
    vials = (
        [vial for vial in _of_run(session, run) if vial.standing != VialStanding.VOID]
        if run is not None
        else []
    )
    vials += find_vials(session, texts)
    if void := [vial for vial in vials if vial.standing == VialStanding.VOID]:
        raise Refused(f"vial {printed(void[0].code)} is void ({void[0].void_why}); it is not printed again")
    if not vials:
        raise Refused(
            "no label to print again; name codes, or a print run that has labels which are not void"
        )
    vials = list(dict.fromkeys(vials))
    corners = {vial.code: _corner(vial.print_run.survey if vial.print_run else None) for vial in vials}
    return Labels(run, None, None, tuple(vial.code for vial in vials), corners)


def reprint_labels(
    session: Session, texts: Iterable[str], *, run: int | None, stock: str | None, stamp: Stamp
) -> Labels:
    """Return labels to be printed again (labels_again, which says what it raises), and enter that they were."""
    labels = labels_again(session, texts, run=run)
    record_all(session, "reprinted", "vial", labels.codes, stamp=stamp, new={"stock": stock})
    return labels


def void_labels(
    session: Session, texts: Iterable[str], *, run: int | None, why: str, stamp: Stamp
) -> tuple[str, ...]:
    """Make labels void, with the reason: codes named, or all labels of a run that are still free.

    A void code stays void and is never minted again. All or nothing. Raises NotFound for a code or run that is
    not there, Refused for a vial that is filled, a blank, packed or void already, and for no reason.
    """
    if not why.strip():
        raise Refused("say why the label is void, so that it can be understood later: --why TEXT")
    vials = (
        [vial for vial in _of_run(session, run) if vial.standing == VialStanding.PRINTED]
        if run is not None
        else []
    )
    vials += find_vials(session, texts)
    vials = list(dict.fromkeys(vials))
    if not vials:
        raise Refused("no label to make void; name codes, or a print run that has free labels")
    for vial in vials:
        if vial.standing == VialStanding.VOID:
            raise Refused(f"vial {printed(vial.code)} is void already ({vial.void_why})")
        if vial.standing != VialStanding.PRINTED:
            fish = vial.fish
            where = f"on fish {fish.number} of survey {fish.survey.code}" if fish else f"a {vial.standing}"
            raise Refused(f"vial {printed(vial.code)} is {where}; only a free label can be made void")
    packed = select(ShipmentPosition.vial_id).where(ShipmentPosition.vial_id.in_([vial.id for vial in vials]))
    if (held := session.scalar(packed.limit(1))) is not None:
        raise Refused(
            f"vial {printed(session.get_one(Vial, held).code)} is packed in a shipment; it stays as it is"
        )
    for vial in vials:
        vial.standing, vial.void_why = VialStanding.VOID, why.strip()
    record_all(
        session,
        "made void",
        "vial",
        [vial.code for vial in vials],
        stamp=stamp,
        old={"standing": VialStanding.PRINTED},
        new={"standing": VialStanding.VOID},
        why=why.strip(),
    )
    session.flush()
    return tuple(vial.code for vial in vials)


def find_vials(session: Session, texts: Iterable[str]) -> list[Vial]:
    """Return the vials of codes scanned or typed, in their order.

    Raises VialCodeError for a text that does not check, naming the nearest codes, and NotFound for codes that
    were never printed here; nothing is found unless all are.
    """
    codes: list[str] = []
    for text in texts:
        try:
            codes.append(parse(text))
        except VialCodeError as fault:
            latest = select(Vial.code).order_by(Vial.id.desc()).limit(MOST_CODES_COMPARED)
            near = nearest(text, session.scalars(latest))
            offer = f" Nearest labels: {', '.join(printed(code) for code in near)}." if near else ""
            raise VialCodeError(f"{fault}{offer}", fault.reason) from None
    vials = {vial.code: vial for vial in _by_codes(session, codes)}
    if missing := [printed(code) for code in dict.fromkeys(codes) if code not in vials]:
        raise NotFound(f"not printed in this database: {', '.join(missing)}; look at the label again")
    return [vials[code] for code in dict.fromkeys(codes)]


def _by_codes(session: Session, codes: Sequence[str]) -> Iterable[Vial]:
    for some in in_chunks(codes):
        yield from session.scalars(select(Vial).where(Vial.code.in_(some)))


def _of_run(session: Session, number: int) -> list[Vial]:
    run = session.scalar(select(PrintRun).where(PrintRun.number == number))
    if run is None:
        last = session.scalar(select(func.max(PrintRun.number)))
        there = f"the last is {last}" if last else "there is none yet"
        raise NotFound(f"no print run {number}; {there}")
    return list(run.vials)


def stock_of(session: Session, texts: Sequence[str], *, run: int | None) -> str | None:
    """Return the stock a print run, or the first of some codes, was printed on; None where it is not known.

    Raises NotFound for a run or a code that is not there.
    """
    vials = _of_run(session, run) if run is not None else find_vials(session, texts[:1])
    return vials[0].print_run.stock if vials and vials[0].print_run else None


def _corner(survey: Survey | None) -> str:
    return f"{survey.lake.code} {survey.surveyed_on.year}" if survey else ""
