"""The choices of a question about a lab's file, as a person reads them."""

from __future__ import annotations


def choice_in_words(setting: str, role: str, value: str) -> str:
    """Return what a person chooses, as it is put on a screen or a page."""
    if (setting, value) == ("taxon", "each row"):
        return "alleles of the taxon that the column names in each row"
    if (setting, value) == ("harmless", "hidden earlier rows"):
        return "they are: leave the hidden rows out"
    return {
        "harmless": "it changes nothing",
        "hold": "it does: hold the values it is about",
        "taxon": f"{value} alleles",
        "counted": value,
        "sheet": f"only sheet {value} is meant",
        "wells": "the vials stayed in the wells in which we sent them",
    }.get(setting, f"{role}: {value}")
