"""Columns beside the share that contradict it, or our own records, in a few rows, and what each rule leaves alone."""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

import pytest
from return_tables import CODES, SHARES, N, but, doubted, read

from geneticlog.rules.lab_return.columns.lab_classes import no_cross
from geneticlog.rules.lab_return.doubts_of_files.copied_down import copied_down
from geneticlog.rules.lab_return.doubts_of_files.loci_against import loci_against
from geneticlog.rules.lab_return.doubts_of_files.odd_shares import no_tens, zeros_apart
from geneticlog.rules.lab_return.doubts_of_files.turned_block import turned_block
from geneticlog.rules.lab_return.doubts_of_files.unlike_earlier import unlike_earlier
from geneticlog.rules.lab_return.doubts_of_rows.genotypes_beside import turned_beside_genotypes
from geneticlog.rules.lab_return.doubts_of_rows.made_of_runs import made_of_runs
from geneticlog.rules.lab_return.doubts_of_rows.other_measures import measures_of_others
from geneticlog.rules.lab_return.doubts_of_rows.own_limits import far_wider, outside_its_limits
from geneticlog.rules.lab_return.doubts_of_rows.own_records import (
    other_media,
    other_numbers,
    other_sites,
    other_tissues,
    other_years,
    sites_of_others,
    tissues_of_others,
)
from geneticlog.rules.lab_return.doubts_of_rows.repeated_numbers import repeated_numbers
from geneticlog.rules.lab_return.drafts.draft import Draft
from geneticlog.rules.lab_return.drafts.drafts import Drafter
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.lab_return.words.roles import ColumnRole
from geneticlog.rules.result.result_states import Outcome

OF_RUNS = Layout(columns={"q": "Florida mean"}, answered=frozenset({"q"}))
UPPER = [f"{min(1.0, float(q) + 0.05):.2f}" for q in SHARES]
LOWER = [f"{max(0.0, float(q) - 0.05):.2f}" for q in SHARES]


@pytest.mark.parametrize(
    ("headings", "columns", "rows"),
    [
        (["CI upper"], [UPPER], []),
        (["CI upper"], [but(UPPER, _3="0.20", _7="0.51")], [3, 7]),
        (["CI upper"], [[f"{100 * float(one):.0f}" for one in but(UPPER, _3="0.20")]], [3]),  # in percent
        (["CI lower"], [LOWER], []),
        (["CI lower"], [but(LOWER, _2="0.80")], [2]),
        (
            ["CI lower"],
            [[f"{float(one) / 100:.4f}" for one in LOWER]],
            [],
        ),  # percent again as a fraction: no limit
        (["CI upper"], [LOWER], []),  # most are beyond it, so it is headed for another thing
        (["CI upper"], [but(UPPER[:5], _3="0.20") + [""] * 5], []),  # five limits say too little
    ],
)
def test_one_limit_alone(headings: list[str], columns: list[list[str]], rows: list[int]) -> None:
    reading, table = read(["Florida", *headings], [SHARES, *columns])
    assert doubted(outside_its_limits, reading, table) == rows


@pytest.mark.parametrize(
    ("headings", "columns", "rows"),
    [
        (["95% CI"], [but([f"{a}-{b}" for a, b in zip(LOWER, UPPER, strict=True)], _3="0.00-1.00")], [3]),
        (["Lower CI", "Upper CI"], [but(LOWER, _3="0.00"), but(UPPER, _3="0.97")], [3]),
        (["Lower CI", "Upper CI"], [but(LOWER, _3="0.10"), but(UPPER, _3="0.80")], []),
        (["95% CI"], [["0.00-0.95"] * N], []),  # a lab that knows nothing of any
    ],
)
def test_an_interval_of_nearly_everything(headings: list[str], columns: list[Any], rows: list[int]) -> None:
    reading, table = read(["Florida", *headings], [SHARES, *columns])
    assert doubted(far_wider, reading, table) == rows


IDS = [f"EX-{100 + i}" for i in range(N)]


