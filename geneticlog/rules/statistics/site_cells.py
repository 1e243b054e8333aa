"""Fish of one survey by size class and site: what a difference of means needs to follow the sites."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from math import fsum

from geneticlog.rules.arguments import NumberFault
from geneticlog.rules.statistics.clusters import LEAST_SITES, Clustered, clustered
from geneticlog.rules.statistics.sums import Sums

LEAST_LOGGED = 0.5  # share of the fish whose site must be known for it to speak for all; a choice
ALIKE_FROM = 1.5  # design effect from which fish of one site are said to be alike; a choice

Cell = tuple[int, float]


@dataclass(frozen=True, slots=True)
class AtSites:
    """Where the fish of one survey were caught.

    survey
        Which outing it was: two sides of one outing share their sites.
    cells
        Size class -> site -> (fish with a result, sum of their q).
    """

    survey: str
    cells: Mapping[str, Mapping[str, Cell]]


def at_sites(survey: str, fish: Iterable[tuple[str | None, str | None, float]]) -> AtSites | None:
    """Return the fish of a survey by class and site; None where too few sites, or of too few fish, are known.

    Sums are rounded once, so they are the same in any order of the fish.

    fish
        (size class, site, q) of every fish with a result; None where not known.
    """
    sized = [(name, site, q) for name, site, q in fish if name is not None]
    logged = [(name, site, q) for name, site, q in sized if site]
    if len({site for _, site, _ in logged}) < LEAST_SITES or len(logged) < LEAST_LOGGED * len(sized):
        return None
    of_cell: dict[str, dict[str, list[float]]] = {}
    for name, site, q in logged:
        of_cell.setdefault(name, {}).setdefault(site or "", []).append(q)
    return AtSites(
        survey,
        {
            name: {site: (len(some), fsum(some)) for site, some in sites.items()}
            for name, sites in of_cell.items()
        },
    )


@dataclass(frozen=True, slots=True)
class Weighted:
    """Size classes of one survey with their weights in a difference: below 0 on the side that is taken away."""

    sums: Mapping[str, Sums]
    weights: Mapping[str, float]
    sites: AtSites | None


def over_sites(sides: Iterable[Weighted]) -> Clustered | None:
    """Return the variance over sites of one weighted sum of class means of one survey; None where sites do not lead.

    Young against adult, or one class against another, of one outing is one such sum with weights of both signs: what
    the fish of a site have in common then cancels. Fish without a site are taken to scatter as those with one.

    sides
        One side, or the two of a difference within a survey, whose size classes are not the same.
    raises
        NumberFault for a class on both sides, or what `clustered` refuses.
    source
        As for `clustered`.
    """
    cells: dict[str, Mapping[str, Cell]] = {}
    weights: dict[str, float] = {}
    every = met = 0.0
    for side in sides:
        if side.sites is None:
            return None
        for name, weight in side.weights.items():
            if not weight:
                continue
            if name in weights:
                raise NumberFault(f"size class {name!r} is on both sides of one survey")
            every += weight**2 / side.sums[name].n
            of_class = side.sites.cells.get(name)
            if of_class:
                weights[name], cells[name] = weight, of_class
                met += weight**2 / sum(n for n, _ in of_class.values())
    if not weights:
        return None
    over = clustered(cells, weights)
    if not over.leads or over.variance is None:
        return None
    scale = 1.0 if every == met else every / met
    return replace(over, variance=over.variance * scale)
