"""What differs between two surveys, and which survey a report is about."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from geneticlog.rules.report.comparability import (
    LEAST_COMMON,
    Footing,
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
