"""Which surveys are in the line through the years."""

from __future__ import annotations

from datetime import date

import pytest
from lakes_support import NOW, add_lake, add_panel, add_survey, add_typed
from sqlalchemy.orm import Session

from geneticlog.rules.stamp import Stamp
from geneticlog.work.report.gather import Wanted, gather_lake

Q = (0.1, 0.3, 0.2, 0.4, 0.25)


@pytest.mark.parametrize(("n_fish", "n_surveys"), [((5, 5, 5), 3), ((5, 4, 5), None), ((5, 4, 5, 5), 3)])
def test_a_survey_of_five_fish_is_in_the_line_and_one_of_four_is_not(
    sqlite_session: Session, n_fish: tuple[int, ...], n_surveys: int | None
) -> None:
    session = sqlite_session
    lake, panel = add_lake(session), add_panel(session)
    for at, n in enumerate(n_fish):
        survey = add_survey(session, lake, f"HERON-{2020 + at}", date(2020 + at, 4, 9))
        add_typed(session, survey, [(13.0, q + at / 50, None) for q in Q[:n]], panel=panel)
    years = gather_lake(session, "HERON", stamp=Stamp(NOW, "Ada Test"), wanted=Wanted()).through_years
    assert (years and len(years.surveys)) == n_surveys
