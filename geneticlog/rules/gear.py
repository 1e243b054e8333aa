"""Gears and media by their words: what a crew catches with, and what a sample lies in."""

from __future__ import annotations

from geneticlog.errors import Refused

# common practice, no source: the gears with which bass are sampled on managed lakes
GEARS = (
    "boat electrofishing",
    "backpack electrofishing",
    "angling",
    "seine",
    "trap net",
    "gill net",
    "rotenone cove",
    "other",
)
MEDIA = ("ethanol", "dry", "buffer")
TISSUES = {"mouth_swab": "mouth swab", "fin_clip": "fin clip"}

ELECTROFISHING_CAUTION = (
    "Electrofishing can kill. Follow your agency or company safety plan; "
    "this program gives no safety clearance."
)


def gear_key(text: str) -> str:
    """Return the gear that a text means. Raises Refused with the gears there are."""
    wanted = " ".join(text.lower().split())
    fitting = [gear for gear in GEARS if gear == wanted] or [
        gear for gear in GEARS if wanted and gear.startswith(wanted)
    ]
    if len(fitting) != 1:
        raise Refused(f"{text!r} is not one gear; use one of: {', '.join(GEARS)}")
    return fitting[0]


def is_electrofishing(gear: str) -> bool:
    return "electrofishing" in gear
