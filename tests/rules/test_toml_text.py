"""Where a key is in a TOML text."""

from __future__ import annotations

import pytest

from geneticlog.toml_text import TomlSyntax, TomlText

TEXT = """# a form
lab = "Quill"
"heading row" = 2

[columns]
lab = "B"

[[column]]
heading = "one"
[[column]]
heading = "two"

[genotypes.markers]
M1 = "A"
"""


@pytest.mark.parametrize(
    ("place", "line"),
    [
        (("", "lab"), 2), (("", "heading row"), 3), (("columns", "lab"), 6), (("columns", ""), 5), (("", "columns"), 5),
        (("column", "heading", 0), 9), (("column", "heading", 1), 11), (("column", "text", 1), 10),
        (("genotypes.markers", "M1"), 14), (("", "genotypes"), 13), (("", "M1"), 1), (("nowhere", "x"), 1),
    ],
)  # fmt: skip
def test_the_line_of_a_key(place: tuple[str, str] | tuple[str, str, int], line: int) -> None:
    assert TomlText(TEXT).line_of(*place) == line


@pytest.mark.parametrize(("text", "line"), [("a = 1\nb =\n", 2), ("a = 1\na = 2\n", 2), ('a = "', None)])
def test_what_is_not_toml_names_its_line(text: str, line: int | None) -> None:
    with pytest.raises(TomlSyntax) as raised:
        TomlText(text)
    assert raised.value.line == line
    assert "at line" not in raised.value.problem
    assert (f"line {line}" in str(raised.value)) == (line is not None)
