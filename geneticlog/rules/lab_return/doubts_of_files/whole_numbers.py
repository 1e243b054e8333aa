"""The test of a whole file: are its shares whole numbers of alleles at the loci scored?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from geneticlog.rules.finding.finding_kinds import FindingKind
from geneticlog.rules.lab_return.cells.percent_or_fraction import MOST_FIT, NEAR, TELLING_ROOM
from geneticlog.rules.lab_return.columns.value_checks import check_pair
from geneticlog.rules.lab_return.drafts.draft import Draft

LEAST_ROWS = 2  # that can tell
MOST_IMPOSSIBLE = 0.25  # of the rows of a file, that cannot be, before its columns are asked about


MOST_COARSE = 6  # loci at which shares of many fish may all be quarters. Common practice, no source
LEAST_OF_TWO_KINDS = 8  # fish, to ask about shares of 0 and 1 alone


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
        by_chance = f"{100 * self.chance:.0f} % of arbitrary numbers would fit"
        if self.n_telling < LEAST_ROWS:
            return f"the digits printed cannot tell one number of alleles from the next ({by_chance})"
        return f"{self.n_fit} of {self.n_telling} shares are whole numbers of alleles at the loci scored ({by_chance})"


@dataclass(frozen=True)
class Exchanged:
    """Of ``n`` rows whose figures can tell, ``n_cannot`` cannot be as the columns are headed, and ``n_turned`` cannot
    be with q and heterozygosity exchanged."""

    n: int
    n_cannot: int
    n_turned: int

    @property
    def fails(self) -> bool:
        return self.n_cannot >= LEAST_ROWS and self.n_cannot > MOST_IMPOSSIBLE * self.n and not self.n_turned

    @property
    def words(self) -> str:
        return (
            f"{self.n_cannot} of {self.n} rows have a share and a heterozygosity that no fish has together, and none"
            " has with the two columns exchanged: are they swapped, or is the second something else?"
        )


def exchanged(drafts: Sequence[Draft]) -> Exchanged:
    """Hold q and H of each draft as they are headed, and exchanged, against what a fish can have."""
    n = n_cannot = n_turned = 0
    met: dict[object, tuple[bool, bool]] = {}  # a lab's figures are few
    for draft in drafts:
        if draft.q is None or draft.heterozygosity is None or draft.genotypes:
            continue
        q, h, (half_q, half_h) = draft.q, draft.heterozygosity, draft.half_digits
        figures = (q, h, draft.n_loci, half_q, half_h)
        if figures not in met:
            turned = (h, q, draft.n_loci, half_h, half_q)
            met[figures] = _cannot_be(*figures), _cannot_be(*turned)
        n += 1
        n_cannot += met[figures][0]
        n_turned += met[figures][1]
    return Exchanged(n, n_cannot, n_turned)


def _cannot_be(q: float, h: float, n_loci: int | None, half_q: float, half_h: float) -> bool:
    """Whether no fish has this share of alleles and of heterozygous loci, as far as the digits written can tell."""
    seen = {noted.kind for noted in check_pair(q, h, n_loci, half_q, half_h)}
    return bool(
        seen
        & {
            FindingKind.BREAKS_BOUND,
            FindingKind.OFF_GRID,
            FindingKind.ODD_PARITY,
            FindingKind.LESS_THAN_ONE_LOCUS,
        }
    )


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


def only_quarters(drafts: Sequence[Draft]) -> str:
    """Return what to ask where each share of many fish is a whole number of quarters, or the empty text.

    Shares of alleles at more than a few loci fall between them; classes turned into numbers (pure, backcross, F1) and
    shares that somebody rounded do not. Files of 0 and 1 alone are ``only_0_and_1``'s.
    """
    shares = [draft.q for draft in drafts if draft.q is not None]
    loci = max((draft.n_loci for draft in drafts if draft.n_loci), default=0)
    between = {share for share in shares if share not in (0.0, 1.0)}
    if len(shares) < LEAST_OF_TWO_KINDS or len(set(shares)) < 3 or not between or 0 < loci <= MOST_COARSE:
        return ""
    if any(abs(4 * share - round(4 * share)) > 1e-9 for share in shares):
        return ""
    return (
        f"each of {len(shares)} shares is 0, one quarter, a half, three quarters or 1: were they rounded, or are they"
        " classes written as numbers?"
    )


def only_0_and_1(drafts: Sequence[Draft]) -> str:
    """Return what to ask where each share of many fish is exactly 0 or exactly 1, or the empty text.

    Fish of two pure kinds beside one another are like that; so are shares that a spreadsheet rounded to whole numbers.
    Fish of one kind alone, and those whose heterozygosity bears it out, are not asked about.
    """
    shares = [draft.q for draft in drafts if draft.q is not None]
    few = min(shares.count(0.0), shares.count(1.0))
    if len(shares) < LEAST_OF_TWO_KINDS or few < 2 or set(shares) != {0.0, 1.0}:
        return ""
    if any(draft.heterozygosity is not None for draft in drafts):
        return ""
    return f"each of {len(shares)} shares is exactly 0 or 1, with none between: were they rounded, or are they codes?"
