"""Columns that hold other numbers than shares, numbers without their point, and columns of yes and no."""

from __future__ import annotations

import random
from collections.abc import Sequence
from typing import Any

import pytest

from geneticlog.rules.lab_return.account.other_jobs import Job
from geneticlog.rules.lab_return.account.other_lakes import lakes_by_name, line_of_other_lake
from geneticlog.rules.lab_return.columns.read_columns import read_columns
from geneticlog.rules.lab_return.columns.texts_against import texts_against
from geneticlog.rules.lab_return.doubts_of_files.lines_against import doubt_in_line
from geneticlog.rules.lab_return.doubts_of_files.odd_shares import one_value, too_alike
from geneticlog.rules.lab_return.doubts_of_files.often_again import often_again
from geneticlog.rules.lab_return.doubts_of_files.own_numbers import own_numbers
from geneticlog.rules.lab_return.doubts_of_files.sorted_alone import sorted_alone
from geneticlog.rules.lab_return.doubts_of_files.sums_in_words import sum_in_words, sum_of_sheet
from geneticlog.rules.lab_return.doubts_of_files.turned_tables import turned_from_a_row
from geneticlog.rules.lab_return.doubts_of_rows.lost_points import lost_points
from geneticlog.rules.lab_return.doubts_of_rows.odd_sums import (
    odd_sums,
    shorter_rows,
    single_below_one_allele,
)
from geneticlog.rules.lab_return.doubts_of_rows.own_records import other_numbers
from geneticlog.rules.lab_return.drafts.draft import Draft
from geneticlog.rules.lab_return.drafts.drafts import Drafter
from geneticlog.rules.lab_return.drafts.unit_in_doubt import note_unit_in_doubt
from geneticlog.rules.lab_return.sheet.reading import Row
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.vialcode import mint
from geneticlog.work.lab_return.known_before.like_before import Before, unlike_before

CODES = [code for serial in range(1, 90) if (code := mint("BG", serial))]
PERCENTS = [10.5, 25.3, 31.6, 44.7, 52.6, 13.2, 21.1, 38.2, 47.4, 28.9, 36.8, 17.1]


def read(rows: list[list[Any]]) -> Any:
    cells: list[Row] = [[(str(one), "text" if str(one) else "empty") for one in row] for row in rows]
    return read_columns(cells, Layout(), file="return.csv"), cells


def table(values: Sequence[Any], heading: str = "Florida (%)", *beside: Sequence[Any]) -> Any:
    columns = list(zip(*beside, strict=True)) if beside else [()] * (len(values) + 1)
    names = list(columns[0])
    return read(
        [
            ["Sample", heading, *names],
            *([code, value, *more] for code, value, more in zip(CODES, values, columns[1:], strict=False)),
        ]
    )


@pytest.mark.parametrize(
    ("values", "held"),
    [
        ([*PERCENTS, 14, 79, 83], 3),
        ([*PERCENTS, 14, 79], 0),  # one above all others is perhaps the highest
        ([*PERCENTS, 14, 41, 33], 0),  # whole by themselves
        ([*PERCENTS, 0, 100, 100], 0),  # pure
        ([*PERCENTS, 79.5, 83.2, 14], 0),
        ([round(q) for q in PERCENTS] + [79, 83], 0),  # no value has a decimal
        ([*PERCENTS, "25.0", "50.0", "30.0", 14, 39], 2),  # whole values have theirs
        ([*PERCENTS, "25.0", "50.0", 14, 39], 0),
        ([*PERCENTS, "25.0", "50.0", "30.0", 14, 39, 27], 0),  # as many as a tenth by itself
        ([*PERCENTS, "25.0", "50.0", "30.0", 0, 100], 0),
    ],
)
def test_values_that_lost_their_point(values: list[float], held: int) -> None:
    assert len(lost_points(*table(values))) == held


