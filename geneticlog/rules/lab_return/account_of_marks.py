"""The marks of a workbook in the account of a file: struck, merged, hidden and coloured cells, comments, sheets."""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise
from typing import Any

from geneticlog.rules.lab_return.account_items import (
    ASKED,
    HARMLESS,
    HELD,
    Item,
    SheetMarks,
    answers_about,
    put_answered,
    rows_in_words,
)
from geneticlog.rules.lab_return.headings import plain
from geneticlog.rules.lab_return.layout import Layout
from geneticlog.rules.lab_return.lines import judge_in_summary, judge_line
from geneticlog.rules.lab_return.reading import Question, Reading, Row
from geneticlog.rules.lab_return.words_beside import AGAINST, GOOD, judge


def account_of_marks(reading: Reading, rows: Sequence[Row], marks: SheetMarks, put: Any) -> None:
    layout, samples = reading.layout, frozenset(reading.data_rows)
    used = {column.number for column in reading.columns if column.role}
    if struck := sorted({row for row, column in marks.struck if row in samples and column in used}):
        put(Item("mark", rows_in_words(reading, struck), "struck through", HELD,
                 "the values wait for a decision"))  # fmt: skip
    others = sorted({row for row, _ in marks.struck if row not in samples})
    if others:
        put(Item("mark", rows_in_words(reading, others), "struck through", HARMLESS, "no sample"))
    if merged := _merged_samples(reading, marks):
        where = rows_in_words(reading, merged)
        put_answered(put, layout, "merged cells", where, "merged cells",
                  f"a value is merged over several samples ({where}), and only the first of them has it: did the others"
                  " fail?")  # fmt: skip
    if hidden := sorted(marks.hidden_rows & samples):
        where = rows_in_words(reading, hidden)
        put_answered(put, layout, "hidden rows", where, "hidden rows",
                  f"samples are hidden ({where}): were they taken back, or only filtered?")  # fmt: skip
    by_colour: dict[str, set[int]] = {}
    for (row, column), colour in marks.colours.items():
        if row in samples and (column in used or not used):
            by_colour.setdefault(colour, set()).add(row)
    for colour, where_rows in by_colour.items():
        where = rows_in_words(reading, sorted(where_rows))
        if _decoration(where_rows, reading.data_rows):
            put(Item("mark", where, f"colour {colour}", HARMLESS, "it follows the rows, not the values"))
            continue
        put_answered(put, layout, f"colour {colour}", where, f"colour {colour}",
                  f"samples have the colour {colour} ({where}): does it cast doubt on them?")  # fmt: skip
    for text, where_rows in _ruled(reading, marks).items():
        where = rows_in_words(reading, sorted(where_rows))
        put_answered(put, layout, f"rule {text}", where, f"coloured where {text}",
                  f"samples are coloured where {text} ({where}): does the colour cast doubt on them?")  # fmt: skip
    _comments(reading, marks, put)


def _comments(reading: Reading, marks: SheetMarks, put: Any) -> None:
    layout, samples = reading.layout, frozenset(reading.data_rows)
    for (row, _), text in sorted(marks.comments.items()):
        where = f"row {reading.sheet_rows.words([row])}"
        verdict = judge(text, layout.taxa, layout.harmless, layout.against)
        if plain(text) in layout.harmless or verdict == GOOD:
            put(Item("comment", where, text, HARMLESS, "a word that is known to be good"))
        elif row in samples and verdict == AGAINST:
            put(Item("comment", where, text, HELD, "it casts doubt on the value, which waits for a decision"))
        else:
            choices = answers_about(text) if row in samples else (("harmless", "", text),)
            question = Question(
                f"a comment in {where} says {text[:80]!r}: does it cast doubt on the value?",
                choices,
            )
            put(Item("comment", where, text, ASKED, "not a known word"), question)


def _ruled(reading: Reading, marks: SheetMarks) -> dict[str, set[int]]:
    """The samples that a rule of the sheet may colour, by its condition."""
    samples, found = frozenset(reading.data_rows), dict[str, set[int]]()
    for top, _, bottom, _, text in marks.rules:
        rows = samples & set(range(top, min(bottom, max(samples, default=0)) + 1))
        if rows:
            found.setdefault(text[:60], set()).update(rows)
    return found


def _merged_samples(reading: Reading, marks: SheetMarks) -> list[int]:
    """The samples over which a cell of a result is merged."""
    results = {column.number for column in reading.columns if column.role not in ("", "vial", "failure")}
    samples = frozenset(reading.data_rows)
    rows: set[int] = set()
    for top, left, bottom, right in marks.merged:
        its = samples & set(range(top, bottom + 1))
        if len(its) > 1 and results & set(range(left, right + 1)):
            rows |= its
    return sorted(rows)


def _decoration(marked: set[int], data_rows: Sequence[int]) -> bool:
    """Whether a colour is on every sample, or on every second one."""
    on = [row in marked for row in data_rows]
    if all(on):
        return True
    return len(on) >= 4 and all(a != b for a, b in pairwise(on))


def account_of_sheets(layout: Layout, marks: SheetMarks, put: Any) -> None:
    for name, hidden, lines in marks.other_sheets:
        key = f"sheet {name}"
        if plain(key) in layout.harmless:
            put(
                Item("sheet", name, "", HARMLESS, "a person or the lab's layout says that it changes nothing")
            )
            continue
        sums = re.search(
            r"\b(summary|summaries|totals?|means|averages|statistics|stats|overview)\b", plain(name)
        )
        judged = [(line, *(judge_in_summary(line, layout.taxa) if sums else judge_line(line, layout.taxa, below=False)))
                  for line in lines]  # fmt: skip
        telling = [(line, why) for line, verdict, why in judged
                   if verdict == ASKED and plain(line) not in layout.harmless]  # fmt: skip
        if not hidden and not telling:
            put(Item("sheet", name, "", HARMLESS, "its words are those of a letterhead"))
            continue
        said = f"; it says {telling[0][0][:70]!r} ({telling[0][1]})" if telling else ""
        state = "hidden" if hidden else "not read"
        text = f"sheet {name} is {state}{said}: does it change what the values mean?"
        put(Item("sheet", name, telling[0][0] if telling else "", ASKED, "it is not read"),
            Question(text, (("harmless", "", key),)))  # fmt: skip


def rows_against(reading: Reading, marks: SheetMarks) -> dict[int, list[str]]:
    """Return, by row, the marks and comments that cast doubt on its value, in words."""
    layout, samples = reading.layout, frozenset(reading.data_rows)
    out: dict[int, list[str]] = {}
    used = {column.number for column in reading.columns if column.role}
    if plain("hidden rows") in layout.against:
        for row in marks.hidden_rows & samples:
            out.setdefault(row, []).append("the row is hidden in the sheet")
    for text, its_rows in _ruled(reading, marks).items():
        if plain(f"rule {text}") in layout.against:
            for row in its_rows:
                out.setdefault(row, []).append(f"it may be coloured, where {text}")
    if plain("merged cells") in layout.against:
        for row in _merged_samples(reading, marks):
            out.setdefault(row, []).append("its value is merged with that of another sample")
    for (row, column), colour in marks.colours.items():
        text = f"it has the colour {colour}"
        if (
            row in samples
            and column in used
            and plain(f"colour {colour}") in layout.against
            and text not in out.get(row, [])
        ):
            out.setdefault(row, []).append(text)
    for (row, _), text in marks.comments.items():
        if row in samples and judge(text, layout.taxa, layout.harmless, layout.against) == AGAINST:
            out.setdefault(row, []).append(f"a comment says {text[:80]!r}")
    return out
