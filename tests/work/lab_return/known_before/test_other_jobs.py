"""A lab's file that is of another shipment, another panel, or of a time before the fish were caught."""

from __future__ import annotations

from datetime import date

import pytest

from geneticlog.rules.lab_return.account.other_jobs import Job

JOB = Job(
    "SH-2026",
    frozenset({"OSPREY-2"}),
    ("QB38", "Thirty-eight loci"),
    38,
    date(2026, 5, 12),
    date(2026, 5, 20),
)


@pytest.mark.parametrize(
    ("line", "doubt"),
    [("Shipment: SH-2025", "another shipment"), ("Shipment SH-2026, not SH-2025", ""), ("see OSPREY-2", "another"),
     ("Panel: QB96 (96 SNPs)", "another panel"), ("Panel: 38 SNPs, version 12", ""), ("Panel: QB38 of 40", ""),
     ("Panel: bass v2.1", ""), ("Panel: bass, 2026", ""), ("Plate panels 96", ""),
     ("Date of analysis: 2025-11-03", "before the fish"),
     ("Analysed 5/12/2026", ""), ("Received 2026-05-19", "before the vials were sent"),
     ("Run on 19-May-2026", "vials were sent"), ("Report date: May 3rd, 2026", "before the fish"),
     ("Typed 19 May 2026 to 21 May 2026", ""), ("Sequenced 05/19/26", "vials were sent"),
     ("Run 26-05-21", ""), ("Samples taken 2026-05-12", ""),
     ("Genotyped in May 2026", ""), ("Extracted 31 Feb 2026", ""), ("Analysed 5/11/2026", ""),
     ("Analysed 4/5/2026", "before"),
     ("Analysed 2026-06-01", ""), ("Analysis 2026-13-45", ""), ("Order of 2025-11-03", "")],
)  # fmt: skip
def test_a_line_of_another_job_is_doubted(line: str, doubt: str) -> None:
    said = JOB.doubt_in(line)
    assert bool(said) == bool(doubt)
    assert doubt in said
    assert Job().doubt_in(line) == ""


@pytest.mark.parametrize(
    ("text", "doubt"),
    [("2026-05-11", "before the fish were caught"), ("2026-05-15", "before the vials were sent"), ("46157", "sent"),
     ("46162", ""), ("2026-05-20", ""), ("20 May 2026", ""), ("15.5.26", "sent"), ("soon", ""), ("", "")],
)  # fmt: skip
def test_a_row_is_dated_by_its_column(text: str, doubt: str) -> None:
    early = JOB.too_early(text, "Date of analysis")
    assert bool(early) == bool(doubt)
    assert doubt in early
    assert JOB.too_early(text, "Date collected") == ""
