"""The seeds of all that is drawn by chance: any numbers, fixed so that the same fish give the same report twice.

Each subject has its own: with one for all, the fish that a plan draws, the resamples of an interval and the shuffles
that look for broods would come from the same random numbers, and so err together. One that changes changes what
reports have printed. (The order in which a shipment's vials are dealt has no seed here: it must not be foreseen, so it
is drawn anew for each shipment and kept with it.)
"""

from __future__ import annotations

SEED = 20_260_101  # of the arrangements behind a p, and of the resamples behind a bootstrap limit
SEED_OF_PLANS = 20_260_411  # of the fish that the coming surveys of a plan may meet
EARLIER, LATER = 1, 2  # of the two surveys, or the two sides, that a plan compares
SEED_OF_BROODS = 20_260_412  # of the shuffles that broods are told from
