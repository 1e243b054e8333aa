"""Find the heading of a lab's file: one to three rows, below whatever titles the lab puts above it."""

from __future__ import annotations

import re
from collections.abc import Sequence

from geneticlog.errors import SheetFault
from geneticlog.rules.lab_return.cells.cells import number
from geneticlog.rules.lab_return.sheet.reading import Row, is_code, texts_of
from geneticlog.rules.lab_return.words.headings import A_MARGIN, SALMOIDES, Taxa, plain, recognise, taxa_named
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.lab_return.words.roles import ColumnRole

FEWEST_ABOVE = 3  # rows with codes, to be samples above their heading
SURE = 4  # the score of a heading of samples with a result
SEARCHED = 100  # rows from the top in which a heading is looked for


class NoHeading(SheetFault):
    """No row of a sheet looks like a heading that we know."""


def heading_above_codes(rows: Sequence[Row]) -> int:
    """Return the row, from 1, of texts right above the first vial code, a heading of unknown words perhaps, or 0."""
    first = next((i for i, row in enumerate(rows[:SEARCHED]) if any(is_code(text) for text, _ in row)), 0)
    above = [text for text, kind in rows[first - 1] if kind == "text" and text.strip()] if first else []
    return first if len(above) > 1 and not any(number(text) for text in above) else 0


def begins_with_codes(rows: Sequence[Row]) -> bool:
    """Whether the first row of several cells is one of samples, so that nothing above them is a heading."""
    first = next((row for row in rows[:SEARCHED] if sum(kind != "empty" for _, kind in row) > 1), [])
    return any(is_code(text) for text, _ in first)


def find_heading(rows: Sequence[Row], layout: Layout, file: str, sheet: str) -> tuple[int, int, list[str]]:
    """Return the heading row, counted from 1, how many rows it has, and its texts; raise SheetFault without
    one."""
    if layout.heading_row == 0:
        return 0, 0, []
    if layout.heading_row:
        top, n_rows = layout.heading_row, layout.heading_rows or 1
        if top + n_rows - 1 > len(rows):
            raise SheetFault(f"there is no heading row {top}", file=file, sheet=sheet or None)
        upper = texts_of(rows[top - 1])
        for i in range(top, top + n_rows - 1):
            upper = _combined(upper, texts_of(rows[i]), layout.taxa)
        return top, n_rows, upper
    named = {plain(text) for text in layout.columns.values()}
    best: tuple[int, int, int, list[str]] = (0, 0, 0, [])
    for i, row in enumerate(rows[:SEARCHED]):
        single = texts_of(row)
        if best[0] >= SURE and any(is_code(text) for text in single):
            break  # samples begin here; a heading further down is one of a second table
        hits = sum(plain(text) in named for text in single if text.strip())
        score = heading_score(single, layout.taxa) + (3 + hits if named and hits == len(named) else 0)
        if score > best[0]:
            best = (score, i + 1, 1, single)
        below = texts_of(rows[i + 1]) if i + 1 < len(rows) else []
        if not _may_go_on(single, rows[i + 1] if below else ()):
            continue
        double = _combined(single, below, layout.taxa)
        score = heading_score(double, layout.taxa)
        if score > max(best[0], heading_score(single, layout.taxa), heading_score(below, layout.taxa)):
            best = (score, i + 1, 2, double)
    if (
        best[0] == 0
        and layout.columns
        and all(re.fullmatch("[A-Z]{1,2}", name) for name in layout.columns.values())
    ):
        return 0, 0, []  # a person names columns by their letters, and no row looks like a heading
    if best[0] == 0:
        raise _no_heading(rows, file, sheet)
    _refuse_heading_below(rows, best[1], file, sheet)
    return _with_units(rows, *_with_upper(rows, *best[1:], layout.taxa), layout.taxa)


def _refuse_heading_below(rows: Sequence[Row], top: int, file: str, sheet: str) -> None:
    """Raise SheetFault where the heading is below the samples."""
    coded = [n for n, row in enumerate(rows, 1) if n <= SEARCHED and any(is_code(text) for text, _ in row)]
    if coded and coded[-1] < top and len(coded) >= FEWEST_ABOVE:
        raise SheetFault(
            "the heading is below the samples here",
            file=file,
            sheet=sheet or None,
            row=top,
            way_out="move that row above the first sample, or ask the lab for the file so",
        )


def _no_heading(rows: Sequence[Row], file: str, sheet: str) -> NoHeading:
    problem = "no row looks like a heading with a column of vial codes and one of results"
    way_out = "name the columns with --column vial=… and --column q=…, by letter where there is no heading"
    if any(
        map(is_code, re.split(r"[\s:;,]+", " ".join(text for row in rows[:SEARCHED] for text, _ in row)))
    ) and not any(is_code(text) for row in rows for text, _ in row):
        problem = "vial codes are in it, but its lines do not split into columns in one way only"
        way_out = "ask the lab for a table (CSV or XLSX) with our codes in a column and a row for each vial"
    elif not any(is_code(text) for row in rows for text, _ in row):
        problem = "no cell of it is a vial code"
        way_out = "ask the lab for a table (CSV or XLSX) with our codes in a column and a row for each vial"
    return NoHeading(problem, file=file, sheet=sheet or None, way_out=way_out)


