"""Which form of a contrast keeps its promises: coverage, size and power over invented pairs of surveys.

Run: python tests/benchmarks/contrast_study.py [surveys a cell, 10000] [cells a family, 60] [--write]
Prints a Markdown table; --write puts it into tests/benchmarks/results/contrasts.md. The seed is fixed, and is none of
those on which the form was chosen.

A cell is a pair of surveys drawn at random: one to five size classes, fish of one to three kinds in each (northern,
Florida, F1, backcross to either, a swarm), 8 to 20 fish a class and other numbers on the other side. Unless said, every
kind makes up at least 1 - .05^(1/n) of the fish of its class, and a swarm is one kind: it has one peak.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from results import save
from scipy.special import stdtrit

from geneticlog.rules.statistics.contrast import GUARD_FISH, SPARE_FISH, Table, statistic

LOCI, SEED = 38, 20261129
MEAN = {"northern": 0.0, "Florida": 1.0, "F1": 0.5, "backcross N": 0.25, "backcross F": 0.75}
Kind = str | tuple[float, float]  # a name, or the two numbers of a beta: a swarm
Mix = list[tuple[float, Kind]]  # share of a class, and the kind of fish
FORMS: dict[str, tuple[float, float]] = {  # fish added at 0 and 1; at the ends seen
    "Welch, no guard": (0.0, 0.0),
    "0.02 fish at 0 and 1": (0.02, 0.0),
    "0.15 fish at 0 and 1": (0.15, 0.0),
    "0.005, and 0.3 at the ends seen": (0.005, 0.3),
    "0.005, and 0.5 at the ends seen": (0.005, 0.5),
    "0.005, and 1 at the ends seen": (0.005, 1.0),
    "in use: 0.005, and 0.75 at the ends seen": (GUARD_FISH, SPARE_FISH),
}


def mean_of(mix: Mix) -> float:
    return sum(share * (MEAN[kind] if isinstance(kind, str) else kind[0] / sum(kind)) for share, kind in mix)


def drawn(random: np.random.Generator, mix: Mix, shape: tuple[int, int]) -> np.ndarray:
    """q of fish of these kinds, each allele of 2 x 38 drawn."""
    kind_of = (random.random(shape)[..., None] > np.cumsum([share for share, _ in mix])[:-1]).sum(-1)
    q = np.zeros(shape)
    for at, (_, kind) in enumerate(mix):
        here = kind_of == at
        n = int(here.sum())
        if kind in ("northern", "Florida", "F1"):
            q[here] = MEAN[str(kind)]
        elif isinstance(kind, str):  # one gamete of a pure parent, one of an F1
            q[here] = (kind == "backcross F") * 0.5 + random.binomial(LOCI, 0.5, n) / (2 * LOCI)
        else:
            q[here] = random.binomial(2 * LOCI, random.beta(*kind, n)) / (2 * LOCI)
    return q


def swarm(random: np.random.Generator, mean: float) -> Mix:
    size = max(random.choice([3.0, 6.0, 20.0]), 1 / min(mean, 1 - mean))  # no end of it is a tail of its own
    return [(1.0, (size * mean, size * (1 - mean)))]


def random_mix(random: np.random.Generator, least: float) -> Mix:
    if random.random() < 1 / 3:
        return swarm(random, random.uniform(0.03, 0.97))
    n_kinds = min(int(random.integers(1, 4)), int(1 / least))
    kinds: list[Kind] = [str(one) for one in random.choice(list(MEAN), n_kinds, replace=False)]
    if random.random() < 0.3:
        mean = random.uniform(0.1, 0.9)
        kinds[0] = (10 * mean, 10 * (1 - mean))
    shares = least + random.dirichlet([1] * n_kinds) * (1 - n_kinds * least)
    return list(zip(shares.tolist(), kinds, strict=True))


def mix_of_mean(random: np.random.Generator, least: float, mean: float) -> Mix | None:
    """A class of this mean and of whatever shape; None where the kinds drawn cannot have it."""
    if mean < 1e-9 or mean > 1 - 1e-9:
        return [(1.0, "northern" if mean < 0.5 else "Florida")]
    if random.random() < 1 / 3:
        return swarm(random, mean)
    one, other = (str(name) for name in random.choice(list(MEAN), 2, replace=False))
    if (MEAN[one] - mean) * (MEAN[other] - mean) >= 0:
        return None
    share = (mean - MEAN[other]) / (MEAN[one] - MEAN[other])
    return [(share, one), (1 - share, other)] if min(share, 1 - share) >= least else None


@dataclass
class Sample:
    """Surveys of one side: fish is a list of (surveys, fish) arrays, class by class, NaN where none was typed."""

    fish: list[np.ndarray]
    w: np.ndarray
    n_catch: float

    def table(self) -> Table:
        with np.errstate(all="ignore"):
            n = np.array([(~np.isnan(q)).sum(1) for q in self.fish], dtype=np.float64)
            q1 = np.array([np.nansum(q, 1) for q in self.fish])
            q2 = np.array([np.nansum(q * q, 1) for q in self.fish])
            least, most = (
                np.array([pick(q, 1) for q in self.fish]) for pick in (np.fmin.reduce, np.fmax.reduce)
            )
        return Table(n, q1, q2, least, most, self.w, np.full(n.shape[1], self.n_catch))


@dataclass
class Spec:
    """One cell: the classes of either side, their weights, and the catch these are drawn with (None: given)."""

    mixes: tuple[list[Mix], list[Mix]]
    n: tuple[list[int], list[int]]
    w: tuple[np.ndarray, np.ndarray]
    catch: tuple[int | None, int | None] = (None, None)

    @property
    def truth(self) -> float:
        means = [
            float(w @ [mean_of(mix) for mix in mixes]) for w, mixes in zip(self.w, self.mixes, strict=True)
        ]
        return means[0] - means[1]

    def sample(self, random: np.random.Generator, surveys: int) -> tuple[Sample, Sample]:
        one, two = (self._side(random, surveys, at) for at in (0, 1))
        return one, two

    def _side(self, random: np.random.Generator, surveys: int, at: int) -> Sample:
        mixes, asked, w, catch = self.mixes[at], self.n[at], self.w[at], self.catch[at]
        if catch is None:
            weights = np.repeat(w[:, None], surveys, axis=1)
            typed = np.repeat(np.array(asked)[:, None], surveys, axis=1)
        else:
            caught = random.multinomial(catch, w, size=surveys).T
            weights, typed = caught / catch, np.minimum(caught, np.array(asked)[:, None])
        fish = []
        for mix, n, have in zip(mixes, asked, typed, strict=True):
            q = drawn(random, mix, (surveys, n))
            q[np.arange(n) >= have[:, None]] = np.nan
            fish.append(q)
        return Sample(fish, weights, np.inf if catch is None else catch)


def unseen(n: int) -> float:
    return float(1 - 0.05 ** (1 / n))


def change(
    random: np.random.Generator, *, equal: bool, sizes: tuple[int, int] = (8, 21), hide: bool = False
) -> Spec:
    """The same classes on both sides, weighted alike."""
    n_classes = int(random.integers(1, 6))
    n = tuple([int(random.integers(*sizes)) for _ in range(n_classes)] for _ in (0, 1))
    mixes: tuple[list[Mix], list[Mix]] = ([], [])
    for one, two in zip(*n, strict=True):
        least = [0.02 if hide else unseen(one), 0.02 if hide else unseen(two)]
        other: Mix | None = None
        while other is None:
            mix = random_mix(random, least[0])
            for _ in range(200):
                other = mix_of_mean(random, least[1], mean_of(mix)) if equal else random_mix(random, least[1])
                if other is not None:
                    break
        mixes[0].append(mix)
        mixes[1].append(other)
    w = random.dirichlet([1.5] * n_classes)
    return Spec(mixes, (n[0], n[1]), (w, w))


def young(random: np.random.Generator, *, equal: bool, sizes: tuple[int, int] = (8, 21)) -> Spec:
    """Other classes on either side, each weighted to its own catch."""
    w = tuple(random.dirichlet([3.0] * int(random.integers(1, 4))) for _ in (0, 1))
    n = tuple([int(random.integers(*sizes)) for _ in one] for one in w)
    while True:
        first = [random_mix(random, unseen(k)) for k in n[0]]
        if equal:
            mean = float(w[0] @ [mean_of(mix) for mix in first])
            tries = [[mix_of_mean(random, unseen(k), mean) for _ in range(200)] for k in n[1]]
            found = [next((mix for mix in some if mix is not None), None) for some in tries]
        else:
            found = [random_mix(random, unseen(k)) for k in n[1]]
        second = [mix for mix in found if mix is not None]
        if len(second) == len(found):
            break
    catch = int(random.integers(60, 300)), int(random.integers(60, 300))
    return Spec((first, second), (n[0], n[1]), (w[0], w[1]), catch)


def measured(spec: Spec, random: np.random.Generator, surveys: int) -> np.ndarray:
    """(forms, 3): coverage, how often 0 is left out, mean width."""
    one, two = (side.table() for side in spec.sample(random, surveys))
    told = []
    for guard, spare in FORMS.values():
        d, se, df = statistic(one, two, guard, spare)
        told.append(_told(d, stdtrit(df, 0.975) * se, spec.truth))
    return np.array(told)


def _told(d: np.ndarray, reach: np.ndarray, truth: float) -> tuple[float, float, float]:
    low, high = np.maximum(d - reach, -1), np.minimum(d + reach, 1)
    held = (low <= truth + 1e-12) & (truth - 1e-12 <= high)
    return float(held.mean()), float(((low > 0) | (high < 0)).mean()), float((high - low).mean())


def shuffled(
    spec: Spec, random: np.random.Generator, surveys: int, shuffles: int = 299
) -> tuple[float, float, float]:
    """The same three of the studentised permutation within classes, the guarded variance where no fish varies."""
    one, two = spec.sample(random, surveys)
    d, se, _ = statistic(one.table(), two.table(), 0.0, 0.0)
    guarded = statistic(one.table(), two.table(), 0.02, 0.0)[1]
    se = np.where(se > 0, se, guarded)
    drawn_t = np.empty((shuffles, surveys))
    both = [np.concatenate(pair, axis=1) for pair in zip(one.fish, two.fish, strict=True)]
    for row in drawn_t:
        mixed = [random.permuted(q, axis=1) for q in both]
        sides = [
            replace(side, fish=[q[:, part] for q, part in zip(mixed, parts, strict=True)])
            for side, parts in (
                (one, [slice(0, q.shape[1]) for q in one.fish]),
                (two, [slice(q.shape[1], None) for q in one.fish]),
            )
        ]
        d_of, se_of, _ = statistic(sides[0].table(), sides[1].table(), 0.0, 0.0)
        row[:] = np.abs(d_of) / np.where(se_of > 0, se_of, np.inf)
    return _told(d, np.quantile(drawn_t, 0.95, axis=0, method="higher") * se, spec.truth)


EVEN = np.array([0.4, 0.3, 0.2, 0.1])
NORTHERN: Mix = [(1.0, "northern")]
PURE: Mix = [(0.25, "Florida"), (0.75, "northern")]
SWARM: Mix = [(1.0, (5.0, 15.0))]
RARE: Mix = [(0.05, "Florida"), (0.95, "northern")]


def f1(share: float) -> Mix:
    return [(share, "F1"), (1 - share, "northern")]


def named() -> dict[str, Spec]:
    """Cases with a name, some with a kind that can hide."""

    def alike(one: Mix, two: Mix, n: int, m: int) -> Spec:
        return Spec(([one] * 4, [two] * 4), ([n] * 4, [m] * 4), (EVEN, EVEN))

    def single(one: Mix, two: Mix, n: int) -> Spec:
        return Spec(([one], [two]), ([n], [n]), (np.ones(1), np.ones(1)))

    def by_size(first: list[Mix], second: Mix) -> Spec:
        w = (np.array([0.5, 0.5]), np.array([0.6, 0.3, 0.1]))
        return Spec((first, [second] * 3), ([8] * 2, [8] * 3), w, (100, 100))

    def thin(mix: Mix, n: int) -> Spec:
        return Spec(([mix] * 4, [mix] * 4), ([n, 8, 8, 8], [8] * 4), (EVEN, EVEN))

    return {
        "northern to 30 % F1, 8 a class": alike(f1(0.3), NORTHERN, 8, 8),
        "F1 in 60 and 30 % of the young, no adult": by_size([f1(0.6), f1(0.3)], NORTHERN),
        "none of 36 to a fifth F1, one class": single(f1(0.2), NORTHERN, 36),
        "swarm against 75/25 pure, equal means, 8 and 8": alike(SWARM, PURE, 8, 8),
        "the same, 15 and 5": alike(SWARM, PURE, 15, 5),
        "young swarm, adults 75/25 pure, equal means": by_size([SWARM, SWARM], PURE),
        "one class, swarm against 75/25 pure, 8 and 8": single(SWARM, PURE, 8),
        "a twentieth Florida in both, 8 a class": alike(RARE, RARE, 8, 8),
        "swarm, one fish in the commonest class": thin(SWARM, 1),
        "75/25 pure, one fish in the commonest class": thin(PURE, 1),
        "75/25 pure, two fish in the commonest class": thin(PURE, 2),
    }


FAMILIES: dict[str, Callable[[np.random.Generator], Spec]] = {
    "change, equal means": lambda random: change(random, equal=True),
    "change": lambda random: change(random, equal=False),
    "young and adult, equal means": lambda random: young(random, equal=True),
    "young and adult": lambda random: young(random, equal=False),
    "a kind can hide, equal means": lambda random: change(random, equal=True, hide=True),
    "a kind can hide": lambda random: change(random, equal=False, hide=True),
    "2 to 7 fish a class, equal means": lambda random: change(random, equal=True, sizes=(2, 8), hide=True),
}


# Families for which a promise is made: every kind makes up as much as its class can show.
PROMISED = ("change, equal means", "change", "young and adult, equal means", "young and adult")


def main(surveys: int, cells: int) -> None:
    random, started = np.random.default_rng(SEED), time.time()
    lines = [
        f"{surveys} surveys a cell, {cells} cells a family, 95 % limits. Coverage: lowest cell, tenth of cells below, "
        "cells below .94 and below .93. Leaves 0 out: at equal means the highest cell is the size, otherwise the "
        "mean is the power.",
        "",
        "| family | form | lowest coverage | a tenth below | below .94 | below .93 "
        "| leaves 0 out: mean | highest | width |",
        "|---|---|---|---|---|---|---|---|---|",
    ]
    by_family: dict[str, np.ndarray] = {}
    for family, make in FAMILIES.items():
        told = np.array([measured(make(random), random, surveys) for _ in range(cells)])
        by_family[family] = told
        for at, form in enumerate(FORMS):
            held, out, width = told[:, at].T
            lines.append(
                f"| {family} | {form} | {held.min():.3f} | {np.quantile(held, 0.1):.3f} | {(held < 0.94).sum()} | "
                f"{(held < 0.93).sum()} | {out.mean():.3f} | {out.max():.3f} | {width.mean():.3f} |"
            )
        print(lines[-1], f"{time.time() - started:.0f} s", flush=True)
    lines += ["", "Cases by name: coverage / leaves 0 out / width.", ""]
    lines += [f"| case | truth | {' | '.join(FORMS)} |", "|---" * (len(FORMS) + 2) + "|"]
    by_name: dict[str, np.ndarray] = {}
    for name, spec in named().items():
        told = measured(spec, random, surveys)
        if abs(spec.truth) > 1e-9:
            by_name[name] = told
        lines.append(f"| {name} | {spec.truth:+.3f} | " + " | ".join(_three(row) for row in told) + " |")
    lines += ["", power(by_family, by_name)]
    few = max(200, surveys // 20)
    lines += [
        "",
        f"Beside the studentised permutation within classes (299 shuffles, {few} surveys a cell).",
        "",
    ]
    lines += ["| case | studentised permutation | in use |", "|---|---|---|"]
    chosen = [
        (name, spec) for name, spec in named().items() if spec.catch[0] is None and min(map(min, spec.n)) > 1
    ]
    chosen += [(f"change, equal means {at + 1}", change(random, equal=True)) for at in range(6)]
    chosen += [(f"change {at + 1}", change(random, equal=False)) for at in range(4)]
    for name, spec in chosen:
        theirs = _three(shuffled(spec, random, few))
        lines.append(f"| {name} | {theirs} | {_three(measured(spec, random, surveys)[-1])} |")
    save("contrasts", lines)


def power(by_family: dict[str, np.ndarray], by_name: dict[str, np.ndarray]) -> str:
    """Return which forms keep their size, and how the power of the form in use compares with the best of them."""
    judged = [told for family, told in by_family.items() if family in PROMISED]
    lowest = np.min([told[..., 0].min(0) for told in judged], axis=0)
    size = np.max([by_family[family][..., 1].max(0) for family in PROMISED if "equal" in family], axis=0)
    keeps = [at for at in range(len(FORMS)) if size[at] <= 0.065 and lowest[at] >= 0.93]
    seen = {family: by_family[family][..., 1].mean(0) for family in PROMISED if "equal" not in family}
    seen |= {name: told[:, 1] for name, told in by_name.items()}
    used = len(FORMS) - 1
    ratios = {name: row[used] / max(row[at] for at in keeps or [used]) for name, row in seen.items()}
    worst = min(ratios, key=lambda name: ratios[name])
    return (
        "Keeping their size (at most .065 at equal means, coverage .93 and more, where every kind can be seen): "
        f"{'; '.join(list(FORMS)[at] for at in keeps) or 'none'}. The form in use sees at least {ratios[worst]:.3f} of "
        f"what the best of them sees, least in {worst!r} (aim: .95). Forms that see more do not keep their size."
    )


def _three(row: np.ndarray | tuple[float, float, float]) -> str:
    return " / ".join(f"{value:.3f}" for value in row)


if __name__ == "__main__":
    given = [int(one) for one in sys.argv[1:] if one.isdigit()]
    main(*(given + [10_000, 60][len(given) :]))