@pytest.mark.parametrize(
    ("known", "of", "seen"),
    [
        ("length_mm", lambda i: 250 + 17 * i, "the lengths of the fish"),
        ("fish_number", lambda i: i + 1, "the numbers of the fish"),
        ("list_number", lambda i: i + 1, "the numbers of the vials in our list"),
        ("length_mm", lambda i: 300, ""),  # all of one length
    ],
)
def test_a_column_of_other_numbers_of_the_fish_is_asked_about(known: str, of: Any, seen: str) -> None:
    own = {n: of(n - 2) for n in range(2, 14)}
    inches = [f"{own[n] / 25.4:.2f}" if known == "length_mm" else own[n] for n in own]
    words = own_numbers(*table(inches), lambda what: own if what == known else {})
    assert bool(words) == bool(seen)
    assert seen in words
    others = {n: of(n - 2) for n in reversed(range(2, 14))}
    shuffled = dict(zip(own, random.Random(1).sample(list(others.values()), len(others)), strict=True))
    assert not own_numbers(*table(inches), lambda what: shuffled if what == known and seen else {})


@pytest.mark.parametrize(
    ("heading", "words", "held"),
    [
        ("Missing", ["yes", *["no"] * 11], {"yes"}),
        ("Empty tube", ["x", *[""] * 11], {"x"}),
        ("Lost", ["TRUE", *["FALSE"] * 11], {"TRUE"}),
        ("Discarded", ["ja", *["nein"] * 11], {"ja"}),
        ("Missing loci", ["1", *["0"] * 11], set()),  # a count
        ("Missing", ["2", *["0"] * 11], set()),
        ("Poor quality", ["yes", *["no"] * 11], {"yes"}),
        ("No DNA", ["1", *["0"] * 11], {"1"}),
        ("To check", ["x", *[""] * 11], {"x"}),
        ("Photo", ["yes", *["no"] * 11], set()),
    ],
)
def test_yes_under_what_is_no_sample_takes_the_value_back(
    heading: str, words: list[str], held: set[str]
) -> None:
    reading, cells = table(PERCENTS, "Florida (%)", [heading, *words])
    found = texts_against(reading, cells)
    assert set().union(*found.values()) == held


def test_one_share_for_all_is_asked_about_unless_they_are_first_crosses() -> None:
    def fish(q: float, mixed: float | None = None, n: int = 12) -> list[Draft]:
        return [Draft(i, "", None, q=q, heterozygosity=mixed) for i in range(n)]

    assert "all 12 shares are 0.5" in one_value(fish(0.5))
    assert not one_value(fish(0.5, 1.0))
    assert not one_value(fish(1.0))
    assert "12 of 13 shares are 0.5" in one_value([*fish(0.5), *fish(0.31, n=1)])
    assert not one_value([*fish(0.5), *fish(0.31, n=4)])
    halves = [*fish(0.0, n=20), *fish(0.2, n=10), *fish(0.3, n=10)]
    assert "20 of 40 shares are exactly 0, as 1 of 43" in unlike_before(
        halves, Before(43, 0.0, 0.6, n_zero=1)
    )
    assert not unlike_before(halves, Before(43, 0.0, 0.6, n_zero=15))

    def fishes(shares: list[float]) -> list[Draft]:
        return [Draft(i, str(i), None, q=q) for i, q in enumerate(shares)]

    rare = Before(43, 0.0, 0.605, 1, 0, 0.22, 0.02)
    values = [0.31, 0.12, 0.2, 0.4, 0.07, 0.25] * 6
    five = "5 shares one after another are exactly 0, as 1 of 43 results"
    assert five in unlike_before(fishes([*values[:9], *[0.0] * 5, *values[9:]]), rare)
    assert not unlike_before(fishes([*values[:9], *[0.0] * 4, *values[9:]]), rare)
    assert not unlike_before(fishes([*[0.0] * 5, *sorted(values)]), rare)  # they go by their share
    assert not unlike_before(fishes([0.0, *values[:9], 0.0, 0.0, *values[9:], 0.0, 0.0]), rare)
    assert not one_value(fish(0.5, n=9))
    assert "as 2 of 40 results" in unlike_before(fish(0.0), Before(40, 0.0, 0.6, n_zero=2))
    assert not unlike_before(fish(0.0), Before(40, 0.0, 0.6, n_zero=30))


