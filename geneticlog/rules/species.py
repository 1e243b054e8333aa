"""Species: printed names, standard weight and relative weight."""

from __future__ import annotations

import math
from numbers import Real

from geneticlog.rules.known_species import (
    OTHER_FISH,
    SPECIES,
    Species,
    SpeciesError,
    StandardWeight,
    row,
    species_key,
)
from geneticlog.rules.lengths import LengthError, WeightError
from geneticlog.rules.schemes import five_length

__all__ = [
    "OTHER_FISH",
    "SPECIES",
    "Species",
    "SpeciesError",
    "StandardWeight",
    "relative_weight",
    "row",
    "size_class",
    "species_key",
    "standard_weight",
]


def size_class(species: str, length: float, unit: str) -> str:
    """Return the five-length size class of a fish, judged in the unit in which it was measured.

    species: a key of SPECIES; length: total length in unit; unit: mm, cm or in
    Raises SchemeError where the species has no published limits or the length cannot be; the source of the
    limits stands beside them in geneticlog.rules.schemes.
    """
    return five_length(species).judge(length, unit)


def _is_positive(value: float) -> bool:
    return isinstance(value, Real) and value > 0 and not math.isinf(value)


def standard_weight(species: str, length: float, unit: str = "mm") -> float | None:
    """Return the standard weight Ws of a fish: in g for a length in mm, in lb for a length in in.

    ``log10(Ws) = a + b log10(TL)``; None below the least length of the equation (never 0), and for inches
    where the species has no English form. There is no greatest length.

    species
        A key of SPECIES.
    length
        Total length, above 0, in the unit.
    raises
        SpeciesError for another species or unit, LengthError for a length that is not a number above zero.
    source
        That of the species' row: `SPECIES[species].standard_weight.source`.
    """
    equation = row(species).standard_weight
    if not _is_positive(length):
        raise LengthError(f"a total length of {length!r} {unit} is not possible")
    if unit == "mm":
        intercept, least = equation.intercept_metric, equation.least_mm
    elif unit == "in":
        if equation.intercept_english is None or equation.least_in is None:
            return None
        intercept, least = equation.intercept_english, equation.least_in
    else:
        raise SpeciesError(f"standard weight is for lengths in mm or in, not {unit!r}")
    if length < least:
        return None
    return float(10 ** (intercept + equation.slope * math.log10(length)))


def relative_weight(species: str, length_mm: float, weight_g: float) -> float | None:
    """Return the relative weight ``Wr = 100 W / Ws``, about 100 for a fish in good flesh.

    The metric equation is used, so that a mean never mixes the two separately rounded forms (0.08 % apart at 20 in).
    None below the least length of the equation.

    length_mm, weight_g
        Total length and weight, above 0.
    raises
        As `standard_weight`, and WeightError for a weight that is not a number above zero.
    source
        Wege GJ, Anderson RO (1978) in New approaches to the management of small impoundments, American Fisheries
        Society, 79-91 [from memory]; the standard weight as for `standard_weight`.
    """
    if not _is_positive(weight_g):
        raise WeightError(f"a weight of {weight_g!r} g is not possible")
    standard = standard_weight(species, length_mm, "mm")
    return None if standard is None else 100 * weight_g / standard
