"""The calls of results that came locus by locus, counted in the database: one row a result."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import ColumnElement, case, func, select
from sqlalchemy.orm import Session

from geneticlog.store.tables import Fish, Genotype, Result, Vial


@dataclass(frozen=True, slots=True)
class Called:
    """The loci of one result with 0, 1 and 2 alleles of the panel's taxon, and the markers the lab listed."""

    loci: tuple[int, int, int]
    n_markers: int

    def rate_or(self, stated: float | None) -> float:
        """Return the call rate the lab stated, else the share of its markers that were called."""
        return stated if stated is not None else sum(self.loci) / self.n_markers


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
