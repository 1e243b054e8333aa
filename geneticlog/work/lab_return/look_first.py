"""Take a lab's file apart before the database is written to, so that nobody waits for it."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass

from geneticlog.rules.lab_return.sheet.reading import Reading
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.work.lab_return.known_before.expected import Expected
from geneticlog.work.lab_return.understand import Understood, understand


@dataclass(frozen=True)
class Looked:
    """A file as it was understood, and everything that this rested on; its drafts can be stored once."""

    sha256: str
    layout: Layout
    expected: Expected
    seen: Understood

    @property
    def reading(self) -> Reading:
        return self.seen.reading

    def still_holds(self, sha256: str, layout: Layout, expected: Expected) -> bool:
        """Whether looking again would come to the same."""
        return (self.sha256, self.layout, self.expected) == (sha256, layout, expected)


def look_first(content: bytes, file_name: str, expected: Expected, layout: Layout) -> Looked:
    """Return a file as it is understood for a shipment; no database is looked at. Raises as ``read_return`` does."""
    seen = understand(content, file_name, layout, expected)
    return Looked(hashlib.sha256(content).hexdigest(), layout, expected, seen)
