"""Two groups are called alike, and a change small, only where no kind of fish large enough could have been missed."""

from __future__ import annotations

import json
from datetime import date

import pytest
from conftest import Runner
from lake_situations import near_pure
from lakes_support import add_lake, add_panel, add_survey, add_typed
from sqlalchemy.orm import Session

from geneticlog.rules.report.comparability import is_small
from geneticlog.rules.statistics.contrast import Side
from geneticlog.rules.statistics.missed_kind import missed_kind
from geneticlog.rules.statistics.sums import sums_of

YOUNG, ADULT = 6.5, 13.0


def side(*groups: list[float]) -> Side:
    total = sum(map(len, groups))
    return Side(
        {str(at): sums_of(group, 38) for at, group in enumerate(groups)},
        {str(at): len(group) / total for at, group in enumerate(groups)},
    )


@pytest.mark.parametrize(("n", "alike"), [(12, False), (28, False), (29, True), (150, True)])
def test_as_few_fish_as_can_miss_a_tenth_are_never_called_alike(n: int, alike: bool) -> None:
    missed = missed_kind(side([0.0] * n), side([0.0] * 150))
    assert missed is not None
    # the share that n fish miss with a chance of 5 %: (1 - share)^n = .05
    assert (1 - missed.share) ** n == pytest.approx(0.05)
    assert missed.of_first  # of two that hide as much, either will do
    assert is_small(-0.01, 0.01, missed) is alike
    assert not is_small(-0.11, 0.01, missed)
    assert not is_small(-0.01, 0.01, None)


def test_a_kind_moves_a_mean_by_its_distance_and_no_farther_than_the_class_intervals_let_it() -> None:
    far = missed_kind(side([0.0] * 12), side([1.0] * 12))
    near = missed_kind(side([0.5, 0.4, 0.6] * 8), side([0.5, 0.4, 0.6] * 8))
    assert far is not None
    assert near is not None
    assert far.moves == pytest.approx(1 - 0.05 ** (1 / 12))
    assert near.moves == pytest.approx((1 - 0.05 ** (1 / 24)) / 2)
    # an even swarm: the interval of the class mean, which is on the figure, leaves less room than a kind would take
    swarm = [0.5, 0.49, 0.51] * 4
    even, told = missed_kind(side(swarm), side(swarm)), sums_of(swarm, 38).estimate()
    assert even is not None
    assert told.low is not None
    assert told.high is not None
    assert even.moves == pytest.approx(told.high - told.low)
    assert even.moves < even.share * 0.49


def test_a_near_pure_lake_of_few_fish_is_not_called_alike_by_any_face(
    run_on_sqlite: Runner, sqlite_session: Session
) -> None:
    """HERON 12 young and 12 adults; OSPREY the same twice; TEAL and SWAN 150 of each, twice."""
    session = sqlite_session
    near_pure(session, add_lake(session))
    panel = add_panel(session)
    for code, n in (("OSPREY", 12), ("TEAL", 150), ("SWAN", 150)):
        lake = add_lake(session, code, code.title())
        for year in (2024, 2026) if code != "SWAN" else (2026,):
            survey = add_survey(session, lake, f"{code}-{year}", date(year, 4, 9))
            fish = [(YOUNG, 0.0), (ADULT, 0.0)] * n
            add_typed(session, survey, [*fish[:-1], (ADULT, 1 / 38)], panel=panel)
    session.commit()

    documents = {
        code: json.loads(run_on_sqlite("report", "lake", code, "--json").stdout)
        for code in ("HERON", "OSPREY", "TEAL")
    }
    for code, alike in (("HERON", False), ("OSPREY", False), ("TEAL", True)):
        document = documents[code]
        contrast = document["surveys"][-1]["young_minus_adult"]
        line, summary = document["answer"][1], " ".join(document["summary"])
        assert max(-contrast["low"], contrast["high"]) < 0.10  # of its fish as they are
        assert contrast["is_small"] is alike
        assert ("are alike, within" in line) is alike
        assert ("Any difference between young and adult fish is small" in summary) is alike
        if not alike:
            assert "a kind making up 22 % of the young could be missed" in line
            assert "29 of each would show one of 10 %" in line
            assert "22 % of the young could have been missed" in summary
    listed = {
        one["lake"]: one for one in json.loads(run_on_sqlite("report", "lakes", "--json").stdout)["lakes"]
    }
    for code, small in (("OSPREY", False), ("TEAL", True)):
        (change,), summary = documents[code]["changes"], " ".join(documents[code]["summary"])
        assert max(-change["low"], change["high"]) < 0.10
        assert change["is_small"] is listed[code]["change_is_small"] is small
        assert ("Any change since 9 April 2024 is small" in summary) is small
        assert ("No change was seen since 9 April 2024" in summary) is not small
        assert ("of the later fish could have been missed" in summary) is not small
        assert ("much the same, within" in documents[code]["answer"][2]) is small
        assert ("no change seen, but a kind making up" in documents[code]["answer"][2]) is not small
    for pair, small in ((("HERON", "OSPREY"), False), (("TEAL", "SWAN"), True)):
        (told,) = json.loads(run_on_sqlite("report", "compare", *pair, "--json").stdout)["pairs"]
        assert told["is_small"] is small
        assert ("differ by less than 10 points" in told["sentences"][0]) is small
        assert ("could have been missed" in told["sentences"][0]) is not small
