"""An answer changes one field of the layout, and that one alone."""

from __future__ import annotations

from dataclasses import fields
from typing import Any

import pytest

from geneticlog.rules.lab_return.words.answers import with_answer
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.lab_return.words.roles import ColumnRole

KEPT = Layout(
    harmless=frozenset({"dna"}), kept=frozenset({"dna", "well"}), coding="letters", counted="Florida"
)


@pytest.mark.parametrize(
    ("setting", "role", "value", "changed"),
    [
        ("column", "q", "Share", {"columns": {"q": "Share"}, "answered": frozenset({ColumnRole.Q})}),
        ("unit", "q@2", "percent", {"units_of_parts": {"q@2": "percent"}}),
        ("unit", "q", "percent", {"units": {"q": "percent"}}),
        (
            "harmless",
            "",
            "DNA",
            {"kept": frozenset({"well"})},
        ),
        ("harmless", "", "Flag", {"harmless": frozenset({"dna", "flag"})}),
        ("hold", "", "Pass?", {"against": frozenset({"pass ?"})}),
        ("sheet", "", "Results", {"sheets": ("Results",)}),
        ("taxon", "", "northern", {"taxon_of_q": "northern"}),
        ("wells", "", "ours", {"wells": "ours"}),
        ("counted", "", "northern", {"counted": "northern", "coding": ""}),
    ],
)
def test_an_answer_changes_its_own_field_alone(
    setting: str, role: str, value: str, changed: dict[str, Any]
) -> None:
    after = with_answer(KEPT, setting, role, value)
    differs = {
        f.name: new for f in fields(Layout) if (new := getattr(after, f.name)) != getattr(KEPT, f.name)
    }
    assert differs == changed
