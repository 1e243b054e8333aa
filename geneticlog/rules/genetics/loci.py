"""The loci of one survey beside each other: do they depart from Hardy-Weinberg, and is one out of step with the rest?

In a hybrid lake all diagnostic loci share one deficit (or excess) of heterozygotes, which describes the lake. So a
locus that merely departs says nothing against it; one whose heterozygotes do not fit the deficit of the others may.
In fish of a few broods loci scatter for that reason alone, so each is held against how far the others scatter, and only
one that stands out by itself is laid to the lab (tests/benchmarks/broods.py).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtri, stdtr

from geneticlog.rules.arguments import NumberFault, count, listed
from geneticlog.rules.genetics.hardy_weinberg import exact_p_at_fixation, hardy_weinberg
from geneticlog.rules.statistics.estimates import ALPHA
from geneticlog.rules.statistics.holm import holm

LEAST_P = 1e-300  # below it a p is taken as this
LEAST_LOCI = 10  # loci to be tested; below it the deficit that the others share is not known well enough
NEARLY_ALL = 0.8  # share of the tested loci that depart from which departure describes the lake
BY_ITSELF = 2.0  # times as far off as the next locus, and
ALPHA_LAB = (
    0.01  # p after Holm below this: then the lab is named, which broods alone bring about in at most .05
)
LEAST_FISH = 30  # fish called at a locus; fewer hardly show one that is misread (DEVELOPERS.md)


@dataclass(frozen=True, slots=True)
class LocusCounts:
    """Fish of a survey at one marker: with none, one and two copies of the allele counted, and without a call."""

    marker: str
    n_none: int
    n_one: int
    n_two: int
    n_no_call: int = 0


@dataclass(frozen=True, slots=True)
class Locus:
    """One locus tested.

    n_called, call_rate
        Fish with a call, and their share of the fish genotyped (None without any).
    frequency, heterozygosity, expected
        Share of the allele counted; share of heterozygous fish, and what Hardy-Weinberg expects (Nei's unbiased).
    fis
        1 - heterozygosity / expected; None where one allele alone is seen.
    p, p_holm
        Exact Hardy-Weinberg p, and after Holm over the loci tested; None where there is nothing to test.
    p_step, p_step_holm
        Exact p that its heterozygotes fit the deficit of all other loci; and p that it lies so far from them as the
        others scatter, after Holm. None below ten loci.
    departs, out_of_step
        Whether p_holm (p_step_holm) is below 0.05.
    by_itself
        Whether it is so far out, and twice as far as any other, that broods do not explain it: a matter for the lab.
    """

    marker: str
    n_none: int
    n_one: int
    n_two: int
    n_no_call: int
    n_called: int
    call_rate: float | None
    frequency: float | None
    heterozygosity: float | None
    expected: float | None
    fis: float | None
    p: float | None
    p_holm: float | None
    p_step: float | None
    p_step_holm: float | None
    departs: bool
    out_of_step: bool
    by_itself: bool = False


@dataclass(frozen=True, slots=True)
class LociSign:
    """What the loci of a survey say together.

    n_loci, n_tested
        Loci with a genotype stored, and those where both alleles are seen.
    n_departing, n_too_few, n_too_many
        Tested loci that depart, and of these with too few and with too many heterozygotes.
    n_below, n_above
        Tested loci with fewer and with more heterozygotes than expected, departing or not.
    shared_fis
        1 - sum of heterozygosity / sum of expected over the tested loci, each weighted by its fish.
    nearly_all
        Whether departure describes the lake: at least 0.8 of the tested loci depart.
    out_of_step
        Markers whose heterozygotes do not fit the others: lake or lab.
    for_the_lab
        The one among them that stands out by itself; "" where there is none.
    guard
        "" or words: "nothing to test", "under 10 loci", "under 30 fish a locus".
    """

    loci: tuple[Locus, ...]
    n_loci: int
    n_tested: int
    n_departing: int
    n_too_few: int
    n_too_many: int
    n_below: int
    n_above: int
    shared_fis: float | None
    nearly_all: bool
    out_of_step: tuple[str, ...]
    guard: str
    for_the_lab: str = ""


def judge_loci(counts: Sequence[LocusCounts]) -> LociSign:
    """Return every locus tested, in the order given, and what they say together.

    raises
        NumberFault for a marker given twice, or a number of fish that is negative or not whole.
    source
        Exact test: Wigginton JE, Cutler DJ, Abecasis GR (2005) American Journal of Human Genetics 76:887-893; at a
        given deficit: Rohlfs RV, Weir BS (2008) Genetics 180:1609-1616. Each locus against the scatter of the others:
        externally studentised residuals, Cook RD, Weisberg S (1982) Residuals and Influence in Regression, ch. 2 [from
        memory]; that these are taken of loci is the project's own.
    """
    counts = listed(counts, "loci")
    for one in counts:
        if not isinstance(one, LocusCounts):
            raise NumberFault(f"loci: {one!r} is not the counts of a locus")
    if len({one.marker for one in counts}) < len(counts):
        raise NumberFault("loci: a marker is given twice")
    called = [_called(one) for one in counts]
    tests = [
        hardy_weinberg(one.n_none, one.n_one, one.n_two) if n else None
        for one, n in zip(counts, called, strict=True)
    ]
    tested = [at for at, test in enumerate(tests) if test is not None and test.fis is not None]
    seen = {at: float(counts[at].n_one) for at in tested}
    awaited = {at: called[at] * _expected(tests[at].p, called[at]) for at in tested}  # type: ignore[union-attr]
    step = _step(counts, seen, awaited) if len(tested) >= LEAST_LOCI else {}
    by_scatter, by_itself = _against_scatter(step)
    exact = [test.p_exact for test in tests if test is not None and test.fis is not None]
    p_holm = dict(zip(tested, holm(exact), strict=True))
    step_holm = dict(zip(step, holm(by_scatter), strict=True))
    loci = tuple(
        Locus(
            locus.marker, locus.n_none, locus.n_one, locus.n_two, locus.n_no_call, called[at],
            called[at] / (called[at] + locus.n_no_call) if called[at] + locus.n_no_call else None,
            1 - test.p if test else None,
            locus.n_one / called[at] if called[at] else None,
            _expected(test.p, called[at]) if test else None,
            test.fis if test else None,
            test.p_exact if test and at in p_holm else None,
            p_holm.get(at), step.get(at), step_holm.get(at),
            p_holm.get(at, 1.0) < ALPHA, step_holm.get(at, 1.0) < ALPHA,
            at == by_itself and step_holm[at] < ALPHA_LAB,
        )
        for at, (locus, test) in enumerate(zip(counts, tests, strict=True))
    )  # fmt: skip
    shared = 1 - sum(seen.values()) / sum(awaited.values()) if sum(awaited.values()) else None
    return _together(loci, [called[at] for at in tested], shared)


def _step(
    counts: Sequence[LocusCounts], seen: Mapping[int, float], awaited: Mapping[int, float]
) -> dict[int, float]:
    """Return p of each tested locus at the deficit of all the others."""
    sum_seen, sum_awaited = sum(seen.values()), sum(awaited.values())
    step = {}
    for at in seen:
        rest = sum_awaited - awaited[at]
        of_others = 1 - (sum_seen - seen[at]) / rest
        one = counts[at]
        step[at] = exact_p_at_fixation(one.n_none, one.n_one, one.n_two, of_others)
    return step


def _together(loci: tuple[Locus, ...], n_fish: Sequence[int], shared_fis: float | None) -> LociSign:
    """Return what judged loci say together; ``n_fish``: called fish of each tested one."""
    departing = [one for one in loci if one.departs]
    fis = [one.fis for one in loci if one.fis is not None]
    return LociSign(
        loci=loci,
        n_loci=len(loci),
        n_tested=len(n_fish),
        n_departing=len(departing),
        n_too_few=sum((one.fis or 0.0) > 0 for one in departing),
        n_too_many=sum((one.fis or 0.0) < 0 for one in departing),
        n_below=sum(value > 0 for value in fis),
        n_above=sum(value < 0 for value in fis),
        shared_fis=shared_fis,
        nearly_all=bool(n_fish) and len(departing) >= NEARLY_ALL * len(n_fish),
        out_of_step=tuple(one.marker for one in loci if one.out_of_step),
        guard=_guard(n_fish),
        for_the_lab=next((one.marker for one in loci if one.by_itself), ""),
    )


def _guard(n_fish: Sequence[int]) -> str:
    if not n_fish:
        return "nothing to test"
    few = [f"under {LEAST_LOCI} loci"] if len(n_fish) < LEAST_LOCI else []
    if sorted(n_fish)[len(n_fish) // 2] < LEAST_FISH:
        few.append(f"under {LEAST_FISH} fish a locus")
    return "; ".join(few)


def _against_scatter(step: dict[int, float]) -> tuple[list[float], int | None]:
    """Return p that each locus lies so far off as the others scatter, and which one lies twice as far as any other.

    |z| of its own p over the root mean square of the others', at least 1, by Student's t with their number as degrees
    of freedom. Under any pedigree unlinked loci are alike, so a locus that nothing is wrong with is of that scatter.
    """
    if not step:
        return [], None
    z = -ndtri(np.maximum(np.array(list(step.values())), LEAST_P) / 2)
    n_others = len(z) - 1
    scatter = np.sqrt(np.maximum(1.0, ((z**2).sum() - z**2) / n_others))
    p = 2 * stdtr(n_others, -z / scatter)
    first = int(np.argmax(z))
    next_far = max(1.0, float(np.delete(z, first).max()))
    return list(map(float, p)), list(step)[first] if z[first] >= BY_ITSELF * next_far else None


def _called(one: LocusCounts) -> int:
    parts = (one.n_none, one.n_one, one.n_two, one.n_no_call)
    return sum(count(value, f"fish at {one.marker}") for value in parts) - one.n_no_call


def _expected(p: float, n: int) -> float:
    """Heterozygosity under Hardy-Weinberg, unbiased for few fish (Nei)."""
    return 2 * n / (2 * n - 1) * 2 * p * (1 - p)
