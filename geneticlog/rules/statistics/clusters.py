"""Fish caught together: a weighted mean whose sampling unit is the site or run and not the fish."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from scipy.special import chdtri

from geneticlog.rules.arguments import NumberFault, by_name, count, level_of, number, proportion
from geneticlog.rules.intervals import beta_limits, effective_number
from geneticlog.rules.statistics.estimates import Limits

LEAST_SITES = 6  # from so many on the interval follows the sites; common advice for few clusters, a choice
LEAST_SITES_TO_SAY = (
    3  # from two sites there is one difference, which says nothing of how alike a site's fish are
)
NO_SPREAD = 1e-12


@dataclass(frozen=True, slots=True)
class Clustered:
    """How fish of one site hang together.

    n_sites, n_fish
        Sites, and fish with a result.
    variance, df
        Variance of the weighted mean over sites, and its degrees of freedom; None below two sites.
    """

    n_sites: int
    n_fish: int
    variance: float | None
    df: float | None

    @property
    def leads(self) -> bool:
        """Whether there are sites enough for the interval to follow them."""
        return self.n_sites >= LEAST_SITES and self.variance is not None


def clustered(
    cells: Mapping[str, Mapping[str, tuple[int, float]]], weights: Mapping[str, float]
) -> Clustered:
    """Return the variance of ``sum w_h p_h`` with sites as clusters, from the sums of each class at each site.

    The bias-reduced (CR2) form of a regression on the size classes: with n_gh fish of class h at site g,
    ``z_g = sum_h w_h / n_h (1 - n_gh / n_h)^(-1/2) sum_{i in gh} (q_i - p_h)`` and ``V = sum z_g^2``; Satterthwaite
    degrees of freedom ``(sum a_g'a_g)^2 / sum (a_g'a_k)^2`` of the z's under equal spread. A class met at one site
    only says nothing between sites and is left out here: `limits_over_sites` never goes below the variance over fish.

    cells
        Size class -> site -> (fish with a result, sum of their q).
    weights
        Size class -> its weight in the mean; below 0 for a class that is taken away in a difference.
    raises
        NumberFault for a weighted class without fish, no fish, or sums that no such proportions have.
    source
        Bell RM, McCaffrey DF (2002) Survey Methodology 28:169-181; Pustejovsky JE, Tipton E (2018) Journal of Business
        and Economic Statistics 36:672-683 [both from memory].
    """
    names = [name for name, w in by_name(weights, "weights").items() if _weight(w, name)]
    sites = sorted({site for name in names for site in cells.get(name, {})})
    if not names or not sites:
        raise NumberFault("sites: no fish with a result is at one")
    n = np.zeros((len(names), len(sites)))
    total = np.zeros_like(n)
    for row, name in enumerate(names):
        if not cells.get(name):
            raise NumberFault(f"size class {name!r} has a weight and no fish with a result")
        for site, (fish, sum_q) in cells[name].items():
            n[row, sites.index(site)] = count(fish, f"fish of {name} at {site}")
            total[row, sites.index(site)] = number(sum_q, f"sum of q of {name} at {site}", least=0)
    if (total > n + 1e-9).any():
        raise NumberFault("sites: a sum of q is more than its fish can have")
    of_class = n.sum(axis=1, keepdims=True)
    share = n / of_class
    w = np.array([[weights[name]] for name in names])
    with np.errstate(divide="ignore"):
        c = np.where(share < 1, w / of_class / np.sqrt(1 - np.minimum(share, 1)), 0.0)
    z = (c * (total - n * (total.sum(axis=1, keepdims=True) / of_class))).sum(axis=0)
    if len(sites) < 2:
        return Clustered(len(sites), int(n.sum()), None, None)
    scaled = c * n
    gram = np.diag((c * scaled).sum(axis=0)) - scaled.T @ (scaled / of_class)
    below = float((gram**2).sum())
    df = float(np.trace(gram)) ** 2 / below if below > 0 else float(len(sites) - 1)
    return Clustered(len(sites), int(n.sum()), float((z**2).sum()), df)


@dataclass(frozen=True, slots=True)
class DesignEffect:
    """Variance of a mean over sites / variance over single fish, with its limits; 1 where sites do not matter."""

    effect: float
    low: float
    high: float


def design_effect(
    clustered: Clustered, plain_se: float, between: float = 0.0, level: float = 0.95
) -> DesignEffect | None:
    """Return the design effect of a weighted mean; None below three sites, or where single fish show no spread.

    Its limits are those of a variance of ``df`` degrees of freedom, ``V df / chi2``: few sites leave it wide open.

    plain_se
        Standard error of the mean over single fish.
    between
        Between-class part of the variance, where the weights come from a catch.
    raises
        NumberFault for a standard error or a part of the variance below 0, or a level outside 0 to 1.
    source
        Kish L (1965) Survey Sampling, Wiley, for the ratio; the limits of a normal variance are textbook.
    """
    level_of(level)
    se = number(plain_se, "standard error", least=0)
    given = number(between, "between-class variance", least=0)
    variance, df = clustered.variance, clustered.df
    if variance is None or df is None or clustered.n_sites < LEAST_SITES_TO_SAY or se == 0:
        return None
    tails = (1 - level) / 2, (1 + level) / 2
    low, high = (variance * df / float(chdtri(df, tail)) for tail in tails)
    return DesignEffect((variance + given) / se**2, (low + given) / se**2, (high + given) / se**2)


def _weight(value: float, name: str) -> float:
    weight = number(value, f"weight of {name}")
    proportion(abs(weight), f"weight of {name}")
    return weight


def limits_over_sites(
    mean: float,
    plain: Limits,
    plain_se: float,
    n_alleles: float | None,
    clustered: Clustered,
    between: float = 0.0,
    level: float = 0.95,
) -> tuple[Limits, DesignEffect | None]:
    """Return limits of a weighted mean that follow the sites, and the design effect; below six sites the plain limits.

    The beta limits of Korn and Graubard at the effective number of the variance over sites; at either end the wider of
    these and the plain ones, so that sites that happen to agree do not narrow them.

    mean, plain, plain_se
        The mean with its limits over single fish, and its standard error.
    n_alleles
        Alleles scored of all fish; None if unknown.
    between
        Between-class part of the variance, where the weights come from a catch.
    raises
        NumberFault for a mean outside 0 to 1 or a standard error below 0.
    source
        Korn EL, Graubard BI (1998) Survey Methodology 24:193-201; variance as for `clustered`.
    """
    p, effect = proportion(mean, "mean"), design_effect(clustered, plain_se, between, level)
    if clustered.variance is None or clustered.df is None:
        return plain, None
    variance = clustered.variance + between
    if not clustered.leads or p in (0.0, 1.0) or variance < NO_SPREAD:
        return plain, effect
    n_eff = effective_number(
        np.array([p * (1 - p)]), np.array([variance]), np.array([clustered.df]),
        np.array([np.nan if n_alleles is None else n_alleles]), level,
    )  # fmt: skip
    low, high = beta_limits(np.array([p]), n_eff, level)
    return Limits(min(plain.low, float(low[0])), max(plain.high, float(high[0]))), effect
