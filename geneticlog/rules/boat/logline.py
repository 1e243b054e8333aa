"""The grammar of one line of the log: its parts in any order that is unambiguous, or a plain refusal."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace

from geneticlog.errors import Refused
from geneticlog.rules.boat.line_codes import FIRST_SIGN, SIGN, part_codes
from geneticlog.rules.boat.log_numbers import LOOSE_OUNCES, NAMED, POUNDS_OUNCES, QUANTITY, TALLY
from geneticlog.rules.boat.log_words import (
    ALL_WORDS,
    COMMANDS,
    FATES,
    SECOND,
    SPECIES_WORDS,
    TISSUES,
)
from geneticlog.rules.lengths import (
    FRACTION_SIGNS,
    LENGTH_NAMES,
    LENGTH_UNITS,
    WEIGHT_UNITS,
    LengthError,
    Measured,
    WeightError,
    parse_length,
    parse_weight,
)
from geneticlog.rules.species import OTHER_FISH, SPECIES

MOST_IN_A_TALLY = 1000


class LogLineError(Refused):
    """A line that cannot be taken; nothing of it is. ``shows`` are the kinds of part that it seems to hold
    (vial, length, words), which say only where the next fish can begin."""

    def __init__(self, text: str, shows: frozenset[str] = frozenset()) -> None:
        self.shows = shows
        super().__init__(text)


@dataclass(frozen=True)
class LogLine:
    """What one line says, or what several lines say of one fish.

    verb: fish, one of COMMANDS, or nothing (an empty line or a comment)
    vial: the vial code as it was scanned or typed, not yet looked up; second: that of the fish's other vial
    bare: numbers without unit or name, as typed: one, of which the card decides whether it is the length or the
        weight; or two, which are length and weight (in that order) unless a person says exchanged
    n_fish: fish that the line stands for
    no_length: a person has said that the fish has no length
    said_so: kinds of doubt (of findings) that a person has said are so
    """

    verb: str = "fish"
    vial: str | None = None
    second: str | None = None
    length: Measured | None = None
    weight: Measured | None = None
    bare: tuple[str, ...] = ()
    n_fish: int = 1
    tissue: str | None = None
    fate: str | None = None
    species: str | None = None
    remarks: str | None = None
    no_length: bool = False
    said_so: frozenset[str] = frozenset()


@dataclass
class _Said:
    """What a line has said so far, and what of it was not understood."""

    line: LogLine
    units: tuple[str, str]
    codes: list[str]
    vials: list[str] = field(default_factory=list)
    second_next: bool = False
    named: str = ""
    faults: list[str] = field(default_factory=list)
    strange: list[str] = field(default_factory=list)

    @property
    def shows(self) -> frozenset[str]:
        shown = {"vial"} if self.codes else set()
        if self.line.length or self.line.bare:
            shown.add("length")
        for word in self.strange:  # a number or a code that came out wrong
            if word[0].isdigit():
                shown.add("length")
            elif (re.search("[0-9]", word) or len(word) >= 6) and not self.second_next:
                shown.add("vial")
        return frozenset(shown)


def read_line(text: str, length_unit: str, weight_unit: str) -> LogLine:
    """Return what one line of the log says.

    length_unit, weight_unit
        the survey's units, for numbers that stand alone.
    raises
        LogLineError, which names the characters that were not understood; nothing of the line is taken.

    Understood, in any order: a vial code however it is wrapped (see line_codes), "16 1/2", "16-1/2", "16.5",
    "419 mm", "2 lb 5 oz", "2-5", "2lb5", "2#5", "2.3", "x4", "second" beside a code, "swab" or "clip",
    "released", "kept" or "died", a species, "tl" or "wt" before a number; and a remark after " #". A line that
    begins with # is a comment. Of two bare numbers the first is the length, and never the other way round.
    """
    body, remark = _part_remark(text)
    if not body:
        return LogLine(verb="nothing")
    if body.lower() in COMMANDS:
        return LogLine(verb=COMMANDS[body.lower()])
    codes, rest = part_codes(body, ALL_WORDS)
    parts = _Said(LogLine(remarks=remark or None), (length_unit, weight_unit), codes)
    _take_parts(rest, parts)
    _take_vials(parts)
    if not parts.strange and not parts.faults:
        _take_bare(parts)
    if parts.strange:
        shown = ", ".join(repr(one) for one in dict.fromkeys(parts.strange))
        are = "is" if len(set(parts.strange)) == 1 else "are"
        parts.faults.insert(0, f"{shown} {are} not understood")
    line = parts.line
    if not parts.faults and line.n_fish > 1 and (line.vial or line.second or line.weight):
        what = "vial" if line.vial or line.second else "weight"
        parts.faults.append(
            f"a tally of {line.n_fish} fish cannot have a {what}: log the fish with the {what} by itself"
        )
    if not parts.faults and line == LogLine():
        parts.faults.append("there is no vial, no length and no weight in it")
    if parts.faults:
        raise LogLineError("; ".join(dict.fromkeys(parts.faults)), parts.shows)
    return line


def _part_remark(text: str) -> tuple[str, str]:
    text = re.sub("[\x00-\x08\x0e-\x1f\x7f\ufeff\ue000-\ue0ff]", " ", text.replace("\x1d", " "))
    text = " ".join(text.split())
    if text.startswith("#"):
        return "", ""
    body, _, remark = text.partition(" #")
    return body.strip(), remark.strip()


def _take_parts(rest: str, parts: _Said) -> None:
    """Go through the rest of a line: numbers, words and the signs of codes."""
    shown = rest.replace("\N{FRACTION SLASH}", "/")
    for sign, spelled in FRACTION_SIGNS.items():
        shown = re.sub(rf"(?<=[0-9])\s*{sign}(?=[0-9])", f" {spelled} ", shown)
        shown = re.sub(rf"(?<=[0-9])\s*{sign}", f" {spelled}", shown).replace(sign, spelled)
    shown = re.sub(r"(?<=[0-9])\s*-\s*(?=[0-9]+/)", " ", shown)
    plain = "".join(one.lower() if len(one.lower()) == 1 else one for one in shown)
    at = 0
    while at < len(plain):
        if plain[at].isspace():
            at += 1
        elif SIGN.match(plain[at]):
            _take_sign(ord(plain[at]) - FIRST_SIGN, parts)
            at += 1
        elif tally := TALLY.match(plain, at):
            n_fish = int(tally[1] or tally[2])
            at = tally.end()
            if not 1 <= n_fish <= MOST_IN_A_TALLY or parts.line.n_fish != 1:
                parts.faults.append(
                    f"{tally[0].strip()!r} is not a tally: write x2 to x{MOST_IN_A_TALLY}, once"
                )
            else:
                parts.line = replace(parts.line, n_fish=n_fish)
        elif weight := POUNDS_OUNCES.match(plain, at):
            at = weight.end()
            _take_measure("weight", weight[0].replace("and", " "), parts)
        elif quantity := QUANTITY.match(plain, at):
            _take_quantity(plain, quantity, parts)
            at = quantity.end()
        elif named := NAMED.match(plain, at):
            parts.named = "length" if named[1] in LENGTH_NAMES else "weight"
            at = named.end()
        else:
            at = _take_word(plain, shown, at, parts)
    if parts.named:
        parts.strange.append(parts.named)


def _take_sign(number: int, parts: _Said) -> None:
    code = parts.codes[number]
    if parts.second_next:
        parts.second_next = False
        _take_second(code, parts)
    else:
        parts.vials.append(code)


def _take_second(code: str, parts: _Said) -> None:
    if parts.line.second is not None:
        parts.faults.append(
            f"two second vials ({parts.line.second} and {code}): a fish has at most two vials"
        )
    parts.line = replace(parts.line, second=code)


def _take_vials(parts: _Said) -> None:
    if parts.second_next:  # "BG000001J second": the code before the word
        if parts.vials:
            _take_second(parts.vials.pop(), parts)
        else:
            parts.faults.append(
                f'"{SECOND}" is written beside the code of the other vial of a fish, but there is no code'
            )
    if len(parts.vials) > 1:
        parts.faults.append(
            f"two vial codes ({' and '.join(parts.vials)}): a vial holds one fish; "
            f'the other vial of a fish has the word "{SECOND}" before it'
        )
    elif parts.vials:
        parts.line = replace(parts.line, vial=parts.vials[0])


def _take_quantity(plain: str, quantity: re.Match[str], parts: _Said) -> None:
    number, unit = quantity.groups()
    if re.fullmatch(r"[1-9][0-9]*,[0-9]{3,}", number):
        parts.faults.append(
            f"the comma in {number!r} may be a decimal mark or part two numbers; use a full stop or a space"
        )
    elif unit in LENGTH_UNITS:
        _take_measure("length", f"{number} {unit}", parts)
    elif unit is not None:
        if WEIGHT_UNITS[unit] == "lb" and number.isdigit():
            _refuse_loose_ounces(plain, quantity, parts)
        _take_measure("weight", f"{number} {unit}", parts)
    elif parts.named:
        _take_measure(parts.named, number, parts)
    elif re.fullmatch(r"[0-9]+/[0-9]+", number):
        parts.faults.append(
            f"{number!r} alone may be part of a length or a weight: write it in full, or name its unit"
        )
    else:
        parts.line = replace(parts.line, bare=(*parts.line.bare, number))


def _refuse_loose_ounces(plain: str, pounds: re.Match[str], parts: _Said) -> None:
    """Refuse "2 lb 5": the 5 may be ounces, or the length."""
    after = LOOSE_OUNCES.match(plain, pounds.end())
    if after and int(after[1]) < 16:
        parts.faults.append(
            f"{after[1]!r} after {pounds[0]} may be ounces or a length: "
            f"write {pounds[1]} lb {after[1]} oz, or name the length's unit"
        )


def _take_measure(kind: str, text: str, parts: _Said) -> None:
    parts.named = ""
    had: Measured | None = getattr(parts.line, kind)
    try:
        value = parse_length(text, parts.units[0]) if kind == "length" else parse_weight(text, parts.units[1])
    except (LengthError, WeightError) as fault:
        parts.faults.append(str(fault))
        return
    if had is not None:
        parts.faults.append(
            f"too many numbers: two {kind}s ({had.value:.10g} {had.unit} and {value.value:.10g} {value.unit}); "
            "a line is one fish"
        )
    parts.line = replace(parts.line, length=value) if kind == "length" else replace(parts.line, weight=value)


def _take_bare(parts: _Said) -> None:
    """Settle the bare numbers as far as the line alone tells: beside a measure with its unit, or two of them."""
    bare, line = list(parts.line.bare), parts.line
    n_measured = (line.length is not None) + (line.weight is not None) + len(bare)
    if n_measured > 2:
        parts.faults.append(
            f"too many numbers to tell length from weight ({', '.join(bare)}); a line is one fish"
        )
        return
    if len(bare) == 2:
        _take_measure("length", bare[0], parts)
        _take_measure("weight", bare[1], parts)
    elif bare and (line.length is not None or line.weight is not None):
        _take_measure("length" if line.length is None else "weight", bare[0], parts)
        parts.line = replace(parts.line, bare=())
    elif bare:  # one number alone: it has to be a number at least
        try:
            parse_length(bare[0], parts.units[0])
        except LengthError as fault:
            parts.faults.append(str(fault))


def _take_word(plain: str, shown: str, at: int, parts: _Said) -> int:
    for words, key in sorted(SPECIES_WORDS.items(), key=lambda pair: -len(pair[0])):
        if re.match(rf"{re.escape(words)}(?![a-z0-9])", plain[at:]):
            parts.line = replace(parts.line, species=key)
            return at + len(words)
    for words in sorted(OTHER_FISH, key=lambda one: -len(one)):
        if re.match(rf"{re.escape(words)}s?(?![a-z0-9])", plain[at:]):
            parts.faults.append(
                f"{words} is another species, and this log takes {', '.join(one.printed for one in SPECIES.values())}; "
                "leave that fish out, or write it in a remark"
            )
            return at + len(words) + (plain[at + len(words) :].startswith("s"))
    end = at
    while end < len(plain) and not plain[end].isspace() and not SIGN.match(plain[end]):
        end += 1
    word = plain[at:end]
    if word in TISSUES:
        parts.line = replace(parts.line, tissue=TISSUES[word])
    elif word in FATES:
        parts.line = replace(parts.line, fate=FATES[word])
    elif word == SECOND:
        parts.second_next = True
    elif word in COMMANDS:
        parts.faults.append(f'"{word}" goes on a line of its own')
    else:
        parts.strange.append(shown[at:end])
    return end
