"""Which of several columns is taken for one role; a Question where that is not plain."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from geneticlog.rules.lab_return.cells.cells import number
from geneticlog.rules.lab_return.columns.column_values import (
    codes_in,
    filled_cells,
    same_numbers,
)
from geneticlog.rules.lab_return.sheet.reading import Question, Row, code_in, is_code
from geneticlog.rules.lab_return.words.headings import Said, plain
from geneticlog.rules.lab_return.words.layout import Layout, column_letter
from geneticlog.rules.lab_return.words.roles import ROLES, ColumnRole
from geneticlog.rules.sentences import n_of
from geneticlog.rules.vialcode import printed

HARMLESS = "a person or the lab's layout says that it changes nothing"
MOST_BARE = 12  # characters of a code by itself, printed in groups


def only_plain_ones(
    columns: list[Said], role: ColumnRole, fixed: dict[int, ColumnRole], sample: Sequence[Row]
) -> None:
    """Leave to a person each column whose heading has words that may change its meaning."""
    for i, column in enumerate(columns):
        if column.role == role and i not in fixed and column.strange:
            if column.strange == ("fl",) and any(
                other.role == ColumnRole.OTHER_Q and not other.strange for other in columns
            ):
                columns[i] = replace(column, strange=())  # beside the other taxon's share it is no length
            else:
                columns[i] = replace(column, role=ColumnRole.NOT_USED)


def choose_vial(
    columns: list[Said], headings: list[str], sample: Sequence[Row], questions: list[Question]
) -> None:
    share: dict[int, tuple[int, int]] = {}
    for i, said in enumerate(columns):
        if said.role not in (ColumnRole.VIAL, ColumnRole.NOT_USED) or said.why == HARMLESS:
            continue
        texts = [row[i][0] for row in sample if len(row) > i and row[i][1] != "empty"]
        codes = sum(map(is_code, texts))
        if codes and 2 * codes >= len(texts):
            share[i] = (codes, len(texts))
    bare = {i for i in share if all(len(code.strip()) <= MOST_BARE for code in _code_texts(sample, i))}
    if len(bare) == 1:
        share = {
            i: share[i] for i in bare
        }  # beside codes by themselves, those within a longer text name them again
    named = sorted((said.tier, i) for i, said in enumerate(columns) if said.role == ColumnRole.VIAL)
    if len(share) == 1 or (share and len({tuple(codes_in(sample, i)) for i in share}) == 1):
        i = min(share, key=lambda i: (columns[i].tier if columns[i].role == ColumnRole.VIAL else 9, i))
        codes, n = share[i]
        _keep(columns, ColumnRole.VIAL, i, f"{codes} of {n} values read as vial codes")
    elif share:
        texts = _names(headings, list(share))
        text = f"columns {' and '.join(texts)} both hold vial codes{_unlike(sample, *list(share)[:2])}"
        questions.append(Question(text, _which(ColumnRole.VIAL, texts)))
    elif len(named) > 1 and named[0][0] == named[1][0]:
        texts = _names(headings, [i for tier, i in named if tier == named[0][0]])
        text = f"columns {' and '.join(texts)} could both hold our vial codes"
        questions.append(Question(text, _which(ColumnRole.VIAL, texts)))
    elif named:
        _keep(columns, ColumnRole.VIAL, named[0][1], columns[named[0][1]].why)


def _names(headings: Sequence[str], columns: Sequence[int]) -> list[str]:
    """What columns are called: by their headings, or by their letters where two are headed alike."""
    texts = [headings[i] or column_letter(i + 1) for i in columns]
    alike = len({plain(text) for text in texts}) < len(texts)
    return [column_letter(i + 1) for i in columns] if alike else texts


def _code_texts(sample: Sequence[Row], i: int) -> list[str]:
    return [row[i][0] for row in sample if len(row) > i and is_code(row[i][0])]


def _unlike(sample: Sequence[Row], a: int, b: int) -> str:
    """In how many rows two columns of codes name other vials, with the first, for a person who has to choose."""
    pairs = [(code_in(row[a][0]), code_in(row[b][0])) for row in sample if len(row) > max(a, b)]
    unlike = [pair for pair in pairs if all(pair) and pair[0] != pair[1]]
    if not unlike:
        return ", not in the same rows"
    first = " and ".join(map(printed, unlike[0]))
    return f", and name other vials in {n_of(len(unlike), 'row')} of {len(pairs)} (first {first}): which is our label?"


def _which(role: ColumnRole, headings: list[str]) -> tuple[tuple[str, str, str], ...]:
    return tuple(("column", role, " ".join(heading.split())) for heading in headings)


def _keep(columns: list[Said], role: ColumnRole, kept: int, why: str) -> None:
    for i, said in enumerate(columns):
        if said.role == role and i != kept:
            columns[i] = Said(
                ColumnRole.NOT_USED, f"another column was taken for {ROLES[role].split('{')[0].strip()}"
            )
    columns[kept] = Said(role, why)


def choose_one(
    meanings: list[Said],
    headings: list[str],
    sample: Sequence[Row],
    role: ColumnRole,
    questions: list[Question],
    layout: Layout,
) -> None:
    columns = [i for i, said in enumerate(meanings) if said.role == role]
    if len(columns) < 2:
        return
    filled = [i for i in columns if filled_cells(sample, i)]
    if len(filled) < 2:
        _keep(meanings, role, (filled or columns)[0], meanings[(filled or columns)[0]].why)
        return
    first = filled[0]
    if meanings[first].tier and all(same_numbers(sample, first, i) for i in filled[1:]):
        _keep(meanings, role, first, meanings[first].why)
        for i in filled[1:]:
            meanings[i] = Said(
                ColumnRole.NOT_USED, f"the same numbers as column {headings[first]}", known=True
            )
        return
    if role == ColumnRole.N_LOCI and (scored := _scored_column(meanings, filled, sample)) is not None:
        _keep(meanings, role, scored, meanings[scored].why)
        return
    texts = _names(headings, filled)
    meaning = ROLES[role].format(taxon=layout.taxa.taxon, other_taxon=layout.taxa.other_taxon)
    text = f"columns {' and '.join(texts)} could all be the {meaning}"
    if years := _years_below(sample, filled):
        text += f": below their headings are the years {' and '.join(years)}"
        texts = [name for _, name in sorted(zip(years, texts, strict=True), reverse=True)]
    questions.append(Question(text, _which(role, texts)))


def _years_below(sample: Sequence[Row], columns: Sequence[int]) -> list[str]:
    """The years that a second row of the heading gives to columns that are headed alike; none where it does not."""
    first = sample[0] if sample else ()
    years = [first[i][0].strip() for i in columns if len(first) > i]
    of_heading = len(set(years)) == len(columns) and not any(is_code(text) for text, _ in first)
    return years if of_heading and all(re.fullmatch(r"(19|20)\d\d", year) for year in years) else []


def _scored_column(found: list[Said], columns: Sequence[int], sample: Sequence[Row]) -> int | None:
    """The one column that says that its loci were scored, where no other is smaller in any row."""
    scored = [i for i in columns if found[i].tier == 1]
    if len(scored) != 1:
        return None
    for row in sample:
        there = [number(row[i][0]) if len(row) > i else None for i in (scored[0], *columns)]
        own = there[0]
        if own and any(other and other.value < own.value for other in there):
            return None
    return scored[0]
