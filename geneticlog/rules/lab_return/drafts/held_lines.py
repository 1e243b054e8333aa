"""Lines, comments and sheets that a person says change the values: the rows that they speak of wait, or all rows."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from itertools import pairwise

from geneticlog.rules.finding.finding_kinds import FindingKind
from geneticlog.rules.lab_return.account.captions import captions_held, is_caption
from geneticlog.rules.lab_return.columns.column_units import ALL_ALLELES
from geneticlog.rules.lab_return.drafts.draft import Draft
from geneticlog.rules.lab_return.drafts.lab_ids import named_by_lab_ids
from geneticlog.rules.lab_return.drafts.longer_codes import codes_among
from geneticlog.rules.lab_return.sheet.account_items import SheetMarks
from geneticlog.rules.lab_return.sheet.lines import HEADING_AGAIN, NOT_OF_A_LETTERHEAD, judge_line
from geneticlog.rules.lab_return.sheet.reading import Reading, Row
from geneticlog.rules.lab_return.sheet.unknown_lines import ABOVE, BELOW
from geneticlog.rules.lab_return.words.headings import Taxa, plain
from geneticlog.rules.lab_return.words.roles import ColumnRole
from geneticlog.rules.result.result_states import Verdict

_FOOTNOTE = re.compile(r"[*†‡§¹²³]")
_COLOURS = re.compile(
    r"\b(colou?r\w*|red|yellow|orange|green|blue|gr[ae]y|pink|purple|shad\w*|highlight\w*|filled)\b",
    re.IGNORECASE,
)
_STRUCK = re.compile(r"\b(struck|strike\w*|crossed)\b", re.IGNORECASE)
# a line that names one vial and is about others: which ones is for a person to read
_OF_OTHERS = re.compile(
    r"\b(only|from \S+ (?:on|down|up)|onwards?|above|below|before|after|until|till|others?|the rest|remaining"
    r"|everything)\b",
    re.IGNORECASE,
)
_EXCEPT = re.compile(r"\b(except|excepting|apart from|other than|all but|save for)\b", re.IGNORECASE)
_SPAN = r"(?:\bto\b|\bthrough\b|\bthru\b|\buntil\b|[-\u2013\u2014\u2026])"  # common practice, no source
_ROWS = re.compile(
    rf"\b(?:rows?|lines?)\s+(?:nos?\.?\s*|#\s*)?(\d{{1,4}}(?:\s*(?:,|and|&|or|with|{_SPAN})\s*\d{{1,4}})*)\b",
    re.IGNORECASE,
)
_OF_PLATES = re.compile(r"\b(plate|well|column|box)\b", re.IGNORECASE)  # whose rows are others
_HIDDEN = re.compile(r"\bhidden\b", re.IGNORECASE)


def note_held_lines(
    drafts: Sequence[Draft], reading: Reading, rows: Sequence[Row], marks: SheetMarks
) -> None:
    """Note on the drafts that a line speaks of; they are held.

    That is by vial, by mark, or where it is a line between the samples, those below it up to the next such line. One
    that says none of these speaks of all.
    """
    of_all = []
    for where, text, row in _held(reading, marks):
        meant = _spoken_of(text, drafts, rows, marks)
        meant += [draft for draft in rows_named(text, drafts, reading) if draft not in meant]
        others_too = _OF_OTHERS.search(text) or _EXCEPT.search(text)
        meant = meant or ([] if others_too else named_by_lab_ids(text, drafts, rows))
        meant = meant or _below(row, drafts, reading)
        of_others = codes_among(text) and _OF_OTHERS.search(text)
        for draft in () if of_others else meant:
            draft.note(FindingKind.MARKED, mark=f"{where} says {text[:80]!r}")
        if of_others or (
            not meant and not codes_among(text)
        ):  # one that names vials of another sheet speaks of none here
            of_all.append(f"{where} says {text[:80]!r}")
    of_all += [key for key in (ABOVE, BELOW, ALL_ALLELES) if reading.layout.casts_doubt(key)]
    of_all += _of_shares(reading, rows)
    of_all += captions_held(reading.layout, marks)
    for what, name in marks.names:
        for draft in drafts if reading.layout.casts_doubt(f"{what} {name}") else ():
            if what == "file" or reading.sheet_rows.place(draft.row)[0] in (None, name):
                draft.note(FindingKind.MARKED, mark=f"the {what} is named {name!r}")
    note_whole_file(drafts, of_all)


def _of_shares(reading: Reading, rows: Sequence[Row]) -> list[str]:
    """The column of shares that a person holds by its heading, where that is no word beside the samples."""
    q, layout = reading.column(ColumnRole.Q), reading.layout
    if q is None or not any(map(layout.casts_doubt, (q.heading, f"column {q.letter}"))):
        return []
    is_word = any(plain(text) == plain(q.heading) for n in reading.data_rows for text, _ in rows[n - 1])
    return [] if is_word else [f"column {q.named}"]


def _below(row: int, drafts: Sequence[Draft], reading: Reading) -> list[Draft]:
    """The drafts below a line between the samples, up to the next line; none for one that is above or below all."""
    if not row or not reading.data_rows[0] < row < reading.data_rows[-1]:
        return []
    lines = [other for other, text in reading.other_rows if other > row and text != HEADING_AGAIN]
    end = min(lines, default=reading.data_rows[-1] + 1)
    below = [draft for draft in drafts if row < draft.row < end]
    # what follows a letter's last line is no sample: its line is about those above it
    return below if any(draft.code for draft in below) else []


def note_whole_file(drafts: Sequence[Draft], doubts: Sequence[str]) -> None:
    """Note on every draft what a person says casts doubt on all of a file."""
    for draft in drafts if doubts else ():
        draft.note(FindingKind.FILE_IN_DOUBT, said="; ".join(doubts))


def _held(reading: Reading, marks: SheetMarks) -> Iterator[tuple[str, str, int]]:
    """Where each text is that a person says changes the values, the text, and the row of a line of the table."""
    layout, samples = reading.layout, frozenset(reading.data_rows)
    for row, text in reading.other_rows:
        if layout.casts_doubt(text):
            yield f"row {reading.sheet_rows.words([row])}", text, row
    for (row, _), text in sorted(marks.comments.items()):
        if row not in samples and layout.casts_doubt(text):
            yield f"a comment in row {reading.sheet_rows.words([row])}", text, 0
    for where, text in marks.notes:
        if not is_caption(where) and layout.casts_doubt(text):
            yield where, text, 0
    for name, _, lines in marks.other_sheets:
        for line in filter(layout.casts_doubt, lines):
            yield f"sheet {name}", line, 0
        if layout.casts_doubt(f"sheet {name}"):
            for line in _one_by_one(lines, layout.taxa) or [" ".join(lines)]:
                yield f"sheet {name}", line, 0


def _one_by_one(lines: Sequence[str], taxa: Taxa) -> list[str]:
    """The lines of a sheet that name vials or rows, and others that say something of values; none where none names."""
    naming = [line for line in lines if codes_among(line) or _ROWS.search(line)]
    of_tables = {line.count(" | ") for line in naming} - {0}
    rest = [
        line for line in lines if line not in naming and line.count(" | ") not in of_tables
    ]  # no heading of these
    verdicts = {line: judge_line(line, taxa, below=False) for line in rest}
    telling = [
        line for line, (verdict, why) in verdicts.items()
        if verdict == Verdict.ASKED and not why.endswith(NOT_OF_A_LETTERHEAD)
    ]  # fmt: skip
    return [*naming, *telling] if naming else []


def _spoken_of(text: str, drafts: Sequence[Draft], rows: Sequence[Row], marks: SheetMarks) -> list[Draft]:
    """The drafts whose vial a text names, or whose row has the mark that it explains."""
    codes = codes_among(text)
    rows_meant: set[int] = set()
    for mark in set(_FOOTNOTE.findall(text)):
        rows_meant |= {draft.row for draft in drafts if any(mark in cell for cell, _ in rows[draft.row - 1])}
    for says, marked in (
        (_COLOURS, {row for row, _ in marks.colours}),
        (_STRUCK, {row for row, _ in marks.struck}),
        (_HIDDEN, set(marks.hidden_rows)),
    ):
        if says.search(text):
            rows_meant |= marked
    if codes and _EXCEPT.search(text):
        return [draft for draft in drafts if draft.code not in codes]
    for first, last in pairwise(codes):
        if re.search(rf"{first}\W*{_SPAN}\W*{last}", text, re.IGNORECASE):
            rows_meant |= _between(first, last, drafts)
    rows_meant |= _with_footnote(text, drafts, rows)
    return [draft for draft in drafts if draft.code in codes or draft.row in rows_meant]


def _with_footnote(text: str, drafts: Sequence[Draft], rows: Sequence[Row]) -> set[int]:
    """The rows in which a letter that begins a note is behind a number: 0.21a, for "a low DNA"."""
    begins = re.match(r"\W?([a-e])\W? ?\W? ?[^\W\d_]", text)
    marked = re.compile(rf"[\d.,]*\d ?%? ?\(?{begins[1]}\)?") if begins else None
    return {
        draft.row
        for draft in drafts
        if marked and any(marked.fullmatch(cell.strip()) for cell, _ in rows[draft.row - 1])
    }


def rows_named(text: str, drafts: Sequence[Draft], reading: Reading) -> list[Draft]:
    """Return the drafts of the rows that a text names by number: as rows of the sheet, or as samples in their order.

    Which of the two is meant nobody can know, so both are. None where a number fits neither, where the text is of
    other rows too, or where several tables have rows of the same number.
    """
    of_others = _OF_OTHERS.search(text) or _EXCEPT.search(text) or _OF_PLATES.search(text)
    found = [] if reading.sheet_rows.sheets or of_others else _ROWS.findall(text)
    numbers: set[int] = set()
    for listed in found:
        for first, last in re.findall(rf"(\d+)(?:\s*{_SPAN}\s*(\d+))?", listed):
            numbers |= set(range(int(first), int(last or first) + 1))
    of_row = {draft.row: draft for draft in drafts}
    in_order = dict(enumerate(drafts, start=1))
    if not all(n in of_row or n in in_order for n in numbers):
        return []
    meant = {id(one): one for n in sorted(numbers) for one in (of_row.get(n), in_order.get(n)) if one}
    return list(meant.values())


def _between(first: str, last: str, drafts: Sequence[Draft]) -> set[int]:
    """The rows from one vial to another in the order of the file, whichever of them comes first."""
    ends = [draft.row for draft in drafts if draft.code in (first, last)]
    return {draft.row for draft in drafts if ends and min(ends) <= draft.row <= max(ends)}
