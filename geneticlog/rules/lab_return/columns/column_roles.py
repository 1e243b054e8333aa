"""What each column of a lab's file is taken for, and why; a Question where two readings are possible."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace

from geneticlog.errors import SheetFault
from geneticlog.rules.lab_return.cells.cells import has_margin, number
from geneticlog.rules.lab_return.columns.clusters import take_clusters
from geneticlog.rules.lab_return.columns.column_choice import (
    HARMLESS,
    choose_one,
    choose_vial,
    only_plain_ones,
)
from geneticlog.rules.lab_return.columns.column_values import (
    NO_VALUE,
    common_value,
    filled_cells,
    is_interval,
    make_a_whole,
    most_with,
    mostly_numbers,
    only_words,
    values_in_words,
    words_again,
)
from geneticlog.rules.lab_return.columns.genotypes import find_markers
from geneticlog.rules.lab_return.columns.lab_classes import class_meant, of_classes
from geneticlog.rules.lab_return.columns.likelier_answers import likelier_first
from geneticlog.rules.lab_return.columns.third_lineage import names_third
from geneticlog.rules.lab_return.columns.unit_columns import of_units, only_units
from geneticlog.rules.lab_return.sheet.account_items import answers_about
from geneticlog.rules.lab_return.sheet.reading import Question, Row, listed
from geneticlog.rules.lab_return.words.headings import (
    A_MARGIN,
    BARE_Q,
    OF_THE_OTHER,
    SALMOIDES,
    Said,
    Taxa,
    answer_key,
    plain,
    recognise,
    strange_in,
    taxa_named,
    turns_round,
    without_margin_words,
)
from geneticlog.rules.lab_return.words.layout import Layout, column_letter
from geneticlog.rules.lab_return.words.roles import ROLES, ColumnRole

_DOUBTED = re.compile("[?†‡]")  # behind a heading: a question, or a footnote
DOUBTED = "a person says that what it holds casts doubt on the value beside it"


def is_doubted(heading: str, letter: str, layout: Layout) -> bool:
    """Whether a person says that what a column holds casts doubt on the values beside it."""
    return any(layout.casts_doubt(name) or unlike_what(name, layout) for name in names_of(heading, letter))


OTHER_THAN = (
    "other than"  # between a column and its common value, in the answer that holds the rows that stand out
)


def names_of(heading: str, letter: str) -> list[str]:
    """Return what answers call a column: by its heading and by its letter."""
    return [*([heading] if heading.strip() else []), f"column {letter}"]


def unlike_what(name: str, layout: Layout) -> str:
    """Return the value, as answers are kept, other than which a person holds the rows of a column; "" without one."""
    start = answer_key(f"{name} {OTHER_THAN} ") + " "
    return next((key.removeprefix(start) for key in layout.against if key.startswith(start)), "")


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
    columns = _by_headings(headings, sample, layout)
    fixed = _fix_named(columns, headings, layout, questions, file, sheet)
    _as_a_person_says(columns, headings, fixed, layout, hidden)
    if "vial" not in fixed.values():
        choose_vial(columns, headings, sample, questions)
        _ask_about_hidden_codes(columns, headings, hidden, questions)
    for i, column in find_markers(headings, [said.role for said in columns], sample, layout):
        if not (columns[i].known and columns[i].strange == ()) or layout.markers:
            columns[i] = column
    for role in _RESULTS:
        only_plain_ones(columns, role, fixed, sample)
        choose_one(columns, headings, sample, role, questions, layout)
    take_clusters(columns, headings, sample)
    for i, column in enumerate(columns):
        by_values = _by_its_values(i, column, headings[i], sample, layout.taxa, named=i in fixed)
        if (
            by_values
            and by_values.role == ColumnRole.LAB_CLASS
            and by_values.role in {one.role for one in columns}
        ):
            by_values = None  # a second column of classes stays a remark
        columns[i] = by_values or column
        if columns[i].strange == ("numbers",) and is_doubted(headings[i], column_letter(i + 1), layout):
            columns[i] = Said(ColumnRole.NOT_USED, DOUBTED, known=True)
    if not any(said.role in (ColumnRole.Q, ColumnRole.MARKER) for said in columns):
        doubtful = [headings[i] for i, said in enumerate(columns) if said.why == SALMOIDES]
        if doubtful:
            text = f"column {doubtful[0]!r}: {SALMOIDES}"
            choices = (("column", "q", doubtful[0]), ("column", "other_q", doubtful[0]))
            questions.append(Question(text, choices))
    return columns


def _as_a_person_says(
    columns: list[Said],
    headings: Sequence[str],
    fixed: Mapping[int, ColumnRole],
    layout: Layout,
    hidden: Collection[int],
) -> None:
    """Settle the columns that a person says change nothing, or cast doubt; and leave hidden ones to a person."""
    for i, heading in enumerate(headings):
        if i in fixed:
            continue
        if layout.changes_nothing(heading) or layout.changes_nothing(f"column {column_letter(i + 1)}"):
            columns[i] = Said(ColumnRole.NOT_USED, HARMLESS, known=True)
        elif is_doubted(heading, column_letter(i + 1), layout):
            if (
                not columns[i].role or columns[i].strange
            ):  # a word that is held may be the name of another column
                columns[i] = Said(ColumnRole.NOT_USED, DOUBTED, known=True)
        elif i + 1 in hidden and not columns[i].known:
            columns[i] = Said(ColumnRole.NOT_USED, "the column is hidden", strange=("hidden",))


def _by_headings(headings: Sequence[str], sample: Sequence[Row], layout: Layout) -> list[Said]:
    """What each column is by its heading; one headed as a margin, whose cells are values with theirs, is the values."""
    known = plain(" ".join(headings))
    columns = [recognise(text, layout.taxa, known) or Said(ColumnRole.NOT_USED, "") for text in headings]
    for i, column in enumerate(columns):
        if column.why == A_MARGIN and most_with(has_margin, sample, i):
            columns[i] = recognise(without_margin_words(headings[i]), layout.taxa, known) or column
    for i, column in enumerate(columns):
        if column.role in _RESULTS and (mark := _DOUBTED.search(headings[i])):
            columns[i] = replace(column, strange=(*column.strange, mark[0]))
    return columns


def _ask_about_hidden_codes(
    columns: list[Said], headings: Sequence[str], hidden: Collection[int], questions: list[Question]
) -> None:
    """Leave a hidden column of vial codes to a person: an older one may be out of sight."""
    for i, column in enumerate(columns):
        if column.role == ColumnRole.VIAL and i + 1 in hidden:
            columns[i] = Said(ColumnRole.NOT_USED, "the column is hidden", known=True)
            letter = column_letter(i + 1)
            where = f"column {letter}"
            text = f"the vial codes are in {where} {headings[i]!r}, which is hidden: are they those of these rows?"
            questions.append(Question(text, (("column", ColumnRole.VIAL, letter),), where))


def _by_its_values(
    i: int, column: Said, heading: str, sample: Sequence[Row], taxa: Taxa, *, named: bool
) -> Said | None:
    """What a column is by its values, where they are not what its heading says; None where nothing changes."""
    if not column.role and not column.known and not heading.strip() and only_words(sample, i):
        return Said(ColumnRole.FAILURE, "words without a heading")
    if named:
        return None
    if column.role == ColumnRole.FAILURE and of_classes({text for text, _ in filled_cells(sample, i)}, taxa):
        return Said(ColumnRole.LAB_CLASS, "its words are those of ancestry classes")
    if column.role == ColumnRole.FAILURE and mostly_numbers(sample, i):
        return Said(
            ColumnRole.NOT_USED,
            "the heading announces a remark, but its values are numbers",
            strange=("numbers",),
        )
    if column.role == ColumnRole.LAB_CLASS and mostly_numbers(sample, i):
        return Said(
            ColumnRole.NOT_USED, "the heading names a class, but its values are numbers", strange=("numbers",)
        )
    if column.why.startswith("another column was taken for our vial") and words_again(sample, i):
        return Said(ColumnRole.FAILURE, "words on some of the samples")
    if column.why == A_MARGIN and most_with(is_interval, sample, i):
        return None
    if (column.role == ColumnRole.CALL_RATE or column.why == A_MARGIN) and only_words(sample, i):
        return Said(ColumnRole.FAILURE, "a word on each sample")
    return None


_RESULTS = (
    ColumnRole.Q, ColumnRole.OTHER_Q, ColumnRole.THIRD_Q, ColumnRole.HETEROZYGOSITY, ColumnRole.N_LOCI,
    ColumnRole.CALL_RATE, ColumnRole.LAB_CLASS,
)  # fmt: skip


def _fix_named(
    columns: list[Said], headings: list[str], layout: Layout, questions: list[Question], file: str, sheet: str
) -> dict[int, ColumnRole]:
    """Give the columns that a person or the layout names their role; return these roles by column."""
    fixed: dict[int, ColumnRole] = {}
    for role, name in layout.columns.items():
        if role not in layout.answered and _is_absent(name, headings):
            questions += _in_its_place(role, name, columns, headings, layout, file, sheet)
            continue
        i = _named(name, headings, file, sheet)
        column = columns[i]
        if (
            role not in layout.answered
            and column.role not in (ColumnRole.NOT_USED, role, ColumnRole.FAILURE)
            and not column.strange
            and column.tier == 1
        ):
            meaning = _meaning(role, layout)
            heading = " ".join(headings[i].split())
            text = f"column {heading} was kept for {meaning}, but {column.why}"
            questions.append(
                Question(
                    text,
                    (("column", role, heading), ("column", column.role, heading)),
                    f"column {column_letter(i + 1)}",
                )
            )
        elif role == ColumnRole.Q and role not in layout.answered:
            questions += _fits_better(i, columns, headings, layout)
        fixed[i] = role
    for i, column in enumerate(columns):
        if i not in fixed and column.role != ColumnRole.FAILURE and column.role in fixed.values():
            columns[i] = replace(
                column, role=ColumnRole.NOT_USED, why="another column was named", known=not column.strange
            )
    for i, role in fixed.items():
        columns[i] = Said(role, _why_named(role, columns[i], headings[i], layout), 0, known=True)
    return fixed


def _is_absent(name: str, headings: Sequence[str]) -> bool:
    is_letter = re.fullmatch(r"[A-Za-z]{1,2}", name) is not None
    return not is_letter and all(plain(text) != plain(name) for text in headings)


def _in_its_place(
    role: ColumnRole,
    name: str,
    columns: Sequence[Said],
    headings: Sequence[str],
    layout: Layout,
    file: str,
    sheet: str,
) -> list[Question]:
    """Ask which column takes the place of one that the lab's earlier files had; a file can do without most.

    raises
        SheetFault where the codes or the shares were in it, and no other column looks like them.
    """
    if role not in (ColumnRole.VIAL, ColumnRole.Q, ColumnRole.OTHER_Q):
        return []
    likely = [i for i, column in enumerate(columns) if column.role == role and not column.strange]
    meaning = _meaning(role, layout)
    if not likely:
        raise SheetFault(
            f"column {name!r}, which was kept for {meaning}, is not in this file",
            file=file,
            sheet=sheet or None,
            way_out=f"say which it is with --column {role}=HEADING; the columns are"
            f" {listed([heading for heading in headings if heading.strip()])}",
        )
    choices = tuple(("column", role, " ".join(headings[i].split())) for i in likely)
    named = " or ".join(value for *_, value in choices)
    text = f"column {name}, which was kept for {meaning}, is not in this file: is it column {named}?"
    return [Question(text, choices, f"column {column_letter(likely[0] + 1)}")]


def _fits_better(
    kept: int, columns: Sequence[Said], headings: Sequence[str], layout: Layout
) -> list[Question]:
    """Ask where the column that was kept for q does not say whose share it is, and another one does."""
    if columns[kept].role == ColumnRole.Q and not columns[kept].strange:
        return []
    for i, column in enumerate(columns):
        plainly = column.role == ColumnRole.Q and not column.strange and column.tier == 1
        if i != kept and plainly and not layout.changes_nothing(headings[i]):
            names = [" ".join(headings[at].split()) for at in (kept, i)]
            text = f"column {names[0]} was kept for the share, and in this file column {names[1]} is headed so too"
            choices = tuple(("column", ColumnRole.Q, name) for name in names)
            return [Question(text, choices, f"column {column_letter(i + 1)}")]
    return []


def _why_named(role: str, column: Said, heading: str, layout: Layout) -> str:
    """Why a named column has its role. A name says which column holds the shares, and not whose alleles they are."""
    names_first, names_other = taxa_named(plain(heading), layout.taxa)
    if role == ColumnRole.Q and (column.role == ColumnRole.OTHER_Q or (names_other and not names_first)):
        return OF_THE_OTHER
    says_first = (column.role == ColumnRole.Q and column.why != BARE_Q) or (names_first and not names_other)
    says_first = says_first and not turns_round(plain(heading))
    chosen = column.why == SALMOIDES and role in layout.answered  # the question was whose alleles they are
    return "a person or the lab's layout says so" if role != ColumnRole.Q or says_first or chosen else BARE_Q


def questions_of_columns(
    columns: Sequence[Said], headings: Sequence[str], rows: Sequence[Row], layout: Layout
) -> list[Question]:
    """Return a question for each column that is neither used nor known to be harmless."""
    asked: list[Question] = []
    may_be_q: list[Question] = []
    roles = {said.role for said in columns}
    has_q = ColumnRole.Q in roles
    q = next((i for i, said in enumerate(columns) if said.role == ColumnRole.Q), None)
    for i, column in enumerate(columns):
        if (
            column.role
            or (column.known and not column.strange)
            or not any(True for _ in filled_cells(rows, i))
        ):
            continue
        other_vial = column.why.startswith("another column was taken for our vial")
        if other_vial and strange_in(headings[i]):
            column = Said(ColumnRole.NOT_USED, "", strange=strange_in(headings[i]))
        elif column.why == SALMOIDES or column.why.startswith(_EXPLAINED):
            continue
        if all(text.strip().casefold() in NO_VALUE for text, _ in filled_cells(rows, i)):
            continue  # it holds no value
        if not column.strange and _says_no_more(rows, i, headings[i], layout):
            continue
        if has_q and not headings[i].strip() and _numbers_the_rows(rows, i):
            continue
        heading = " ".join(headings[i].split())
        name = (
            heading
            if heading and sum(plain(heading) == plain(text) for text in headings) == 1
            else column_letter(i + 1)
        )
        harmless = heading if name == heading else f"column {name}"
        what = f"column {column_letter(i + 1)}" + (f" {heading!r}" if heading else ", which has no heading,")
        role = _role_meant(column, headings[i], layout)
        if role != ColumnRole.LAB_CLASS and only_words(rows[:SAMPLE], i):
            role = ColumnRole.NOT_USED  # "Marker panel" with DR38 in all rows holds no number of loci
        if column.strange == ("hidden",):
            why = "is hidden"
        elif column.strange and role:
            meaning = _meaning(role, layout)
            why = f"may be {meaning}, but {', '.join(column.strange)} may change its meaning"
        else:
            why = f"is not known ({values_in_words(rows, i)})"
        choices = _not_offered_before(_ways_to_use(i, name, role, columns, rows, layout), asked)
        choices += answers_about(harmless, hold_first=of_units(heading))  # another unit than those of shares
        if (common := common_value(rows, i)) and not role:
            choices += (("hold", "", f"{harmless} {OTHER_THAN} {common}"),)
        choices = likelier_first(choices, heading, rows, i, q)
        question = Question(f"{what} {why}", choices, f"column {column_letter(i + 1)}")
        alone = roles.isdisjoint({ColumnRole.Q, ColumnRole.OTHER_Q, ColumnRole.MARKER})
        first = alone and choices[0][:2] == ("column", "q") and column.strange != ("hidden",)
        (may_be_q if first else asked).append(question)
    return [*_which_is_q(may_be_q, layout), *asked]


def _not_offered_before(
    choices: tuple[tuple[str, str, str], ...], asked: Sequence[Question]
) -> tuple[tuple[str, str, str], ...]:
    """The answers without that of the lab's words, where an earlier question has it: the later answer would undo it."""
    words = ("column", "failure")
    before = any(choice[:2] == words for question in asked for choice in question.choices)
    return tuple(choice for choice in choices if not (before and choice[:2] == words))


