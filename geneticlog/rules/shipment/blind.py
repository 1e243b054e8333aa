"""Blind samples that are blind: places dealt by chance, and what would still tell the lab which vials they are.

A lab sees codes, places, labels and what the manifest says of each vial. Second vials of a fish and blanks are blind as
long as nothing of that sets them apart from the samples. Common practice, no source.
"""

from __future__ import annotations

import random
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from geneticlog.rules.vialcode import printed


@dataclass(frozen=True)
class SeenVial:
    """What can be seen of one vial: its code, its print run (None: another database's), and its place in the order.

    blind: a second vial of a fish, or a blank.
    """

    code: str
    run: int | None
    place: int
    blind: bool


def dealt(n: int, seed: str) -> list[int]:
    """Return the numbers 0 to n - 1 in an order dealt by chance: the same seed, the same order.

    No pair is kept apart and no kind is spread evenly, for each such rule is something to guess by.
    """
    order = list(range(n))
    random.Random(seed).shuffle(order)  # the seed is drawn from the system's own chance, and kept
    return order


def host_of(code: str, samples: Sequence[str], seed: str) -> str | None:
    """Return the sample whose day, lake and survey a blank is given on the manifest; None where there is no sample."""
    return random.Random(f"{seed}:{code}").choice(list(samples)) if samples else None


def gives_away(vials: Sequence[SeenVial], *, in_order_of_scan: bool = False) -> list[str]:
    """Return sentences on the blind vials that their print run, their code or their place sets apart.

    in_order_of_scan
        the places are those of the scan, and were not dealt.
    """
    samples = [one for one in vials if not one.blind]
    blind = [one for one in vials if one.blind]
    if not samples or not blind:
        return []
    runs: dict[int | None, list[str]] = defaultdict(list)
    for sample in samples:
        runs[sample.run].append(sample.code)
    reasons = []
    for sample in blind:
        if sample.run not in runs:
            reasons.append(
                f"{printed(sample.code)} is from another print run than every sample, so its code and its label tell it"
                " apart; take a label of the samples' run"
            )
            continue
        codes = runs[sample.run]
        if not min(codes) < sample.code < max(codes):
            side = "below" if sample.code < min(codes) else "above"
            reasons.append(
                f"{printed(sample.code)} is {side} every sample's code of its print run; leave a label unused in the"
                " middle of the run on the boat, and use that one"
            )
    if in_order_of_scan:
        first = min(one.place for one in samples)
        last = max(one.place for one in samples)
        outside = [printed(one.code) for one in blind if not first < one.place < last]
        if outside:
            reasons.append(
                f"{', '.join(outside)}: placed before or after every sample, since the places are those of the scan;"
                " scan it between the samples"
            )
    return reasons
