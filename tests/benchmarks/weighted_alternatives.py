"""Ways to put limits on a catch-weighted mean when few fish of a class are typed, over invented lakes.

Run: python tests/benchmarks/weighted_alternatives.py [surveys per cell]
Prints the Markdown table of DEVELOPERS.md: lowest coverage of 95 % intervals over the lakes, and mean width. All
surveys of a cell at once; the form in use is also checked against `catch_weighted_from_sums` survey by survey.
"""

from __future__ import annotations

import sys
import time
from dataclasses import dataclass

import numpy as np
from coverage_study import ONE_CLASS, SHARES, TWO_GROUPS, WEIGHTED, mixed, two_kinds

from geneticlog.rules.intervals import (
    NO_VARIANCE,
    beta_limits,
    effective_number,
    guarded_number,
    mean_from_sums_many,
)
from geneticlog.rules.statistics.strata_limits import Strata, strata_limits
from geneticlog.rules.statistics.sums import Sums
from geneticlog.rules.strata import catch_weighted_from_sums

LOCI = 35


def pure(random: np.random.Generator, mean: float, n: int) -> np.ndarray:
    return 1.0 * (random.random(n) < mean)


def f1s(random: np.random.Generator, mean: float, n: int) -> np.ndarray:
    return 0.5 * (random.random(n) < 2 * mean)


def swarm(random: np.random.Generator, mean: float, n: int) -> np.ndarray:
    return random.beta(20 * mean, 20 * (1 - mean), n)


def few_mixed(random: np.random.Generator, mean: float, n: int) -> np.ndarray:
    return mixed(random, (n, 1), 1 - 4 * mean, 1, 3)[:, 0]


# name: (share of each class in the lake, its mean, how a fish of it is drawn)
STUDIED = WEIGHTED
MORE = {
    "giants, rarer": (SHARES, [0.01, 0.03, 0.1, 0.5, 0.9], pure),
    "giants, commoner": (SHARES, [0.05, 0.1, 0.3, 0.6, 0.9], pure),
    "one class odd": (SHARES, [0.12, 0, 0, 0, 0], pure),
    "F1 of one size": (SHARES, [0.01, 0.1, 0.02, 0.01, 0.01], f1s),
    "a tenth pure": (SHARES, [0.1] * 5, pure),
    "young pure": (SHARES, [0.10, 0.05, 0.02, 0.02, 0.02], pure),
}
for word, parts in (
    ("one class", [1.0]),
    ("two classes", [0.7, 0.3]),
    ("two even classes", [0.5, 0.5]),
    ("three classes", [0.6, 0.3, 0.1]),
    ("eight classes", [0.25, 0.2, 0.17, 0.13, 0.1, 0.08, 0.05, 0.02]),
):
    for drawn in (pure, f1s, swarm, few_mixed):
        for shape, ends in (("rising", (0.02, 0.2)), ("falling", (0.1, 0.02)), ("level", (0.05, 0.05))):
            MORE[f"{word}, {drawn.__name__}, {shape}"] = (
                np.array(parts),
                list(np.linspace(*ends, len(parts))),
                drawn,
            )


# Two kinds of fish by size, and all the lakes of two groups or one.
FEW_CLASSES = {
    f"two kinds, young {share:.0%}, {young:.0%} of the lake": (
        np.array([young, 1 - young]),
        [share, 0.98],
        two_kinds,
    )
    for share in (0.02, 0.05, 0.1, 0.2, 0.3, 0.35)
    for young in (0.3, 0.5, 0.7)
} | {name: lake for name, lake in (TWO_GROUPS | ONE_CLASS).items() if not name.startswith("two kinds")}


@dataclass
class Surveys:
    """Surveys of one cell: arrays of (surveys, classes)."""

    caught: np.ndarray
    n: np.ndarray
    q1: np.ndarray
    q2: np.ndarray
    least: np.ndarray
    most: np.ndarray

    def __post_init__(self) -> None:
        self.w = self.caught / self.caught.sum(axis=1, keepdims=True)
        self.safe = np.maximum(self.n, 1)
        self.means = self.q1 / self.safe
        over = np.maximum(self.q2 - self.q1**2 / self.safe, 0) / np.maximum(self.n - 1, 1)
        self.own = np.where(over < NO_VARIANCE, 0.0, over)
        self.mean = np.clip((self.w * self.means).sum(axis=1), 0, 1)
        self.between = (self.w * (self.means - self.mean[:, None]) ** 2).sum(axis=1) / self.caught.sum(axis=1)
        self.few = (self.n > 1) & (np.sqrt(self.own) >= np.minimum(self.means, 1 - self.means) - 1e-9)
        self.alike = (self.n > 1) & (self.own == 0)


