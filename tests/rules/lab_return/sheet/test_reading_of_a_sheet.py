"""Genotypes beside shares, odd loci, columns of codes, pages, and what a sheet is refused for."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from return_tables import CODES, SHARES, N, but, read

from geneticlog.errors import SheetFault
from geneticlog.rules.lab_return.columns.column_choice import choose_one, choose_vial, only_plain_ones
from geneticlog.rules.lab_return.columns.odd_loci import KEY, odd_loci
from geneticlog.rules.lab_return.columns.read_columns import read_columns
from geneticlog.rules.lab_return.sheet.parts import Part
from geneticlog.rules.lab_return.sheet.reading import Question, Row
from geneticlog.rules.lab_return.words.headings import Said
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.lab_return.words.roles import ColumnRole

# ten fish at eight loci, whose share is that of the counted alleles
COUNTS = [[(i * k + k // 2) % 3 for k in range(1, 9)] for i in range(1, 11)]
OWN = [sum(each) / 16 for each in COUNTS]
LOCI = [f"Locus{k}" for k in range(1, 9)]
NAMED = Layout(taxon_of_q="Florida")


def genotypes(words: tuple[str, str, str] = ("0", "1", "2")) -> list[list[str]]:
    return [[words[each[k]] for each in COUNTS] for k in range(8)]


def shares(*, turned: bool = False, decimal: str = ".", times: float = 1.0) -> list[str]:
    return [f"{times * (1 - q if turned else q):.4f}".replace(".", decimal) for q in OWN]


DIGITS, LETTERS = ("22", "12", "11"), ("CC", "CT", "TT")


@pytest.mark.parametrize(
    ("columns", "kept", "counted", "asks"),
    [
        ([shares(), *genotypes()], {}, "Florida", ""),
        ([shares(turned=True), *genotypes()], {}, "northern", ""),
        ([shares(decimal=","), *genotypes()], {}, "Florida", ""),
        ([shares(times=100), *genotypes()], {"units": {ColumnRole.Q: "percent"}}, "Florida", ""),
        ([shares(), *genotypes(DIGITS)], {}, "Florida", ""),
        ([shares(), *genotypes()], {"taxon_of_q": "northern"}, "northern", ""),
        ([shares(turned=True), *genotypes()], {"taxon_of_q": "northern"}, "Florida", ""),
        ([shares(), *genotypes()], {"coding": "counts", "counted": "northern"}, "northern", ""),
        # an earlier file coded them otherwise
        ([shares(), *genotypes()], {"coding": "digits", "counted": "northern"}, "Florida", ""),
        ([["0.5"] * N, *genotypes()], {}, "", ""),  # the shares do not tell, and are taken
        ([shares(), *genotypes(LETTERS)], {}, "", ""),
    ],
)
def test_genotypes_beside_shares(
    columns: list[list[str]], kept: dict[str, Any], counted: str, asks: str
) -> None:
    reading, _ = read(["Florida", *LOCI], columns, replace(NAMED, **kept))
    roles = {str(one.role) for one in reading.columns[2:]}
    assert roles == ({"marker"} if counted else {""})
    assert reading.layout.counted == counted
    if not counted:
        why = reading.columns[2].why
        assert why.startswith("genotypes, but nothing says which allele is Florida's")
        assert ("--counted Florida or northern" in why) == (columns[1][0] in "012")


def sheet_of(headings: list[str], columns: list[list[str]], layout: Layout = NAMED, **more: Any) -> Any:
    rows: list[Row] = [[("Vial ID", "text"), *((heading, "text") for heading in headings)]]
    rows += [
        [(code, "text"), *((cell, "text" if cell else "empty") for cell in cells)]
        for code, cells in zip(CODES, zip(*columns, strict=True), strict=False)
    ]
    return read_columns(rows, layout, file="return.csv", **more)


@pytest.mark.parametrize(
    ("words", "headings", "asks"),
    [
        (("0", "1", "2"), LOCI, "8 columns hold genotypes 0, 1 and 2: alleles of which taxon are counted?"),
        (DIGITS, LOCI, "8 columns hold genotypes 11, 12 and 22: of which taxon is allele 1?"),
    ],
)
def test_genotypes_without_shares(words: tuple[str, str, str], headings: list[str], asks: str) -> None:
    reading = sheet_of(["Loci scored", *headings], [["8"] * N, *genotypes(words)])
    (question,) = reading.questions
    assert question.text == asks
    assert [value for _, _, value in question.choices] == ["Florida", "northern"]


def test_letters_without_a_table_or_shares_are_refused() -> None:
    with pytest.raises(
        SheetFault, match="8 columns hold genotypes, but nothing says which allele is Florida's"
    ):
        sheet_of(["Loci scored", *LOCI], [["8"] * N, *genotypes(LETTERS)])


@pytest.mark.parametrize(
    ("headings", "odd"),
    [
        ([], []),
        ([f"SNP{i}" for i in range(8)], []),
        ([*(f"SNP{i}" for i in range(8)), "Oak1", "Oak2"], ["Oak1", "Oak2"]),  # eight of ten
        ([*(f"SNP{i}" for i in range(7)), "Oak1"], []),  # seven are too few to be usual
        ([*(f"SNP{i}" for i in range(8)), "Oak1", "Elm1", "Fir1"], []),  # eight of eleven
        (["L1", "Sex", "mtDNA", "SexID", "cyt_b"], ["Sex", "mtDNA", "SexID", "cyt_b"]),
        ([*(f"{i}" for i in range(8)), "Oak1"], []),  # numbers alone
    ],
)
def test_loci_of_other_names(headings: list[str], odd: list[str]) -> None:
    assert odd_loci(headings) == odd


@pytest.mark.parametrize(
    ("odd", "kept", "named"),
    [
        (["mtDNA"], {}, "1 of 9 columns of genotypes (mtDNA) is named otherwise"),
        (["mtDNA", "COI"], {}, "2 of 10 columns of genotypes (mtDNA, COI) are named otherwise"),
        ([f"mt{i}" for i in range(7)], {}, "(mt0, mt1, mt2, mt3, mt4, mt5 and 1 more) are named otherwise"),
        (["mtDNA"], {"harmless": frozenset({KEY})}, ""),
        ([], {}, ""),
    ],
)
def test_loci_of_other_names_are_asked_about(odd: list[str], kept: dict[str, Any], named: str) -> None:
    columns = [shares(), *genotypes(), *([["0", "1"] * 5] * len(odd))]
    reading, _ = read(
        ["Florida", *LOCI, *odd], columns, replace(NAMED, coding="counts", counted="Florida", **kept)
    )
    asked = [question for question in reading.questions if question.key == KEY]
    assert len(asked) == bool(named)
    for question in asked:
        assert named in question.text
        assert [value for _, _, value in question.choices] == [*odd[:6], KEY]


def cells(*columns: list[str]) -> list[Row]:
    return [[(text, "text" if text else "empty") for text in row] for row in zip(*columns, strict=True)]


VIAL, NOT_USED = ColumnRole.VIAL, ColumnRole.NOT_USED
NAMES = [f"S{i}" for i in range(6)]


@pytest.mark.parametrize(
    ("said", "columns", "kept", "asks"),
    [
        ([(VIAL, 1), (VIAL, 1)], [CODES[:6], NAMES], 0, ""),  # by the values
        ([(VIAL, 1), (NOT_USED, 1)], [NAMES, CODES[:6]], 1, ""),
        ([(VIAL, 1), (VIAL, 1)], [CODES[:6], CODES[:6]], 0, ""),  # the same codes
        ([(VIAL, 2), (VIAL, 1)], [CODES[:6], CODES[:6]], 1, ""),  # the surer heading
        ([(VIAL, 1), (VIAL, 1)], [CODES[:6], CODES[6:12]], None,
         "both hold vial codes, and name other vials in 6 rows of 6 (first"),
        ([(VIAL, 1), (VIAL, 1)], [[*CODES[:3], "", "", ""], ["", "", "", *CODES[3:6]]], None,
         "both hold vial codes, not in the same rows"),
        ([(VIAL, 1), (VIAL, 1)], [CODES[:6], [f"sample of {code}" for code in CODES[6:12]]], 0, ""),  # bare ones
        ([(VIAL, 1), (VIAL, 1)], [[*CODES[:3], *NAMES[:3]], NAMES], 0, ""),  # half of them
        ([(VIAL, 1), (VIAL, 1)], [[*CODES[:2], *NAMES[:4]], NAMES], None, "could both hold our vial codes"),
        ([(VIAL, 1), (VIAL, 2)], [NAMES, NAMES], 0, ""),
        ([(NOT_USED, 1), (NOT_USED, 1)], [NAMES, NAMES], None, ""),
    ],
)  # fmt: skip
def test_which_column_holds_our_codes(
    said: list[tuple[ColumnRole, int]], columns: list[list[str]], kept: int | None, asks: str
) -> None:
    of = [Said(role, "", tier) for role, tier in said]
    questions: list[Question] = []
    choose_vial(of, ["Tube", "Sample"], cells(*columns), questions)
    assert len(questions) == bool(asks)
    assert all(asks in question.text for question in questions)
    if kept is not None:
        assert [i for i, one in enumerate(of) if one.role == VIAL] == [kept]


LOCI_SCORED = ColumnRole.N_LOCI


@pytest.mark.parametrize(
    ("columns", "kept"),
    [
        ([["38"] * 3, [""] * 3], [0]),
        ([[""] * 3, ["38"] * 3], [1]),
        ([[""] * 3, [""] * 3], [0]),
        ([["38", "37", "36"], ["38", "37", "36"]], [0]),  # the same numbers
        ([["36", "37", "36"], ["38", "38", "38"]], [0]),  # scored of those tried
        ([["38", "38", "38"], ["36", "37", "36"]], [0, 1]),  # the surer heading has the larger number
        ([["38", "36", "38"], ["36", "38", "36"]], [0, 1]),  # asked about
    ],
)
def test_one_of_two_columns_of_loci(columns: list[list[str]], kept: list[int]) -> None:
    of = [Said(LOCI_SCORED, "the heading names loci"), Said(LOCI_SCORED, "the heading names loci", 2)]
    questions: list[Question] = []
    choose_one(of, ["Loci", "SNPs"], cells(*columns), LOCI_SCORED, questions, Layout())
    assert [i for i, one in enumerate(of) if one.role == LOCI_SCORED] == kept
    assert len(questions) == (len(kept) > 1)


@pytest.mark.parametrize(
    ("strange", "other", "fixed", "kept"),
    [
        ((), None, False, True),
        (("2024",), None, False, False),
        (("2024",), None, True, True),
        (("fl",), None, False, False),  # a fork length perhaps
        (("fl",), (), False, True),
        (("fl",), ("2024",), False, False),
        (("fl", "2024"), (), False, False),
    ],
)
def test_a_strange_word_leaves_a_column_to_a_person(
    strange: tuple[str, ...], other: tuple[str, ...] | None, fixed: bool, kept: bool
) -> None:
    of = [Said(ColumnRole.Q, "", strange=strange)]
    of += [] if other is None else [Said(ColumnRole.OTHER_Q, "", strange=other)]
    only_plain_ones(of, ColumnRole.Q, {0: ColumnRole.Q} if fixed else {}, [])
    assert (of[0].role == ColumnRole.Q) is kept


@pytest.mark.parametrize(
    ("codes", "says"),
    [
        ([code[:-1] for code in CODES[:4]], "codes without their last character"),
        ([*(code[:-1] for code in CODES[:2]), "x", "y"], "is no"),
        (["1", "2", "3", "4"], "they are the numbers of a list"),
        (["1.2E+05", "1.3E+05", "x", "y"], "; 2 look changed by a spreadsheet program"),
        (["v", "w", "x", "y"], "(the first is 'v')"),
    ],
)
def test_a_column_of_vials_without_a_code(codes: list[str], says: str) -> None:
    rows: list[Row] = [
        [("Vial", "text"), ("Florida", "text")],
        *[[(code, "text"), ("0.2", "text")] for code in codes],
    ]
    with pytest.raises(SheetFault) as fault:
        read_columns(rows, NAMED, file="return.csv")
    assert "none of its values is a vial code" in str(fault.value) or says == "is no"
    assert (says in str(fault.value)) or says == "is no"
    assert "without their last" not in str(fault.value) or says.startswith("codes without")


@pytest.mark.parametrize(
    ("headings", "layout", "says"),
    [
        (["Florida ‰"], NAMED, "per mille"),
        (["Florida per mill"], NAMED, "per mille"),
        (["Florida", "Promille"], NAMED, "per mille"),
        (["Northern", "spotted"], replace(NAMED, columns={ColumnRole.THIRD_Q: "spotted"}),
         "no column holds the share of Florida alleles, nor genotypes; ask the lab for that column, or name it"),
        (["Loci scored"], NAMED, "no column holds the share of Florida alleles, nor genotypes; name it"),
    ],
)  # fmt: skip
def test_what_a_sheet_is_refused_for(headings: list[str], layout: Layout, says: str) -> None:
    values = {"Loci scored": ["38"] * N, "spotted": ["0.01"] * N}
    with pytest.raises(SheetFault) as fault:
        sheet_of(headings, [values.get(heading, SHARES) for heading in headings], layout)
    assert says in str(fault.value).replace("return.csv, row 1: ", "")


def test_pages_of_one_table_are_judged_each_by_itself() -> None:
    rows: list[Row] = [[("Vial ID", "text"), ("Florida", "text")]]
    rows += [[(code, "text"), (q, "text")] for code, q in zip(CODES, SHARES[:5], strict=False)]
    rows += [rows[0]]
    rows += [
        [(code, "text"), (f"{100 * float(q):.1f}", "text")]
        for code, q in zip(CODES[5:], SHARES[5:], strict=False)
    ]
    reading = read_columns(rows, NAMED, file="return.csv")
    assert reading.columns[1].own_units == ((1, 6, "fraction"), (7, 12, "percent"))
    assert reading.data_rows == (2, 3, 4, 5, 6, 8, 9, 10, 11, 12)
    assert (reading.columns[1].unit_at(6), reading.columns[1].unit_at(7)) == ("fraction", "percent")


@pytest.mark.parametrize(("column", "hidden", "asks"), [(1, True, True), (1, False, False), (3, True, False)])
def test_a_hidden_column_is_taken_by_a_person_only(column: int, hidden: bool, asks: bool) -> None:
    reading = sheet_of(
        ["Florida", "Odd"], [SHARES, but(["x y"] * N, _3="z")], hidden=(column,) if hidden else ()
    )
    texts = [question.text for question in reading.questions]
    assert any("which is hidden: are they those of these rows?" in text for text in texts) is asks
    assert any("'Odd' is hidden" in text for text in texts) is (column == 3)


def test_one_part_alone_is_judged_with_the_file() -> None:
    signed = [f"{100 * float(q):.0f}%" for q in SHARES]
    columns = sheet_of(["Florida proportion"], [signed], parts=[Part("row 1", 1, 99, {})]).columns
    assert (columns[1].unit, columns[1].own_units) == ("percent", ())
    parts = [Part("row 1", 1, 6, {}), Part("row 7", 7, 99, {})]
    half = sheet_of(["Florida"], [[*signed[:5], *SHARES[5:]]], parts=parts).columns
    assert half[1].own_units == ((1, 6, "percent"), (7, 99, "fraction"))
