"""A lab's layout is TOML: read with the line and key of any fault, and what is written back reads the
same."""

from __future__ import annotations

import pytest

from geneticlog.errors import SheetFault
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.lab_return.words.roles import ColumnRole
from geneticlog.store.layouts import read_layout, read_markers, write_layout

FULL = """\
lab = "An invented lab"
sheet = "Results"
heading_row = 5
heading_rows = 2
decimal = ","
missing = ["Kaputt", "redo"]

[columns]
vial = "Sample ID"
q = "% Florida"

[units]
q = "percent"

[genotypes]
coding = "letters"

[genotypes.markers]
M01 = "B"
"M 2" = "A"
"""


def test_a_layout_is_read_whole_and_written_back_the_same() -> None:
    layout = read_layout(FULL, "north.toml")
    assert layout.columns == {"vial": "Sample ID", "q": "% Florida"}
    assert layout.missing == {"kaputt", "redo"}
    assert layout.markers == {"M01": "B", "M 2": "A"}
    assert read_layout(write_layout(layout), "again") == layout
    counted = read_layout('[units]\nq = "count"\n', "kept.toml")  # as a file of counts is kept
    assert read_layout(write_layout(counted), "again").kept_units == {"q": "count"}


def test_an_empty_layout_leaves_everything_to_be_recognised() -> None:
    assert read_layout("", "empty.toml") == Layout()
    assert read_layout(write_layout(Layout()), "again") == Layout()


def test_quotation_marks_and_strokes_in_headings_survive() -> None:
    layout = Layout(columns={"vial": 'the "vial" \\ tube', "q": "Flörida\tshare"})
    assert read_layout(write_layout(layout), "again") == layout


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("lab = north\n", ["not TOML", "row 1"]),
        ('lab = "x"\ncolour = 1\n', ["row 2", "column colour", "no such key"]),
        ('[columns]\nvial = "a"\nflorida = "b"\n', ["row 3", "column florida", "known are vial, q"]),
        ("[columns]\nvial = 3\n", ["row 2", "column vial", "a text"]),
        ('[units]\nq = "per cent"\n', ["row 2", "column q", '"percent", "fraction" or "count"']),
        ('heading_row = "5"\n', ["row 1", "column heading_row", "a whole number"]),
        ("heading_row = true\n", ["a whole number"]),
        ("heading_row = -1\n", ["1 or more"]),
        ("heading_rows = 4\n", ["1, 2 or 3"]),
        ('decimal = ";"\n', ['"." or ","']),
        ("missing = [1]\n", ["a list of texts"]),
        ('columns = "vial"\n', ["row 1", "a table"]),
        ('[genotypes]\ncoding = "dosage"\n', ["row 2", "counts, digits, digit_pairs, letters, pairs"]),
        ('[genotypes]\ncoding = "letters"\n', ["row 2", "[genotypes.markers]"]),
        ('[genotypes]\ncounted = "Delta"\n', ["Florida or northern"]),
        (
            '[genotypes]\ncoding = "pairs"\n[genotypes.markers]\nM1 = "BB"\n',
            ["row 4", "column M1", "one letter"],
        ),
    ],
)
def test_a_faulty_layout_names_line_and_key(text: str, words: list[str]) -> None:
    with pytest.raises(SheetFault) as fault:
        read_layout(text, "north.toml")
    assert str(fault.value).startswith("north.toml")
    for word in words:
        assert word in str(fault.value)


def test_a_marker_table_may_stand_under_a_heading_or_alone() -> None:
    assert read_markers('M1 = "A"\n', "panel") == {"M1": "A"}
    assert read_markers('[markers]\nM1 = "A"\n', "panel") == {"M1": "A"}
    with pytest.raises(SheetFault, match="marker table"):
        read_markers("M1 = 1\n", "panel")


def test_a_layout_that_was_written_with_counts_is_read_again() -> None:
    units = {ColumnRole.Q: "count"}
    layout = Layout(columns={ColumnRole.Q: "FL alleles"}, kept_units=units, harmless=frozenset({"lake"}))
    again = read_layout(write_layout(layout), "kept")
    assert again == layout
    assert again.kept == layout.harmless
