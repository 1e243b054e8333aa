"""Size-class schemes: the published five-length scheme, inch groups, young and adult; judged as measured."""

from __future__ import annotations

import json
from bisect import bisect_right
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from geneticlog.errors import Refused
from geneticlog.rules.known_species import SPECIES
from geneticlog.rules.lengths import MM_PER

FIVE_LENGTH = ("substock", "stock", "quality", "preferred", "memorable", "trophy")

# Gabelhouse DW (1984) North American Journal of Fisheries Management 4:273-285 (original not read), as tabled
# in the R package FSA 0.10.0: the least total length of stock, quality, preferred, memorable and trophy.
# Inches and millimetres were rounded apart (25 in is 635 mm): neither table is ever derived from the other.
# There is no row for Florida bass or for hybrids; the largemouth row serves the whole complex.
LEAST_LENGTH = {
    ("largemouth_bass", "mm"): (200, 300, 380, 510, 630),
    ("largemouth_bass", "in"): (8, 12, 15, 20, 25),
    ("smallmouth_bass", "mm"): (180, 280, 350, 430, 510),
    ("smallmouth_bass", "in"): (7, 11, 14, 17, 20),
    ("spotted_bass", "mm"): (180, 280, 350, 430, 510),
    ("spotted_bass", "in"): (7, 11, 14, 17, 20),
    ("bluegill", "mm"): (80, 150, 200, 250, 300),
    ("bluegill", "in"): (3, 6, 8, 10, 12),
    ("black_crappie", "mm"): (130, 200, 250, 300, 380),
    ("black_crappie", "in"): (5, 8, 10, 12, 15),
    ("white_crappie", "mm"): (130, 200, 250, 300, 380),
    ("white_crappie", "in"): (5, 8, 10, 12, 15),
}


class SchemeError(Refused):
    """A size-class scheme that cannot be, or a length or class that it cannot judge; names the value."""


@dataclass(frozen=True)
class SizeClass:
    """One size class: its name, and a label that says its lengths."""

    name: str
    label: str