def drawn_surveys(lake: tuple, catch: int, per_class: int, surveys: int, seed: int) -> Surveys:
    shares, class_means, draw = lake
    random = np.random.default_rng(seed)
    caught = random.multinomial(catch, shares, size=surveys)
    n = np.minimum(caught, per_class)
    q1, q2, least, most = (np.zeros(n.shape) for _ in range(4))
    for at, mean in enumerate(class_means):
        a = draw(random, mean, surveys * per_class).reshape(surveys, per_class)
        typed = np.arange(per_class) < n[:, [at]]
        q = random.binomial(2 * LOCI, a) / (2 * LOCI) * typed
        least[:, at], most[:, at] = np.where(typed, q, 1).min(axis=1), q.max(axis=1)
        q1[:, at], q2[:, at] = q.sum(axis=1), (q**2).sum(axis=1)
    return Surveys(caught, n, q1, q2, least, most)


def with_guard(s: Surveys, guard: float | np.ndarray) -> np.ndarray:
    """Class variances with so many fish added at 0 and at 1 where few fish carry the spread."""
    m = s.n + 2 * guard
    with np.errstate(divide="ignore", invalid="ignore"):
        mean = (s.n * s.means + guard) / m
        added = (((s.n - 1) * s.own + s.n * s.means**2 + guard) / m - mean**2) * m / (m - 1)
    return np.where(s.few, np.maximum(added, s.own), s.own)


def limits(s: Surveys, own: np.ndarray, part: np.ndarray | float = 0.0) -> tuple[np.ndarray, np.ndarray]:
    """Beta limits on the class variances ``own``; ``part`` of the pooled one is the least that a class gets."""
    single, df_pooled = s.n == 1, np.maximum((s.n - (s.n > 0)).sum(axis=1, keepdims=True), 1)
    freedom = np.maximum(s.n - 1, 0)
    pooled = (freedom * own).sum(axis=1, keepdims=True) / df_pooled
    part = np.where(single, 1.0, part) * (s.n > 0)
    borrows = part * pooled > own
    variance = (s.w**2 * np.where(borrows, part * pooled, own) / s.safe).sum(axis=1) + s.between
    lent = np.where(borrows, s.w**2 * part / s.safe, 0).sum(axis=1, keepdims=True) * freedom / df_pooled
    parts = (np.where(borrows, 0, s.w**2 / s.safe) + lent) * own * (freedom > 0)
    below = (parts**2 / np.maximum(freedom, 1)).sum(axis=1)
    df = np.where(below > 0, parts.sum(axis=1) ** 2 / np.where(below > 0, below, 1), df_pooled[:, 0])
    n_eff = 1 / np.where(s.n > 0, s.w**2 / s.safe, 0).sum(axis=1)
    some = (variance >= NO_VARIANCE) & (s.mean >= NO_VARIANCE) & (s.mean <= 1 - NO_VARIANCE)
    p, alleles = s.mean[some], 2.0 * LOCI * s.n.sum(axis=1)[some]
    n_eff[some] = effective_number(p * (1 - p), variance[some], df[some], alleles, 0.95)
    return beta_limits(s.mean, n_eff, 0.95)


def shrunk(s: Surveys) -> np.ndarray:
    """Class variances drawn towards the pooled one by one degree of freedom where few fish carry the spread."""
    df_pooled = np.maximum((s.n - (s.n > 0)).sum(axis=1, keepdims=True), 1)
    pooled = (np.maximum(s.n - 1, 0) * s.own).sum(axis=1, keepdims=True) / df_pooled
    return np.where(s.few, np.maximum(s.own, ((s.n - 1) * s.own + pooled) / s.safe), s.own)


Ends = tuple[np.ndarray, np.ndarray]


def mover(s: Surveys, guard: float) -> Ends:
    """Distances of the class limits from the class means, squared, weighted and added."""
    flat = [values.ravel() for values in (s.n, s.q1, s.q2, 2.0 * LOCI * s.n)]
    found = mean_from_sums_many(*flat, guard_fish=guard)
    low, high = (end.reshape(s.n.shape) for end in (found.low, found.high))
    alone_low, alone_high = single_fish(s)
    low, high = np.where(s.n > 1, low, alone_low), np.where(s.n > 1, high, alone_high)
    down, up = (
        np.sqrt((s.w**2 * (end - s.means) ** 2 * (s.n > 0)).sum(axis=1) + 1.959964**2 * s.between)
        for end in (low, high)
    )
    return np.maximum(s.mean - down, 0), np.minimum(s.mean + up, 1)


