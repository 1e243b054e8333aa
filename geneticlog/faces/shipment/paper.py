"""The pages that go with a shipment: plate map and custody form, and the lab's manifest as CSV and XLSX."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from geneticlog.errors import Refused
from geneticlog.faces.app.options import PAPERS
from geneticlog.rules.sentences import n_of
from geneticlog.rules.shipment.custody import Arrival
from geneticlog.rules.shipment.ethanol import LAYERS
from geneticlog.rules.shipment.plates import CONTAINERS, LETTERS, ORDERS
from geneticlog.rules.vialcode import printed
from geneticlog.settings import local_time

if TYPE_CHECKING:
    from geneticlog.rules.shipment.ethanol import EthanolNote
    from geneticlog.store.tables import Shipment
    from geneticlog.work.shipment.custody_facts import CustodyFacts
    from geneticlog.work.shipment.manifest import Manifest

LOOSE_PER_PAGE = 160
LONGEST = 36  # vials in one column of a picking list


def plate_map(manifest: Manifest, container: str, kept_free: Sequence[str], *, paper: str) -> bytes:
    """Return a PDF with a page for each plate or box; the codes stand where their vials stand."""
    from geneticlog.faces.paper.typeset import set_paper

    kind = CONTAINERS[container]
    by_number: dict[int, list[tuple[str, str]]] = defaultdict(list)
    for at in manifest.placed:
        number = at.container_number if kind.capacity else 1 + (int(at.position) - 1) // LOOSE_PER_PAGE
        by_number[number].append((at.position, at.printed))
    data = {
        "paper": PAPERS[paper],
        "shipment": manifest.shipment,
        "lab": manifest.lab,
        "container": kind.printed if kind.capacity else "list",
        "holder": {"plate96": "plate", "loose": "vials"}.get(container, "box"),
        "order": ORDERS[manifest.filling_order] if kind.capacity else "in the order of the list",
        "kept_free": list(kept_free),
        "n_columns": kind.n_columns,
        "row_names": list(LETTERS[: kind.n_rows]),
        "column_names": [f"{column + 1:02d}" for column in range(kind.n_columns)],
        "row_height": {8: 15, 9: 13.5, 10: 12}.get(kind.n_rows, 12),
        "code_size": {12: 8.0, 10: 8.5, 9: 9.5}.get(kind.n_columns, 8.5),
        "plates": [
            {
                "number": number,
                "n": len(places),
                "first": places[0][0],
                "last": places[-1][0],
                "cells": dict(places) if kind.capacity else {},
                "listed": [] if kind.capacity else places,
            }
            for number, places in sorted(by_number.items())
        ],
    }
    return set_paper("plate_map.typ", data)


def picking_list(manifest: Manifest, container: str, *, dealt: bool, paper: str) -> bytes:
    """Return a PDF for the packer: the vials in the order of their codes, each with its place."""
    from geneticlog.faces.paper.typeset import set_paper

    many = len({at.container_number for at in manifest.placed}) > 1
    rows = [
        [at.printed, f"{at.container_number} · {at.position}" if many else at.position]
        for at in sorted(manifest.placed, key=lambda at: at.vial)
    ]
    how = "The places were dealt at random." if dealt else "The places are those of the scan."
    kind = CONTAINERS[container].printed
    data = {
        "paper": PAPERS[paper],
        "shipment": manifest.shipment,
        "container": f"Packed as: {kind}",
        "how": how,
        "n_vials": len(rows),
        "pages": [_in_columns(rows[at : at + 3 * LONGEST]) for at in range(0, len(rows), 3 * LONGEST)],
    }
    return set_paper("picking_list.typ", data)


def _in_columns(rows: Sequence[Sequence[str]]) -> list[Sequence[Sequence[str]]]:
    """Return the rows of one page in three columns of about the same length."""
    each = -(-len(rows) // 3)
    return [rows[at : at + each] for at in range(0, len(rows), each)]


def custody_form(
    shipment: Shipment, n_containers: int, ethanol: EthanolNote | None, facts: CustodyFacts, *, paper: str
) -> bytes:
    """Return a PDF on which every hand-over of the vials is signed; what is recorded is filled in."""
    from geneticlog.faces.paper.typeset import set_paper

    damaged = _arrived_otherwise(shipment)
    data = {
        "paper": PAPERS[paper],
        "shipment": shipment.code,
        "lab": shipment.lab.name + (f", {shipment.lab.address}" if shipment.lab.address else ""),
        "count": n_of(len(shipment.positions), "vial"),
        "packed_in": _packed_in(shipment, n_containers),
        "contents": _contents(shipment),
        "fill": f"{shipment.fill_ml:g}" if shipment.fill_ml else None,
        "seal": shipment.seal,
        "carrier": shipment.carrier,
        "tracking": shipment.tracking,
        "panel": shipment.panel.name if shipment.panel else None,
        "sender": facts.sender,
        "collected": [
            [n_of(one.n_vials, "vial"), one.surveyed_on, one.crew or ""] for one in facts.collected
        ],
        "packages": _packages(shipment, facts),
        "handovers": _with_empty_rows(_handovers(shipment), 5, n_empty=2),
        "bad": _with_empty_rows(damaged, 3, n_empty=4 - len(damaged)),
        "cautions": list(ethanol.sentences) if ethanol else [],
        "layers": [f"{said} ({rule})" for said, rule, _ in LAYERS] if ethanol else [],
    }
    return set_paper("custody_form.typ", data)


def _packed_in(shipment: Shipment, n_containers: int) -> str:
    kind = CONTAINERS[shipment.container]
    of_what = f"{n_containers} x {kind.printed}" if kind.capacity else kind.printed
    return of_what + (f", in {shipment.n_packages} packages" if (shipment.n_packages or 1) > 1 else "")


def _contents(shipment: Shipment) -> str | None:
    """Return the tissues and the medium of the vials; None where neither is recorded."""
    tissues = sorted({at.vial.tissue for at in shipment.positions if at.vial.tissue})
    medium = [shipment.medium] if shipment.medium else []
    return ", ".join([*(name.replace("_", " ") for name in tissues), *medium]) or None


def _handovers(shipment: Shipment) -> list[list[str]]:
    """Return from whom, to whom, when, how many vials and in which condition: to the carrier, and to the lab."""
    sent, arrived = local(shipment.sent_at), local(shipment.arrived_at)
    n_arrived = sum(at.arrival != Arrival.MISSING for at in shipment.positions)
    carrier = shipment.carrier or ""
    to_the_lab = [carrier, shipment.received_by or "", arrived or "", str(n_arrived) if arrived else ""]
    return [
        [shipment.sent_by or "", carrier, sent or "", str(len(shipment.positions)) if sent else "", ""],
        [*to_the_lab, shipment.arrival_condition or ""],
    ]


def _arrived_otherwise(shipment: Shipment) -> list[list[str]]:
    """Return label, mark and note of every vial that did not arrive whole."""
    return [
        [printed(at.vial.code), at.arrival, at.arrival_note or ""]
        for at in shipment.positions
        if at.arrival is not None and at.arrival != Arrival.OK
    ]


def _packages(shipment: Shipment, facts: CustodyFacts) -> list[dict[str, Any]]:
    n = max(len(facts.packages), shipment.n_packages or 1)
    return [
        {
            "name": f"Package {package.number} of {n}",
            "places": package.first
            if package.first == package.last
            else f"{package.first} to {package.last}",
            "n": len(package.vials),
            "vials": [printed(code) for code in package.vials],
        }
        for package in facts.packages
    ]


def _with_empty_rows(rows: Sequence[Sequence[str]], n_columns: int, *, n_empty: int) -> list[Sequence[str]]:
    """Return the rows and, for what is written by hand, empty ones; none where n_empty is below 1."""
    return [*rows, *[[""] * n_columns] * n_empty]


def local(at: datetime | None) -> str | None:
    """Return an instant in local time with its offset, as paper shows it."""
    return local_time(at, with_offset=True) if at else None


@dataclass(frozen=True)
class Papers:
    """What the papers of a shipment are made of; ethanol: None where no vial holds any."""

    manifest: Manifest
    shipment: Shipment
    kept_free: Sequence[str]
    n_containers: int
    ethanol: EthanolNote | None
    facts: CustodyFacts


def write_shipment_papers(
    folder: Path, papers: Papers, *, paper: str, replace: bool = False
) -> list[tuple[Path, str]]:
    """Write manifest (CSV, XLSX), plate map, custody form and picking list into a folder; each whole or not at all.

    Raises Refused, unless ``replace``, for files that we did not write, and for the manifest of a shipment that was
    sent where it would say something else now.
    """
    from geneticlog.store.own_files import write_own
    from geneticlog.store.writing import csv_bytes, xlsx_bytes

    manifest, shipment, facts = papers.manifest, papers.shipment, papers.facts
    content = [
        ("manifest.csv", "manifest for the lab", csv_bytes(manifest.heading, manifest.rows)),
        (
            "manifest.xlsx",
            "the same for a spreadsheet program",
            xlsx_bytes({"manifest": (manifest.heading, manifest.rows)}),
        ),
        (
            "plate-map.pdf",
            "to check the vials against",
            plate_map(manifest, shipment.container, papers.kept_free, paper=paper),
        ),
        (
            "custody-form.pdf",
            "to be signed at each hand-over",
            custody_form(shipment, papers.n_containers, papers.ethanol, facts, paper=paper),
        ),
        (
            "picking-list.pdf",
            "for the packer: which vial goes where; it stays here",
            picking_list(manifest, shipment.container, dealt=shipment.shuffle_seed is not None, paper=paper),
        ),
    ]
    files = {f"{shipment.code}-{name}": data for name, _, data in content}
    if not replace:
        _refuse_another_list(folder, shipment, files)
    paths = write_own(folder, files, replace=replace)
    return [(path, what) for path, (_, what, _) in zip(paths, content, strict=True)]


def _refuse_another_list(folder: Path, shipment: Shipment, files: Mapping[str, bytes]) -> None:
    """Raise Refused where the list that went with a shipment would be replaced by one that says something else."""
    name = f"{shipment.code}-manifest.csv"
    path = folder / name
    if shipment.sent_at is None or not path.is_file():
        return
    before, after = path.read_bytes().splitlines(), files[name].splitlines()
    if before != after:
        n = len(set(before) ^ set(after)) or len(after)
        raise Refused(
            f"shipment {shipment.code} was sent on {shipment.sent_at.astimezone():%Y-%m-%d}, and {path} differs from"
            f" what would be written now ({n_of(n, 'line')} on one side only); keep it and name another folder with"
            " --out, or overwrite it with --replace"
        )
