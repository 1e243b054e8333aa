"""What one row of a field sheet says: a fish, its number on the sheet, or a tally box."""

from __future__ import annotations

import re
from dataclasses import dataclass

from geneticlog.errors import Refused
from geneticlog.rules.boat.log_words import FATES, TISSUES
from geneticlog.rules.boat.logline import LogLine
from geneticlog.rules.boat.sheet_columns import POUNDS_AND_OUNCES
from geneticlog.rules.lengths import Measured, WeightError, parse_length, parse_weight
from geneticlog.rules.species import species_key
from geneticlog.store.tables import Survey
from geneticlog.work.boat.sheet_layout import Faults, Tab

_TISSUES = {  # S / C and K / R are what the printed sheet offers to be circled
    **TISSUES,
    "s": "mouth_swab",
    "c": "fin_clip",
    "mouth swab": "mouth_swab",
    "mouth_swab": "mouth_swab",
    "fin clip": "fin_clip",
    "fin_clip": "fin_clip",
}
_FATES = {**FATES, "k": "kept", "r": "released", "d": "died"}
NEW = "new"  # in the column of fish numbers: a fish that was on no sheet before


@dataclass(frozen=True)
class FishRow:
    """A filled row: where it is, its number on the sheet if it has one, and what it says of its fish."""

    tab: str
    row: int
    line: LogLine
    number: int | None
    is_new: bool
    size_class: str | None
    site: str | None
    heading: dict[str, str]
    texts: dict[str, str]

    @property
    def said(self) -> tuple[str, ...]:
        """What the row says of its fish, plainly, so that 12 and 12.0 are the same: the order of SAID."""
        line = self.line
        measured = [f"{one.value!r} {one.unit}" if one else "" for one in (line.length, line.weight)]
        rest = (
            str(line.n_fish),
            line.species,
            line.tissue,
            line.fate,
            self.size_class,
            self.site,
            line.remarks,
        )
        return (*measured, *(text or "" for text in rest))


SAID = ("length", "weight", "n_fish", "species", "tissue", "fate", "size_class", "site", "remarks")


def fish_row(tab: Tab, at: int, texts: dict[str, str], survey: Survey, faults: Faults) -> FishRow | None:
    """Return what a row says; None with its faults added where it cannot be read."""
    before = len(faults.texts)
    heading = {name: title for name, (_, title) in tab.columns.items()}
    struck: list[str] = []

    def value(name: str) -> str | None:
        text = texts.get(name)
        if text is None:
            return None
        last, first = _rewritten(text)
        if first:
            struck.append(f"{name.replace('_', ' ')} {first} struck")
        return last

    length: Measured | None = None
    weight: Measured | None = None
    try:
        if text := value("length"):
            length = parse_length(text, tab.units.get("length", survey.length_unit))
    except Refused as fault:
        faults.add(at, heading["length"], str(fault))
    try:
        weight = _weight(value("weight"), value("ounces"), tab.units.get("weight", survey.weight_unit))
    except Refused as fault:
        faults.add(at, heading.get("weight") or heading["ounces"], str(fault))
    n_fish = _whole(value("n_fish"), "n_fish", at, heading, faults)
    is_new = (texts.get("fish") or "").lower() == NEW
    number = None if is_new else _whole(value("fish"), "fish", at, heading, faults)
    species = None
    try:
        species = species_key(texts["species"]) if "species" in texts else None
    except Refused as fault:
        faults.add(at, heading["species"], str(fault))
    tissue = _word(value("tissue"), _TISSUES, "tissue", at, heading, faults)
    fate = _word(value("fate"), _FATES, "fate", at, heading, faults)
    vial, second = value("vial"), value("second")
    remarks = "; ".join([*([texts["remarks"]] if "remarks" in texts else []), *struck]) or None
    if n_fish is not None and n_fish > 1 and (vial or second or weight):
        faults.add(at, heading["n_fish"], f"a tally of {n_fish} fish cannot have a vial or a weight")
    if len(faults.texts) > before:
        return None
    line = LogLine(
        vial=vial, second=second, length=length, weight=weight, n_fish=n_fish or 1, tissue=tissue, fate=fate,
        species=species, remarks=remarks,
    )  # fmt: skip
    # judged from the length, never taken from the sheet beside it
    size_class = texts.get("size_class") if length is None else None
    return FishRow(tab.sheet.name, at, line, number, is_new, size_class, texts.get("site"), heading, texts)


def _weight(text: str | None, ounces: str | None, unit: str) -> Measured | None:
    """Return a weight of one column, or of pounds and ounces in one or two."""
    if unit == POUNDS_AND_OUNCES:
        if text is None:
            return None
        plain = re.sub(r"\s*[-,;/]\s*|\s+", "-", text.strip())
        if re.fullmatch(r"[0-9]+(-[0-9]+)?", plain):
            return parse_weight(plain if "-" in plain else f"{plain} lb", "lb")
        if re.search("[a-z#]", text.lower()):
            return parse_weight(text, "lb")
        raise WeightError(f"{text!r} is not pounds and ounces; write 2-5")
    if ounces is None or re.fullmatch(r"0+(?:\.0+)?", ounces):
        return parse_weight(text, unit) if text else None
    if text is None or re.fullmatch(r"0+(?:\.0+)?", text):
        return parse_weight(ounces, "oz")
    whole = re.sub(r"\.0+$", "", text)
    return parse_weight(f"{whole} lb {re.sub(r'[.]0+$', '', ounces)} oz")


def _rewritten(text: str) -> tuple[str, str | None]:
    """Return a value, and the one before it that was struck: "16.5 -> 15.6", "~~16.5~~ 15.6"."""
    found = re.fullmatch(r"(.+?)\s*(?:->|→|=>)\s*(.+)", text) or re.fullmatch(r"~+\s*(.+?)\s*~+\s*(.+)", text)
    return (found[2], found[1]) if found else (text, None)


def _whole(text: str | None, name: str, row: int, heading: dict[str, str], faults: Faults) -> int | None:
    if text is None:
        return None
    match = re.fullmatch(r"[xX×]?\s*([0-9]{1,4})(?:\.0+)?", text)
    if not match or int(match[1]) == 0:
        faults.add(row, heading[name], f"{text!r} is not a whole number of 1 or more")
        return None
    return int(match[1])


def _word(
    text: str | None, words: dict[str, str], name: str, row: int, heading: dict[str, str], faults: Faults
) -> str | None:
    if text is None:
        return None
    key = words.get(text.lower())
    if key is None:
        letters = {word: letter.upper() for letter, word in words.items() if len(letter) == 1}
        known = ", ".join(f"{letters[word]} ({word.replace('_', ' ')})" for word in sorted(letters))
        faults.add(row, heading[name], f"{text!r} is not understood; use one of {known}")
    return key
