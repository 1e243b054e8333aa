"""What the boat's page shows of a survey: size classes against targets, the last fish, the well, free labels."""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

from geneticlog.rules.label.vial_states import VialStanding

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from geneticlog.store.tables import Fish, Survey

LAST_SHOWN = 10
MOST_FREE = 400  # free labels that a page may pick from
ID = re.compile(r"[0-9a-zA-Z-]{16,64}")  # of a card, made by its device
IN_THE_WELL = timedelta(hours=24)  # a fish logged longer ago is in no live well any more


def classes_of(session: Session, survey: Survey) -> list[dict[str, Any]]:
    """Return each size class with its least length in the survey's unit, and its counts from the coverage."""
    from geneticlog.work.boat.coverage import of_survey

    counts = {one.size_class: one for one in of_survey(session, survey).classes}
    scheme = survey.scheme
    unit = survey.length_unit if survey.length_unit in scheme.least else "mm"
    return [
        {
            "size_class": size_class.name,
            "label": size_class.label,
            "least": least,
            "unit": unit,
            "target": counts[size_class.name].target if size_class.name in counts else None,
            "n_swabbed": counts[size_class.name].n_swabbed if size_class.name in counts else 0,
            "n_covering": counts[size_class.name].n_covering if size_class.name in counts else 0,
            "n_failed": counts[size_class.name].n_failed if size_class.name in counts else 0,
            "n_caught": counts[size_class.name].n_caught if size_class.name in counts else 0,
            "short_by": counts[size_class.name].short_by if size_class.name in counts else None,
        }
        for size_class, least in zip(scheme.size_classes(unit), scheme.least[unit], strict=True)
    ]


def last_fish(session: Session, survey: Survey) -> list[dict[str, Any]]:
    from sqlalchemy import select

    from geneticlog.store.tables import Fish

    fish = session.scalars(
        select(Fish).where(Fish.survey_id == survey.id).order_by(Fish.number.desc()).limit(LAST_SHOWN)
    )
    return [_shown(survey, one) for one in fish]


def in_the_well(session: Session, survey: Survey, *, now: datetime) -> list[dict[str, Any]]:
    """Return the fish that wait in the live well: measured by a card, without a vial, and not released yet."""
    from sqlalchemy import select

    from geneticlog.store.tables import Fish, Survey
    from geneticlog.work.result.in_the_numbers import of_its_species

    fish = session.scalars(
        select(Fish)
        .join(Survey, Survey.id == Fish.survey_id)
        .where(
            Fish.survey_id == survey.id, of_its_species(), Fish.n_fish == 1, Fish.fate.is_(None),
            Fish.source.is_not(None), ~Fish.vials.any(), Fish.logged_at > now - IN_THE_WELL,
        )
        .order_by(Fish.number)
    )  # fmt: skip
    return [shown for one in fish if (shown := _shown(survey, one))["id"]]


def _shown(survey: Survey, fish: Fish) -> dict[str, Any]:
    from geneticlog.work.boat.logged import as_logged

    return {
        "fish": fish.number,
        "id": fish.source if ID.fullmatch(fish.source or "") else None,
        "words": as_logged(survey, fish).words,
        "size_class": fish.size_class,
        "n_fish": fish.n_fish,
        "swabbed": bool(fish.vials),
        "length": None if fish.length is None else f"{fish.length:.10g}",
        "weight": None if fish.weight is None else f"{fish.weight:.10g}",
        "vials": [vial.code for vial in fish.vials],
    }


def free_labels(session: Session, survey: Survey) -> list[str]:
    """Return the free labels printed for a survey, in the order of their codes."""
    from sqlalchemy import select

    from geneticlog.store.tables import PrintRun, Vial

    return list(
        session.scalars(
            select(Vial.code)
            .join(PrintRun, PrintRun.id == Vial.print_run_id)
            .where(PrintRun.survey_id == survey.id, Vial.standing == VialStanding.PRINTED)
            .order_by(Vial.code)
            .limit(MOST_FREE)
        )
    )
