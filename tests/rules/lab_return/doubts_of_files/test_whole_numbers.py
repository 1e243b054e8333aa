"""Whether the shares of a whole file are whole numbers of alleles, exchanged with H, or codes; the lab's classes."""

from __future__ import annotations

import pytest

from geneticlog.rules.lab_return.columns.lab_classes import class_meant, compare_classes, in_full
from geneticlog.rules.lab_return.doubts_of_files.whole_numbers import exchanged, only_0_and_1, whole_numbers
from geneticlog.rules.lab_return.drafts.draft import Draft
from geneticlog.rules.lab_return.words.headings import Taxa

TAXA = Taxa("Florida", "northern")


def a_row(
    q: float | None, n_loci: int | None = 38, h: float | None = None, half_digit: float = 5e-5, **more: object
) -> Draft:
    return Draft(
        2,
        "V",
        "V",
        q=q,
        n_loci=n_loci,
        heterozygosity=h,
        half_digits=(half_digit, half_digit),
        **more,  # type: ignore[arg-type]
    )


@pytest.mark.parametrize(
    ("rows", "counted", "fails", "words"),
    [
        ([], (0, 0, 0), False, "no row has both a share and the loci scored"),
        (
            [a_row(0.25), a_row(None), a_row(0.5, None), a_row(0.5, genotypes={"M1": 1})],
            (1, 1, 1),
            False,
            "cannot tell",
        ),
        ([a_row(0.25), a_row(0.5)], (2, 2, 2), False, "2 of 2 shares are whole numbers of alleles"),
        ([a_row(0.25), a_row(19.5 / 76)], (2, 2, 1), True, "1 of 2 shares"),
        (
            [a_row(0.25)] * 4 + [a_row(19.5 / 76)],
            (5, 5, 4),
            False,
            "4 of 5 shares",
        ),  # one in five may be a slip
        ([a_row(0.25)] * 3 + [a_row(19.5 / 76)], (4, 4, 3), True, "3 of 4 shares"),
        (
            [a_row(19.5 / 76, half_digit=0.005)] * 3,
            (3, 0, 0),
            False,
            "80 % of arbitrary numbers would fit",
        ),
        (
            [a_row(19.02 / 76, half_digit=0.0)] * 2,
            (2, 2, 2),
            False,
            "(4 % of arbitrary numbers would fit)",
        ),
        ([a_row(19.03 / 76, half_digit=0.0)] * 2, (2, 2, 0), True, "0 of 2"),
    ],
)
def test_shares_are_whole_numbers_of_alleles(
    rows: list[Draft], counted: tuple[int, int, int], fails: bool, words: str
) -> None:
    whole = whole_numbers(rows)
    assert (whole.n, whole.n_telling, whole.n_fit) == counted
    assert whole.fails is fails
    assert words in whole.words


def test_the_chance_of_fitting_is_the_room_on_either_side_of_a_whole_number() -> None:
    assert whole_numbers([a_row(0.25, half_digit=0.001)]).chance == pytest.approx(2 * (76 * 0.001 + 0.02))
    assert whole_numbers([]).chance == 1.0


def test_q_and_heterozygosity_that_are_exchanged() -> None:
    plain = [a_row(0.5, h=0.5, n_loci=None)] * 2
    assert [exchanged(plain).n_cannot, exchanged(plain).fails] == [0, False]
    wrong = [a_row(0.1, h=0.9, n_loci=None), a_row(0.2, h=0.8, n_loci=None)]
    both = exchanged(wrong)
    assert (both.n, both.n_cannot, both.n_turned, both.fails) == (2, 2, 0, True)
    assert "2 of 2 rows have a share and a heterozygosity that no fish has together" in both.words
    assert exchanged(plain + wrong).n == 4
    assert not exchanged(wrong[:1]).fails  # one row is a row
    assert not exchanged([*wrong, *plain * 3]).fails  # a quarter of the rows may be anything
    assert exchanged([*wrong, *plain * 2, plain[0]]).fails
    # where some cannot be exchanged either, they were not: H .4 and q .5 have no fish turned round
    assert exchanged([*wrong, a_row(0.5, h=0.02, n_loci=None)]).n_turned == 1
    assert not exchanged([*wrong, a_row(0.5, h=0.02, n_loci=None)]).fails
    assert exchanged([a_row(None, h=0.5), a_row(0.5), a_row(0.5, h=0.5, genotypes={"M1": 1})]).n == 0


