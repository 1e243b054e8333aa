"""Patterns over the fish of a return: runs of one value, another lineage, values that cannot be, and few loci."""

from __future__ import annotations

from typing import Any

import pytest
from return_tables import CODES

from geneticlog.rules.finding.finding_kinds import FindingKind
from geneticlog.rules.genetics.rule_set import DEFAULT_RULE_SET
from geneticlog.rules.lab_return.drafts.draft import Draft
from geneticlog.rules.lab_return.sheet.sheet_rows import ONE_TABLE
from geneticlog.rules.label.vial_states import VialRole
from geneticlog.rules.result.result_states import Outcome, ResultStanding
from geneticlog.work.lab_return.known_before.returned_vials import Sent
from geneticlog.work.lab_return.place_rows import PlacedRow
from geneticlog.work.lab_return.return_patterns import few_loci, lineages, outside_in_words, runs

CURRENT, HELD = ResultStanding.CURRENT, ResultStanding.HELD


def placed(
    i: int, q: float | None, h: float | None = None, *, loci: int | None = 38, survey: int | None = 1,
    role: VialRole = VialRole.SAMPLE, standing: ResultStanding | None = CURRENT, vial: bool = True, **more: Any,
) -> PlacedRow:  # fmt: skip
    draft = Draft(i + 2, CODES[i], CODES[i], q=q, heterozygosity=h, n_loci=loci, **more)
    sent = Sent(i, CODES[i], role, i, survey, f"S{survey}" if survey else None)
    return PlacedRow(draft, sent if vial else None, Outcome.TYPED, standing)


@pytest.mark.parametrize(
    ("fish", "found"),
    [
        ([(0.3, 0.4)] * 3, [("q and H", [2, 3, 4])]),
        ([(0.3, 0.4)] * 2, []),
        ([(0.1, 0.2), *[(0.3, 0.4)] * 3, (0.6, 0.2)], [("q and H", [3, 4, 5])]),
        ([(0.3, 0.4), (0.3, 0.5), (0.3, 0.4)], []),
        ([(0.05, 0.1)] * 3, []),  # nearly pure
        ([(0.06, 0.1)] * 3, [("q and H", [2, 3, 4])]),
        ([(0.95, 0.1)] * 3, []),
        ([(0.94, 0.1)] * 3, [("q and H", [2, 3, 4])]),
        ([(0.5, 1.0)] * 3, []),  # first crosses
        ([(0.3, None)] * 4, [("q", [2, 3, 4, 5])]),
        ([(0.3, None)] * 3, []),
        ([(0.5, None)] * 4, []),
        ([(0.05, None)] * 4, []),
        ([(0.95, None)] * 4, []),
        ([(None, None)] * 4, []),
    ],
)
def test_neighbours_of_one_value(fish: list[tuple[float | None, float | None]], found: list[Any]) -> None:
    rows = [placed(i, q, h) for i, (q, h) in enumerate(fish)]
    assert [(one.facts["same"], one.rows) for one in runs(rows)] == found
    for row in rows:
        row.standing = None  # they make no result
    assert not runs(rows)


def test_a_run_that_was_seen_as_a_copy_is_not_told_twice_and_many_genotypes_speak_for_themselves() -> None:
    rows = [placed(i, 0.3, 0.4) for i in range(3)]
    rows[0].draft.note(FindingKind.COPIED_DOWN)
    assert not runs(rows)
    assert runs([placed(i, 0.3, 0.4, genotypes={f"L{k}": 1 for k in range(11)}) for i in range(3)])
    assert not runs([placed(i, 0.3, 0.4, genotypes={f"L{k}": 1 for k in range(12)}) for i in range(3)])
    assert not runs([placed(i, 0.3, 0.4, genotypes={"L": i}) for i in range(3)])


ALIKE = [(0.27, 0.13), (0.28, 0.13), (0.25, 0.13), (0.29, 0.13), (0.26, 0.13)] * 3


@pytest.mark.parametrize(
    ("change", "found"),
    [
        ({}, True),
        ({"role": VialRole.BLANK}, False),
        ({"standing": HELD}, False),
        ({"survey": None}, False),
        ({"vial": False}, False),
    ],
)
def test_a_survey_with_far_fewer_heterozygous_loci_than_its_mean_calls_for(
    change: dict[str, Any], found: bool
) -> None:
    told = lineages([placed(i, q, h, **change) for i, (q, h) in enumerate(ALIKE)])
    assert [one.kind for one in told] == ([FindingKind.POSSIBLE_THIRD_LINEAGE] if found else [])
    for one in told:
        assert (one.facts["survey"], one.facts["n"], one.survey_id) == ("S1", 15, 1)
        assert one.facts["p"] == pytest.approx(0.27)
        assert one.facts["h"] == pytest.approx(0.13)
        assert one.rows == list(range(2, 17))


