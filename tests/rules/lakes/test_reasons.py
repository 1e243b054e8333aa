"""What about a lake asks for attention; common practice, no source."""

from __future__ import annotations

from dataclasses import replace

import pytest

from geneticlog.rules.genetics.taxa import DEFAULT_PAIR
from geneticlog.rules.lakes.reasons import Reason, Seen, Shift, reasons, words_of_a_rise

WELL = Seen(DEFAULT_PAIR, latest=True, days=30, n_latest=30, n=30, n_swabbed=30)
AWAY = "and left out"


@pytest.mark.parametrize(
    ("seen", "found"),
    [
        pytest.param(WELL, [], id="nothing"),
        pytest.param(Seen(DEFAULT_PAIR), [(4, "never surveyed")], id="never surveyed"),
        pytest.param(replace(WELL, n_open=1), [(6, "1 finding to decide")], id="one finding"),
        pytest.param(replace(WELL, n_open=2), [(6, "2 findings to decide")], id="two findings"),
        pytest.param(
            replace(WELL, fall=Shift(p_holm=0.049)), [(5, "the share fell since the survey before")], id="it fell"
        ),
        pytest.param(
            replace(WELL, fall=Shift(p_holm=0.05)),
            [(3, "the share may have fallen; chance is not ruled out with this many lakes")], id="it may have fallen",
        ),
        pytest.param(
            replace(WELL, fall=Shift()),
            [(3, "the share may have fallen; chance is not ruled out with this many lakes")], id="no p for the fall",
        ),
        pytest.param(
            replace(WELL, fall=Shift(("gear", "panel"), 0.001)),
            [(2, "lower than the survey before, which differs in gear and panel")], id="surveys that differ",
        ),
        pytest.param(replace(WELL, n=None, n_swabbed=0, n_latest=0), [(4, "no result yet")], id="no result"),
        pytest.param(
            replace(WELL, n=None, n_swabbed=0, n_latest=0, n_other_latest=3),
            [(4, "no result yet for Florida and northern")], id="results for another pair only",
        ),
        pytest.param(
            replace(WELL, is_latest=False, n_latest=3),
            [(4, "the latest survey has only 3 fish with a result")], id="a later survey with few",
        ),
        pytest.param(
            replace(WELL, is_latest=False, n_latest=0, n_other_latest=2),
            [(4, "the latest survey has no result yet for Florida and northern")], id="a later survey with none",
        ),
        pytest.param(replace(WELL, n=4, n_swabbed=4, wide=True), [(3, "too few to read")], id="few, and not wide"),
        pytest.param(replace(WELL, n=5, n_swabbed=5, wide=True), [(1, "wide interval")], id="enough, and wide"),
        pytest.param(replace(WELL, days=1000), [], id="as old as may be"),
        pytest.param(replace(WELL, days=1001), [(2, "last surveyed 1001 days ago")], id="too old"),
        pytest.param(replace(WELL, n=24), [], id="four in five have a result"),
        pytest.param(replace(WELL, n=23), [(1, "7 of 30 swabbed fish have no result")], id="fewer have one"),
        pytest.param(
            replace(WELL, n=3, n_swabbed=4),
            [(3, "too few to read"), (1, "1 of 4 swabbed fish has no result")], id="one has none",
        ),
        pytest.param(
            replace(WELL, n=29, n_other=1),
            [(1, f"1 result is for other taxa than Florida and northern, {AWAY}")], id="one of another pair",
        ),
        pytest.param(
            replace(WELL, n=10, n_other=13),
            [(1, "7 of 30 swabbed fish have no result"),
             (1, f"13 results are for other taxa than Florida and northern, {AWAY}")], id="some have none",
        ),
    ],
)  # fmt: skip
def test_a_lake_asks_for_attention(seen: Seen, found: list[Reason]) -> None:
    assert reasons(seen, old_after_days=1000) == found


@pytest.mark.parametrize(
    ("rise", "found"),
    [
        (Shift(p_holm=0.049), "the share rose by 8 points since 2024"),
        (Shift(p_holm=0.05), "the share may have risen; chance is not ruled out with this many lakes"),
        (Shift(("gear",), 0.001), "higher than the survey before, which differs in gear"),
        (Shift(p_holm=0.001, small=True), "the share rose since the survey before, by less than matters"),
    ],
)
def test_a_rise_is_told_by_the_rules_of_a_fall(rise: Shift, found: str) -> None:
    assert words_of_a_rise(rise, 0.084, 2024) == found