def test_a_block_that_is_what_the_rows_above_leave_of_one() -> None:
    rng = random.Random(20260512)
    shares = [sum(rng.random() < 0.25 for _ in range(76)) / 76 for _ in range(40)]
    drafts = [Draft(i, f"V{i}", None, q=1 - q if i > 26 else q) for i, q in enumerate(shares)]
    assert "from it on" in turned_from_a_row(drafts, dict.fromkeys(range(40), 1))
    assert not turned_from_a_row(drafts, {i: 1 + (i > 26) for i in range(40)})  # of two waters
    pure = [Draft(i, f"V{i}", None, q=float(i > 20)) for i in range(40)]
    assert not turned_from_a_row(pure, dict.fromkeys(range(40), 1))  # one taxon listed after the other
    drafts.sort(key=lambda draft: draft.q or 0.0)
    assert not turned_from_a_row(drafts, dict.fromkeys(range(40), 1))


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("15 samples received, 9 analysed", "says 9 samples, and there are 12"),
        ("12 samples genotyped", ""),
        ("n = 52", "says 52 samples, and there are 12"),
        ("n = 12", ""),
        ("38 loci scored", ""),
    ],
)
def test_a_line_of_another_number_of_samples(line: str, words: str) -> None:
    assert doubt_in_line(*table(PERCENTS), 38)(line) == words


@pytest.mark.parametrize(
    ("line", "says"),
    [  # the mean of PERCENTS is 367.4 / 12
        ("Mean Florida share of the 12 samples: 30.6 %", ""),
        ("Mean Florida share of the 12 samples: 71.3 %", "says mean 71.3, and the values come to 30.62"),
        ("Florida share ranged from 10.5 to 52.6 %", ""),
        ("Florida share ranged from 41.2 to 93.0 %", "says min 41.2, and the values come to 10.5"),
        ("Failed samples: 2", ""),
        ("Failed samples: 7", "says 7 failed samples, and 2 have no value"),
        ("0 fish were pure Florida.", ""),
        ("5 fish were pure northern.", "says 5 pure northern fish, and 0 values are 90 % northern or more"),
        ("Mean northern share: 69.4 %", None),  # of the other taxon
        ("Mean Florida share of the 90 samples: 30.6 %", None),
        ("Mean Florida share of plate 2: 71.3 %", None),
        ("Failed samples: 1", None),  # the other one is perhaps a blank
    ],
)
def test_a_sentence_that_sums_the_values_up(line: str, says: str | None) -> None:
    reading, rows = table([*PERCENTS, "failed", "failed"])
    so = sum_in_words(reading, rows, line)
    assert (so and so[1]) == says
    assert so is None or so[0] == (not says)


@pytest.mark.parametrize(
    ("lines", "says"),
    [
        (
            ["Lake | n | Mean Florida (%)", "Heron Pond | 12 | 61"],
            "says mean 61, and the values come to 30.62",
        ),
        (["Lake | n | Mean Florida (%)", "Heron Pond | 10 | 30.6"], ""),  # without duplicates
        (["Lake | n | Min | Max", "Heron Pond | 44 | 10.5 | 52.6"], "says n 44, and the table has 12 values"),
        (["Lake | n | Mean Florida (%)", "Heron | 6 | 61", "Osprey | 6 | 12"], ""),  # of parts
        (["Lake | n | Mean depth (m)", "Heron Pond | 12 | 2.5"], ""),
        (["Lake | Heron Pond", "Mean Florida (%) | 61"], "says mean 61, and the values come to 30.62"),
    ],
)
def test_a_sheet_that_sums_the_values_up(lines: list[str], says: str) -> None:
    assert sum_of_sheet(*table(PERCENTS), lines) == ((lines[-1], says) if says else ("", ""))


def test_a_line_with_the_water_and_an_earlier_year() -> None:
    lakes = lakes_by_name(["Heron Pond", "HER"], ["Heron Pond", "Osprey Lake"], [2026])
    assert "with the year 2023" in line_of_other_lake("Heron Pond 2023", lakes)
    for line in (
        "Heron Pond 2026",
        "Method of Smith 2023",
        "Heron Pond, received 2023-06-01",
        "Heron Pond 2027",
    ):
        assert not line_of_other_lake(line, lakes)


def test_a_text_that_names_another_survey() -> None:
    job = Job(
        surveys=frozenset({"HER-2026"}), other_surveys=frozenset({"HER-2023", "OSP-2026", "2023", "pond"})
    )
    assert job.doubt_in("results HER-2023 final") == "names another survey than that of these fish"
    for text in ("results HER-2026", "HER-2026 and HER-2023", "SHER-2023", "2023 pond", "results"):
        assert not job.doubt_in(text)


