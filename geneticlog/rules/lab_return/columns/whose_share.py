"""Whose alleles a column of shares counts, where its heading does not say or the file says otherwise."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from geneticlog.rules.column_headings import strange_words
from geneticlog.rules.lab_return.cells.cells import number
from geneticlog.rules.lab_return.cells.percent_or_fraction import PERCENT
from geneticlog.rules.lab_return.columns.clusters import has_a_twin
from geneticlog.rules.lab_return.columns.lab_classes import class_meant
from geneticlog.rules.lab_return.sheet.reading import Column, Question, Row
from geneticlog.rules.lab_return.words.headings import (
    BARE_Q,
    OF_THE_OTHER,
    SALMOIDES,
    plain,
    taxa_named,
    turns_round,
)
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.lab_return.words.roles import ColumnRole
from geneticlog.rules.lab_return.words.vocabulary import (
    ALLELE_WORDS,
    COUNT_WORDS,
    FILLER_WORDS,
    LATIN_WORDS,
    OTHERWISE_IN_A_LINE,
    UNIT_WORDS,
    words_of,
)

EACH_ROW = "each row"  # the answer that a column names the taxon of each share
_TAXON = re.compile(
    r"(assigned |best |major )?(taxon|taxa|lineage|subspecies|population|cluster|group)( name)?"
)
LEAST_AGREEING = 2  # fish of pure class whose share agrees, to take an unnamed share for the first taxon's
LEAST_AGAINST, MOST_AGAINST = 2, 0.1  # fish whose class says otherwise, one of which is held by itself
_OF_TITLES = (
    words_of(
        """
    table part section block second b c ii 2 3
    """
    )
    | LATIN_WORDS
)
_OF_SHARES = re.compile(
    r"\b(q|proportions?|share|ancestry|alleles?|fraction|percent\w*|admixture|coefficient|values?)\b|%"
)
# a line that says by which names it calls the two fish: Kim, Taylor & Near 2022, Scientific Reports 12:9113
_BY_THE_NAMES_OF_2022 = re.compile(
    r"\b2022 (nomenclature|taxonomy|naming|names?|revision)\b"
    r"|\b(nomenclature|taxonomy|naming|names?|revision) (of|since|from|after|in) 2022\b"
)
_BY_OLDER_NAMES = re.compile(r"\b(before|pre|prior|until|old|older|former|formerly|not)\b")


def ask_whose_share(
    columns: Sequence[Column],
    rows: Sequence[Row],
    data: Sequence[int],
    other_rows: Sequence[tuple[int, str]],
    decimal: str,
    layout: Layout,
) -> list[Question]:
    """Return a question where nothing says whose alleles q counts, or where classes or words say otherwise."""
    q = next((column for column in columns if column.role == ColumnRole.Q), None)
    if q is None:
        return []
    taxa = layout.taxa
    choices = (("taxon", "", taxa.taxon), ("taxon", "", taxa.other_taxon))
    name = q.heading or q.letter
    named = column_of_taxa(columns, rows, data, layout)
    if layout.taxon_of_q == EACH_ROW and named is None:
        text = f"column {name}: no column names one of the two taxa in every row"
        return [Question(text, choices, f"column {q.letter}")]
    if layout.taxon_of_q:
        return []
    if named and q.why == BARE_Q:
        text = f"column {name}: {BARE_Q}; is it the share of the taxon that column {named.heading} names in each row?"
        return [Question(text, (("taxon", "", EACH_ROW), *choices), f"column {q.letter}")]
    if q.why == OF_THE_OTHER:
        text = f"column {name} is named for the share of {taxa.taxon} alleles, but {OF_THE_OTHER}: whose does it count?"
        return [Question(text, choices[::-1], f"column {q.letter}")]
    agreeing, against = _by_class(columns, rows, data, q, decimal, layout)
    if against >= LEAST_AGAINST and against > MOST_AGAINST * (agreeing + against):
        text = (
            f"column {name} is taken for the share of {taxa.taxon} alleles, but the lab's class of {against} of"
            f" {agreeing + against} fish says otherwise"
        )
        return [Question(text, choices, f"column {q.letter}")]
    if q.why != BARE_Q:
        return []
    if has_a_twin(q, columns) and not _has_the_other(columns, layout):
        return [Question(f"column {name}: {BARE_Q}", choices, f"column {q.letter}")]
    taxa_of_lines = [_line_names(text, layout) for _, text in other_rows]
    for whose, words in (
        ("other", f"names {taxa.other_taxon}"),
        ("salmoides", f"says salmoides ({SALMOIDES})"),
    ):
        if whose in taxa_of_lines:
            line = other_rows[taxa_of_lines.index(whose)][1]
            text = f"column {name} does not say whose alleles it counts, and a line {words}: {line[:60]!r}"
            return [Question(text, choices, f"column {q.letter}")]
    if "first" in taxa_of_lines or agreeing >= LEAST_AGREEING or _has_the_other(columns, layout):
        return []
    return [Question(f"column {name}: {BARE_Q}", choices, f"column {q.letter}")]


def _has_the_other(columns: Sequence[Column], layout: Layout) -> bool:
    """Whether another column holds the other taxon's shares, as its heading or a person says."""
    return any(
        column.role == ColumnRole.OTHER_Q
        and ("other_q" in layout.answered or taxa_named(plain(column.heading), layout.taxa) == (False, True))
        for column in columns
    )


