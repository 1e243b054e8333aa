"""Which of several columns is taken, where rows end early, as those of a text file do."""

from __future__ import annotations

from geneticlog.rules.lab_return.columns.column_choice import choose_one, choose_vial
from geneticlog.rules.lab_return.sheet.reading import Question
from geneticlog.rules.lab_return.words.headings import Said
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.lab_return.words.roles import ColumnRole

HEADINGS = ["Vial", "Loci scored", "Loci"]


def row(*texts: str) -> list[tuple[str, str]]:
    return [(text, "text") for text in texts]


def test_a_row_that_ends_before_a_column_says_nothing_against_another() -> None:
    found = [
        Said(ColumnRole.VIAL, ""), Said(ColumnRole.N_LOCI, "loci scored"), Said(ColumnRole.N_LOCI, "loci", 2),
    ]  # fmt: skip
    rows = [row("BG000001J", "36", "38"), row("BG000002H", "37"), row("BG000003F"), row()]
    questions: list[Question] = []
    choose_vial(found, HEADINGS, rows, questions)
    assert found[0] == Said(ColumnRole.VIAL, "3 of 3 values read as vial codes")
    choose_one(found, HEADINGS, rows, ColumnRole.N_LOCI, questions, Layout())
    assert [said.role for said in found] == [ColumnRole.VIAL, ColumnRole.N_LOCI, ColumnRole.NOT_USED]
    assert questions == []


def test_a_smaller_number_in_any_row_leaves_two_columns_to_a_person() -> None:
    found = [
        Said(ColumnRole.VIAL, ""), Said(ColumnRole.N_LOCI, "loci scored"), Said(ColumnRole.N_LOCI, "loci", 2),
    ]  # fmt: skip
    questions: list[Question] = []
    rows = [row("BG000001J", "36", "38"), row("BG000002H", "37", "36")]
    choose_one(found, HEADINGS, rows, ColumnRole.N_LOCI, questions, Layout())
    assert [said.role for said in found[1:]] == [ColumnRole.N_LOCI] * 2
    assert "Loci scored and Loci could all be" in questions[0].text


def test_columns_of_other_codes_are_named_by_their_headings_or_letters() -> None:
    for second, named in (("Tube", "columns Vial and Tube"), ("", "columns Vial and B")):
        found = [Said(ColumnRole.VIAL, ""), Said(ColumnRole.VIAL, "")]
        questions: list[Question] = []
        choose_vial(found, ["Vial", second], [row("BG000001J", "BG000003F")], questions)
        assert questions[0].text.startswith(
            f"{named} both hold vial codes, and name other vials in 1 row of 1"
        )