@pytest.mark.parametrize(
    ("shares", "h", "asked"),
    [
        ([0.0] * 6 + [1.0] * 2, None, True),
        ([0.0] * 7 + [1.0], None, False),
        ([0.0] * 5 + [1.0] * 2, None, False),  # seven fish
        ([0.0] * 6 + [1.0] * 2 + [0.5], None, False),
        ([0.0] * 8, None, False),
        ([0.0] * 6 + [1.0] * 2, 0.0, False),
    ],
)
def test_shares_of_0_and_1_alone_are_asked_about(shares: list[float], h: float | None, asked: bool) -> None:
    words = only_0_and_1([*(a_row(q) for q in shares[:-1]), a_row(shares[-1], h=h), a_row(None)])
    assert bool(words) is asked
    assert not asked or f"each of {len(shares)} shares is exactly 0 or 1" in words


@pytest.mark.parametrize(
    ("words", "meant"),
    [
        ("Florida", "Florida"), (" NORTHERN bass", "northern"), ("FLMB", "Florida"), ("nlmb", "northern"),
        ("F1", "F1"), ("Fx", "intergrade"), ("BC-1", "intergrade"), ("back-cross", "intergrade"),
        ("Florida x northern", "intergrade"), ("Florida_hybrid", "intergrade"), ("pure", None), ("", None),
        ("FL", "Florida"), ("Fla.", "Florida"), ("M. floridanus", "Florida"), ("NL", "northern"), ("North", "northern"),
        ("M. nigricans", "northern"), ("FL/NL", "intergrade"), ("M. salmoides", None), ("FB", None), ("M", None),
    ],
)  # fmt: skip
def test_what_a_labs_class_means(words: str, meant: str | None) -> None:
    assert class_meant(words, TAXA) == meant


def test_abbreviations_of_bass_mean_nothing_for_another_pair() -> None:
    assert class_meant("FLMB", Taxa("coastal", "interior")) is None
    assert class_meant("coastal", Taxa("coastal", "interior")) == "coastal"


def test_letters_stand_for_the_taxa_where_both_are_there() -> None:
    assert in_full({"F", " n "}, TAXA) == {"F": "Florida", " n ": "northern"}
    assert in_full({"F", "f"}, TAXA) == {}
    assert in_full({"F", "N", "F1"}, TAXA) == {"F": "Florida", "N": "northern"}


@pytest.mark.parametrize(
    ("words", "q", "h", "n_loci", "differs"),
    [
        ("Florida", 1.0, 0.0, 38, False),
        ("Florida", 0.5, 0.5, 38, True),
        ("Florida", 0.5, 0.5, None, True),  # loci that are not stated are taken as enough
        ("Florida", 0.5, 0.5, 3, False),  # too few to name a class
        ("F1", 0.5, 1.0, 38, False),
        ("F1", 0.5, None, 38, False),  # an F1 is told by H
        ("hybrid", 0.5, 0.5, 38, False),
        ("hybrid", 0.0, 0.0, 38, True),
        ("pure", 0.5, 0.5, 38, False),
    ],
)
def test_a_labs_class_beside_our_own(
    words: str, q: float, h: float | None, n_loci: int | None, differs: bool
) -> None:
    noted = compare_classes(words, q, h, n_loci, TAXA)
    assert [str(one.kind) for one in noted] == ["class_disagrees"] * differs
    for one in noted:
        assert one.facts["with_h"] == f", H {h:.4g}"
