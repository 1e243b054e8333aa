"""The headings of columns: one recogniser, with the vocabulary of field sheets and that of labs."""

from __future__ import annotations

import re

import pytest

from geneticlog.rules.boat.sheet_columns import HEADINGS, Meaning, meaning, nearest_headings
from geneticlog.rules.column_headings import Sense, Vocabulary, normalised, strange_words
from geneticlog.rules.lab_return.words.headings import SALMOIDES, Taxa, recognise, taxa_named, turns_round


def test_a_heading_is_compared_without_case_separators_and_invisible_signs() -> None:
    assert normalised("\ufeffTotal\u200b_Length\n(mm)", "") == "total length mm"
    assert normalised("Fish #", "#") == "fish"
    assert normalised("Fish #", "") == "fish #"
    assert strange_words("% florida 2024", [{"%"}, {"florida"}]) == ("2024",)


def test_a_vocabulary_answers_with_a_meaning_an_ambiguity_or_nothing() -> None:
    lake, pond = (
        Sense(name, re.compile(rf"\b{name}\b"), frozenset({name, "name"})) for name in ("lake", "pond")
    )
    side_by_side, in_order = Vocabulary([[lake, pond]]), Vocabulary.in_order([lake, pond])
    assert side_by_side.look("lake name").meaning == "lake"
    assert side_by_side.look("lake name 2").strange == ("2",)
    both = side_by_side.look("pond lake")
    assert both.meaning is None
    assert [sense.meaning for sense in both.senses] == ["lake", "pond"]
    assert in_order.look("pond lake").meaning == "lake"
    assert side_by_side.look("river").senses == ()


@pytest.mark.parametrize(
    ("heading", "expected"),
    [
        ("Fish #", Meaning("fish")),
        ("Total_Length (mm)", Meaning("length", "mm")),
        ('Length (")', Meaning("length", "in")),
        ("length ″", Meaning("length", "in")),
        ("lbs and oz", Meaning("weight", "lb oz")),
        ("Weight lb & oz", Meaning("weight", "lb oz")),
        ("oz", Meaning("weight", "oz")),
        ("weight mm", None),  # a unit of something else
        ("girth", None),
        ("", None),
    ],
)
def test_headings_of_a_field_sheet(heading: str, expected: Meaning | None) -> None:
    assert meaning(heading) == expected


def test_no_heading_of_a_field_sheet_has_two_meanings() -> None:
    for name, texts in HEADINGS.items():
        for text in texts:
            assert meaning(text) == Meaning(name), text


def test_a_slip_leads_to_the_nearest_heading() -> None:
    assert nearest_headings("Lenght (mm)")[0] == "length"
    assert nearest_headings("girth") == []


BASS, SPOTTED = Taxa(), Taxa("spotted", "smallmouth")


@pytest.mark.parametrize(
    ("heading", "taxa", "role", "strange"),
    [
        ("% Florida alleles", BASS, "q", ()),
        ("Florida 2024", BASS, "q", ("2024",)),
        ("FL", BASS, "q", ("fl",)),  # or a fork length
        ("Proportion northern", BASS, "other_q", ()),
        ("% spotted", SPOTTED, "q", ()),
        ("Delta share", BASS, "third_q", ()),
        ("h", BASS, "heterozygosity", ()),
        ("% h estimated", BASS, "heterozygosity", ()),
        ("h2", BASS, None, ()),
        ("Loci scored", BASS, "n_loci", ()),
        ("Missing loci", BASS, "", ()),
        ("Upper 95 CI Florida", BASS, "", ()),
        ("Tissue type", BASS, "", ()),
        ("Hybrid type", BASS, "lab_class", ()),
        ("% scored", BASS, "call_rate", ()),
        ("Customer sample ID", BASS, "vial", ()),
        ("Species confirmed", BASS, "failure", ()),
        ("Florida northern", BASS, None, ()),  # two taxa: ambiguous
        ("salmoides", BASS, "", ()),
        ("zzz", BASS, None, ()),
    ],
)
def test_headings_of_a_lab(heading: str, taxa: Taxa, role: str | None, strange: tuple[str, ...]) -> None:
    said = recognise(heading, taxa)
    assert (None if said is None else said.role) == role
    assert said is None or said.strange == strange


def test_salmoides_is_read_by_the_taxon_beside_it() -> None:
    alone, beside = recognise("salmoides", BASS), recognise("salmoides", BASS, "nigricans salmoides")
    older = recognise("salmoides", BASS, "floridanus salmoides")
    assert alone is not None
    assert alone.why == SALMOIDES
    assert beside is not None
    assert beside.role == "q"
    assert older is not None
    assert older.role == "other_q"
    assert taxa_named("florida and northern", BASS) == (True, True)


def test_the_number_scored_is_surer_than_a_number_of_loci() -> None:
    scored, loci = recognise("SNPs scored", BASS), recognise("SNPs", BASS)
    assert scored is not None
    assert loci is not None
    assert (scored.tier, loci.tier) == (1, 2)


@pytest.mark.parametrize(
    ("words", "turns"),
    [("1 florida", True), ("non florida", True), ("florida rep 1", False), ("florida replicate 1", False),
     ("1 florida rep 1", True), ("florida 0 1", False)],
)  # fmt: skip
def test_the_number_of_a_replicate_turns_no_share_round(words: str, turns: bool) -> None:
    assert turns_round(words) is turns
