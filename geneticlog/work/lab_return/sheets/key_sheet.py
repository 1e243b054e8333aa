"""A sheet that says which of the lab's own numbers is which vial, and the results that go by these numbers."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from geneticlog.rules.lab_return.cells.cells import number
from geneticlog.rules.lab_return.sheet.account_items import answers_about
from geneticlog.rules.lab_return.sheet.reading import Question, is_code
from geneticlog.rules.lab_return.sheet.words_beside import says_what_it_is, speaks_against
from geneticlog.rules.lab_return.words.headings import plain, strange_in
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.lengths import LENGTH_NAMES, WEIGHT_NAMES
from geneticlog.store.sheets import EMPTY, Cell, Sheet
from geneticlog.work.lab_return.sheets.by_well import well_in

LINE_NUMBERS = "numbers of the samples"  # what answers call a key by 1, 2, 3 and so on
LEAST_KEYED = 0.8  # of the values of a column, that the key knows
FEWEST = 2
_LINES = frozenset({"row", "line", "no", "nr", "#", "n", "number", "row no", "line no"})
_OF_FISH = re.compile(
    rf"\b({'|'.join(sorted(LENGTH_NAMES | WEIGHT_NAMES))}|date|collected|caught|lake|water ?body"
    r"|client|customer|project|tissue|species|assay|panel)\b"
)


def with_codes(sheets: Sequence[Sheet]) -> list[Sheet]:
    """Return the sheets, those without a vial code having a column more with the codes that another sheet gives them.

    A number that the key does not know, or gives two vials, gets no code, and its row is then a finding. What else the
    key says of a vial in words comes with it, so that a note there is read as one beside the result.
    """
    if sum(sheet.filled for sheet in sheets) < 2:
        return list(sheets)
    keys = [(sheet, key) for sheet in sheets if not sheet.hidden for key in _keys(sheet)]
    if not keys:
        return list(sheets)
    keyed = [sheet if any_code(sheet) else _keyed(sheet, keys) for sheet in sheets]
    if not any(sheet.keyed_by for sheet in keyed):
        return keyed
    # a list that got its vials so may be the key of the results: from the lab's number to its extract, to the vial
    second = [(sheet, key) for sheet in keyed if sheet.keyed_by and not sheet.hidden for key in _keys(sheet)]
    return [sheet if any_code(sheet) else _keyed(sheet, second) for sheet in keyed]


def _number_in(text: str) -> str:
    """A number of the lab's, as it is; of a well, A1 and A01 are the same."""
    return well_in(text) or text.strip()


def any_code(sheet: Sheet) -> bool:
    return any(
        is_code(cell.text)
        for row in sheet.rows
        for i, cell in enumerate(row, start=1)
        if i not in sheet.hidden_columns
    )


@dataclass(frozen=True)
class _Key:
    """Columns of a sheet that name a vial for every number: the heading of the codes, the columns of the numbers with
    their headings (a plate and its well are two), the codes by number, and the numbers of all its samples.
    """

    heading: str
    own: tuple[int, ...]
    own_heads: tuple[str, ...]
    pairs: dict[tuple[str, ...], str]
    known: frozenset[tuple[str, ...]]


def _number_of(row: Sequence[Cell], own: Sequence[int]) -> tuple[str, ...]:
    """The number of a row in one column or several; empty where one of them is."""
    parts = tuple(_number_in(row[i].text) if len(row) > i else "" for i in own)
    return parts if all(parts) else ()


def _body(sheet: Sheet) -> tuple[Sequence[Cell], Sequence[Sequence[Cell]]]:
    """The heading of a key, which is its first row of several cells, and the filled rows below it."""
    filled = [row for row in sheet.rows if sum(cell.kind != "empty" for cell in row) > 1]
    if not filled or any(is_code(cell.text) for cell in filled[0]):
        return [], filled
    return filled[0], filled[1:]


def _keys(sheet: Sheet) -> Iterator[_Key]:
    """Each column of numbers, or pair of columns, that names a vial for every number, and one vial only.

    A number that the key gives to somebody else's sample too, as the well of another plate, names no vial by itself.
    """
    head, body = _body(sheet)
    rows = [row for row in body if any(is_code(cell.text) for cell in row)]
    width = max((len(row) for row in rows), default=0)
    codes = [i for i in range(width) if all(len(row) > i and is_code(row[i].text) for row in rows)]
    if len(rows) < FEWEST or len(codes) != 1:
        return
    code = codes[0]
    heads = [cell.text.strip() for cell in head] + [""] * width
    candidates: list[tuple[int, ...]] = [(i,) for i in range(width) if i != code]
    if not any(_names_each(body, rows, own) for own in candidates):
        candidates = list(combinations([i for i in range(width) if i != code and heads[i]], 2))
    for own in [own for own in candidates if _names_each(body, rows, own)]:
        by_number = {_number_of(row, own): row[code].text for row in rows}
        known = frozenset(_number_of(row, own) for row in body)
        yield _Key(heads[code] or "Vial", own, tuple(heads[i] for i in own), by_number, known)