@pytest.mark.parametrize(
    ("heading", "column", "rows"),
    [
        ("Extract ID", IDS, []),
        ("Extract ID", but(IDS, _7="EX-103"), [3, 7]),
        ("Lab ID", but(IDS, _7="ex-103", _8="EX-104"), [3, 4, 7, 8]),
        ("Lab ID", but(IDS, _7="EX-103", _8="EX-103"), []),  # three alike
        ("Lab ID", ["P1"] * 5 + ["P2"] * 5, []),
        ("Plate ID", but(IDS, _7="EX-103"), []),
        ("No. of reads", but([str(1000 + i) for i in range(N)], _7="1003"), []),
        ("Lab ID", but(IDS[:7], _6="EX-103") + [""] * 3, []),  # seven numbers say too little
    ],
)
def test_one_number_of_the_lab_at_two_vials(heading: str, column: list[str], rows: list[int]) -> None:
    reading, table = read(["Florida", heading], [SHARES, column])
    assert doubted(repeated_numbers, reading, table) == rows


def test_runs_of_one_vial_may_share_its_number() -> None:
    reading, table = read(["Florida", "Lab ID"], [SHARES, but(IDS, _7="EX-103")])
    table[8] = [table[4][0], *table[8][1:]]
    assert doubted(repeated_numbers, reading, table) == []


A, B = (
    [f"{float(q) - 0.01:.2f}" for q in SHARES],
    [f"{float(q) + 0.01:.2f}" for q in SHARES],
)


@pytest.mark.parametrize(
    ("columns", "rows"),
    [
        ([A, B, SHARES], []),
        ([A, B, but(SHARES, _4="0.48")], [4]),
        ([but(A, _4="0.22"), but(B, _4="0.82"), SHARES], [4]),  # their mean is right, and says nothing
        ([but(A, _4=""), B, SHARES], []),
        ([A, A, SHARES], []),  # no mean of them in any row
    ],
)
def test_a_mean_that_its_runs_do_not_make(columns: list[list[str]], rows: list[int]) -> None:
    reading, table = read(["Florida run 1", "Florida run 2", "Florida mean"], columns, OF_RUNS)
    assert doubted(made_of_runs, reading, table) == rows


FISH = [3, 7, 1, 9, 4, 12, 6, 8, 2, 5]


@pytest.mark.parametrize(
    ("heading", "column", "rows"),
    [
        ("Fish", FISH, []),
        ("Fish", but(FISH, _1=9, _3=7), [1, 3]),
        ("Fish", list(range(1, N + 1)), []),  # the rows as they come
        ("Fish", FISH[::-1], []),  # numbers of another kind
        ("Year", but(FISH, _1=9), []),
    ],
)
def test_numbers_of_other_fish(heading: str, column: list[int], rows: list[int]) -> None:
    reading, table = read(["Florida", heading], [SHARES, column])
    own: dict[str, Any] = {"fish_number": {i + 2: n for i, n in enumerate(FISH)}, "list_number": {}}
    assert doubted(other_numbers, reading, table, own.__getitem__) == rows
    assert not other_numbers(reading, table, lambda what: {})


@pytest.mark.parametrize(
    ("column", "rows"),
    [
        (["swab"] * N, []),
        (but(["Mouth swab"] * N, _4="fin clip", _6="scale"), [4, 6]),
        (["fin"] * N, []),  # a form filled in by habit
        (but(["swab"] * N, _4="tissue"), []),
    ],
)
def test_another_tissue(column: list[str], rows: list[int]) -> None:
    reading, table = read(["Florida", "Tissue"], [SHARES, column])
    assert (
        doubted(other_tissues, reading, table, lambda what: dict.fromkeys(range(2, N + 2), "mouth swab"))
        == rows
    )


