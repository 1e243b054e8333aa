"""What each column of a lab's file is taken for, and why; a Question where two readings are possible."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Collection, Sequence
from dataclasses import replace

from geneticlog.errors import SheetFault
from geneticlog.rules.lab_return.cells import decimal_mark, number
from geneticlog.rules.lab_return.genotypes import coding_of, find_markers, taxon_counted
from geneticlog.rules.lab_return.headings import (
    A_MARGIN,
    BARE_Q,
    ROLES,
    SALMOIDES,
    Said,
    plain,
    recognise,
    strange_in,
)
from geneticlog.rules.lab_return.layout import Layout, column_letter
from geneticlog.rules.lab_return.reading import Column, Question, Row, is_code, listed, without_well
from geneticlog.rules.vialcode import parse


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
    found = [recognise(text, layout.taxa, known) or Said("", "") for text in headings]
    fixed = _fix_named(found, headings, layout, questions, file, sheet)
    for i, heading in enumerate(headings):
        if i in fixed:
            continue
        if plain(heading) in layout.harmless or f"column {column_letter(i + 1).lower()}" in layout.harmless:
            found[i] = Said("", "a person or the lab's layout says that it changes nothing", known=True)
        elif i + 1 in hidden and not found[i].known:
            found[i] = Said("", "the column is hidden", strange=("hidden",))
    if "vial" not in fixed.values():
        _choose_vial(found, headings, sample, questions)
    for i, said in find_markers(headings, [said.role for said in found], sample, layout):
        if not (found[i].known and found[i].strange == ()) or layout.markers:
            found[i] = said
    for role in _RESULTS:
        _only_plain_ones(found, role, fixed, sample)
        _choose_one(found, headings, sample, role, questions, layout)
    for i, said in enumerate(found):
        found[i] = _by_its_values(i, said, headings[i], sample, named=i in fixed) or said
    if not any(said.role in ("q", "marker") for said in found):
        doubtful = [headings[i] for i, said in enumerate(found) if said.why == SALMOIDES]
        if doubtful:
            text = f"column {doubtful[0]!r}: {SALMOIDES}"
            choices = (("column", "q", doubtful[0]), ("column", "other_q", doubtful[0]))
            questions.append(Question(text, choices))
    return found


def _by_its_values(i: int, said: Said, heading: str, sample: Sequence[Row], *, named: bool) -> Said | None:
    """What a column is by its values, where they are not what its heading says; None where nothing changes."""
    if not said.role and not said.known and not heading.strip() and _only_words(sample, i):
        return Said("failure", "words without a heading")
    if named:
        return None
    if said.role == "failure" and _mostly_numbers(sample, i):
        return Said("", "the heading announces a remark, but its values are numbers", strange=("numbers",))
    if said.role == "lab_class" and _mostly_numbers(sample, i):
        return Said("", "the heading names a class, but its values are numbers", strange=("numbers",))
    if said.why.startswith("another column was taken for our vial") and _words_again(sample, i):
        return Said("failure", "words on some of the samples")
    if (said.role == "call_rate" or said.why == A_MARGIN) and _only_words(sample, i):
        return Said("failure", "a word on each sample")
    return None


def _only_words(sample: Sequence[Row], i: int) -> bool:
    return bool(_filled(sample, i)) and not _any_number(sample, i)


_RESULTS = ("q", "other_q", "third_q", "heterozygosity", "n_loci", "call_rate", "lab_class")


def _fix_named(
    found: list[Said], headings: list[str], layout: Layout, questions: list[Question], file: str, sheet: str
) -> dict[int, str]:
    """Give the columns that a person or the layout names their role; return these roles by column."""
    fixed: dict[int, str] = {}
    for role, name in layout.columns.items():
        i = _named(name, headings, file, sheet)
        said = found[i]
        if (
            role not in layout.answered
            and said.role not in ("", role, "failure")
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
        if i not in fixed and said.role != "failure" and said.role in fixed.values():
            found[i] = replace(said, role="", why="another column was named", known=not said.strange)
    for i, role in fixed.items():
        # whose alleles an unnamed share counts is asked of each file, whatever an earlier one was answered
        bare = role == "q" and role not in layout.answered and found[i].why == BARE_Q
        found[i] = Said(role, BARE_Q if bare else "a person or the lab's layout says so", 0, known=True)
    return fixed


def _filled(sample: Sequence[Row], i: int) -> list[tuple[str, str]]:
    return [row[i] for row in sample if len(row) > i and row[i][1] != "empty"]


def _any_number(sample: Sequence[Row], i: int) -> bool:
    return any(number(text) or number(text, ",") for text, _ in _filled(sample, i))


def _words_again(sample: Sequence[Row], i: int) -> bool:
    """Whether a column holds no names of samples: few rows have any, or some occur again and most have no digit."""
    texts = [text.strip() for text, _ in _filled(sample, i)]
    few = 0 < 2 * len(texts) <= len(sample)
    with_digits = sum(re.search(r"\d", text) is not None for text in texts)
    return few or (len(set(texts)) < len(texts) and 2 * with_digits < len(texts))


def _mostly_numbers(sample: Sequence[Row], i: int) -> bool:
    cells = _filled(sample, i)
    return bool(cells) and 2 * sum(bool(number(text) or number(text, ",")) for text, _ in cells) > len(cells)


def _only_plain_ones(found: list[Said], role: str, fixed: dict[int, str], sample: Sequence[Row]) -> None:
    """Leave to a person each column whose heading has words that may make another thing of it."""
    for i, said in enumerate(found):
        if said.role == role and i not in fixed and said.strange:
            if said.strange == ("fl",) and any(
                other.role == "other_q" and not other.strange for other in found
            ):
                found[i] = replace(said, strange=())  # beside the other taxon's share it is no length
            else:
                found[i] = replace(said, role="")


def questions_of_columns(
    found: Sequence[Said], headings: Sequence[str], rows: Sequence[Row], layout: Layout
) -> list[Question]:
    """Return a question for each column that is neither used nor known to be harmless."""
    asked = []
    has_q = any(said.role == "q" for said in found)
    for i, said in enumerate(found):
        if said.role or (said.known and not said.strange) or not any(True for _ in _filled(rows, i)):
            continue
        other_vial = said.why.startswith("another column was taken for our vial")
        if other_vial and strange_in(headings[i]):
            said = Said("", "", strange=strange_in(headings[i]))
        elif said.why == SALMOIDES or said.why.startswith(_EXPLAINED):
            continue
        if all(text.strip().casefold() in NO_VALUE for text, _ in _filled(rows, i)):
            continue  # it holds no value
        heading = " ".join(headings[i].split())
        name = (
            heading
            if heading and sum(plain(heading) == plain(text) for text in headings) == 1
            else column_letter(i + 1)
        )
        harmless = heading if name == heading else f"column {name}"
        first = _filled(rows, i)[0][0].strip()[:30]
        what = f"column {column_letter(i + 1)}" + (f" {heading!r}" if heading else ", which has no heading,")
        numbers = _mostly_numbers(rows[:SAMPLE], i)
        role = _role_meant(said, headings[i], layout)
        if said.strange == ("hidden",):
            why = "is hidden"
        elif said.strange and role:
            meaning = ROLES[role].format(taxon=layout.taxa.taxon, other_taxon=layout.taxa.other_taxon)
            why = f"may be the {meaning}, but {', '.join(said.strange)} may make another thing of it"
        else:
            why = f"is not known (first value {first!r})"
        choices: list[tuple[str, str, str]] = []
        if role:
            choices.append(("column", role, name))
        elif numbers and not has_q:
            choices.append(("column", "q", name))
        elif not numbers or {text.strip() for text, _ in _filled(rows, i)} <= {"0", "1"}:
            choices.append(("column", "failure", name))
        choices.append(("harmless", "", harmless))
        asked.append(Question(f"{what} {why}", tuple(choices), f"column {column_letter(i + 1)}"))
    return asked


SAMPLE = 400
_EXPLAINED = ("another column", "genotypes, but", "column ", "the same numbers")
NO_VALUE = ("na", "n/a", "nd", "n.d.", "-", "--", "null", "none", ".")  # that say nothing of a sample


def _role_meant(said: Said, heading: str, layout: Layout) -> str:
    again = recognise(heading, layout.taxa)
    return again.role if again and again.role in _RESULTS and said.strange else ""


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


def _choose_vial(
    found: list[Said], headings: list[str], sample: Sequence[Row], questions: list[Question]
) -> None:
    share: dict[int, tuple[int, int]] = {}
    for i, said in enumerate(found):
        if said.role not in ("vial", ""):
            continue
        texts = [row[i][0] for row in sample if len(row) > i and row[i][1] != "empty"]
        codes = sum(map(is_code, texts))
        if codes and 2 * codes >= len(texts):
            share[i] = (codes, len(texts))
    named = sorted((said.tier, i) for i, said in enumerate(found) if said.role == "vial")
    if len(share) == 1 or (share and len({tuple(_codes(sample, i)) for i in share}) == 1):
        i = min(share, key=lambda i: (found[i].tier if found[i].role == "vial" else 9, i))
        codes, n = share[i]
        _keep(found, "vial", i, f"{codes} of {n} values read as vial codes")
    elif share:
        texts = [headings[i] or column_letter(i + 1) for i in share]
        text = f"columns {' and '.join(texts)} both hold vial codes, not the same ones"
        questions.append(Question(text, _which("vial", texts)))
    elif len(named) > 1 and named[0][0] == named[1][0]:
        texts = [headings[i] for tier, i in named if tier == named[0][0]]
        text = f"columns {' and '.join(texts)} could both hold our vial codes"
        questions.append(Question(text, _which("vial", texts)))
    elif named:
        _keep(found, "vial", named[0][1], found[named[0][1]].why)


def _which(role: str, headings: list[str]) -> tuple[tuple[str, str, str], ...]:
    return tuple(("column", role, " ".join(heading.split())) for heading in headings)


def _codes(sample: Sequence[Row], i: int) -> list[str]:
    return [parse(without_well(row[i][0])) for row in sample if len(row) > i and is_code(row[i][0])]


def _keep(found: list[Said], role: str, kept: int, why: str) -> None:
    for i, said in enumerate(found):
        if said.role == role and i != kept:
            found[i] = Said("", f"another column was taken for {ROLES[role].split('{')[0].strip()}")
    found[kept] = Said(role, why)


def _choose_one(
    found: list[Said],
    headings: list[str],
    sample: Sequence[Row],
    role: str,
    questions: list[Question],
    layout: Layout,
) -> None:
    columns = [i for i, said in enumerate(found) if said.role == role]
    if len(columns) < 2:
        return
    filled = [i for i in columns if _filled(sample, i)]
    if len(filled) < 2:
        _keep(found, role, (filled or columns)[0], found[(filled or columns)[0]].why)
        return
    first = filled[0]
    if found[first].tier and all(_same_numbers(sample, first, i) for i in filled[1:]):
        _keep(found, role, first, found[first].why)
        for i in filled[1:]:
            found[i] = Said("", f"the same numbers as column {headings[first]}", known=True)
        return
    if role == "n_loci" and (scored := _scored_column(found, filled, sample)) is not None:
        _keep(found, role, scored, found[scored].why)
        return
    texts = [headings[i] or column_letter(i + 1) for i in filled]
    if len({plain(text) for text in texts}) < len(texts):
        texts = [column_letter(i + 1) for i in filled]
    meaning = ROLES[role].format(taxon=layout.taxa.taxon, other_taxon=layout.taxa.other_taxon)
    questions.append(
        Question(f"columns {' and '.join(texts)} could all be the {meaning}", _which(role, texts))
    )


def _same_numbers(sample: Sequence[Row], a: int, b: int) -> bool:
    """Whether two columns say the same in every row, one of them perhaps in percent."""
    pairs = [
        (row[a], row[b])
        for row in sample
        if len(row) > max(a, b) and (row[a][1] != "empty" or row[b][1] != "empty")
    ]
    scales: set[float] = set()
    for (left, _), (right, _) in pairs:
        x, y = (number(text.replace(",", ".", 1)) for text in (left, right))
        if x is None or y is None:
            if left.strip() != right.strip():
                return False
            continue
        if x.value == y.value == 0:
            continue
        fitting = {
            scale for scale in (1, 100, 0.01)
            if abs(x.value - y.value * scale) <= x.half_digit + y.half_digit * scale + 1e-9
        }  # fmt: skip
        scales = scales & fitting if scales else fitting
        if not scales:
            return False
    return bool(pairs)


def _scored_column(found: list[Said], columns: Sequence[int], sample: Sequence[Row]) -> int | None:
    """The one column that says that its loci were scored, where no other is smaller in any row."""
    scored = [i for i in columns if found[i].tier == 1]
    if len(scored) != 1:
        return None
    for row in sample:
        there = [number(row[i][0]) if len(row) > i else None for i in (scored[0], *columns)]
        own = there[0]
        if own and any(other and other.value < own.value for other in there):
            return None
    return scored[0]


def with_genotypes(
    columns: list[Column],
    sample: Sequence[Row],
    layout: Layout,
    questions: list[Question],
    file: str,
    sheet: str,
) -> tuple[list[Column], Layout]:
    """Settle how genotype columns are coded; without that they are used only when nothing else can be."""
    markers = [column.number - 1 for column in columns if column.role == "marker"]
    if not markers:
        return columns, layout
    coding = layout.coding or coding_of([row[i][0] for i in markers for row in sample if len(row) > i])
    taxa = layout.taxa
    ready = bool(layout.counted) if coding == "counts" else bool(coding and layout.markers)
    if ready:
        return columns, replace(layout, coding=coding)
    q = next((column.number - 1 for column in columns if column.role == "q"), None)
    if q is not None and coding == "counts":
        told = _told_by_q(sample, markers, q, layout)
        if told is not None:
            counted, evidence = told
            why = f"genotypes 0, 1 and 2 of {counted} alleles: {evidence}"
            columns = [replace(c, why=why) if c.role == "marker" else c for c in columns]
            return columns, replace(layout, coding=coding, counted=counted)
    if q is not None:
        way_out = (
            f"say it with --counted {taxa.taxon} or {taxa.other_taxon}"
            if coding == "counts"
            else "give the marker table in a layout, under [genotypes.markers]"
        )
        why = f"genotypes, but nothing says which allele is {taxa.taxon}'s, so the lab's own share is taken; {way_out}"
        return [replace(c, role="", why=why) if c.role == "marker" else c for c in columns], layout
    if coding == "counts":
        choices = (("counted", "", taxa.taxon), ("counted", "", taxa.other_taxon))
        text = f"{len(markers)} columns hold genotypes 0, 1 and 2: alleles of which taxon are counted?"
        questions.append(Question(text, choices))
        return columns, replace(layout, coding=coding)
    raise SheetFault(
        f"{len(markers)} columns hold genotypes, but nothing says which allele is {taxa.taxon}'s",
        file=file,
        sheet=sheet or None,
        way_out="give the panel, or the layout under [genotypes.markers], the marker table",
    )


def _told_by_q(
    sample: Sequence[Row], markers: Sequence[int], q: int, layout: Layout
) -> tuple[str, str] | None:
    rows = [row for row in sample if len(row) > q]
    mark = layout.decimal or decimal_mark(Counter(row[q][0] for row in rows if row[q][1] == "text"))[0]
    fish = []
    for row in rows:
        stated, kind = row[q]
        if kind == "text" and mark == ",":
            stated = stated.replace(",", ".", 1)
        fish.append(([row[i][0] for i in markers if len(row) > i], stated))
    return taxon_counted(fish, layout.taxa)
