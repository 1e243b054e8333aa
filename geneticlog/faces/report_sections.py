"""Parts of the lake report that set ancestry beside the fish: what each size class is made of."""

from __future__ import annotations

from itertools import groupby

from geneticlog.faces.report_blocks import Block, table
from geneticlog.faces.words import NONE, percent_range
from geneticlog.work.lake_facts import LakeFacts, SurveyFacts
from geneticlog.work.lake_kinds import KindShare, kind_shares


def kinds_table(lake: LakeFacts, survey: SurveyFacts) -> Block:
    """Return the fish of each ancestry class by size class, counted, with the Wilson interval of each share."""
    labels = {row.size_class: row.label for row in survey.classes}
    rows, kinds = [], []
    for size_class, group in groupby(
        kind_shares(survey, lake.taxon, lake.other_taxon), key=lambda one: one.size_class
    ):
        shares = list(group)
        kinds = [one.ancestry_class for one in shares]
        n = shares[0].n_resulted
        label = "every fish with a result" if size_class is None else labels[size_class]
        rows.append([label, str(n), *(_cell(one) for one in shares), _guard(n)])
    note = (
        "Fish with a result, and in brackets the 95 % Wilson interval of the share of such fish in the size class; "
        "a class of which none was seen may still be there up to the upper end."
    )
    if any(one.n_fish is None for one in kind_shares(survey, lake.taxon, lake.other_taxon)):
        note += " An F1 is not told where no heterozygosity was given."
    columns = [("size class", False), ("result", True), *((kind, True) for kind in kinds),
               ("how far it carries", False)]  # fmt: skip
    return table("composition", "What each size class is made of, in fish", columns, rows, note)


def _cell(one: KindShare) -> str:
    if one.n_fish is None or one.share is None:
        return NONE
    return f"{one.n_fish} ({percent_range(one.low, one.high)})"


def _guard(n: int) -> str:
    if n >= 5:
        return "may be read"
    return ("no fish", "one fish")[n] if n < 2 else "too few to read"
