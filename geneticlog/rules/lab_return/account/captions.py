"""What a workbook says of the values from outside their cells: in charts, names of ranges, input messages, and the
properties of the document. Such a text that means another thing than the table is asked about.
"""

from __future__ import annotations

import re
from typing import Any

from geneticlog.rules.lab_return.sheet.account_items import (
    ASKED,
    HARMLESS,
    HELD,
    USED,
    Item,
    SheetMarks,
    answers_about,
)
from geneticlog.rules.lab_return.sheet.lines import (
    NOT_OF_A_LETTERHEAD,
    condemns,
    judge_in_summary,
    other_unit_said,
    says_the_other,
)
from geneticlog.rules.lab_return.sheet.reading import Column, Question, Reading
from geneticlog.rules.lab_return.words.headings import plain, taxa_named
from geneticlog.rules.lab_return.words.layout import Layout, column_letter
from geneticlog.rules.lab_return.words.roles import ColumnRole

CHARTS, MESSAGES, NAMES, PROPERTIES = (
    "a chart",
    "the input message",
    "the name",
    "the document's",
)  # as store/ says it
_AGAINST = re.compile(  # common practice, no source
    r"\b(raw|uncorrected|unadjusted|unfiltered|unscaled|smoothed|simulat\w*|dummy|fake|mock|expected|predicted"
    r"|before|previous|draft|prelim\w*|provisional|obsolete|outdated|supersed\w*|withdrawn|do not|not for|test data"
    r"|invalid|wrong|uncalibrated|superseded)\b"
)
_OF_CHARTS = (
    r"charts?|figure|fig|plots?|bars?|distribution|histogram|frequency|per|each|by|vs|versus|against|axis|index|class"
    r"|classes|size|length|weight|bin|bins|ratio|code|label|vial|vials|number|and|admixture|proportion|value|values|estimate"
)
_OF_MESSAGES = (
    r"enter|type|choose|select|pick|number|whole|decimal|between|from|drop|down|list|valid|allowed|must|please|only"
    r"|cell|here|be|an?|value|values|error|invalid|entry|input|0|1|100|use|one|greater|less|than|equal"
)


def account_of_captions(reading: Reading, marks: SheetMarks, put: Any) -> None:
    """Put to the account what is said outside the cells, with its questions."""
    for where, text in marks.notes:
        if where.startswith((CHARTS, MESSAGES)):
            _put(reading, where, text, _verdict(text, reading, where), put)
    for where, text in marks.properties:
        _put(reading, where, text, _verdict(text, reading, where), put)
    for top, left, bottom, right, what, text in marks.areas:
        columns = [column for column in reading.columns if left <= column.number <= right]
        in_table = any(top <= row <= bottom for row in reading.data_rows)
        if not in_table or not columns:
            continue
        where = f"{what} of column{'s' * (left < right)} {column_letter(left)}"
        where += f" to {column_letter(right)}" if left < right else ""
        _put(
            reading,
            where,
            text,
            _verdict(_parted(text) if what == NAMES else text, reading, where, columns),
            put,
        )


def is_caption(where: str) -> bool:
    """Whether a note of a sheet is judged here, and not as a line of it."""
    return where.startswith((CHARTS, MESSAGES))


def captions_held(layout: Layout, marks: SheetMarks) -> list[str]:
    """Return in words which of these texts a person says cast doubt on all of the file."""
    texts = [*((where, text) for where, text in (*marks.notes, *marks.properties))]
    texts += [(what, text) for *_, what, text in marks.areas]
    said = [f"{where} says {text[:80]!r}" for where, text in texts if layout.casts_doubt(text)]
    return list(dict.fromkeys(said))


def _parted(name: str) -> str:
    """A name as words: share_northern and shareNorthern."""
    return re.sub(r"(?<=[a-z])(?=[A-Z])", " ", name).replace("_", " ").replace(".", " ")


def _put(reading: Reading, where: str, text: str, doubt: str, put: Any) -> None:
    layout = reading.layout
    if layout.changes_nothing(text):
        why = "a person or the lab's layout says that it changes nothing"
        put(Item("caption", where, text, HARMLESS, why))
    elif layout.casts_doubt(text):
        why = "a person says that it changes the values, which wait for a decision"
        put(Item("caption", where, text, HELD, why))
    elif not doubt:
        put(Item("caption", where, text, HARMLESS, "it says the same as the table, or nothing of its values"))
    elif layout.taxon_of_q == layout.taxa.other_taxon and doubt == _OTHER_TAXON:
        put(
            Item(
                "caption",
                where,
                text,
                USED,
                f"it says whose alleles q counts, as a person does: {layout.taxon_of_q}",
            )
        )
    else:
        asks = f"{where} says {text[:90]!r} ({doubt}): does it change what the values mean?"
        asked = doubt == _OTHER_TAXON and not layout.taxon_of_q
        turned = (("taxon", "", layout.taxa.other_taxon),) if asked else ()
        answers = answers_about(text, hold_first=condemns(text) or doubt == _OTHER_TAXON)
        choices = (*turned, *answers) if says_the_other(text, layout.taxa) else (*answers, *turned)
        put(Item("caption", where, text, ASKED, doubt), Question(asks, choices))


_OTHER_TAXON = "it names the other taxon"


def _verdict(text: str, reading: Reading, where: str, of: list[Column] | None = None) -> str:
    """Return what is doubtful in such a text, or "" where nothing is.

    of
        the columns of which it speaks, where that is known.
    """
    layout, words = reading.layout, plain(text)
    if words in {plain(column.heading) for column in reading.columns}:
        return ""
    first, other = taxa_named(re.sub(r"\b(fl|fla|f|n|m)\b", " ", words), layout.taxa)
    q = reading.column(ColumnRole.Q)
    of_other = any(column.role == ColumnRole.OTHER_Q for column in (reading.columns if of is None else of))
    of_read = of is None or any(column.role for column in of)
    if other and not first and not of_other and of_read:
        return _OTHER_TAXON
    if found := _AGAINST.search(words):
        return f"it says {found[0]!r}" if of_read else ""
    if q and (unit := other_unit_said(text, q.unit)) and (of is None or q in of):
        return f"it says {unit}, and column {q.named} is read as {q.unit}"
    if where.startswith((PROPERTIES, NAMES)) or not of_read:
        return ""  # their words are those of programs and templates
    known = _OF_MESSAGES if where.startswith(MESSAGES) else _OF_CHARTS
    bare = re.sub(rf"\b({known})\b", " ", text, flags=re.IGNORECASE)
    verdict, why = judge_in_summary(f"{bare} | ", layout.taxa)
    if verdict != ASKED or (where.startswith(MESSAGES) and why.endswith(NOT_OF_A_LETTERHEAD)):
        return ""
    return f"it {why}" if why.startswith("names") else why
