"""Lakes, surveys, stockings, labs and panels, as a person enters them."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from conftest import Runner
from sqlalchemy import select
from sqlalchemy.orm import Session
from tests_support import on_sqlite

from geneticlog.store.tables import Event


def test_a_lake_and_its_survey_are_entered_and_shown(run: Runner) -> None:
    run("lake", "add", "heron", "Heron Lake", "--owner", "An Owner", "--area-ha", 12.5)
    opened = run("survey", "open", "Heron", "2026-05-12", "--crew", "Ada, Bo")
    assert "Survey HERON-2026-05-12 on Heron Lake" in opened.stdout
    assert "stock (8 to under 12 in)" in opened.stdout
    assert "Electrofishing can kill" in opened.stderr
    assert "No permit is recorded." in opened.stderr
    run("stocking", "add", "HERON", "2025-06-01", "Florida", "-n", 2000)
    shown = json.loads(run("lake", "show", "HERON", "--json").stdout)
    assert (shown["lake"], shown["area_ha"], shown["surveys"][0]["survey"]) == (
        "HERON",
        12.5,
        "HERON-2026-05-12",
    )
    assert shown["stockings"][0]["n_fish"] == 2000
    assert "An Owner" in run("lake", "show", "HERON").stdout
    assert json.loads(run("survey", "show", "heron-2026-05-12", "--json").stdout)["n_fish"] == 0
    assert "HERON-2026-05-12" in run("survey", "list", "--lake", "HERON").stdout
    assert json.loads(run("lake", "list", "--json").stdout)["lakes"][0]["n_surveys"] == 1


def test_a_survey_outside_its_permit_says_so(run_on_sqlite: Runner) -> None:
    run_on_sqlite("lake", "add", "HERON", "Heron Lake")
    permit = ["--permit", "P-1", "--permit-from", "2026-06-01", "--permit-to", "2026-06-30"]
    said = run_on_sqlite("survey", "open", "HERON", "2026-05-12", *permit).stderr
    assert "This date is outside the permit recorded for it." in said


def test_own_size_classes_hold_for_surveys_opened_afterwards(run_on_sqlite: Runner) -> None:
    run_on_sqlite("lake", "add", "HERON", "Heron Lake")
    run_on_sqlite("survey", "open", "HERON", "2026-05-12")
    run_on_sqlite("lake", "classes", "HERON", "--two-groups", 12)
    run_on_sqlite("survey", "open", "HERON", "2026-09-12")
    shown = [
        json.loads(run_on_sqlite("survey", "show", f"HERON-2026-{day}", "--json").stdout)
        for day in ("05-12", "09-12")
    ]
    assert shown[0]["scheme"] == "five-length"
    assert shown[1]["scheme"] != "five-length"


def test_a_lake_shows_its_classes_and_keeps_them_for_each_species(run: Runner) -> None:
    run("lake", "add", "HERON", "Heron Lake")
    run("lake", "classes", "HERON", "--inch-groups", 8, 12)
    said = run("lake", "classes", "HERON", "--species", "Alabama bass", "--two-groups", 280, "--unit", "mm")
    assert "Young: young (under 280 mm)." in said.stdout
    assert "Adult: 12 in and over." in run("lake", "classes", "HERON").stdout
    held = json.loads(run("lake", "classes", "HERON", "--species", "alabama_bass", "--json").stdout)
    assert held["size_classes"] == [
        {"size_class": "young", "adult": False, "least_mm": 0},
        {"size_class": "adult", "adult": True, "least_mm": 280},
    ]
    run("survey", "open", "HERON", "2026-05-12", "--code", "S-A", "--species", "alabama_bass")
    run("survey", "open", "HERON", "2026-05-13", "--code", "S-B")
    run("lake", "classes", "HERON", "--published")
    run("survey", "open", "HERON", "2026-05-14", "--code", "S-C")
    schemes = [json.loads(run("survey", "show", f"S-{code}", "--json").stdout)["scheme"] for code in "ABC"]
    assert schemes == ["young and adult from 280 mm", "inch groups 8 to 12 by 1", "five-length"]


@pytest.mark.parametrize(
    ("arguments", "exit_code", "words"),
    [
        (["lake", "add", "HERON", "Another"], 4, "there is a lake HERON already"),
        (["lake", "add", "1", "One"], 4, "cannot be a lake code"),
        (["lake", "add", "POND", "Pond", "--latitude", "33"], 4, "both latitude and longitude"),
        (["lake", "add", "POND", "Pond", "--latitude", "133", "--longitude", "-84"], 4, "latitude of 133"),
        (["lake", "add", "POND", "Pond", "--area-ha", "-3"], 4, "more than zero"),
        (["lake", "show", "NONE"], 3, "no lake 'NONE'; there are: HERON"),
        (["survey", "open", "HERON", "12/05/2026"], 2, "is not a date"),
        (["survey", "open", "HERON", "2026-02-30"], 2, "is not a date"),
        (["survey", "open", "HERON", "2026-05-12", "--gear", "dynamite"], 4, "is not one gear"),
        (["survey", "open", "HERON", "2026-05-12", "--species", "unicorn"], 4, "unicorn"),
        (["survey", "open", "HERON", "2026-05-12", "--effort-minutes", "0"], 4, "is not possible"),
        (["survey", "show", "NONE"], 3, "no survey 'NONE'; there is none yet"),
        (["stocking", "add", "HERON", "2024-05-12", "F1", "-n", "-4"], 4, "cannot have been stocked"),
        (["stocking", "add", "HERON", "2199-05-12", "F1"], 4, "2199-05-12 lies ahead (today is"),
        (
            ["stocking", "add", "HERON", "2024-05-12", "tiger"],
            4,
            "'tiger' is not a kind of fish known here: Florida",
        ),
        (["survey", "open", "HERON", "2199-05-12"], 4, "say with --ahead"),
        (["lake", "add", "POND", "Pond", "--country", "USA"], 4, "two letters, as in US"),
        (["correct", "lake", "HERON", "--country", "1.", "--why", "x"], 4, "two letters, as in US"),
        (["lake", "classes", "HERON", "--published", "--two-groups", "12"], 2, "give one of"),
        (["lake", "classes", "HERON", "--step", "2"], 2, "go with --inch-groups"),
        (["lake", "classes", "HERON", "--published", "--unit", "mm"], 2, "goes with --two-groups"),
        (["lake", "classes", "HERON", "--two-groups", "nan"], 4, "adult length of nan in is not possible"),
        (["lake", "classes", "HERON", "--inch-groups", "nan", "3"], 4, "first of nan in are not possible"),
        (["lake", "classes", "HERON", "--inch-groups", "8", "inf"], 4, "last of inf in are not possible"),
        (
            ["lake", "classes", "HERON", "--two-groups", "12", "--species", "trout"],
            4,
            "'trout' is not a species",
        ),
        (["lake", "classes", "HERON", "--species", "alabama_bass"], 4, "--two-groups 12"),
        (
            ["lake", "classes", "HERON", "--species", "alabama bass", "--inch-groups", "6", "20"],
            4,
            "say from which length a fish is an adult (--adult-from)",
        ),
        (["lab", "add", "x", "X"], 4, "cannot be a lab code"),
        (["lab", "change", "NONE", "--fee", "3"], 3, "no lab 'NONE'"),
        (["lab", "add", "NORTH", "North", "--layout", "none.toml"], 3, "no file none.toml"),
        (
            ["panel", "add", "P35", "Panel", "--taxon", "Florida", "--other-taxon", "florida"],
            4,
            "tells two taxa apart",
        ),
        (["office", "add", "8G"], 4, "8G"),
    ],
)
def test_what_cannot_be_is_refused_in_words(
    arguments: list[str], exit_code: int, words: str, run_on_sqlite: Runner
) -> None:
    run_on_sqlite("lake", "add", "HERON", "Heron Lake")
    assert words in run_on_sqlite(*arguments, fails=exit_code).stderr


def test_labs_panels_and_the_office_are_entered_and_listed(run: Runner, tmp_path: Path) -> None:
    run("office", "add", "bg", "--name", "Bass Group")
    run("lab", "add", "NORTH", "North Lab", "--fee", 24.5)
    run("lab", "change", "NORTH", "--fee", 26, "--usual-days", 30)
    run("panel", "add", "P35", "Thirty-five loci", "--loci", 35)
    listed = json.loads(run("lab", "list", "--json").stdout)
    assert listed["labs"][0]["fee"] == 26
    assert listed["panels"][0]["taxon"] == "Florida"
    assert listed["labs"][0]["usual_days"] == 30
    assert "recognised by headings" in run("lab", "list").stdout
    assert json.loads(run("office", "list", "--json").stdout)["offices"][0]["office"] == "BG"
    broken = tmp_path / "layout.toml"
    broken.write_text("vial = \n")
    assert "this is not TOML" in run("lab", "add", "SOUTH", "South", "--layout", broken, fails=5).stderr


@on_sqlite
def test_what_is_entered_is_shown_as_json_when_asked(run: Runner) -> None:
    def shown(*arguments: object) -> dict:
        return json.loads(run(*arguments, "--json").stdout)

    assert shown("office", "add", "BG", "--name", "Bluff")["office"] == "BG"
    assert shown("lake", "add", "HERON", "Heron Lake") == {"lake": "HERON", "name": "Heron Lake"}
    assert shown("stocking", "add", "HERON", "2024-05-12", "F1", "-n", "40")["n_fish"] == 40
    assert shown("lab", "add", "QUILL", "Quillback")["fee"] is None
    assert shown("lab", "change", "QUILL", "--fee", "22.5")["fee"] == 22.5
    assert shown("panel", "add", "P35", "Panel", "--loci", "35")["n_loci"] == 35
    run("plan", "HERON")
    opened = shown("survey", "open", "HERON", "2026-05-12")
    assert (opened["survey"], opened["scheme"], opened["targets"]["stock"]) == (
        "HERON-2026-05-12",
        "five-length",
        8,
    )


@pytest.mark.parametrize("fee", ["-1", "nan", "inf"])
def test_a_fee_that_cannot_be_is_refused(run_on_sqlite: Runner, fee: str) -> None:
    run_on_sqlite("lab", "add", "QUILL", "Quillback")
    assert (
        f"a fee of {fee} is not possible"
        in run_on_sqlite("lab", "change", "QUILL", f"--fee={fee}", fails=4).stderr
    )
    assert (
        f"a fee of {fee} is not possible"
        in run_on_sqlite("lab", "add", "OTHER", "Other", f"--fee={fee}", fails=4).stderr
    )


# Least total lengths of stock, quality, preferred, memorable and trophy: Gabelhouse (1984), as tabled in FSA 0.10.0
PUBLISHED = {
    "largemouth bass": {"mm": (200, 300, 380, 510, 630), "in": (8, 12, 15, 20, 25)},
    "smallmouth bass": {"mm": (180, 280, 350, 430, 510), "in": (7, 11, 14, 17, 20)},
    "spotted bass": {"mm": (180, 280, 350, 430, 510), "in": (7, 11, 14, 17, 20)},
    "bluegill": {"mm": (80, 150, 200, 250, 300), "in": (3, 6, 8, 10, 12)},
    "black crappie": {"mm": (130, 200, 250, 300, 380), "in": (5, 8, 10, 12, 15)},
    "white crappie": {"mm": (130, 200, 250, 300, 380), "in": (5, 8, 10, 12, 15)},
}


@pytest.mark.parametrize("unit", ["mm", "in"])
@pytest.mark.parametrize("species", PUBLISHED)
def test_a_fish_at_each_limit_and_just_below_is_judged_in_the_unit_measured(
    run_on_sqlite: Runner, species: str, unit: str
) -> None:
    run_on_sqlite("lake", "add", "HERON", "Heron Lake")
    run_on_sqlite("plan", "HERON", "--species", species, "--wanted", 5)
    run_on_sqlite(
        *("survey", "open", "HERON", "2026-05-12", "--code", "S-1"),
        "--species",
        species,
        "--length-unit",
        unit,
    )
    step = 1 if unit == "mm" else 0.1
    lengths = [length for limit in PUBLISHED[species][unit] for length in (limit, limit - step)]
    log = "".join(f"{length:g}\n" for length in lengths)
    run_on_sqlite("fish", "log", "S-1", "--pipe", "--yes", input=log)
    document = json.loads(run_on_sqlite("coverage", "S-1", "--json").stdout)
    assert [row["n_caught"] for row in document["classes"]] == [1, 2, 2, 2, 2, 1]
    assert {row["target"] for row in document["classes"]} == {5}
    assert document["scheme"] == "five-length"


def test_a_stocking_is_corrected_with_its_reason_and_the_old_values_stay(
    run: Runner, session: Session
) -> None:
    def stockings() -> list[dict]:
        return json.loads(run("lake", "show", "HERON", "--json").stdout)["stockings"]

    run("lake", "add", "HERON", "Heron Lake (invented)")
    run("stocking", "add", "HERON", "2023-02-21", "Florida bass", "-n", 500)
    run("stocking", "add", "HERON", "2023-02-21", "tiger", "--yes")
    run("stocking", "add", "HERON", "2024-03-01", "Tiger")  # this lake's own word by now
    asked = ("correct", "stocking", "HERON", "2023-02-21")
    assert "name one with --of KIND" in run(*asked, "-n", 5, "--why", "w", fails=4).stderr
    assert "not 'F1'" in run(*asked, "--of", "F1", "-n", 5, "--why", "w", fails=3).stderr
    assert "no stocking on 2020-01-01; there are: 2023" in run(
        "correct", "stocking", "HERON", "2020-01-01", "-n", 5, "--why", "w", fails=3
    ).stderr  # fmt: skip
    mended = (
        "--stocked-on",
        "2023-03-21",
        "--taxon",
        "F1",
        "-n",
        600,
        "--size",
        "2 in",
        "--source",
        "a truck",
    )
    said = run(*asked, "--of", "florida bass", *mended, "--why", "the receipt says so").stdout
    assert "date: 2023-02-21 -> 2023-03-21" in said
    assert stockings()[1] == {
        "stocked_on": "2023-03-21", "taxon": "F1", "n_fish": 600, "size": "2 in", "source": "a truck",
    }  # fmt: skip
    event = session.scalars(select(Event).where(Event.verb == "corrected_stocking")).one()
    assert (json.loads(event.old or "")["n_fish"], json.loads(event.new or "")["n_fish"]) == (500, 600)
    assert event.why == "the receipt says so"
    for wrong, fails, words in (
        (("--stocked-on", "2199-01-01"), 4, "lies ahead"),
        (("--taxon", "unicorn"), 4, "confirm it with --yes"),
        (("-n", 0), 4, "0 fish cannot"),
        (("--remove", "-n", 4), 2, "give it alone"),
        ((), 2, "say what to correct"),
    ):
        assert words in run(*asked, *wrong, "--why", "w", fails=fails).stderr
    assert "2023-02-21, tiger" in run(*asked, "--remove", "--why", "never was").stdout
    assert [one["taxon"] for one in stockings()] == ["F1", "Tiger"]


def test_a_survey_opened_by_mistake_is_asked_about_and_can_be_removed(
    run: Runner, session: Session, tmp_path: Path
) -> None:
    run("office", "add", "BG")
    run("lake", "add", "HERON", "Heron Lake (invented)")
    run("survey", "open", "HERON", "2026-05-12", "--code", "ONE")
    asked = ("survey", "open", "HERON", "2026-05-12", "--code", "TWO")
    assert "on 2026-05-12 already, ONE; log into that one, or say with --again" in run(*asked, fails=4).stderr
    run(*asked, "--again")
    run("survey", "open", "HERON", "2199-05-12", "--code", "FAR", "--ahead")
    run("survey", "open", "HERON", "2026-05-12", "--code", "GILLS", "--species", "bluegill")
    for code in ("TWO", "FAR"):
        assert f"Removed survey {code}" in run("survey", "remove", code, "--why", "opened by mistake").stdout
    lines = json.loads(run("survey", "list", "--json").stdout)["surveys"]
    assert {line["survey"] for line in lines} == {"ONE", "GILLS"}
    run("survey", "show", "TWO", fails=3)
    event = session.scalars(select(Event).where(Event.verb == "withdrawn", Event.subject == "TWO")).one()
    assert (event.by, event.why) == ("Ada Test", "opened by mistake")
    assert json.loads(event.old or "")["surveyed_on"] == "2026-05-12"
    run("fish", "log", "ONE", input="14 in\n15 in\n")
    refused = run("survey", "withdraw", "ONE", "--why", "x", fails=4).stderr
    assert "old name of `geneticlog survey remove`" in refused
    assert "survey ONE has 2 fish, so it stays" in refused
    for n, words in ((1, "1 label printed for it"), (2, "3 labels printed for it")):
        run("label", "print", "-n", str(n), "--survey", "GILLS", "--out", tmp_path / f"{n}.pdf")
        assert (
            f"survey GILLS has {words}, so it stays"
            in run("survey", "remove", "GILLS", "--why", "x", fails=4).stderr
        )
    assert "give the reason" in run("survey", "remove", "GILLS", "--why", " ", fails=4).stderr


def test_a_date_that_is_none_is_told_as_everywhere(run_on_sqlite: Runner) -> None:
    run_on_sqlite("lake", "add", "HERON", "Heron Lake (invented)")
    run_on_sqlite("survey", "open", "HERON", "2026-05-12", "--code", "ONE")
    said = run_on_sqlite(
        "correct", "survey", "ONE", "--surveyed-on", "2026-99-01", "--why", "x", fails=2
    ).stderr
    far = run_on_sqlite(
        "correct", "survey", "ONE", "--surveyed-on", "2199-05-12", "--why", "x", fails=4
    ).stderr
    assert "2199-05-12 is more than a year ahead" in far
    assert "'2026-99-01' is not a date; write it as 2026-05-12 (year-month-day)" in said


def test_panels_are_listed_shown_and_changed_with_their_markers(run: Runner, tmp_path: Path) -> None:
    assert "No panel is entered yet" in run("panel", "list").stdout
    table = tmp_path / "markers.toml"
    table.write_text('[markers]\nL01 = "B"\n"L-02" = "c"\n')
    run("panel", "add", "P2", "Two loci", "--loci", 2, "--markers", table, "--source", "invented")
    run("panel", "add", "P9", "Nine loci")
    listed = json.loads(run("panel", "list", "--json").stdout)["panels"]
    assert [(one["panel"], one["n_loci"], one["n_markers"]) for one in listed] == [
        ("P2", 2, 2),
        ("P9", None, 0),
    ]
    shown = json.loads(run("panel", "show", "p2", "--json").stdout)
    assert (shown["markers"], shown["source"]) == ({"L01": "B", "L-02": "c"}, "invented")
    assert "2 markers with the Florida allele: L01 B, L-02 c" in run("panel", "show", "P2").stdout
    assert "loci: not said" in run("panel", "show", "P9").stdout
    run("panel", "change", "P9", "--markers", table, "--loci", 9, "--name", "Nine")
    changed = json.loads(run("panel", "show", "P9", "--json").stdout)
    assert (changed["name"], changed["n_loci"], len(changed["markers"])) == ("Nine", 9, 2)
    assert "there are: P2, P9" in run("panel", "show", "P7", fails=3).stderr
    assert "2 markers, and the panel 1 loci" in run("panel", "change", "P9", "--loci", 1, fails=4).stderr


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("x = 1\n", "row 1, column x: 1 is not one letter"),
        ("[markers]\nL01 = 1\n", "row 2, column L01: 1 is not one letter"),
        ('[markers]\nL01 = "B"\nL02 = "N"\n', "row 3, column L02: 'N' is not one letter"),
        ('coding = "pairs"\n[markers]\nL01 = "B"\n', "row 1, column coding: there is no such key beside"),
        ("[markers]\n", "there is no marker in it"),
        ("", "there is no marker in it"),
        ('markers = "B"\n', "there is no marker in it"),
    ],
)
def test_a_marker_table_at_fault_is_refused_with_file_line_and_the_way_out(
    run_on_sqlite: Runner, tmp_path: Path, text: str, words: str
) -> None:
    table = tmp_path / "markers.toml"
    table.write_text(text)
    said = run_on_sqlite("panel", "add", "P1", "One", "--markers", table, fails=5).stderr
    assert words in said
    assert str(table) in said
    assert 'under [markers] one line a marker with one letter, such as M01 = "B"' in said
    assert "No panel" in run_on_sqlite("panel", "list").stdout


def test_a_folder_that_is_missing_is_named_by_every_command_that_writes_a_file(
    run_on_sqlite: Runner, tmp_path: Path
) -> None:
    run = run_on_sqlite
    run("office", "add", "BG")
    run("lake", "add", "HERON", "Heron Lake (invented)")
    run("survey", "open", "HERON", "2026-05-12", "--code", "ONE")
    run("lab", "add", "QUILL", "Quillback (invented)")
    sheet = tmp_path / "return.csv"
    sheet.write_text("Sample,Florida\nBG000001J,0.5\n")
    nowhere = tmp_path / "nowhere"
    for arguments in (
        ["plan", "HERON", "--figure", nowhere / "x.png"],
        ["carry", "out", "ONE", nowhere / "x.carry"],
        ["label", "print", "-n", 1, "--out", nowhere / "x.pdf"],
        ["return", "preview", sheet, "--save-layout", nowhere / "x.toml"],
        ["database", "backup", nowhere / "x.sqlite"],
    ):
        said = run(*arguments, fails=3).stderr
        name = Path(str(arguments[-1])).name
        assert f"there is no folder {nowhere} to write {name} into; make it, or name another place" in said
    assert not nowhere.exists()
    run("plan", "HERON", "--stored", fails=3)  # nothing was stored beside the figure that could not be
