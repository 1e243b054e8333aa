"""A later row is compared with an earlier one at the precision written."""

from __future__ import annotations

import pytest

from geneticlog.rules.lab_return.drafts.draft import Draft
from geneticlog.rules.lab_return.drafts.same_result import Again, Before, compare_again, usual_half_digit


def later(q: float | None, half: float = 0.0, outcome: str = "typed", **more: object) -> Draft:
    draft = Draft(2, "V", "V", outcome, q=q, half_digits=(half, half))
    for name, value in more.items():
        setattr(draft, name, value)
    return draft


def earlier(q: float | None, half: float = 0.0, outcome: str = "typed", **more: object) -> Before:
    return Before(outcome, {"q": q, **more}, {"q": half, "heterozygosity": half})


@pytest.mark.parametrize(
    ("before", "draft", "again"),
    [
        (earlier(0.21, 0.005), later(0.21, 0.0005), Again.SAME),  # 0.21, then 21.0 %
        (earlier(0.2105, 0.00005), later(0.21, 0.005), Again.SAME),  # fewer digits tell nothing new
        (earlier(0.21, 0.005), later(0.2105, 0.00005), Again.MORE),  # more digits of the same
        (earlier(0.21, 0.005), later(0.2151, 0.00005), Again.OTHER),
        (earlier(0.21, 0.005), later(0.22, 0.005), Again.OTHER),
        (earlier(0.2105, 0.00005), later(0.2106, 0.00005), Again.OTHER),
        (earlier(None, outcome="failed"), later(None, outcome="failed"), Again.SAME),
        (earlier(0.2), later(None, outcome="failed"), Again.OTHER),
        (earlier(0.2), later(None), Again.OTHER),
        (earlier(0.2, n_loci=38), later(0.2), Again.SAME),
        (earlier(0.2), later(0.2, n_loci=38), Again.MORE),
        (earlier(0.2, n_loci=38), later(0.2, n_loci=37), Again.OTHER),
        (earlier(0.2, heterozygosity=0.3), later(0.2, heterozygosity=0.3), Again.SAME),
        (earlier(0.2), later(0.2, heterozygosity=0.3), Again.MORE),
        (earlier(0.2, heterozygosity=0.3), later(0.2, heterozygosity=0.4), Again.OTHER),
        (earlier(0.2, call_rate=0.97), later(0.2, call_rate=0.974), Again.SAME),
        (earlier(0.2, lab_class="F1"), later(0.2, lab_class=" f1 "), Again.SAME),
        (earlier(0.2, lab_class="F1"), later(0.2, lab_class="hybrid"), Again.OTHER),
        (earlier(0.2), later(0.2, genotypes={"m1": 1}), Again.MORE),
    ],
)
def test_a_later_row_beside_an_earlier_one(before: Before, draft: Draft, again: Again) -> None:
    assert compare_again(before, draft) is again


def test_a_doubt_that_nobody_was_told_of_makes_a_row_another_one() -> None:
    struck = later(0.2)
    struck.note("struck_out", columns="q", are="is", written="'0.2'")
    before = earlier(0.2)
    assert compare_again(before, struck) is Again.OTHER
    told = Before("typed", {"q": 0.2}, found={"struck_out": "'0.2'"})
    assert compare_again(told, struck) is Again.SAME
    failed = later(None, outcome="failed")
    failed.note("failed", said="")
    assert compare_again(earlier(None, outcome="failed"), failed) is Again.OTHER
    assert compare_again(earlier(None, outcome="failed"), failed, is_blank=True) is Again.SAME


def test_calls_that_differ_make_another_result() -> None:
    before = Before("typed", {"q": 0.25}, genotypes={"m1": 1, "m2": 0})
    assert compare_again(before, later(0.25, genotypes={"m1": 1, "m2": 0})) is Again.SAME
    assert compare_again(before, later(0.25, genotypes={"m1": 0, "m2": 1})) is Again.OTHER


@pytest.mark.parametrize(
    ("halves", "usual"),
    [
        ([0.00005] * 4 + [0.05, 0.5], 0.00005),  # 0.5 and 1 in a column of four digits lost their zeros
        ([0.005] * 3 + [0.00005] * 3, float("inf")),  # some in two digits, some in four
        ([0.005] * 3, float("inf")),
        ([0.0, 0.0, 0.0, 0.0], float("inf")),
    ],
)
def test_the_digits_of_a_column(halves: list[float], usual: float) -> None:
    assert usual_half_digit(halves) == usual
