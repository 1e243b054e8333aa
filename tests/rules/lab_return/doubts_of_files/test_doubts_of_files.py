"""Doubts of a whole file at their boundaries: steps, ranks, twice, lines, columns, reference fish, what is left out."""

from __future__ import annotations

from typing import Any

import pytest
from return_tables import CODES, PLAIN, SHARES, read

from geneticlog.rules.lab_return.doubts_of_files.left_out import left_out
from geneticlog.rules.lab_return.doubts_of_files.lines_against import doubt_in_line
from geneticlog.rules.lab_return.doubts_of_files.odd_columns import below_one_allele, same_twice
from geneticlog.rules.lab_return.doubts_of_files.reference_fish import references_against
from geneticlog.rules.lab_return.doubts_of_files.regular_shares import each_twice, even_steps, own_ranks
from geneticlog.rules.lab_return.doubts_of_files.sorted_alone import codes_sorted_alone, sorted_alone
from geneticlog.rules.lab_return.doubts_of_files.whole_numbers import WholeNumbers
from geneticlog.rules.lab_return.drafts.draft import Draft
from geneticlog.rules.lab_return.words.headings import Taxa


def drafts_of(shares: list[float], half: float = 0.0005, **more: Any) -> list[Draft]:
    return [
        Draft(i + 2, CODES[i], CODES[i], q=q, half_digits=(half, 0.0), **more) for i, q in enumerate(shares)
    ]


@pytest.mark.parametrize(
    ("shares", "half", "says"),
    [
        ([0.1 + 0.05 * i for i in range(12)], 0.0005, "steps of 0.05"),
        ([0.1 + 0.05 * i for i in range(11)], 0.0005, ""),  # eleven
        ([0.1 + 0.05 * i for i in range(12)][::-1], 0.0005, "steps of 0.05"),  # in whatever order
        ([0.1 + 0.05 * i + (0.0009 if i == 5 else 0) for i in range(12)], 0.0005, "steps of 0.05"),
        ([0.1 + 0.05 * i + (0.0011 if i == 5 else 0) for i in range(12)], 0.0005, ""),
        ([0.1 + 0.05 * i + (0.006 if i == 5 else 0) for i in range(12)], 0.005, "steps of 0.05"),
        # a step of fewer than four half digits is no even step, but for one without any rounding
        ([0.1 + 0.002 * i for i in range(12)], 0.0005, "steps of 0.002"),
        ([0.1 + 0.0019 * i + (0.0005 if i == 5 else 0) for i in range(12)], 0.0005, ""),
        ([0.001 * 1.5**i for i in range(12)], 0.00001, "a factor of 1.5"),
        ([0.0, *(0.001 * 1.5**i for i in range(12))], 0.00001, ""),
        ([0.4] * 12, 0.0005, ""),
        ([], 0.0005, ""),
    ],
)
def test_shares_in_even_steps(shares: list[float], half: float, says: str) -> None:
    words = even_steps(drafts_of(shares, half))
    assert says in words
    assert bool(words) == bool(says)


@pytest.mark.parametrize(
    ("shares", "half", "asks"),
    [
        ([(i + 1) / 12 for i in range(12)], 0.0005, True),
        ([i / 12 for i in range(12)], 0.0005, True),
        ([(i + 1) / 11 for i in range(11)], 0.0005, False),
        ([*((i + 1) / 13 for i in range(11)), 0.9, 1.0], 0.0005, True),
        ([*((i + 1) / 13 for i in range(10)), 0.95, 0.96, 0.97], 0.0005, False),  # above its rank
        ([0.3, *((i + 1) / 12 for i in range(1, 12))], 0.0005, False),
        ([(i + 1) / 12 for i in range(12)], 0.09, False),  # digits that hide a rank
        ([(i + 1) / 12 for i in range(12)], 0.08, True),
        ([*((i + 1) / 13 for i in range(11)), 12 / 13, 12 / 13], 0.0005, True),  # a tie
    ],
)
def test_shares_that_are_their_own_ranks(shares: list[float], half: float, asks: bool) -> None:
    assert bool(own_ranks(drafts_of(shares, half))) is asks


EIGHT = [0.11, 0.23, 0.34, 0.42, 0.55, 0.61, 0.74, 0.86]


