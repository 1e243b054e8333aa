"""TRAP-1: the third-lineage flag on real samples.

Silliman K et al. (2021) Evolutionary Applications 14:2815-2830: mean q, mean H and number of fish of samples of its
per-fish table [published data, statistic computed]. The samples flagged have only .005-.035 Florida ancestry on the
paper's three-lineage panel, or (MYS) read the same for every fish.
"""

from __future__ import annotations

import pytest
from samples import OUACHITA_MEAN_H, OUACHITA_Q

from geneticlog.rules.genetics.lineage import ALIKE, lineage_sign, lineage_sign_from_sums


@pytest.mark.parametrize(
    ("sample", "n", "p", "mean_h", "f"),
    [
        ("BBCanot AL", 18, 0.2713, 0.1339, 0.66),
        ("D'Olive Bay AL", 15, 0.2990, 0.1421, 0.66),
        ("Millers Ferry AL", 16, 0.2873, 0.1611, 0.61),
        ("MYS", 11, 0.6, 0.0, 1.00),
    ],
)
def test_samples_of_another_lineage_are_flagged(
    sample: str, n: int, p: float, mean_h: float, f: float
) -> None:
    found = lineage_sign_from_sums(n, n * p, n * p * p, n * mean_h, 0, 0, 35)
    assert found.f == pytest.approx(f, abs=0.005), sample
    assert found.flagged
    assert found.hint == ALIKE


@pytest.mark.parametrize("p", [0.1, 0.25, 0.5, 0.9])
@pytest.mark.parametrize(
    ("sample", "n", "f"), [("Demopolis AL", 19, 0.47), ("Blue Ridge GA", 15, 0.13), ("Ouachita AR", 30, 0.12)]
)
def test_samples_of_two_lineages_are_not_flagged(sample: str, n: int, f: float, p: float) -> None:
    # Of the first two n and F were noted, not the mean q and H behind them: the rule must pass them whatever the mean.
    mean_h = (1 - f) * 2 * p * (1 - p)
    found = lineage_sign_from_sums(n, n * p, n * p * p, n * mean_h, 0, 0, 35)
    assert found.f == pytest.approx(f, abs=0.005)
    assert (found.flagged, found.sentence) == (False, ""), sample


def test_placeholders_have_no_variance() -> None:
    # eleven fish of the sample "MYS": every q .6000, every H 0
    found = lineage_sign([0.6] * 11, [0.0] * 11, 35)
    assert found.f == 1
    assert found.variance == pytest.approx(0, abs=1e-12)
    assert (found.flagged, found.hint) == (True, ALIKE)


def test_bbcanot_varies_less_than_its_markers_would_make_it() -> None:
    # observed variance of q .00105; expected from markers .00466 at 35 loci
    found = lineage_sign_from_sums(18, 18 * 0.2713, 18 * 0.2713**2 + 17 * 0.00105, 18 * 0.1339, 0, 0, 35)
    assert found.variance == pytest.approx(0.00105, abs=1e-6)
    assert found.marker_variance == pytest.approx(0.00466, abs=5e-6)
    assert found.below_marker_variance


def test_ouachita_is_not_flagged() -> None:
    n = len(OUACHITA_Q)
    squares = sum(q * q for q in OUACHITA_Q)
    found = lineage_sign_from_sums(n, sum(OUACHITA_Q), squares, n * OUACHITA_MEAN_H, 27, 0, 38)
    assert found.f == pytest.approx(0.1204, abs=5e-5)
    assert not found.flagged
