"""Columns beside the share: another share, a sureness far below the others, replicates with their mean, tables beside
each other; each rule at its boundary, one step beyond, and where it says nothing."""

from __future__ import annotations

from typing import Any

import pytest
from return_tables import CODES, PLAIN, SHARES, N, but, doubted, read

from geneticlog.rules.lab_return.doubts_of_files.tables_beside import tables_beside
from geneticlog.rules.lab_return.doubts_of_rows.far_from_others import far_from_others
from geneticlog.rules.lab_return.doubts_of_rows.other_shares import other_shares
from geneticlog.rules.lab_return.doubts_of_rows.replicate_means import (
    MEANS,
    question_of_means,
    replicate_means,
    without_replicates,
)
from geneticlog.rules.lab_return.sheet.reading import Row
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.lab_return.words.roles import ColumnRole

SURE = ["0.97", "0.98", "0.96", "0.99", "0.97", "0.98", "0.96", "0.99", "0.97", "0.98"]
READS = [str(1000 + 37 * i) for i in range(N)]


@pytest.mark.parametrize(
    ("heading", "column", "rows"),
    [
        ("Confidence", SURE, []),
        ("Confidence", but(SURE, _3="0.40"), [3]),
        ("Confidence", but(SURE, _3="0.74"), []),  # more than three quarters of the median, .97
        ("Confidence", but(SURE, _3="0.72"), [3]),
        ("Confidence", but(SURE, _1="0.4", _3="0.4"), [1, 3]),
        ("Confidence", but(SURE, _1="0.4", _3="0.4", _5="0.4"), []),  # more than two, and than a fifth
        ("Confidence", [*but(SURE[:6], _3="0.40"), *[""] * 4], [3]),
        ("Confidence", [*but(SURE[:5], _3="0.40"), *[""] * 5], []),  # five rows
        ("Confidence", but(["0.97", "0.77"] * 5, _3="0.40"), []),  # within the fence of a column that varies
        ("F1 probability", but(SURE, _3="0.40"), []),  # of one class among others
        ("Florida confidence", but(SURE, _3="0.40"), []),
        ("Note", but(SURE, _3="0.40"), []),
        ("Reads", but(READS, _3="150"), []),
        ("Reads", but(READS, _3="100"), [3]),  # below a tenth of the median
        ("DNA ng/ul", but(READS, _3="100"), []),
        ("DNA ng/ul", but(READS, _3="9"), [3]),
        ("Missing loci", ["1", "2"] * 5, []),
        ("Missing loci", but(["1", "2"] * 5, _3="20"), [3]),
        ("Missing loci", but(["1", "2"] * 5, _3="5"), []),  # five are not many
        ("Missing loci", but(["1", "2"] * 5, _3="6"), [3]),
        ("Missing loci", but(["4", "5"] * 5, _3="13"), []),  # not thrice the median
        ("Missing loci", but(["4", "5"] * 5, _3="15"), [3]),
        ("Missing data", but(["0.01", "0.02"] * 5, _3="0.20"), []),
        ("Missing data", but(["0.01", "0.02"] * 5, _3="0.25"), [3]),
        ("SE", but(["0.02", "0.03"] * 5, _3="0.21"), [3]),
        ("SE", but(["0.02", "0.03"] * 5, _3="0.20"), []),
    ],
)
def test_a_value_far_from_all_others(heading: str, column: list[str], rows: list[int]) -> None:
    reading, table = read(["Florida", heading], [SHARES, column])
    assert doubted(far_from_others, reading, table) == rows
    side = "above" if heading.startswith(("Missing", "SE")) else "below"
    for row, (words,) in far_from_others(reading, table).items():
        assert words.startswith(
            f"column {heading} says {column[row - 2]!r}, far {side} the other rows (median "
        )


@pytest.mark.parametrize(("scored", "rows"), [("18", []), ("17", []), ("16", [3]), ("38", [3])])
def test_missing_loci_that_the_loci_scored_show(scored: str, rows: list[int]) -> None:
    # 36 and 37 scored beside 2 and 1 missing are 38; 18 beside 20 are 38 too, and one more or less is a slip
    missing, of = but(["1", "2"] * 5, _3="20"), but(["37", "36"] * 5, _3=scored)
    reading, table = read(["Florida", "Loci scored", "Missing loci"], [SHARES, of, missing])
    assert doubted(far_from_others, reading, table) == rows


COUNTS = [str(round(float(q) * 100)) for q in SHARES]


