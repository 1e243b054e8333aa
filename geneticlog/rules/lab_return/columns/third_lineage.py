"""A lab's own share of a third lineage: spotted, Alabama, shoal or another bass. A fish with much of it waits.

Two taxa are what q divides a fish between. The lab's column is evidence and no alarm of ours (that is
rules/genetics/lineage.py, from heterozygosity), so every row is looked at, whatever column it came in.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache

from geneticlog.rules.finding.finding_kinds import FindingKind, Noted
from geneticlog.rules.lab_return.sheet.reading import Column, Reading, Row
from geneticlog.rules.lab_return.words.headings import A_MARGIN, Taxa, plain, recognise
from geneticlog.rules.lab_return.words.roles import ColumnRole
from geneticlog.rules.lab_return.words.vocabulary import words_of

LEAST_THIRD = 0.05  # of a fish: an allele or two of 76 read wrong stay below it; common practice, no source
_LINEAGES = words_of(
    """
    spotted alabama shoal redeye smallmouth guadalupe suwannee choctaw cahaba coosa tallapoosa chattahoochee bartram
    altamaha henshalli punctulatus dolomieu coosae cataractae notius treculii delta neosho kentucky
    spb spbs smb alb rb shb gub
    """
)
_REST = re.compile(r"(the )?(%|percent|share)? ?(of )?(other|others|unassigned|third|residual|remainder|rest)"
                   r"( (lineage|species|taxon|taxa|bass|ancestry|alleles?|share|%))*")  # fmt: skip


@lru_cache(maxsize=1024)
def names_third(heading: str, taxa: Taxa) -> bool:
    """Return whether a heading names a lineage that is neither of the two taxa."""
    words = plain(heading)
    own = {*plain(taxa.taxon).split(), *plain(taxa.other_taxon).split()}
    named = _LINEAGES & set(words.replace("%", " ").split()) - own
    as_known = recognise(heading, taxa)
    if as_known is not None and as_known.role not in (ColumnRole.NOT_USED, ColumnRole.THIRD_Q):
        return False
    return not (as_known and as_known.why == A_MARGIN) and (bool(named) or _REST.fullmatch(words) is not None)


def check_third(third: float | None) -> list[Noted]:
    """Return whether a row's share of a third lineage, of one, is too much for q to speak of the fish."""
    if third is None or third < LEAST_THIRD:
        return []
    return [Noted(FindingKind.THIRD_SHARE, {"third": third})]


def third_shares(reading: Reading, rows: Sequence[Row]) -> dict[int, list[str]]:
    """Return, by row, how much of a third lineage a column says that is not read, though it is called harmless.

    A column with a number above 1 is in percent.
    """
    doubts: dict[int, list[str]] = {}
    for column in reading.columns:
        if column.role or not names_third(column.heading, reading.layout.taxa):
            continue
        for n, share in _shares(reading, rows, column).items():
            if share >= LEAST_THIRD:
                text = column.text_in(rows[n - 1])[:30]
                doubts.setdefault(n, []).append(f"column {column.named} says {text!r}, of another lineage")
    return doubts


def _shares(reading: Reading, rows: Sequence[Row], column: Column) -> dict[int, float]:
    figures = {n: one for n in reading.data_rows if (one := reading.number_in(rows[n - 1], column))}
    percent = any(one.value > 1 for one in figures.values())
    return {n: one.as_fraction(percent)[0] for n, one in figures.items()}
