"""Tables with a row for each taxon or each locus of a fish, turned into one row a fish.

Only where every row says plainly which taxon or locus it is about, no fish has two rows of the same, and each fish has
more than one; anything else is left as it is, and read, refused or asked about as such.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from geneticlog.rules.lab_return.sheet.reading import Row, code_in, is_code
from geneticlog.rules.lab_return.words.headings import Taxa, plain, taxa_named

SEARCHED = 100
_OF_TAXA = re.compile(
    r"(assigned )?(taxon|taxa|lineage|species|subspecies|population|cluster|ancestry|group)( name)?"
)
_OF_LOCI = re.compile(r"(locus|marker|snp|assay)( (id|name))?")
_OF_ROWS = re.compile(
    r"(parameter|variable|measure(ment)?|trait|statistic|analyte|item|locus|marker|snp|assay)( (id|name))?"
)
LEAST_ROWS = 2  # of each vial
MOST_TAXA = 3  # the two that a panel tells apart, and a third lineage, which is asked about
EMPTY = ("", "empty")


@dataclass(frozen=True)
class Widened:
    """The rows of a tall table with one row a fish, each in the place of its first row; what the columns were."""

    rows: list[list[tuple[str, str]]]
    heading_row: int
    said: str


def widen(rows: Sequence[Row], taxa: Taxa) -> Widened | None:
    """Return a tall table as a wide one, or None for a table that is not plainly tall."""
    for top, row in enumerate(rows[:SEARCHED]):
        headings = [plain(text) for text, _ in row]
        filled = [i for i, text in enumerate(headings) if text]
        keys = [i for i in filled if _OF_TAXA.fullmatch(headings[i]) or _OF_LOCI.fullmatch(headings[i])]
        if len(filled) >= 3 and len(keys) == 1 and not any(is_code(text) for text, _ in row):
            return _widened(rows, top, filled, keys[0], taxa)
    return None


def told_apart_by(rows: Sequence[Row]) -> tuple[int, str] | None:
    """Return the row, from 1, and the heading that tells several rows of each vial apart; None for any other table."""
    for top, row in enumerate(rows[:SEARCHED]):
        heads = [text.strip() for text, _ in row if _OF_ROWS.fullmatch(plain(text))]
        if len(heads) == 1 and sum(1 for text, _ in row if text.strip()) > 2:
            codes = [code for below in rows[top + 1 :] for text, _ in below if (code := code_in(text))]
            return (
                (top + 1, heads[0])
                if len(codes) >= LEAST_ROWS * max(len(set(codes)), 1) > 0 and codes
                else None
            )
    return None


def _widened(rows: Sequence[Row], top: int, filled: list[int], key: int, taxa: Taxa) -> Widened | None:
    rows = _filled_down(rows, top, key, taxa)
    body = [(n, row) for n, row in enumerate(rows) if n > top and any(kind != "empty" for _, kind in row)]
    samples = [(n, row) for n, row in body if any(is_code(text) for text, _ in row)]
    vial = _column_of_codes(samples, filled)
    if vial is None or len(samples) < 2:
        return None
    of_loci = _OF_LOCI.fullmatch(plain(rows[top][key][0])) is not None
    values = _varying(samples, filled, vial, key)
    if len(values) != 1:
        return None
    names: dict[str, int] = {}
    fish: dict[str, dict[str, tuple[str, str]]] = {}
    first: dict[str, int] = {}
    for n, row in samples:
        if len(row) <= max(vial, key):
            return None
        name = row[key][0].strip() if of_loci else _taxon(row[key][0], taxa) or row[key][0].strip()
        code = row[vial][0]
        cells = fish.setdefault(code, {})
        if not name or name in cells:
            return None
        cells[name] = row[values[0]] if len(row) > values[0] else EMPTY
        first.setdefault(code, n)
        names.setdefault(name, len(names))
    if any(len(cells) < 2 for cells in fish.values()):
        return None
    if not of_loci and not ({taxa.taxon, taxa.other_taxon} <= names.keys() and len(names) <= MOST_TAXA):
        return None
    value_heading = rows[top][values[0]][0].strip()
    kept = [i for i in filled if i not in (key, values[0])]
    new_heads = [name if of_loci else f"{name} {value_heading}" for name in names]
    out: list[list[tuple[str, str]]] = [
        list(row) if n <= top or (n, row) not in samples else [] for n, row in enumerate(rows)
    ]
    out[top] = [rows[top][i] for i in kept] + [(text, "text") for text in new_heads]
    for code, cells in fish.items():
        row = rows[first[code]]
        out[first[code]] = [row[i] if len(row) > i else EMPTY for i in kept]
        out[first[code]] += [cells.get(name, EMPTY) for name in names]
    each = "locus" if of_loci else "taxon"
    return Widened(out, top + 1, value_heading if of_loci else f"a row for each {each}")


def _filled_down(rows: Sequence[Row], top: int, key: int, taxa: Taxa) -> Sequence[Row]:
    """The rows of a table of taxa, the code that stands once for each fish in all of its rows."""
    made: list[Row] = list(rows[: top + 1])
    last: tuple[int, tuple[str, str]] | None = None
    for row in rows[top + 1 :]:
        at = next((i for i, (text, _) in enumerate(row) if is_code(text)), None)
        if at is not None:
            last = (at, row[at])
        elif (
            last and len(row) > max(last[0], key) and row[last[0]][1] == "empty" and _taxon(row[key][0], taxa)
        ):
            row = [*row[: last[0]], last[1], *row[last[0] + 1 :]]
        made.append(row)
    return made


def _taxon(text: str, taxa: Taxa) -> str:
    first, other = taxa_named(plain(text), taxa)
    return "" if first == other else taxa.taxon if first else taxa.other_taxon


def _column_of_codes(samples: Sequence[tuple[int, Row]], filled: Sequence[int]) -> int | None:
    counts = Counter(i for _, row in samples for i in filled if len(row) > i and is_code(row[i][0]))
    found = [i for i, n in counts.items() if n == len(samples)]
    return found[0] if len(found) == 1 else None


def _varying(samples: Sequence[tuple[int, Row]], filled: Sequence[int], vial: int, key: int) -> list[int]:
    """The columns that differ between the rows of one fish, beside the taxon or locus."""
    out = []
    for i in filled:
        if i in (vial, key):
            continue
        of_fish: dict[str, set[str]] = {}
        for _, row in samples:
            of_fish.setdefault(row[vial][0], set()).add(row[i][0].strip() if len(row) > i else "")
        if any(len(texts) > 1 for texts in of_fish.values()):
            out.append(i)
    return out