@pytest.mark.parametrize(
    ("headings", "columns", "rows"),
    [
        (["Florida again"], [SHARES], []),
        (["Florida again"], [but(SHARES, _3="0.45")], []),  # at the digits written
        (["Florida again"], [but(SHARES, _3="0.46")], [3]),
        (["Florida again"], [but(SHARES, _3="0.9", _5="0.9")], [3, 5]),
        (["Florida again"], [but(SHARES, _3="0.9", _5="0.9", _6="0.9")], []),  # more than a quarter
        (["Florida again"], [[*but(SHARES[:8], _3="0.9", _5="0.9"), "", ""]], [3, 5]),
        (["Florida again"], [[*but(SHARES[:7], _3="0.9", _5="0.9"), "", "", ""]], []),
        (["Florida again"], [[*but(SHARES[:4], _3="0.9"), *[""] * 6]], [3]),
        (["Florida again"], [[*but(SHARES[:3], _2="0.9"), *[""] * 7]], []),
        (["Florida again"], [but(COUNTS, _3="9")], [3]),  # in percent
        (["Northern"], [but(SHARES, _3="0.9")], []),
        (["Note"], [but(SHARES, _3="0.9")], []),
    ],
)
def test_another_column_of_the_share(headings: list[str], columns: list[list[str]], rows: list[int]) -> None:
    reading, table = read(["Florida", *headings], [SHARES, *columns])
    assert doubted(other_shares, reading, table) == rows
    for row, words in other_shares(reading, table).items():
        assert words == [f"column {headings[0]} says {columns[0][row - 2]!r}"]


@pytest.mark.parametrize(
    ("scored", "counts", "rows"),
    [
        (["50"] * N, COUNTS, []),  # of 100 alleles
        (["50"] * N, but(COUNTS, _3="45"), [3]),  # .45 is no .44 +- .005
        (["50"] * N, but(COUNTS, _3="45", _4="9"), [3, 4]),
        (["50"] * N, but(COUNTS, _3="45", _4="9", _5="9"), []),
        (["50"] * 4 + [""] * 6, [*but(COUNTS[:4], _3="45"), *[""] * 6], [3]),
        (["50"] * 3 + [""] * 7, [*but(COUNTS[:3], _2="45"), *[""] * 7], []),
    ],
)
def test_counts_of_which_the_share_is_not_made(scored: list[str], counts: list[str], rows: list[int]) -> None:
    kept = Layout(columns={"q": "Florida"}, answered=PLAIN.answered, harmless=frozenset({"florida alleles"}))
    reading, table = read(["Florida", "Loci scored", "Florida alleles"], [SHARES, scored, counts], kept)
    doubts = other_shares(reading, table)
    assert sorted(row - 2 for row, words in doubts.items() if any("counts" in each for each in words)) == rows


def test_a_percent_that_the_counts_contradict_is_held_though_the_counts_are_read() -> None:
    counts = [str(round(76 * float(q))) for q in SHARES]
    percents = but([f"{100 * int(k) / 76:.1f}" for k in counts], _2="71.0", _5="5.0")
    kept = Layout(columns={ColumnRole.Q: "Florida alleles"}, units={ColumnRole.Q: "count"})
    reading, table = read(
        ["Florida alleles", "Total alleles", "Florida %"], [counts, ["76"] * N, percents], kept
    )
    assert {row - 2: words for row, words in other_shares(reading, table).items()} == {
        2: ["column Florida % says '71.0'"],
        5: ["column Florida % says '5.0'"],
    }


