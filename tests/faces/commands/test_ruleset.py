"""``geneticlog ruleset``, and rule sets in reports, exports and returns: which one named a fish is always said."""

from __future__ import annotations

import csv
import json
import re
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
from conftest import Runner
from lakes_support import add_lake, add_panel, add_survey, add_typed
from return_support import a_shipment, csv_file
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError
from sqlalchemy.orm import Session
from tests_support import database  # noqa: F401  (words and wiring: SQLite alone)

from geneticlog.settings import shipped_folder

STRICT = """
name = "strict"
dated = 2026-06-01
pure = 0.01
f1_low = 0.48
f1_high = 0.52
f1_least_h = 0.97
least_loci = 30
"""


def a_file(folder: Path, content: str = STRICT, name: str = "strict.toml") -> Path:
    file = folder / name
    file.write_text(content, encoding="utf-8")
    return file


def a_lake(session: Session) -> None:
    lake, panel = add_lake(session), add_panel(session)
    survey = add_survey(session, lake)
    # northern, near northern, F1, near F1, Florida
    fish = [
        (10.5, 0.0, 0.0),
        (10.6, 0.0263, 0.0526),
        (13.1, 0.5, 1.0),
        (13.2, 0.4737, 0.9474),
        (16.0, 1.0, 0.0),
    ]
    add_typed(session, survey, fish, panel=panel)
    session.commit()


def classes_of(document: Any) -> dict[str, int]:
    counted: dict[str, int] = {}
    for row in document["surveys"][0]["classes"]:
        for name, n in row["composition"].items():
            counted[name] = counted.get(name, 0) + n
    return counted


def test_a_rule_set_is_added_listed_shown_and_used(run: Runner, tmp_path: Path) -> None:
    said = run("ruleset", "add", a_file(tmp_path)).stdout
    assert 'geneticlog ruleset use "strict, 2026-06-01"' in said
    listed = json.loads(run("ruleset", "list", "--json").stdout)["rule_sets"]
    assert [(one["name"], one["in_force"]) for one in listed] == [("house default", True), ("strict", False)]
    assert (listed[1]["added_by"], listed[1]["pure"], listed[1]["least_loci"]) == ("Ada Test", 0.01, 30)
    assert "In force now: strict, 2026-06-01 (before: house default" in run("ruleset", "use", "STRICT").stdout
    assert "nothing changed" in run("ruleset", "use", "strict").stdout
    shown = run("ruleset", "show").stdout
    assert "“strict” of 2026-06-01" in shown
    assert "It is in force." in shown
    run("ruleset", "use", "house default")
    assert json.loads(run("ruleset", "show", "--json").stdout)["name"] == "house default"
    assert "strict" in run("ruleset", "show", "strict, 2026-06-01").stdout


def test_what_show_writes_as_toml_can_be_added_again(run: Runner, tmp_path: Path) -> None:
    default = run("ruleset", "show", "--toml").stdout
    run("ruleset", "add", a_file(tmp_path, default.replace("house default", "ours")))
    ours = json.loads(run("ruleset", "show", "ours", "--json").stdout)
    house = json.loads(run("ruleset", "show", "house default", "--json").stdout)
    for key in ("dated", "pure", "f1_low", "f1_high", "f1_least_h", "least_loci"):
        assert ours[key] == house[key]
    shipped = shipped_folder("demo_data") / "rule_set_narrow.toml"
    run("ruleset", "add", shipped)
    assert run("ruleset", "show", "narrow", "--toml").stdout.strip() == shipped.read_text("utf-8").strip()


