"""Faults as a page says them: what is said of commands and their options is left out, or named as the page has it."""

from __future__ import annotations

import re

_WORDS = (
    (re.compile(r"with: geneticlog correct fish\b[^;]*"), "under Last ten, or at a terminal"),
    (re.compile(r" ?\(see: geneticlog[^)]*\)"), ""),
    (re.compile(r"[;,]? ?(?:or )?[\w ]*(?:with|see[^;:,]*): geneticlog [^;]*"), ""),
    (re.compile(r",? or (?:name|say|give|allow)[^;]* --[a-z][^;]*"), ""),
    (re.compile(r"; ?(?:say|name|give|where)[^;]* --[a-z][^;]*"), ""),
    (re.compile(r"; with --keep [^;]*"), ""),
)


def on_a_page(fault: str) -> str:
    """Return a fault without the commands and options that a person at a page does not type."""
    for pattern, words in _WORDS:
        fault = pattern.sub(words, fault)
    return fault
