"""Genotypes as labs write them, counted into alleles of one taxon, and set beside what a row states of its fish."""

from __future__ import annotations

import pytest

from geneticlog.rules.finding.finding_kinds import FindingKind
from geneticlog.rules.lab_return.columns.genotypes import (
    alleles,
    ancestry_of,
    coding_of,
    find_markers,
    marker_of,
    taxon_counted,
)
from geneticlog.rules.lab_return.drafts.recounted import compare_counted
from geneticlog.rules.lab_return.words.headings import Taxa
from geneticlog.rules.lab_return.words.layout import Layout

TAXA = Taxa("Florida", "northern")


@pytest.mark.parametrize(
    ("texts", "coding"),
    [
        (["0", " 2 ", "1"], "counts"),
        (["0", "failed", "1"], "counts"),
        (["AA", "A/G", "t c", "B|B"], "letters"),
        (["11", "1/2", " 2 1 ", "22", "00", "fail"], "digits"),
        (["11", "12", "0"], ""),
        (["AA", "0"], ""),
        (["0", "3"], ""),
        (["failed"], ""),
        ([], ""),
    ],
)
def test_how_genotypes_are_written(texts: list[str], coding: str) -> None:
    assert coding_of(texts) == coding


@pytest.mark.parametrize(
    ("heading", "marker"),
    [("M 01  a", "M 01"), ("M01_b", "M01"), ("M01.1", "M01"), ("M01 (allele 2)", "M01"), ("M013", "M013")],
)
def test_two_columns_of_a_marker_have_its_name(heading: str, marker: str) -> None:
    assert marker_of(heading, "pairs") == marker
    assert marker_of(heading, "counts") == " ".join(heading.split())


def test_counts_are_of_the_taxon_or_turned_round() -> None:
    texts = {"M1": "0", "M2": " 1 ", "M3": "2", "M4": "-1", "M5": "failed", "M6": "9"}
    own, other = (Layout(coding="counts", counted=taxon) for taxon in ("Florida", "northern"))
    assert list(alleles(texts, own).values()) == [0, 1, 2, None, None, None]
    assert list(alleles(texts, other).values()) == [2, 1, 0, None, None, None]
    with pytest.raises(ValueError, match="M1 is '3' where 0, 1 or 2 is expected"):
        alleles({"M1": "3"}, own)


def test_digits_are_counted_by_the_taxon_of_allele_1() -> None:
    texts = {"M1": "11", "M2": "1/2", "M3": "21", "M4": "22", "M5": "00", "M6": "x1"}
    own, other = (
        Layout(coding="digits", counted=taxon, missing=frozenset({"x1"})) for taxon in ("Florida", "northern")
    )
    assert list(alleles(texts, own).values()) == [2, 1, 1, 0, None, None]
    assert list(alleles(texts, other).values()) == [0, 1, 1, 2, None, None]
    for text in ("0", "1", "10", "31"):
        with pytest.raises(ValueError, match="where 11, 12 or 22 is expected"):
            alleles({"M1": text}, own)


def test_letters_are_counted_by_the_marker_table() -> None:
    table = Layout(coding="letters", markers={"M1": "a", "M2": "B"})
    assert alleles({"M1": "a/a", "M2": "AB"}, table) == {"M1": 2, "M2": 1}
    assert alleles({"M1": "G/A", "M2": "0/0"}, table) == {"M1": 1, "M2": None}
    assert alleles({"M1": "GT"}, table) == {"M1": 0}
    for texts in ({"M1": "A"}, {"M9": "AA"}):
        with pytest.raises(ValueError, match="where two letters are expected"):
            alleles(texts, table)


def test_q_and_heterozygosity_of_what_was_called() -> None:
    assert ancestry_of({"M1": 0, "M2": 1, "M3": 2, "M4": 1, "M5": None}) == (0.5, 0.5, 4)
    assert ancestry_of({"M1": 2, "M2": 1}) == (0.75, 0.5, 2)
    assert ancestry_of({"M1": None}) is None


def fish(n_counted: int, stated: str, n_loci: int = 10) -> tuple[list[str], str]:
    twos, rest = divmod(n_counted, 2)
    return ["2"] * twos + ["1"] * rest + ["0"] * (n_loci - twos - rest), stated