@pytest.mark.parametrize(
    ("shares", "says"),
    [
        (EIGHT * 2, "each of 8 shares occurs exactly twice among 16 vials"),
        (EIGHT[:7] * 2, ""),  # seven
        ([*EIGHT * 2, 0.3], "8 of 9 shares occur exactly twice among 17 vials"),
        ([*EIGHT * 2, *[0.3 + 0.001 * i for i in range(9)]], ""),
        ([*EIGHT * 2, 0.0, 1.0, 0.01, 0.99], "each of 8 shares"),  # pure fish have no say
        (EIGHT * 3, ""),
    ],
)
def test_shares_that_occur_twice(shares: list[float], says: str) -> None:
    words = each_twice(drafts_of(shares))
    assert words.startswith(says)
    assert bool(words) == bool(says)
    again = drafts_of(shares)
    again[0].code = again[1].code
    assert not each_twice(again)  # one vial twice


@pytest.mark.parametrize(
    ("n", "loci", "panel", "share", "asks"),
    [
        (6, 38, None, 0.95, True),
        (5, 38, None, 0.95, False),
        (6, None, 38, 0.95, True),
        (6, None, None, 0.95, False),
        (6, 38, None, 0.98, False),  # about one allele
    ],
)
def test_shares_below_one_allele(
    n: int, loci: int | None, panel: int | None, share: float, asks: bool
) -> None:
    shares = [(share - 0.05 - 0.01 * i if share < 0.97 else share) / 76 for i in range(n)]
    assert bool(below_one_allele(drafts_of(shares, n_loci=loci), panel)) is asks


@pytest.mark.parametrize(
    ("n_below", "of", "asks"), [(9, 10, True), (8, 10, False), (8, 9, False), (18, 20, True)]
)
def test_nearly_all_shares_have_to_be_below_one_allele(n_below: int, of: int, asks: bool) -> None:
    shares = [*(0.001 * (i + 1) / 4 for i in range(n_below)), *[0.5] * (of - n_below)]
    assert bool(below_one_allele(drafts_of(shares, n_loci=38), None)) is asks


@pytest.mark.parametrize(
    ("q", "asks"),
    [
        ([0.1, 0.2, 0.3, 0.4, 0.4, 0.4], True),
        ([0.1, 0.2, 0.3, 0.4, 0.4], False),  # five rows
        ([0.1, 0.2, 0.3, 0.3, 0.3, 0.3], False),  # three values
        ([0.1, 0.2, 0.3, 0.0, 1.0, 0.0], False),
    ],
)
def test_q_and_heterozygosity_that_are_the_same(q: list[float], asks: bool) -> None:
    drafts = drafts_of(q)
    for draft in drafts:
        draft.heterozygosity = draft.q
    assert bool(same_twice(drafts)) is asks
    drafts[0].heterozygosity = 0.6
    assert not same_twice(drafts)


@pytest.mark.parametrize(
    ("written", "code", "q", "asks"),
    [
        ("Florida reference", None, 0.1, True),
        ("Florida reference", None, 0.5, False),
        ("Florida reference", None, 0.49, True),
        ("northern control", None, 0.5, True),
        ("northern control", None, 0.49, False),
        ("Florida northern control", None, 0.1, False),
        ("Florida", None, 0.1, False),
        ("Florida reference", CODES[0], 0.1, False),
        ("Florida reference", None, None, False),
    ],
)
def test_a_reference_fish(written: str, code: str | None, q: float | None, asks: bool) -> None:
    words = references_against([Draft(2, CODES[1], CODES[1], q=0.1), Draft(3, written, code, q=q)], Taxa())
    assert bool(words) is asks


@pytest.mark.parametrize(
    ("here", "gone"),
    [({1, 2, 3}, None), ({1, 2}, {3}), ({1}, None), ({1, 2, 9}, {3}), ({8, 9}, None), (set(), None)],
)
def test_what_a_later_file_leaves_out(here: set[int], gone: set[int] | None) -> None:
    out = left_out({7: [1, 2, 3]}, here)
    assert (out[7].vials if 7 in out else None) == gone
    if gone:
        assert (out[7].n_again, out[7].n_earlier) == (2, 3)


