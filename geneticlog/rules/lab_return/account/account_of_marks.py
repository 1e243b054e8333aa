"""The marks of a workbook in the account of a file: struck, merged, hidden and coloured cells, comments, sheets."""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence
from functools import partial
from itertools import pairwise
from typing import Any

from geneticlog.rules.lab_return.account.account_of_formulas import account_of_formulas
from geneticlog.rules.lab_return.account.captions import account_of_captions, is_caption
from geneticlog.rules.lab_return.doubts_of_files.sums_in_words import sum_of_sheet
from geneticlog.rules.lab_return.sheet.account_items import (
    ASKED,
    HARMLESS,
    HELD,
    USED,
    Item,
    SheetMarks,
    answers_about,
    put_answered,
    rows_in_words,
)
from geneticlog.rules.lab_return.sheet.lines import condemns, judge_in_summary, judge_line, says_the_other
from geneticlog.rules.lab_return.sheet.reading import Question, Reading, Row, code_in, is_code
from geneticlog.rules.lab_return.sheet.words_beside import AGAINST, GOOD, judge, speaks_against
from geneticlog.rules.lab_return.words.headings import plain, taxa_named
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.lab_return.words.roles import ColumnRole

# words in a name that speak against what it holds: of a file, and further ones of a sheet
_OF_FILES = r"draft|prelim\w*|provisional|do not|dont|obsolete|outdated|supersed\w*|withdrawn"
_OF_SHEETS = (
    r"not|old|older|reject\w*|fail\w*|wrong|exclu\w*|discard\w*|invalid|bad|contaminat\w*|errors?|unchecked"
)
_AGAINST = {
    "file": re.compile(rf"\b({_OF_FILES})\b"),
    "sheet": re.compile(rf"\b({_OF_FILES}|{_OF_SHEETS})\b"),
}


_OF_SHARES = re.compile(r"\b(shares?|alleles?|fractions?|percent\w*|proportions?|ancestry|q)\b")
SHOWS = "a format that shows "  # what store/cell_styles.py calls one
HIDDEN = "the row is hidden in the sheet"  # why its value waits, where a person says that it is in doubt


EARLIER = "hidden earlier rows"  # by which a person says that they are to be left out


def shown_again(reading: Reading, rows: Sequence[Row], hidden: Collection[int]) -> bool:
    """Whether the vial of each hidden row is in a shown row, too, as where a filter leaves the last run."""
    vial = reading.column(ColumnRole.VIAL)
    if vial is None:
        return False
    codes: dict[bool, set[str]] = {True: set(), False: set()}
    for n in reading.data_rows:
        codes[n in hidden].add(code_in(vial.text_in(rows[n - 1])))
    return bool(codes[True]) and "" not in codes[True] and codes[True] <= codes[False]


def _of_earlier_rows(layout: Layout, where: str, put: Any) -> None:
    """Ask what hidden rows are whose vials are shown in other rows."""
    if layout.changes_nothing(EARLIER):
        why = "a person says that they are an earlier run, and the shown rows of the same vials are read"
        put(Item("mark", where, EARLIER, HARMLESS, why))
    elif layout.casts_doubt("hidden rows"):
        put(Item("mark", where, "hidden rows", HELD, "a person says that it casts doubt on the values"))
    else:
        asks = (
            f"samples are hidden ({where}), and the vial of each is in a shown row too: are the hidden ones an earlier"
            " run, to be left out? (Otherwise both count, and wait where they differ)"
        )
        choices = (("harmless", "", EARLIER), ("harmless", "", "hidden rows"))
        put(Item("mark", where, "hidden rows", ASKED, "nobody said what it means"), Question(asks, choices))


