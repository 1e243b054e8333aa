"""Checks of a fish's length and weight: impossible values, and values to confirm: slips of unit and decimal point."""

from __future__ import annotations

import math
from dataclasses import dataclass

from geneticlog.rules.lengths import G_PER, MM_PER, Measured, measured_length, measured_weight
from geneticlog.rules.species import SPECIES, row

USUAL_RELATIVE_WEIGHT = (50, 160)
# Where the standard-weight equation is not fitted (small fish) it is only good enough to catch gross slips.
GROSS_RELATIVE_WEIGHT = (20, 400)

# Total lengths in mm: (least that can be, least usual on a survey, greatest usual, greatest that can be).
# The project's own bounds, set well outside what its makers know of these species; no source. A length
# outside the outer pair is refused, one outside the inner pair is asked about.
LENGTH_BOUNDS = {
    "largemouth_bass": (15, 60, 690, 1000),
    "smallmouth_bass": (15, 60, 600, 800),
    "spotted_bass": (15, 60, 560, 750),
    "alabama_bass": (15, 60, 600, 750),
    "bluegill": (15, 30, 320, 450),
    "black_crappie": (15, 40, 430, 600),
    "white_crappie": (15, 40, 450, 650),
}
ANY_SPECIES = (10, 40, 900, 1200)


@dataclass(frozen=True)
class Doubt:
    """One thing to ask about, or (``impossible``) to refuse: a plain sentence with the way out in it.

    about: which of length and weight may be at fault
    """

    text: str
    impossible: bool = False
    about: tuple[str, ...] = ()


def greatest_length(species: str, unit: str) -> float:
    """Return the length, in a unit, above which no fish of a species can be. Raises KeyError for an unknown unit."""
    return LENGTH_BOUNDS.get(species, ANY_SPECIES)[3] / float(MM_PER[unit])


def doubts(species: str, length: Measured | None, weight: Measured | None) -> list[Doubt]:
    """Return what is doubtful about a fish, the impossible first; an empty list where nothing is.

    Impossible: a length outside the outer bounds of the species. Asked about: a length outside the usual
    bounds; a relative weight outside 50 to 160, with the slip that would explain it where there is one
    (another unit, 25.4 times, 10 times, or length and weight exchanged).
    """
    doubted: list[Doubt] = []
    least, least_usual, greatest_usual, greatest = LENGTH_BOUNDS.get(species, ANY_SPECIES)
    name = SPECIES[species].printed if species in SPECIES else species
    if length is not None:
        length_in_words = say(length)
        if not least <= length.metric <= greatest:
            doubted.append(
                Doubt(
                    f"a {name} of {length_in_words} cannot be{_meant_length(species, length, refused=True)}",
                    impossible=True,
                )
            )
            return doubted
        if not least_usual <= length.metric <= greatest_usual:
            odd = "small" if length.metric < least_usual else "large"
            text = f"{length_in_words} is unusually {odd} for a {name}{_meant_length(species, length)}"
            doubted.append(Doubt(text, about=("length",)))
    if length is not None and weight is not None and species in SPECIES:
        relative = _any_relative_weight(species, length.metric, weight.metric)
        fitted = length.metric >= row(species).standard_weight.least_mm
        low, high = USUAL_RELATIVE_WEIGHT if fitted else GROSS_RELATIVE_WEIGHT
        if not low <= relative <= high:
            shown = f"{relative:.0f}" if relative < 10_000 else "over 10000"
            text = f"{say(weight)} at {say(length)} is a relative weight of {shown} (usual {low} to {high})"
            slip = _slip(species, length, weight)
            about = ("length", "weight") if " long" in slip or "exchanged" in slip else ("weight",)
            doubted.append(Doubt(text + slip, about=about))
    elif weight is not None and weight.metric > 15_000:
        doubted.append(Doubt(f"{say(weight)} is unusually heavy for a {name}", about=("weight",)))
    return doubted


def say(measured: Measured) -> str:
    """Return a measurement as people read it: "16.5 in", "2.3125 lb"."""
    return f"{measured.value:.10g} {measured.unit}"


def _any_relative_weight(species: str, length_mm: float, weight_g: float) -> float:
    """Relative weight by the equation carried on below its least length: for catching slips only, never shown
    as the fish's own."""
    equation = row(species).standard_weight
    return float(weight_g / 10 ** (equation.intercept_metric + equation.slope * math.log10(length_mm)) * 100)


def _meant_length(species: str, length: Measured, *, refused: bool = False) -> str:
    """Return the other readings, at most two, that are a usual length: as a question, or where refused as advice."""
    _, least_usual, greatest_usual, _ = LENGTH_BOUNDS.get(species, ANY_SPECIES)
    readings = [(length.value, unit) for unit in MM_PER if unit != length.unit]
    readings += [(_shift(length.value, -1), length.unit), (_shift(length.value, 1), length.unit)]
    meant = []
    for value, unit in readings:
        other = measured_length(value, unit)
        if max(least_usual, 100) <= other.metric <= greatest_usual:
            meant.append(f"{say(other)}" + (f" ({other.metric:.0f} mm)" if unit != "mm" else ""))
    if not meant:
        return "; measure it again"
    if refused:  # a refusal takes no answer, so it asks nothing
        return f"; type {' or '.join(meant[:2])} if that was meant"
    return f"; was it {' or '.join(meant[:2])}?"


def _slip(species: str, length: Measured, weight: Measured) -> str:
    """Return the slips of unit or decimal point that would make an ordinary fish of it."""
    candidates: list[tuple[float, str]] = []

    def consider(changed_length: Measured, changed_weight: Measured, text: str) -> None:
        least, _, _, greatest = LENGTH_BOUNDS.get(species, ANY_SPECIES)
        if least <= changed_length.metric <= greatest:
            relative = _any_relative_weight(species, changed_length.metric, changed_weight.metric)
            if 60 <= relative <= 140:
                candidates.append((abs(math.log(relative / 100)), text))

    for unit in MM_PER:
        if unit != length.unit:
            other = measured_length(length.value, unit)
            consider(other, weight, f"{say(other)} long")
    for unit in G_PER:
        if unit != weight.unit:
            heavy = measured_weight(weight.value, unit)
            consider(length, heavy, say(heavy))
    for places in (-1, 1):
        other = measured_length(_shift(length.value, places), length.unit)
        consider(other, weight, f"{say(other)} long")
        heavy = measured_weight(_shift(weight.value, places), weight.unit)
        consider(length, heavy, say(heavy))
    if length.value != weight.value:
        swapped_length = measured_length(weight.value, length.unit)
        swapped_weight = measured_weight(length.value, weight.unit)
        consider(swapped_length, swapped_weight, "length and weight exchanged")
    best = [text for _, text in sorted(candidates)][:2]
    return f"; was it {' or '.join(best)}?" if best else ""


def _shift(value: float, places: int) -> float:
    return float(f"{value!r}e{places}") if "e" not in repr(value) else value * 10.0**places
