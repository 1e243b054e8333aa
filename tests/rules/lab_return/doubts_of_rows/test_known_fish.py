"""What the lab read of fish of known kind, against what they are."""

from __future__ import annotations

import pytest
from scipy.stats import binom

from geneticlog.rules.lab_return.doubts_of_rows.known_fish import (
    contradicts_kind,
    known_against,
    known_turned_round,
    misread_of_known,
)
from geneticlog.rules.lab_return.drafts.draft import Draft
from geneticlog.rules.lab_return.words.headings import Taxa

TAXA = Taxa()


@pytest.mark.parametrize(
    ("kind", "q", "h", "counts"),
    [
        ("northern", 2 / 76, None, (76, 2)),
        ("Florida", 74 / 76, 0.0, (76, 2)),
        ("F1", 0.5, 37 / 38, (76, 1)),
        ("F1", 40 / 76, None, (76, 2)),
        ("F1", 20 / 76, 0.95, (76, 18)),
        ("a kind that no panel tells", 0.5, None, None),
    ],
)
def test_alleles_misread_of_a_known_fish_are_counted(
    kind: str, q: float, h: float | None, counts: tuple[int, int] | None
) -> None:
    assert misread_of_known(kind, TAXA, q, h, 38) == counts


@pytest.mark.parametrize("kind", ["northern", "Florida"])
def test_a_known_fish_contradicts_from_where_misreading_at_two_percent_has_a_chance_of_a_thousandth(
    kind: str,
) -> None:
    """The cut-off is the binomial's of scipy.stats."""
    for misread in range(77):
        q = misread / 76 if kind == "northern" else 1 - misread / 76
        beyond = binom.sf(misread - 1, 76, 0.02) <= 0.001
        assert bool(contradicts_kind(kind, TAXA, q, None, 38)) == beyond, misread
    assert contradicts_kind(kind, TAXA, 0.42, None, None)  # no loci stated


def test_a_known_fish_that_contradicts_is_named_with_what_it_is() -> None:
    drafts = [Draft(2, "A", "A", q=0.42, n_loci=38), Draft(3, "B", "B", q=0.01, n_loci=38)]
    assert known_against(drafts, {2: "northern", 3: "northern"}, TAXA) == {
        2: ["it is known to be northern, and q 0.42 is not explained by misread alleles"]
    }
    assert known_against(drafts, {}, TAXA) == {}


@pytest.mark.parametrize(
    ("shares", "asked"),
    [
        ({"northern": 1.0, "Florida": 0.0}, True),
        ({"northern": 0.0, "Florida": 1.0}, False),
        ({"northern": 1.0}, True),
        ({"northern": 1.0, "Florida": 1.0}, False),  # one of them is another fish: no column turned round
        ({"F1": 0.5}, False),
    ],
)
def test_the_column_is_doubted_where_most_pure_known_fish_have_the_other_share(
    shares: dict[str, float], asked: bool
) -> None:
    drafts = [Draft(row, kind, kind, q=q) for row, (kind, q) in enumerate(shares.items(), 2)]
    kinds = dict(enumerate(shares, 2))
    words = known_turned_round(drafts, kinds, TAXA)
    assert bool(words) == asked
    assert not asked or "does the column count northern alleles" in words