def swarm(rng: random.Random, n: int = 40, p: float = 0.25, digits: int = 4) -> list[float]:
    return [round(sum(rng.random() < p for _ in range(76)) / 76, digits) for _ in range(n)]


def named(shares: Sequence[float]) -> list[Draft]:
    return [Draft(i, CODES[i], CODES[i], q=q, half_digits=(0.00005, 0.0)) for i, q in enumerate(shares)]


@pytest.mark.parametrize(
    ("again", "words"),
    [
        ([0.99] * 4, "no other is near it"),
        ([0.99] * 2, ""),
        ([0.777] * 4, "no other is near it"),
        ([1.0] * 6, ""),
        ([0.2241] * 22, "far more than any share beside it"),
        ([0.25] * 4, ""),
    ],
)
def test_a_share_that_comes_again_and_again_is_held(again: list[float], words: str) -> None:
    rng = random.Random(20260512)
    shares = [*swarm(rng, 36), *again]
    rng.shuffle(shares)
    doubts = often_again(named(shares), 38)
    assert sorted(doubts) == [i for i, q in enumerate(shares) if words and q == again[0]]
    assert all(words in text for (text,) in doubts.values())
    assert not often_again(named(shares), 8)


@pytest.mark.parametrize("n", [300, 6_000])
def test_no_share_of_a_large_lot_is_far_more_frequent_by_chance(n: int) -> None:
    rng = random.Random(20260512)
    shares = [round(76 * rng.betavariate(2, 4)) / 76 for _ in range(n)]
    drafts = [Draft(i, "", None, q=round(q, 4), n_loci=38) for i, q in enumerate(shares)]
    assert not often_again(drafts, 38)
    filled = [Draft(n + i, "", None, q=0.5132, n_loci=38) for i in range(n // 4)]
    assert set(often_again([*drafts, *filled], 38)) >= {one.row for one in filled}


def test_fish_more_alike_than_counted_alleles_can_be() -> None:
    rng = random.Random(20260512)
    alike = [0.216 + 0.001 * rng.randrange(9) for _ in range(30)]
    assert "closer together than fish of one ancestry at 38 loci" in too_alike(named(alike), 38)
    assert not too_alike(named(alike), None)
    assert not too_alike(named(swarm(rng, 30)), 38)
    assert not too_alike(named([0.5 + 0.0132 * rng.randrange(2) for _ in range(30)]), 38)  # first crosses
    assert not too_alike(named([0.0132 * rng.randrange(3) for _ in range(30)]), 38)  # pure


def test_one_part_of_a_list_in_order_though_its_codes_are_too() -> None:
    rng = random.Random(20260512)
    shares = swarm(rng)
    lower = sorted(rng.sample([k / 76 for k in range(10, 50)], 18))
    rows = zip(sorted(CODES), [*shares, *lower], strict=False)
    drafts = [Draft(i, code, code, q=q) for i, (code, q) in enumerate(rows)]
    assert "are in order, and those of the others are not" in sorted_alone(drafts)
    assert not sorted_alone(drafts[:40])
    parts = [*sorted(shares[:20]), *sorted(shares[20:])]
    both = [Draft(i, code, code, q=q) for i, (code, q) in enumerate(zip(sorted(CODES), parts, strict=False))]
    assert not sorted_alone(both)  # the lab sorts each sheet


def test_a_mean_far_from_that_of_earlier_results_is_asked_about() -> None:
    rng = random.Random(20260512)
    before = Before(43, 0.0, 0.605, 1, 0, 0.22, 0.02)
    far = [0.58 + q - 0.24 for q in swarm(rng, p=0.24)]  # the highest before and its room are .705
    assert "the mean share is 0.58, and it was 0.22 in 43 results" in unlike_before(named(far), before)
    assert not unlike_before(named(swarm(rng)), before)
    assert not unlike_before(named(swarm(rng, p=0.45)), before)
    other_half = [*swarm(rng, 24, p=0.22), *swarm(rng, 16, p=0.6)]
    assert "from it on, and it was 0.22 in 43 results" in unlike_before(named(other_half), before)
    rng.shuffle(other_half)
    assert not unlike_before(named(other_half), before)


def test_two_shares_that_make_no_whole_where_all_others_do() -> None:
    drafts = [Draft(i, "", None, q=q / 100, other_q=1 - q / 100) for i, q in enumerate(PERCENTS)]
    assert not odd_sums(drafts)
    drafts[3].other_q = 0.36
    assert list(odd_sums(drafts)) == [3]
    for draft in drafts[:4]:
        draft.other_q = 0.3  # a third lineage, or another way to count
    assert not odd_sums(drafts)


@pytest.mark.parametrize(
    ("shares", "held"),
    [
        ([0.008], 1),
        ([0.0132], 0),
        ([0.0], 0),
        ([0.008, 0.004, 0.002], 0),  # a program estimated them
        ([0.008, 0.996], 0),
    ],
)
def test_one_share_below_one_allele(shares: list[float], held: int) -> None:
    assert len(single_below_one_allele(named([*(q / 100 for q in PERCENTS), *shares]), 38)) == held
    rounded = [Draft(0, "", None, q=0.01, half_digits=(0.005, 0.0)), *named([q / 100 for q in PERCENTS])]
    assert not single_below_one_allele(rounded, 38)  # one allele, in two digits


def test_a_row_that_lost_a_cell() -> None:
    rows = [[code, q, 100 - q, 38] for code, q in zip(CODES, PERCENTS, strict=False)]
    rows[4] = [CODES[4], 63.9, 36]
    heading: list[Any] = ["Sample", "Florida (%)", "Northern (%)", "Loci"]
    reading, cells = read([heading, *rows])
    assert list(shorter_rows(reading, cells)) == [6]
    reading, cells = read(
        [[*heading, "Remark"], *([*row, "ok"] if i < 6 else row for i, row in enumerate(rows))]
    )
    assert not shorter_rows(reading, cells)  # blanks at the end are left out


def test_half_of_a_column_in_another_unit_than_a_person_says_condemns_the_rest() -> None:
    shares = [0.4, 0.9, 1.6, 1.1, 0.2, 1.9, 0.7, 1.3, 0.3, 1.5, 0.8, 1.2]
    layout = Layout(units={"q": "percent"})
    cells = read([["Sample", "Florida"], *([code, q] for code, q in zip(CODES, shares, strict=False))])[1]
    reading = read_columns(cells, layout, file="return.csv")
    drafts = list(Drafter(reading).drafts(cells))
    note_unit_in_doubt(drafts, reading, cells)
    assert all(draft.held for draft in drafts)


@pytest.mark.parametrize("word", ["Void", "superseded", "vorläufig"])
def test_a_word_below_the_vials_is_a_line(word: str) -> None:
    rows: list[list[Any]] = [
        ["Sample", "Florida"],
        *([code, q / 100] for code, q in zip(CODES, PERCENTS, strict=False)),
    ]
    reading, _ = read([*rows, [word]])
    assert reading.other_rows == ((14, word),)
    assert not read([*rows, ["Cheers"]])[0].other_rows
    reading, _ = read([*rows, ["D1013", 0.4]])
    assert not reading.other_rows


def test_numbers_of_our_fish_beside_the_vials_of_others() -> None:
    own = {n: n - 1 for n in range(2, 14)}
    own = dict(zip(own, [7, 3, 11, 1, 9, 4, 12, 6, 8, 2, 5, 10], strict=True))
    moved = [n + 1 for n in own.values()]
    reading, cells = table(PERCENTS, "Florida (%)", ["Fish no.", *moved])
    doubts = other_numbers(reading, cells, lambda what: own if what == "fish_number" else {})
    assert len(doubts) == 12
    assert "has the numbers of our fish, moved: it says 8, and its fish is 7" in doubts[2][0]
    labs_own = [100 + 7 * i for i in range(12)]
    reading, cells = table(PERCENTS, "Florida (%)", ["Fish no.", *labs_own])
    assert not other_numbers(reading, cells, lambda what: own if what == "fish_number" else {})


def test_more_than_two_alleles_at_a_locus_are_a_mixture() -> None:
    reading, cells = table(PERCENTS, "Florida (%)", ["Alleles per locus (max)", *[2] * 10, 4, 3])
    assert set().union(*texts_against(reading, cells).values()) == {"3", "4"}
