"""The texts beside the samples of a lab's file that cast doubt on the value of their row."""

from __future__ import annotations

import re
from collections.abc import Sequence

from geneticlog.rules.lab_return.cells.cells import number
from geneticlog.rules.lab_return.columns.column_roles import names_of, unlike_what
from geneticlog.rules.lab_return.sheet.reading import Column, Reading, Row
from geneticlog.rules.lab_return.sheet.words_beside import (
    AGAINST,
    UNKNOWN,
    all_yes_or_no,
    judge,
    says_what_it_is,
    speaks_against,
    yes_takes_back,
)
from geneticlog.rules.lab_return.words.headings import answer_key, plain
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.lab_return.words.roles import PROPORTIONS, ColumnRole
from geneticlog.rules.result.result_states import Verdict


def texts_against(reading: Reading, rows: Sequence[Row]) -> dict[int, frozenset[str]]:
    """Return, by column number, the texts beside the samples that cast doubt on the value of their row."""
    layout, out = reading.layout, {}
    for column in reading.columns:
        if column.role in (*PROPORTIONS, ColumnRole.N_LOCI, ColumnRole.VIAL, ColumnRole.MARKER):
            continue
        i = column.number - 1
        cells = {rows[n - 1][i][0].strip() for n in reading.data_rows if len(rows[n - 1]) > i}
        if column.role in (ColumnRole.FAILURE, ColumnRole.LAB_CLASS) or says_what_it_is(column.heading):
            is_class, doubted = column.role != ColumnRole.FAILURE, layout.casts_doubt(column.heading)
            blank = layout.casts_doubt(f"blank in {column.heading}")
            against = {
                text for text in cells
                if (blank and not text) or judge(
                    text, layout.taxa, layout.harmless, layout.against, is_class=is_class, heading=column.heading
                ) in ((AGAINST, UNKNOWN) if doubted and text else (AGAINST,))
            }  # fmt: skip
        elif (
            yes_takes_back(column.heading)
            and all_yes_or_no(cells)
            and not layout.changes_nothing(column.heading)
        ):
            against = {text for text in cells if judge(text, layout.taxa, heading=column.heading) == AGAINST}
        elif _ALLELES_A_LOCUS.search(plain(column.heading)):
            against = {text for text in cells if (figure := number(text)) and figure.value > 2}
        elif column.standing == Verdict.HELD:
            against = _held(cells - {""}, column, layout)
        else:
            against = {
                text for text in cells
                if layout.casts_doubt(text) or (not layout.changes_nothing(text) and speaks_against(text))
            }  # fmt: skip
        if against:
            out[column.number] = frozenset(against)
    return out


_ALLELES_A_LOCUS = re.compile(
    r"\balleles? (per|a|at (a|one|any)|in a) locus\b|\bmax(imum)? (number of )?alleles\b|\bploidy\b"
)


def _held(cells: set[str], column: Column, layout: Layout) -> set[str]:
    """The texts of a column that a person holds: all, those other than the common one, or of a mark the set ones."""
    names = names_of(column.heading, column.letter)
    if not any(map(layout.casts_doubt, names)):
        unlike = next(filter(None, (unlike_what(name, layout) for name in names)), "")
        return {text for text in cells if answer_key(text) != unlike}
    marked = {text for text in cells if judge(text, layout.taxa, heading=column.heading) == AGAINST}
    return marked if marked and all(text in ("0", "1") for text in cells) else cells
