"""Fish that a next survey may bring, drawn from those that a lake has shown: what a plan is tried on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import betaincinv

from geneticlog.rules.arguments import Floats, NumberFault, number, proportions
from geneticlog.rules.seeds import SEED_OF_PLANS
from geneticlog.rules.statistics.contrast import Table

N_UNKNOWN = 20  # fish that stand for a lake of which nothing is known


@dataclass(frozen=True, slots=True, eq=False)
class LikelyFish:
    """The fish of a size class that others are drawn from; two are equal where their numbers are.

    q
        (fish,) their allele proportions.
    share
        (fish,) how often each is drawn, 1 together.
    """

    q: Floats
    share: Floats

    def __eq__(self, other: object) -> bool:
        return isinstance(other, LikelyFish) and self._bytes() == other._bytes()

    def __hash__(self) -> int:
        return hash(self._bytes())

    def _bytes(self) -> tuple[bytes, bytes]:
        return self.q.tobytes(), self.share.tobytes()

    @property
    def mean(self) -> float:
        return float(self.q @ self.share)

    @property
    def spread(self) -> float:
        """Standard deviation of q."""
        return float(np.sqrt(max(0.0, float(self.q**2 @ self.share) - self.mean**2)))


def likely_fish(q: Sequence[float]) -> LikelyFish:
    """Return some fish as those that others are drawn from, each as often.

    Drawn as they are their variance would be that with divisor n; so each lies ``sqrt(n / (n - 1))`` times as far from
    their mean, within 0 to 1.

    raises
        NumberFault for no fish, or a q outside 0 to 1.
    """
    values = proportions(q, "q")
    n, mean = values.size, float(values.mean())
    wider = np.clip(mean + (values - mean) * (n / (n - 1)) ** 0.5, 0.0, 1.0) if n > 1 else values
    return LikelyFish(np.asarray(wider, dtype=np.float64), np.full(n, 1 / n))


def unknown_fish(spread: float = 0.25) -> LikelyFish:
    """Return fish of a lake of which nothing is known: mean one half, this standard deviation, a beta's quantiles."""
    sd = number(spread, "spread", least=0)
    if not 0 < sd < 0.5:
        raise NumberFault(f"spread {sd:g} is not between 0 and 0.5")
    a = (0.25 / sd**2 - 1) / 2
    return likely_fish([float(betaincinv(a, a, (at + 0.5) / N_UNKNOWN)) for at in range(N_UNKNOWN)])


def moved(fish: LikelyFish, by: float) -> LikelyFish:
    """Return fish whose mean is ``by`` higher: some of them are first crosses with the pure kind of that side.

    A cross has ``(q + 1) / 2``, or ``q / 2`` where the mean is to fall. Where not even crosses alone would move it so
    far, some are pure; where no fish would, all are.
    """
    by = number(by, "by")
    end, room = (1.0, 1 - fish.mean) if by > 0 else (0.0, fish.mean)
    if not by:
        return fish
    part = min(1.0, abs(by) / room) if room > 0 else 0.0
    crossed = min(1.0, 2 * part)
    other = (fish.q + end) / 2 if part <= 0.5 else np.full(fish.q.size, end)
    share = crossed if part <= 0.5 else part
    return LikelyFish(
        np.concatenate([fish.q, other]), np.concatenate([fish.share * (1 - share), fish.share * share])
    )


def drawn(
    fish: Mapping[str, LikelyFish],
    n: Mapping[str, int],
    weights: Mapping[str, float],
    n_catch: float,
    surveys: int,
    seed: int = SEED_OF_PLANS,
) -> Table:
    """Return surveys in which n fish of each size class are typed, as one side of as many contrasts.

    weights
        Size class -> its weight, 1 together; every class with one has fish and an n above 0.
    n_catch
        Fish measured; infinite where the weights are given.
    """
    rows = np.zeros((6, len(weights), surveys))
    for at, (name, weight) in enumerate(weights.items()):
        of_class, n_fish = fish[name], n[name]
        times = np.random.default_rng([seed, at]).multinomial(n_fish, of_class.share, size=surveys)
        met = times > 0
        rows[:, at] = (
            np.full(surveys, float(n_fish)),
            times @ of_class.q,
            times @ of_class.q**2,
            np.where(met, of_class.q, 1.0).min(axis=1),
            np.where(met, of_class.q, 0.0).max(axis=1),
            np.full(surveys, weight),
        )
    return Table(rows[0], rows[1], rows[2], rows[3], rows[4], rows[5], np.full(surveys, float(n_catch)))
