"""What markers alone make of q: class by class as printed, and its part in the variance of real lakes."""

from __future__ import annotations

import pytest
from printed import as_printed
from samples import ALLATOONA_H, ALLATOONA_Q, OUACHITA_MEAN_H, OUACHITA_Q

from geneticlog.rules.ancestry import loci_that_fit
from geneticlog.rules.arguments import NumberFault
from geneticlog.rules.genetics.hybrid_classes import chance_of_heterozygous_loci
from geneticlog.rules.notebook.marker_spread import expected_of_backcross, expected_of_class, marker_share


@pytest.mark.parametrize(
    ("name", "genotypes", "q", "h", "sd_q", "sd_h"),
    [
        # Class means: Fitzpatrick BM (2012) BMC Evolutionary Biology 12:131, as in the R package HIest 2.0. SDs at 35
        # loci: VAR-1, worked out with scipy.
        ("northern", (1, 0, 0), 0, 0, "0.0000", "0.0000"),
        ("Florida", (0, 0, 1), 1, 0, "0.0000", "0.0000"),
        ("F1", (0, 1, 0), 0.5, 1, "0.0000", "0.0000"),
        ("F2", (0.25, 0.5, 0.25), 0.5, 0.5, "0.0598", "0.0845"),
        ("backcross to northern", (0.5, 0.5, 0), 0.25, 0.5, "0.0423", "0.0845"),
        ("backcross to Florida", (0, 0.5, 0.5), 0.75, 0.5, "0.0423", "0.0845"),
    ],
)
def test_expected_of_the_six_classes(
    name: str, genotypes: tuple[float, float, float], q: float, h: float, sd_q: str, sd_h: str
) -> None:
    found = expected_of_class(name, 35)
    assert (found.genotypes, found.q, found.heterozygosity) == (genotypes, q, h)
    assert (found.variance_q**0.5, found.variance_h**0.5) == (as_printed(sd_q), as_printed(sd_h))
    if q == 0.5 and h == 0.5:
        assert (found.variance_q, found.variance_h) == (1 / (8 * 35), 1 / (4 * 35))


@pytest.mark.parametrize("k", range(6))
def test_expected_of_a_later_backcross(k: int) -> None:
    # 1 - 2^-k, 2^-k, 0; q = 2^-(k+1), H = 2^-k; Var(q) = H(1-H)/(4L), Var(H) = H(1-H)/L. The mean and variance of the
    # heterozygous loci are also those of the binomial of Malde K et al. (2017) BMC Genomics 18:76, Table 4.
    found, h = expected_of_backcross(k, 50), 2.0**-k
    assert (found.genotypes, found.q, found.heterozygosity) == ((1 - h, h, 0), h / 2, h)
    assert (found.variance_q, found.variance_h) == pytest.approx((h * (1 - h) / 200, h * (1 - h) / 50))
    chances = [chance_of_heterozygous_loci(loci, loci, k, 50) for loci in range(51)]
    mean = sum(loci / 50 * chance for loci, chance in enumerate(chances))
    assert mean == pytest.approx(h)
    squares = sum((loci / 50 - mean) ** 2 * chance for loci, chance in enumerate(chances))
    assert squares == pytest.approx(found.variance_h, abs=1e-12)
    other = expected_of_backcross(k, 50, to_taxon=True)
    assert (other.q, other.heterozygosity, other.variance_q) == pytest.approx(
        (1 - h / 2, h, found.variance_q)
    )


def test_marker_sampling_is_little_of_the_variance_after_stocking_and_most_of_it_in_an_old_lake() -> None:
    # Silliman et al. 2021 (samples.py) [published data, statistic computed]: .000856 of .01462, 6 %; .003226 of
    # .003828, 84 %. Of Ouachita the mean H is enough, for all its fish have 38 loci.
    recent = marker_share(OUACHITA_Q, [OUACHITA_MEAN_H] * 30, 38)
    assert (recent.by_markers, recent.variance) == (as_printed("0.000856"), as_printed("0.01462"))
    assert recent.share == as_printed("0.06")
    old = marker_share(ALLATOONA_Q, ALLATOONA_H, 35)
    assert (old.by_markers, old.variance, old.share) == (
        as_printed("0.003226"),
        as_printed("0.003828"),
        as_printed("0.84"),
    )


def test_a_known_f1_lot_varies_neither_way() -> None:
    # GEN-5. Silliman et al. 2021: five fish, all q = .5 and H = 1
    found = marker_share([0.5] * 5, [1.0] * 5, 35)
    assert (found.variance, found.by_markers, found.share, found.n) == (0, 0, None, 5)
    assert marker_share([0.5], [0.5], [35]).variance is None


def test_the_loci_of_a_lab_that_did_not_say_them() -> None:
    # The grids on which Silliman et al. 2021 lie: Allatoona on 70ths (35 loci), Ouachita on 76ths (38 loci)
    assert loci_that_fit(ALLATOONA_Q, ALLATOONA_H)[0] == 35
    assert loci_that_fit(OUACHITA_Q) == [38, 76, 114, 152, 190]
    assert loci_that_fit([*OUACHITA_Q, 0.3333]) == [114]
    assert loci_that_fit([0.46, 0.51, 0.38]) == []  # whole percent tell little
    assert loci_that_fit([0.25, 0.5], decimals=4, most=6) == [2, 4, 6]
    with pytest.raises(NumberFault, match="is it a percentage"):
        loci_that_fit([45.0])
