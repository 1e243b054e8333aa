"""A lab's manifest form, checked line by line."""

from __future__ import annotations

import pytest

from geneticlog.rules.shipment.manifest_form import Column, ManifestFormError, parse_form

GOOD = """\
container = "box9x9"
order = "by_row"
keep_free = ["i9", "A1"]

[[column]]
heading = "Well"
holds = "position"

[[column]]
heading = "Sample ID"
holds = "vial"

[[column]]
heading = "Species"
text = "largemouth bass"
"""


def test_a_form_is_read() -> None:
    form = parse_form(GOOD)
    assert (form.container, form.order, form.keep_free) == ("box9x9", "by_row", ("I09", "A01"))
    assert form.columns[1:] == (Column("Sample ID", "vial"), Column("Species", None, "largemouth bass"))


def test_wells_alone_keep_the_usual_columns() -> None:
    form = parse_form('keep_free = ["H12"]')
    assert form.keep_free == ("H12",)
    assert "vial" in [column.holds for column in form.columns]


@pytest.mark.parametrize(
    ("change", "row", "key", "words"),
    [
        (('order = "by_row"', 'order = "zigzag"'), 2, "order", "no order 'zigzag'"),
        (('container = "box9x9"', 'container = "crate"'), 1, "container", "no container 'crate'"),
        (('"i9"', '"Z9"'), 3, "keep_free", "not a position"),
        (('["i9", "A1"]', '"A1"'), 3, "keep_free", "are a list"),
        (('holds = "vial"', 'holds = "barcode"'), 11, "holds", "can hold 'barcode'"),
        (('heading = "Sample ID"', 'heading = "Well"'), 10, "heading", "is there twice"),
        (('heading = "Sample ID"', 'heading = ""'), 10, "heading", "column 2 has no heading"),
        (('text = "largemouth bass"', 'width = 3'), 15, "width", "has no key 'width'"),
        (('text = "largemouth bass"\n', ""), 13, "holds", "either holds or text"),
        (('holds = "vial"', 'holds = "tissue"'), 5, "column", "no column holds the vial code"),
        (('order = "by_row"', 'colour = "red"'), 2, "colour", "no key 'colour'"),
    ],
)  # fmt: skip
def test_a_fault_is_named_with_its_line_and_key(
    change: tuple[str, str], row: int, key: str, words: str
) -> None:
    with pytest.raises(ManifestFormError, match=words) as fault:
        parse_form(GOOD.replace(*change), file="quill.toml")
    assert (fault.value.file, fault.value.row, fault.value.column) == ("quill.toml", row, key)


def test_a_text_that_is_no_toml_names_its_line() -> None:
    with pytest.raises(ManifestFormError, match=r"quill.toml, row 2: this is not TOML"):
        parse_form('order = "by_row"\ncolumns are these\n', file="quill.toml")
