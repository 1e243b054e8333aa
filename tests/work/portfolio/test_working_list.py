"""The list of lakes: whose turn it is first, on the numbers of each lake's own report."""

from __future__ import annotations

from datetime import date

import pytest
from lakes_support import NOW, add_catch, add_lake, add_panel, add_survey
from sqlalchemy.orm import Session

from geneticlog.rules.lakes.state import State
from geneticlog.rules.stamp import Stamp
from geneticlog.work.portfolio.gather import gather_portfolio
from geneticlog.work.portfolio.working_list import by_name, working_list
from geneticlog.work.report.gather import gather_lake

TODAY = date(2026, 6, 1)
LOW, HIGH = [2, 4, 6, 8, 10, 12, 14, 16], [44, 46, 48, 50, 52, 54, 56, 58]


def filled(session: Session) -> None:
    """Lakes with a fall, a rise, an old survey, a survey without results, and none at all."""
    panel = add_panel(session)
    for code, name, surveys in (
        ("FALL", "Lake 10", ((2024, HIGH), (2026, LOW))),
        ("RISE", "Lake 2", ((2024, LOW), (2026, HIGH))),
        ("OLD", "Lake 3", ((2020, HIGH),)),
        ("BARE", "Lake 4", ((2026, []),)),
        ("NONE", "Lake 5", ()),
    ):
        lake = add_lake(session, code, name, owner="Reed Club (invented)", county="Bluff")
        for year, alleles in surveys:
            survey = add_survey(session, lake, f"{code}-{year}", date(year, 5, 4))
            add_catch(session, survey, {9.0: (30, alleles), 13.0: (20, alleles)}, panel)


def test_lakes_that_need_attention_come_first_with_their_reasons(sqlite_session: Session) -> None:
    session = sqlite_session
    filled(session)
    listed = {one.line.lake: one for one in working_list(session, today=TODAY)}
    assert next(iter(listed)) != "RISE"
    assert [one.urgency for one in listed.values()] == sorted(
        (one.urgency for one in listed.values()), reverse=True
    )
    fall, rise, old, bare, none = (listed[code] for code in ("FALL", "RISE", "OLD", "BARE", "NONE"))
    assert any("fell" in reason for reason in fall.reasons)
    assert any("rose" in reason for reason in rise.reasons)
    assert (rise.urgency, fall.urgency > 1) == (1, True)
    assert (old.last_survey_on, old.line.days_since) == (date(2020, 5, 4), (TODAY - date(2020, 5, 4)).days)
    assert old.reasons
    assert working_list(session, today=TODAY, old_after_days=9999)[-1].line.lake in ("OLD", "RISE")
    assert [one.state for one in (fall, rise, old, bare, none)] == [State.KNOWN] * 3 + [
        State.NEVER_SWABBED
    ] * 2
    assert (bare.line.n_caught, bare.line.mean, none.line.survey) == (50, None, None)
    assert {one.owner for one in listed.values()} == {"Reed Club (invented)"}


def test_the_line_of_a_lake_has_the_numbers_of_its_report(sqlite_session: Session) -> None:
    session = sqlite_session
    filled(session)
    for line in gather_portfolio(session, today=TODAY):
        report = gather_lake(session, line.lake, stamp=Stamp(NOW, "Ada Test"))
        main = report.main
        if main is None or line.mean is None:
            continue
        weighted = main.catch_weighted
        assert (line.survey, line.n_resulted) == (main.survey, main.n_resulted)
        assert (line.mean, line.low, line.high) == pytest.approx(
            (weighted.mean, weighted.low, weighted.high), abs=1e-12
        )
        if line.change is not None:
            last = report.changes[-1]
            assert (line.change, line.change_low, line.change_high, line.change_p) == pytest.approx(
                (last.difference, last.low, last.high, last.p), abs=1e-12
            )
    # 16 fish of (2, 4, … 16) of 76 alleles each, every class alike: the mean of the lake is 9/76
    fall = next(one for one in gather_portfolio(session, today=TODAY) if one.lake == "FALL")
    assert (fall.mean, fall.change) == pytest.approx((9 / 76, (9 - 51) / 76))


def test_names_are_sorted_as_people_sort_them() -> None:
    names = ["Lake 10", "lake 2", "Lake", "Alder 3", "2 Pines"]
    assert sorted(names, key=by_name) == ["2 Pines", "Alder 3", "Lake", "lake 2", "Lake 10"]
