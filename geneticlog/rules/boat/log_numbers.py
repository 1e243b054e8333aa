"""How numbers are written in a line of the log: patterns only; what they are worth rules/lengths says."""

from __future__ import annotations

import re

from geneticlog.rules.lengths import LENGTH_NAMES, LENGTH_UNITS, WEIGHT_NAMES, WEIGHT_UNITS

NUMBER = r"[0-9]+[ -][0-9]+/[0-9]+|[0-9]+/[0-9]+|[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+"
UNIT = "\"|″|”|''|" + "|".join(
    re.escape(word)
    for word in sorted({*LENGTH_UNITS, *WEIGHT_UNITS}, key=len, reverse=True)
    if word[0].isalpha()
)
_END = r"(?=\s|$|[x×]\s*[0-9])"  # what may follow a number without a unit
QUANTITY = re.compile(rf"({NUMBER})(?![0-9/]|[.,][0-9])(?:\s*({UNIT})(?![a-z])|\.?{_END})")
_POUNDS = "|".join(re.escape(word) for word, unit in WEIGHT_UNITS.items() if unit == "lb" and word != "#")
_OUNCES = "|".join(re.escape(word) for word, unit in WEIGHT_UNITS.items() if unit == "oz")
# "2 lb 5 oz", "2#5oz"; "2lb5" and "2#5" only without a space; "2-5" only whole and below 16 (parse_weight sees to it)
POUNDS_OUNCES = re.compile(
    rf"[0-9]+\s*(?:(?:{_POUNDS})(?![a-z])|\#)\s*(?:and\s*)?"
    rf"(?:[0-9]+[ -][0-9]+/[0-9]+|[0-9]+(?:[.,][0-9]+)?)\s*(?:{_OUNCES})(?![a-z])\.?"
    rf"|[0-9]+(?:(?:{_POUNDS})|\#)[0-9]+{_END}(?![.,])"
    rf"|[0-9]+-[0-9]+(?:\s*(?:{_OUNCES}))?{_END}(?![.,][0-9])"
    rf"|[0-9]+(?:[.,][0-9]+)?\#{_END}"
)
TALLY = re.compile(r"(?:[x×]\s*([0-9]+)|([0-9]+)\s*[x×])(?![0-9a-z])")
NAMED = re.compile(
    rf"({'|'.join(sorted(LENGTH_NAMES | WEIGHT_NAMES, key=len, reverse=True))})(?:\s*[:=]|(?![a-z]))"
)
# a whole number without a unit, after pounds: ounces, or a length
LOOSE_OUNCES = re.compile(r"\s*([0-9]+)(?![0-9a-z.,/\"″”'-]|\s*[0-9]+/|\s*(?:in|mm|cm)\b)")