def account_of_marks(reading: Reading, rows: Sequence[Row], marks: SheetMarks, put: Any) -> None:
    layout, samples = reading.layout, frozenset(reading.data_rows)
    if struck := sorted({row for row, _ in marks.struck if row in samples}):
        put(Item("mark", rows_in_words(reading, struck), "struck through", HELD,
                 "the values wait for a decision"))  # fmt: skip
    others = sorted({row for row, _ in marks.struck if row not in samples})
    if others:
        put(Item("mark", rows_in_words(reading, others), "struck through", HARMLESS, "no sample"))
    if merged := merged_samples(reading, marks.merged):
        where = rows_in_words(reading, merged)
        put_answered(put, layout, "merged cells", where, "merged cells",
                  f"a value is merged over several samples ({where}), and only the first of them has it: did the others"
                  " fail?")  # fmt: skip
    if merged := merged_samples(reading, marks.merged, of_codes=True):
        put(Item("mark", rows_in_words(reading, merged), "merged codes", USED,
                 "a code merged over several rows is that of each of them"))  # fmt: skip
    if hidden := sorted(marks.hidden_rows & samples):
        where = rows_in_words(reading, hidden)
        if shown_again(reading, rows, marks.hidden_rows) and not layout.changes_nothing("hidden rows"):
            _of_earlier_rows(layout, where, put)
        else:
            put_answered(put, layout, "hidden rows", where, "hidden rows",
                  f"samples are hidden ({where}): were they taken back, or only filtered?")  # fmt: skip
    by_colour: dict[str, set[int]] = {}
    for (row, _), colour in marks.colours.items():
        if row in samples:
            by_colour.setdefault(colour, set()).add(row)
    for colour, where_rows in by_colour.items():
        where = rows_in_words(reading, sorted(where_rows))
        if _decoration(where_rows, reading.data_rows):
            put(Item("mark", where, f"colour {colour}", HARMLESS, "it follows the rows, not the values"))
            continue
        put_answered(put, layout, key_of_colour(colour), where, key_of_colour(colour),
                  f"samples have {_colour_in_words(colour)} ({where}): does it cast doubt on them?")  # fmt: skip
    for text, where_rows in _ruled(reading, marks).items():
        where = rows_in_words(reading, sorted(where_rows))
        put_answered(put, layout, f"rule {text}", where, f"coloured where {text}",
                  f"samples are coloured where {text} ({where}): does the colour cast doubt on them?")  # fmt: skip
    _comments(reading, marks, put)
    _notes(layout, marks, put)
    account_of_captions(reading, marks, put)
    account_of_formulas(reading, rows, marks, put)
    _names(layout, marks, put)


def _notes(layout: Layout, marks: SheetMarks, put: Any) -> None:
    if marks.is_protected:
        put(Item("mark", "the sheet", "protected", HARMLESS, "it keeps cells from being changed"))
    for where, text in marks.notes:
        if is_caption(where):
            continue
        verdict, why = judge_line(text, layout.taxa, below=False)
        question = None
        if layout.changes_nothing(text):
            verdict, why = HARMLESS, "a person or the lab's layout says that it changes nothing"
        elif layout.casts_doubt(text):
            verdict, why = HELD, "a person says that it changes the values, which wait for a decision"
        elif verdict == ASKED:
            said = f"{where} says {text[:90]!r} ({why}): does it change what the values mean?"
            question = Question(said, answers_about(text, hold_first=condemns(text)))
        put(Item("line", where, text, verdict, why), question)


def _names(layout: Layout, marks: SheetMarks, put: Any) -> None:
    """Ask about a file or a sheet whose name casts doubt on what it holds; a sheet that a person chose is meant."""
    chosen = {plain(name) for name in (*layout.sheets, layout.sheet or "")}
    doubted = {name for what, name in marks.names if name_casts_doubt(what, name, layout)}
    plain_ones = [name for what, name in marks.names if what == "sheet" and name not in doubted]
    for what, name in marks.names:
        key = f"{what} {name}"
        if name not in doubted or (what == "sheet" and plain(name) in chosen):
            continue
        asks = f"the {what} is named {name!r}: does it change what the values mean?"
        if layout.changes_nothing(key):
            why = "a person or the lab's layout says that it changes nothing"
            put(Item("name", what, name, HARMLESS, why))
        elif layout.casts_doubt(key):
            put(Item("name", what, name, HELD, "a person says that it casts doubt on the values"))
        else:
            other = plain_ones if what == "sheet" and len(plain_ones) == 1 else []
            choices = (*(("sheet", "", sheet) for sheet in other), *answers_about(key, hold_first=True))
            put(Item("name", what, name, ASKED, "its name may cast doubt"), Question(asks, choices))