@pytest.mark.parametrize(
    ("heading", "column", "rows", "asks"),
    [
        ("Tissue", ["fin clip"] * N, [], "says 'fin clip', and we sent a mouth swab; in no row is it ours"),
        ("Tissue", but(["fin clip"] * N, _4="swab"), [], ""),
        ("Tissue", ["tissue"] * N, [], ""),
        ("Preservative", ["95 % EtOH"] * N, [], ""),
        ("Preservative", but(["ethanol"] * N, _4="dry"), [4], ""),
        ("Medium", ["dried"] * N, [], "says 'dried', and we sent it in ethanol"),
        ("Remark", ["dry"] * N, [], ""),
        ("Site", ["North Arm"] * N, [], ""),
        ("Site", but(["north arm"] * N, _2="south arm"), [2], ""),
        (
            "Site name",
            ["south arm"] * N,
            [],
            "says 'south arm', and we logged 'north arm'; no site in it is ours",
        ),
        ("Site", ["Heron Lake"] * N, [], ""),  # the lake, as no word of it is in ours
        ("Site", [*["south arm"] * 5, *["north arm"] * 5], [], ""),
        ("Site", [*["south arm"] * 5, *[""] * 5], [], ""),  # too few to tell
    ],
)
def test_sites_media_and_tissues_that_are_not_ours(
    heading: str, column: list[str], rows: list[int], asks: str
) -> None:
    reading, table = read(["Florida", heading], [SHARES, column])
    ours = {"tissue": "mouth_swab", "medium": "ethanol", "site": "north arm"}

    def known(what: str) -> dict[int, str]:
        return dict.fromkeys(range(2, N + 2), ours[what])

    found = [n for rule in (other_media, other_sites) for n in doubted(rule, reading, table, known)]
    assert found == rows
    asked = sites_of_others(reading, table, known) or tissues_of_others(reading, table, known)
    assert bool(asked) == bool(asks)
    assert asks in asked
    for rule in (sites_of_others, tissues_of_others):
        assert not rule(reading, table, lambda what: {})


@pytest.mark.parametrize(
    ("heading", "column", "rows"),
    [
        ("Year", but([2026] * N, _2=2023, _5=2025), [2, 5]),
        ("Survey year", [2025] * N, list(range(N))),
        ("Year", [2027] * N, []),  # that of the lab's work
        ("Year", but([2026] * N, _2=23), []),
        ("Year class", but([2024] * N, _2=2021), []),
    ],
)
def test_a_year_before_that_of_the_catch(heading: str, column: list[Any], rows: list[int]) -> None:
    reading, table = read(["Florida", heading], [SHARES, column])
    caught = dict.fromkeys(range(2, N + 2), date(2026, 5, 12))
    assert doubted(other_years, reading, table, lambda what: caught) == rows
    assert not other_years(reading, table, lambda what: {})


LENGTHS = [312.0, 455.0, 287.0, 391.0, 520.0, 338.0, 266.0, 414.0, 301.0, 470.0]


@pytest.mark.parametrize(
    ("heading", "column", "words"),
    [
        ("TL mm", LENGTHS, ""),
        ("Length (in)", [round(one / 25.4, 1) for one in LENGTHS], ""),
        ("Fork length", [round(0.96 * one) for one in LENGTHS], ""),
        ("TL mm", [LENGTHS[-1], *LENGTHS[:-1]], "the row above"),
        ("TL mm", [*LENGTHS[1:], LENGTHS[0]], "the row below"),
        ("TL mm", [200 + 3 * i for i in range(N)], "does not rise and fall"),
        ("Read length", [200 + 3 * i for i in range(N)], ""),
        ("TL mm", [300] * N, ""),  # one size for all is no measure
        ("TL mm", [200 + 3 * i for i in range(7)] + [""] * 3, ""),
    ],
)
def test_lengths_that_do_not_go_with_ours(heading: str, column: list[Any], words: str) -> None:
    reading, table = read(["Florida", heading], [SHARES, column])
    own: dict[str, Any] = {"length_mm": {i + 2: one for i, one in enumerate(LENGTHS)}, "weight_g": {}}
    asks = measures_of_others(reading, table, own.__getitem__)
    assert words in asks
    assert bool(words) == bool(asks)


def test_lengths_of_fish_that_are_all_of_one_size_say_nothing() -> None:
    reading, table = read(["Florida", "TL mm"], [SHARES, [200 + 3 * i for i in range(N)]])
    assert not measures_of_others(reading, table, lambda what: {n: 300.0 + n for n in range(2, N + 2)})


def drafts_of(shares: Sequence[float | None], mixed: Sequence[float | None] = ()) -> list[Draft]:
    return [
        Draft(i, "", None, Outcome.TYPED, q=q, heterozygosity=mixed[i] if mixed else None)
        for i, q in enumerate(shares)
    ]


OTHERS = [0.31, 0.12, 0.77, 0.58, 0.22, 0.91, 0.43]
SAME_Q, STEP = (
    "neighbouring vials have the same q",
    "neighbouring vials have the same step from one q to the next",
)
AGAIN = "vials have the values of other rows in the same order"
UPWARDS = "vials have the values of other rows in the opposite order"
LEFT = "vials have what the values of other rows leave of one in the same order"


