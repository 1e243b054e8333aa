"""What differs between two surveys, and which survey a report is about."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from geneticlog.rules.report.comparability import (
    LEAST_COMMON,
    Footing,
    chance_not_ruled_out,
    is_small,
    limits_in,
    more_than_chance,
    nears_nothing,
    same_classes,
    same_season,
    survey_to_report,
    what_differs,
    what_is_alike,
)
from geneticlog.rules.schemes import five_length, two_groups

BASE = Footing(
    date(2024, 5, 14), "boat electrofishing", frozenset({"P38"}), (36, 38), five_length("largemouth_bass"), "in"
)  # fmt: skip
ALL_ALIKE = ("gear", "panel", "loci scored", "size classes", "season")


@pytest.mark.parametrize(
    ("later", "covered", "differs"),
    [
        (BASE, (), ()),
        (replace(BASE, gear="angling"), (), ("gear",)),
        (replace(BASE, panels=frozenset({"P61"}), loci=(55, 61)), (), ("panel",)),  # of course it has other loci
        (replace(BASE, panels=frozenset()), (), ("panel",)),
        (replace(BASE, loci=(37, 39)), (), ()),  # one locus more or less of a fish is no other panel
        (replace(BASE, loci=(38, 38)), (), ()),
        (replace(BASE, loci=(41, 45)), (), ()),  # 3 apart of 38
        (replace(BASE, loci=(42, 45)), (), ("loci scored",)),
        (replace(BASE, loci=(30, 33)), (), ()),
        (replace(BASE, loci=(30, 32)), (), ("loci scored",)),
        (replace(BASE, loci=None), (), ()),
        (replace(BASE, on=date(2025, 6, 30)), (), ()),
        (replace(BASE, on=date(2025, 7, 1)), (), ("season",)),
        (replace(BASE, unit="mm"), (), ("size classes",)),
        (replace(BASE, scheme=two_groups("largemouth_bass", 12, "in")), (), ("size classes",)),
        (BASE, (LEAST_COMMON, 1.0), ()),
        (BASE, (1.0, LEAST_COMMON - 0.01), ("sizes typed",)),
        (BASE, (None, None), ()),
        (replace(BASE, gear="seine", on=date(2025, 11, 1), unit="mm"), (0.1, 0.1),
         ("gear", "season", "size classes", "sizes typed")),
    ],
)  # fmt: skip
def test_what_differs(later: Footing, covered: tuple[float | None, ...], differs: tuple[str, ...]) -> None:
    assert what_differs(BASE, later, covered) == differs
    assert what_differs(later, BASE, covered) == differs
    alike = what_is_alike(BASE, later)
    assert not set(alike) & set(differs)
    unknown = (
        {"panel", "loci scored"} if "panel" in differs else {"loci scored"} if later.loci is None else set()
    )
    assert set(alike) == set(ALL_ALIKE) - set(differs) - unknown


def test_the_year_turns_between_december_and_january() -> None:
    assert same_season(date(2024, 12, 1), date(2026, 1, 31))
    assert not same_season(date(2024, 12, 1), date(2026, 2, 1))


def test_the_same_classes_in_two_units_were_rounded_apart() -> None:
    assert same_classes(BASE, BASE)
    assert not same_classes(BASE, replace(BASE, unit="cm"))


@pytest.mark.parametrize(
    ("n_results", "about"),
    [
        ([], None),
        ([0], 0),
        ([0, 0], 1),  # without a result the latest is shown
        ([3, 0], 0),
        ([3, 1], 1),  # none can be read: the latest with any
        ([40, 1], 0),  # one fish of a new survey does not push the last one aside
        ([40, 4], 0),
        ([40, 5], 1),
        ([40, 5, 4, 0], 1),
    ],
)
def test_which_survey_a_report_is_about(n_results: list[int], about: int | None) -> None:
    assert survey_to_report(n_results) == about


@pytest.mark.parametrize(
    ("low", "high", "near", "leaves_0_out"),
    [
        (-0.09, 0.09, True, False),
        (-0.1, 0.09, False, False),
        (-0.09, 0.1, False, False),
        (0.01, 0.09, True, True),
        (0.0, 0.09, True, False),
        (-0.09, 0.0, True, False),
        (-0.09, -0.01, True, True),
        (None, 0.05, False, False),
        (0.05, None, False, False),
        (None, None, False, False),
    ],
)
def test_a_difference_near_nothing(
    low: float | None, high: float | None, near: bool, leaves_0_out: bool
) -> None:
    assert nears_nothing(low, high) is near
    assert not is_small(low, high, None)  # what was missed is not known
    assert chance_not_ruled_out(low, high, 0.05) is leaves_0_out
    assert not chance_not_ruled_out(low, high, 0.049)
    assert not chance_not_ruled_out(low, high, None)


@pytest.mark.parametrize(("p", "more"), [(0.049, True), (0.05, False), (1.0, False), (None, False)])
def test_more_than_chance(p: float | None, more: bool) -> None:
    assert more_than_chance(p) is more


def test_the_limits_of_a_scheme_are_those_of_its_own_table() -> None:
    scheme = five_length("largemouth_bass")
    assert limits_in(scheme, "in") == (0, 8, 12, 15, 20, 25)
    assert limits_in(scheme, "mm") == (0, 200, 300, 380, 510, 630)
    assert limits_in(scheme, "cm") == (0, 20, 30, 38, 51, 63)
    of_one = two_groups("largemouth_bass", 12, "in")
    assert limits_in(of_one, "mm")[-1] == pytest.approx(304.8)


def test_two_schemes_of_the_same_name_and_limits_are_one() -> None:
    scheme = five_length("largemouth_bass")
    again = replace(scheme, least={"in": scheme.least["in"]})
    assert same_classes(BASE, replace(BASE, scheme=again))
    assert not same_classes(BASE, replace(BASE, scheme=replace(again, name="another")))
    assert not same_classes(BASE, replace(BASE, scheme=replace(again, classes=scheme.classes[::-1])))
    assert not same_classes(BASE, replace(BASE, scheme=replace(again, least={"in": (0, 8, 12, 15, 20, 26)})))
