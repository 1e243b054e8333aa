"""What a table of the open data is: columns with their terms and meaning, rows, a key, links; and identities in them.

Every identity is a UUID in the namespace of the office's own UUID (version 5, RFC 9562), made from that of the record,
which it got when it was entered: the same fish keeps it from export to export, and no other office makes it again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any
from uuid import NAMESPACE_URL, UUID, uuid5

from geneticlog.rules.genetics.taxa import Pair
from geneticlog.store.tables import Panel, Survey
from geneticlog.work.open_data.columns import description_of
from geneticlog.work.result.in_the_numbers import LakePairs

DWC = "http://rs.tdwg.org/dwc/terms/"


@dataclass(frozen=True)
class Field:
    """One column: its name, its Table Schema type, the term it stands for, and whether it must be filled."""

    name: str
    type: str = "string"
    term: str | None = None
    required: bool = False
    least: float | None = None
    most: float | None = None

    @property
    def description(self) -> str:
        return description_of(self.name)


@dataclass(frozen=True)
class OpenTable:
    """One table of the package: its columns and rows, its key, and the columns that point at another table."""

    name: str
    title: str
    fields: tuple[Field, ...]
    rows: Sequence[Sequence[Any]]
    key: str
    links: tuple[tuple[str, str, str], ...] = ()  # column, table, column there
    row_term: str | None = None


@dataclass(frozen=True)
class Told:
    """What may be told beside the data: owners, exact positions, names of lakes and surveys, names of people."""

    owner: bool = False
    position: bool = False
    names: bool = False
    people: bool = False

    @property
    def withheld(self) -> str:
        """What is not told, in the words of dwc:informationWithheld."""
        parts = [
            word
            for word, meaning in (
                ("owners", self.owner),
                ("exact positions", self.position),
                ("names of lakes and surveys", self.names),
                ("names of people", self.people),
            )
            if not meaning
        ]
        return f"{', '.join(parts)} withheld" if parts else ""


def dwc(name: str, type: str = "string", *, required: bool = False, least: float | None = None) -> Field:
    return Field(name, type, DWC + name, required, least)


@dataclass(frozen=True)
class Namespace:
    """Where the identities of one export are made: the office's own UUID."""

    office: str

    @property
    def name(self) -> str:
        """The office itself as an identity."""
        return f"urn:uuid:{_uuid(self.office)}"

    def urn(self, uid: str, *of: str) -> str:
        """Return the identity of a record, or of a part of it: the same wherever the office makes it."""
        made = _uuid(self.office)
        for part in (uid, *of):
            made = uuid5(made, part)
        return f"urn:uuid:{made}"


def _uuid(uid: str) -> UUID:
    try:
        return UUID(uid)
    except ValueError:  # an identity that another program gave
        return uuid5(NAMESPACE_URL, uid)


def pair_of(survey: Survey, panel: Panel | None, pairs: LakePairs) -> Pair:
    """Return the pair of taxa a result was typed for; without a panel that of its species in the lake."""
    if panel is not None:
        return Pair(panel.taxon, panel.other_taxon)
    return pairs.of(survey.lake_id, survey.species)
