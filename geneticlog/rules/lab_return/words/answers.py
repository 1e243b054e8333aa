"""A person's answer to a question about a lab's file, taken into the layout by which the file is read again."""

from __future__ import annotations

from dataclasses import replace

from geneticlog.rules.lab_return.words.headings import answer_key
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.lab_return.words.roles import ColumnRole


def with_answer(layout: Layout, setting: str, role: str, value: str) -> Layout:
    """Return the layout with one answer to a question: one of the question's choices (setting, role, value)."""
    if setting == "column":
        return replace(
            layout,
            columns={**layout.columns, ColumnRole(role): value},
            answered=layout.answered | {ColumnRole(role)},
        )
    if setting == "unit" and "@" in role:
        return replace(layout, units_of_parts={**layout.units_of_parts, role: value})
    if setting == "unit":
        return replace(layout, units={**layout.units, ColumnRole(role): value})
    if setting == "harmless":
        return replace(
            layout, harmless=layout.harmless | {answer_key(value)}, kept=layout.kept - {answer_key(value)}
        )
    if setting == "hold":
        return replace(layout, against=layout.against | {answer_key(value)})
    if setting == "sheet":
        return replace(layout, sheets=(value,))
    if setting == "taxon":
        return replace(layout, taxon_of_q=value)
    if setting == "wells":
        return replace(layout, wells=value)
    return replace(layout, counted=value, coding="")  # how they are coded is seen in the file