def what_the_other_leaves(
    columns: list[Column], layout: Layout, questions: list[Question]
) -> tuple[list[Column], Layout]:
    """Take q for what the other taxon's share leaves, where a file has no more and a person says so.

    It is asked, for what is left is not all of the first taxon where the lab tells a third lineage apart.
    """
    others = [column for column in columns if column.role == ColumnRole.OTHER_Q]
    if len(others) != 1 or any(
        column.role in (ColumnRole.Q, ColumnRole.THIRD_Q, ColumnRole.MARKER) for column in columns
    ):
        return columns, layout
    (other,), taxa = others, layout.taxa
    says_first = taxa_named(plain(other.heading), taxa) == (True, False) or turns_round(plain(other.heading))
    named = ColumnRole.OTHER_Q in layout.answered and not says_first
    if layout.taxon_of_q == taxa.other_taxon or named:
        unit = layout.units.get(ColumnRole.OTHER_Q)
        units = {**layout.units, ColumnRole.Q: unit} if unit else layout.units
        columns = [replace(column, role=ColumnRole.Q) if column is other else column for column in columns]
        return columns, replace(layout, taxon_of_q=taxa.other_taxon, units=units)
    if not questions:
        name = other.heading or other.letter
        text = (
            f"column {name} has the share of {taxa.other_taxon} alleles, and no column that of {taxa.taxon} (where the"
            f" lab tells a third lineage apart, ask it for that column): are all other alleles {taxa.taxon}?"
        )
        if says_first:
            text = f"column {name} is named for {taxa.other_taxon} alleles, but its heading may mean {taxa.taxon} ones"
        choice = ("column", "q", name) if says_first else ("taxon", "", taxa.other_taxon)
        questions.append(Question(text, (choice,), f"column {other.letter}"))
    return columns, layout


def turned_round(columns: list[Column], layout: Layout) -> list[Column]:
    """Return the columns, with what is done where a person says that q's column counts the other taxon's alleles."""
    if layout.taxon_of_q != layout.taxa.other_taxon:
        return columns
    why = (
        f"a person says that it is the share of {layout.taxa.other_taxon} alleles, and q is what that leaves"
    )
    return [replace(column, why=why) if column.role == ColumnRole.Q else column for column in columns]


def column_of_taxa(
    columns: Sequence[Column], rows: Sequence[Row], data: Sequence[int], layout: Layout
) -> Column | None:
    """Return the column that names a taxon in every row, both of them in the file; None where there is none."""
    for column in columns:
        if column.role not in (ColumnRole.NOT_USED, ColumnRole.LAB_CLASS) or not _TAXON.fullmatch(
            plain(column.heading)
        ):
            continue
        i = column.number - 1
        named = {taxa_named(plain(rows[n - 1][i][0]), layout.taxa) if len(rows[n - 1]) > i else (False, False)
                 for n in data}  # fmt: skip
        if named == {(True, False), (False, True)}:
            return column
    return None


