"""The account of a lab's file: each column, line, word, mark, comment, hidden row and sheet, and what became of it.

Everything is used, known to be harmless, held (its values wait for a decision one by one) or asked about; while
something is asked about, nothing is stored.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

from geneticlog.rules.lab_return.account.account_of_marks import account_of_marks, account_of_sheets
from geneticlog.rules.lab_return.account.one_assay import account_of_assays
from geneticlog.rules.lab_return.cells.percent_or_fraction import FRACTION, PERCENT
from geneticlog.rules.lab_return.columns.whose_share import names_other_shares, tells_the_taxon
from geneticlog.rules.lab_return.doubts_of_files.sums_in_words import sum_in_words
from geneticlog.rules.lab_return.sheet.account_items import (
    ASKED,
    HARMLESS,
    HELD,
    USED,
    Account,
    Item,
    SheetMarks,
    answers_about,
    beside_shares,
    has_value,
    put_answered,
    rows_in_words,
)
from geneticlog.rules.lab_return.sheet.lines import (
    HEADING_AGAIN,
    NOT_OF_A_LETTERHEAD,
    condemns,
    judge_line,
    other_unit_said,
    says_the_other,
)
from geneticlog.rules.lab_return.sheet.reading import Column, Question, Reading, Row
from geneticlog.rules.lab_return.sheet.unknown_lines import ABOVE, BELOW, answered, ask
from geneticlog.rules.lab_return.sheet.words_beside import AGAINST, GOOD, judge, says_what_it_is
from geneticlog.rules.lab_return.words.headings import plain, taxa_named
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.lab_return.words.roles import ROLES, ColumnRole
from geneticlog.rules.result.result_states import Verdict

MOST_WORDS = 6  # distinct unknown words of a column that are asked about one by one; more are one question
LEAST_ACCEPTED = 0.6  # of the rows with a value: a blank among so many words of acceptance says something
_ACCEPTS = re.compile(
    r"\b(accept\w*|approved?|includ\w*|use|usable|keep|pass\w*|valid\w*|confirmed|ok|okay|verified)\b"
)


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
    _lines(reading, rows, put)
    _words(reading, rows, put)
    account_of_assays(reading, rows, put)
    account_of_marks(reading, rows, marks, put)
    account_of_sheets(reading, rows, marks, put)
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
        to_ask = asked.pop(where, [])
        verdict = ASKED if to_ask else column.standing
        text = "; ".join(question.text for question in to_ask) or why
        put(Item("column", where, column.heading, verdict, text, "; ".join(q.options for q in to_ask)))
    for questions in asked.values():
        for question in questions:
            put(Item("column", "columns", "", ASKED, question.text, question.options))


def _lines(reading: Reading, rows: Sequence[Row], put: Any) -> None:
    layout, q = reading.layout, reading.column(ColumnRole.Q)
    unknown: dict[str, list[tuple[int, str, str]]] = {ABOVE: [], BELOW: []}
    signed = _signature(reading)
    for row, text in reading.other_rows:
        where = f"row {reading.sheet_rows.words([row])}"
        below = bool(reading.data_rows) and row > reading.data_rows[0]
        if q and (unit := other_unit_said(text, q.unit)) and ColumnRole.Q not in layout.units:
            asks = f"{where} says {text[:90]!r}, and column {q.named} is read as {q.unit} ({q.evidence}): is it {unit}?"
            put(Item("line", where, text, USED, f"it says {unit}"), Question(asks, _UNITS))
        if below and row < reading.data_rows[-1] and names_other_shares(text, layout):
            _between(row_in_words=where, text=text, layout=layout, put=put)
            continue
        if settled := _answered(text, layout):
            put(Item("line", where, text, *settled))
            continue
        # the head of a printed page, above the heading that comes again, has names in it
        of_page = (row + 1, HEADING_AGAIN) in reading.other_rows or row in signed
        verdict, why = judge_line(text, layout.taxa, below=below and not of_page, unit=q.unit if q else "")
        if tells_the_taxon(text, reading.columns, layout):
            verdict, why = USED, f"it says whose alleles q counts: {layout.taxa.taxon}"
        elif verdict == ASKED and layout.taxon_of_q == layout.taxa.other_taxon and _names_other(text, layout):
            verdict, why = USED, f"it says whose alleles q counts, as a person does: {layout.taxon_of_q}"
        question = None
        if verdict == ASKED and _summed_up(reading, rows, where, text, put):
            continue
        if verdict == ASKED and why.endswith(NOT_OF_A_LETTERHEAD):
            key = BELOW if below else ABOVE
            if item := answered(layout, key, where, text):
                put(item)
            else:
                unknown[key].append((row, text, why))
            continue
        if verdict == ASKED:
            question = Question(
                f"{where} says {text[:90]!r} ({why}): does it change what the values mean?",
                _answers_to_line(text, reading),
            )
        put(Item("line", where, text, verdict, why), question)
    for key, lines in unknown.items():
        ask(reading, lines, key, put)


def _answered(text: str, layout: Layout) -> tuple[Verdict, str] | None:
    """What a person says of a line; None where nobody did."""
    if layout.changes_nothing(text):
        return HARMLESS, "a person or the lab's layout says that it changes nothing"
    if layout.casts_doubt(text):
        return HELD, "a person says that it changes the values, which wait for a decision"
    return None


def _summed_up(reading: Reading, rows: Sequence[Row], where: str, text: str, put: Any) -> bool:
    """Settle a line that only sums the values up: by the values, which are what it says or are not."""
    so = sum_in_words(reading, rows, text)
    if so is None:
        return False
    if so[0]:
        put(Item("line", where, text, HARMLESS, "it says what the values come to"))
        return True
    asks = f"{where} says {text[:90]!r}, which {so[1]}: does it change what the values mean?"
    put(Item("line", where, text, ASKED, so[1]), Question(asks, answers_about(text, hold_first=True)))
    return True


def _answers_to_line(text: str, reading: Reading) -> tuple[tuple[str, str, str], ...]:
    """The answers about a line, the likeliest first: that q counts the other taxon, where it says no more than that."""
    turned, answers = _other_taxon(text, reading), answers_about(text, hold_first=condemns(text))
    return (*turned, *answers[::-1]) if says_the_other(text, reading.layout.taxa) else (*answers, *turned)


def _signature(reading: Reading) -> set[int]:
    """The rows of the names below the greeting that ends a letter."""
    last = max(reading.data_rows, default=0)
    ends = [row for row, text in reading.other_rows if row > last and _GREETING.fullmatch(text.strip(" ,.!"))]
    return {row for row, _ in reading.other_rows if ends and ends[0] < row <= ends[0] + MOST_SIGNED}


_GREETING = re.compile(
    r"((with )?(kind|best|warm)(est)? )?(regards|wishes)|best|sincerely( yours)?|yours( sincerely| faithfully)?|cheers"
    r"|thanks|thank you|many thanks",
    re.IGNORECASE,
)
MOST_SIGNED = 5  # lines of a signature


def _other_taxon(text: str, reading: Reading) -> tuple[tuple[str, str, str], ...]:
    """The answer that q counts the other taxon's alleles, where a line names that one and the taxon is not settled."""
    layout = reading.layout
    asked = _names_other(text, layout) and not layout.taxon_of_q and not reading.column(ColumnRole.MARKER)
    return (("taxon", "", layout.taxa.other_taxon),) if asked else ()


