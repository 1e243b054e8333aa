"""Which vials a finding is about, where its data name several of them."""

from __future__ import annotations

from collections.abc import Collection

from sqlalchemy import or_, select
from sqlalchemy.orm import Session

from geneticlog.rules.finding.finding_kinds import FINDINGS, FindingKind
from geneticlog.rules.result.result_states import UNDER_WAY
from geneticlog.store.chunks import in_chunks
from geneticlog.store.columns import as_stored
from geneticlog.store.tables import Finding, Fish, Result, ShipmentPosition, Vial

OF_VIALS = tuple(name for name, kind in FINDINGS.items() if kind.of_vials)
NAMING_SEVERAL = (*OF_VIALS, FindingKind.SAME_GENOTYPE_MANY)


def findings_of_vial(session: Session, vial: Vial) -> list[Finding]:
    """Return the findings about a vial in the order of their numbers, whichever of several vials it is in them."""
    findings = session.scalars(
        select(Finding)
        .where(
            or_(
                Finding.vial_id == vial.id,
                Finding.kind.in_(NAMING_SEVERAL) & as_stored(Finding.data).contains(f'"{vial.code}"'),
            )
        )
        .order_by(Finding.number)
    )
    return [one for one in findings if one.vial_id == vial.id or vial.code in one.data.vials]


def pairs_without_result(session: Session, vial_ids: Collection[int]) -> list[Finding]:
    """Return the open findings about two vials, one of them among these, that no longer both have a result."""
    codes = set()
    for chunk in in_chunks(vial_ids):
        codes |= set(session.scalars(select(Vial.code).where(Vial.id.in_(chunk))))
    named = []
    for finding in session.scalars(
        select(Finding).where(Finding.kind.in_(OF_VIALS), Finding.decision.is_(None)).order_by(Finding.number)
    ):
        pair = finding.data.vials
        if pair & codes:
            named.append((finding, pair))
    with_result = set(
        session.scalars(
            select(Vial.code)
            .join(Result, Result.vial_id == Vial.id)
            .where(
                Vial.code.in_({code for _, pair in named for code in pair}),
                Result.standing.in_(UNDER_WAY),
            )
        )
    )
    return [finding for finding, pair in named if not pair <= with_result]


def doubtful_vials(session: Session, survey_id: int) -> set[int]:
    """Return the vials of a survey that a finding nobody has decided yet is about."""
    of_survey = select(Vial.id).join(Fish, Fish.id == Vial.fish_id).where(Fish.survey_id == survey_id)
    vial_ids = set(session.scalars(of_survey.join(Finding, Finding.vial_id == Vial.id).where(
        Finding.decision.is_(None))))  # fmt: skip
    shipments = select(ShipmentPosition.shipment_id).where(ShipmentPosition.vial_id.in_(of_survey))
    named: set[str] = set()
    for data in session.scalars(
        select(Finding.data).where(
            Finding.kind.in_(NAMING_SEVERAL), Finding.decision.is_(None), Finding.shipment_id.in_(shipments)
        )
    ):
        named |= data.vials
    for chunk in in_chunks(sorted(named)):
        vial_ids |= set(session.scalars(of_survey.where(Vial.code.in_(chunk))))
    return vial_ids
