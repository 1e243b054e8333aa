"""The words of the log: commands, tissues, fates, species, and the names before a number."""

from __future__ import annotations

from geneticlog.rules.lengths import LENGTH_NAMES, LENGTH_UNITS, WEIGHT_NAMES, WEIGHT_UNITS
from geneticlog.rules.species import OTHER_FISH, SPECIES

COMMANDS = {
    "undo": "undo",
    "redo": "redo",
    "next": "next",
    "done": "done",
    "quit": "done",
    "end": "done",
    "help": "help",
    "?": "help",
    "tally": "tally",
    "drop": "drop",
    "list": "list",
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
SPECIES_WORDS = {
    word: key
    for key, species in SPECIES.items()
    for word in (key, key.replace("_", ""), species.printed.lower(), *species.words)
}
_PLAIN_WORDS = {
    *COMMANDS,
    *TISSUES,
    *FATES,
    *LENGTH_NAMES,
    *WEIGHT_NAMES,
    *LENGTH_UNITS,
    *WEIGHT_UNITS,
    SECOND,
}
ALL_WORDS = frozenset(
    _PLAIN_WORDS | {part for word in (*SPECIES_WORDS, *OTHER_FISH) for part in word.split()}
)