def _names_other(text: str, layout: Layout) -> bool:
    """Whether a line names the taxon whose alleles q does not count."""
    return taxa_named(plain(text), layout.taxa)[1]


def _between(row_in_words: str, text: str, layout: Layout, put: Any) -> None:
    """A title between the samples that names other shares than those above it: nobody can call that harmless."""
    if layout.casts_doubt(text):
        why = "a person says that it changes the values, which wait for a decision"
        put(Item("line", row_in_words, text, HELD, why))
        return
    asks = (
        f"{row_in_words} says {text[:90]!r} between the samples, so another table may begin there: give each table a"
        " file of its own, or hold the values of both"
    )
    put(
        Item("line", row_in_words, text, ASKED, "another table may begin"),
        Question(asks, (("hold", "", text),)),
    )


_UNITS = (("unit", ColumnRole.Q, PERCENT), ("unit", ColumnRole.Q, FRACTION))


def _words(reading: Reading, rows: Sequence[Row], put: Any) -> None:
    """Each distinct word beside a value: good, held, or asked about once for the file."""
    layout = reading.layout
    for column in reading.columns:
        speaks = column.role in (ColumnRole.FAILURE, ColumnRole.LAB_CLASS) or (
            not column.role and says_what_it_is(column.heading)
        )
        if not speaks or column.standing == ASKED:
            continue
        of_word = beside_shares(reading, rows, column)
        where = f"column {column.letter}"
        unknown = []
        for text, row_numbers in of_word.items():
            verdict = judge(
                text, layout.taxa, layout.harmless, layout.against, is_class=column.role != ColumnRole.FAILURE,
                heading=column.heading,
            )  # fmt: skip
            at = f"{where}, {rows_in_words(reading, row_numbers)}"
            if settled := _settled(text, verdict, column, reading):
                put(Item("word", at, text, *settled))
            else:
                unknown.append((text, at))
        _blanks(reading, rows, column, of_word, put)
        for text, at in unknown[:MOST_WORDS]:
            question = Question(
                f"column {column.heading or column.letter} says {text[:60]!r}: does it cast doubt on the value?",
                (("harmless", "", _key_of(text, column, reading)), ("hold", "", text)),
            )
            put(Item("word", at, text, ASKED, "not a known word"), question)
        if len(unknown) > MOST_WORDS:
            more = "; ".join(text for text, _ in unknown[MOST_WORDS:])
            question = Question(
                f"column {column.heading or column.letter} says {len(unknown) - MOST_WORDS} more things beside values"
                f" ({more[:80]}): read them; do those of the column as a whole cast doubt on the value?",
                answers_about(column.heading or f"column {column.letter}"),
            )
            put(Item("word", where, more[:500], ASKED, "no known words"), question)


