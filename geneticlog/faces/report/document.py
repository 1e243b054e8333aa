"""The document of a lake's report: what ``report lake --json`` prints and ``geneticlog.open(…).lake(…)`` returns."""

from __future__ import annotations

from typing import Any

from geneticlog.faces.report.answer_sentences import answer, of_another_survey
from geneticlog.faces.report.owner import answer_lines
from geneticlog.faces.report.tables import lake_document
from geneticlog.work.report.facts import LakeFacts


def report_document(lake: LakeFacts) -> dict[str, Any]:
    """Return the numbers of a lake's report with the lines of its first page and the sentences for the biologist."""
    return lake_document(lake, answer_lines(lake), answer(lake), of_another_survey(lake))