@dataclass(frozen=True)
class Scheme:
    """Size classes of one species, smallest first.

    least: for "mm", "in" or both, the least total length of each class, ascending; the first is 0
    adult_from: the first class that counts as adult; the classes below it are young
    """

    name: str
    species: str
    classes: tuple[str, ...]
    least: dict[str, tuple[float, ...]]
    adult_from: str

    def __post_init__(self) -> None:
        if len(self.classes) < 1 or len(set(self.classes)) != len(self.classes):
            raise SchemeError(f"scheme {self.name!r} must have classes, each named once: {self.classes}")
        if not self.least or set(self.least) - {"mm", "in"}:
            raise SchemeError(
                f"scheme {self.name!r} must have limits in mm, in or both: {sorted(self.least)}"
            )
        for unit, limits in self.least.items():
            rising = all(low < high for low, high in pairwise(limits))
            if len(limits) != len(self.classes) or limits[0] != 0 or not rising:
                raise SchemeError(
                    f"scheme {self.name!r} needs one rising limit in {unit} for each class, from 0: {limits}"
                )
        if self.adult_from not in self.classes:
            raise SchemeError(f"{self.adult_from!r} is not a class of scheme {self.name!r}")

    def judge(self, length: float, unit: str) -> str:
        """Return the size class of a total length, judged in the unit in which it was measured.

        length, unit: as measured; mm, cm or in. Centimetres are judged by the millimetre limits. A scheme
        with limits in one unit judges a fish measured in the other by exact conversion (1 in = 25.4 mm).
        Raises SchemeError for another unit and for a length that is not above zero.
        """
        _of_length(unit)
        exact = _exact(length)
        if exact is None or exact <= 0:
            raise SchemeError(f"a total length of {_said(length)} {unit} is not possible")
        limits_in = self._limits_for(unit)
        exact = exact * MM_PER[unit] / MM_PER[limits_in]
        limits = [Fraction(str(limit)) for limit in self.least[limits_in]]
        return self.classes[bisect_right(limits, exact) - 1]

    def _limits_for(self, unit: str) -> str:
        """Return the unit of the limits that judge a length in mm, cm or in: its own kind's where the scheme has it."""
        wanted = "in" if unit == "in" else "mm"
        return wanted if wanted in self.least else next(iter(self.least))

    def judges_like(self, other: Scheme) -> bool:
        """Whether both give every fish the same class: same species, class names and limits."""
        return (self.species, self.classes, self.least) == (other.species, other.classes, other.least)

    @property
    def young(self) -> tuple[str, ...]:
        """The classes below adult_from."""
        return self.classes[: self.classes.index(self.adult_from)]

    @property
    def adult(self) -> tuple[str, ...]:
        """The classes from adult_from on."""
        return self.classes[self.classes.index(self.adult_from) :]

    def size_classes(self, unit: str = "mm") -> tuple[SizeClass, ...]:
        """Return each class with a label that says its lengths, in unit if the scheme has it.

        Raises SchemeError for another unit than mm, cm or in.
        """
        _of_length(unit)
        unit = self._limits_for(unit)
        limits = self.least[unit]
        labels = []
        for at, name in enumerate(self.classes):
            if len(limits) == 1:
                lengths = "any length"
            elif at == 0:
                lengths = f"under {limits[1]:g} {unit}"
            elif at == len(limits) - 1:
                lengths = f"{limits[at]:g} {unit} and over"
            else:
                lengths = f"{limits[at]:g} to under {limits[at + 1]:g} {unit}"
            said = name in (lengths, lengths.replace(" to under ", " to "))  # an inch group is its own label
            labels.append(SizeClass(name, name if said else f"{name} ({lengths})"))
        return tuple(labels)

    def to_json(self) -> str:
        """Return the scheme as one line of JSON with sorted keys; from_json reads it back."""
        return json.dumps(
            {
                "name": self.name,
                "species": self.species,
                "classes": list(self.classes),
                "least": {unit: list(limits) for unit, limits in self.least.items()},
                "adult_from": self.adult_from,
            },
            sort_keys=True,
        )

    @staticmethod
    def from_json(text: str) -> Scheme:
        """Return the scheme in a JSON text. Raises SchemeError for a text that holds none."""
        try:
            values = json.loads(text)
            return Scheme(
                name=str(values["name"]),
                species=str(values["species"]),
                classes=tuple(str(name) for name in values["classes"]),
                least={
                    str(unit): tuple(_number(limit) for limit in limits)
                    for unit, limits in values["least"].items()
                },
                adult_from=str(values["adult_from"]),
            )
        except (ValueError, KeyError, TypeError, AttributeError, IndexError) as fault:
            raise SchemeError(f"this text holds no size-class scheme: {fault!r}") from None


@dataclass(frozen=True)
class OwnSchemes:
    """The size classes that a lake has of its own, one scheme a species."""

    by_species: Mapping[str, Scheme]

    def to_json(self) -> str:
        """Return the schemes as one line of JSON, one alone or a list of them; from_json reads it back."""
        texts = [self.by_species[name].to_json() for name in sorted(self.by_species)]
        return texts[0] if len(texts) == 1 else f"[{', '.join(texts)}]"

    @staticmethod
    def from_json(text: str) -> OwnSchemes:
        """Return the schemes in a JSON text. Raises SchemeError for a text that holds none."""
        try:
            values = json.loads(text)
        except ValueError as fault:
            raise SchemeError(f"this text holds no size-class scheme: {fault!r}") from None
        schemes = [
            Scheme.from_json(json.dumps(one)) for one in (values if isinstance(values, list) else [values])
        ]
        return OwnSchemes({scheme.species: scheme for scheme in schemes})


def five_length(species: str) -> Scheme:
    """Return the published five-length scheme; adult from quality length.

    Raises SchemeError for a species without published limits: give it own breaks instead.
    """
    _known(species)
    if (species, "mm") not in LEAST_LENGTH:
        raise SchemeError(
            f"no published size-class limits are known for {SPECIES[species].printed}; "
            "use inch groups or young and adult with a length of your own (geneticlog lake classes)"
        )
    least: dict[str, tuple[float, ...]] = {unit: (0, *LEAST_LENGTH[species, unit]) for unit in ("mm", "in")}
    return Scheme("five-length", species, FIVE_LENGTH, least, adult_from="quality")


