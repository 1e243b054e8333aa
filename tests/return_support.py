"""A lake, a survey and a shipment of filled vials, for the tests of what comes back."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from sqlalchemy import insert, select
from sqlalchemy.orm import Session

from geneticlog.rules.schemes import five_length
from geneticlog.rules.vialcode import mint
from geneticlog.store.tables import (
    Fish,
    Lab,
    Lake,
    Panel,
    Result,
    Shipment,
    ShipmentPosition,
    Survey,
    Vial,
)

MOMENT = datetime(2026, 5, 12, 15, 30, tzinfo=UTC)
READ_AT = MOMENT + timedelta(days=60)  # on which a lab's file is read, after all dates in it


def codes(n: int, prefix: str = "BG", first: int = 1) -> list[str]:
    """Return n vial codes in the order of their serials."""
    out: list[str] = []
    serial = first
    while len(out) < n:
        if code := mint(prefix, serial):
            out.append(code)
        serial += 1
    return out


def a_shipment(
    session: Session,
    n: int,
    *,
    code: str = "SH-1",
    first: int = 1,
    panel_loci: int | None = None,
    layout: str | None = None,
    markers: str | None = None,
    duplicates: int = 0,
    blanks: int = 0,
) -> list[str]:
    """Store a sent shipment of n sample vials, one fish each; further vials repeat fish 1, 2, … or are
    blanks.

    Returns the codes: samples, then blind duplicates, then blanks.
    """
    lake = Lake(uid=f"lake{code}", code=f"L{code}", name="An invented lake", added_at=MOMENT, added_by="Ada")
    survey = Survey(
        uid=f"survey{code}", code=f"S{code}", lake=lake, surveyed_on=date(2026, 5, 1), gear="electrofishing",
        species="largemouth_bass", length_unit="mm", weight_unit="g",
        scheme=five_length("largemouth_bass").to_json(), opened_at=MOMENT, opened_by="Ada",
    )  # fmt: skip
    lab = Lab(code=f"LAB{code}"[:12], name="An invented lab", layout=layout)
    panel = None
    if panel_loci or markers:
        panel = Panel(code=f"P{code}", name="An invented panel", n_loci=panel_loci, markers=markers)
    shipment = Shipment(
        code=code, lab=lab, panel=panel, standing="sent", container="loose", packed_at=MOMENT, packed_by="Ada",
        sent_at=MOMENT, sent_by="Ada",
    )  # fmt: skip
    session.add_all([lake, survey, lab, shipment])
    session.flush()
    made = codes(n + duplicates + blanks, first=first)
    session.execute(
        insert(Fish),
        [
            {
                "uid": f"{code}fish{i}", "survey_id": survey.id, "number": i + 1, "n_fish": 1,
                "species": "largemouth_bass", "length": 300 + i % 200, "length_unit": "mm",
                "length_mm": 300 + i % 200, "size_class": "quality", "logged_at": MOMENT, "logged_by": "Ada",
            }
            for i in range(n)
        ],
    )  # fmt: skip
    fish = [row[0] for row in session.query(Fish.id).filter_by(survey_id=survey.id).order_by(Fish.number)]
    vials: list[dict[str, Any]] = []
    for i, vial in enumerate(made):
        blank = i >= n + duplicates
        vials.append(
            {
                "code": vial, "standing": "blank" if blank else "filled",
                "role": "sample" if i < n else "blank" if blank else "blind_duplicate",
                "fish_id": None if blank else fish[i if i < n else i - n], "fish_n": None if blank else 1,
                "tissue": None if blank else "mouth_swab",
            }
        )  # fmt: skip
    session.execute(insert(Vial), vials)
    ids = dict(session.query(Vial.code, Vial.id).filter(Vial.code.in_(made)).all() if n < 20_000 else
               session.query(Vial.code, Vial.id).all())  # fmt: skip
    session.execute(
        insert(ShipmentPosition),
        [
            {"shipment_id": shipment.id, "vial_id": ids[vial], "position": str(i + 1)}
            for i, vial in enumerate(made)
        ],
    )
    session.flush()
    return made


def csv_file(rows: Sequence[Sequence[object]], separator: str = ",") -> bytes:
    """Return rows as a CSV file's bytes."""
    out = io.StringIO(newline="")
    csv.writer(out, delimiter=separator).writerows(rows)
    return out.getvalue().encode("utf-8")


def as_stored(session: Session, codes: Sequence[str]) -> dict[int, Any]:
    """Return by fish what is stored of it: its q, "held", "failed", or None for nothing."""
    got: dict[int, Any] = dict.fromkeys(range(len(codes)))
    rows = session.execute(select(Vial.code, Result.q, Result.outcome, Result.standing).join(Vial))
    for code, q, outcome, standing in rows:
        got[codes.index(code)] = "held" if standing == "held" else "failed" if outcome == "failed" else q
    return got


def nearly(conclusion: dict[int, Any]) -> dict[int, Any]:
    """Return what a careful person concludes of each fish, its shares to the digits that a lab writes."""
    return {i: pytest.approx(q, abs=6e-4) if isinstance(q, float) else q for i, q in conclusion.items()}
