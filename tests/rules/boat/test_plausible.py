"""What cannot be is refused, and what is odd is asked about with the slip that would explain it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from geneticlog.rules.boat.plausible import LENGTH_BOUNDS, doubts
from geneticlog.rules.lengths import parse_length, parse_weight
from geneticlog.rules.schemes import LEAST_LENGTH
from geneticlog.rules.species import SPECIES, standard_weight


def ask(
    length: str | None, weight: str | None = None, species: str = "largemouth_bass"
) -> list[tuple[bool, str]]:
    found = doubts(
        species, parse_length(length) if length else None, parse_weight(weight) if weight else None
    )
    return [(doubt.impossible, doubt.text) for doubt in found]


def test_an_ordinary_fish_raises_nothing() -> None:
    assert ask("16.5 in", "2.3 lb") == []
    assert ask("419 mm", "1050 g") == []
    assert ask("100 mm", "12 g") == []
    assert ask("419 mm") == []
    assert ask(None, "2 lb") == []
    assert ask(None) == []


@pytest.mark.parametrize(
    ("length", "meant"),
    [
        ("4000 mm", "400 mm"),
        ("419 in", "419 mm"),
        ("41.9 in", "41.9 cm"),
        ("4 mm", "4 in"),
        ("165 in", "165 mm"),
    ],
)
def test_an_impossible_length_is_refused_with_what_may_have_been_meant(length: str, meant: str) -> None:
    ((impossible, text),) = ask(length)
    assert impossible
    assert "cannot be" in text
    assert meant in text


@pytest.mark.parametrize(
    ("length", "meant"), [("16.5 mm", "16.5 in"), ("30 in", "30 cm"), ("42 mm", "42 cm")]
)
def test_an_odd_length_is_asked_about(length: str, meant: str) -> None:
    ((impossible, text),) = ask(length)
    assert not impossible
    assert meant in text


@pytest.mark.parametrize(
    ("length", "weight", "meant"),
    [
        ("419 mm", "2.3 kg", "2.3 lb"),
        ("16.5 in", "23 lb", "2.3 lb"),
        ("16.5 in", "0.23 lb", "2.3 lb"),
        ("419 mm", "105 g", "1050 g"),
        ("165 mm", "1050 g", ""),
        ("16.5 in", "37 lb", "37 oz"),
        ("16.5 cm", "2.3 lb", "16.5 in long"),
        ("120 mm", "1200 g", ""),
    ],
)
def test_a_weight_that_does_not_fit_is_asked_about(length: str, weight: str, meant: str) -> None:
    ((impossible, text),) = ask(length, weight)
    assert not impossible
    assert "relative weight" in text
    assert meant in text


def test_the_bounds_of_asking_are_50_and_160() -> None:
    standard = standard_weight("largemouth_bass", 400)
    assert standard is not None
    for relative, n_doubts in ((49, 1), (51, 0), (159, 0), (161, 1)):
        assert len(ask("400 mm", f"{standard * relative / 100:.3f} g")) == n_doubts


@pytest.mark.parametrize("species", SPECIES)
def test_every_species_has_bounds_and_its_trophy_fish_can_be(species: str) -> None:
    least, least_usual, greatest_usual, greatest = LENGTH_BOUNDS[species]
    assert least < least_usual < greatest_usual < greatest
    assert not any(bound % 5 for bound in LENGTH_BOUNDS[species])
    for length, raised in (
        (least - 0.5, [True]), (least, [False]), (least_usual - 0.5, [False]), (least_usual, []),
        (greatest_usual, []), (greatest_usual + 0.5, [False]), (greatest, [False]), (greatest + 0.5, [True]),
    ):  # fmt: skip
        assert [impossible for impossible, _ in ask(f"{length} mm", species=species)] == raised
    if (species, "mm") in LEAST_LENGTH:
        assert LEAST_LENGTH[species, "mm"][-1] < greatest_usual


@given(
    st.floats(0.001, 5000),
    st.sampled_from(["mm", "cm", "in"]),
    st.floats(0.001, 90000),
    st.sampled_from(["g", "kg", "lb", "oz"]),
)
def test_any_fish_gets_an_answer(length: float, unit: str, weight: float, weight_unit: str) -> None:
    found = ask(
        f"{length:.4f} {unit}" if length > 0.01 else "1 mm",
        f"{weight:.3f} {weight_unit}" if weight > 0.01 else None,
    )
    assert all(text and not text.endswith(";") for _, text in found)