def seen(shares: Sequence[float], fish: Mapping[int, int] | None = None) -> list[tuple[str, int]]:
    return [(how, len(of)) for how, of in copied_down(drafts_of(shares), fish or {})]


@pytest.mark.parametrize(
    ("shares", "patterns"),
    [
        ([*OTHERS, *[0.35] * 6], [(SAME_Q, 6)]),
        ([*OTHERS, *[0.35] * 4], []),
        (
            [0.35, 0.31, 0.35, 0.35, 0.12, 0.35, *[0.35] * 5],
            [],
        ),  # a brood: the value is common among the others
        ([*OTHERS, *[0.5] * 8], []),  # first crosses
        ([*OTHERS, *[0.02] * 8], []),  # nearly pure
        ([0.31, *[0.35] * 9], []),  # one other fish tells nothing
        (sorted([*OTHERS, *[0.35] * 6]), []),  # in order of the shares
        ([*OTHERS, 0.46, 0.47, 0.48, 0.49, 0.50, 0.51], [(STEP, 6)]),
        ([*OTHERS, 0.46, 0.47, 0.48, 0.49, 0.50], []),
        ([0.30 + 0.01 * i for i in range(12)], [(STEP, 12)]),
        ([0.30 + 0.01 * i for i in range(11)], []),
        (
            [*(0.30 + 0.01 * i for i in range(8)), *(0.5 + 0.03 * i for i in range(6))],
            [],
        ),  # in order, by chance
        ([*OTHERS, 0.66, *OTHERS], [(AGAIN, 14)]),
        ([*OTHERS, 0.66, *OTHERS[2:7], 0.5, 0.05], [(AGAIN, 10)]),
        ([*OTHERS, 0.66, *OTHERS[2:5], 0.5, 0.05], []),
        ([*OTHERS, 0.66, *OTHERS[::-1]], [(UPWARDS, 2 * len(OTHERS))]),
        ([*OTHERS, 0.66, *OTHERS[4:], *OTHERS[3::-1]], []),  # four and three in a row may be chance
        ([*OTHERS, 0.66, *(round(1 - q, 4) for q in OTHERS)], [(LEFT, 2 * len(OTHERS))]),
        ([*OTHERS, 0.66, *OTHERS[1::2], *OTHERS[::2]], []),  # the same values in another order
        ([0.25, 0.5, 0.75, 0.25] * 4, []),  # so few values that they come again by themselves
    ],
)
def test_shares_that_were_copied(shares: list[float], patterns: list[tuple[str, int]]) -> None:
    assert seen(shares) == patterns


LONGER = [0.4583, 0.2432, 0.3816, 0.3571, 0.3056, 0.8, 0.0, 0.7568, 0.1757, 0.1579, 0.9143, 0.3289]


@pytest.mark.parametrize(
    ("changed", "how"),
    [
        ([round(q, 2) for q in LONGER], "the values of other rows, to the percent, in the same order"),
        (
            [round(q, 2) for q in LONGER[::-1]],
            "the values of other rows, to the percent, in the opposite order",
        ),
        (
            [round(q + 0.01, 4) for q in LONGER],
            "the values of other rows, moved by one amount, in the same order",
        ),
        (
            [round(q + 0.01, 4) for q in LONGER[::-1]],
            "the values of other rows, moved by one amount, in the opposite",
        ),
        (
            [round(1.02 - q, 4) for q in LONGER],
            "what the values of other rows leave of one amount in the same order",
        ),
        (
            [round(1.02 - q, 4) for q in LONGER[::-1]],
            "what the values of other rows leave of one amount in the opp",
        ),
    ],
)
def test_a_block_that_was_copied_and_changed_is_seen_with_the_pure_fish_in_it(
    changed: list[float], how: str
) -> None:
    ((words, of), *_) = copied_down(drafts_of([0.66, *LONGER, 0.12, *changed, 0.71]), {})
    assert how in words
    assert {draft.row for draft in of} == {*range(1, 13), *range(14, 26)}


def test_lists_sorted_in_parts_are_no_copies_of_one_another() -> None:
    rng = random.Random(20260512)
    for digits in (2, 3, 4):
        for n in (20, 40, 90):
            for _ in range(5):
                middle = rng.uniform(0.15, 0.85)
                fish = [round(sum(rng.random() < middle for _ in range(76)) / 76, digits) for _ in range(n)]
                half = n // 2
                for order in (
                    fish,
                    [*sorted(fish[:half]), *sorted(fish[half:])],
                    [*sorted(fish[:half]), *sorted(fish[half:], reverse=True)],
                ):
                    assert not copied_down(drafts_of(order), {}), order


