"""What the columns of a filled field sheet mean, by the words and units that crews put over them."""

from __future__ import annotations

from dataclasses import dataclass

from geneticlog.rules.column_headings import Vocabulary, normalised
from geneticlog.rules.lengths import LENGTH_NAMES, LENGTH_UNITS, WEIGHT_NAMES, WEIGHT_UNITS

# What a column means, by the words that crews put over it; the unit may stand in the heading too.
HEADINGS = {
    "fish": {"fish", "fish no", "fish number", "no", "number", "nr"},
    "vial": {"vial", "vial code", "code", "label", "sample", "sample id"},
    "second": {"second vial", "duplicate", "blind duplicate", "second swab"},
    "species": {"species"},
    "length": LENGTH_NAMES | {"total length"},
    "weight": WEIGHT_NAMES,
    "tissue": {"tissue", "swab or clip", "sample type"},
    "fate": {"fate", "kept or released", "kept released", "released or kept"},
    "n_fish": {"n fish", "tally", "count", "how many", "n"},
    "size_class": {"size class", "class"},
    "site": {"site", "transect", "station"},
    "date": {"date", "day", "caught on", "surveyed on"},
    "remarks": {"remarks", "remark", "notes", "note", "comments", "comment"},
}
_VOCABULARY = Vocabulary.of_phrases(HEADINGS)
POUNDS_AND_OUNCES = "lb oz"  # one column whose cells hold both: 2-5
MEASURED = {"length": LENGTH_UNITS, "weight": WEIGHT_UNITS}


@dataclass(frozen=True)
class Meaning:
    """What a column holds (a key of HEADINGS, or "ounces" beside a column of pounds), and its unit if it has one."""

    name: str
    unit: str | None = None


def _plain(heading: str) -> list[str]:
    # an inch sign is a unit here, and the double prime would become two primes
    words = normalised(heading.replace("″", '"'), also="#&+").split()
    return [word for word in words if word != "and"]


def _without_units(words: list[str]) -> tuple[list[str], list[str]]:
    """The words of a heading, and the units at its end."""
    n = len(words)
    while n and (words[n - 1] in LENGTH_UNITS or words[n - 1] in WEIGHT_UNITS):
        n -= 1
    return words[:n], words[n:]


def nearest_headings(heading: str) -> list[str]:
    """Return the known headings that this one may be a slip of ("lenght (mm)" of length), nearest first."""
    return _VOCABULARY.nearest(" ".join(_without_units(_plain(heading))[0]))


def meaning(heading: str) -> Meaning | None:
    """Return what a column with this heading holds; None where nothing is known of it."""
    named, units = _without_units(_plain(heading))
    words = " ".join(named)
    kinds = [WEIGHT_UNITS[one] for one in units if one in WEIGHT_UNITS]
    if not words and units:  # "oz", "lbs, oz", "mm": the unit alone says what is in it
        if kinds == ["lb", "oz"] and len(units) == 2:
            return Meaning("weight", POUNDS_AND_OUNCES)
        if len(units) != 1:
            return None
        return Meaning("weight", kinds[0]) if kinds else Meaning("length", LENGTH_UNITS[units[0]])
    name = _VOCABULARY.look(words).meaning
    if name is None or not units:
        return None if name is None else Meaning(name)
    if name == "weight" and kinds == ["lb", "oz"] and len(units) == 2:
        return Meaning(name, POUNDS_AND_OUNCES)
    allowed = MEASURED.get(name)
    return Meaning(name, allowed[units[0]]) if allowed and len(units) == 1 and units[0] in allowed else None
