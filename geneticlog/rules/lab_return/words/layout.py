"""What is known, or was decided, about how one laboratory lays out a return."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from geneticlog.rules.lab_return.words.headings import Taxa, answer_key
from geneticlog.rules.lab_return.words.roles import ColumnRole

CODINGS = {
    "counts": "0, 1 or 2 alleles of one taxon",
    "digits": "two digits a cell, 11, 12 or 22",
    "digit_pairs": "two columns a marker, alleles 1 and 2",
    "letters": "two letters a cell, AA, AB or BB",
    "pairs": "two columns a marker, one allele each",
}


@dataclass(frozen=True)
class Layout:
    """How a lab lays out a return; whatever is absent is recognised in the file itself.

    ``columns``: role -> heading (or column letter); ``missing``: further words, in lower case, that stand for a
    failed sample; ``heading_row`` counts from 1, and 0 says that there is no heading. ``harmless`` and ``against``
    are texts, as words/headings.answer_key writes them, that a person found to change nothing, or to cast
    doubt on the value they are beside. ``coding`` is one of CODINGS, ``counted`` the taxon whose alleles are counted
    ("counts") or whose allele is 1 (digits), and ``markers`` the allele of ``taxa.taxon`` at each marker ("letters"
    and "pairs"). ``sheets`` are those that a person names for one file; they go before the lab's own ``sheet``.
    ``wells`` is "ours" where samples that are named by wells only are in the wells in which we sent them.

    ``seen`` are the texts, by heading, of harmless columns when they were kept: a new one is asked about.

    What holds for one file only is never kept: ``units`` (role -> fraction, percent or count) and ``taxon_of_q``, which
    a person answered (``units_of_parts`` for one part of it, by ``Part.key``), and the roles ``answered`` whose column
    they named. ``kept_units`` are those of an earlier file:
    they decide nothing, and a file that is written otherwise is asked about.
    """

    lab: str = ""
    sheet: str = ""
    heading_row: int | None = None
    heading_rows: int | None = None
    columns: Mapping[ColumnRole, str] = field(default_factory=dict)
    units: Mapping[ColumnRole, str] = field(default_factory=dict)
    decimal: str = ""
    missing: frozenset[str] = frozenset()
    taxa: Taxa = field(default_factory=Taxa)
    coding: str = ""
    counted: str = ""
    markers: Mapping[str, str] = field(default_factory=dict)
    sheets: tuple[str, ...] = ()
    harmless: frozenset[str] = frozenset()
    against: frozenset[str] = frozenset()
    kept_units: Mapping[ColumnRole, str] = field(default_factory=dict)
    answered: frozenset[ColumnRole] = frozenset()
    taxon_of_q: str = ""
    wells: str = ""
    kept: frozenset[str] = field(
        default=frozenset(), compare=False
    )  # of harmless, what an earlier file was answered
    units_of_parts: Mapping[str, str] = field(default_factory=dict)
    seen: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    def changes_nothing(self, text: str) -> bool:
        """Whether a person, or the lab's kept layout, says that a text changes nothing."""
        return answer_key(text) in self.harmless

    def silences(self, heading: str) -> bool:
        """Whether a person says of this file that a column changes nothing.

        What was said of an earlier file lets its words pass, but not another lake, day or length than the fish's.
        """
        return self.changes_nothing(heading) and answer_key(heading) not in self.kept

    def casts_doubt(self, text: str) -> bool:
        """Whether a person says that a text casts doubt on what it is beside."""
        return answer_key(text) in self.against


def column_letter(number: int) -> str:
    """Return the letter of a column as spreadsheets show it: 1 is A, 27 is AA."""
    letters = ""
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(65 + rest) + letters
    return letters
