"""Which surveys have so many sites that their numbers follow them."""

from __future__ import annotations

from sqlalchemy import and_, func, select
from sqlalchemy.orm import Session

from geneticlog.rules.statistics.clusters import LEAST_SITES
from geneticlog.store.tables import Fish, Result
from geneticlog.work.result.in_the_numbers import counted


def surveys_of_many_sites(session: Session) -> set[int]:
    """Return the surveys whose fish with a result were caught at enough sites for intervals that follow them."""
    n_sites = func.count(Fish.site.distinct())
    return set(
        session.scalars(
            select(Fish.survey_id)
            .join(Result, and_(Result.fish_id == Fish.id, counted()))
            .where(Fish.site.is_not(None))
            .group_by(Fish.survey_id)
            .having(n_sites >= LEAST_SITES - 1)
        )
    )
