"""What was put into a lake: entered, corrected and taken back, so that a change can be seen beside it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date, datetime, timedelta
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.errors import NotFound, Refused
from geneticlog.rules.sentences import listed
from geneticlog.rules.species import SPECIES
from geneticlog.rules.stamp import Stamp
from geneticlog.store.tables import Lake, Panel, Stocking
from geneticlog.work.events import Corrected, new_uid, record, require_reason

FIELDS = ("stocked_on", "taxon", "n_fish", "size", "source", "permit", "remarks")
ALWAYS_KNOWN = ("Florida", "northern", "F1")  # what a hatchery sells of largemouth bass, whatever the panels


def add_stocking(
    session: Session,
    lake: Lake,
    stocked_on: date,
    taxon: str,
    *,
    stamp: Stamp,
    sure: bool = False,
    **details: Any,
) -> Stocking:
    """Enter what was stocked in a lake, so that changes can be seen beside it.

    sure: the word for the kind of fish is meant, though it is none that is known here.
    Raises Refused for a day that is still to come, a number that cannot be, a word that is not known.
    """
    taxon = taxon.strip()
    _check(session, lake, {"stocked_on": stocked_on, "taxon": taxon, **details}, now=stamp.now, sure=sure)
    stocking = Stocking(uid=new_uid(), lake_id=lake.id, stocked_on=stocked_on, taxon=taxon, **details)
    session.add(stocking)
    session.flush()
    new = {"stocked_on": stocked_on.isoformat(), "taxon": taxon, "n_fish": stocking.n_fish}
    record(session, "stocked", "lake", lake.code, stamp=stamp, new=new)
    return stocking


def find_stocking(session: Session, lake: Lake, stocked_on: date, taxon: str | None = None) -> Stocking:
    """Return the stocking of a lake on a day; taxon tells two of one day apart. Raises NotFound, Refused."""
    every = session.scalars(
        select(Stocking).where(Stocking.lake_id == lake.id).order_by(Stocking.stocked_on, Stocking.id)
    ).all()
    of_day = [one for one in every if one.stocked_on == stocked_on]
    if not of_day:
        there = listed([f"{one.stocked_on} {one.taxon}" for one in every], 6) or "none"
        raise NotFound(f"lake {lake.code} has no stocking on {stocked_on}; there are: {there}")
    fitting = [one for one in of_day if taxon is None or one.taxon.casefold() == taxon.strip().casefold()]
    if not fitting:
        raise NotFound(
            f"lake {lake.code} has on {stocked_on}: {listed(one.taxon for one in of_day)}; not {taxon!r}"
        )
    if len({one.taxon.casefold() for one in fitting}) > 1:
        raise Refused(
            f"lake {lake.code} has several stockings on {stocked_on}: {listed(one.taxon for one in fitting)}; name one"
            " with --of KIND"
        )
    return fitting[-1]  # of two that are alike, the one entered last


def correct_stocking(
    session: Session,
    lake: Lake,
    stocking: Stocking,
    changes: Mapping[str, Any],
    *,
    stamp: Stamp,
    why: str,
    sure: bool = False,
) -> Corrected:
    """Change what is stored of a stocking, any of FIELDS; None empties a field. Raises Refused as `add_stocking`."""
    require_reason(why, "the correction")
    subject = _named(lake, stocking)
    changed = {key: value for key, value in changes.items() if getattr(stocking, key) != value}
    _check(session, lake, changed, now=stamp.now, sure=sure)
    old = _values(stocking)
    old_and_new = {key: (getattr(stocking, key), value) for key, value in changed.items()}
    for key, value in changed.items():
        setattr(stocking, key, value)
    if changed:
        session.flush()
        new = _values(stocking)
        record(session, "corrected_stocking", "lake", lake.code, stamp=stamp, old=old, new=new, why=why)
    return Corrected(subject, old_and_new)


def take_back_stocking(session: Session, lake: Lake, stocking: Stocking, *, stamp: Stamp, why: str) -> str:
    """Take a stocking that never was out of the lake; what it said stays in the history. Returns its name."""
    require_reason(why, "the correction")
    subject = _named(lake, stocking)
    record(session, "undone_stocking", "lake", lake.code, stamp=stamp, old=_values(stocking), why=why)
    session.delete(stocking)
    session.flush()
    return subject


def _named(lake: Lake, stocking: Stocking) -> str:
    return f"stocking of {lake.code} on {stocking.stocked_on}, {stocking.taxon}"


def _values(stocking: Stocking) -> dict[str, Any]:
    return {"stocking": stocking.uid} | {key: getattr(stocking, key) for key in FIELDS}


def _check(session: Session, lake: Lake, given: Mapping[str, Any], *, now: datetime, sure: bool) -> None:
    for name, in_words in (("stocked_on", "its date"), ("taxon", "the kind of fish")):
        if name in given and not given[name]:
            raise Refused(
                f"a stocking needs {in_words}, e.g. {'Florida, F1 or northern' if name == 'taxon' else now.date()}"
            )
    on, n_fish = given.get("stocked_on"), given.get("n_fish")
    if on is not None and on > now.date() + timedelta(
        days=1
    ):  # a day more: it may be tomorrow already where they are
        raise Refused(
            f"a stocking on {on} lies ahead (today is {now.date()}); enter it when the fish are in the water, or"
            " correct the date"
        )
    if n_fish is not None and n_fish <= 0:
        raise Refused(f"{n_fish} fish cannot have been stocked")
    if "taxon" in given and not sure:
        _known_kind(session, lake, given["taxon"])


def _known_kind(session: Session, lake: Lake, taxon: str) -> None:
    taxa = [name for pair in session.execute(select(Panel.taxon, Panel.other_taxon)) for name in pair]
    kinds = list(dict.fromkeys((*ALWAYS_KNOWN, *taxa)))
    words = [*kinds, *SPECIES, *(one.printed for one in SPECIES.values())]
    if any(re.search(rf"(?<!\w){re.escape(word)}(?!\w)", taxon, re.IGNORECASE) for word in words):
        return
    earlier = session.scalars(select(Stocking.taxon).where(Stocking.lake_id == lake.id))
    if taxon.casefold() in {one.casefold() for one in earlier}:
        return
    raise Refused(
        f"{taxon!r} is not a kind of fish known here: {listed(kinds)}, a species such as bluegill, or a word this"
        " lake's stockings have used; if it is meant, confirm it with --yes"
    )