def test_two_vials_of_one_fish_are_meant_to_be_alike() -> None:
    twice = [*OTHERS, 0.66, *OTHERS]
    assert not seen(twice, {i: i % 8 for i in range(len(twice))})


def test_the_same_share_with_another_heterozygosity_is_no_copy() -> None:
    shares = [*OTHERS, *[0.35] * 6]
    rising = [0.1 + 0.01 * i for i in range(len(shares))]
    assert not copied_down(drafts_of(shares, rising), {})
    alike = drafts_of(shares, [*rising[:7], *[0.3] * 6])
    assert [how for how, _ in copied_down(alike, {})] == ["neighbouring vials have the same q and H"]


def test_pairs_of_neighbours_that_are_alike_in_everything() -> None:
    shares = [
        0.31,
        0.12,
        0.77,
        0.77,
        0.58,
        0.22,
        0.22,
        0.91,
        0.43,
        0.66,
        0.28,
        0.83,
        0.19,
        0.37,
        0.37,
        0.71,
        0.48,
        0.86,
        0.14,
        0.64,
        0.25,
        0.54,
    ]
    drafts = drafts_of(shares, [1 - 2 * abs(q - 0.5) for q in shares])
    assert not copied_down(drafts, {})  # without the loci scored
    for draft in drafts:
        draft.n_loci = 38
    ((how, of),) = copied_down(drafts, {})
    assert (how, [draft.row for draft in of]) == (
        "vials have the q, H and loci of the vial before",
        [2, 3, 5, 6, 13, 14],
    )
    drafts[6].heterozygosity = drafts[14].heterozygosity = 0.1  # one pair alone
    assert not copied_down(drafts, {})


