"""The test of a whole file: are its shares whole numbers of alleles at the loci scored?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from geneticlog.rules.lab_return.drafts import Draft
from geneticlog.rules.lab_return.percent_or_fraction import MOST_FIT, NEAR, TELLING_ROOM

LEAST_ROWS = 2  # that can tell


@dataclass(frozen=True)
class WholeNumbers:
    """Of ``n`` shares with loci scored, ``n_telling`` have digits enough to tell one number of alleles from the next,
    and ``n_fit`` of these are whole; ``chance`` is the share of any numbers that would fit, all rows taken."""

    n: int
    n_telling: int
    n_fit: int
    chance: float

    @property
    def fails(self) -> bool:
        return self.n_telling >= LEAST_ROWS and self.n_fit < MOST_FIT * self.n_telling

    @property
    def words(self) -> str:
        if not self.n:
            return "no row has both a share and the loci scored, so whole numbers of alleles cannot be tested"
        by_chance = f"{100 * self.chance:.0f} % of any numbers would fit by chance"
        if self.n_telling < LEAST_ROWS:
            return f"the digits printed cannot tell one number of alleles from the next ({by_chance})"
        return f"{self.n_fit} of {self.n_telling} shares are whole numbers of alleles at the loci scored ({by_chance})"


def whole_numbers(drafts: Sequence[Draft]) -> WholeNumbers:
    """Hold 2 L q of each draft against the nearest whole number, as far as the digits printed can tell.

    A number written to half a digit d is within 2 L d of a whole one by chance in 2 (2 L d) of all cases.
    """
    n = n_telling = n_fit = 0
    chance = 0.0
    for draft in drafts:
        if draft.q is None or not draft.n_loci or draft.genotypes:
            continue
        alleles, room = 2 * draft.n_loci * draft.q, 2 * draft.n_loci * draft.half_digits[0]
        n += 1
        chance += min(1.0, 2 * (room + NEAR))
        if room >= TELLING_ROOM:
            continue
        n_telling += 1
        n_fit += abs(alleles - round(alleles)) <= room + NEAR
    return WholeNumbers(n, n_telling, n_fit, chance / n if n else 1.0)