@pytest.mark.parametrize(
    "fish",
    [
        [(q, 2 * q * (1 - q)) for q, _ in ALIKE],  # as many as they call for
        [(q, None) for q, _ in ALIKE],
        ALIKE[:9],
    ],
)
def test_fish_as_they_are_expected_are_no_other_lineage(fish: list[tuple[float, float | None]]) -> None:
    assert not lineages([placed(i, q, h) for i, (q, h) in enumerate(fish)])


def test_each_survey_is_judged_by_itself() -> None:
    mixed = [placed(i, q, h, survey=1 + i % 2) for i, (q, h) in enumerate(ALIKE)]
    assert not lineages(mixed[:18])  # eight and seven fish
    both = [placed(i, *ALIKE[i % 15], survey=1 + i // 15) for i in range(30)]
    assert [one.survey_id for one in lineages(both)] == [1, 2]


@pytest.mark.parametrize(
    ("n_outside", "n_inside", "limits", "words"),
    [
        (
            1,
            3,
            "0 to 1",
            "; 1 of 4 values in this column is outside, and the other 3 fit a fraction, in which the",
        ),
        (
            2,
            3,
            "0 to 1",
            "; 2 of 5 values in this column are outside (rows 2, 3), and the other 3 fit a fraction",
        ),
        (
            2,
            2,
            "0 to 1",
            "; 2 of 4 values in this column are outside (rows 2, 3): if all of it is in percent, it is",
        ),
        (2, 2, "0 to 100", "; 2 of 4 values in this column are outside (rows 2, 3)"),
        (0, 3, "0 to 1", ""),
    ],
)
def test_values_that_cannot_be_in_words(n_outside: int, n_inside: int, limits: str, words: str) -> None:
    drafts = [Draft(i + 2, "", None, q=None if i < n_outside else 0.5) for i in range(n_outside + n_inside)]
    for draft in drafts[:n_outside]:
        draft.note(FindingKind.IMPOSSIBLE_VALUE, role="q", limits=limits)
        draft.note(FindingKind.OFF_GRID, role="q")
    told = outside_in_words(drafts, ONE_TABLE)
    assert told.get("q", "").startswith(words)
    assert len(told) == bool(words)
    if limits == "0 to 100":
        assert told["q"] == words


LEAST = DEFAULT_RULE_SET.least_loci


@pytest.mark.parametrize(
    ("loci", "found"),
    [
        ([LEAST, LEAST, LEAST], []),
        ([LEAST - 1, LEAST, LEAST], [([2], LEAST - 1)]),
        ([LEAST - 1, LEAST - 2, LEAST, LEAST], [([2], LEAST - 1), ([3], LEAST - 2)]),  # half of them
        ([LEAST - 1, LEAST - 2, LEAST], [([2, 3], f"{LEAST - 2} to {LEAST - 1}")]),
        ([LEAST - 1, LEAST - 1, LEAST], [([2, 3], f"{LEAST - 1}")]),
        ([LEAST - 1], [([2], LEAST - 1)]),
        ([None, None], []),
    ],
)
def test_fish_of_few_loci(loci: list[int | None], found: list[Any]) -> None:
    rows = [placed(i, 0.5, loci=n) for i, n in enumerate(loci)]
    told = few_loci(rows, DEFAULT_RULE_SET)
    assert [(one.rows, one.facts["loci"]) for one in told] == found
    for one in told:
        if len(one.rows) == 1:
            assert one.facts["step"] == pytest.approx(1 / (2 * int(str(one.facts["loci"]))))
    assert not few_loci([placed(0, 0.5, loci=LEAST - 1, role=VialRole.BLANK)], DEFAULT_RULE_SET)
    assert not few_loci([placed(0, None, loci=LEAST - 1)], DEFAULT_RULE_SET)
    assert not few_loci([placed(0, 0.5, loci=LEAST - 1, standing=None)], DEFAULT_RULE_SET)
    low = placed(0, 0.5, loci=LEAST - 1)
    low.draft.note(FindingKind.CALL_RATE_TOO_LOW)
    assert not few_loci([low], DEFAULT_RULE_SET)
