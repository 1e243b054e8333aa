"""Fish with different numbers of loci, and how far alleles are from independent evidence."""

from __future__ import annotations

import numpy as np
import pytest
from samples import ALLATOONA_Q, OUACHITA_Q

from geneticlog.rules.checking import NumberFault
from geneticlog.rules.intervals import mean_proportion
from geneticlog.rules.ratio import design_effect, pooled_ratio


def test_three_fish_of_different_panels() -> None:
    # MEAN-2: arithmetic by hand: x = 3, 10, 0 of 35, 20, 34 loci
    x, loci = [3, 10, 0], [35, 20, 34]
    q = np.array(x) / (2 * np.array(loci))
    assert list(q) == pytest.approx([0.042857, 0.25, 0], abs=1e-6)
    assert mean_proportion(q, loci).mean == pytest.approx(0.097619, abs=1e-6)
    found = pooled_ratio(x, loci)
    assert (found.ratio, found.se) == pytest.approx((0.073034, 0.061246), abs=1e-6)


@pytest.mark.parametrize(("q", "loci", "expected"), [(ALLATOONA_Q, 35, 1.08), (OUACHITA_Q, 38, 13.34)])
def test_design_effect_of_real_lakes(q: list[float], loci: int, expected: float) -> None:
    # GEN-1, GEN-2. Silliman et al. 2021 (samples.py): alleles are near independent in an old mixed lake, far from it
    # after stocking
    found = mean_proportion(q, loci)
    assert found.mean is not None
    assert found.se is not None
    assert design_effect(found.mean, found.se, 2 * loci * len(q)) == pytest.approx(expected, abs=0.005)


def test_one_fish_and_wrong_input() -> None:
    assert pooled_ratio([3], [35]).se is None
    assert design_effect(0.0, 0.0, 70) is None
    with pytest.raises(NumberFault, match="fish 2: 71 Florida alleles of 35 loci"):
        pooled_ratio([3, 71], [35, 35])
