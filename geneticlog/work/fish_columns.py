"""What follows for a stored fish from its length and weight: columns, size class, relative weight."""

from __future__ import annotations

from typing import Any

from geneticlog.rules.lengths import Measured
from geneticlog.rules.schemes import LEAST_LENGTH, SchemeError, five_length
from geneticlog.rules.species import SPECIES, relative_weight
from geneticlog.store.tables import Fish, Survey
from geneticlog.work.result.in_the_numbers import is_of_its_species


def measured_columns(
    survey: Survey, species: str, length: Measured | None, weight: Measured | None
) -> dict[str, Any]:
    """Return the columns of a fish that follow from its length and weight; size class judged as measured."""
    relative = None
    if length is not None and weight is not None and species in SPECIES:
        relative = relative_weight(species, length.metric, weight.metric)
    return {
        "length": length.value if length else None,
        "length_unit": length.unit if length else None,
        "length_mm": length.metric if length else None,
        "weight": weight.value if weight else None,
        "weight_unit": weight.unit if weight else None,
        "weight_g": weight.metric if weight else None,
        "size_class": judge(survey, species, length),
        "relative_weight": relative,
    }


def judge(survey: Survey, species: str, length: Measured | None) -> str | None:
    """Return the size class by the survey's scheme, or for another species by its published limits, if any."""
    if length is None:
        return None
    if is_of_its_species(species, survey):
        return survey.scheme.judge(length.value, length.unit)
    if (species, "mm") not in LEAST_LENGTH:
        return None
    try:
        return five_length(species).judge(length.value, length.unit)
    except SchemeError:
        return None


def length_of(fish: Fish) -> Measured | None:
    if fish.length is None or fish.length_unit is None or fish.length_mm is None:
        return None
    return Measured(fish.length, fish.length_unit, fish.length_mm)


def weight_of(fish: Fish) -> Measured | None:
    """Return the weight of a stored fish."""
    if fish.weight is None or fish.weight_unit is None or fish.weight_g is None:
        return None
    return Measured(fish.weight, fish.weight_unit, fish.weight_g)
