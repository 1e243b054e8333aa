"""One invented survey used by several checks: 200 fish caught, 28 genotyped at 50 loci, so every q is in hundredths.

It is not a real lake. Its expected numbers were worked out with scipy 1.17.1 and statsmodels 0.15.0, not with this
package.
"""

from __future__ import annotations

GROUPS = {
    "stock": [0.10, 0.14, 0.21, 0.07, 0.17, 0.24, 0.13, 0.19],
    "quality": [0.20, 0.31, 0.27, 0.16, 0.36, 0.29, 0.23, 0.34],
    "preferred": [0.33, 0.41, 0.29, 0.50, 0.44, 0.37],
    "memorable": [0.46, 0.57, 0.51, 0.40],
    "trophy": [0.60, 0.71],
}
CAUGHT = {"stock": 90, "quality": 60, "preferred": 35, "memorable": 12, "trophy": 3}
ALL_Q = [q for group in GROUPS.values() for q in group]
