"""Lines that every report has are no question; what defines the share as it is read is used; what condemns values is
answered first by holding them. All lines are invented.
"""

from __future__ import annotations

import pytest

from geneticlog.rules.lab_return.columns.lab_classes import of_classes
from geneticlog.rules.lab_return.sheet.lines import condemns, judge_line
from geneticlog.rules.lab_return.words.headings import Taxa
from geneticlog.rules.result.result_states import Verdict

OF_EVERY_REPORT = [
    "This report shall not be reproduced except in full, without written approval of the laboratory.",
    "Results relate only to the samples as received.",
    "NTC ok",
    "NTC",
    "Extraction blank 2",
    "The blanks were clean.",
    "Negative control: clean",
    "Method: SOP 14, revision 3",
    "Sorted by vial",
    "Thank you for your business!",
    "Report of analysis | No. KM-2210",
    "Authorised: R. Plover",
    "Approved: T. Heron 2026-07-03",
    "DNA was extracted from swabs with a silica kit.",
    "38 diagnostic SNP loci were typed on a plate reader.",
    "Species | Micropterus salmoides",
    "blank = no result",
    "- = not scored",
]
THE_SAME = [
    "q is the share of Florida alleles.",
    "Florida share = number of Florida alleles / (2 x loci called)",
    "> could you send the shares of Florida alleles?",
    "The blank was clean. Values are the Florida proportion.",
]
ASKED = [
    "q = 1 - share of Florida alleles",
    "q is the percentage of Florida alleles",  # the column is read as a fraction
    "number of Florida alleles",
    "share of non-Florida alleles",
    "share of Florida and northern alleles",
    "mean Florida share",
    "Results relate only to plate 1",
    "Results relate only to the samples of plate 2",
    "Negative control: contaminated",
    "The blank was not clean.",
    "Authorised: no",
    "9 = no result",
    "The blank was clean. Values are the northern proportion.",
    "Species: Micropterus salmoides floridanus",
]


@pytest.mark.parametrize(
    ("lines", "verdict"),
    [(OF_EVERY_REPORT, Verdict.HARMLESS), (THE_SAME, Verdict.USED), (ASKED, Verdict.ASKED)],
)
def test_what_a_line_of_a_report_is(lines: list[str], verdict: Verdict) -> None:
    judged = {text: judge_line(text, Taxa(), below=True, unit="fraction")[0] for text in lines}
    assert judged == dict.fromkeys(lines, verdict)


def test_a_line_that_speaks_against_values_condemns_them() -> None:
    against = [
        "Status: DRAFT",
        "Column 3 of the plate was pipetted twice; please do not use it.",
        "EXAMPLE REPORT",
        "Data simulated for the format test",
        "Row D: evaporated overnight.",
        "failed QC, do not use",
    ]
    for text in against:
        assert condemns(text), text
    for text in ("Florida alleles counted", "Failed samples: 2", "Sorted by weight", "Heron Lake"):
        assert not condemns(text), text


def test_words_of_classes_are_told_from_remarks() -> None:
    assert of_classes({"FLMB", "NLMB", "Fx"}, Taxa())
    assert of_classes({"Northern", "Hybrid", "Florida", "fail"}, Taxa())
    assert not of_classes({"Florida", "ok"}, Taxa())
    assert not of_classes({"Florida"}, Taxa())
    assert not of_classes({"Fx", "F1"}, Taxa())
    assert not of_classes({"Florida, contaminated", "Northern"}, Taxa())
