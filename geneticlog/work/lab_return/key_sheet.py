"""A sheet that says which of the lab's own numbers is which vial, and the results that go by these numbers."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from geneticlog.rules.lab_return.cells import number
from geneticlog.rules.lab_return.headings import strange_in
from geneticlog.rules.lab_return.reading import is_code
from geneticlog.rules.lab_return.words_beside import says_what_it_is, speaks_against
from geneticlog.store.sheets import EMPTY, Cell, Sheet
from geneticlog.work.lab_return.by_well import well_in

LEAST_KEYED = 0.8  # of the values of a column, that the key knows
FEWEST = 2


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
    return [sheet if any_code(sheet) else _keyed(sheet, keys) for sheet in sheets]


def _number_in(text: str) -> str:
    """A number of the lab's, as it is; of a well, A1 and A01 are the same."""
    return well_in(text) or text.strip()


def any_code(sheet: Sheet) -> bool:
    return any(is_code(cell.text) for row in sheet.rows for cell in row)


@dataclass(frozen=True)
class _Key:
    """Two columns of a sheet that name a vial for every number: the heading of the codes, where the numbers are, and
    the codes by number.
    """

    heading: str
    own: int
    pairs: dict[str, str]


def _keys(sheet: Sheet) -> Iterator[_Key]:
    """Each pair of columns of a sheet that names a vial for every number."""
    rows = [(n, row) for n, row in enumerate(sheet.rows) if any(is_code(cell.text) for cell in row)]
    width = max((len(row) for _, row in rows), default=0)
    codes = [i for i in range(width) if all(len(row) > i and is_code(row[i].text) for _, row in rows)]
    if len(rows) < FEWEST or len(codes) != 1:
        return
    code = codes[0]
    above = sheet.rows[rows[0][0] - 1] if rows[0][0] else []
    heading = above[code].text.strip() if len(above) > code else ""
    for i in range(width):
        pairs: dict[str, str] = {}
        doubled: set[str] = set()
        for _, row in rows:
            own = _number_in(row[i].text) if len(row) > i else ""
            if i == code or not own or (own in pairs and pairs[own] != row[code].text):
                doubled.add(own)
            pairs[own] = row[code].text
        if i != code and len(doubled) == 0 and len(pairs) == len(rows):
            yield _Key(heading or "Vial", i, pairs)


def _words_beside(sheet: Sheet, own: int) -> tuple[list[str], dict[str, list[Cell]]]:
    """The headings of a key's further columns that say something of a vial, and their cells by the lab's number."""
    rows = [(n, row) for n, row in enumerate(sheet.rows) if any(is_code(cell.text) for cell in row)]
    above = sheet.rows[rows[0][0] - 1] if rows[0][0] else []
    wanted, heads = [], []
    for i in range(max(len(row) for _, row in rows)):
        heading = above[i].text.strip() if len(above) > i else ""
        if i != own and _says_something(heading, [row[i].text for _, row in rows if len(row) > i]):
            wanted.append(i)
            known = heading and not strange_in(
                heading
            )  # "Species", which more words would make another heading
            heads.append(heading if known else f"{heading} (sheet {sheet.name})".strip())
    of_number = {
        _number_in(row[own].text): [row[i] if len(row) > i else EMPTY for i in wanted] for _, row in rows
    }
    return heads, of_number


def _says_something(heading: str, texts: Sequence[str]) -> bool:
    """Whether a column of a key says in words what would be asked about or held beside the result."""
    words = [text for text in texts if text.strip() and not (number(text) or is_code(text) or well_in(text))]
    if not words:
        return False
    return (
        bool(strange_in(heading))
        or says_what_it_is(heading)
        or any(map(speaks_against, words))
        or not heading
    )


def _keyed(sheet: Sheet, keys: Sequence[tuple[Sheet, _Key]]) -> Sheet:
    width = max((len(row) for row in sheet.rows), default=0)
    matches = []
    for source, key in keys:
        if source.name == sheet.name:
            continue
        for i in range(width):
            hits = [
                n for n, row in enumerate(sheet.rows) if len(row) > i and _number_in(row[i].text) in key.pairs
            ]
            below = (
                [row for row in sheet.rows[hits[0] :] if len(row) > i and row[i].kind != "empty"]
                if hits
                else []
            )
            if len(hits) >= FEWEST and len(hits) >= LEAST_KEYED * len(below):
                matches.append((source, key, i, hits))
    if len(matches) != 1:
        return sheet  # no key, or two that may not say the same
    source, key, i, hits = matches[0]
    heads, beside = _words_beside(source, key.own)
    top = max((n for n in range(hits[0]) if any(cell.kind != "empty" for cell in sheet.rows[n])), default=-1)
    rows = []
    for n, row in enumerate(sheet.rows):
        own = _number_in(row[i].text) if len(row) > i else ""
        text = (
            f"{key.heading} (sheet {source.name})"
            if n == top
            else key.pairs.get(own, "")
            if n in hits
            else ""
        )
        more = [Cell(head, "text") for head in heads] if n == top else beside.get(own, [])
        padded = [*row, *[EMPTY] * (width - len(row))]
        rows.append([*padded, Cell(text, "text"), *more] if text else row)
    return replace(sheet, rows=rows, keyed_by=source.name)
