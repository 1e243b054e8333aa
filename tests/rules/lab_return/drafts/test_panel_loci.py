"""A file that does not say the loci scored gets the panel's number only where every proportion allows it."""

from __future__ import annotations

import pytest

from geneticlog.rules.lab_return.drafts.draft import Draft
from geneticlog.rules.lab_return.drafts.panel_loci import give_panel_loci


def draft(q: float | None, digits: int, n_loci: int | None = None) -> Draft:
    half = 0.5 * 10**-digits
    return Draft(2, "V", "V", q=q, n_loci=n_loci, half_digits=(half, half))


@pytest.mark.parametrize(
    ("drafts", "given"),
    [
        ([draft(19 / 76, 6), draft(0.0, 6), draft(1.0, 6)], True),
        ([draft(0.25, 2)], False),  # two digits are 0.38 of an allele of 76: too rough to tell
        ([draft(0.25, 3)], True),  # three are 0.038
        ([draft(19.5 / 76, 6), draft(0.25, 6)], False),  # half an allele
        ([draft(0.2507, 4)], False),  # 19.053 of 76, read to 0.0038
        ([draft(0.2504, 4)], False),  # 19.030: 0.030 off, and 0.024 are allowed
        ([draft(0.2502, 4)], True),  # 19.015
        ([draft(0.25, 6, n_loci=38), draft(0.25, 6)], False),
        ([draft(None, 6)], False),
        ([], False),
    ],
)
def test_the_panels_loci_are_given_where_every_proportion_is_whole(drafts: list[Draft], given: bool) -> None:
    before = [one.n_loci for one in drafts]
    assert give_panel_loci(drafts, 38) is given
    assert [one.n_loci for one in drafts] == ([38] * len(drafts) if given else before)
    assert not give_panel_loci(drafts, None)