GENOTYPES = [[(i * k + k // 2) % 3 for k in range(1, 9)] for i in range(1, 9)]


@pytest.mark.parametrize(
    ("turned", "rows", "asks"),
    [
        ([], [], False),
        ([3], [3], False),
        ([4, 5, 6, 7], [], True),
        (list(range(8)), [], False),  # all count the other allele, and nothing says which is meant
    ],
)
@pytest.mark.parametrize("written", ["012", ["AA", "AB", "BB"]])
def test_shares_that_turn_round_beside_their_genotypes(
    turned: list[int], rows: list[int], asks: bool, written: Sequence[str]
) -> None:
    of = [sum(counts) / 16 for counts in GENOTYPES]
    assert all(abs(q - 0.5) > 0.02 for q in of)
    shares = [f"{1 - q if i in turned else q:.4f}" for i, q in enumerate(of)]
    loci = [[written[counts[k]] for counts in GENOTYPES] for k in range(8)]
    reading, table = read(["Florida", *(f"L{k}" for k in range(8))], [shares, *loci])
    for column in reading.columns[2:]:
        assert column.role == ColumnRole.NOT_USED or not asks
    doubts, words = turned_beside_genotypes(reading, table)
    assert sorted(row - 2 for row in doubts) == rows
    assert bool(words) is asks


@pytest.mark.parametrize(
    ("meant", "q", "half_digit", "n_loci", "cannot"),
    [
        ("F1", 1.0, 0.0005, 38, True),
        ("F1", 0.2, 0.0005, None, True),
        ("F1", 0.45, 0.0005, 38, False),
        ("intergrade", 0.0, 0.0005, 38, True),
        ("intergrade", 0.0, 0.05, 38, False),  # 0.0 may be three alleles of 76
        ("intergrade", 1.0, 0.005, None, True),
        ("intergrade", 0.02, 0.0005, 38, False),
        ("Florida", 0.0, 0.0005, 38, False),  # another rule's
    ],
)
def test_a_cross_that_cannot_be_one(
    meant: str, q: float, half_digit: float, n_loci: int | None, cannot: bool
) -> None:
    assert no_cross(meant, q, half_digit, n_loci) is cannot


@pytest.mark.parametrize(
    ("classes", "rows"),
    [
        ("NNMMFFMM", []),
        ("NNMFMFMF", [2, 4, 6]),  # from the third fish on: those of mixed ancestry between them
        ("FMFMFMNN", [1, 3, 5]),
        ("NNMFMNMF", []),  # one agrees among them
        ("NNMFMMMF", []),  # two may be two mistakes
        ("MMMFMFMF", []),  # none agrees
    ],
)
def test_a_block_of_shares_of_the_other_taxon(classes: str, rows: list[int]) -> None:
    words = {"N": "Pure northern", "M": "Intergrade", "F": "Pure Florida"}
    shares = ["0.30" if one == "M" else "0.02" for one in classes]
    layout = Layout(taxon_of_q="Florida")
    reading, table = read(["Florida", "Class"], [shares, [words[one] for one in classes]], layout)
    drafts = list(Drafter(reading).drafts(table))
    assert doubted(turned_block, drafts, layout.taxa) == rows


@pytest.mark.parametrize(
    ("shares", "asks"),
    [
        ([0.0, 0.0, *(0.2 + 0.05 * i for i in range(10))], True),
        ([0.0, *(0.2 + 0.05 * i for i in range(10))], False),  # one alone
        ([0.0, 0.0, 0.05, *(0.2 + 0.05 * i for i in range(10))], False),  # others are near
        ([0.0, 0.0, *(0.45 + 0.01 * i for i in range(10))], False),  # pure fish beside first crosses
        ([0.0, 0.0, 1.0, *(0.2 + 0.05 * i for i in range(10))], False),
        ([0.0] * 5 + [0.2 + 0.05 * i for i in range(10)], False),  # a third of all
        ([0.0, 0.0, *(0.2 + 0.05 * i for i in range(9))], False),
    ],
)
def test_noughts_far_from_all_others(shares: list[float], asks: bool) -> None:
    assert bool(zeros_apart(drafts_of(shares))) is asks
    drafts = drafts_of(shares)
    drafts[5].n_loci = 38  # the loci scored show what failed
    assert not zeros_apart(drafts)


def test_whole_percents_none_of_which_is_a_ten() -> None:
    whole = [n / 100 for n in [6, 7, 8, *range(11, 60)] if n % 10]
    assert no_tens(drafts_of(whole))
    assert not no_tens(drafts_of([*whole, 0.4]))
    assert not no_tens(drafts_of([*whole, 0.455]))
    assert not no_tens(drafts_of(whole[:39]))
    assert not no_tens(drafts_of([*(n for n in whole if n > 0.1), 0.71, 0.72, 0.73]))


@pytest.mark.parametrize(
    ("turned", "shown"),
    [
        ([], ""),
        ([3], ""),
        ([2, 5], "L2, L5"),
        (list(range(5)), "L0, L1, L2, L3, …"),
        (list(range(2, 12)), "L0, L1"),
    ],
)
def test_loci_that_fall_where_the_others_rise(turned: list[int], shown: str) -> None:
    drafts = drafts_of([0.1] * 30)
    for i, draft in enumerate(drafts):
        counts: list[int | None] = [min(2, (i + (k * i) % 5) // 14) for k in range(12)]
        draft.genotypes = {
            f"L{k}": 2 - n if k in turned else n for k, n in enumerate(counts) if n is not None
        }
        draft.genotypes[f"L{i % 12}"] = None
    words = loci_against(drafts)
    assert f"({shown})" in words if shown else not words
    assert not loci_against(drafts[:11])


EARLIER = dict(zip(CODES, [0.12, 0.27, 0.31, 0.44, 0.52, 0.63, 0.71, 0.88], strict=False))


@pytest.mark.parametrize(
    ("now", "words"),
    [
        (list(EARLIER.values()), ""),
        ([1 - q for q in EARLIER.values()], "(1 - q)"),
        ([0.5, *list(EARLIER.values())[:-1]], "of the row above"),
        ([*list(EARLIER.values())[1:], 0.5], "of the row below"),
        ([q + 0.05 for q in EARLIER.values()], "8 of 8 vials have another share"),
        ([q + 0.05 * (i > 4) for i, q in enumerate(EARLIER.values())], ""),  # three corrected
    ],
)
def test_a_file_unlike_an_earlier_one(now: list[float], words: str) -> None:
    drafts = drafts_of(now)
    for draft, code in zip(drafts, EARLIER, strict=True):
        draft.code = code
    asks = unlike_earlier(drafts, EARLIER)
    assert words in asks
    assert bool(words) == bool(asks)
    assert not unlike_earlier(drafts[:4], EARLIER)
    assert not unlike_earlier(drafts, {})
