"""Fish of real lakes, for checks. Florida alleles of each fish; quoted with the citation, not shipped.

Silliman K, Zhao H, Justice M, Thongda W, Bowen B, Peatman E (2021) Complex introgression among three diverged
largemouth bass lineages. Evolutionary Applications 14:2815-2830, doi:10.1111/eva.13314; per-fish table issued with it.
"""

from __future__ import annotations

# Lake Allatoona GA, 9 fish, 35 loci: Florida alleles of 70, heterozygous loci of 35, and the printed decimals.
ALLATOONA_ALLELES = [35, 31, 27, 35, 26, 34, 27, 38, 29]
ALLATOONA_HETEROZYGOUS = [18, 20, 20, 16, 19, 17, 20, 17, 18]
ALLATOONA_Q = [0.5000, 0.4429, 0.3857, 0.5000, 0.3714, 0.4857, 0.3857, 0.5429, 0.4143]
ALLATOONA_H = [0.5143, 0.5714, 0.5714, 0.4571, 0.5429, 0.4857, 0.5714, 0.4857, 0.5143]

# Lake Ouachita AR, 30 fish, 38 loci: Florida alleles of 76, and the printed decimals.
OUACHITA_ALLELES = [0] * 8 + [1] * 2 + [2] * 3 + [3] * 3 + [4, 5, 5, 7, 8, 9, 10, 13, 13, 14, 14, 23, 33, 34]
OUACHITA_Q = (
    [0.0] * 8
    + [0.0132] * 2
    + [0.0263] * 3
    + [0.0395] * 3
    + [0.0526, 0.0658, 0.0658, 0.0921, 0.1053, 0.1184, 0.1316, 0.1711, 0.1711, 0.1842, 0.1842]
    + [0.3026, 0.4342, 0.4474]
)
OUACHITA_MEAN_H = 0.14648