@pytest.mark.parametrize(
    ("n_here", "n_same", "n_gone"),
    [(20, 20, 25), (20, 16, 25), (20, 15, None), (6, 6, 39), (5, 5, None), (45, 45, None), (23, 0, 22)],
)
def test_a_list_that_was_cut_off_leaves_the_rest_out(n_here: int, n_same: int, n_gone: int | None) -> None:
    out = left_out({7: range(45)}, range(n_here), range(n_same))
    assert (len(out[7].vials) if 7 in out else None) == n_gone
    # what it says of vials that the earlier file did not have is no sign
    assert not left_out({7: range(45)}, range(40, 60), range(40, 60))


@pytest.mark.parametrize(
    ("line", "panel", "says"),
    [
        ("samples: 10", None, ""),
        ("samples: 11", None, ""),  # one more or less is a blank perhaps
        ("samples: 12", None, "says 12 samples, and there are 10"),
        ("number of fish = 8", None, "says 8 samples"),
        ("samples: 8.5", None, ""),
        ("loci scored: 38", None, ""),
        ("loci scored: 37", None, "says 37 loci, and the rows have up to 38"),
        ("loci: 90", None, ""),
        ("species: largemouth bass", None, ""),
        ("species: walleye", None, "names another species"),
        ("a remark: 7", None, ""),
        ("no label", None, ""),
    ],
)
def test_a_line_that_the_rows_contradict(line: str, panel: int | None, says: str) -> None:
    reading, rows = read(["Florida", "Loci scored"], [SHARES, ["38"] * 10])
    words = doubt_in_line(reading, rows, panel)(line)
    assert words.startswith(says)
    assert bool(words) == bool(says)
    few, its_rows = read(["Florida", "Loci scored"], [SHARES[:4], ["38"] * 4])
    assert "samples" not in doubt_in_line(few, its_rows, panel)(line)


@pytest.mark.parametrize(("loci", "says"), [(36, ""), (35, "says 35 loci, and the panel has 39")])
def test_fewer_loci_than_the_panel_has(loci: int, says: str) -> None:
    reading, rows = read(["Florida"], [SHARES])
    assert doubt_in_line(reading, rows, 39)(f"loci: {loci}") == says
    assert doubt_in_line(reading, rows, None)(f"loci: {loci}") == ""


@pytest.mark.parametrize(
    ("n", "kinds", "order", "asks"),
    [(16, 16, 1, "rise"), (16, 16, -1, "fall"), (15, 15, 1, ""), (16, 8, 1, "rise"), (16, 7, 1, "")],
)
def test_shares_sorted_alone(n: int, kinds: int, order: int, asks: str) -> None:
    shares = sorted(0.1 + 0.02 * (i % kinds) for i in range(n))[::order]
    codes = sorted(CODES[:n])
    drafts = [Draft(i, code, code, q=q) for i, (code, q) in enumerate(zip(codes, shares, strict=True))]
    words = sorted_alone(drafts)
    assert words.startswith(f"the shares {asks}") if asks else not words
    drafts[3], drafts[9] = drafts[9], drafts[3]
    assert not sorted_alone(drafts)


def test_codes_sorted_alone_beside_their_wells() -> None:
    codes, wells = sorted(CODES[:6]), [f"A{i:02}" for i in range(1, 7)]
    sent = [codes[i] for i in (2, 0, 1, 5, 4, 3)]
    assert codes_sorted_alone(codes, wells, sent)
    assert not codes_sorted_alone(codes[:5], wells[:5], sent)
    assert not codes_sorted_alone(codes, wells, codes)  # we sent them so
    assert not codes_sorted_alone(sent, wells, sent)
    assert not codes_sorted_alone([*codes[:5], None], wells, sent)
    assert not codes_sorted_alone(codes, [*wells[:5], wells[0]], sent)
    assert not codes_sorted_alone(codes, [wells[i] for i in (2, 0, 1, 5, 4, 3)], sent)


@pytest.mark.parametrize(
    ("n", "telling", "fit", "fails", "says"),
    [
        (10, 10, 8, False, "8 of 10 shares are whole"),
        (10, 10, 7, True, "7 of 10 shares are whole"),
        (10, 2, 1, True, "1 of 2"),
        (10, 1, 0, False, "cannot tell one number"),
        (0, 0, 0, False, "no row has both"),
    ],
)
def test_whole_numbers_of_alleles(n: int, telling: int, fit: int, fails: bool, says: str) -> None:
    judged = WholeNumbers(n, telling, fit, 0.1)
    assert judged.fails is fails
    assert judged.words.startswith(says) or says in judged.words
    assert PLAIN.columns
