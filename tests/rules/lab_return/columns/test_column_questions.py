"""What each column beside the share is taken for, what is asked about it, and with which answers."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from return_tables import SHARES, N, but, read

from geneticlog.errors import SheetFault
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.lab_return.words.roles import ColumnRole

FLORIDA = Layout(taxon_of_q="Florida")
LEFT = [f"{1 - float(q):.2f}" for q in SHARES]
LOCI = ["38"] * N
NORTH = [f"{0.9 - 0.9 * float(q):.2f}" for q in SHARES]
THIRD = [f"{1 - float(q) - float(n):.2f}" for q, n in zip(SHARES, NORTH, strict=True)]
HARMLESS, HOLD = "--harmless Odd", "--hold Odd"


def of(
    headings: list[str], columns: list[list[Any]], kept: Layout = FLORIDA
) -> tuple[list[str], list[tuple[str, str]]]:
    """The role of each column but the vials', and each question with its answers."""
    reading, _ = read(headings, columns, kept)
    return [str(one.role) for one in reading.columns[1:]], [(q.text, q.options) for q in reading.questions]


@pytest.mark.parametrize(
    ("heading", "column", "role", "says", "answers"),
    [
        ("Odd", LEFT, "", "'Odd' is not known (first value '0.90')", ["--column other_q=Odd", HARMLESS, HOLD]),
        ("Odd", SHARES, "", "'Odd' is not known (first value '0.10')", [HARMLESS, HOLD]),
        ("Odd", ["x y"] * N, "", "'Odd' is not known (always 'x y')", ["--column failure=Odd", HARMLESS, HOLD]),
        ("Odd", but([""] * N, _3="x y"), "", "(first value 'x y')", ["--column failure=Odd", HARMLESS, HOLD]),
        ("Odd", ["F1", "F2"] * 5, "", "(values 'F1' in 5 rows, 'F2' in 5 rows)",
         ["--column lab_class=Odd", "--column failure=Odd", HARMLESS, HOLD]),
        ("Odd", ["0", "1"] * 5, "", "(values '0' in 5 rows, '1' in 5 rows)",
         ["--column failure=Odd", HARMLESS, HOLD]),
        ("Odd", but(["x y"] * N, _3="z w"), "", "(values 'x y' in 9 rows, 'z w')",
         ["--column failure=Odd", HARMLESS, HOLD, '--hold "Odd other than x y"']),
        ("Odd", LOCI, "", "(always '38')", [HARMLESS, HOLD]),
        ("Odd", ["na"] * N, "", "", []),  # no value
        ("Odd", but(["na"] * N, _3="x"), "", "(values 'na' in 9 rows, 'x')",
         ["--column failure=Odd", HARMLESS, HOLD, '--hold "Odd other than na"']),
        # without a heading
        ("", LOCI, "", "column C, which has no heading, is not known",
         ["--column n_loci=C", '--harmless "column C"', '--hold "column C"']),
        ("", ["4"] * N, "", "which has no heading", ['--harmless "column C"', '--hold "column C"']),
        ("", ["5"] * N, "", "has no heading", ["--column n_loci=C", '--harmless "column C"', '--hold "column C"']),
        ("", ["38.5"] * N, "", "which has no heading", ['--harmless "column C"', '--hold "column C"']),
        ("", [str(i) for i in range(1, N + 1)], "", "", []),  # the rows are counted
        ("", [str(i) for i in range(N)], "", "", []),
        ("", [str(i) for i in range(2, N + 2)], "", "(first value '2')",
         ['--harmless "column C"', '--hold "column C"']),
        ("", ["ok"] * N, "failure", "", []),
        # a word that may change its meaning
        ("Northern 2024", LEFT, "", "may be the share of northern alleles, but 2024 may change its meaning",
         ['--column other_q="Northern 2024"', '--harmless "Northern 2024"', '--hold "Northern 2024"']),
        ("Florida 2024", SHARES, "", "may be the share of Florida alleles, but 2024",
         ['--harmless "Florida 2024"', '--hold "Florida 2024"']),
        ("Loci scored 2024", LOCI, "", "may be the loci scored, but 2024",
         ['--column n_loci="Loci scored 2024"', '--harmless "Loci scored 2024"', '--hold "Loci scored 2024"']),
        ("Northern?", LEFT, "", "may be the share of northern alleles, but ? may",
         ['--column other_q="Northern?"', '--harmless "Northern?"', '--hold "Northern?"']),
        # values that are not what the heading says
        ("Comment", SHARES, "", "'Comment' is not known", ["--harmless Comment", "--hold Comment"]),
        ("Class", SHARES, "", "may be the lab's class, but numbers may",
         ["--column lab_class=Class", "--harmless Class", "--hold Class"]),
        ("Call rate", ["ok"] * N, "failure", "", []),
        ("CI", ["ok"] * N, "failure", "", []),
        ("CI", ["0.1-0.9"] * N, "", "", []),
        ("Northern", LEFT, "other_q", "", []),
        ("Loci scored", LOCI, "n_loci", "", []),
        ("Lake", ["Elm"] * N, "", "", []),
    ],
)  # fmt: skip
def test_a_column_beside_the_share(
    heading: str, column: list[str], role: str, says: str, answers: list[str]
) -> None:
    (q, beside), questions = of(["Florida", heading], [SHARES, column])
    assert (q, beside) == ("q", role)
    assert [options for _, options in questions] == ([" or ".join(answers)] if answers else [])
    assert all(says in text for text, _ in questions)


