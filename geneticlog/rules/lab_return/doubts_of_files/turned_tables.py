"""Several tables of one file of which one may count the other taxon's alleles: numbered clusters change places from run
to run, and a table of fish of the same water whose shares lie as far on the other side of one half is no chance."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from itertools import combinations
from math import sqrt
from statistics import fmean, variance

import numpy as np
from scipy.special import stdtr

from geneticlog.rules.lab_return.columns.clusters import has_a_twin
from geneticlog.rules.lab_return.doubts_of_files.copied_down import is_mixed
from geneticlog.rules.lab_return.doubts_of_files.sorted_parts import mostly_sorted, sorted_parts
from geneticlog.rules.lab_return.doubts_of_rows.known_fish import contradicts_kind
from geneticlog.rules.lab_return.drafts.draft import Draft
from geneticlog.rules.lab_return.sheet.lines import HEADING_AGAIN
from geneticlog.rules.lab_return.sheet.parts import Part
from geneticlog.rules.lab_return.sheet.reading import Reading
from geneticlog.rules.lab_return.words.headings import Taxa
from geneticlog.rules.lab_return.words.roles import ColumnRole

LEAST_FISH = 5  # of one water in each of two tables, to compare their means
LEAST_BLOCK = 6  # fish above and below a row
OF_A_BLOCK = 1e-9  # p of two means, over all of these rows
UNLIKE, ALIKE = 1e-5, 0.05  # p of two means: as they are, and one of them turned round


def tables_of(
    drafts: Sequence[Draft], reading: Reading, parts: Sequence[Part] = ()
) -> dict[str, list[Draft]]:
    """Return the drafts of each table of a file, by its name for people: a sheet, or what is below a heading."""
    tables: dict[str, list[Draft]] = {}
    firsts = [part.first for part in parts]
    headings = [row for row, text in reading.other_rows if text == HEADING_AGAIN]
    for draft in drafts:
        sheet, _ = reading.sheet_rows.place(draft.row)
        if len(firsts) > 1:
            name = parts[max(bisect_right(firsts, draft.row) - 1, 0)].words
        elif sheet:
            name = f"sheet {sheet}"
        elif above := bisect_right(headings, draft.row):
            name = f"the table headed in row {headings[above - 1]}"
        else:
            name = "the first table"
        tables.setdefault(name, []).append(draft)
    return tables


def clusters_of_tables(
    tables: Mapping[str, Sequence[Draft]], reading: Reading, kinds: Mapping[int, str]
) -> str:
    """Return what to ask where several tables have clusters by number alone, or the empty text.

    Nothing is asked where each table has a fish of known pure kind that agrees with its share.

    kinds
        the known kind by row.
    """
    q, taxa = reading.column(ColumnRole.Q), reading.layout.taxa
    if q is None or len(tables) < 2 or not has_a_twin(q, reading.columns):
        return ""
    unsure = [name for name, drafts in tables.items() if not _borne_out(drafts, kinds, taxa)]
    if not unsure:
        return ""
    named = ", ".join(unsure[:4]) + (f" and {len(unsure) - 4} more" if len(unsure) > 4 else "")
    return (
        f"column {q.named} is named by its number, such numbers change places from one run of a program to the next,"
        f" and {len(unsure)} of {len(tables)} tables ({named}) {'has' if len(unsure) == 1 else 'have'} no fish of known"
        f" kind that shows it: is it {reading.layout.taxon_of_q or taxa.taxon} in all"
    )


def _borne_out(drafts: Sequence[Draft], kinds: Mapping[int, str], taxa: Taxa) -> bool:
    pure = [
        draft
        for draft in drafts
        if draft.q is not None and kinds.get(draft.row) in (taxa.taxon, taxa.other_taxon)
    ]
    return bool(pure) and not any(
        contradicts_kind(kinds[draft.row], taxa, draft.q or 0.0, draft.heterozygosity, draft.n_loci)
        for draft in pure
    )


def against_known_fish(
    tables: Mapping[str, Sequence[Draft]], kinds: Mapping[int, str], taxa: Taxa
) -> dict[int, list[str]]:
    """Return, by row, that every pure fish of known kind in its table has the share of the other taxon, in words."""
    doubts: dict[int, list[str]] = {}
    for name, drafts in tables.items() if len(tables) > 1 else ():
        pure = [draft for draft in drafts if kinds.get(draft.row) in (taxa.taxon, taxa.other_taxon)]
        turned = [
            draft for draft in pure if draft.q is not None and _is_turned(draft, kinds[draft.row], taxa)
        ]
        if turned and len(turned) == len([draft for draft in pure if draft.q is not None]):
            words = f"the fish of known kind in {name} ({turned[0].written}) has the share of the other taxon"
            doubts |= {draft.row: [words] for draft in drafts if draft.q is not None and draft not in turned}
    return doubts


def _is_turned(draft: Draft, kind: str, taxa: Taxa) -> bool:
    q = draft.q or 0.0
    as_it_is, turned = (
        contradicts_kind(kind, taxa, share, draft.heterozygosity, draft.n_loci) for share in (q, 1 - q)
    )
    return bool(as_it_is and not turned)


def turned_tables(tables: Mapping[str, Sequence[Draft]], waters: Mapping[int, int]) -> str:
    """Return what to ask where the mean of one table of a water is far from that of another and the same turned round.

    waters
        by row, the survey of its fish.
    """
    of_table = {
        name: _by_water([draft for draft in drafts if draft.q is not None], waters)
        for name, drafts in tables.items()
    }
    for (a, of_a), (b, of_b) in combinations(of_table.items(), 2):
        for water in of_a.keys() & of_b.keys():
            ours, theirs = of_a[water], of_b[water]
            if min(len(ours), len(theirs)) < LEAST_FISH or not _opposite(ours, theirs):
                continue
            return (
                f"fish of one water have a mean share of {fmean(ours):.2f} in {a} and of {fmean(theirs):.2f} in {b},"
                f" which is what that leaves of one: does one of the tables count the other taxon's alleles"
            )
    return ""


def turned_from_a_row(drafts: Sequence[Draft], waters: Mapping[int, int]) -> str:
    """Return what to ask where the shares of one water are, from one row on, what those above leave of one; or "".

    Of all rows where a block may begin, that one is taken which parts the values best. A list in order of the shares
    parts by itself.
    """
    for rows in _rows_by_water(drafts, waters).values():
        shares = [draft.q or 0.0 for draft in rows]
        parts = sorted_parts(shares)
        if len(rows) < 2 * LEAST_BLOCK or mostly_sorted(range(len(rows)), parts):
            continue
        p, first = parted_best(np.array(shares))
        if p < OF_A_BLOCK and _opposite(shares[:first], shares[first:]):
            return (
                f"fish of one water have a mean share of {fmean(shares[:first]):.2f} above {rows[first].written} and of"
                f" {fmean(shares[first:]):.2f} from it on, which is what that leaves of one: does a part of the column"
                " count the other taxon's alleles"
            )
    return ""


def _rows_by_water(drafts: Sequence[Draft], waters: Mapping[int, int]) -> dict[int, list[Draft]]:
    """The fish of mixed ancestry: pure ones of both taxa, listed one after the other, are no block turned round."""
    of_water: dict[int, list[Draft]] = {}
    for draft in drafts:
        if draft.q is not None and is_mixed(draft.q) and draft.row in waters:
            of_water.setdefault(waters[draft.row], []).append(draft)
    return of_water


def _by_water(drafts: Sequence[Draft], waters: Mapping[int, int]) -> dict[int, list[float]]:
    return {
        water: [draft.q or 0.0 for draft in rows] for water, rows in _rows_by_water(drafts, waters).items()
    }


def _opposite(ours: Sequence[float], theirs: Sequence[float]) -> bool:
    return _p(ours, theirs) < UNLIKE and _p(ours, [1 - q for q in theirs]) > ALIKE


def parted_best(shares: np.ndarray) -> tuple[float, int]:
    """Return the lowest p of two means (Welch 1947), of the shares above a place and from it on, and that place.

    shares
        at least twice ``LEAST_BLOCK`` of them, in the order of the rows.
    """
    n, k = len(shares), np.arange(LEAST_BLOCK, len(shares) - LEAST_BLOCK + 1)
    sums, squares = np.cumsum(shares), np.cumsum(shares**2)
    above, below = sums[k - 1] / k, (sums[-1] - sums[k - 1]) / (n - k)
    of_above = np.maximum(squares[k - 1] / k - above**2, 0) / (k - 1)
    of_below = np.maximum((squares[-1] - squares[k - 1]) / (n - k) - below**2, 0) / (n - k - 1)
    both = np.maximum(of_above + of_below, 1e-12)
    df = both**2 / np.maximum(of_above**2 / (k - 1) + of_below**2 / (n - k - 1), 1e-30)
    p = 2 * stdtr(df, -np.abs(above - below) / np.sqrt(both))
    best = int(np.argmin(p))
    return float(p[best]), int(k[best])


def _p(a: Sequence[float], b: Sequence[float]) -> float:
    """Return p of two means (Welch 1947)."""
    of_a, of_b = variance(a) / len(a), variance(b) / len(b)
    if of_a + of_b == 0:
        return 1.0 if fmean(a) == fmean(b) else 0.0
    t = abs(fmean(a) - fmean(b)) / sqrt(of_a + of_b)
    df = (of_a + of_b) ** 2 / (of_a**2 / (len(a) - 1) + of_b**2 / (len(b) - 1))
    return float(2 * stdtr(df, -t))
