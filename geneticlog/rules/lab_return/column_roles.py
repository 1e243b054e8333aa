"""What each column of a lab's file is taken for, and why; a Question where two readings are possible."""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence
from dataclasses import replace

from geneticlog.errors import SheetFault
from geneticlog.rules.lab_return.account_items import answers_about
from geneticlog.rules.lab_return.column_choice import choose_one, choose_vial, only_plain_ones
from geneticlog.rules.lab_return.column_values import (
    NO_VALUE,
    filled_cells,
    mostly_numbers,
    only_words,
    words_again,
)
from geneticlog.rules.lab_return.genotypes import find_markers
from geneticlog.rules.lab_return.headings import (
    A_MARGIN,
    BARE_Q,
    OF_THE_OTHER,
    SALMOIDES,
    Said,
    plain,
    recognise,
    strange_in,
    taxa_named,
)
from geneticlog.rules.lab_return.layout import Layout, column_letter
from geneticlog.rules.lab_return.reading import Question, Row, listed
from geneticlog.rules.lab_return.roles import ROLES, ColumnRole

DOUBTED = "a person says that what it holds casts doubt on the value beside it"


def is_doubted(heading: str, letter: str, layout: Layout) -> bool:
    """Whether a person says that what a column holds casts doubt on the values beside it."""
    return bool({plain(heading), f"column {letter.lower()}"} & layout.against - {""})


def assign_roles(
    headings: list[str],
    sample: Sequence[Row],
    layout: Layout,
    questions: list[Question],
    file: str,
    sheet: str,
    hidden: Collection[int] = (),
) -> list[Said]:
    """Return what each column is taken for; questions are added where that is not plain.

    hidden
        The numbers, from 1, of columns that are out of sight: none of them is taken unless a person names it.
    """
    known = plain(" ".join(headings))
    found = [recognise(text, layout.taxa, known) or Said(ColumnRole.NOT_USED, "") for text in headings]
    fixed = _fix_named(found, headings, layout, questions, file, sheet)
    for i, heading in enumerate(headings):
        if i in fixed:
            continue
        if plain(heading) in layout.harmless or f"column {column_letter(i + 1).lower()}" in layout.harmless:
            found[i] = Said(
                ColumnRole.NOT_USED, "a person or the lab's layout says that it changes nothing", known=True
            )
        elif is_doubted(heading, column_letter(i + 1), layout) and found[i].role != ColumnRole.FAILURE:
            found[i] = Said(ColumnRole.NOT_USED, DOUBTED, known=True)
        elif i + 1 in hidden and not found[i].known:
            found[i] = Said(ColumnRole.NOT_USED, "the column is hidden", strange=("hidden",))
    if "vial" not in fixed.values():
        choose_vial(found, headings, sample, questions)
    for i, said in find_markers(headings, [said.role for said in found], sample, layout):
        if not (found[i].known and found[i].strange == ()) or layout.markers:
            found[i] = said
    for role in _RESULTS:
        only_plain_ones(found, role, fixed, sample)
        choose_one(found, headings, sample, role, questions, layout)
    for i, said in enumerate(found):
        found[i] = _by_its_values(i, said, headings[i], sample, named=i in fixed) or said
    if not any(said.role in (ColumnRole.Q, ColumnRole.MARKER) for said in found):
        doubtful = [headings[i] for i, said in enumerate(found) if said.why == SALMOIDES]
        if doubtful:
            text = f"column {doubtful[0]!r}: {SALMOIDES}"
            choices = (("column", "q", doubtful[0]), ("column", "other_q", doubtful[0]))
            questions.append(Question(text, choices))
    return found


def _by_its_values(i: int, said: Said, heading: str, sample: Sequence[Row], *, named: bool) -> Said | None:
    """What a column is by its values, where they are not what its heading says; None where nothing changes."""
    if not said.role and not said.known and not heading.strip() and only_words(sample, i):
        return Said(ColumnRole.FAILURE, "words without a heading")
    if named:
        return None
    if said.role == ColumnRole.FAILURE and mostly_numbers(sample, i):
        return Said(
            ColumnRole.NOT_USED,
            "the heading announces a remark, but its values are numbers",
            strange=("numbers",),
        )
    if said.role == ColumnRole.LAB_CLASS and mostly_numbers(sample, i):
        return Said(
            ColumnRole.NOT_USED, "the heading names a class, but its values are numbers", strange=("numbers",)
        )
    if said.why.startswith("another column was taken for our vial") and words_again(sample, i):
        return Said(ColumnRole.FAILURE, "words on some of the samples")
    if (said.role == ColumnRole.CALL_RATE or said.why == A_MARGIN) and only_words(sample, i):
        return Said(ColumnRole.FAILURE, "a word on each sample")
    return None


_RESULTS = (
    ColumnRole.Q, ColumnRole.OTHER_Q, ColumnRole.THIRD_Q, ColumnRole.HETEROZYGOSITY, ColumnRole.N_LOCI,
    ColumnRole.CALL_RATE, ColumnRole.LAB_CLASS,
)  # fmt: skip