def runs(
    values: list[tuple[str, str, str]],
    words: tuple[str, str, str] = ("rep 1", "rep 2", "mean"),
    harmless: str = "",
) -> Any:
    """Vials of two replicates and their mean each, one after the other."""
    kept = Layout(
        columns={"q": "Florida"}, answered=PLAIN.answered, harmless=frozenset(filter(None, [harmless]))
    )
    shares = [text for each in values for text in each]
    reading, rows = read(["Florida", "Run"], [shares, list(words) * len(values)], kept)
    table: list[Row] = [rows[0], *([(CODES[i // 3], "text"), *row[1:]] for i, row in enumerate(rows[1:]))]
    return reading, table


THREE = [("0.10", "0.12", "0.11"), ("0.40", "0.44", "0.42"), ("0.70", "0.72", "0.71")]


@pytest.mark.parametrize(
    ("values", "words", "doubts"),
    [
        (THREE, ("rep 1", "rep 2", "mean"), {}),
        (THREE, ("a", "b", "average"), {}),
        (THREE, ("1", "2", "mean of 2"), {}),
        (THREE[:2], ("rep 1", "rep 2", "mean"), None),  # two vials are too few
        (THREE, ("rep 1", "rep 2", "rep 3"), None),
        (THREE, ("mean", "rep 2", "mean"), None),  # two means
        (THREE, ("rep 1", "swab", "mean"), None),
        # .432 is the mean .42 with its two halves of a digit and .001 more
        ([*THREE[:2], ("0.70", "0.72", "0.72"), ("0.1", "0.1", "0.1"), ("0.2", "0.2", "0.2")],
         ("rep 1", "rep 2", "mean"), {}),
        ([*THREE[:2], ("0.70", "0.72", "0.73"), ("0.1", "0.1", "0.1"), ("0.2", "0.2", "0.2")],
         ("rep 1", "rep 2", "mean"), {10: ["the mean is not that of its replicates (0.70, 0.72)"]}),
        ([*THREE[:2], ("0.70", "0.72", "0.73"), ("0.1", "0.1", "0.1")], ("rep 1", "rep 2", "mean"), None),
        # replicates .3 apart are near enough, and .32 are not
        ([*THREE[:2], ("0.40", "0.70", "0.55")], ("rep 1", "rep 2", "mean"), {}),
        ([*THREE[:2], ("0.40", "0.72", "0.56")], ("rep 1", "rep 2", "mean"),
         {10: ["its replicates are far apart (0.40, 0.72)"]}),
        ([*THREE[:2], ("0.40", "0.44", "")], ("rep 1", "rep 2", "mean"), {}),
        ([*THREE[:2], ("", "", "0.44")], ("rep 1", "rep 2", "mean"), {}),
    ],
)  # fmt: skip
def test_replicates_with_their_mean(
    values: list[tuple[str, str, str]], words: tuple[str, str, str], doubts: dict[int, list[str]] | None
) -> None:
    reading, table = runs(values, words)
    means = replicate_means(reading, table)
    if doubts is None:
        assert means is None
        assert question_of_means(reading, means) == ([], [])
        assert without_replicates(reading, means) == reading.data_rows
        return
    assert means is not None
    assert means.rows == {4 + 3 * i: [2 + 3 * i, 3 + 3 * i] for i in range(len(values))}
    assert means.doubts == doubts


@pytest.mark.parametrize(("harmless", "against"), [("", ""), (MEANS, ""), ("", MEANS)])
def test_what_is_read_of_replicates_is_for_a_person_to_say(harmless: str, against: str) -> None:
    from dataclasses import replace

    reading, table = runs(THREE, harmless=harmless)
    reading = replace(reading, layout=replace(reading.layout, against=frozenset(filter(None, [against]))))
    means = replicate_means(reading, table)
    (item,), questions = question_of_means(reading, means)
    assert item.verdict == ("harmless" if harmless else "held" if against else "asked")
    assert len(questions) == (item.verdict == "asked")
    assert item.why.startswith("3 vials of the file have several rows and one of their mean (first row 4)")
    read_rows = without_replicates(reading, means)
    assert read_rows == ((4, 7, 10) if harmless else reading.data_rows)


def beside(*lines: str) -> str:
    from geneticlog.rules.lab_return.columns.read_columns import read_columns

    rows: list[Row] = [
        [(cell.strip(), "text" if cell.strip() else "empty") for cell in line.split("|")] for line in lines
    ]
    columns = {"vial": rows[0][0][0], "q": "Florida"}
    if "Vial" in lines[0]:
        columns["vial"] = "Vial"
    return tables_beside(read_columns(rows, Layout(columns=columns), file="return.csv"), rows)


@pytest.mark.parametrize(
    ("lines", "says"),
    [
        (["Vial|Florida", f"{CODES[0]}|.1", f"{CODES[1]}|.2", f"{CODES[2]}|.3"], ""),
        # an empty column, and the vials last or ids beside the shares
        (["Florida||Vial", f".1||{CODES[0]}", f".2||{CODES[1]}", f".3||{CODES[2]}"], "column B is empty"),
        (["Vial||Florida", f"{CODES[0]}||.1", f"{CODES[1]}||.2", f"{CODES[2]}||.3"], ""),
        (["Vial||Florida|Lab", f"{CODES[0]}||.1|L1", f"{CODES[1]}||.2|L2", f"{CODES[2]}||.3|L3"], "column B is empty"),
        (["Vial||Florida|Lab", f"{CODES[0]}||.1|L1", f"{CODES[1]}||.2|L2", f"{CODES[2]}||.3|L1"], ""),
        (["Vial|Lab||Florida", f"{CODES[0]}|L1||.1", f"{CODES[1]}|L2||.2", f"{CODES[2]}|L3||.3"], ""),
        (["Vial|Note|Florida|Lab", f"{CODES[0]}||.1|L1", f"{CODES[1]}||.2|L2", f"{CODES[2]}||.3|L3"], ""),
        (["Florida||Vial", f".1||{CODES[0]}", f".2||{CODES[1]}"], ""),  # two rows
        # the same ids in another order
        (["Vial|Lab|Florida|Extract", f"{CODES[0]}|L1|.1|L2", f"{CODES[1]}|L2|.2|L1", f"{CODES[2]}|L3|.3|L3"],
         "columns B and D hold the same ids in another order"),
        (["Vial|Lab|Florida|Extract", f"{CODES[0]}|L1|.1|L1", f"{CODES[1]}|L2|.2|L2", f"{CODES[2]}|L3|.3|L3"], ""),
        (["Vial|Lab|Florida|Extract", f"{CODES[0]}|L1|.1|L2", f"{CODES[1]}|L2|.2|L1", f"{CODES[2]}|L3|.3|L4"], ""),
    ],
)  # fmt: skip
def test_tables_that_stand_side_by_side(lines: list[str], says: str) -> None:
    words = beside(*lines)
    assert words.startswith(says)
    assert bool(words) == bool(says)
