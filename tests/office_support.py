"""A survey with swabbed fish and their vials, a lab, and returns put straight into the tables."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime, timedelta
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session
from survey_support import a_survey, codes

from geneticlog.store.engine import database_url, one_transaction, open_engine
from geneticlog.store.tables import (
    Fish,
    Lab,
    Panel,
    Result,
    ReturnFile,
    ReturnRow,
    Shipment,
    ShipmentPosition,
    Survey,
    Vial,
)
from geneticlog.work.events import new_uid

NOW = datetime(2026, 6, 1, 9, 0, tzinfo=UTC)
CLASSES = ("substock", "stock", "quality", "preferred", "memorable")
LENGTHS_IN = {"substock": 6.0, "stock": 9.0, "quality": 13.0, "preferred": 16.5, "memorable": 21.0}


def a_lab(session: Session, code: str = "QUILL", **values: Any) -> Lab:
    lab = Lab(code=code, name=f"{code.title()} Lab (invented)", **values)
    session.add(lab)
    session.flush()
    return lab


def swabbed(
    session: Session, survey: Survey, n_fish: int, *, seconds: int = 0, medium: str | None = "ethanol"
) -> list[Vial]:
    """Fish 1 to n of a survey, classes in turn, a vial on each and a second vial on the first ``seconds``."""
    free = list(
        session.scalars(
            select(Vial)
            .join(Vial.print_run)
            .where(Vial.standing == "printed", Vial.print_run.has(survey_id=survey.id))
            .order_by(Vial.id)
        )
    )
    filled = []
    for number in range(1, n_fish + 1):
        name = CLASSES[(number - 1) % len(CLASSES)]
        fish = Fish(
            uid=new_uid(), survey=survey, number=number, species="largemouth_bass",
            length=LENGTHS_IN[name], length_unit="in", length_mm=LENGTHS_IN[name] * 25.4,
            size_class=name, logged_at=NOW, logged_by="Ada Test",
        )  # fmt: skip
        session.add(fish)
        session.flush()
        for role in ("sample", "blind_duplicate")[: 1 + (number <= seconds)]:
            vial = free.pop(0)
            vial.fish, vial.fish_n, vial.standing, vial.role = fish, 1, "filled", role
            vial.tissue, vial.medium = "mouth_swab", medium
            vial.filled_at, vial.filled_by = NOW, "Ada Test"
            filled.append(vial)
    session.flush()
    return filled


def an_office(
    database: str, *, n_fish: int = 10, seconds: int = 0, n_vials: int = 30, lab: Mapping[str, Any] | None = None,
    targets: dict[str, int] | None = None, medium: str | None = "ethanol",
) -> list[str]:  # fmt: skip
    """Put a survey HERON-2026 with swabbed fish and the lab QUILL into a database; return the filled vials."""
    engine = open_engine(database_url(database))
    with one_transaction(engine) as session:
        survey = a_survey(session, n_vials=n_vials, targets=targets)
        vials = [vial.code for vial in swabbed(session, survey, n_fish, seconds=seconds, medium=medium)]
        a_lab(session, **dict(lab or {}))
        session.add(Panel(code="QB38", name="38 loci (invented)", n_loci=38))
    engine.dispose()
    return vials


def free_codes(n: int, after: int) -> list[str]:
    """Printed codes of the survey beyond those filled."""
    return codes(after + n)[after:]


def a_shipment(
    session: Session,
    vials: Sequence[Vial],
    code: str = "SHIP-1",
    *,
    lab: Lab | None = None,
    sent: bool = True,
) -> Shipment:
    """A shipment of loose vials, sent."""
    shipment = Shipment(
        code=code, lab=lab or a_lab(session), container="loose", standing="sent" if sent else "packed",
        packed_at=NOW, packed_by="Ada Test", sent_at=NOW if sent else None, sent_by="Ada Test" if sent else None,
    )  # fmt: skip
    session.add(shipment)
    for number, vial in enumerate(vials, start=1):
        shipment.positions.append(ShipmentPosition(vial=vial, position=str(number)))
    session.flush()
    return shipment


def a_return(
    session: Session,
    shipment: Shipment,
    rows: Sequence[Mapping[str, Any]],
    *,
    days: int = 20,
    name: str = "r.csv",
) -> list[ReturnRow]:
    """A return read ``days`` after the shipment was sent.

    Each row: vial (a Vial or None), code (as written), outcome, and what its result holds: q, heterozygosity,
    n_loci, standing (None: no result).
    """
    n_files = len(session.scalars(select(ReturnFile.id)).all())
    file = ReturnFile(
        shipment=shipment, sha256=f"{n_files:064d}", name=name, content=b"", reading="{}", n_rows=len(rows),
        read_at=NOW + timedelta(days=days), read_by="Ada Test",
    )  # fmt: skip
    session.add(file)
    made = []
    for number, row in enumerate(rows, start=2):
        vial: Vial | None = row.get("vial")
        outcome = row.get("outcome", "typed")
        there = ReturnRow(
            return_file=file, row_number=number, code_as_written=row.get("code", vial.code if vial else None),
            cells=json.dumps(row.get("cells", {})), vial=vial, outcome=outcome,
        )  # fmt: skip
        session.add(there)
        standing = row.get("standing", "held" if outcome in {"conflicting", "doubtful"} else "current")
        if vial is not None and standing is not None and outcome not in {"unexpected", "duplicate"}:
            session.add(
                Result(
                    vial=vial, return_row=there, outcome="failed" if row.get("q") is None else "typed",
                    standing=standing, q=row.get("q"), heterozygosity=row.get("heterozygosity"),
                    n_loci=row.get("n_loci", 38),
                )
            )  # fmt: skip
        made.append(there)
    session.flush()
    return made
