"""Pairing of devices: a token serves once and ten minutes, a session twelve hours from its last use."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.errors import NotFound, Refused
from geneticlog.rules.stamp import Stamp
from geneticlog.store.tables import Device, Event, Pairing
from geneticlog.work.devices.devices import (
    known,
    list_devices,
    may_try,
    note_use,
    offer_pairing,
    pair,
    revoke,
)

NOW = datetime(2026, 5, 12, 15, 30, tzinfo=UTC)
ADA = Stamp(NOW, "Ada Test")
MINUTE, HOUR = timedelta(minutes=1), timedelta(hours=1)


def test_a_token_serves_one_device_for_ten_minutes(sqlite_session: Session) -> None:
    session = sqlite_session
    first = offer_pairing(session, writes=True, stamp=ADA)
    second = offer_pairing(session, writes=True, stamp=ADA)  # ends the one that was not used
    looks = offer_pairing(session, writes=False, stamp=ADA)  # one for looking only does not
    for token, when in ((first, NOW), ("made up", NOW), (second, NOW + 10 * MINUTE)):
        with pytest.raises(Refused, match="was used or is over"):
            pair(session, token, device="phone", person="Bo Test", now=when)
    for device, person in (("  ", "Bo Test"), ("phone", ""), ("p" * 61, "Bo Test")):
        with pytest.raises(Refused, match="1 to 60 characters"):
            pair(session, second, device=device, person=person, now=NOW)
    secret, who = pair(session, second, device=" my  phone ", person="Bo Test", now=NOW + 9 * MINUTE)
    assert (who.by, who.writes) == ("Bo Test (my phone)", True)
    with pytest.raises(Refused, match="was used or is over"):
        pair(session, second, device="tablet", person="Bo Test", now=NOW + 9 * MINUTE)
    _, other = pair(session, looks, device="my phone", person="Cy Test", now=NOW)
    assert (other.device, other.writes) == ("my phone 2", False)  # what is done must tell them apart
    kept = [*session.scalars(select(Pairing.token)), *session.scalars(select(Device.secret))]
    assert not {first, second, looks, secret} & set(kept)  # digests alone


def test_a_session_ends_twelve_hours_after_its_last_use_or_when_revoked(sqlite_session: Session) -> None:
    session = sqlite_session
    token = offer_pairing(session, writes=True, stamp=ADA)
    secret, who = pair(session, token, device="phone", person="Bo Test", now=NOW)
    assert known(session, secret, now=NOW + 4 * MINUTE) == (who, False)
    assert known(session, secret, now=NOW + 5 * MINUTE) == (who, True)  # noted every five minutes
    assert known(session, secret, now=NOW + 12 * HOUR) == (None, False)
    note_use(session, secret, now=NOW + 11 * HOUR)
    session.expire_all()
    assert known(session, secret, now=NOW + 22 * HOUR) == (who, True)
    note_use(session, secret, now=NOW + 24 * HOUR)  # over: nothing brings it back
    session.expire_all()
    assert known(session, secret, now=NOW + 24 * HOUR) == (None, False)
    assert known(session, "guessed", now=NOW) == (None, False)
    with pytest.raises(NotFound, match="no device 'tablet' in use"):
        revoke(session, "tablet", stamp=ADA)
    assert revoke(session, "phone", stamp=ADA) == 1
    assert known(session, secret, now=NOW) == (None, False)
    assert [one.name for one in list_devices(session)] == ["phone"]
    assert list(session.scalars(select(Event.verb).order_by(Event.id))) == ["paired", "revoked"]


def test_ten_tries_a_minute_from_one_address(sqlite_session: Session) -> None:
    tries = [may_try(sqlite_session, "10.0.0.7", now=NOW) for _ in range(11)]
    assert tries == [True] * 10 + [False]
    assert may_try(sqlite_session, "10.0.0.8", now=NOW)
    assert not may_try(sqlite_session, "10.0.0.7", now=NOW + timedelta(seconds=59))
    assert may_try(sqlite_session, "10.0.0.7", now=NOW + MINUTE)