@pytest.mark.parametrize(
    ("headings", "columns", "says", "answers"),
    [
        (["Florida?"], [SHARES], "but ? may change its meaning", '--column q="Florida?"'),
        (["Odd", "Even", "Loci scored"], [SHARES, LEFT, LOCI],
         "which column is the share of Florida alleles? B 'Odd' is not known (first value '0.10'); C 'Even' is not",
         "--column q=Odd or --column q=Even"),
        (["Odd", "Note", "Loci scored"], [SHARES, ["ok"] * N, LOCI], "'Odd' is not known", "--column q=Odd"),
        (["M. salmoides"], [SHARES], "M. salmoides was the northern fish before 2022",
         '--column q="M. salmoides" or --column other_q="M. salmoides"'),
        (["M. salmoides", "Florida"], [SHARES, SHARES], "", ""),
        (["Florida", "Northern", "Odd"], [SHARES, NORTH, THIRD], "'Odd' is not known",
         "--column third_q=Odd or --harmless Odd or --hold Odd"),
        (["Florida", "Northern", "Odd"], [SHARES, NORTH, NORTH], "'Odd' is not known", "--harmless Odd or --hold Odd"),
        (["Florida", "spotted"], [SHARES, ["0.00"] * N], "'spotted' is not known",
         "--column third_q=spotted or --harmless spotted or --hold spotted"),
        (["Florida", "Odd", "Odd"], [SHARES, ["x y"] * N, [""] * N], "column C 'Odd' is not known",
         '--column failure=C or --harmless "column C" or --hold "column C"'),
    ],
)  # fmt: skip
def test_the_columns_of_a_file(headings: list[str], columns: list[Any], says: str, answers: str) -> None:
    _, questions = of(headings, columns)
    assert [options for _, options in questions] == ([answers] if answers else [])
    assert all(says in text for text, _ in questions)


def named(role: str, name: str, *, answered: bool = False) -> Layout:
    of_role = ColumnRole(role)
    return Layout(columns={of_role: name}, answered=frozenset({of_role} if answered else ()))


@pytest.mark.parametrize(
    ("kept", "roles", "asked"),
    [
        (named("q", "Northern"), ["", "q", ""],
         ["--column q=Northern or --column other_q=Northern",
          "--column other_q=Share or --harmless Share or --hold Share", "--taxon northern or --taxon Florida"]),
        (named("q", "C"), ["", "q", ""],
         ["--column q=Northern or --column other_q=Northern",
          "--column other_q=Share or --harmless Share or --hold Share", "--taxon northern or --taxon Florida"]),
        (named("q", "Share"), ["q", "other_q", ""], ["--column q=Share or --column q=Florida"]),
        (named("q", "Share", answered=True), ["q", "other_q", ""], []),
        (named("q", "Florida"), ["", "other_q", "q"], ["--harmless Share or --hold Share"]),
        (named("n_loci", "share"), ["n_loci", "other_q", "q"], []),
        (named("q", "Other", answered=True), None, ["there is no column headed 'Other'"]),
        (named("q", "Other"), ["", "other_q", "q"], ["--column q=Florida", "--harmless Share or --hold Share"]),
        (named("failure", "Remarks"), ["", "other_q", "q"], ["--harmless Share or --hold Share"]),
        (named("n_loci", "Loci"), ["", "other_q", "q"], ["--harmless Share or --hold Share"]),
        (named("vial", "Tube"), ["", "other_q", "q"], ['--column vial="Vial ID"', "--harmless Share or --hold Share"]),
        (named("q", "E"), None, ["there is no column headed 'E'; the columns are A Vial ID, B Share, C"]),
    ],
)  # fmt: skip
def test_a_column_that_a_layout_names(kept: Layout, roles: list[str] | None, asked: list[str]) -> None:
    headings, columns = ["Share", "Northern", "Florida"], [SHARES, LEFT, SHARES]
    if roles is None:
        with pytest.raises(SheetFault) as fault:
            of(headings, columns, kept)
        assert asked[0] in str(fault.value)
        return
    seen, questions = of(headings, columns, kept)
    assert (seen, [options for _, options in questions]) == (roles, asked)


def test_a_name_that_two_columns_have_is_refused() -> None:
    with pytest.raises(SheetFault, match="there are two columns headed 'Share'"):
        of(["Share", "Share", "Florida"], [SHARES, SHARES, SHARES], named("q", "Share"))


