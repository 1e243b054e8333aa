"""Which vials can be packed: scanned ones, those of a survey, those its plan still needs."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.errors import NotFound, Refused
from geneticlog.rules.label.vial_states import VialRole
from geneticlog.rules.shipment.custody import Custody, custody_of
from geneticlog.rules.shipment.duplicates import duplicates_advised
from geneticlog.rules.shipment.manifest_form import DEFAULT_FORM, ManifestForm, parse_form
from geneticlog.rules.vialcode import VialCodeError, parse, printed
from geneticlog.store.tables import Fish, Lab, Shipment, ShipmentPosition, Survey, Vial
from geneticlog.work.label.print_labels import find_vials
from geneticlog.work.result.in_the_numbers import of_its_species
from geneticlog.work.result.vial_outcome import in_hand

WHY_NOT = {
    Custody.PRINTED: "is not filled",
    Custody.VOID: "is void",
    Custody.LOST: "is recorded as lost",
    Custody.BROKEN: "is recorded as broken",
}


def form_of(lab: Lab) -> ManifestForm:
    """Return how a lab wants its manifest; its own form if it has one. Raises ManifestFormError."""
    if not lab.manifest:
        return DEFAULT_FORM
    return parse_form(lab.manifest, file=f"manifest form of lab {lab.code}")


def look_up(session: Session, text: str) -> Vial:
    """Return the vial of a scanned or typed code. Raises VialCodeError with the nearest labels, NotFound."""
    try:
        code = parse(text)
    except VialCodeError:
        return find_vials(session, [text])[0]  # says it again, with the nearest labels
    vial = session.scalar(select(Vial).where(Vial.code == code))
    if vial is None:
        raise NotFound(
            f"vial {printed(code)} checks, but is not in this database; carry in the survey it belongs to"
        )
    return vial


def why_not(session: Session, vial: Vial) -> str | None:
    """Return why a vial cannot be packed, as the rest of a sentence about it; None when it can."""
    inside = session.scalar(
        select(Shipment.code).join(ShipmentPosition).where(ShipmentPosition.vial_id == vial.id)
    )
    if inside is not None:
        return f"is in shipment {inside} already"
    if custody_of(vial.standing) is Custody.VOID:
        return f"is void ({vial.void_why})"
    return WHY_NOT.get(custody_of(vial.standing))


def vials_of_survey(session: Session, survey: Survey) -> list[Vial]:
    """Return the vials of a survey that can be packed, in the order of its fish: second vials too.

    Those of fish of another species are left: a panel is made for the survey's.
    """
    return list(
        session.scalars(
            select(Vial)
            .join(Fish)
            .join(Survey, Survey.id == Fish.survey_id)
            .where(
                Fish.survey_id == survey.id,
                of_its_species(),
                in_hand(),
                ~select(ShipmentPosition.id).where(ShipmentPosition.vial_id == Vial.id).exists(),
            )
            .order_by(Fish.number, Vial.id)
        )
    )


def vials_by_plan(session: Session, survey: Survey) -> list[Vial]:
    """Return only the vials that the survey's plan still needs at a lab, with the blind duplicates of these fish.

    Of a size class with more vials than its target wants, fish are taken evenly over the order in which they
    were caught, so that no stretch of shore counts alone. Blind duplicates are added up to what is advised.

    raises
        Refused for a survey without a plan.
    """
    plan = survey.sampling_plan
    if plan is None:
        raise Refused(
            f"survey {survey.code} was opened without a plan, so nothing says which vials it needs; "
            f"pack all of them with: --survey {survey.code}"
        )
    free = vials_of_survey(session, survey)
    shipped = Counter(
        session.scalars(
            select(Fish.size_class)
            .join(Vial)
            .join(ShipmentPosition, ShipmentPosition.vial_id == Vial.id)
            .where(Fish.survey_id == survey.id, Vial.role == VialRole.SAMPLE)
        )
    )
    chosen: list[Vial] = []
    for target in plan.targets:
        ready = [
            v for v in free if v.role == VialRole.SAMPLE and v.fish and v.fish.size_class == target.size_class
        ]
        wanted = max(0, target.target - shipped[target.size_class])
        chosen += _evenly(ready, wanted)
    fish = {vial.fish_id for vial in chosen}
    seconds = [vial for vial in free if vial.role == VialRole.BLIND_DUPLICATE and vial.fish_id in fish]
    return chosen + _evenly(seconds, duplicates_advised(len(chosen)))


def _evenly(vials: Sequence[Vial], n: int) -> list[Vial]:
    if n >= len(vials):
        return list(vials)
    return [vials[(2 * i + 1) * len(vials) // (2 * n)] for i in range(n)]