def single_fish(s: Surveys) -> Ends:
    """Limits of each class as if it were one fish that varies as the others do within their classes."""
    df = np.maximum((s.n - (s.n > 0)).sum(axis=1, keepdims=True), 1)
    pooled = (np.maximum(s.n - 1, 0) * s.own).sum(axis=1, keepdims=True) / df
    df, pooled = (np.broadcast_to(values, s.n.shape) for values in (df.astype(float), pooled))
    p, n_eff, some = np.clip(s.means, 0, 1), np.ones(s.n.shape), (s.n == 1) & (pooled >= NO_VARIANCE)
    if some.any():
        unknown = np.full(some.sum(), np.nan)
        n_eff[some] = np.maximum(
            1, effective_number((p * (1 - p))[some], pooled[some], df[some], unknown, 0.95)
        )
    low, high = beta_limits(p.ravel(), n_eff.ravel(), 0.95)
    return low.reshape(p.shape), high.reshape(p.shape)


def as_one_group(s: Surveys) -> Ends:
    """Limits of m fish, 1 / m the weight of the heaviest, with the weighted mean of q and of q squared."""
    m = 1 / np.where(s.n > 0, s.w / s.safe, 0).max(axis=1)
    square, n_eff = (s.w * s.q2 / s.safe).sum(axis=1), m.copy()
    inside = (s.mean >= NO_VARIANCE) & (s.mean <= 1 - NO_VARIANCE)
    some = inside & (m >= 2)
    n_eff[some] = guarded_number(
        m[some], (m * s.mean)[some], (m * square)[some], 2.0 * LOCI * s.n.sum(axis=1)[some], 0.95
    )
    low, high = beta_limits(s.mean, n_eff, 0.95)
    return np.where(inside & (m < 2), 0.0, low), np.where(inside & (m < 2), 1.0, high)


def both(a: Ends, b: Ends) -> Ends:
    """The wider at each end."""
    return np.minimum(a[0], b[0]), np.maximum(a[1], b[1])


def within(a: Ends, b: Ends) -> Ends:
    """The narrower at each end."""
    return np.maximum(a[0], b[0]), np.minimum(a[1], b[1])


def borrowing(s: Surveys) -> Ends:
    return limits(s, with_guard(s, 0.02), s.alike / s.safe)


def guarded(s: Surveys, spare: float) -> Ends:
    """Beta limits on class variances with fish added at 0 and 1, or at the ends seen, within one group."""
    g = np.where(s.n > 0, s.w**2 / s.safe, 0.0)
    alleles = 2.0 * LOCI * s.n.sum(axis=1)
    held = Strata(
        *(a.T for a in (1.0 * s.n, s.q1, s.q2, s.least, s.most, s.w * (s.n > 0), g)), s.between, alleles
    )
    return strata_limits(held, s.mean, 0.95, 0.02, spare)


IN_USE = "in use: guard .02 or .25 at the ends seen, within one group"
FORMS = {
    "no guard (KG-5)": lambda s: limits(s, s.own),
    "guard .02": lambda s: limits(s, with_guard(s, 0.02)),
    "guard .10": lambda s: limits(s, with_guard(s, 0.10)),
    "guard .2 x weight of the class": lambda s: limits(s, with_guard(s, 0.2 * s.w)),
    "no guard; few: (n - 1)/n of its own, 1/n of pooled": lambda s: limits(s, shrunk(s)),
    "guard .02; alike: at least 1/n of pooled": borrowing,
    "the same, within one group": lambda s: within(borrowing(s), as_one_group(s)),
    "guard .02; alike: pooled": lambda s: limits(s, with_guard(s, 0.02), 1.0 * s.alike),
    "one group": as_one_group,
    "MOVER over unguarded class limits": lambda s: mover(s, 0.0),
    "MOVER over guarded class limits": lambda s: mover(s, 0.02),
    "MOVER over guarded class limits, within one group": lambda s: within(mover(s, 0.02), as_one_group(s)),
    "wider of guard .02 (alike: 1/n) and MOVER, within one group": lambda s: within(
        both(borrowing(s), mover(s, 0.02)), as_one_group(s)
    ),
    "wider of no guard and MOVER, within one group": lambda s: within(
        both(limits(s, s.own), mover(s, 0.02)), as_one_group(s)
    ),
    "guard .02 or 1 at the ends seen, within one group": lambda s: guarded(s, 1.0),
    IN_USE: lambda s: guarded(s, 0.25),
}