@pytest.mark.parametrize(
    ("heading", "column", "harmless", "against"),
    [
        ("Odd", ["x y"] * N, "odd", ""),
        ("Odd", ["x y"] * N, "column c", ""),
        ("Odd", ["x y"] * N, "", "odd"),
        ("Odd", ["x y"] * N, "", "column c"),
        ("Odd", but(["x y"] * N, _3="z"), "", "odd other than x y"),
        ("Comment", SHARES, "", "comment"),
        ("Class", SHARES, "class", ""),
    ],
)
def test_a_column_that_a_person_settled_is_not_asked_about(
    heading: str, column: list[str], harmless: str, against: str
) -> None:
    words = [frozenset(filter(None, [text])) for text in (harmless, against)]
    kept = replace(FLORIDA, harmless=words[0], against=words[1])
    reading, _ = read(["Florida", heading], [SHARES, column], kept)
    assert (str(reading.columns[2].role), reading.questions) == ("", ())
    says = "it changes nothing" if harmless else "casts doubt on the value beside it"
    assert reading.columns[2].why.endswith(says)


# units: "25" may be a percentage or a count
WHOLE = [str(round(100 * float(q))) for q in SHARES]


@pytest.mark.parametrize(
    ("headings", "columns", "kept", "units", "asked"),
    [
        (["Florida"], [SHARES], {}, ["fraction"], []),
        (["Florida %"], [WHOLE], {}, ["percent"], []),
        (["Florida"], [WHOLE], {}, [""], ["--unit q=percent or --unit q=fraction or --unit q=count"]),
        (["Florida"], [WHOLE], {"units": {ColumnRole.Q: "percent"}}, ["percent"], []),
        (["Florida"], [[f"{q}%" for q in WHOLE]], {}, ["percent"], []),
        (["Florida", "Northern"], [WHOLE, [str(100 - int(q)) for q in WHOLE]], {}, ["percent", "percent"], []),
        (["Florida", "Northern", "Loci scored"], [WHOLE, [str(76 - int(q)) for q in WHOLE], LOCI], {},
         ["count", "count", ""], []),
        # of 0 and 1 the share leads
        (["Florida", "Heterozygosity"], [[f"{q}.5" for q in WHOLE], ["0", "1"] * 5], {}, ["percent", "percent"], []),
        # kept for an earlier file
        (["Florida"], [SHARES], {"kept_units": {ColumnRole.Q: "percent"}}, ["fraction"],
         ["--unit q=fraction or --unit q=percent"]),
        (["Florida"], [SHARES], {"kept_units": {ColumnRole.Q: "fraction"}}, ["fraction"], []),
        (["Florida"], [["0"] * N], {"kept_units": {ColumnRole.Q: "percent"}}, ["fraction"], []),
        (["Florida"], [SHARES], {"kept_units": {ColumnRole.Q: "percent"}, "units": {ColumnRole.Q: "fraction"}},
         ["fraction"], []),
        # a person's answer that most values cannot be in
        (["Florida"], [[f"{q}.5" for q in WHOLE]], {"units": {ColumnRole.Q: "fraction"}}, ["fraction"],
         ["--unit q=percent"]),
        (["Florida"], [["0.2"] * 5 + ["20.5"] * 5], {"units": {ColumnRole.Q: "fraction"}}, ["fraction"], []),  # half
        (["Florida"], [["0.2"] * 4 + ["20.5"] * 6], {"units": {ColumnRole.Q: "fraction"}}, ["fraction"],
         ["--unit q=percent"]),
        (["Florida"], [["0.2"] * 4 + ["200"] * 6], {"units": {ColumnRole.Q: "percent"}}, ["percent"],
         ["--unit q=fraction or --unit q=count"]),
        (["Florida"], [["20"] * 4 + ["200"] * 6], {"units": {ColumnRole.Q: "percent"}}, ["percent"],
         ["--unit q=count"]),
        (["Florida"], [["20.5"]], {"units": {ColumnRole.Q: "fraction"}}, ["fraction"], []),  # one value
        # two units in one file
        (["Florida", "Heterozygosity"], [[f"{q}.5" for q in WHOLE], ["0.50"] * N], {}, ["percent", "fraction"], []),
        (["Florida", "Heterozygosity %"], [SHARES, but([f"{q}.5" for q in WHOLE], _3="0.3", _4="0.1")], {},
         ["fraction", ""], ["--unit heterozygosity=percent or --unit heterozygosity=fraction"]),
    ],
)  # fmt: skip
def test_the_unit_of_each_column(
    headings: list[str], columns: list[list[str]], kept: dict[str, Any], units: list[str], asked: list[str]
) -> None:
    reading, _ = read(headings, columns, replace(FLORIDA, **kept))
    assert [one.unit for one in reading.columns[1:]] == units
    assert [question.options for question in reading.questions] == asked
