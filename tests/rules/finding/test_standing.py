"""What a result counts for after the decisions on it; common practice, no source."""

from __future__ import annotations

from itertools import permutations

import pytest

from geneticlog.rules.finding.decision import Decision as D
from geneticlog.rules.finding.standing import About, Result, standing_of
from geneticlog.rules.result.result_states import Outcome
from geneticlog.rules.result.result_states import ResultStanding as S

TYPED, FAILED = Result("A", 2, Outcome.TYPED), Result("A", 2, Outcome.FAILED)


@pytest.mark.parametrize(
    ("result", "findings", "standing"),
    [
        pytest.param(TYPED, [], S.CURRENT, id="nothing is said of it"),
        pytest.param(TYPED, [About(None)], S.CURRENT, id="a note waits and holds nothing"),
        pytest.param(TYPED, [About(None, holds=True)], S.HELD, id="it waits"),
        pytest.param(TYPED, [About(D.ACCEPT, holds=True)], S.CURRENT, id="accepted"),
        pytest.param(TYPED, [About(D.RECOUNT, holds=True)], S.CURRENT, id="counted again"),
        pytest.param(TYPED, [About(D.CLOSE, holds=True)], S.HELD, id="seen is not accepted"),
        pytest.param(TYPED, [About(D.ACCEPT, holds=True), About(None, holds=True)], S.HELD, id="one still waits"),
        pytest.param(TYPED, [About(D.REJECT)], S.REJECTED, id="rejected"),
        pytest.param(TYPED, [About(D.REJECT), About(None, holds=True)], S.REJECTED, id="out comes before waits"),
        pytest.param(TYPED, [About(D.REJECT, vials=["A"])], S.REJECTED, id="rejected by its vial"),
        pytest.param(TYPED, [About(D.REJECT, vials=["B"])], S.CURRENT, id="the other vial was rejected"),
        pytest.param(TYPED, [About(D.RESAMPLE)], S.REJECTED, id="the fish is sampled again"),
        pytest.param(FAILED, [About(D.RESAMPLE)], S.CURRENT, id="a failed sample stays failed"),
        pytest.param(TYPED, [About(D.RESAMPLE, vials=["B"])], S.CURRENT, id="the other vial is sampled again"),
        pytest.param(TYPED, [About(D.ACCEPT, holds=True, row=2)], S.CURRENT, id="its row counts"),
        pytest.param(TYPED, [About(D.ACCEPT, holds=True, row=3)], S.REJECTED, id="another row counts"),
        pytest.param(TYPED, [About(None, holds=True, row=3)], S.HELD, id="a row counts once that is decided"),
        pytest.param(TYPED, [About(None, unmatched=True)], S.REJECTED, id="its match was taken back"),
    ],
)  # fmt: skip
def test_a_result_has_the_standing_that_all_decisions_come_to(
    result: Result, findings: list[About], standing: S
) -> None:
    for order in permutations(findings):
        assert standing_of(result, order) is standing
