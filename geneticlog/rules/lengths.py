"""Lengths and weights as people write them: number and unit as measured, and millimetres or grams."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from geneticlog.errors import Refused

# Exact by definition: the international inch (25.4 mm) and pound (0.45359237 kg) of 1959; 16 oz a pound.
MM_PER = {"mm": Fraction(1), "cm": Fraction(10), "in": Fraction(254, 10)}
G_PER = {
    "g": Fraction(1),
    "kg": Fraction(1000),
    "lb": Fraction(45359237, 100000),
    "oz": Fraction(45359237, 1600000),
}

LENGTH_WORDS = {
    "mm": ("mm", "millimetre", "millimetres", "millimeter", "millimeters"),
    "cm": ("cm", "centimetre", "centimetres", "centimeter", "centimeters"),
    "in": ("in", "in.", "ins", "inch", "inches", '"', "″", "”", "''"),
}
WEIGHT_WORDS = {
    "g": ("g", "gm", "gr", "gram", "grams", "gramme", "grammes"),
    "kg": ("kg", "kgs", "kilo", "kilos", "kilogram", "kilograms"),
    "lb": ("lb", "lb.", "lbs", "lbs.", "pound", "pounds", "#"),
    "oz": ("oz", "oz.", "ozs", "ounce", "ounces"),
}
# how people name what was measured, in a heading or before a number
LENGTH_NAMES, WEIGHT_NAMES = frozenset({"tl", "length", "len"}), frozenset({"wt", "weight", "mass"})
LENGTH_UNITS = {word: unit for unit, words in LENGTH_WORDS.items() for word in words}
WEIGHT_UNITS = {word: unit for unit, words in WEIGHT_WORDS.items() for word in words}

FRACTION_SIGNS = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
_NUMBER = r"[0-9]+[ -][0-9]+/[0-9]+|[0-9]+/[0-9]+|[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+"
# A full stop belongs to a unit only where letters stand before it ("in.", "lbs.").
_PART = re.compile(rf"\s*({_NUMBER})\s*([a-z]+\.?|\"|″|”|''|\#)?\s*")
# Pounds and ounces as crews write them short: "2-5", "2lb5", "2#5" (common practice, no source).
_DASHED = re.compile(r"([0-9]+)-([0-9]+)(\s*(?:oz|ozs|ounces?)\.?)?")
_RUN_TOGETHER = re.compile(r"([0-9]+)(?:lbs?\.?|\#)([0-9]+)")


class LengthError(Refused):
    """A text that is no length; the sentence names the text and says what is understood."""


class WeightError(Refused):
    """A text that is no weight; the sentence names the text and says what is understood."""


@dataclass(frozen=True)
class Measured:
    """A measurement as it was made, and in metric.

    value, unit: as measured; unit is mm, cm or in for a length and g, kg, lb or oz for a weight
    metric: the same in millimetres or grams, converted exactly and rounded only to the nearest float
    """

    value: float
    unit: str
    metric: float


def measured_length(value: float, unit: str) -> Measured:
    """Return a length of known unit. Raises LengthError for another unit or a number that is no length."""
    if unit not in MM_PER:
        raise LengthError(f"{unit!r} is not a unit of length here; use mm, cm or in")
    return _measured(_exact(value, LengthError, "length"), unit, MM_PER, LengthError, str(value))


def measured_weight(value: float, unit: str) -> Measured:
    """Return a weight of known unit. Raises WeightError for another unit or a number that is no weight."""
    if unit not in G_PER:
        raise WeightError(f"{unit!r} is not a unit of weight here; use g, kg, lb or oz")
    return _measured(_exact(value, WeightError, "weight"), unit, G_PER, WeightError, str(value))


def parse_length(text: str, default_unit: str | None = None) -> Measured:
    """Return the total length written in a text: "16 1/2 in", "16.5", "16½″", "41,9 cm", "419 mm".

    default_unit
        mm, cm or in: the unit of a number that stands alone; without it such a number is refused.
    raises
        LengthError for anything else, for zero and for less than zero. A comma before exactly three digits
        ("1,250") is refused, because it is a decimal mark to one reader and parts thousands to another.
    source
        1 in = 25.4 mm exactly.
    """
    parts = _parts(text, LENGTH_UNITS, LengthError, "length", 'as in "16 1/2 in", "16.5" or "419 mm"')
    if len(parts) != 1:
        raise LengthError(f"{text.strip()!r} is not one length; write it as one number and its unit")
    number, unit = parts[0]
    unit = unit or default_unit
    if unit is None:
        raise LengthError(f"{text.strip()!r} has no unit of length; add mm, cm or in")
    if unit not in MM_PER:
        raise LengthError(f"{unit!r} is not a unit of length here; use mm, cm or in")
    return _measured(number, unit, MM_PER, LengthError, text)


def parse_weight(text: str, default_unit: str | None = None) -> Measured:
    """Return the weight written in a text: "2 lb 5 oz", "2-5", "2lb5", "2#5", "2.3", "1050 g", "1.05 kg", "37 oz".

    default_unit
        g, kg, lb or oz: the unit of a number that stands alone; without it such a number is refused.
    returns
        Pounds and ounces together are kept as pounds: "2 lb 5 oz" is 2.3125 lb, exactly. "2-5" is pounds and
        ounces only where the default unit is lb or oz.
    raises
        WeightError for anything else, for zero and less, and for 16 or more ounces beside pounds.
    source
        1 lb = 453.59237 g exactly; 16 oz = 1 lb.
    """
    plain = text.strip().lower()
    if short := _DASHED.fullmatch(plain):
        if default_unit not in ("lb", "oz"):
            raise WeightError(
                f"{text.strip()!r} is not a weight in {default_unit}; for pounds write 2 lb 5 oz"
            )
        return parse_weight(f"{short[1]} lb {short[2]} oz")
    if short := _RUN_TOGETHER.fullmatch(plain):
        return parse_weight(f"{short[1]} lb {short[2]} oz")
    parts = _parts(text, WEIGHT_UNITS, WeightError, "weight", 'as in "2 lb 5 oz", "2.3" or "1050 g"')
    if len(parts) == 2 and (parts[0][1], parts[1][1]) == ("lb", "oz"):
        (pounds, _), (ounces, _) = parts
        if ounces >= 16 or pounds.denominator != 1:
            raise WeightError(f"{text.strip()!r} is not a weight: whole pounds, and ounces below 16")
        return _measured(pounds + ounces / 16, "lb", G_PER, WeightError, text)
    if len(parts) != 1:
        raise WeightError(f"{text.strip()!r} is not one weight; write it as in 2 lb 5 oz or 1050 g")
    number, unit = parts[0]
    unit = unit or default_unit
    if unit is None:
        raise WeightError(f"{text.strip()!r} has no unit of weight; add g, kg, lb or oz")
    if unit not in G_PER:
        raise WeightError(f"{unit!r} is not a unit of weight here; use g, kg, lb or oz")
    return _measured(number, unit, G_PER, WeightError, text)


def parse_number(text: str) -> Fraction:
    """Return the exact number in "16", "16.5", "16,5", "1/2", "16 1/2" or "16-1/2".

    Raises ValueError, with the reason, for any other text.
    """
    text = text.strip()
    if not re.fullmatch(_NUMBER, text):
        raise ValueError(f"{text!r} is not a number")
    whole, _, fraction = text.replace("-", " ").rpartition(" ")
    if "/" in fraction:
        upper, lower = fraction.split("/")
        if int(lower) == 0 or int(upper) >= int(lower):
            raise ValueError(f"{fraction!r} is not a part of one")
        return Fraction(int(whole or 0)) + Fraction(int(upper), int(lower))
    if re.fullmatch(r"[1-9][0-9]*,[0-9]{3}", text):
        raise ValueError(f"the comma in {text!r} may be a decimal mark or part thousands; write it without")
    return Fraction(text.replace(",", "."))


def _parts(
    text: str, units: dict[str, str], error: type[Refused], what: str, example: str
) -> list[tuple[Fraction, str | None]]:
    plain = text.strip().lower().replace("\N{NO-BREAK SPACE}", " ").replace("\N{FRACTION SLASH}", "/")
    for sign, spelled in FRACTION_SIGNS.items():
        plain = re.sub(rf"(?<=[0-9])\s*{sign}", f" {spelled}", plain).replace(sign, spelled)
    plain = re.sub(r"(?<=[0-9])\s*[ -]\s*(?=[0-9]+/)", " ", plain)
    parts: list[tuple[Fraction, str | None]] = []
    at = 0
    while at < len(plain):
        match = _PART.match(plain, at)
        if match is None:
            raise error(f"{text.strip()!r} is not a {what}; write it {example}")
        number, word = match.groups()
        if word is not None and word not in units:
            raise error(
                f"{text.strip()!r} is not a {what}: {word!r} is no unit of {what}; write it {example}"
            )
        try:
            parts.append((parse_number(number), units[word] if word else None))
        except ValueError as fault:
            raise error(f"{text.strip()!r} is not a {what}: {fault}") from None
        at = match.end()
    if not parts:
        raise error(f"there is no {what} in an empty text; write it {example}")
    return parts


def _exact(value: float, error: type[Refused], what: str) -> Fraction:
    try:
        # The decimal that a float prints as is what the person wrote; its binary tail is not.
        return Fraction(str(value))
    except ValueError:
        raise error(f"{value!r} is not a {what}") from None


def _measured(
    number: Fraction, unit: str, factors: dict[str, Fraction], error: type[Refused], text: str
) -> Measured:
    if number <= 0:
        raise error(f"{text.strip()!r} cannot be: it must be more than zero")
    if number > 1_000_000:
        raise error(f"{text.strip()!r} cannot be: look at the number again")
    return Measured(float(number), unit, float(number * factors[unit]))
