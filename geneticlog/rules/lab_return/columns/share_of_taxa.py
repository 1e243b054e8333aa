"""A share under a heading of its own words, beside a column that names the taxon of each row."""

from __future__ import annotations

import re
from collections.abc import Sequence

from geneticlog.rules.lab_return.columns.column_values import mostly_numbers
from geneticlog.rules.lab_return.columns.whose_share import column_of_taxa
from geneticlog.rules.lab_return.sheet.reading import Column, Row, is_code
from geneticlog.rules.lab_return.words.headings import BARE_Q, Said, plain
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.lab_return.words.roles import ColumnRole

_SHARE = re.compile(
    r"(?:allele |ancestry |assignment |membership )?(?:share|ancestry|proportion|fraction|percent|percentage|assignment"
    r"|membership|score)(?: (?:share|proportion|fraction|percent|percentage|pct|%|score|of alleles))?(?: %)?"
)


def with_share_of_taxa(
    recognised: list[Said], headings: Sequence[str], sample: Sequence[Row], layout: Layout
) -> list[Said]:
    """Return what the columns are taken for, the one share beside a column of taxa as a share of whom nothing says.

    Whose it is, that of the taxon in each row, is then one question.
    """
    if any(said.role in (ColumnRole.Q, ColumnRole.OTHER_Q, ColumnRole.MARKER) for said in recognised):
        return recognised
    likely = [
        i for i, said in enumerate(recognised)
        if not (said.role or said.known) and _SHARE.fullmatch(plain(headings[i])) and mostly_numbers(sample, i)
    ]  # fmt: skip
    columns = [
        Column(i + 1, heading, said.role, said.why)
        for i, (heading, said) in enumerate(zip(headings, recognised, strict=True))
    ]
    samples = [n for n, row in enumerate(sample, start=1) if any(is_code(text) for text, _ in row)]
    if len(likely) != 1 or column_of_taxa(columns, sample, samples, layout) is None:
        return recognised
    return [Said(ColumnRole.Q, BARE_Q, 2) if i == likely[0] else said for i, said in enumerate(recognised)]
