"""Every finding waits for somebody."""

from __future__ import annotations

import pytest

from geneticlog.rules.finding.finding_kinds import FINDINGS
from geneticlog.rules.finding.waits_for import BY_KIND, waits_for


@pytest.mark.parametrize(
    ("kind", "whom"),
    [
        ("unexpected", "the office"),
        ("missing", "the lab"),
        ("impossible_value", "the lab"),
        ("failed", "the biologist"),
        ("low_call_rate", "the biologist"),
        ("doubtful_measurement", "the crew"),
    ],
)
def test_whom_a_finding_waits_for(kind: str, whom: str) -> None:
    assert waits_for(kind) == whom


def test_kinds_that_are_named_are_kinds() -> None:
    assert set(BY_KIND) <= set(FINDINGS)
