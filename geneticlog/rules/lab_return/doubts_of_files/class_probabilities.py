"""Columns of probabilities of hybrid classes, whose first and last look like shares of the two taxa."""

from __future__ import annotations

import re
from collections.abc import Sequence

from geneticlog.rules.lab_return.sheet.reading import Reading, Row
from geneticlog.rules.lab_return.words.headings import plain
from geneticlog.rules.lab_return.words.roles import ColumnRole

LEAST_ROWS = 4
LEAST_SHARE = 0.9  # of the rows in which all columns together make one. Common practice, no source
MARGIN = 0.015  # by which printed digits may miss one
_CLASS = re.compile(r"\b(f ?1s?|f ?2s?|f ?3s?|fx|bc ?\d?\w?|back ?cross\w*|hybrids?|cross\w*)\b")


def class_probabilities(reading: Reading, rows: Sequence[Row]) -> str:
    """Return why the column of shares holds probabilities of a class, or the empty text.

    It does where columns that are headed with hybrid classes make one together with those of the taxa: the share of a
    fish's alleles needs no F1 beside it.

    rows
        all rows of the sheet; row 1 is the first of them.
    """
    q = reading.column(ColumnRole.Q)
    classes = [one for one in reading.columns if not one.role and _CLASS.search(plain(one.heading))]
    if q is None or not classes:
        return ""
    taxa = [one for one in reading.columns if one.role in (ColumnRole.Q, ColumnRole.OTHER_Q)]
    whole = 100.0 if q.unit == "percent" else 1.0
    n_rows = n_whole = n_short = 0
    for n in reading.data_rows:
        row = rows[n - 1]
        of_taxa, of_classes = (
            [value.value for one in columns if (value := reading.number_in(row, one))]
            for columns in (taxa, classes)
        )
        if len(of_taxa) == len(taxa) and len(of_classes) == len(classes):
            n_rows += 1
            n_whole += abs(sum(of_taxa) + sum(of_classes) - whole) <= MARGIN * whole
            n_short += sum(of_classes) > MARGIN * whole
    if n_rows < LEAST_ROWS or n_whole < LEAST_SHARE * n_rows or not n_short:
        return ""
    named = ", ".join(repr(one.named) for one in [*taxa, *classes])
    return (
        f"columns {named} make {whole:g} together, as probabilities of classes do: the probability of being pure is no"
        " share of alleles; ask the lab for the shares"
    )