def name_casts_doubt(what: str, name: str, layout: Layout) -> bool:
    """Return whether the name of a file or a sheet speaks against what it holds; by the other taxon too, which in the
    name of a file has to be beside a word of shares, as it may be that of a water.
    """
    words = plain(name)
    first, other = taxa_named(words, layout.taxa)
    of_other = other and not first and (what == "sheet" or _OF_SHARES.search(words) is not None)
    return _AGAINST[what].search(words) is not None or of_other


def key_of_colour(colour: str) -> str:
    """Return how answers name a colour, or a number format that shows a word."""
    return f"format {colour.removeprefix(SHOWS)}" if colour.startswith(SHOWS) else f"colour {colour}"


def _colour_in_words(colour: str) -> str:
    return colour if " " in colour and not colour.startswith(("theme", "indexed")) else f"the colour {colour}"


def _comments(reading: Reading, marks: SheetMarks, put: Any) -> None:
    layout, samples = reading.layout, frozenset(reading.data_rows)
    for (row, _), text in sorted(marks.comments.items()):
        where = f"row {reading.sheet_rows.words([row])}"
        verdict = judge(text, layout.taxa, layout.harmless, layout.against)
        if layout.changes_nothing(text) or verdict == GOOD:
            put(Item("comment", where, text, HARMLESS, "a word that is known to be good"))
        elif layout.casts_doubt(text) or (row in samples and verdict == AGAINST):
            put(Item("comment", where, text, HELD, "it casts doubt on the value, which waits for a decision"))
        else:
            question = Question(
                f"a comment in {where} says {text[:80]!r}: does it cast doubt on the value?",
                answers_about(text, hold_first=condemns(text) or says_the_other(text, layout.taxa)),
            )
            put(Item("comment", where, text, ASKED, "not a known word"), question)


def _ruled(reading: Reading, marks: SheetMarks) -> dict[str, set[int]]:
    """The samples that a rule of the sheet may colour, by its condition."""
    samples, marked = frozenset(reading.data_rows), dict[str, set[int]]()
    for top, _, bottom, _, text in marks.rules:
        rows = samples & set(range(top, min(bottom, max(samples, default=0)) + 1))
        if rows:
            marked.setdefault(text[:60], set()).update(rows)
    return marked


def merged_samples(
    reading: Reading, merged: Sequence[tuple[int, int, int, int]], *, of_codes: bool = False
) -> list[int]:
    """The samples over which a cell of a result is merged, or that of a vial's code."""
    results = {
        column.number
        for column in reading.columns
        if (
            column.role == ColumnRole.VIAL
            if of_codes
            else column.role not in (ColumnRole.NOT_USED, ColumnRole.VIAL, ColumnRole.FAILURE)
        )
    }
    samples = frozenset(reading.data_rows)
    rows: set[int] = set()
    for top, left, bottom, right in merged:
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


def account_of_sheets(reading: Reading, rows: Sequence[Row], marks: SheetMarks, put: Any) -> None:
    layout, q = reading.layout, reading.column(ColumnRole.Q)
    unit = q.unit if q else ""
    for name, hidden, lines in marks.other_sheets:
        key = f"sheet {name}"
        if _against_the_sums(name, sum_of_sheet(reading, rows, lines), layout, put):
            continue
        if layout.changes_nothing(key):
            why = "a person or the lab's layout says that it changes nothing"
            put(Item("sheet", name, "", HARMLESS, why))
            _against_all_the_same(name, lines, layout, put)
            continue
        if layout.casts_doubt(key):
            why = "a person says that it changes the values, which wait for a decision"
            put(Item("sheet", name, "", HELD, why))
            continue
        sums = re.search(
            r"\b(summary|summaries|pivot\w*|totals?|means|averages|statistics|stats|overview)\b", plain(name)
        )
        judge_it = judge_in_summary if sums else partial(judge_line, below=False, unit=unit)
        judged = [(line, *judge_it(line, layout.taxa)) for line in lines]
        telling = [
            (line, why) for line, verdict, why in judged if verdict == ASKED and not _answered(line, layout)
        ]
        if not hidden and not telling:
            put(Item("sheet", name, "", HARMLESS, "its words are those of a letterhead, or are answered"))
            continue
        telling.sort(key=lambda line: not speaks_against(line[0]))
        said_there = f"; it says {_listed(telling)}" if telling else ""
        state = "hidden" if hidden else "not read"
        text = f"sheet {name} is {state}{said_there}: does it change what the values mean?"
        against = bool(telling) and condemns(telling[0][0]) and not _names_vial(telling[0][0])
        put(Item("sheet", name, telling[0][0] if telling else "", ASKED, "it is not read"),
            Question(text, answers_about(key, hold_first=against)))  # fmt: skip


