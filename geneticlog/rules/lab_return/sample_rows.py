"""Which rows of a lab's file hold a sample, and which are titles, totals and notes."""

from __future__ import annotations

from collections.abc import Sequence

from geneticlog.errors import SheetFault
from geneticlog.rules.lab_return.cells import missing_meaning
from geneticlog.rules.lab_return.heading_rows import heading_score
from geneticlog.rules.lab_return.headings import Taxa, plain
from geneticlog.rules.lab_return.lines import says_total
from geneticlog.rules.lab_return.reading import Row, is_code, texts_of


def part_rows(
    rows: Sequence[Row],
    top: int,
    n_rows: int,
    headings: list[str],
    vial: int | None,
    carrying: list[int],
    taxa: Taxa,
    file: str,
    sheet: str,
) -> tuple[list[int], list[tuple[int, str]]]:
    """Return the numbers of the rows that hold a sample, and the others with their text."""
    other = [(i + 1, _joined(row)) for i, row in enumerate(rows[: max(top - 1, 0)]) if _joined(row)]
    data: list[int] = []
    if vial is None:
        return data, other
    heading = [plain(text) for text in texts_of(rows[top - 1])] if top else []
    first = max(top - 1 + n_rows, 0)
    for i in range(first, len(rows)):
        row = rows[i]
        code, kind = row[vial] if len(row) > vial else ("", "empty")
        carries = any(len(row) > c and row[c][1] != "empty" for c in carrying)
        if kind != "empty" and carries:
            if kind == "text" and len(code) != 9:
                if says_total(code):
                    other.append((i + 1, _joined(row)))
                    continue
                if heading and plain(code) == heading[vial]:
                    if [plain(text) for text in texts_of(row)] != heading[: len(row)]:
                        raise SheetFault(
                            "a second table with other columns begins here",
                            file=file,
                            sheet=sheet or None,
                            row=i + 1,
                            way_out="give each table a file of its own",
                        )
                    other.append((i + 1, "the heading again"))
                    continue
                if heading_score(texts_of(row), taxa) > 3:
                    raise SheetFault(
                        "a second heading with other columns begins here",
                        file=file,
                        sheet=sheet or None,
                        row=i + 1,
                        way_out="give each table a file of its own",
                    )
            data.append(i + 1)
        elif kind != "empty":
            filled = sum(1 for _, k in row if k != "empty")
            note = filled == 1 and " " in code.strip() and not is_code(code)
            if note or (kind == "text" and says_total(code)):
                other.append((i + 1, _joined(row)))
            else:
                data.append(i + 1)
        elif carries and not _says_total(row) and not _is_note(row):
            data.append(i + 1)
        elif text := _joined(row):
            other.append((i + 1, text))
    return data, other


def _is_note(row: Row) -> bool:
    """Whether a row is one sentence, in whichever column it begins: a note, and no value without its code."""
    texts = [text.strip() for text, kind in row if kind != "empty"]
    return len(texts) == 1 and len(texts[0].split()) > 2 and missing_meaning(texts[0]) is None


def _says_total(row: Row) -> bool:
    return any(kind == "text" and says_total(text) for text, kind in row)


def _joined(row: Row) -> str:
    return " | ".join(text.strip() for text, kind in row if kind != "empty")[:200]