def check_form_in_use(s: Surveys, n_checked: int = 50) -> None:
    low, high = FORMS[IN_USE](s)
    for at in range(n_checked):
        held = [h for h in range(s.n.shape[1]) if s.n[at, h]]
        sums = {
            str(h): Sums(
                int(s.n[at, h]),
                float(s.q1[at, h]),
                float(s.q2[at, h]),
                2.0 * LOCI * s.n[at, h],
                float(s.least[at, h]),
                float(s.most[at, h]),
            )
            for h in held
        }
        found = catch_weighted_from_sums(sums, {str(h): int(s.caught[at, h]) for h in held})
        if found.low is not None:
            np.testing.assert_allclose([found.low, found.high], [low[at], high[at]], atol=1e-9)


def random_lakes(n_lakes: int = 400) -> list[tuple]:
    """Two to seven classes, weights and means at random, all fish pure or F1: lakes no form was chosen on."""
    random = np.random.default_rng(12)
    lakes = []
    for _ in range(n_lakes):
        n_classes = int(random.integers(2, 8))
        shares = random.dirichlet(np.full(n_classes, 1.5))
        means = np.sort(random.beta(0.5, 3, n_classes))
        means = means[::-1] if random.random() < 0.3 else means
        f1 = random.random() < 0.3
        lakes.append((shares, list(means / 2 if f1 else means), f1s if f1 else pure))
    return lakes


def main(surveys: int) -> None:
    lows: dict[str, dict[str, tuple[float, str]]] = {form: {} for form in FORMS}
    widths: dict[str, list[float]] = {form: [] for form in FORMS}
    groups = [
        ("8 a class", STUDIED, [(60, 8), (200, 8), (1000, 8)]),
        ("5", STUDIED, [(60, 5), (200, 5), (1000, 5)]),
        ("12", STUDIED, [(60, 12), (200, 12), (1000, 12)]),
        ("two groups and one class, 4", FEW_CLASSES, [(60, 4), (1000, 4)]),
        ("5 to 20", FEW_CLASSES, [(60, 5), (1000, 5), (60, 8), (1000, 8), (1000, 12), (1000, 20)]),
        ("more lakes, 5 to 12", MORE, [(100, 5), (1000, 5), (100, 8), (1000, 8), (100, 12), (1000, 12)]),
    ]
    for group, lakes, cells in groups:
        for at, (name, lake) in enumerate(lakes.items()):
            truth = float(np.dot(lake[0], lake[1]))
            for catch, per_class in cells:
                s = drawn_surveys(lake, catch, per_class, surveys, 4_000 + 100 * at + 13 * catch + per_class)
                check_form_in_use(s)
                for form, made in FORMS.items():
                    low, high = made(s)
                    held = float(((low <= truth + 1e-12) & (high >= truth - 1e-12)).mean())
                    lows[form][group] = min(
                        lows[form].get(group, (2.0, "")), (held, f"{name}, {catch} caught")
                    )
                    if lakes is STUDIED:
                        widths[form].append(float((high - low).mean()))
    at_random: dict[str, list[float]] = {form: [] for form in FORMS}
    widths_at_random: dict[str, list[float]] = {form: [] for form in FORMS}
    for at, lake in enumerate(random_lakes()):
        s, truth = drawn_surveys(lake, 1000, 8, surveys, at), float(np.dot(lake[0], lake[1]))
        for form, made in FORMS.items():
            low, high = made(s)
            at_random[form].append(float(((low <= truth + 1e-12) & (high >= truth - 1e-12)).mean()))
            widths_at_random[form].append(float((high - low).mean()))
    more = ["random lakes below .94", "their mean width"]
    print("| limits | mean width | " + " | ".join([*(group for group, _, _ in groups), *more]) + " |")
    print("|---|---|" + "---|" * (len(groups) + 2))
    for form in FORMS:
        said = [f"{held:.3f} ({where})" for held, where in (lows[form][group] for group, _, _ in groups)]
        said.append(f"{sum(held < 0.94 for held in at_random[form])} of {len(at_random[form])}")
        said.append(f"{np.mean(widths_at_random[form]):.4f}")
        print(f"| {form} | {np.mean(widths[form]):.4f} | " + " | ".join(said) + " |")


if __name__ == "__main__":
    from results import kept

    with kept("weighted_alternatives"):
        started = time.perf_counter()
        main(int(sys.argv[1]) if len(sys.argv) > 1 else 5_000)
        print(f"\n{time.perf_counter() - started:.0f} s")
