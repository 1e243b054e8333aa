"""Blanks, blind duplicates and known fish that contradict the values together."""

from __future__ import annotations

import random
from collections.abc import Sequence

import pytest

from geneticlog.rules.lab_return.doubts_of_files.controls_against import controls_against, controls_among
from geneticlog.rules.lab_return.drafts.draft import Draft
from geneticlog.rules.lab_return.words.headings import Taxa
from geneticlog.rules.result.result_states import Outcome

RNG = random.Random(20260512)
SHARES: list[float | None] = [RNG.randint(8, 68) / 76 for _ in range(30)]
SHARES[4] = SHARES[19] = None  # the blanks
for copy, of in ((7, 26), (11, 2), (23, 14)):  # blind duplicates
    SHARES[copy] = SHARES[of]
SHARES[9], SHARES[21] = 0.0, 1.0
FISH = {i: i for i in range(30) if i not in (4, 19)} | {7: 26, 11: 2, 23: 14}
KINDS = {9: "northern", 21: "Florida"}


def asked(shares: Sequence[float | None]) -> str:
    drafts = [
        Draft(i, f"vial {i}", f"vial {i}", Outcome.FAILED if q is None else Outcome.TYPED, q=q)
        for i, q in enumerate(shares)
    ]
    controls = controls_among(drafts, {4: True, 19: True}, FISH, KINDS)
    return controls_against(drafts, controls, Taxa())


@pytest.mark.parametrize(
    ("shares", "seen"),
    [
        (SHARES, ""),
        ([*SHARES[1:], 0.4], "with the value of the row above all of them would fit"),
        ([0.4, *SHARES[:-1]], "with the value of the row below all of them would fit"),
        ([*SHARES[:17], 0.6, *SHARES[17:-1]], "from vial 19 on, with the value of the row below"),
        (sorted(SHARES, key=lambda q: -1 if q is None else q), "do the codes and the values belong together"),
        ([0.2 if q is None else q for q in SHARES], ""),  # blanks alone: a contaminated plate
        (
            [*SHARES[:7], 0.02, *SHARES[8:11], 0.99, *SHARES[12:23], 0.01, *SHARES[24:]],
            "",
        ),  # duplicates alone
        ([*SHARES[:4], 0.3, *SHARES[5:7], 0.02, *SHARES[8:]], ""),  # one of each
    ],
)
def test_controls_of_two_kinds_that_contradict_are_asked_about(shares: list[float | None], seen: str) -> None:
    words = asked(shares)
    assert seen in words
    assert bool(words) == bool(seen)
