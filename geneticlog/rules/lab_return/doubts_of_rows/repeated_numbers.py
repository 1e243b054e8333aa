"""One number of the lab at two of our vials, in a column in which all other numbers differ: one tube read twice."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Sequence

from geneticlog.rules.lab_return.sheet.reading import Column, Reading, Row
from geneticlog.rules.lab_return.words.headings import plain
from geneticlog.rules.lab_return.words.roles import ColumnRole

LEAST_ROWS = 8
MOST_REPEATED = 2  # numbers that two vials share; more are those of batches. Common practice, no source
_NUMBER = re.compile(
    r"\b(ids?|no|numbers?|codes?|barcode|bar code|accession|extracts?|tubes?|aliquots?|dna id)\b|#"
)
_OF_OTHER_THINGS = re.compile(
    r"\b(plates?|runs?|wells?|rows?|box|batch\w*|lots?|order|job|project|invoice|shipment|submission|lanes?|loci|locus"
    r"|snps?|markers?|reads?|alleles?|calls?|survey|lake|site|permit|index|class|page|tag|primers?|number of|no of)\b"
)


def repeated_numbers(reading: Reading, rows: Sequence[Row]) -> dict[int, list[str]]:
    """Return, by row, the lab's number of its sample where another vial has the same one, in words.

    That is in a column of numbers or names of samples that all differ but for one or two: there two vials were given
    one extract, or one of them the other's name.
    """
    doubts: dict[int, list[str]] = {}
    vial = reading.column(ColumnRole.VIAL)
    for column in reading.columns:
        heading = plain(column.heading)
        if column.role or vial is None or not _NUMBER.search(heading) or _OF_OTHER_THINGS.search(heading):
            continue
        for text, its_rows in _repeated(reading, rows, column, vial).items():
            for n in its_rows:
                others = reading.sheet_rows.words([other for other in its_rows if other != n])
                words = f"column {column.named} says {text[:40]!r}, and so does row {others} of another vial"
                doubts.setdefault(n, []).append(words)
    return doubts


def _repeated(reading: Reading, rows: Sequence[Row], column: Column, vial: Column) -> dict[str, list[int]]:
    """The texts of a column that two vials of one sheet share, with their rows; none where more than a few do."""
    of_text: dict[tuple[str | None, str], list[int]] = defaultdict(list)
    for text, its_rows in reading.rows_by_text(rows, column).items():
        for n in its_rows:
            of_text[reading.sheet_rows.place(n)[0], plain(text)].append(n)
    n_rows = sum(map(len, of_text.values()))
    with_digits = sum(any(map(str.isdigit, text)) for _, text in of_text)
    shared = {
        column.text_in(rows[its_rows[0] - 1]): its_rows
        for its_rows in of_text.values()
        if len({vial.text_in(rows[n - 1]) for n in its_rows}) > 1
    }
    once = sum(len(its_rows) == 1 for its_rows in of_text.values())
    several = any(len(its_rows) > 2 for its_rows in shared.values())
    if n_rows < LEAST_ROWS or 2 * with_digits < len(of_text) or several or len(shared) > MOST_REPEATED:
        return {}
    return shared if 2 * once > n_rows else {}
