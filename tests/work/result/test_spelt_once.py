"""What counts and what may come of a vial are spelt once: every query takes the conditions of `work/result`.

So are the words of headings, classes and lines for one thing: whoever reads them takes the list by its name.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import geneticlog

PACKAGE = Path(geneticlog.__file__).parent
ROOM = "work/result"

# what a query could spell again -> the modules that may
SPELT = {
    r"Fish\.species (==|!=)|(==|!=) Fish\.species": {f"{ROOM}/in_the_numbers.py"},
    r"(?<!\.)\bspecies (==|!=) survey\.species|\bfish\.species (==|!=)": {f"{ROOM}/in_the_numbers.py"},
    r"\bof_pair\(": {f"{ROOM}/{name}.py" for name in (
        "in_the_numbers", "count_fish", "vial_outcome")},
    r"Result\.standing (==|!=) ResultStanding\.(SUPERSEDED|HELD)": {
        f"{ROOM}/in_the_numbers.py", f"{ROOM}/vial_outcome.py",
        "work/lab_return/withdraw_return.py",  # what one file replaced
    },
    r"\bVial\.standing *(==|!=|\.(not_)?in_\().*FILLED": {f"{ROOM}/vial_outcome.py"},
    r"\bShipment\.standing *(==|!=|\.(not_)?in_\().*(PACKED|AWAY)": {f"{ROOM}/vial_outcome.py"},
    r"\barrival *\.(not_)?in_\(": {f"{ROOM}/vial_outcome.py"},
    r"(?i)\b(flmb|nlmb)\b": {"rules/lab_return/words/vocabulary.py"},
    r"\b(ctrls?|ntcs?)\b": {"rules/lab_return/words/vocabulary.py"},
    r'\bwt\b(?!" before)': {"rules/lengths.py"},
    r"\bALPHA\b.*= *0?\.05|\balpha: float = 0": {"rules/statistics/estimates.py"},
    r"json\.loads\(.*(reading|cells|account)\b|\bget\(.(loci_from_panel|sheet_rows)\b": {f"{ROOM}/kept_reading.py"},
    r"Finding\.decision (==|!=) Decision\.RESAMPLE": {f"{ROOM}/vial_outcome.py"},
}  # fmt: skip


@pytest.mark.parametrize("spelling", SPELT)
def test_a_condition_on_what_counts_is_spelt_in_one_module(spelling: str) -> None:
    found = {
        file.relative_to(PACKAGE).as_posix()
        for file in PACKAGE.rglob("*.py")
        if re.search(spelling, file.read_text(encoding="utf-8"))
    }
    assert found == SPELT[spelling]