def _says_no_more(rows: Sequence[Row], i: int, heading: str, layout: Layout) -> bool:
    """Whether a column holds days, whose oddities are looked for in all columns, or the units of the shares."""
    if all(_is_date(*cell) for cell in filled_cells(rows, i)):
        return True
    units = only_units(heading, (text for text, _ in filled_cells(rows, i)))
    return units and not is_doubted(heading, column_letter(i + 1), layout)


def _which_is_q(questions: Sequence[Question], layout: Layout) -> list[Question]:
    """One question where several columns may be the share that is looked for; what the others are is asked after it.

    Without that share nothing can be read, so to call its column harmless, or to hold it, leads nowhere.
    """
    choices = tuple(question.choices[0] for question in questions)
    if len(questions) < 2:
        return [replace(question, choices=choices) for question in questions]
    columns = "; ".join(question.text.removeprefix("column ") for question in questions)
    text = f"which column is the share of {layout.taxa.taxon} alleles? {columns}"
    return [Question(text, choices, questions[0].key)]


def _is_date(text: str, kind: str) -> bool:
    return (
        kind == "date"
        or re.fullmatch(r"(19|20)\d\d-[01]\d-[0-3]\d([ T]\d\d:\d\d(:\d\d)?)?", text.strip()) is not None
    )