def _fix_named(
    found: list[Said], headings: list[str], layout: Layout, questions: list[Question], file: str, sheet: str
) -> dict[int, ColumnRole]:
    """Give the columns that a person or the layout names their role; return these roles by column."""
    fixed: dict[int, ColumnRole] = {}
    for role, name in layout.columns.items():
        i = _named(name, headings, file, sheet)
        said = found[i]
        if (
            role not in layout.answered
            and said.role not in (ColumnRole.NOT_USED, role, ColumnRole.FAILURE)
            and not said.strange
            and said.tier == 1
        ):
            meaning = ROLES[role].format(taxon=layout.taxa.taxon, other_taxon=layout.taxa.other_taxon)
            heading = " ".join(headings[i].split())
            text = f"column {heading} was kept for the {meaning}, but {said.why}"
            questions.append(
                Question(
                    text,
                    (("column", role, heading), ("column", said.role, heading)),
                    f"column {column_letter(i + 1)}",
                )
            )
        fixed[i] = role
    for i, said in enumerate(found):
        if i not in fixed and said.role != ColumnRole.FAILURE and said.role in fixed.values():
            found[i] = replace(
                said, role=ColumnRole.NOT_USED, why="another column was named", known=not said.strange
            )
    for i, role in fixed.items():
        found[i] = Said(role, _why_named(role, found[i], headings[i], layout), 0, known=True)
    return fixed


def _why_named(role: str, said: Said, heading: str, layout: Layout) -> str:
    """Why a named column has its role. A name says which column holds the shares, and not whose alleles they are."""
    names_first, names_other = taxa_named(plain(heading), layout.taxa)
    if role == ColumnRole.Q and (said.role == ColumnRole.OTHER_Q or (names_other and not names_first)):
        return OF_THE_OTHER
    says_first = (said.role == ColumnRole.Q and said.why != BARE_Q) or (names_first and not names_other)
    chosen = said.why == SALMOIDES and role in layout.answered  # the question was whose alleles they are
    return "a person or the lab's layout says so" if role != ColumnRole.Q or says_first or chosen else BARE_Q


def questions_of_columns(
    found: Sequence[Said], headings: Sequence[str], rows: Sequence[Row], layout: Layout
) -> list[Question]:
    """Return a question for each column that is neither used nor known to be harmless."""
    asked = []
    has_q = any(said.role == ColumnRole.Q for said in found)
    for i, said in enumerate(found):
        if said.role or (said.known and not said.strange) or not any(True for _ in filled_cells(rows, i)):
            continue
        other_vial = said.why.startswith("another column was taken for our vial")
        if other_vial and strange_in(headings[i]):
            said = Said(ColumnRole.NOT_USED, "", strange=strange_in(headings[i]))
        elif said.why == SALMOIDES or said.why.startswith(_EXPLAINED):
            continue
        if all(text.strip().casefold() in NO_VALUE for text, _ in filled_cells(rows, i)):
            continue  # it holds no value
        if has_q and not headings[i].strip() and _numbers_the_rows(rows, i):
            continue
        heading = " ".join(headings[i].split())
        name = (
            heading
            if heading and sum(plain(heading) == plain(text) for text in headings) == 1
            else column_letter(i + 1)
        )
        harmless = heading if name == heading else f"column {name}"
        first = filled_cells(rows, i)[0][0].strip()[:30]
        what = f"column {column_letter(i + 1)}" + (f" {heading!r}" if heading else ", which has no heading,")
        role = _role_meant(said, headings[i], layout)
        if said.strange == ("hidden",):
            why = "is hidden"
        elif said.strange and role:
            meaning = ROLES[role].format(taxon=layout.taxa.taxon, other_taxon=layout.taxa.other_taxon)
            why = f"may be the {meaning}, but {', '.join(said.strange)} may make another thing of it"
        else:
            why = f"is not known (first value {first!r})"
        choices = _ways_to_use(i, name, role, found, rows) + answers_about(harmless)
        asked.append(Question(f"{what} {why}", choices, f"column {column_letter(i + 1)}"))
    return asked


def _numbers_the_rows(rows: Sequence[Row], i: int) -> bool:
    """Whether a column counts the rows: 1, 2, 3 and so on, or from 0."""
    written = [text.strip() for text, _ in filled_cells(rows, i)]
    return len(written) > 2 and any(
        written == [str(k) for k in range(first, first + len(written))] for first in (0, 1)
    )


def _ways_to_use(
    i: int, name: str, role: str, found: Sequence[Said], rows: Sequence[Row]
) -> tuple[tuple[str, str, str], ...]:
    """What a column that is not known may be used for, as answers: at most one."""
    roles = {said.role for said in found}
    if role:
        return (("column", role, name),)
    numbers = mostly_numbers(rows[:SAMPLE], i)
    if numbers and ColumnRole.Q not in roles:
        return (("column", "q", name),)
    if not numbers or {text.strip() for text, _ in filled_cells(rows, i)} <= {"0", "1"}:
        return (("column", "failure", name),)
    # beside both taxa's shares it may be that of a third lineage
    return (
        (("column", "third_q", name),)
        if ColumnRole.OTHER_Q in roles and ColumnRole.THIRD_Q not in roles
        else ()
    )


SAMPLE = 400
_EXPLAINED = ("another column", "genotypes, but", "column ", "the same numbers")


def _role_meant(said: Said, heading: str, layout: Layout) -> ColumnRole:
    again = recognise(heading, layout.taxa)
    return again.role if again and again.role in _RESULTS and said.strange else ColumnRole.NOT_USED


def _named(name: str, headings: list[str], file: str, sheet: str) -> int:
    same = [i for i, text in enumerate(headings) if plain(text) == plain(name) and text.strip()]
    if len(same) == 1:
        return same[0]
    if re.fullmatch(r"[A-Za-z]{1,2}", name):
        letters = [column_letter(i + 1) for i in range(len(headings))]
        if name.upper() in letters:
            return letters.index(name.upper())
    raise SheetFault(
        f"there {'are two columns' if same else 'is no column'} headed {name!r}",
        file=file,
        sheet=sheet or None,
        way_out=f"the columns are {listed(headings)}; a column's letter may be given instead",
    )