def without_that_of_taxa(
    questions: Sequence[Question],
    whose: Sequence[Question],
    columns: Sequence[Column],
    rows: Sequence[Row],
    data: Sequence[int],
    layout: Layout,
) -> list[Question]:
    """Return the questions without that about a column that names the taxon of each share: whose share it is says all.

    whose
        what is asked of whose share it is; one of its answers, or what a person said, is that the column names it.
    """
    offered = any(("taxon", "", EACH_ROW) in question.choices for question in whose)
    named = column_of_taxa(columns, rows, data, layout)
    if named is None or not (offered or layout.taxon_of_q == EACH_ROW):
        return list(questions)
    return [question for question in questions if question.key != f"column {named.letter}"]


def tells_the_taxon(text: str, columns: Sequence[Column], layout: Layout) -> bool:
    """Return whether a line is what says that an unnamed share is the first taxon's."""
    bare = any(
        column.role == ColumnRole.Q and column.why == BARE_Q and not has_a_twin(column, columns)
        for column in columns
    )
    return bare and _line_names(text, layout) == "first"


def names_other_shares(text: str, layout: Layout) -> bool:
    """Return whether a title, and no more than that, says that shares are those of the taxon that q does not count."""
    first, other = taxa_named(plain(text), layout.taxa)
    if first == other:
        return False
    counted = layout.taxon_of_q or layout.taxa.taxon
    named = layout.taxa.taxon if first else layout.taxa.other_taxon
    known = [
        ALLELE_WORDS,
        UNIT_WORDS,
        FILLER_WORDS,
        COUNT_WORDS,
        _OF_TITLES,
        frozenset(plain(named).split()),
        *layout.taxa.short_names,
    ]
    return named != counted and not strange_words(plain(text), known)


def _line_names(text: str, layout: Layout) -> str:
    """Whose share a line is about: first, other, salmoides where that Latin name alone says it, "" for neither."""
    words = re.sub(rf"\b({'|'.join(sorted(OTHERWISE_IN_A_LINE))})\b", " ", plain(text))
    first, other = taxa_named(words, layout.taxa)
    if "salmoides" in words and not other:
        if first or not layout.taxa.are_florida_and_northern:
            other = True  # beside Florida's other name it is the northern fish
        elif _BY_THE_NAMES_OF_2022.search(words) is None or _BY_OLDER_NAMES.search(words):
            return "salmoides"
        else:
            first, words = True, _BY_THE_NAMES_OF_2022.sub(" ", words)
    if other:
        return "other"
    turned = re.search(r"\d|minus|non|inverse|complement|opposite|without", words) or re.search(
        r"1\s*[-−–]", text
    )
    return "first" if first and _OF_SHARES.search(words) and not turned else ""


def _by_class(
    columns: Sequence[Column],
    rows: Sequence[Row],
    data: Sequence[int],
    q: Column,
    decimal: str,
    layout: Layout,
) -> tuple[int, int]:
    """How many fish of a pure class have a share on its side of one half, and how many on the other."""
    named = next((column for column in columns if column.role == ColumnRole.LAB_CLASS), None)
    agreeing = against = 0
    known: dict[str, str | None] = {}  # the words are few
    if named is None:
        return agreeing, against
    for row_number in data:
        row = rows[row_number - 1]
        if len(row) < max(named.number, q.number):
            continue
        words = row[named.number - 1][0]
        if words not in known:
            known[words] = class_meant(words, layout.taxa) if words.strip() else None
        meant = known[words]
        if meant not in (layout.taxa.taxon, layout.taxa.other_taxon):
            continue
        text, kind = row[q.number - 1]
        figure = number(text, "." if kind == "number" else decimal)
        unit = q.unit_at(row_number)
        if figure is None or unit == "count":
            continue
        share = figure.as_fraction(unit == PERCENT)[0]
        if (share > 0.5) == (meant == layout.taxa.taxon):
            agreeing += 1
        else:
            against += 1
    return agreeing, against
