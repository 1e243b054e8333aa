"""The grammar of one line of the log: one line is one fish, its parts in any order that is unambiguous."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from geneticlog.errors import Refused
from geneticlog.rules.lengths import (
    LENGTH_UNITS,
    WEIGHT_UNITS,
    LengthError,
    Measured,
    WeightError,
    parse_length,
    parse_weight,
)
from geneticlog.rules.species import SPECIES, relative_weight
from geneticlog.rules.vialcode import VialCodeError, parse

MOST_IN_A_TALLY = 1000

COMMANDS = {
    "undo": "undo",
    "done": "done",
    "quit": "done",
    "end": "done",
    "help": "help",
    "?": "help",
    "tally": "tally",
    "drop": "drop",
}
TISSUES = {
    "swab": "mouth_swab",
    "mouth": "mouth_swab",
    "clip": "fin_clip",
    "fin": "fin_clip",
    "finclip": "fin_clip",
}
FATES = {
    "released": "released",
    "kept": "kept",
    "died": "died",
    "dead": "died",
}
SECOND = "second"
LENGTH_NAMES = {"tl", "length", "len"}
WEIGHT_NAMES = {"wt", "weight"}
_SPECIES_WORDS = {
    word: key
    for key, species in SPECIES.items()
    for word in (key, key.replace("_", ""), species.printed.lower(), *species.words)
}
_WORDS = {*COMMANDS, *TISSUES, *FATES, *LENGTH_NAMES, *WEIGHT_NAMES, *LENGTH_UNITS, *WEIGHT_UNITS, SECOND}
_SINGLE_WORDS = _WORDS | {part for word in _SPECIES_WORDS for part in word.split()}

_NUMBER = r"[0-9]+[ -][0-9]+/[0-9]+|[0-9]+/[0-9]+|[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+"
_QUANTITY = re.compile(rf"({_NUMBER})(?![0-9/.,])\s*(\"|″|”|''|[a-z]+\.?)?")
_TALLY = re.compile(r"(?:[x×]\s*([0-9]+)|([0-9]+)\s*[x×])(?![0-9a-z])")
_WORD = re.compile(r"[^\s]+")
_FRACTION_SIGNS = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}


class LogLineError(Refused):
    """A line that cannot be taken as it stands; ``kept`` is what of it was understood."""

    def __init__(self, text: str, kept: LogLine) -> None:
        self.kept = kept
        super().__init__(text)


@dataclass(frozen=True)
class LogLine:
    """What one line says.

    verb: fish, undo, done, help, tally, drop, or nothing (an empty line or a comment)
    vial: the vial code as it was scanned or typed, not yet looked up
    n_fish: fish that the line stands for; second: the vial is a second swab of the fish before
    """

    verb: str = "fish"
    vial: str | None = None
    length: Measured | None = None
    weight: Measured | None = None
    n_fish: int = 1
    second: bool = False
    tissue: str | None = None
    fate: str | None = None
    species: str | None = None
    remarks: str | None = None


def read_line(text: str, length_unit: str, weight_unit: str, species: str = "largemouth_bass") -> LogLine:
    """Return what one line of the log says.

    length_unit, weight_unit
        the survey's units, for numbers that stand alone. Of two such numbers the first is the length, unless
        only the other way round makes a fish (a relative weight of 50 to 160).
    raises
        LogLineError with the reason and with what of the line was understood.

    Understood, in any order: a vial code (grouped or not), "16 1/2", "16.5", "419 mm", "2 lb 5 oz", "2.3",
    "x4", "second", "swab" or "clip", "released", "kept" or "died", a species, "tl" or "wt" before a number;
    and a remark after " #". A line that begins with # is a comment.
    """
    body, remark = _part_remark(text)
    said = LogLine(remarks=remark or None)
    if not body:
        return replace(said, verb="nothing", remarks=None)
    if body.lower() in COMMANDS:
        return LogLine(verb=COMMANDS[body.lower()])
    vials, rest = _take_codes(body)
    if vials:
        said = replace(said, vial=vials[0])
    quantities, said, faults = _take_parts(rest, said)
    said, more = _settle_quantities(quantities, said, length_unit, weight_unit, species)
    faults += more
    if len(vials) > 1:
        faults.append(
            f"two vial codes ({' and '.join(vials)}): a vial holds one fish, and a fish's other vial "
            f'goes on a line of its own with the word "{SECOND}"'
        )
    if said.n_fish > 1 and (said.vial or said.weight or said.second):
        what = "vial" if said.vial or said.second else "weight"
        faults.append(
            f"a tally of {said.n_fish} fish cannot have a {what}: log the fish with the {what} by itself"
        )
    if not faults and said == LogLine(remarks=said.remarks):
        faults.append("there is no vial, no length and no weight in it")
    if faults:
        raise LogLineError(f"{'; '.join(dict.fromkeys(faults))}", said)
    return said


def _part_remark(text: str) -> tuple[str, str]:
    text = " ".join(text.replace("\ufeff", "").replace("\N{NO-BREAK SPACE}", " ").split())
    if text.startswith("#"):
        return "", ""
    body, _, remark = text.partition(" #")
    return body.strip(), remark.strip()


def _is_code(token: str) -> bool:
    """Whether one token can only have been meant as a vial code."""
    bare = token.replace("-", "")
    if token.lower() in _SINGLE_WORDS or not re.fullmatch(r"[0-9A-Za-z*]{6,14}", bare):
        return False
    if not re.search("[A-Za-z]", bare):
        return len(bare) == 9 and "-" in token
    runs = re.findall("[a-z]+", bare.lower())
    measures = re.fullmatch(r"(?:[0-9]+[a-z]+)+|x[0-9]+", bare.lower()) and all(run in _WORDS for run in runs)
    return not measures


def _checks(text: str) -> bool:
    try:
        parse(text)
    except VialCodeError:
        return False
    return True


def _take_codes(body: str) -> tuple[list[str], str]:
    """Part the vial codes of a line from its rest. A comma parts fields where one stands beside a code."""
    fields = [field.strip() for field in body.split(",")]
    by_comma = len(fields) > 1 and (not fields[0] or any(_is_code(field) for field in fields))
    body = re.sub(r"[,;\t]" if by_comma else r"[;\t]|,(?=\s|$)", " ", body)
    tokens = body.split()
    vials: list[str] = []
    rest: list[str] = []
    at = 0
    while at < len(tokens):
        taken = _code_from(tokens, at)
        if taken:
            vials.append(" ".join(tokens[at : at + taken]))
            at += taken
        else:
            rest.append(tokens[at])
            at += 1
    return vials, " ".join(rest)


def _code_from(tokens: list[str], at: int) -> int:
    """Return how many tokens from this one on make one vial code; 0 for none."""
    first = tokens[at]
    if _is_code(first):
        return 1
    if first.lower() in _SINGLE_WORDS or not re.match(r"[A-Za-z]{2}", first):
        return 0
    shape = [len(token) for token in tokens[at : at + 4]]
    if shape == [2, 3, 3, 1] and all(re.fullmatch("[0-9A-Za-z*]+", token) for token in tokens[at : at + 4]):
        return 4
    joined = ""
    for taken, token in enumerate(tokens[at : at + 5], start=1):
        if not re.fullmatch(r"[0-9A-Za-z-]+", token) or token.lower() in _SINGLE_WORDS:
            break
        joined += token.replace("-", "")
        if len(joined) == 9 and taken > 1 and _checks(joined):
            return taken
    return 0


def _take_parts(rest: str, said: LogLine) -> tuple[list[tuple[str, str | None, str]], LogLine, list[str]]:
    """Return the quantities of a line as (number, unit, named as), and what its words say."""
    plain = rest.lower().replace("\N{FRACTION SLASH}", "/")
    for sign, spelled in _FRACTION_SIGNS.items():
        plain = re.sub(rf"(?<=[0-9])\s*{sign}", f" {spelled}", plain).replace(sign, spelled)
    quantities: list[tuple[str, str | None, str]] = []
    faults: list[str] = []
    named = ""
    at = 0
    while at < len(plain):
        if plain[at].isspace():
            at += 1
        elif tally := _TALLY.match(plain, at):
            n_fish = int(tally[1] or tally[2])
            at = tally.end()
            if not 1 <= n_fish <= MOST_IN_A_TALLY or said.n_fish != 1:
                faults.append(f"{tally[0].strip()!r} is not a tally: write x2 to x{MOST_IN_A_TALLY}, once")
            else:
                said = replace(said, n_fish=n_fish)
        elif quantity := _QUANTITY.match(plain, at):
            number, unit = quantity.groups()
            at = quantity.end()
            if unit is not None and unit not in LENGTH_UNITS and unit not in WEIGHT_UNITS:
                at = quantity.start(2)
                unit = None
            if re.fullmatch(r"[1-9][0-9]*,[0-9]{3,}", number):
                faults.append(
                    f"the comma in {number!r} may be a decimal mark or part two numbers; use a full stop"
                    " or a space"
                )
            else:
                quantities.append((number, unit, named))
            named = ""
        else:
            at, named, said = _take_word(plain, at, said, faults)
    return quantities, said, faults


def _take_word(plain: str, at: int, said: LogLine, faults: list[str]) -> tuple[int, str, LogLine]:
    for words, key in sorted(_SPECIES_WORDS.items(), key=lambda pair: -len(pair[0])):
        if re.match(rf"{re.escape(words)}(?![a-z0-9])", plain[at:]):
            return at + len(words), "", replace(said, species=key)
    found = _WORD.match(plain, at)
    word = found[0] if found else plain[at:]
    end = at + len(word)
    if word in TISSUES:
        return end, "", replace(said, tissue=TISSUES[word])
    if word in FATES:
        return end, "", replace(said, fate=FATES[word])
    if word == SECOND:
        return end, "", replace(said, second=True)
    if word in LENGTH_NAMES:
        return end, "length", said
    if word in WEIGHT_NAMES:
        return end, "weight", said
    if word in COMMANDS:
        faults.append(f'"{word}" goes on a line of its own')
    else:
        faults.append(f"{word!r} is not understood")
    return end, "", said


def _settle_quantities(
    quantities: list[tuple[str, str | None, str]],
    said: LogLine,
    length_unit: str,
    weight_unit: str,
    species: str,
) -> tuple[LogLine, list[str]]:
    """Tell the length from the weight."""
    lengths: list[str] = []
    weights: list[str] = []
    bare: list[str] = []
    waiting = list(quantities)
    while waiting:
        number, unit, named = waiting.pop(0)
        if unit in LENGTH_UNITS:
            lengths.append(f"{number} {unit}")
        elif unit is not None and WEIGHT_UNITS[unit] == "lb" and waiting and waiting[0][1] in WEIGHT_WORDS_OZ:
            weights.append(f"{number} lb {waiting.pop(0)[0]} oz")
        elif unit is not None:
            weights.append(f"{number} {unit}")
        elif named == "length":
            lengths.append(number)
        elif named == "weight":
            weights.append(number)
        else:
            bare.append(number)
    faults: list[str] = []
    if len(lengths) > 1 or len(weights) > 1 or len(lengths) + len(weights) + len(bare) > 2:
        numbers = ", ".join([*lengths, *weights, *bare])
        return said, [f"too many numbers to tell length from weight ({numbers}); a line is one fish"]
    if len(bare) == 2:
        bare = _in_order(bare, length_unit, weight_unit, said.species or species)
        lengths, weights = [bare[0]], [bare[1]]
    elif bare and lengths:
        weights = bare
    elif bare:
        lengths = bare
    for text in lengths:
        try:
            said = replace(said, length=parse_length(text, length_unit))
        except LengthError as fault:
            faults.append(str(fault))
    for text in weights:
        try:
            said = replace(said, weight=parse_weight(text, weight_unit))
        except WeightError as fault:
            faults.append(str(fault))
    return said, faults


WEIGHT_WORDS_OZ = {word for word, unit in WEIGHT_UNITS.items() if unit == "oz"}


def _in_order(bare: list[str], length_unit: str, weight_unit: str, species: str) -> list[str]:
    """Return two numbers as length, weight: as typed, unless only the other way round makes a fish."""

    def makes_a_fish(first: str, second: str) -> bool:
        try:
            length, weight = parse_length(first, length_unit), parse_weight(second, weight_unit)
        except Refused:
            return False
        if species not in SPECIES:
            return False
        relative = relative_weight(species, length.metric, weight.metric)
        return relative is not None and 50 <= relative <= 160

    first, second = bare
    if not makes_a_fish(first, second) and makes_a_fish(second, first):
        return [second, first]
    return bare