def test_a_kept_rule_set_is_never_altered(run: Runner, session: Session, tmp_path: Path) -> None:
    run("ruleset", "add", a_file(tmp_path))
    assert "nothing changed" in run("ruleset", "add", a_file(tmp_path, STRICT + "# a remark\n")).stdout
    again = json.loads(run("ruleset", "add", a_file(tmp_path), "--json").stdout)
    assert (again["is_new"], again["name"], again["least_loci"]) == (False, "strict", 30)
    changed = run("ruleset", "add", a_file(tmp_path, STRICT.replace("0.01", "0.02")), fails=4).stderr
    assert "pure is 0.01 there" in changed
    assert "another date or name" in changed
    newer = STRICT.replace("0.01", "0.02").replace("2026-06-01", "2027-01-01")
    run("ruleset", "add", a_file(tmp_path, newer))
    assert "strict, 2027-01-01" in run("ruleset", "use", "strict").stdout  # the newest of a name
    assert "strict, 2026-06-01" in run("ruleset", "use", "strict, 2026-06-01").stdout
    for statement in ("UPDATE rule_set SET content = ''", "DELETE FROM rule_set"):
        with pytest.raises(DBAPIError, match="a rule set is never"):
            session.execute(text(statement))
        session.rollback()


@pytest.mark.parametrize(
    ("content", "exit_code", "words"),
    [
        pytest.param(STRICT.replace("pure = 0.01", "pure = 0.6"), 5, "pure is 0.6", id="a cut-off that cannot be"),
        pytest.param(STRICT.replace("pure = 0.01\n", ""), 5, "'pure' is missing", id="a key too few"),
        pytest.param(STRICT + "species = 'bass'\n", 5, "'species' is not a key", id="a key too many"),
        pytest.param(STRICT.replace("30", "30.5"), 5, "least_loci is 30.5; a whole number", id="half a locus"),
        pytest.param(STRICT.replace("0.48", "nan"), 5, "f1_low and f1_high are nan", id="not a number"),
        pytest.param(STRICT.replace("-06-01", "-06-01T10:00:00"), 5, "dated is 2026-06-01T10:00:00;", id="a moment"),
        pytest.param(STRICT.replace('"strict"', '"""a\nb"""'), 5, "one line is wanted", id="two lines"),
        pytest.param(STRICT.replace("strict", "s" * 61), 5, "61 characters", id="too long to print"),
        pytest.param("name = ", 5, "not TOML", id="not TOML"),
        pytest.param(STRICT.replace("strict", "House Default"), 4, "comes with the program", id="our name"),
    ],
)  # fmt: skip
def test_a_faulty_file_is_refused_in_one_sentence(
    run_on_sqlite: Runner, tmp_path: Path, content: str, exit_code: int, words: str
) -> None:
    said = run_on_sqlite("ruleset", "add", a_file(tmp_path, content), fails=exit_code).stderr
    assert words in said
    assert exit_code == 4 or "strict.toml" in said
    assert len(said.strip().splitlines()) == 1
    assert len(json.loads(run_on_sqlite("ruleset", "list", "--json").stdout)["rule_sets"]) == 1


def test_a_file_or_a_rule_set_that_is_not_there(run_on_sqlite: Runner, tmp_path: Path) -> None:
    assert "no file" in run_on_sqlite("ruleset", "add", tmp_path / "none.toml", fails=3).stderr
    for command in (("show", "loose"), ("use", "loose")):
        said = run_on_sqlite("ruleset", *command, fails=3).stderr
        assert "there are: house default, 2026-05-01" in said
    run_on_sqlite("ruleset", "show", "--toml", "--json", fails=2)


def report_of(run: Runner, *more: object) -> Any:
    """The report of the lake, but for the head of the journal, which moves with every write."""
    found = json.loads(run("report", "lake", "HERON", "--json", *more).stdout)
    assert found.pop("journal_head")
    return found


