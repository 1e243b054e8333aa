"""Of fish of a few broods, none misread: how often a locus, a lineage or one fish under two numbers is found wrongly.

    python tests/benchmarks/broods.py [SURVEYS] [--write]

Parents are drawn pair by pair from first or second crosses, backcrosses, a swarm, or a lake not yet one stock; each
pair is a brood. A misread locus is one whose heterozygous fish all read as of one kind. Seeded.
"""

from __future__ import annotations

import sys
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from results import save

from geneticlog.rules.genetics.lineage import lineage_sign
from geneticlog.rules.genetics.loci import LocusCounts, judge_loci
from geneticlog.rules.lab_return.doubts_of_files.same_genotypes import same_genotypes

Table = NDArray[np.int64]
Parent = Callable[[int, np.random.Generator], Table]


def child(mother: Table, father: Table, random: np.random.Generator) -> Table:
    """One child of two genotypes (loci,), each locus by itself."""

    def gamete(parent: Table) -> Table:
        return np.where(parent == 1, random.integers(0, 2, parent.shape), parent // 2)

    return gamete(mother) + gamete(father)


def northern(loci: int, random: np.random.Generator) -> Table:
    return np.zeros(loci, dtype=np.int64)


def first_cross(loci: int, random: np.random.Generator) -> Table:
    return np.ones(loci, dtype=np.int64)


def second_cross(loci: int, random: np.random.Generator) -> Table:
    return random.binomial(2, 0.5, loci)


def backcross(loci: int, random: np.random.Generator) -> Table:
    return random.binomial(1, 0.5, loci)


def second_backcross(loci: int, random: np.random.Generator) -> Table:
    return random.binomial(1, 0.25, loci)


def of_a_swarm(loci: int, random: np.random.Generator) -> Table:
    return random.binomial(2, 0.3, loci)


def not_one_stock(loci: int, random: np.random.Generator) -> Table:
    return random.binomial(2, random.beta(0.5, 1), loci)


PARENTS: dict[str, tuple[Parent, Parent]] = {
    "F1 x F1": (first_cross, first_cross),
    "F1 x northern": (first_cross, northern),
    "F1 x F2": (first_cross, second_cross),
    "F2 x F2": (second_cross, second_cross),
    "backcross x northern": (backcross, northern),
    "backcross x backcross": (backcross, backcross),
    "2nd backcross x northern": (second_backcross, northern),
    "2nd backcross x 2nd backcross": (second_backcross, second_backcross),
    "swarm x swarm": (of_a_swarm, of_a_swarm),
    "not one stock": (not_one_stock, not_one_stock),
}


def broods(kind: str, n_broods: int, n: int, loci: int, random: np.random.Generator) -> Table:
    """Genotypes (fish, loci) of broods of unequal size."""
    mother, father = PARENTS[kind]
    pairs = [(mother(loci, random), father(loci, random)) for _ in range(n_broods)]
    which = random.choice(n_broods, n, p=random.dirichlet(np.full(n_broods, 2.0)))
    return np.array([child(*pairs[at], random) for at in which])


def counts(table: Table) -> list[LocusCounts]:
    return [
        LocusCounts(f"M{at}", *(int((column == k).sum()) for k in (0, 1, 2)))
        for at, column in enumerate(table.T)
    ]


def loci_table(surveys: int) -> list[str]:
    lines = [
        "Loci, 38 of them; share of surveys:",
        "",
        "| fish of | broods | fish | a locus for the lab, none misread | lake or lab, none misread |"
        " misread locus for the lab | or lake or lab |",
        "|---|---|---|---|---|---|---|",
    ]
    worst = 0.0
    for kind in (*PARENTS, "swarm, no broods"):
        for n_broods in (4, 10, 25):
            for n in (33, 100):
                random = np.random.default_rng([7, n_broods, n])
                lab = either = found = found_either = 0
                for _ in range(surveys):
                    if kind in PARENTS:
                        table = broods(kind, n_broods, n, 38, random)
                    else:
                        table = random.binomial(2, 0.3, (n, 38))
                    told = judge_loci(counts(table))
                    lab += bool(told.for_the_lab)
                    either += bool(told.out_of_step)
                    table[table[:, 0] == 1, 0] = 0
                    told = judge_loci(counts(table))
                    found += told.for_the_lab == "M0"
                    found_either += "M0" in told.out_of_step
                worst = max(worst, lab / surveys)
                shares = " | ".join(f"{one / surveys:.3f}" for one in (lab, either, found, found_either))
                lines.append(f"| {kind} | {n_broods} | {n} | {shares} |")
    return [*lines, "", f"Worst share of surveys that name a locus for the lab, none misread: {worst:.3f}."]


def pairs_table(surveys: int) -> list[str]:
    lines = [
        "",
        "One fish under two numbers: 60 fish, one of them typed twice with 1 % of its loci misread and 3 % of all "
        "calls missing; share of lots:",
        "",
        "| fish of | broods | loci | the pair is found | a pair that is none |",
        "|---|---|---|---|---|",
    ]
    for kind in PARENTS:
        for n_broods in (4, 10):
            for loci in (20, 38, 73):
                random = np.random.default_rng([8, n_broods, loci])
                found = wrong = 0
                for _ in range(surveys):
                    table = broods(kind, n_broods, 60, loci, random)
                    twin = table[7].copy()
                    misread = random.random(loci) < 0.01
                    twin[misread] = (twin[misread] + 1) % 3
                    table = np.vstack([table, twin])
                    table[random.random(table.shape) < 0.03] = -1
                    pairs = {(p.first, p.second) for p in same_genotypes(table, [str(i) for i in range(61)])}
                    found += ("7", "60") in pairs
                    wrong += bool(pairs - {("7", "60")})
                lines.append(
                    f"| {kind} | {n_broods} | {loci} | {found / surveys:.2f} | {wrong / surveys:.3f} |"
                )
    return lines


def lineage_table(surveys: int) -> list[str]:
    lines = [
        "",
        "Third lineage, other species or failed assay: a lake of pure fish of both kinds (shares given) and the "
        "broods, and fish of a lineage with four loci in five fixed, a quarter of them for Florida alleles; 38 loci:",
        "",
        "| northern, Florida, others | fish | deficit over 0.5 | told as a third lineage |",
        "|---|---|---|---|",
    ]
    for kind in (*PARENTS, "another lineage"):
        for pure in ((0.3, 0.3), (0.5, 0.2)):
            for n in (10, 30):
                random = np.random.default_rng([9, n])
                flagged = third = 0
                for _ in range(surveys):
                    place = random.random(n)
                    if kind in PARENTS:
                        table = broods(kind, 4, n, 38, random)
                        table[place < pure[0]] = 0
                        table[(place >= pure[0]) & (place < sum(pure))] = 2
                    else:
                        fixed = random.random(38) < 0.8
                        shares = np.where(fixed, random.random(38) < 0.25, random.random(38) * 0.6)
                        table = random.binomial(2, shares, (n, 38))
                    sign = lineage_sign(table.mean(axis=1) / 2, (table == 1).mean(axis=1), 38)
                    flagged += sign.flagged
                    third += sign.third_lineage
                name = f"{pure[0]}, {pure[1]}, {kind}" if kind in PARENTS else kind
                lines.append(f"| {name} | {n} | {flagged / surveys:.2f} | {third / surveys:.3f} |")
    return lines


if __name__ == "__main__":
    n_surveys = next((int(one) for one in sys.argv[1:] if one.isdigit()), 400)
    save("broods", [*loci_table(n_surveys), *pairs_table(max(20, n_surveys // 4)), *lineage_table(n_surveys)])
