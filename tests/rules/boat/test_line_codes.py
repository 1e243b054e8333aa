"""A vial code that is written in groups, beside the words of a log."""

from __future__ import annotations

import pytest

from geneticlog.rules.boat.line_codes import part_codes


@pytest.mark.parametrize(
    ("words", "codes"),
    [(frozenset(), ["BG 4F7Q 2K R"]), (frozenset({"2k"}), []), (frozenset({"bg"}), [])],
)
def test_groups_make_a_code_up_to_a_word_of_the_log(words: frozenset[str], codes: list[str]) -> None:
    found, _ = part_codes("BG 4F7Q 2K R", words)
    assert [code.replace(" ", "") for code in found] == [code.replace(" ", "") for code in codes]