def test_reports_use_the_rule_set_in_force_and_print_it(
    run: Runner, session: Session, tmp_path: Path
) -> None:
    a_lake(session)
    before = report_of(run)
    assert classes_of(before) == {"northern": 2, "F1": 2, "Florida": 1}
    assert before["rule_set"] == "house default, 2026-05-01"
    run("ruleset", "add", a_file(tmp_path))
    by_name = report_of(run, "--rule-set", "strict")
    assert report_of(run) == before  # adding alone changes nothing
    run("ruleset", "use", "strict")
    out = tmp_path / "out"
    after = report_of(run, "--out", out)
    assert (after.pop("report"), by_name.pop("report")) == ("R1", None)  # only what was written is kept
    assert after == by_name
    # a fish whose two alleles of 76 misreading explains stays northern, whatever the cut-off
    assert classes_of(after) == {"northern": 2, "intergrade": 1, "F1": 1, "Florida": 1}
    assert after["rule_set"] == "strict, 2026-06-01"
    assert after["rule_set_cut_offs"]["f1_least_h"] == 0.97
    assert after["fingerprint"] != before["fingerprint"]
    sentence = "Classes by the rule set “strict” of 2026-06-01: northern at q ≤ 0.01, Florida at q ≥ 0.99"
    assert sentence in after["rule_set_sentence"]
    assert sentence in (out / "heron.html").read_text(encoding="utf-8")
    pages = pypdfium2.PdfDocument(out / "heron.pdf")
    words = " ".join(re.sub(r"\s+", " ", page.get_textpage().get_text_bounded()) for page in pages)
    assert "Classes by the rule set “strict” of 2026-06-01" in words
    back = report_of(run, "--rule-set", "house default")
    assert back == before
    assert (
        "no rule set 'loose'"
        in run("report", "lake", "HERON", "--json", "--rule-set", "loose", fails=3).stderr
    )


def test_an_export_says_which_rule_set_named_each_fish(run: Runner, session: Session, tmp_path: Path) -> None:
    a_lake(session)
    run("ruleset", "add", a_file(tmp_path))
    run("office", "set", "BG")
    said = run("report", "export", "--out", tmp_path / "open", "--rule-set", "strict").stdout
    assert "Classes by the rule set strict, 2026-06-01." in said
    with (tmp_path / "open" / "fish.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["ancestry_class"] for row in rows] == [
        "northern",
        "intergrade",
        "F1",
        "intergrade",
        "Florida",
    ]
    assert {row["rule_set"] for row in rows} == {"strict, 2026-06-01"}


def test_a_return_is_looked_at_by_the_rule_set_in_force(
    run: Runner, session: Session, tmp_path: Path
) -> None:
    vials = a_shipment(session, 2, panel_loci=38)
    session.commit()
    file = tmp_path / "return.csv"
    rows = [["Sample", "Florida", "Het", "Loci", "Class"], [vials[0], "0.0263", "0.0526", "38", "northern"],
            [vials[1], "0.3026", "0.5000", "38", "Fx"]]  # fmt: skip
    file.write_bytes(csv_file(rows))
    preview = ("return", "preview", file, "--shipment", "SH-1", "--json")
    assert "class_disagrees" not in [one["kind"] for one in json.loads(run(*preview).stdout)["findings"]]
    run("ruleset", "add", a_file(tmp_path))
    run("ruleset", "use", "strict")
    seen = json.loads(run(*preview).stdout)["findings"]
    read = json.loads(run("return", "read", file, "--shipment", "SH-1", "--json").stdout)["findings"]
    for findings in (seen, read):
        told = [one["text"] for one in findings if one["kind"] == "class_disagrees"]
        assert len(told) == 1
        assert "is intergrade by the rule set strict, 2026-06-01" in told[0]


def test_a_database_check_counts_the_rule_sets_and_a_backup_keeps_them(
    run_on_sqlite: Runner, tmp_path: Path
) -> None:
    run_on_sqlite("ruleset", "add", a_file(tmp_path))
    run_on_sqlite("ruleset", "use", "strict")
    assert json.loads(run_on_sqlite("database", "check", "--json").stdout)["rows"]["rule_set"] == 1
    run_on_sqlite("database", "backup", tmp_path / "copy.sqlite")
    run_on_sqlite("ruleset", "use", "house default")
    run_on_sqlite("database", "restore", tmp_path / "copy.sqlite", "--replace")
    assert json.loads(run_on_sqlite("ruleset", "show", "--json").stdout)["name"] == "strict"
