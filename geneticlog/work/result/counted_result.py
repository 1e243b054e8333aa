"""Choose the one result of each fish that counts and means use."""

from __future__ import annotations

from collections.abc import Collection

from sqlalchemy import Select, case, func, select, update
from sqlalchemy.orm import Session

from geneticlog.rules.label.vial_states import VialRole
from geneticlog.store.chunks import in_chunks
from geneticlog.store.tables import Result, ReturnRow, Vial
from geneticlog.work.result.in_the_numbers import usable


def settle(session: Session, vial_ids: Collection[int]) -> None:
    """Mark, for the fish of these vials, the one result that counts for each fish, and unmark any other.

    A usable result (`in_the_numbers`) speaks; of two vials of a fish the sample goes before the blind
    duplicate, then the vial registered first. A blank has no fish and never counts. Call it after every
    change of a result's standing and of a vial's fish; it may be repeated.
    """
    session.flush()
    for chunk in in_chunks(vial_ids):
        of_vials = select(Vial.fish_id).where(Vial.id.in_(chunk), Vial.fish_id.is_not(None))
        spoken_for = select(Result.fish_id).where(Result.vial_id.in_(chunk), Result.fish_id.is_not(None))
        _settle_fish(session, list(session.scalars(of_vials.union(spoken_for))))
    session.expire_all()


def settle_return(session: Session, return_file_id: int) -> None:
    """Do the same for the fish of all vials in a file that was read, however many, in two statements."""
    session.flush()
    _settle_fish(session, fish_of_file(return_file_id))
    session.expire_all()


def fish_of_file(return_file_id: int) -> Select[int | None]:
    """Return the query for the fish of all vials in a file that was read."""
    return (
        select(Vial.fish_id)
        .join(ReturnRow, ReturnRow.vial_id == Vial.id)
        .where(ReturnRow.return_file_id == return_file_id, Vial.fish_id.is_not(None))
    )


def _settle_fish(session: Session, fish: list[int | None] | Select[int | None]) -> None:
    rank = func.row_number().over(
        partition_by=Vial.fish_id,
        order_by=(case((Vial.role == VialRole.SAMPLE, 0), else_=1), Vial.id, Result.id.desc()),
    )
    ranked = (
        select(Result.id.label("id"), rank.label("place"))
        .join(Vial, Vial.id == Result.vial_id)
        .where(
            Vial.fish_id.in_(fish),
            Vial.role != VialRole.BLANK,
            usable(),
        )
        .subquery()
    )
    first = select(ranked.c.id).where(ranked.c.place == 1)
    own_fish = select(Vial.fish_id).where(Vial.id == Result.vial_id).scalar_subquery()
    not_first = update(Result).where(
        Result.fish_id.in_(fish),
        Result.id.not_in(first) | (Result.fish_id != own_fish) | own_fish.is_(None),
    )
    session.execute(not_first.values(fish_id=None).execution_options(synchronize_session=False))
    speaks = update(Result).where(Result.id.in_(first), Result.fish_id.is_(None))
    session.execute(speaks.values(fish_id=own_fish).execution_options(synchronize_session=False))
