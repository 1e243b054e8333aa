"""What is offered where the numbers of a whole file are in doubt."""

from __future__ import annotations

import pytest
from return_support import codes, csv_file

from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.lab_return.words.roles import ColumnRole
from geneticlog.work.lab_return.known_before.expected import Expected
from geneticlog.work.lab_return.understand import understand

CODES = codes(14)
SHARES = [0.31, 0.08, 0.55, 0.23, 0.71, 0.12, 0.64, 0.47, 0.86, 0.39, 0.18, 0.93, 0.05, 0.77]


@pytest.mark.parametrize(
    ("heading", "digits", "answered", "offers_a_unit"),
    [
        ("% Florida", 2, {"q": "percent"}, False),  # what a person said of the unit is no answer again
        ("Florida proportion", 4, {}, True),
    ],
)
def test_the_unit_is_offered_where_nobody_has_named_it(
    heading: str, digits: int, answered: dict[str, str], offers_a_unit: bool
) -> None:
    shares = [q if digits == 2 else q / 100 for q in SHARES]
    rows = [["Sample", heading], *([code, f"{q:.{digits}f}"] for code, q in zip(CODES, shares, strict=True))]
    units = {ColumnRole(role): unit for role, unit in answered.items()}
    seen = understand(csv_file(rows), "r.csv", Layout(units=units), Expected(panel_loci=38))
    (question,) = seen.reading.questions
    assert "less than one allele of 76" in question.text
    settings = [setting for setting, *_ in question.choices]
    assert ("unit" in settings) is offers_a_unit
    assert settings[0] == "hold"