@pytest.mark.parametrize(
    ("rows", "counted"),
    [
        ([fish(n, f"{n / 20}") for n in (1, 2, 3, 4, 5)], "Florida"),
        ([fish(n, f"{1 - n / 20}") for n in (1, 2, 3, 4, 5)], "northern"),
        ([fish(n, f"{5 * n} %") for n in (1, 2, 3, 4, 5)], "Florida"),
        ([fish(n, f"{5 * n}") for n in (1, 2, 3, 4, 5)], "Florida"),
        ([fish(n, f"{n / 20}") for n in (1, 2, 3, 4)], None),  # four fish may agree by chance
        ([fish(10, "0.5")] * 9, None),  # half is half either way
        ([fish(1, "0.05")] * 9 + [fish(1, "0.95")], "Florida"),  # nine in ten say so
        ([fish(1, "0.05")] * 8 + [fish(1, "0.95")] * 2, None),
        ([fish(1, "0.125", 4)] * 9, None),  # four loci say too little
        ([fish(1, "0.10", 5)] * 5, "Florida"),
        ([fish(1, "0.3")] * 9, None),
        ([fish(1, "")] * 9, None),
    ],
)
def test_whose_alleles_are_counted_follows_from_the_shares_beside_them(
    rows: list[tuple[list[str], str]], counted: str | None
) -> None:
    evidence = taxon_counted(rows, TAXA)
    assert (evidence and evidence[0]) == counted


def test_the_evidence_names_how_many_rows_say_so() -> None:
    rows = [fish(1, "0.05")] * 9 + [fish(1, "0.95"), fish(10, "0.5")]
    assert taxon_counted(rows, TAXA) == (
        "Florida",
        "the share stated beside them is that of Florida alleles in 9 of 10 rows",
    )


def marker_columns(*columns: list[str], coding: str = "", markers: dict[str, str] | None = None) -> list[int]:
    headings = [f"M{at}" for at in range(len(columns))]
    sample = [[(text, "text" if text else "empty") for text in row] for row in zip(*columns, strict=True)]
    layout = Layout(coding=coding, markers=markers or {})
    return [at for at, _ in find_markers(headings, [""] * len(columns), sample, layout)]


def test_columns_of_genotypes_are_found_by_their_values_where_there_are_five() -> None:
    counts, letters = ["0", "1", "2", "failed", ""], ["AA", "A/G", "", "failed", "TT"]
    assert marker_columns(*[counts] * 3, *[letters] * 2, ["7", "8", "9", "1", "2"]) == [0, 1, 2, 3, 4]
    assert marker_columns(*[counts] * 4) == []
    assert marker_columns(*[counts] * 5, [""] * 5) == [0, 1, 2, 3, 4]
    # one in ten may be something else
    assert marker_columns(*[["1"] * 9 + ["7q"]] * 5) == [0, 1, 2, 3, 4]
    assert marker_columns(*[["1"] * 8 + ["7q"]] * 5) == []
    assert marker_columns(*[["A", "G"]] * 6, coding="pairs") == [0, 1, 2, 3, 4, 5]
    # the marker table decides alone
    assert marker_columns(*[counts] * 5, markers={"m3": "A"}) == [3]


@pytest.mark.parametrize(
    ("stated", "half_digits", "apart"),
    [
        ((0.275, 0.55, 20), (0.0005, 0.005), None),
        ((0.28, 0.55, 20), (0.005, 0.005), None),  # rounded
        ((0.27, 0.55, 20), (0.005, 0.005), None),  # cut off, and still nearest to its own count
        ((0.29, 0.55, 20), (0.005, 0.005), "q 0.29"),
        ((0.275, 0.6, 20), (0.0005, 0.005), "H 0.6"),
        ((0.3, 0.6, None), (0.005, 0.005), "q 0.3, H 0.6"),
        ((None, None, None), (0.0, 0.0), None),
    ],
)
def test_what_a_row_states_is_set_beside_what_its_genotypes_give(
    stated: tuple[float | None, float | None, int | None], half_digits: tuple[float, float], apart: str | None
) -> None:
    noted = compare_counted((0.275, 0.55, 20), *stated, *half_digits)
    assert [one.facts["stated"] for one in noted] == ([apart] if apart else [])


def test_mirrored_shares_and_other_loci_are_said() -> None:
    (mirrored,) = compare_counted((0.275, 0.55, 20), 0.725, 0.55, 20)
    assert "are northern alleles counted?" in str(mirrored.facts["how"])
    (off,) = compare_counted((0.275, 0.55, 20), 0.7, 0.55, 20)
    assert off.facts["how"] == ""
    (near_half,) = compare_counted((0.48, 0.5, 20), 0.52, 0.5, 20)
    assert near_half.facts["how"] == ""  # too near one half to say
    (loci,) = compare_counted((0.275, 0.55, 20), 0.275, 0.55, 21)
    assert (loci.kind, loci.facts["stated"], loci.facts["counted"]) == (
        FindingKind.GENOTYPE_LOCI_DISAGREE,
        21,
        20,
    )
