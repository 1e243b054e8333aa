"""Situations a lake can be in, put straight into a database: what its page, its paper and its list must bear."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime

import numpy as np
from lakes_support import (
    NOW,
    add_fish,
    add_lake,
    add_panel,
    add_result,
    add_stocking,
    add_survey,
    add_typed,
    add_vial,
)
from sqlalchemy.orm import Session

from geneticlog.store.tables import Genotype, Lab, Lake, Shipment, ShipmentPosition, Vial

YOUNG = [0.0, 0.03, 0.05, 0.5, 0.5, 0.1, 0.0, 0.08]
ADULT = [0.0, 0.02, 0.0, 0.06, 0.04, 0.0, 0.03, 0.01]
N_LOCI = 20
Situation = Callable[[Session, Lake], object]


def two_surveys(session: Session, lake: Lake) -> None:
    for year, more in ((2024, 0.0), (2026, 0.35)):
        survey = add_survey(session, lake, f"{lake.code}-{year}", date(year, 4, 9))
        add_typed(
            session, survey, [(6.5, min(q + more, 1), 0.4) for q in YOUNG] + [(13.0, q, q) for q in ADULT]
        )
    add_stocking(session, lake, date(2025, 5, 1), 5000)


def three_surveys(session: Session, lake: Lake) -> None:
    two_surveys(session, lake)
    survey = add_survey(session, lake, f"{lake.code}-2022", date(2022, 4, 9))
    add_typed(session, survey, [(6.5, q, 0.4) for q in YOUNG] + [(13.0, q, q) for q in ADULT])


def three_surveys_with_stockings(session: Session, lake: Lake) -> None:
    """Fish of many lengths in each of three surveys, two stockings between them, most of the catch unswabbed."""
    chance = np.random.default_rng(11)
    for year, young, adult in ((2021, 0.12, 0.10), (2023, 0.25, 0.12), (2026, 0.45, 0.22)):
        survey = add_survey(session, lake, f"{lake.code}-{year}", date(year, 4, 9))
        fish = []
        for least, level, n in ((4.5, young, 8), (8.5, young, 8), (12.25, adult, 8), (15.5, adult, 7)):
            for _ in range(n):
                q = float(chance.binomial(76, level) / 76)
                fish.append((round((least + chance.random() * 3) * 4) / 4, q, min(1.0, 1.6 * q)))
        add_typed(session, survey, fish, panel=add_panel(session))
        for length, n in ((6.0, 14), (9.5, 25), (13.0, 12), (16.0, 6), (21.0, 2)):
            add_fish(session, survey, length, n_fish=n)
    add_stocking(session, lake, date(2022, 5, 1), 5000)
    add_stocking(session, lake, date(2025, 4, 20), 3000)


def near_pure(session: Session, lake: Lake) -> None:
    survey = add_survey(session, lake, f"{lake.code}-2026")
    add_typed(session, survey, [(6.5, 0.0, 0.0)] * 12 + [(13.0, 0.0, 0.0)] * 11 + [(13.0, 0.02, 0.04)])


def swarm_with_genotypes(session: Session, lake: Lake) -> None:
    """Forty fish of a hybrid swarm, read at twenty loci, one of which failed in some fish."""
    chance = np.random.default_rng(5)
    survey, panel = add_survey(session, lake, f"{lake.code}-2026"), add_panel(session, "P20", N_LOCI)
    for at, row in enumerate(chance.binomial(2, 0.3, (40, N_LOCI))):
        if at % 9 == 0:
            row[3] = -1
        called = row[row >= 0]
        length = round((5 + 15 * chance.random()) * 4) / 4
        vial = add_vial(session, add_fish(session, survey, length))
        result = add_result(
            session, vial, float(called.mean() / 2), float((called == 1).mean()), len(called), panel
        )
        session.add_all(
            Genotype(result_id=result.id, marker=f"M{i + 1:02}", n_alleles=None if one < 0 else int(one))
            for i, one in enumerate(row)
        )


def millimetres(session: Session, lake: Lake) -> None:
    survey = add_survey(session, lake, f"{lake.code}-2026", length_unit="mm", weight_unit="g")
    add_typed(session, survey, [(165 + 3 * at, q, 0.4) for at, q in enumerate(YOUNG)])
    add_typed(session, survey, [(330 + 11 * at, q, q) for at, q in enumerate(ADULT)])


def without_lengths(session: Session, lake: Lake) -> None:
    add_typed(session, add_survey(session, lake, f"{lake.code}-2026"), [(None, q, 0.4) for q in YOUNG])


def four_fish(session: Session, lake: Lake) -> None:
    add_typed(
        session, add_survey(session, lake, f"{lake.code}-2026"), [(13.0, q) for q in (0.1, 0.2, 0.0, 0.3)]
    )


def never_swabbed(session: Session, lake: Lake) -> None:
    add_fish(session, add_survey(session, lake, f"{lake.code}-2026"), 13.0)


def no_survey(session: Session, lake: Lake) -> None:
    """Nothing at all."""


def not_sent(session: Session, lake: Lake) -> None:
    survey = add_survey(session, lake, f"{lake.code}-2026")
    for _ in range(3):
        add_vial(session, add_fish(session, survey, 13.0))


def at_the_lab(session: Session, lake: Lake) -> list[Vial]:
    survey = add_survey(session, lake, f"{lake.code}-2026")
    lab = Lab(code=f"QUILL-{lake.code}", name="Quillback (invented)", fee=22.0)
    session.add(lab)
    session.flush()
    shipment = Shipment(code=f"SH-{lake.code}", lab_id=lab.id, standing="sent", container="loose",
                        sent_at=datetime(2026, 5, 2, tzinfo=UTC), packed_at=NOW, packed_by="Ada Test")  # fmt: skip
    session.add(shipment)
    session.flush()
    vials = [add_vial(session, add_fish(session, survey, 13.0)) for _ in range(3)]
    for place, vial in enumerate(vials, start=1):
        session.add(ShipmentPosition(shipment_id=shipment.id, vial_id=vial.id, position=str(place)))
    return vials


def partly_returned(session: Session, lake: Lake) -> None:
    vials = at_the_lab(session, lake)
    add_result(session, vials[0], 0.25)


def all_failed(session: Session, lake: Lake) -> None:
    for vial in at_the_lab(session, lake):
        add_result(session, vial, None)


STORIES: tuple[Situation, ...] = (
    two_surveys, three_surveys, three_surveys_with_stockings, near_pure, swarm_with_genotypes, millimetres,
    without_lengths, four_fish, never_swabbed, no_survey, not_sent, at_the_lab, partly_returned, all_failed,
)  # fmt: skip


def add_stories(session: Session) -> None:
    """Add one lake of every situation, its code the first letters of its name."""
    for at, situation in enumerate(STORIES):
        name = situation.__name__.replace("_", " ")
        situation(session, add_lake(session, f"S{at:02}", name.capitalize()))
