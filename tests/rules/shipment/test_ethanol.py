"""Ethanol: arithmetic beside the published figures, never a clearance."""

from __future__ import annotations

import pytest

from geneticlog.rules.shipment.ethanol import (
    ABOVE_NOTICE,
    AIR_NOTICE,
    ETHANOL_NOTICE,
    FIGURES,
    LAYERS,
    ethanol_note,
    is_ethanol,
)


@pytest.mark.parametrize(
    ("n", "fill", "total", "amber"),
    [
        # 1 L is 1 000 vials at 1 mL, 500 at 2 mL
        (1000, 1.0, 1000, False),
        (1001, 1.0, 1001, True),
        (500, 2.0, 1000, False),
        (501, 2.0, 1002, True),
        (1, 30.0, 30, False),
        (1, 30.5, 30.5, True),
    ],
)
def test_volume_against_the_figures(n: int, fill: float, total: float, amber: bool) -> None:
    note = ethanol_note(n, fill)
    assert note.total_ml == pytest.approx(total)
    assert note.amber is amber
    assert (ABOVE_NOTICE in note.sentences) is amber


@pytest.mark.parametrize(
    ("n", "packages", "package", "amber"),
    [(1001, 2, 501, False), (2000, 2, 1000, False), (2001, 2, 1001, True), (10, 20, 1, False)],
)
def test_several_packages_part_the_vials_evenly(n: int, packages: int, package: float, amber: bool) -> None:
    note = ethanol_note(n, 1.0, n_packages=packages)
    assert (note.total_ml, note.package_ml, note.amber) == (n, package, amber)
    assert (
        f"in {packages} packages up to {package} mL in one if the vials are split evenly" in note.sentences[1]
    )
    assert "taken as one package" in ethanol_note(n, 1.0).sentences[1]


def test_no_package_cannot_be() -> None:
    with pytest.raises(ValueError, match="0 packages are not possible"):
        ethanol_note(1, 1.0, n_packages=0)


def test_the_notice_always_stands_first() -> None:
    assert ethanol_note(1, 0.5).sentences[0] == ETHANOL_NOTICE
    assert ethanol_note(1, None).sentences[0] == ETHANOL_NOTICE


def test_without_a_fill_nothing_is_added_up() -> None:
    note = ethanol_note(90, None)
    assert note.total_ml is None
    assert "not recorded" in note.sentences[1]


@pytest.mark.parametrize("carrier", ["Air freight", "in my baggage", "Delta flight"])
def test_a_carrier_that_flies_adds_the_airline_caution(carrier: str) -> None:
    assert AIR_NOTICE in ethanol_note(1, 1, carrier=carrier).sentences


def test_a_carrier_on_the_road_does_not() -> None:
    assert AIR_NOTICE not in ethanol_note(1, 1, carrier="Fairway road parcels").sentences


def test_nothing_permits() -> None:
    said = " ".join(
        [
            *ethanol_note(2000, 40, carrier="air").sentences,
            *(f.said + f.source for f in FIGURES),
            *map(" ".join, LAYERS),
        ]
    ).lower()
    for word in ("allowed", "permitted", "may send", "safe", "cleared", "500 ml"):
        assert word not in said
    assert all(figure.source and figure.rule for figure in FIGURES)


@pytest.mark.parametrize(
    ("medium", "yes"), [("ethanol", True), ("95 % EtOH", True), ("dry", False), (None, False)]
)
def test_media_that_are_ethanol(medium: str | None, yes: bool) -> None:
    assert is_ethanol(medium) is yes


def test_every_limit_is_the_one_in_the_words_it_was_read_in() -> None:
    for figure in FIGURES:
        assert f"{figure.ml:g} mL" in figure.said or f"{figure.ml / 1000:g} L" in figure.said, figure
        assert (figure.limits, figure.ml) in {("vial", 30.0), ("package", 1000.0)}


def test_a_fill_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match=r"a fill of 0\.0 mL is not possible"):
        ethanol_note(3, 0.0)
