"""A fish as it is stored: read back, and kept in the record of what happened."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from geneticlog.rules.boat.plausible import say
from geneticlog.rules.lengths import Measured
from geneticlog.rules.species import SPECIES
from geneticlog.rules.vialcode import printed
from geneticlog.store.tables import Fish, Survey
from geneticlog.work.fish_columns import length_of, weight_of
from geneticlog.work.result.in_the_numbers import is_of_its_species


@dataclass(frozen=True)
class Logged:
    """A fish as it is stored. ``already``: it was there before and nothing changed."""

    number: int
    n_fish: int
    length: Measured | None
    weight: Measured | None
    size_class: str | None
    relative_weight: float | None
    vials: tuple[str, ...]
    counts: bool  # of the survey's species, so that it counts in the tally
    already: bool = False
    other_species: str | None = None  # as printed, where it is not the survey's
    fate: str | None = None

    @property
    def words(self) -> str:
        """As it is read back: "fish 12: 16.5 in, 2.3 lb, preferred, vial BG 4F7 Q2K R"."""
        parts = [say(part) for part in (self.length, self.weight) if part is not None]
        parts += [text for text in (self.other_species, self.size_class) if text]
        parts += (
            [f"vial{'s' if len(self.vials) > 1 else ''} {' and '.join(map(printed, self.vials))}"]
            if self.vials
            else []
        )
        parts += [self.fate] if self.fate else []
        several = f" x{self.n_fish}" if self.n_fish > 1 else ""
        return f"fish {self.number}{several}: {', '.join(parts) or 'not measured'}"


def species_in_words(species: str) -> str:
    return SPECIES[species].printed if species in SPECIES else species.replace("_", " ")


def as_logged(survey: Survey, fish: Fish) -> Logged:
    """Return a fish as it is stored."""
    counts = is_of_its_species(fish.species, survey)
    return Logged(
        number=fish.number,
        n_fish=fish.n_fish,
        length=length_of(fish),
        weight=weight_of(fish),
        size_class=fish.size_class,
        relative_weight=fish.relative_weight,
        vials=tuple(vial.code for vial in fish.vials),
        counts=counts,
        other_species=None if counts else species_in_words(fish.species),
        fate=fish.fate,
    )


def said_of(fish: Fish) -> dict[str, Any]:
    """Return the values of a fish for the record of what happened."""
    return {
        "uid": fish.uid,
        "number": fish.number,
        "n_fish": fish.n_fish,
        "species": fish.species,
        "length": fish.length,
        "length_unit": fish.length_unit,
        "weight": fish.weight,
        "weight_unit": fish.weight_unit,
        "size_class": fish.size_class,
        "fate": fish.fate,
        "site": fish.site,
        "remarks": fish.remarks,
        "source": fish.source,
        "vials": [vial.code for vial in fish.vials],
    }
