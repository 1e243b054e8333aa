"""Whether a report that went out still holds: each thing that may have changed behind it, and what may not."""

from __future__ import annotations

from dataclasses import replace

import pytest

from geneticlog.rules.report.outdated import Basis, Counted, Verdict, verdict_on

FISH = Counted("HERON-1", "stock", 0.25, 0.5, 38)
OF_ONE = Basis({"BG 1": FISH}, {"HERON": {"stock": 30, "": 2}})


def now(**changes: object) -> Basis:
    return replace(OF_ONE, results={"BG 1": replace(FISH, **changes)})  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("later", "changes", "n_newer"),
    [
        (OF_ONE, (), 0),
        (replace(OF_ONE, results={}), ("1 result that no longer counts: BG 1",), 0),
        (now(q=0.5), ("1 result changed: BG 1 from 25.0 % to 50.0 %",), 0),
        (now(q=0.25 + 1e-12), (), 0),
        (now(q=0.25 + 1e-6), ("1 result changed: BG 1 from 25.0 % to 25.0 %",), 0),
        (now(heterozygosity=0.4), ("1 result with other heterozygosity or loci: BG 1",), 0),
        (now(heterozygosity=None), ("1 result with other heterozygosity or loci: BG 1",), 0),
        (now(heterozygosity=0.5 + 1e-12), (), 0),
        (now(n_loci=37), ("1 result with other heterozygosity or loci: BG 1",), 0),
        (now(q=0.5, n_loci=37), ("1 result changed: BG 1 from 25.0 % to 50.0 %",), 0),
        (now(size_class="quality"), ("1 fish of another size class: fish HERON-1 from stock to quality",), 0),
        (
            now(size_class=None),
            ("1 fish of another size class: fish HERON-1 from stock to no size class",),
            0,
        ),
        (
            replace(OF_ONE, caught={"HERON": {"stock": 31, "": 2}}),
            ("1 catch corrected: HERON from 32 to 33 fish",),
            0,
        ),
        (replace(OF_ONE, caught={}), ("1 catch corrected: HERON from 32 to 0 fish",), 0),
        (replace(OF_ONE, caught={**OF_ONE.caught, "EGRET": {"stock": 4}}), (), 0),  # a later survey
        (replace(OF_ONE, results={"BG 1": FISH, "BG 2": FISH, "BG 3": FISH}), (), 2),  # a later return
    ],
)
def test_what_changed_behind_a_report(later: Basis, changes: tuple[str, ...], n_newer: int) -> None:
    verdict = verdict_on(OF_ONE, later)
    assert verdict == Verdict(changes, n_newer)
    assert verdict.outdated is bool(changes)


def test_a_fish_that_moves_to_another_class_is_not_said_again_as_a_catch() -> None:
    moved = Basis(
        {"BG 1": replace(FISH, size_class="quality")}, {"HERON": {"stock": 29, "quality": 1, "": 2}}
    )
    assert len(verdict_on(OF_ONE, moved).changes) == 1


def test_at_most_four_are_named() -> None:
    for n, more in ((4, ""), (6, " 2 more")):
        basis = Basis({f"BG {at}": FISH for at in range(n)})
        (change,) = verdict_on(basis, Basis()).changes
        assert change.startswith(f"{n} results that no longer count: BG 0, BG 1, BG 2")
        assert change.endswith(more)
        assert ("BG 4" in change, "BG 3" in change) == (False, True)