def inch_groups(
    species: str, first: float, last: float, step: float = 1, adult_from: float | None = None
) -> Scheme:
    """Return groups of step inches from first to last, with one group below and one above them.

    adult_from: least length of an adult in inches; default the published quality length of the species.
    A group counts as adult when its least length is not below it. Raises SchemeError where first, last and
    step make no whole groups, and where no group or none but the lowest would be adult.
    """
    _known(species)
    for what, value in (("first", first), ("last", last), ("step", step), ("adult length", adult_from)):
        exact = _exact(value)
        if (exact is None or not 0 < exact < 1000) and not (what == "adult length" and value is None):
            raise SchemeError(f"inch groups with a {what} of {_said(value)} in are not possible")
    start, end, width = Fraction(str(first)), Fraction(str(last)), Fraction(str(step))
    if start <= 0 or width <= 0 or end < start or (end - start) % width:
        raise SchemeError(f"inch groups from {first} to {last} by {step} do not come out in whole groups")
    if (end - start) / width > 200:
        raise SchemeError(f"inch groups from {first} to {last} by {step} are more than 200 groups")
    if adult_from is None and (species, "mm") not in LEAST_LENGTH:
        raise SchemeError(
            f"no published adult length is held for {SPECIES[species].printed if species in SPECIES else species!r};"
            " say from which length a fish is an adult (--adult-from)"
        )
    if adult_from is None:
        adult_from = five_length(species).least["in"][FIVE_LENGTH.index("quality")]
    adult = Fraction(str(adult_from))
    limits = [start + width * at for at in range(int((end - start) / width) + 1)]
    names = [f"under {_plain(start)} in"]
    names += [f"{_plain(low)} to {_plain(low + width)} in" for low in limits[:-1]]
    names += [f"{_plain(end)} in and over"]
    adults = [name for name, low in zip(names[1:], limits, strict=True) if low >= adult]
    if not adults:
        raise SchemeError(
            f"no group of {first} to {last} in starts at or above {adult_from} in, the adult length"
        )
    return Scheme(
        f"inch groups {_plain(start)} to {_plain(end)} by {_plain(width)}",
        species,
        tuple(names),
        {"in": (0, *(_number(float(limit)) for limit in limits))},
        adult_from=adults[0],
    )


def two_groups(species: str, adult_from: float, unit: str) -> Scheme:
    """Return young and adult, divided at a least adult length in mm or in. Raises SchemeError otherwise."""
    if not isinstance(unit, str) or unit not in ("mm", "in"):
        raise SchemeError(f"young and adult are divided at a length in mm or in, not {unit!r}")
    _known(species)
    least = _exact(adult_from)
    if least is None or not 0 < least < 10_000:
        raise SchemeError(f"an adult length of {_said(adult_from)} {unit} is not possible")
    return Scheme(
        f"young and adult from {adult_from:g} {unit}",
        species,
        ("young", "adult"),
        {unit: (0, _number(adult_from))},
        adult_from="adult",
    )


def _number(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise SchemeError(f"{value!r} is not a length limit")
    return int(value) if float(value).is_integer() else value


def _known(species: str) -> None:
    if not isinstance(species, str) or species not in SPECIES:
        raise SchemeError(f"{species!r} is not a species key; use one of {', '.join(SPECIES)}")


def _of_length(unit: str) -> None:
    if not isinstance(unit, str) or unit not in MM_PER:
        raise SchemeError(f"{unit!r} is not a unit of length here; use mm, cm or in")


def _said(value: object) -> str:
    return f"{value:g}" if isinstance(value, int | float) else repr(value)


def _exact(value: float | None) -> Fraction | None:
    """Return the number as it is written (20.1 means 20.1, not the binary number next to it); None for no number."""
    if isinstance(value, bool | str):
        return None
    try:
        return Fraction(str(value))
    except ValueError:
        return None


def _plain(value: Fraction) -> str:
    return f"{float(value):g}"
