"""Parts of a return that have a heading of their own: sheets, tables below or beside each other."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from geneticlog.rules.lab_return.sheet.sheet_rows import called


@dataclass(frozen=True)
class Part:
    """Rows of a return, the first and the last of them, that are below one heading.

    name
        by which a person gives an answer for it alone: a sheet's name, ``row 17`` of its heading, ``columns F to I``.
    headings
        its own, by the number of the column in the return, where they are not those of the first part.
    """

    name: str
    first: int
    last: int
    headings: Mapping[int, str] = field(default_factory=dict)

    @property
    def words(self) -> str:
        """The part for people."""
        if self.name.startswith("row "):
            return f"the table headed in {self.name}"
        return called(self.name)

    def key(self, role: str) -> str:
        """What of a part a unit is answered for."""
        return f"{role}@{self.name}"