def _names_each(body: Sequence[Sequence[Cell]], rows: Sequence[Sequence[Cell]], own: tuple[int, ...]) -> bool:
    """Whether columns have another number in each row of a vial, and none of these in any other row."""
    numbers = [_number_of(row, own) for row in rows]
    if not all(numbers) or len(set(numbers)) < len(rows):
        return False
    return sum(_number_of(row, own) in set(numbers) for row in body) == len(rows)


def _words_beside(sheet: Sheet, key: _Key) -> tuple[list[str], dict[tuple[str, ...], list[Cell]]]:
    """The headings of a key's further columns that say something of a vial, and their cells by the lab's number."""
    head, body = _body(sheet)
    rows = [row for row in body if any(is_code(cell.text) for cell in row)]
    wanted, heads = [], []
    for i in range(max(len(row) for row in rows)):
        heading = head[i].text.strip() if len(head) > i else ""
        if i not in key.own and _says_something(heading, [row[i].text for row in rows if len(row) > i]):
            wanted.append(i)
            known = heading and not strange_in(
                heading
            )  # "Species", which more words would make another heading
            heads.append(heading if known else f"{heading} (sheet {sheet.name})".strip())
    of_number = {
        _number_of(row, key.own): [row[i] if len(row) > i else EMPTY for i in wanted] for row in rows
    }
    return heads, of_number


def _says_something(heading: str, texts: Sequence[str]) -> bool:
    """Whether a column of a key says what would be looked at beside the result: words, or what is known of the fish."""
    if any(map(is_code, texts)) or not any(text.strip() for text in texts):
        return False
    words = [text for text in texts if text.strip() and not (number(text) or well_in(text))]
    if heading and not strange_in(heading):
        return (
            bool(_OF_FISH.search(plain(heading)))
            or says_what_it_is(heading)
            or any(map(speaks_against, words))
        )
    return bool(words)


def _keyed(sheet: Sheet, keys: Sequence[tuple[Sheet, _Key]]) -> Sheet:
    width = max((len(row) for row in sheet.rows), default=0)
    matches = []
    for source, key in keys:
        if source.name == sheet.name:
            continue
        for own in _same_columns(sheet, key, width):
            hits = [n for n, row in enumerate(sheet.rows) if _number_of(row, own) in key.pairs]
            below = [row for row in sheet.rows[hits[0] :] if _number_of(row, own)] if hits else []
            n_known = sum(_number_of(row, own) in key.known for row in below)
            if len(hits) >= FEWEST and n_known >= LEAST_KEYED * len(below):
                matches.append((source, key, own, hits))
    if len(matches) != 1:
        return sheet  # no key, or two that may not say the same
    source, key, own, hits = matches[0]
    heads, beside = _words_beside(source, key)
    top = max((n for n in range(hits[0]) if any(cell.kind != "empty" for cell in sheet.rows[n])), default=-1)
    rows = []
    for n, row in enumerate(sheet.rows):
        name = _number_of(row, own) if n in hits else ()
        text = f"{key.heading} (sheet {source.name})" if n == top else key.pairs.get(name, "")
        more = [Cell(head, "text") for head in heads] if n == top else beside.get(name, [])
        padded = [*row, *[EMPTY] * (width - len(row))]
        rows.append([*padded, Cell(text, "text"), *more] if text else row)
    return replace(sheet, rows=rows, keyed_by=source.name)


def question_of_lines(sheet: Sheet, sheets: Sequence[Sheet], layout: Layout) -> list[Question]:
    """Ask about a key by numbers that only count the lines of both sheets: 1, 2, 3 and so on, and headed so."""
    source = next((one for one in sheets if sheet.keyed_by and one.name == sheet.keyed_by), None)
    if source is None or layout.changes_nothing(LINE_NUMBERS) or layout.casts_doubt(LINE_NUMBERS):
        return []
    width = max((len(row) for row in sheet.rows), default=0)
    for key in _keys(source):
        for own in _same_columns(sheet, key, width):
            here = [name[0] for row in sheet.rows if (name := _number_of(row, own)) in key.pairs]
            counted = [name[0] for name in key.pairs], here
            if len(own) == 1 and plain(key.own_heads[0]) in _LINES and all(map(_counts_up, counted)):
                head = key.own_heads[0] or "of numbers"
                text = (
                    f"column {head} counts the lines of sheet {source.name} and of the results alike: is it the number"
                    " of the sample, and not that of the line?"
                )
                return [Question(text, answers_about(LINE_NUMBERS), "codes")]
    return []


def _counts_up(numbers: Sequence[str]) -> bool:
    return list(numbers) == [str(i) for i in range(1, len(numbers) + 1)] and len(numbers) > 1


def _same_columns(sheet: Sheet, key: _Key, width: int) -> list[tuple[int, ...]]:
    """The columns of a sheet that may hold a key's numbers: any one, or those of the same headings as several."""
    if len(key.own) == 1:
        return [(i,) for i in range(width)]
    wanted = [plain(head) for head in key.own_heads]
    for row in sheet.rows:
        said = [plain(cell.text) for cell in row]
        if all(said.count(head) == 1 for head in wanted):
            return [tuple(said.index(head) for head in wanted)]
    return []
