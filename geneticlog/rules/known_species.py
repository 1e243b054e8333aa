"""The species known here: printed names, the words that mean them, and their standard-weight equations."""

from __future__ import annotations

import re
from dataclasses import dataclass

from geneticlog.errors import Refused


class SpeciesError(Refused):
    """A species that is not in the table, or that has no published row for what was asked."""


@dataclass(frozen=True)
class StandardWeight:
    """log10(Ws) = intercept + slope * log10(TL), in g and mm or in lb and in, from a least length on."""

    intercept_metric: float
    intercept_english: float | None
    slope: float
    least_mm: float
    least_in: float | None
    source: str


@dataclass(frozen=True)
class Species:
    """A species as it is printed, the other words that mean it, and its standard-weight equation."""

    printed: str
    words: tuple[str, ...]
    standard_weight: StandardWeight


# Equations: the values tabled in the R package FSA 0.10.0 (Ogle et al. 2025, FSA: Simple Fisheries Stock
# Assessment Methods), with the authors it names. The metric and English forms were rounded apart.
# The short words (LMB and the like) are common practice, no source.
SPECIES = {
    "largemouth_bass": Species(
        "largemouth bass",
        ("largemouth", "lmb", "florida bass", "northern largemouth bass", "black bass"),
        StandardWeight(-5.528, -3.587, 3.273, 150, 6, "Henson 1991"),
    ),
    "smallmouth_bass": Species(
        "smallmouth bass",
        ("smallmouth", "smb"),
        StandardWeight(-5.329, -3.491, 3.200, 150, 6, "Kolander et al. 1993"),
    ),
    "spotted_bass": Species(
        "spotted bass",
        ("spotted", "spb", "kentucky bass"),
        StandardWeight(-5.392, -3.533, 3.215, 100, 4, "Wiens et al. 1996"),
    ),
    "alabama_bass": Species(
        "Alabama bass",
        ("alabama", "alb"),
        # The least length of 100 mm is assumed in the source; there is no English form.
        StandardWeight(-5.598, None, 3.2904, 100, None, "DiCenzo et al. 1995"),
    ),
    "bluegill": Species(
        "bluegill", ("blg", "bream"), StandardWeight(-5.374, -3.371, 3.316, 80, 3, "Hillman 1982")
    ),
    "black_crappie": Species(
        "black crappie",
        ("blc",),
        StandardWeight(-5.618, -3.576, 3.345, 100, 4, "Neumann & Murphy 1991"),
    ),
    "white_crappie": Species(
        "white crappie",
        ("whc",),
        StandardWeight(-5.642, -3.618, 3.332, 100, 4, "Neumann & Murphy 1991"),
    ),
}

# Other fish that come up on the same surveys, so that a word for one is named as a species and not taken for a
# mistyped code. Common names, from memory; only those that are written.
OTHER_FISH = frozenset(
    re.split(
        r"\|",
        "walleye|sauger|saugeye|northern pike|pike|pickerel|chain pickerel|muskellunge|muskie|musky|"
        "yellow perch|perch|channel catfish|blue catfish|flathead catfish|flathead|catfish|bullhead|"
        "gizzard shad|threadfin shad|shad|common carp|grass carp|carp|redear sunfish|redear|"
        "redbreast sunfish|green sunfish|sunfish|warmouth|pumpkinseed|striped bass|hybrid striped bass|"
        "white bass|yellow bass|rock bass|bowfin|gar|longnose gar|spotted gar|trout|golden shiner|chubsucker|"
        "sucker|buffalo|drum|eel|crappie|bass",
    )
)


def species_key(text: str) -> str:
    """Return the key of a species named by its key, its printed name or a short word; case does not matter.

    Raises SpeciesError for a name that is not in the table.
    """
    if not isinstance(text, str):
        raise SpeciesError(f"{text!r} is not the name of a species")
    plain = " ".join(text.replace("_", " ").lower().split())
    for key, species in SPECIES.items():
        if plain in (key.replace("_", " "), species.printed.lower(), *species.words):
            return key
    known = ", ".join(species.printed for species in SPECIES.values())
    raise SpeciesError(f"{text!r} is not a species known here; use one of {known}")


def row(species: str) -> Species:
    """Return the row of a species key. Raises SpeciesError for another key."""
    try:
        return SPECIES[species]
    except (KeyError, TypeError):
        raise SpeciesError(f"{species!r} is not a species key; use one of {', '.join(SPECIES)}") from None
