"""The size classes a lake has for a species, and the sampling plan made for them."""

from __future__ import annotations

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.rules.schemes import LEAST_LENGTH, OwnSchemes, Scheme, SchemeError, five_length
from geneticlog.rules.species import SPECIES
from geneticlog.rules.stamp import Stamp
from geneticlog.store.tables import Lake, SamplingPlan
from geneticlog.work.events import record


def own_schemes(lake: Lake) -> dict[str, Scheme]:
    """Return the size classes that a lake has of its own, by species."""
    return dict(lake.scheme.by_species) if lake.scheme else {}


def set_scheme(session: Session, lake: Lake, species: str, scheme: Scheme | None, *, stamp: Stamp) -> None:
    """Give a lake size classes of its own for a species (None: the published ones again).

    Those of other species stay; surveys opened before keep theirs.
    """
    schemes = own_schemes(lake)
    schemes.pop(species, None)
    if scheme is not None:
        schemes[species] = scheme
    old, lake.scheme = lake.scheme, OwnSchemes(schemes) if schemes else None
    if old != lake.scheme:
        record(
            session,
            "corrected",
            "lake",
            lake.code,
            stamp=stamp,
            old={"scheme": old.to_json() if old else None},
            new={"scheme": lake.scheme.to_json() if lake.scheme else None},
        )


def scheme_of(lake: Lake, species: str) -> Scheme:
    """Return the scheme that a survey opened now would have: the lake's own for its species, else the published.

    Raises SchemeError for a species without published limits where the lake has no classes of its own for it.
    """
    own = own_schemes(lake).get(species)
    if own is None and (species, "mm") not in LEAST_LENGTH:
        named = SPECIES[species].printed if species in SPECIES else repr(species)
        raise SchemeError(
            f"no published size classes are known for {named}, and lake {lake.code} has none of its own for it; give"
            f" it some, e.g.: geneticlog lake classes {lake.code} --species {species} --two-groups 12"
        )
    return own or five_length(species)


def newest_plan(session: Session, lake: Lake, species: str) -> SamplingPlan | None:
    """Return the newest sampling plan of a lake for a species, whatever its size classes."""
    plans = session.scalars(
        select(SamplingPlan).where(SamplingPlan.lake_id == lake.id).order_by(SamplingPlan.number.desc())
    )
    return next((plan for plan in plans if plan.scheme.species == species), None)


def targets_of(plan: SamplingPlan) -> dict[str, int]:
    """Return the targets of a plan, smallest size class first; a class that is taken as it comes has none."""
    held = {row.size_class: row.target for row in plan.targets}
    return {name: held[name] for name in plan.scheme.classes if name in held}


def plan_in_force(session: Session, lake: Lake, species: str = "largemouth_bass") -> SamplingPlan | None:
    """Return the newest sampling plan of a lake for a species, if it was made for the classes the lake has now."""
    plan = newest_plan(session, lake, species)
    if plan is None or not plan.scheme.judges_like(scheme_of(lake, species)):
        return None
    return plan