def _may_go_on(single: Sequence[str], below: Row) -> bool:
    """Whether the row below a row of texts may be a further line of the same heading."""
    texts = texts_of(below)
    return (
        any(text.strip() for text in texts)
        and not any(kind in ("number", "date") for _, kind in below)
        and not any(number(text) or is_code(text) for text in texts)
        and sum(1 for text in single if text.strip()) >= 2
    )


def _with_upper(
    rows: Sequence[Row], top: int, n_rows: int, headings: list[str], taxa: Taxa
) -> tuple[int, int, list[str]]:
    """The heading with the row above it, where that is part of it and makes no column less plain."""
    if top < 2 or n_rows > 1:
        return top, n_rows, headings
    upper = texts_of(rows[top - 2])
    if sum(1 for text in upper if text.strip()) < 2 or any(number(text) or is_code(text) for text in upper):
        return top, n_rows, headings
    double = _combined(upper, headings, taxa)
    if heading_score(double, taxa) < heading_score(headings, taxa) or _unplain(double, taxa) > _unplain(
        headings, taxa
    ):
        return top, n_rows, headings
    return top - 1, 2, double


def _unplain(headings: Sequence[str], taxa: Taxa) -> int:
    """How many columns have words that may make another thing of them, or are not known at all."""
    found = [recognise(text, taxa) for text in headings if text.strip()]
    return sum(said is None or bool(said.strange) for said in found)


def _with_units(
    rows: Sequence[Row], top: int, n_rows: int, headings: list[str], taxa: Taxa
) -> tuple[int, int, list[str]]:
    """The heading with the row of units below it, where there is one."""
    below = texts_of(rows[top - 1 + n_rows]) if top - 1 + n_rows < len(rows) else []
    filled = [plain(text) for text in below if text.strip()]
    if not filled or not all(text in _UNITS for text in filled):
        return top, n_rows, headings
    return top, n_rows + 1, _combined(headings, [text if text.strip() else "" for text in below], taxa)


_UNITS = {
    "%", "percent", "pct", "proportion", "prop", "fraction", "freq", "frequency", "0 1", "n", "no", "#", "count",
    "number", "scored", "called", "mm", "cm", "g", "kg", "in", "lb", "ng ul", "text", "id", "code",
}  # fmt: skip


def _combined(upper: list[str], lower: list[str], taxa: Taxa) -> list[str]:
    width = max(len(upper), len(lower))
    upper, lower = upper + [""] * (width - len(upper)), lower + [""] * (width - len(lower))
    out, last = [], ""
    for above, below in zip(upper, lower, strict=True):
        last = above.strip() or last
        # A merged upper cell is filled in its first column only: it stands over the blanks to its right.
        spread = last if below.strip() else above.strip()
        alone = recognise(below, taxa)
        if above.strip() or alone is None:
            out.append(f"{spread} {below.strip()}".strip())
        else:
            out.append(f"{below.strip()} {spread if '%' in spread else ''}".strip())
    return out


def heading_score(headings: list[str], taxa: Taxa) -> int:
    """Return how much a row looks like a heading, 0 for not at all."""
    known = plain(" ".join(headings))
    recognised = [recognise(text, taxa, known) for text in headings]
    roles = {said.role for said in recognised if said}
    if any(is_code(text) or any(map(is_code, re.split(r"[\s:;,]+", text))) for text in headings):
        return 0  # a row that holds a vial code is a sample
    if sum(1 for text in headings if text.strip()) < 2 or not roles - {
        ColumnRole.NOT_USED,
        ColumnRole.FAILURE,
    }:
        return 0
    named = any(
        said and (said.why == SALMOIDES or (said.why == A_MARGIN and any(taxa_named(plain(text), taxa))))
        for said, text in zip(recognised, headings, strict=True)
    )
    if ColumnRole.VIAL not in roles and not roles & {ColumnRole.Q, ColumnRole.OTHER_Q}:
        return 0
    if not (
        roles
        & {
            ColumnRole.Q,
            ColumnRole.OTHER_Q,
            ColumnRole.HETEROZYGOSITY,
            ColumnRole.N_LOCI,
            ColumnRole.CALL_RATE,
            ColumnRole.LAB_CLASS,
        }
        or named
    ):
        return 1 if sum(1 for text in headings if text.strip()) >= 6 else 0
    return 2 + len(roles - {ColumnRole.NOT_USED}) + named