def _against_the_sums(name: str, against: tuple[str, str], layout: Layout, put: Any) -> bool:
    """Ask about a sheet that sums the values up otherwise than they are, whatever is known of the sheet itself."""
    line, words = against
    if not line or _answered(line, layout):
        return False
    asks = f"sheet {name} says {line[:90]!r}, which {words}: does it change what the values mean?"
    put(Item("sheet", name, line, ASKED, words), Question(asks, answers_about(line, hold_first=True)))
    return True


def _answered(line: str, layout: Layout) -> bool:
    return layout.changes_nothing(line) or layout.casts_doubt(line)


def _against_all_the_same(name: str, lines: Sequence[str], layout: Layout, put: Any) -> None:
    """Ask about lines that take values back though their sheet is called harmless: in another file it said others.

    Those that name a vial are lists of samples, which the answer was about.
    """
    strong = [line for line in lines if speaks_against(line) and not _answered(line, layout)]
    for line in [line for line in strong if not _names_vial(line)][:MOST_LINES]:
        asks = f"sheet {name} says {line[:90]!r}: does it change what the values mean?"
        put(Item("sheet", name, line, ASKED, "it may take values back"), Question(asks, answers_about(line)))


def _names_vial(line: str) -> bool:
    return any(map(is_code, re.split(r"[\s|,;:]+", line)))


MOST_LINES = 5  # of a sheet, that a question about it shows


def _listed(telling: Sequence[tuple[str, str]]) -> str:
    """The lines of a sheet that a question is about, those against values first."""
    shown = "; ".join(f"{line[:90]!r}" for line, _ in telling[:MOST_LINES])
    more = f" and {len(telling) - MOST_LINES} lines more" if len(telling) > MOST_LINES else ""
    return f"{shown}{more}" if len(telling) > 1 else f"{shown} ({telling[0][1]})"


def rows_against(reading: Reading, marks: SheetMarks) -> dict[int, list[str]]:
    """Return, by row, the marks and comments that cast doubt on its value, in words."""
    layout, samples = reading.layout, frozenset(reading.data_rows)
    out: dict[int, list[str]] = {}
    if layout.casts_doubt("hidden rows"):
        for row in marks.hidden_rows & samples:
            out.setdefault(row, []).append(HIDDEN)
    for text, its_rows in _ruled(reading, marks).items():
        if layout.casts_doubt(f"rule {text}"):
            for row in its_rows:
                out.setdefault(row, []).append(f"it may be coloured, where {text}")
    if layout.casts_doubt("merged cells"):
        for row in merged_samples(reading, marks.merged):
            out.setdefault(row, []).append("its value is merged with that of another sample")
    for (row, _), colour in marks.colours.items():
        text = f"it has {_colour_in_words(colour)}"
        if row in samples and layout.casts_doubt(key_of_colour(colour)) and text not in out.get(row, []):
            out.setdefault(row, []).append(text)
    for (row, _), text in marks.comments.items():
        if row in samples and judge(text, layout.taxa, layout.harmless, layout.against) == AGAINST:
            out.setdefault(row, []).append(f"a comment says {text[:80]!r}")
    return out
