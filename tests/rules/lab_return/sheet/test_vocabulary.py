"""A short name of a taxon, of a measure or of a control is known wherever labs and crews write it, or nowhere."""

from __future__ import annotations

import pytest

from geneticlog.rules.boat.logline import read_line
from geneticlog.rules.boat.sheet_columns import Meaning, meaning
from geneticlog.rules.lab_return.columns.lab_classes import class_meant
from geneticlog.rules.lab_return.sheet.lines import judge_in_summary, says_the_same
from geneticlog.rules.lab_return.sheet.words_beside import AGAINST, GOOD, judge
from geneticlog.rules.lab_return.words.headings import Taxa, recognise, taxa_named
from geneticlog.rules.lab_return.words.roles import ColumnRole
from geneticlog.rules.result.result_states import Verdict

TAXA = Taxa()
SHORT = [("FLMB", "Florida"), ("floridanus", "Florida"), ("FL", "Florida"), ("Fla", "Florida"),
         ("NLMB", "northern"), ("nigricans", "northern"), ("NL", "northern"), ("North", "northern")]  # fmt: skip


@pytest.mark.parametrize(("short", "taxon"), SHORT)
def test_a_short_name_of_a_taxon_is_known_in_a_heading_a_class_and_a_line(short: str, taxon: str) -> None:
    is_florida = taxon == "Florida"
    heading = recognise(f"{short} alleles %", TAXA)
    assert heading is not None
    assert (heading.role, heading.strange) == (ColumnRole.Q if is_florida else ColumnRole.OTHER_Q, ())
    assert class_meant(short, TAXA) == taxon
    assert judge(short, TAXA, is_class=True, heading="Class") == GOOD
    assert taxa_named(short.casefold(), TAXA) == (is_florida, not is_florida)
    assert says_the_same(f"q = share of {short} alleles", TAXA, "fraction") is is_florida
    assert judge_in_summary(f"Mean {short} | 0.31", TAXA)[0] == Verdict.HARMLESS
    of_another_pair = Taxa("coastal", "interior")
    assert class_meant(short, of_another_pair) is None
    assert judge(short, of_another_pair, is_class=True, heading="Class") != GOOD
    assert taxa_named(short.casefold(), of_another_pair) == (False, False)


@pytest.mark.parametrize(
    ("name", "what"),
    [("TL", "length"), ("Length", "length"), ("Len", "length"),
     ("Wt", "weight"), ("Weight", "weight"), ("Mass", "weight")],
)  # fmt: skip
def test_a_name_of_a_measure_is_known_on_a_field_sheet_in_the_log_and_in_a_labs_file(
    name: str, what: str
) -> None:
    unit = "mm" if what == "length" else "g"
    assert meaning(f"{name} ({unit})") == Meaning(what, unit)
    line = read_line(f"{name.lower()} 312 {unit}", "in", "lb")
    measured = getattr(line, what)
    assert (measured.value, measured.unit) == (312, unit)
    of_lab = recognise(f"{name} ({unit})", TAXA)
    assert of_lab is not None
    assert (of_lab.role, of_lab.known, of_lab.strange) == (ColumnRole.NOT_USED, True, ())


@pytest.mark.parametrize("word", ["control", "controls", "ctrl", "blank", "NTC"])
def test_a_control_has_no_share_of_its_own(word: str) -> None:
    assert judge(word, TAXA) == AGAINST
