"""How many loci of a result were called: from its genotypes, counted in the database, or from what the lab said."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import ColumnElement, case, func, select
from sqlalchemy.orm import Session

from geneticlog.store.tables import Fish, Genotype, Panel, Result, ReturnFile, ReturnRow, Vial
from geneticlog.work.result.kept_reading import kept_reading

STATED, OF_MARKERS, OF_PANEL = "the lab", "genotypes", "loci of the panel"


@dataclass(frozen=True, slots=True)
class Called:
    """The loci of one result with 0, 1 and 2 alleles of the panel's taxon, and the markers the lab listed."""

    loci: tuple[int, int, int]
    n_markers: int


def call_rate_of(
    result: Result, panel: Panel | None, calls: Called | None, *, loci_are_given: bool
) -> tuple[float | None, str | None]:
    """Return a result's call rate and what it comes from: the lab's own, the markers it called, or loci scored of
    the panel's.

    loci_are_given
        The lab did not say how many loci it scored and the panel's number was taken, which says nothing of missing
        calls.
    """
    if result.call_rate is not None:
        return result.call_rate, STATED
    if calls is not None:
        return sum(calls.loci) / calls.n_markers, OF_MARKERS
    of_panel = panel.n_loci if panel is not None else None
    if result.n_loci is None or of_panel is None or loci_are_given or result.n_loci > of_panel:
        return None, None
    return result.n_loci / of_panel, OF_PANEL


def given_loci(session: Session, of: ColumnElement[bool]) -> set[int]:
    """Return the results whose file did not say the loci scored, so that they were given the panel's number.

    of
        which results, said of Result or of the Fish whose vial they are about.
    """
    about = (
        select(Result.id, ReturnRow.return_file_id)
        .join(ReturnRow, ReturnRow.id == Result.return_row_id)
        .join(Vial, Vial.id == Result.vial_id)
        .outerjoin(Fish, Fish.id == Vial.fish_id)
        .where(of)
    ).subquery()
    files = select(ReturnFile.id, ReturnFile.reading).where(
        ReturnFile.id.in_(select(about.c.return_file_id).distinct())
    )
    silent = [file_id for file_id, reading in session.execute(files) if kept_reading(reading).loci_from_panel]
    if not silent:
        return set()
    return set(session.scalars(select(about.c.id).where(about.c.return_file_id.in_(silent))))


def called_loci(session: Session, of: ColumnElement[bool]) -> dict[int, Called]:
    """Return the calls of each result that has any, by the result's id.

    of
        which results, said of Result or of the Fish whose vial they are about.
    """
    alleles = Genotype.n_alleles
    rows = session.execute(
        select(
            Genotype.result_id,
            *(func.sum(case((alleles == n, 1), else_=0)) for n in (0, 1, 2)),
            func.count(),
        )
        .join(Result, Result.id == Genotype.result_id)
        .join(Vial, Vial.id == Result.vial_id)
        .outerjoin(Fish, Fish.id == Vial.fish_id)
        .where(of)
        .group_by(Genotype.result_id)
    )
    return {
        result_id: Called((int(n0), int(n1), int(n2)), int(n_markers))
        for result_id, n0, n1, n2, n_markers in rows
        if n0 or n1 or n2
    }
