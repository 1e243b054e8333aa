"""Interval, p and sentence say the same, in the lake's report and in the list of all lakes, to the last digit."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from lakes_support import (
    NOW,
    add_catch,
    add_fish,
    add_lake,
    add_panel,
    add_result,
    add_survey,
    add_typed,
    add_vial,
)
from sqlalchemy.orm import Session
from tests_support import database  # noqa: F401  (numbers: SQLite alone; list and report agree on both in test_what_counts)

from geneticlog.faces.report.answer_sentences import answer
from geneticlog.faces.report.class_words import class_difference_blocks
from geneticlog.rules.report.comparability import is_small
from geneticlog.rules.schemes import five_length, two_groups
from geneticlog.rules.stamp import Stamp
from geneticlog.store.tables import Lake
from geneticlog.work.portfolio.gather import LakeLine, gather_portfolio
from geneticlog.work.report.facts import LakeFacts
from geneticlog.work.report.gather import gather_lake
from geneticlog.work.report.lake_growth import growth_rows

EARLIER, LATER = date(2024, 4, 9), date(2026, 4, 9)
SIZES = (9.5, 13.0, 16.0, 21.0)  # stock, quality, preferred, memorable


def told(session: Session, lake: Lake) -> tuple[LakeFacts, LakeLine]:
    session.commit()
    facts = gather_lake(session, lake.code, stamp=Stamp(NOW, "Ada Test"))
    (line,) = [one for one in gather_portfolio(session, today=NOW.date()) if one.lake == lake.code]
    return facts, line


def test_seven_f1_of_36_after_none_is_a_rise_in_the_sentence_the_interval_the_p_and_the_list(
    session: Session,
) -> None:
    lake, panel = add_lake(session), add_panel(session)
    for code, on, f1 in (("HERON-2024", EARLIER, 0), ("HERON-2026", LATER, 7)):
        survey = add_survey(session, lake, code, on)
        of_class = {
            length: (9, [38] * (f1 // 4 + (at < f1 % 4)) + [0] * 9) for at, length in enumerate(SIZES)
        }
        add_catch(
            session, survey, {length: (9, alleles[:9]) for length, (_, alleles) in of_class.items()}, panel
        )
    facts, line = told(session, lake)
    (change,) = facts.changes
    assert change.p < 0.05
    assert change.low > 0
    assert (line.change, line.change_low, line.change_high, line.change_p) == (
        change.difference, change.low, change.high, change.p,
    )  # fmt: skip
    assert any("rose by" in sentence for sentence in answer(facts))


def test_young_with_f1_and_adults_without_differ_in_the_interval_as_in_the_test(session: Session) -> None:
    lake, panel = add_lake(session), add_panel(session)
    catch = {9.5: (8, [38] * 5 + [0] * 3), 7.0: (8, [38] * 3 + [0] * 5)}
    catch |= {length: (8, [0] * 8) for length in SIZES[1:]}
    add_catch(session, add_survey(session, lake), catch, panel)
    survey = told(session, lake)[0].main
    assert survey is not None
    contrast = survey.young_minus_adult
    assert contrast.low > 0
    assert contrast.p < 0.05
    assert survey.trend.p < 0.05
    assert survey.trend.slope.high < 0


def test_a_test_of_ranks_is_not_told_as_a_fall_of_the_means(session: Session) -> None:
    """Every class has a mean of a quarter: the young a swarm, the adults a quarter of pure Florida fish."""
    lake, panel = add_lake(session), add_panel(session)
    swarm, pure = [15, 17, 19, 21, 23, 19, 18, 20, 19, 16, 22, 19], [76] * 3 + [0] * 9
    catch = {
        length: (12, alleles)
        for length, alleles in zip((7.0, 9.5, 13.0, 16.0), (swarm, swarm, pure, pure), strict=True)
    }
    add_catch(session, add_survey(session, lake), catch, panel)
    facts = told(session, lake)[0]
    survey = facts.main
    assert survey is not None
    assert survey.trend.p_holm < 0.05
    assert survey.trend.slope.per_class == pytest.approx(0, abs=0.02)
    assert survey.trend.slope.low < 0 < survey.trend.slope.high
    text = " ".join(answer(facts))
    assert "falls with size" not in text
    assert "tend to carry fewer" in text
    # an interval that holds 0 does not show that the means are alike
    assert "shape" not in text
    assert "the class means, weighted to the catch, do not settle it: they lean the" in text
    wide = max(-survey.trend.slope.low, survey.trend.slope.high) * 3 + 0.01
    text = " ".join(answer(replace(facts, matters=wide)))
    assert "do not go with it (95 % interval" in text
    assert "differ in how their ancestry is distributed" in text


def test_one_guard_speaks_for_all_that_compares_sizes(session: Session) -> None:
    lake, panel = add_lake(session), add_panel(session)
    add_catch(
        session, add_survey(session, lake), {7.0: (3, [10, 30]), 9.5: (2, [12, 22]), 13.0: (2, [40])}, panel
    )
    survey = told(session, lake)[0].main
    assert survey is not None
    assert survey.trend.p is not None
    assert survey.trend.guard == survey.trend.slope.guard == "too few to read"
    (pair,) = (block for block in class_difference_blocks(survey) if block["kind"] == "table")
    assert "p, Holm" not in pair["note"] + str(pair["columns"])  # one pair: nothing is adjusted
    # a line of a table is too few, and out of Holm, by the number that makes its size class so
    other = add_lake(session, "OSPREY", "Osprey")
    fish = [(9.5 + at / 4, k / 76) for at, k in enumerate([10, 30, 22, 41, 15])]
    few = [(13.0 + at / 4, 0.3 + at / 20) for at in range(4)]
    add_typed(session, add_survey(session, other, "OSPREY-26"), [*fish, *few])
    survey = told(session, other)[0].main
    assert survey is not None
    rows = [row for row in growth_rows(survey) if row.measure == "length_mm"]
    assert {row.size_class: (row.guard, row.p_holm is None) for row in rows} == {
        "stock": ("", False), "quality": ("too few to read", True), None: ("", False),
    }  # fmt: skip


def test_the_list_speaks_of_the_catch_and_not_of_the_fish_swabbed(session: Session) -> None:
    """Nine fish in ten are northern and of stock length; as many large hybrid ones were swabbed."""
    lake, panel = add_lake(session), add_panel(session)
    add_catch(
        session,
        add_survey(session, lake),
        {9.5: (190, [0, 1, 0, 2, 0, 1, 0, 0]), 21.0: (10, [50, 44, 48, 52, 40, 47, 45, 49])},
        panel,
    )
    facts, line = told(session, lake)
    assert facts.main is not None
    weighted = facts.main.catch_weighted
    assert line.mean == pytest.approx(0.95 * 4 / 8 / 76 + 0.05 * 375 / 8 / 76)
    assert (line.mean, line.low, line.high, line.share_of_catch_covered) == (
        weighted.mean, weighted.low, weighted.high, weighted.share_of_catch_covered,
    )  # fmt: skip
    assert line.swabbed.mean == pytest.approx(379 / 16 / 76)
    assert line.swabbed == facts.main.swabbed


def test_results_that_name_no_panel_are_misread_by_a_rate_of_their_own(session: Session) -> None:
    panel, survey_of = add_panel(session), {}
    panel.miscall_rate = panel.miscall_high = 0.0
    for code, panels in (("HERON", (panel, None)), ("SURE", (panel, panel))):
        survey_of[code] = add_survey(session, add_lake(session, code, code), f"{code}-2026")
        for one in panels:
            add_typed(session, survey_of[code], [(9.5, k / 76) for k in (0, 1, 0, 2, 1, 3, 0, 1)], panel=one)
    lines = {}
    for code, survey in survey_of.items():
        facts, lines[code] = told(session, survey.lake)
        assert facts.main is not None
        weighted = facts.main.catch_weighted
        assert (lines[code].low, lines[code].high) == (weighted.low, weighted.high)
    assert lines["HERON"].mean == lines["SURE"].mean
    assert lines["HERON"].low < lines["SURE"].low  # type: ignore[operator]


def test_a_lake_that_went_from_inches_to_millimetres_has_not_changed(session: Session) -> None:
    """The same northern young and hybrid adults, swabbed in other numbers; an unweighted mean rises by 18 points."""
    lake, panel = add_lake(session), add_panel(session)
    young, adult = [0, 1, 2, 1, 0, 1, 0, 2], [38, 36, 40, 35, 39, 41, 37, 38]
    inch = add_survey(session, lake, "HERON-2024", EARLIER)
    add_catch(session, inch, {9.5: (60, [*young, *young]), 13.0: (40, adult)}, panel)
    metric = add_survey(session, lake, "HERON-2026", LATER, length_unit="mm")
    add_catch(session, metric, {241.0: (60, young), 330.0: (40, [*adult, *adult])}, panel)
    facts, line = told(session, lake)
    (change,) = facts.changes
    assert abs(change.difference) < 0.005
    assert change.basis.endswith("judged by measured length in mm")
    assert change.low < 0 < change.high < 0.1
    assert "size classes" not in change.differs
    assert (line.change, line.change_p, line.change_basis) == (change.difference, change.p, change.basis)


def test_list_and_report_agree_to_the_last_digit(session: Session) -> None:
    random = np.random.default_rng(6)
    panels = [add_panel(session), add_panel(session, "P61", 61)]
    lakes = []
    for at in range(8):
        lake = add_lake(session, f"LAKE{at}", f"Lake {at}")
        lakes.append(lake)
        for code, on in ((f"LAKE{at}-1", EARLIER), (f"LAKE{at}-2", LATER)):
            schemes = [five_length("largemouth_bass"), two_groups("largemouth_bass", 12, "in")]
            survey = add_survey(
                session, lake, code, on, scheme=schemes[at % 3 == 2 and on == LATER].to_json(),
                length_unit="cm" if at % 4 == 3 and on == LATER else "in",
            )  # fmt: skip
            for panel in panels[: 1 + at % 2]:
                scale, n = (2.54 if survey.length_unit == "cm" else 1.0), int(random.integers(3, 16))
                lengths = [
                    None if random.random() < 0.1 else round(random.uniform(6, 24) * scale, 1)
                    for _ in range(n)
                ]
                q = random.binomial(76, random.beta(0.6, 1.2, n)) / 76
                add_typed(session, survey, list(zip(lengths, map(float, q), strict=True)), panel=panel)
    session.commit()
    lines = {line.lake: line for line in gather_portfolio(session, today=NOW.date())}
    for lake in lakes:
        facts, line = gather_lake(session, lake.code, stamp=Stamp(NOW, "Ada Test")), lines[lake.code]
        change, survey = facts.changes[-1], facts.main
        assert survey is not None
        assert (line.change, line.change_low, line.change_high, line.change_p, line.change_basis) == (
            change.difference, change.low, change.high, change.p, change.basis,
        )  # fmt: skip
        assert (line.young, line.adult, line.change_differs) == (change.young, change.adult, change.differs)
        assert line.change_is_small == is_small(change.low, change.high, change.missed)
        weighted = survey.catch_weighted
        assert (line.mean, line.low, line.high, line.guard) == (
            weighted.mean,
            weighted.low,
            weighted.high,
            weighted.guard,
        )
        assert line.swabbed == survey.swabbed
        if change.p is not None:
            assert (change.p < 0.05) == (change.low > 0 or change.high < 0)


def test_a_change_follows_the_sites_in_the_report_as_in_the_list(session: Session) -> None:
    """Eight coves, each with fish of its own kind, and of another the next time."""
    lake, panel = add_lake(session), add_panel(session)
    random = np.random.default_rng(8)
    for code, on in (("HERON-2024", EARLIER), ("HERON-2026", LATER)):
        survey = add_survey(session, lake, code, on)
        for cove in range(8):
            level = random.uniform(0.05, 0.6)
            for length in (9.5, 9.5, 13.0, 13.0):
                fish = add_fish(session, survey, length)
                fish.site = f"cove {cove}"
                add_result(
                    session,
                    add_vial(session, fish),
                    round(level * 76 + random.uniform(-3, 3)) / 76,
                    panel=panel,
                )
    facts, line = told(session, lake)
    (change,) = facts.changes
    assert (line.change, line.change_low, line.change_high, line.change_p) == (
        change.difference, change.low, change.high, change.p,
    )  # fmt: skip
    assert (line.young.low, line.adult.p) == (change.young.low, change.adult.p)
    assert (change.p < 0.05) == (change.low > 0 or change.high < 0)
    # as wide as the two means together, which follow the sites too
    alone = [one.catch_weighted.high - one.catch_weighted.low for one in facts.surveys]
    assert change.high - change.low > 0.8 * sum(width**2 for width in alone) ** 0.5
