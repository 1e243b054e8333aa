"""A catch-weighted mean, and differences, where fish of one site are alike: over single fish, and over sites.

    python tests/benchmarks/sites.py [SURVEYS] [--write]

Invented lakes of three size classes; the ancestry of a fish is that of its site, with the share given, or its own.
"""

from __future__ import annotations

import sys

import numpy as np
from results import save

from geneticlog.rules.statistics.clusters import clustered, limits_over_sites
from geneticlog.rules.statistics.contrast import Side, contrasts
from geneticlog.rules.statistics.estimates import Limits
from geneticlog.rules.statistics.site_cells import AtSites, at_sites
from geneticlog.rules.statistics.sums import sums_of
from geneticlog.rules.strata import catch_weighted_from_sums

NAMES, SHARES = ("young", "middle", "old"), (0.5, 0.35, 0.15)
P = 0.3


def main(surveys: int) -> list[str]:
    lines = [
        "| sites | fish a class | of the site | single fish | over sites | width, single | width, over sites |"
        " mean design effect |",
        "|---|---|---|---|---|---|---|---|",
    ]
    for n_sites in (6, 8, 12, 20):
        for per_class in (8, 15):
            for shared in (0.0, 0.2, 0.5):
                random = np.random.default_rng([n_sites, per_class, round(10 * shared)])
                held = np.zeros(2)
                width = np.zeros(2)
                effects = 0.0
                for _ in range(surveys):
                    site_is = random.beta(6 * P, 6 * (1 - P), n_sites)
                    q, at = {}, {}
                    for name in NAMES:
                        at[name] = random.integers(0, n_sites, per_class)
                        own = random.beta(6 * P, 6 * (1 - P), per_class)
                        ancestry = np.where(random.random(per_class) < shared, site_is[at[name]], own)
                        q[name] = random.binomial(76, ancestry) / 76
                    caught = {
                        name: max(per_class, round(120 * s)) for name, s in zip(NAMES, SHARES, strict=True)
                    }
                    total = sum(caught.values())
                    weights = {name: n / total for name, n in caught.items()}
                    told = catch_weighted_from_sums({k: sums_of(v, 38) for k, v in q.items()}, caught)
                    assert told.mean is not None
                    assert told.low is not None
                    assert told.high is not None
                    assert told.se is not None
                    cells = {
                        name: {
                            str(s): (int((at[name] == s).sum()), float(q[name][at[name] == s].sum()))
                            for s in set(at[name].tolist())
                        }
                        for name in NAMES
                    }
                    between = sum(weights[k] * (v.mean() - told.mean) ** 2 / total for k, v in q.items())
                    limits, effect = limits_over_sites(
                        told.mean, Limits(told.low, told.high), told.se, 6 * 38.0 * per_class,
                        clustered(cells, weights), between,
                    )  # fmt: skip
                    for place, (low, high) in enumerate(((told.low, told.high), limits)):
                        held[place] += low <= P <= high
                        width[place] += high - low
                    effects += effect.effect if effect else 0.0
                numbers = " | ".join(f"{one:.3f}" for one in (*held / surveys, *width / surveys))
                lines.append(f"| {n_sites} | {per_class} | {shared} | {numbers} | {effects / surveys:.2f} |")
    return lines


def one_survey(
    random: np.random.Generator, n_sites: int, per_class: int, shared: float, code: str
) -> tuple[dict[str, np.ndarray], AtSites | None]:
    """q of each class of an invented survey, and where its fish were caught."""
    site_is = random.beta(6 * P, 6 * (1 - P), n_sites)
    fish: list[tuple[str | None, str | None, float]] = []
    q_of = {}
    for name in NAMES:
        at = random.integers(0, n_sites, per_class)
        own = random.beta(6 * P, 6 * (1 - P), per_class)
        q_of[name] = random.binomial(76, np.where(random.random(per_class) < shared, site_is[at], own)) / 76
        fish += [(name, f"site {site}", float(q)) for site, q in zip(at, q_of[name], strict=True)]
    return q_of, at_sites(code, fish)


def differences(surveys: int) -> list[str]:
    """How often a difference leaves 0 out where there is none: of two surveys, and of young and old of one."""
    lines = [
        "",
        "Differences where there is none: how often the 95 % interval leaves 0 out, over single fish / over sites.",
        "",
        "| sites | fish a class | of the site | change between two surveys | young against the other two sizes |",
        "|---|---|---|---|---|",
    ]
    weights = dict(zip(NAMES, SHARES, strict=True))
    older = {name: weights[name] / (1 - SHARES[0]) for name in NAMES[1:]}
    for n_sites in (6, 8, 12):
        for per_class in (8, 15):
            for shared in (0.0, 0.2, 0.5):
                random = np.random.default_rng([7, n_sites, per_class, round(10 * shared)])
                pairs: list[list[tuple[Side, Side]]] = [[], [], [], []]
                for _ in range(surveys):
                    sums, sites = [], []
                    for code in "AB":
                        q, where = one_survey(random, n_sites, per_class, shared, code)
                        sums.append({name: sums_of(of, 38) for name, of in q.items()})
                        sites.append(where)
                    for place, known in enumerate(([None, None], sites)):
                        both = (Side(one, weights, sites=at) for one, at in zip(sums, known, strict=True))
                        pairs[place].append((next(both), next(both)))
                        young, old = (Side(sums[0], w, sites=known[0]) for w in ({NAMES[0]: 1.0}, older))
                        pairs[2 + place].append((young, old))
                out = [np.mean([(one.p or 1.0) < 0.05 for one in contrasts(some)]) for some in pairs]
                shares = f"{out[0]:.3f} / {out[1]:.3f} | {out[2]:.3f} / {out[3]:.3f}"
                lines.append(f"| {n_sites} | {per_class} | {shared} | {shares} |")
    return lines


if __name__ == "__main__":
    n_surveys = next((int(one) for one in sys.argv[1:] if one.isdigit()), 1000)
    save("sites", [*main(n_surveys), *differences(n_surveys)])