def _numbers_the_rows(rows: Sequence[Row], i: int) -> bool:
    """Whether a column counts the rows: 1, 2, 3 and so on, or from 0."""
    written = [text.strip() for text, _ in filled_cells(rows, i)]
    return len(written) > 2 and any(
        written == [str(k) for k in range(first, first + len(written))] for first in (0, 1)
    )


def _ways_to_use(
    i: int, name: str, role: str, columns: Sequence[Said], rows: Sequence[Row], layout: Layout
) -> tuple[tuple[str, str, str], ...]:
    """What a column that is not known may be used for, as answers: at most two."""
    roles = {said.role for said in columns}
    if role:
        return () if role == ColumnRole.Q and ColumnRole.Q in roles else (("column", role, name),)
    numbers = mostly_numbers(rows[:SAMPLE], i)
    q = next((at for at, said in enumerate(columns) if said.role == ColumnRole.Q), None)
    if numbers and q is not None and ColumnRole.OTHER_Q not in roles and make_a_whole(rows, q, i):
        return (("column", ColumnRole.OTHER_Q, name),)
    if numbers and ColumnRole.Q not in roles:
        return (("column", "q", name),)
    texts = {text.strip() for text, _ in filled_cells(rows, i)}
    if (
        not numbers
        and ColumnRole.LAB_CLASS not in roles
        and all(class_meant(text, layout.taxa) for text in texts)
    ):
        return (("column", ColumnRole.LAB_CLASS, name), ("column", "failure", name))
    if not numbers or {text.strip() for text, _ in filled_cells(rows, i)} <= {"0", "1"}:
        # another column that is named for the words would take the place of the first
        named = ColumnRole.FAILURE in layout.columns or of_units(name)
        return () if named else (("column", "failure", name),)
    whole = all(
        (one := number(text)) and one.value >= LEAST_LOCI and one.value.is_integer() for text in texts
    )
    if (not name or _NO_HEADING.fullmatch(name)) and whole and ColumnRole.N_LOCI not in roles:
        return (("column", ColumnRole.N_LOCI, name),)
    # beside both taxa's shares it may be that of a third lineage
    other = next((at for at, said in enumerate(columns) if said.role == ColumnRole.OTHER_Q), None)
    whole = q is not None and other is not None and make_a_whole(rows, q, i, other)
    third = (whole or names_third(name, layout.taxa)) and ColumnRole.THIRD_Q not in roles
    return (("column", ColumnRole.THIRD_Q, name),) if third else ()


SAMPLE = 400
LEAST_LOCI = 5  # of a panel
_NO_HEADING = re.compile(r"[A-Z]{1,2}|figure \d+")  # the letter of a column, or what one of a text is called
_EXPLAINED = ("another column", "genotypes, but", "column ", "the same numbers")


def _meaning(role: ColumnRole, layout: Layout) -> str:
    """What a role is, in words that follow a verb."""
    meaning = ROLES[role].format(taxon=layout.taxa.taxon, other_taxon=layout.taxa.other_taxon)
    return meaning if meaning.startswith(("the ", "our ")) else f"the {meaning}"


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
