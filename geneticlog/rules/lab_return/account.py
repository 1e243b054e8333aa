"""The account of a lab's file: each column, line, word, mark, comment, hidden row and sheet, and what became of it.

Everything is used, known to be harmless, held (its values wait for a decision one by one) or asked about; while
something is asked about, nothing is stored.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field
from itertools import pairwise
from typing import Any

from geneticlog.rules.lab_return.headings import ROLES, plain
from geneticlog.rules.lab_return.layout import Layout
from geneticlog.rules.lab_return.lines import judge_in_summary, judge_line
from geneticlog.rules.lab_return.reading import Column, Question, Reading, Row
from geneticlog.rules.lab_return.result_states import Verdict
from geneticlog.rules.lab_return.whose_share import tells_the_taxon
from geneticlog.rules.lab_return.words_beside import AGAINST, GOOD, judge, says_what_it_is

USED, HARMLESS, HELD, ASKED = Verdict.USED, Verdict.HARMLESS, Verdict.HELD, Verdict.ASKED
MOST_WORDS = 6  # distinct unknown words of a column that are asked about one by one; more are one question
LEAST_ACCEPTED = 0.6  # of the rows with a value: a blank among so many words of acceptance says something
_ACCEPTS = re.compile(
    r"\b(accept\w*|approved?|includ\w*|use|usable|keep|pass\w*|valid\w*|confirmed|ok|okay|verified)\b"
)


@dataclass(frozen=True)
class Item:
    """One thing that the file holds: what kind, where, its text, what became of it and why.

    ``answers`` are the options that settle it while it is asked about.
    """

    what: str  # column, line, word, mark, comment, hidden rows, hidden sheet, sheet, numbers
    where: str
    text: str
    verdict: Verdict
    why: str
    answers: str = ""


@dataclass(frozen=True)
class Account:
    """Everything the file holds; plain values only, so that it can be kept, sent and shown again."""

    items: tuple[Item, ...]

    @property
    def open(self) -> tuple[Item, ...]:
        return tuple(item for item in self.items if item.verdict == ASKED)

    def count(self, verdict: Verdict) -> int:
        return sum(item.verdict == verdict for item in self.items)

    def as_plain(self) -> list[dict[str, Any]]:
        return [asdict(item) for item in self.items]


def account_from(plain_items: Sequence[Mapping[str, Any]]) -> Account:
    """Return the account that ``as_plain`` wrote."""
    return Account(tuple(Item(**item) for item in plain_items))


@dataclass(frozen=True)
class SheetMarks:
    """What a sheet shows beside its values, by (row, column) from 1, and the other sheets of the file.

    ``colours``: the colour of a cell or its text; ``formulas``: cells whose formula was never calculated.
    """

    struck: frozenset[tuple[int, int]] = frozenset()
    hidden_rows: frozenset[int] = frozenset()
    hidden_columns: frozenset[int] = frozenset()
    colours: Mapping[tuple[int, int], str] = field(default_factory=dict)
    comments: Mapping[tuple[int, int], str] = field(default_factory=dict)
    merged: tuple[tuple[int, int, int, int], ...] = ()  # first row and column, last row and column
    rules: tuple[tuple[int, int, int, int, str], ...] = ()  # ranges coloured where a condition holds
    other_sheets: tuple[tuple[str, bool, tuple[str, ...]], ...] = ()  # name, hidden, its lines


def account_of(reading: Reading, rows: Sequence[Row], marks: SheetMarks) -> tuple[Account, list[Question]]:
    """Return the account of a sheet as it is read, and the questions that are open beside those of the reading."""
    items: list[Item] = []
    questions: list[Question] = []

    def put(item: Item, question: Question | None = None) -> None:
        if question is not None:
            questions.append(question)
            item = Item(item.what, item.where, item.text, ASKED, item.why, question.options)
        items.append(item)

    _columns(reading, put)
    _lines(reading, put)
    _words(reading, rows, put)
    _marks(reading, rows, marks, put)
    _sheets(reading.layout, marks, put)
    return Account(tuple(items)), questions


def _columns(reading: Reading, put: Any) -> None:
    asked: dict[str, list[Question]] = {}
    for question in reading.questions:
        asked.setdefault(question.key, []).append(question)
    taxa = reading.layout.taxa
    for column in reading.columns:
        meaning = ROLES[column.role].format(taxon=taxa.taxon, other_taxon=taxa.other_taxon)
        why = ": ".join(text for text in (meaning, column.why) if text)
        if column.unit:
            why += f"; in {column.unit}, {column.evidence}"
        where = f"column {column.letter}"
        told = asked.pop(where, [])
        verdict = ASKED if told else USED if column.role else HARMLESS
        text = "; ".join(question.text for question in told) or why
        put(Item("column", where, column.heading, verdict, text, "; ".join(q.options for q in told)))
    for questions in asked.values():
        for question in questions:
            put(Item("column", "columns", "", ASKED, question.text, question.options))


def _answers(key: str) -> tuple[tuple[str, str, str], ...]:
    return (("harmless", "", key), ("hold", "", key))


def _lines(reading: Reading, put: Any) -> None:
    layout, q = reading.layout, reading.column("q")
    for row, text in reading.other_rows:
        where = f"row {reading.sheet_rows.words([row])}"
        if plain(text) in layout.harmless:
            put(
                Item(
                    "line", where, text, HARMLESS, "a person or the lab's layout says that it changes nothing"
                )
            )
            continue
        below = bool(reading.data_rows) and row > reading.data_rows[0]
        verdict, why = judge_line(text, layout.taxa, below=below, unit=q.unit if q else "")
        if tells_the_taxon(text, reading.columns, layout):
            verdict, why = USED, f"it says whose alleles q counts: {layout.taxa.taxon}"
        question = None
        if verdict == ASKED:
            question = Question(
                f"{where} says {text[:90]!r} ({why}): does it change what the values mean?",
                (("harmless", "", text),),
            )
        put(Item("line", where, text, verdict, why), question)


def _words(reading: Reading, rows: Sequence[Row], put: Any) -> None:
    """Each distinct word beside a value: good, held, or asked about once for the file."""
    layout = reading.layout
    q = reading.column("q")
    for column in reading.columns:
        speaks = column.role in ("failure", "lab_class") or (
            not column.role and says_what_it_is(column.heading)
        )
        if not speaks or column.standing == ASKED:
            continue
        of_word: dict[str, list[int]] = {}
        for row_number in reading.data_rows:
            row = rows[row_number - 1]
            text = row[column.number - 1][0].strip() if len(row) >= column.number else ""
            if text and (q is None or _has_value(row, q.number)):
                of_word.setdefault(text, []).append(row_number)
        where = f"column {column.letter}"
        unknown = []
        for text, row_numbers in of_word.items():
            verdict = judge(
                text, layout.taxa, layout.harmless, layout.against, is_class=column.role != "failure",
                heading=column.heading,
            )  # fmt: skip
            at = f"{where}, {_rows(reading, row_numbers)}"
            if verdict == GOOD:
                put(Item("word", at, text, HARMLESS, "a word that is known to be good"))
            elif verdict == AGAINST:
                put(Item("word", at, text, HELD, "it casts doubt on the value, which waits for a decision"))
            elif plain(column.heading) in layout.harmless:
                put(
                    Item("word", at, text, HARMLESS, "the words of this column change nothing, a person says")
                )
            else:
                unknown.append((text, at))
        _blanks(reading, rows, column, of_word, put)
        for text, at in unknown[:MOST_WORDS]:
            question = Question(
                f"column {column.heading or column.letter} says {text[:60]!r}: does it cast doubt on the value?",
                _answers(text),
            )
            put(Item("word", at, text, ASKED, "not a known word"), question)
        if len(unknown) > MOST_WORDS:
            more = "; ".join(text for text, _ in unknown[MOST_WORDS:])
            question = Question(
                f"column {column.heading or column.letter} says {len(unknown) - MOST_WORDS} more things beside values"
                f" ({more[:80]}): read them; the column can be named harmless as a whole",
                (("harmless", "", column.heading or f"column {column.letter}"),),
            )
            put(Item("word", where, more[:500], ASKED, "no known words"), question)


def _blanks(
    reading: Reading, rows: Sequence[Row], column: Column, of_word: dict[str, list[int]], put: Any
) -> None:
    """Ask about the rows without a word in a column that accepts most of the others."""
    q, layout = reading.column("q"), reading.layout
    if not _ACCEPTS.search(plain(column.heading)) or q is None:
        return
    said = {row for numbers in of_word.values() for row in numbers}
    blank = [n for n in reading.data_rows if n not in said and _has_value(rows[n - 1], q.number)]
    if blank and len(said) >= LEAST_ACCEPTED * (len(said) + len(blank)):
        where, key = f"column {column.letter}, {_rows(reading, blank)}", f"blank in {column.heading}"
        _answered(put, layout, key, where, key, f"column {column.heading} is blank in {_rows(reading, blank)}: does it"
                  " cast doubt on the value?")  # fmt: skip


def _rows(reading: Reading, rows: Sequence[int]) -> str:
    """Rows for people, with the word that fits their number."""
    return f"row{'s' * (len(rows) > 1)} {reading.sheet_rows.words(rows)}"


def _has_value(row: Row, column: int) -> bool:
    return len(row) >= column and any(letter.isdigit() for letter in row[column - 1][0])


def _marks(reading: Reading, rows: Sequence[Row], marks: SheetMarks, put: Any) -> None:
    layout, samples = reading.layout, frozenset(reading.data_rows)
    used = {column.number for column in reading.columns if column.role}
    if struck := sorted({row for row, column in marks.struck if row in samples and column in used}):
        put(Item("mark", _rows(reading, struck), "struck through", HELD,
                 "the values wait for a decision"))  # fmt: skip
    others = sorted({row for row, _ in marks.struck if row not in samples})
    if others:
        put(Item("mark", _rows(reading, others), "struck through", HARMLESS, "no sample"))
    if merged := _merged_samples(reading, marks):
        where = _rows(reading, merged)
        _answered(put, layout, "merged cells", where, "merged cells",
                  f"a value is merged over several samples ({where}), and only the first of them has it: did the others"
                  " fail?")  # fmt: skip
    if hidden := sorted(marks.hidden_rows & samples):
        where = _rows(reading, hidden)
        _answered(put, layout, "hidden rows", where, "hidden rows",
                  f"samples are hidden ({where}): were they taken back, or only filtered?")  # fmt: skip
    by_colour: dict[str, set[int]] = {}
    for (row, column), colour in marks.colours.items():
        if row in samples and (column in used or not used):
            by_colour.setdefault(colour, set()).add(row)
    for colour, where_rows in by_colour.items():
        where = _rows(reading, sorted(where_rows))
        if _decoration(where_rows, reading.data_rows):
            put(Item("mark", where, f"colour {colour}", HARMLESS, "it follows the rows, not the values"))
            continue
        _answered(put, layout, f"colour {colour}", where, f"colour {colour}",
                  f"samples have the colour {colour} ({where}): does it cast doubt on them?")  # fmt: skip
    for text, where_rows in _ruled(reading, marks).items():
        where = _rows(reading, sorted(where_rows))
        _answered(put, layout, f"rule {text}", where, f"coloured where {text}",
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
            choices = _answers(text) if row in samples else (("harmless", "", text),)
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


def _answered(put: Any, layout: Layout, key: str, where: str, text: str, asks: str) -> None:
    if plain(key) in layout.harmless:
        put(Item("mark", where, text, HARMLESS, "a person or the lab's layout says that it changes nothing"))
    elif plain(key) in layout.against:
        put(Item("mark", where, text, HELD, "a person says that it casts doubt on the values"))
    else:
        put(Item("mark", where, text, ASKED, "nobody said what it means"), Question(asks, _answers(key)))


def _decoration(marked: set[int], data_rows: Sequence[int]) -> bool:
    """Whether a colour is on every sample, or on every second one."""
    on = [row in marked for row in data_rows]
    if all(on):
        return True
    return len(on) >= 4 and all(a != b for a, b in pairwise(on))


def _sheets(layout: Layout, marks: SheetMarks, put: Any) -> None:
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