def _settled(text: str, verdict: str, column: Column, reading: Reading) -> tuple[Verdict, str] | None:
    """What is known of a word beside a value, by the word or by what a person says, and why; None where nothing is."""
    layout = reading.layout
    if verdict == GOOD:
        return HARMLESS, "a word that is known to be good"
    if verdict == AGAINST:
        return HELD, "it casts doubt on the value, which waits for a decision"
    if layout.changes_nothing(_key_of(text, column, reading)):
        return HARMLESS, "a person or the lab's layout says that it changes nothing"
    if layout.changes_nothing(column.heading):
        return HARMLESS, "the words of this column change nothing, a person says"
    if layout.casts_doubt(column.heading):
        return HELD, "the words of this column cast doubt on the value, a person says"
    return None


def _key_of(text: str, column: Column, reading: Reading) -> str:
    """How an answer calls a word that is harmless; one that is a heading, too, is told from that column."""
    is_heading = plain(text) in {plain(one.heading) for one in reading.columns}
    return f"{text} in {column.named}" if is_heading else text


def _blanks(
    reading: Reading, rows: Sequence[Row], column: Column, of_word: dict[str, list[int]], put: Any
) -> None:
    """Ask about the rows without a word in a column that accepts most of the others."""
    q, layout = reading.column(ColumnRole.Q), reading.layout
    if not _ACCEPTS.search(plain(column.heading)) or q is None:
        return
    said = {row for numbers in of_word.values() for row in numbers}
    blank = [n for n in reading.data_rows if n not in said and has_value(rows[n - 1], q.number)]
    if blank and len(said) >= LEAST_ACCEPTED * (len(said) + len(blank)):
        where, key = f"column {column.letter}, {rows_in_words(reading, blank)}", f"blank in {column.heading}"
        asks = f"column {column.heading} is blank in {rows_in_words(reading, blank)}: does it cast doubt on the value?"
        put_answered(put, layout, key, where, key, asks, hold_first=True)
