"""Size-class schemes of an office's own making, and what cannot be one."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from geneticlog.rules.schemes import LEAST_LENGTH, Scheme, SchemeError, five_length, inch_groups, two_groups
from geneticlog.rules.species import SPECIES, SpeciesError, species_key


@pytest.mark.parametrize(("species", "unit"), LEAST_LENGTH)
def test_every_row_rises_in_both_units_and_its_species_is_known(species: str, unit: str) -> None:
    limits = LEAST_LENGTH[species, unit]
    assert list(limits) == sorted(set(limits))
    assert species in SPECIES
    assert {(species, "mm"), (species, "in")} <= set(LEAST_LENGTH)


def test_young_and_adult_part_at_quality_length() -> None:
    scheme = five_length("largemouth_bass")
    assert scheme.young == ("substock", "stock")
    assert scheme.adult == ("quality", "preferred", "memorable", "trophy")


def test_centimetres_are_judged_by_the_millimetre_limits() -> None:
    scheme = five_length("largemouth_bass")
    assert scheme.judge(29.9, "cm") == "stock"
    assert scheme.judge(30, "cm") == "quality"


def test_alabama_bass_has_no_published_limits() -> None:
    with pytest.raises(SchemeError, match="Alabama bass"):
        five_length("alabama_bass")
    assert two_groups("alabama_bass", 280, "mm").judge(280, "mm") == "adult"


def test_inch_groups_hold_every_length_once() -> None:
    scheme = inch_groups("largemouth_bass", 8, 20, 2)
    assert scheme.classes[0] == "under 8 in"
    assert scheme.judge(7.99, "in") == "under 8 in"
    assert scheme.judge(8, "in") == "8 to 10 in"
    assert scheme.judge(19.9, "in") == "18 to 20 in"
    assert scheme.judge(20, "in") == "20 in and over"
    assert scheme.adult[0] == "12 to 14 in"


def test_a_scheme_in_inches_judges_a_fish_in_millimetres_by_exact_conversion() -> None:
    scheme = two_groups("largemouth_bass", 12, "in")
    assert scheme.judge(304.8, "mm") == "adult"
    assert scheme.judge(304.7, "mm") == "young"
    halves = inch_groups("largemouth_bass", 8, 16, 0.5)
    assert halves.judge(215.9, "mm") == "8.5 to 9 in"


@pytest.mark.parametrize(
    "scheme",
    [
        five_length("bluegill"),
        inch_groups("largemouth_bass", 6, 20, 0.5),
        two_groups("spotted_bass", 280.5, "mm"),
    ],
    ids=lambda scheme: scheme.name,
)
def test_a_scheme_travels_as_json(scheme: Scheme) -> None:
    assert Scheme.from_json(scheme.to_json()) == scheme
    assert Scheme.from_json(scheme.to_json()).to_json() == scheme.to_json()


def a_scheme_text(classes: str, least: str, adult_from: str) -> str:
    head = f'"name": "x", "species": "bluegill", "adult_from": "{adult_from}"'
    return f'{{{head}, "classes": {classes}, "least": {least}}}'


@pytest.mark.parametrize(
    "text",
    [
        "",
        "[]",
        "{}",
        "null",
        "7",
        a_scheme_text('["a", "b"]', '{"mm": [0, 0]}', "a"),
        a_scheme_text('["a", "b"]', '{"mm": [0, 9]}', "c"),
        a_scheme_text('["a", "b"]', '{"ft": [0, 9]}', "a"),
        a_scheme_text('["a", "b"]', '{"mm": [0, "9"]}', "a"),
        a_scheme_text('["a", "a"]', '{"mm": [0, 9]}', "a"),
    ],
)
def test_a_text_that_holds_no_scheme_is_refused(text: str) -> None:
    with pytest.raises(SchemeError):
        Scheme.from_json(text)


@pytest.mark.parametrize(
    ("length", "unit"), [(0, "mm"), (-1, "in"), (float("nan"), "mm"), (float("inf"), "mm"), (12, "ft")]
)
def test_a_length_that_cannot_be_judged_is_named(length: float, unit: str) -> None:
    with pytest.raises(SchemeError, match=str(unit if unit == "ft" else length)):
        five_length("largemouth_bass").judge(length, unit)


@pytest.mark.parametrize(
    ("first", "last", "step"), [(8, 6, 1), (8, 11, 2), (0, 8, 1), (8, 12, 0), (1, 400, 1)]
)
def test_inch_groups_that_do_not_come_out_are_refused(first: float, last: float, step: float) -> None:
    with pytest.raises(SchemeError):
        inch_groups("largemouth_bass", first, last, step)


@given(
    st.floats(0.1, 40),
    st.sampled_from(["mm", "cm", "in"]),
    st.sampled_from(sorted({key for key, _ in LEAST_LENGTH})),
)
def test_a_longer_fish_is_never_of_a_smaller_class(length: float, unit: str, species: str) -> None:
    scheme = five_length(species)
    at = scheme.classes.index(scheme.judge(length, unit))
    assert scheme.classes.index(scheme.judge(length * 1.3, unit)) >= at


def test_labels_say_the_lengths() -> None:
    labels = [one.label for one in five_length("largemouth_bass").size_classes("in")]
    assert labels[0] == "substock (under 8 in)"
    assert labels[2] == "quality (12 to under 15 in)"
    assert labels[5] == "trophy (25 in and over)"


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("LMB", "largemouth_bass"),
        ("Largemouth Bass", "largemouth_bass"),
        ("largemouth_bass", "largemouth_bass"),
        ("Florida bass", "largemouth_bass"),
        ("alabama  bass", "alabama_bass"),
        ("white crappie", "white_crappie"),
    ],
)
def test_a_species_by_its_words(text: str, key: str) -> None:
    assert species_key(text) == key


def test_an_unknown_species_is_refused_with_the_known_ones() -> None:
    with pytest.raises(SpeciesError, match=r"walleye.*largemouth bass"):
        species_key("walleye")


def test_no_word_means_two_species() -> None:
    words = [word for species in SPECIES.values() for word in species.words]
    assert len(words) == len(set(words))


@pytest.mark.parametrize("species", sorted({species for species, _ in LEAST_LENGTH}))
def test_the_two_tables_of_least_lengths_are_one_rounded_apart(species: str) -> None:
    """Whole inches, whole centimetres, and never half an inch apart: a slip of a digit in either is seen."""
    inches, mm = LEAST_LENGTH[species, "in"], LEAST_LENGTH[species, "mm"]
    assert all(value % 10 == 0 for value in mm)
    assert all(abs(25.4 * inch - value) <= 6 for inch, value in zip(inches, mm, strict=True))


def test_a_scheme_of_both_units_judges_and_labels_by_those_of_the_length() -> None:
    both = Scheme("two", "largemouth_bass", ("small", "large"), {"in": (0, 12), "mm": (0, 300)}, "large")
    # 12 in are 304.8 mm: between the two limits each length is judged by the limits of its own kind
    assert [both.judge(*length) for length in ((11.9, "in"), (302, "mm"), (30.2, "cm"), (12, "in"))] == [
        "small",
        "large",
        "large",
        "large",
    ]
    labels = [both.size_classes(unit)[1].label for unit in ("in", "mm", "cm")]
    assert labels == ["large (12 in and over)", "large (300 mm and over)", "large (300 mm and over)"]
    only = Scheme("two", "largemouth_bass", ("small", "large"), {"in": (0, 12)}, "large")
    assert only.size_classes("cm")[0].label == "small (under 12 in)"
