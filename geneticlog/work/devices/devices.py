"""Pair a device with a one-time token, know it again by its session, list and revoke devices.

Only digests of tokens and sessions are stored: who reads the database cannot use either.
"""

from __future__ import annotations

import hashlib
import secrets
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import chain, count

from sqlalchemy import delete, func, select, update
from sqlalchemy.orm import Session

from geneticlog.errors import NotFound, Refused
from geneticlog.rules.stamp import Stamp
from geneticlog.store.tables import Device, Pairing, PairingTry
from geneticlog.work.events import new_uid, record

TOKEN_LASTS = timedelta(minutes=10)
SESSION_LASTS = timedelta(hours=12)  # since it was last used: a night survey is longer than a shift
USE_IS_NOTED_EVERY = timedelta(minutes=5)  # so that a page that refreshes itself does not write at each look
MOST_TRIES = 10  # tokens tried from one address within TRIES_COUNT_FOR, before pairing is refused for a while
TRIES_COUNT_FOR = timedelta(minutes=1)
LONGEST_NAME = 60
THIS_MACHINE = "this machine"  # the device that needs no pairing


@dataclass(frozen=True)
class Paired:
    """Who uses a page: the person, the device, and whether it may write."""

    device: str
    person: str
    writes: bool

    @property
    def by(self) -> str:
        """Who did it, for the record: the person and the device."""
        return f"{self.person} ({self.device})"


def digest(secret: str) -> str:
    """Return what is stored of a token or a session."""
    return hashlib.sha256(secret.encode()).hexdigest()


def offer_pairing(session: Session, *, writes: bool, stamp: Stamp) -> str:
    """Return a new one-time token, good for ten minutes; older ones that were not used end."""
    session.execute(
        update(Pairing).where(Pairing.used_at.is_(None), Pairing.writes == writes).values(ends_at=stamp.now)
    )
    token = secrets.token_urlsafe(16)
    session.add(
        Pairing(
            token=digest(token),
            writes=writes,
            offered_at=stamp.now,
            offered_by=stamp.by,
            ends_at=stamp.now + TOKEN_LASTS,
        )
    )
    return token


def may_try(session: Session, address: str, *, now: datetime) -> bool:
    """Count one more try from an address, over all processes on this database; tell whether it may be made."""
    session.execute(delete(PairingTry).where(PairingTry.tried_at <= now - TRIES_COUNT_FOR))
    n_tries = session.scalar(
        select(func.count()).select_from(PairingTry).where(PairingTry.address == address)
    )
    if (n_tries or 0) >= MOST_TRIES:
        return False
    session.add(PairingTry(address=address, tried_at=now))
    return True


def pair(session: Session, token: str, *, device: str, person: str, now: datetime) -> tuple[str, Paired]:
    """Use a token: return the secret of a new session and who it is for.

    Raises Refused for a token that is unknown, used or over, or a name that is missing or too long.
    """
    device, person = " ".join(device.split()), " ".join(person.split())
    for what, name in (("your name", person), ("a name for this device", device)):
        if not name or len(name) > LONGEST_NAME:
            raise Refused(f"enter {what}, 1 to {LONGEST_NAME} characters")
    offered = session.scalar(select(Pairing).where(Pairing.token == digest(token)).with_for_update())
    if offered is None or offered.used_at is not None or offered.ends_at <= now:
        raise Refused("this pairing code was used or is over; show a new one on the laptop and scan it")
    device = _name_of_its_own(session, device, now)
    offered.used_at = now
    secret = secrets.token_urlsafe(32)
    uid = new_uid()
    session.add(
        Device(
            uid=uid, name=device, person=person, writes=offered.writes, secret=digest(secret), paired_at=now,
            used_at=now, ends_at=now + SESSION_LASTS,
        )
    )  # fmt: skip
    new = {"person": person, "writes": offered.writes}
    record(session, "paired", "device", device, stamp=Stamp(now, offered.offered_by), new=new)
    return secret, Paired(device, person, offered.writes)


def _name_of_its_own(session: Session, name: str, now: datetime) -> str:
    """Return a name that no other device in use has: "phone", else "phone 2"; what is done must tell them apart."""
    taken = set(
        session.scalars(select(Device.name).where(Device.revoked_at.is_(None), Device.ends_at > now))
    ) | {THIS_MACHINE}
    return next(one for one in chain([name], (f"{name} {n}" for n in count(2))) if one not in taken)


def known(session: Session, secret: str, *, now: datetime) -> tuple[Paired | None, bool]:
    """Return who a session belongs to (None: nobody any more), and whether its use should be noted."""
    device = session.scalar(select(Device).where(Device.secret == digest(secret)))
    if device is None or device.revoked_at is not None or device.ends_at <= now:
        return None, False
    return Paired(device.name, device.person, device.writes), now - device.used_at >= USE_IS_NOTED_EVERY


def note_use(session: Session, secret: str, *, now: datetime) -> None:
    """Let a session last twelve hours from now."""
    session.execute(
        update(Device)
        .where(Device.secret == digest(secret), Device.revoked_at.is_(None), Device.ends_at > now)
        .values(used_at=now, ends_at=now + SESSION_LASTS)
    )


def list_devices(session: Session) -> list[Device]:
    """Return every device that was ever paired, the latest first."""
    return list(session.scalars(select(Device).order_by(Device.paired_at.desc(), Device.id.desc())))


def revoke(session: Session, name: str, *, stamp: Stamp) -> int:
    """End every session of a device by its name; return how many. Raises NotFound where none is in use."""
    in_use = list(
        session.scalars(
            select(Device).where(Device.name == name, Device.revoked_at.is_(None), Device.ends_at > stamp.now)
        )
    )
    if not in_use:
        raise NotFound(f"there is no device {name!r} in use; see: geneticlog serve --devices")
    for device in in_use:
        device.revoked_at = stamp.now
    record(session, "revoked", "device", name, stamp=stamp)
    return len(in_use)
