"""Dates of a shipment that cannot be."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest

from geneticlog.errors import Refused
from geneticlog.rules.shipment.dates import LastCatch, refuse_impossible_dates

NOW = datetime(2026, 6, 10, 12, tzinfo=UTC)
HOUR = timedelta(hours=1)
CAUGHT = LastCatch("HERON-2026", date(2026, 6, 1))
NOON = datetime(2026, 6, 1, 12, tzinfo=UTC)  # the same day in every zone where the tests run


@pytest.mark.parametrize(
    ("sent_at", "arrived_at", "caught"),
    [
        (None, None, CAUGHT),
        (NOW, NOW, CAUGHT),
        (NOON, None, CAUGHT),
        (NOON - timedelta(days=9), NOON, None),
        (None, NOON, CAUGHT),
    ],
)
def test_dates_that_can_be(
    sent_at: datetime | None, arrived_at: datetime | None, caught: LastCatch | None
) -> None:
    refuse_impossible_dates("SHIP-1", sent_at=sent_at, arrived_at=arrived_at, last_catch=caught, now=NOW)


@pytest.mark.parametrize(
    ("sent_at", "arrived_at", "words"),
    [
        (NOW + HOUR, None, "still to come; record that shipment SHIP-1 was sent"),
        (NOON, NOW + HOUR, "still to come; record that shipment SHIP-1 arrived"),
        (NOON - timedelta(days=1), None, "cannot have been sent on .* fish of survey HERON-2026, caught on 2026-06-01"),
        (NOON + HOUR, NOON, "cannot arrive before it was sent"),
    ],
)  # fmt: skip
def test_dates_that_cannot_be(sent_at: datetime, arrived_at: datetime | None, words: str) -> None:
    with pytest.raises(Refused, match=words):
        refuse_impossible_dates("SHIP-1", sent_at=sent_at, arrived_at=arrived_at, last_catch=CAUGHT, now=NOW)
