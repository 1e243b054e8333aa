"""A lab's file that is of another shipment, another panel, or of a time before the fish were caught."""

from __future__ import annotations

from datetime import date

import pytest

from geneticlog.rules.lab_return.other_jobs import Job

JOB = Job("SH-2026", frozenset({"OSPREY-2"}), ("QB38", "Thirty-eight loci"), 38, date(2026, 5, 12))


@pytest.mark.parametrize(
    ("line", "doubt"),
    [("Shipment: SH-2025", "another shipment"), ("Shipment SH-2026, not SH-2025", ""), ("see OSPREY-2", "another"),
     ("Panel: QB96 (96 SNPs)", "another panel"), ("Panel: 38 SNPs, version 12", ""), ("Panel: QB38 of 40", ""),
     ("Panel: bass v2.1", ""), ("Panel: bass, 2026", ""), ("Plate panels 96", ""),
     ("Date of analysis: 2025-11-03", "before the fish"), ("Analysed 5/11/2026", ""), ("Analysed 4/5/2026", "before"),
     ("Analysed 2026-06-01", ""), ("Analysis 2026-13-45", ""), ("Order of 2025-11-03", "")],
)  # fmt: skip
def test_a_line_of_another_job_is_doubted(line: str, doubt: str) -> None:
    said = JOB.doubt_in(line)
    assert bool(said) == bool(doubt)
    assert doubt in said
    assert Job().doubt_in(line) == ""
