"""Surveys between boat and office in one self-checking file."""

from __future__ import annotations

import json
import math
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import select
from sqlalchemy.orm import Session
from survey_support import codes, fish_of, prepared

from geneticlog.faces.app.cli import cli
from geneticlog.store.engine import database_url, open_engine
from geneticlog.store.tables import Event, Finding, Fish, Vial

ONE, TWO, THREE, FOUR, FIVE, SIX = codes(6)
WHY = ("--why", "measured again")
SURVEY = "HERON-2026"


class Place:
    """One database, at the office or on a boat."""

    def __init__(self, database: str, by: str) -> None:
        self.database, self.by = database, by

    def __call__(self, *arguments: object, input: str | None = None, fails: int = 0) -> Result:
        environment = {"GENETICLOG_DATABASE": self.database, "GENETICLOG_PERSON": self.by}
        result = CliRunner(env=environment).invoke(cli, [str(one) for one in arguments], input=input)
        if result.exception is not None and not isinstance(result.exception, SystemExit):
            raise result.exception
        assert result.exit_code == fails, result.output
        return result

    def log(self, *lines: str) -> None:
        self("fish", "log", SURVEY, "--yes", "--log", self.by, input="\n".join(lines) + "\n")

    def out(self, file: Path) -> list[dict[str, Any]]:
        """Carry out; return the lines but for what each database says of itself: its journal, and the seal."""
        self("carry", "out", SURVEY, file, "--replace")
        first, *records, _ = map(json.loads, file.read_text().splitlines())
        assert len(first.pop("journal").split(":")) == 3
        assert {one["number"] for one in records if one["table"] == "journal"} >= {1, 2}
        return [first, *(one for one in records if one["table"] != "journal")]

    def take(self, file: Path) -> dict[str, Any]:
        shown: dict[str, Any] = json.loads(self("carry", "in", file, "--json").output)
        return shown

    def fish(self) -> list[tuple[float | None, tuple[str, ...]]]:
        return [(row[2], row[5]) for row in fish_of(self.database)]

    def all(self, kind: Any) -> list[Any]:
        engine = open_engine(database_url(self.database))
        with Session(engine) as session:
            rows = list(session.scalars(select(kind).order_by(kind.id)))
            session.expunge_all()
        engine.dispose()
        return rows


@pytest.fixture
def places(database: str, tmp_path: Path, new_database: Callable[[Path], str]) -> tuple[Place, Place, Place]:
    """The office with a prepared survey (SQLite and PostgreSQL alike), and two boats that carried it in."""
    prepared(database, targets={"quality": 3})
    office = Place(database, "office")
    boats = [Place(new_database(tmp_path / f"{name}.sqlite"), name) for name in ("ann", "bob")]
    office.out(tmp_path / "start")
    for boat in boats:
        assert boat.take(tmp_path / "start")["changed"]
    return office, boats[0], boats[1]


def test_out_in_out_gives_the_same_bytes_and_twice_changes_nothing(
    places: tuple[Place, Place, Place], tmp_path: Path
) -> None:
    office, ann, _ = places
    ann.log(f"{ONE} 16.5 2.3", "12.2 x3", f"{TWO} 14 23", f"second {THREE}", "9", "undo")
    sent = ann.out(tmp_path / "ann")
    assert ann.out(tmp_path / "again") == sent
    assert office.take(tmp_path / "ann")["changed"]
    assert office.out(tmp_path / "office") == sent
    assert office.fish() == [(16.5, (ONE,)), (12.2, ()), (14.0, (TWO, THREE))]
    events = len(office.all(Event))
    assert not office.take(tmp_path / "ann")["changed"]
    assert len(office.all(Event)) == events
    assert "nothing changed" in office("carry", "in", tmp_path / "ann").output
    assert [finding.kind for finding in office.all(Finding)] == ["doubtful_measurement"]


def test_the_newer_side_wins_where_only_one_changed(
    places: tuple[Place, Place, Place], tmp_path: Path
) -> None:
    office, ann, _ = places
    ann.log(f"{ONE} 16.5 2.3", f"{TWO} 14", "9.9")
    ann.out(tmp_path / "ann")
    office.take(tmp_path / "ann")
    ann("correct", "fish", SURVEY, 1, "--length", "15.6", *WHY)
    ann("correct", "fish", SURVEY, 2, "--vial", FOUR, *WHY)
    ann("correct", "fish", SURVEY, 3, "--remove", *WHY)
    office("correct", "survey", SURVEY, "--crew", "Ann and Bob", *WHY)
    office.take(tmp_path / "ann")  # the old file: what the office changed since stands
    ann.out(tmp_path / "ann")
    shown = office.take(tmp_path / "ann")
    assert (shown["findings"], shown["n_removed"]) == ([], 1)
    assert office.fish() == [(15.6, (ONE,)), (14.0, (FOUR,))]
    office.out(tmp_path / "office")
    ann.take(tmp_path / "office")
    assert ann.out(tmp_path / "ann") == office.out(tmp_path / "office")


def test_what_both_sides_changed_is_kept_twice_with_a_finding(
    places: tuple[Place, Place, Place], tmp_path: Path
) -> None:
    office, ann, _ = places
    ann.log(f"{ONE} 16.5 2.3")
    ann.out(tmp_path / "ann")
    office.take(tmp_path / "ann")
    ann("correct", "fish", SURVEY, 1, "--length", "15.6", *WHY)
    office("correct", "fish", SURVEY, 1, "--length", "16.1", *WHY)
    ann.out(tmp_path / "ann")
    for _ in range(2):
        office.take(tmp_path / "ann")
        assert office.fish() == [(16.1, (ONE,))]
        (finding,) = office.all(Finding)
        assert finding.kind == "changed_on_both_sides"
        assert finding.text.startswith(
            "Fish 1 of survey HERON-2026 (vial BG 000 001 J) was changed here and in"
        )
        assert "length 16.1 in here, 15.6 in there. Both are kept" in finding.text
        assert finding.data.facts["theirs"]["length"] == 15.6
    office.out(tmp_path / "office")
    ann.take(tmp_path / "office")
    assert ann.fish() == [(16.1, (ONE,))]
    assert ann.out(tmp_path / "ann") == office.out(tmp_path / "office")


def test_parts_that_do_not_clash_are_put_together_and_said(
    places: tuple[Place, Place, Place], tmp_path: Path
) -> None:
    office, ann, _ = places
    ann.log(f"{ONE} 16.5 2.3", "12.2", "9.9 x4")
    ann.out(tmp_path / "ann")
    office.take(tmp_path / "ann")
    ann("correct", "fish", SURVEY, 1, "--length", "15.6", *WHY)
    ann("correct", "fish", SURVEY, 2, "--weight", "0.9", *WHY)
    ann("correct", "survey", SURVEY, "--crew", "Ann", *WHY)
    office("correct", "fish", SURVEY, 1, "--weight", "2.1", *WHY)
    office("correct", "fish", SURVEY, 2, "--weight", "0.8", *WHY)
    office("correct", "survey", SURVEY, "--remarks", "windy", *WHY)
    ann.out(tmp_path / "ann")
    said = " ".join(office("carry", "in", tmp_path / "ann").output.split())
    assert (
        "Put together: Fish 1 of survey HERON-2026 (vial BG 000 001 J): length 15.6 in taken from there"
        in said
    )
    assert "Put together: Survey HERON-2026: crew Ann taken from there" in said
    (finding,) = office.all(Finding)
    assert "Fish 2 of survey HERON-2026 (12.2 in) was changed here" in finding.text
    assert "weight 0.8 lb here, 0.9 lb there" in finding.text
    shown = json.loads(office("fish", "list", SURVEY, "--json").output)
    one = shown["fish"][0]
    assert (one["length"], one["weight"], one["size_class"]) == (15.6, 2.1, "preferred")
    assert one["relative_weight"] == pytest.approx(
        100 * 2.1 / 10 ** (-3.587 + 3.273 * math.log10(15.6)), abs=1
    )
    office.out(tmp_path / "office")
    assert ann.take(tmp_path / "office")["changed"]
    assert ann.out(tmp_path / "ann") == office.out(tmp_path / "office")
    # every face that shows the survey says that a finding is open, and how it is decided
    for words in (
        ("survey", "show", SURVEY),
        ("coverage", SURVEY),
        ("fish", "list", SURVEY),
        ("lake", "show", "HERON"),
    ):
        said = " ".join(office(*words).output.split())
        assert "1 finding open: F1: Fish 2 of survey HERON-2026 (12.2 in) was changed here" in said, words
        assert "Decide with: geneticlog finding decide F1 ACTION --why TEXT" in said
        assert json.loads(office(*words, "--json").output)["findings_open"][0]["finding"] == "F1"
    office("finding", "decide", "F1", "close", "--why", "weighed again: 0.8")
    assert "finding open" not in office("survey", "show", SURVEY).output


def test_two_boats_on_one_survey_never_clash(places: tuple[Place, Place, Place], tmp_path: Path) -> None:
    office, ann, bob = places
    ann.log(f"{ONE} 16.5", "12.2 x3")
    bob.log(f"{TWO} 17.5", "10.1", f"{ONE} 11.1")
    for boat in (ann, bob):
        boat.out(tmp_path / boat.by)
    office.take(tmp_path / "ann")
    shown = office.take(tmp_path / "bob")
    assert shown["n_renumbered"] == 2
    assert sorted(office.fish()) == [(10.1, ()), (11.1, ()), (12.2, ()), (16.5, (ONE,)), (17.5, (TWO,))]
    numbers = [fish.number for fish in office.all(Fish)]
    assert len(set(numbers)) == 5
    (finding,) = office.all(Finding)  # one vial was filled on both boats: both fish are kept
    assert "Vial BG 000 001 J was changed here" in finding.text
    assert "on fish 1 (16.5 in) here, fish 3 (11.1 in) there. Both are kept" in finding.text
    assert not office.take(tmp_path / "bob")["changed"]
    assert not office.take(tmp_path / "ann")["changed"]
    office.out(tmp_path / "office")
    for boat in (ann, bob):
        boat.take(tmp_path / "office")
        assert sorted(boat.fish(), key=str) == sorted(office.fish(), key=str) or boat is bob


def test_a_boat_prints_from_a_block_of_its_own_or_not_at_all(
    places: tuple[Place, Place, Place], tmp_path: Path
) -> None:
    office, ann, bob = places
    said = ann("label", "print", "-n", "2", "--survey", SURVEY, "--out", tmp_path / "no.pdf", fails=4).output
    assert "codes left" in said
    for boat in (ann, bob):
        office("carry", "out", SURVEY, tmp_path / f"for-{boat.by}", "--for-boat", "BG")
        assert boat.take(tmp_path / f"for-{boat.by}")["station"] is not None
        boat("label", "print", "-n", "3", "--survey", SURVEY, "--out", tmp_path / f"{boat.by}.pdf")
        boat.out(tmp_path / boat.by)
        office.take(tmp_path / boat.by)
    minted = [vial.code for vial in office.all(Vial)]
    assert len(minted) == len(set(minted)) == 26


def test_a_damaged_or_cut_file_is_refused_whole(places: tuple[Place, Place, Place], tmp_path: Path) -> None:
    office, ann, _ = places
    ann.log(f"{ONE} 16.5 2.3", "12.2 x3")
    ann.out(tmp_path / "ann")
    whole = (tmp_path / "ann").read_bytes()
    bad = tmp_path / "bad"
    places_to_hit = range(60, len(whole), max(1, len(whole) // 6))
    damaged = [whole[:at] for at in places_to_hit]
    damaged += [whole[:at] + bytes([whole[at] ^ 1]) + whole[at + 1 :] for at in places_to_hit]
    damaged += [whole.replace(b"16.5", b"15.6"), whole[:-1], whole + b"\n", b"", b"\x00" * 50, b"fish"]
    for content in damaged:
        bad.write_bytes(content)
        office("carry", "in", bad, fails=5)
    assert office.fish() == []
    assert "no such file" in office("carry", "in", tmp_path / "none", fails=3).output


def test_another_survey_of_the_same_code_is_refused(
    run: Callable[..., Result], database: str, tmp_path: Path, new_database: Callable[[Path], str]
) -> None:
    prepared(database)
    other = new_database(tmp_path / "other.sqlite")
    prepared(other)
    Place(other, "other").out(tmp_path / "file")
    said = run("carry", "in", tmp_path / "file", fails=4).output
    assert "another survey HERON-2026" in said


def test_a_file_is_not_written_over(places: tuple[Place, Place, Place], tmp_path: Path) -> None:
    (tmp_path / "there").write_text("keep")
    assert "--replace" in places[0]("carry", "out", SURVEY, tmp_path / "there", fails=4).output
    assert (tmp_path / "there").read_text() == "keep"
    places[0]("carry", "out", "NOWHERE", tmp_path / "new", fails=3)
    assert not (tmp_path / "new").exists()


LINES = st.lists(
    st.sampled_from(
        [
            f"{ONE} 16.5 2.3",
            f"{TWO} 14 23",
            f"second {THREE}",
            "12.2",
            "9.9 x4",
            "undo",
            f"{FOUR} 5 clip kept # é",
            FIVE,
        ]
    ),
    max_size=8,
)


@settings(
    max_examples=8,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(first=LINES, ours=LINES, theirs=LINES)
def test_any_two_histories_meet_and_stay_met(
    first: list[str],
    ours: list[str],
    theirs: list[str],
    tmp_path_factory: pytest.TempPathFactory,
    tmp_path: Path,
    sqlite_template: Path,
    new_database: Callable[[Path], str],
) -> None:
    folder = tmp_path_factory.mktemp("carry")
    both = []
    of_bob = tmp_path / "of_bob.sqlite"  # a station of its own: made anew, not copied from ann's
    if not of_bob.exists():
        new_database(of_bob)
    for name, template in (("ann", sqlite_template), ("bob", of_bob)):
        shutil.copy(template, folder / f"{name}.sqlite")
        both.append(Place(str(folder / f"{name}.sqlite"), name))
    ann, bob = both

    def log(place: Place, lines: list[str], name: str) -> None:
        arguments = ["fish", "log", SURVEY, "--yes", "--log", name, "--mend", str(folder / "mend")]
        environment = {"GENETICLOG_DATABASE": place.database, "GENETICLOG_PERSON": place.by}
        CliRunner(env=environment).invoke(cli, arguments, input="\n".join(lines) + "\n")

    prepared(ann.database)
    log(ann, first, "first")
    sent = ann.out(folder / "ann")
    bob.take(folder / "ann")
    assert bob.out(folder / "bob") == sent
    log(ann, ours, "ours")
    log(bob, theirs, "theirs")
    ann.out(folder / "ann")
    bob.take(folder / "ann")
    assert not bob.take(folder / "ann")["changed"]
    met = bob.out(folder / "bob")
    ann.take(folder / "bob")
    assert not ann.take(folder / "bob")["changed"]
    assert ann.out(folder / "ann") == met


def test_what_became_of_the_vials_at_the_lab_is_known_on_the_boat(
    places: tuple[Place, Place, Place], tmp_path: Path
) -> None:
    office, boat, _ = places
    file = tmp_path / "heron.carry"
    office.log(f"{ONE} 13 in", f"{TWO} 14 in", f"{THREE} 14 in", f"second {FOUR}", f"{FIVE} 13 in", "14 in")

    def quality(place: Place) -> list[int]:
        shown = json.loads(place("coverage", SURVEY, "--json").output)
        (found,) = [one for one in shown["classes"] if one["size_class"] == "quality"]
        return [found[f"n_{name}"] for name in ("caught", "swabbed", "shipped", "resulted", "failed")]

    assert (
        "Shipments and results stay here: they do not travel" in office("carry", "out", SURVEY, file).output
    )
    assert boat.take(file)["n_told"] == 0
    assert quality(boat) == [5, 4, 0, 0, 0]
    assert "carried in without its shipments and results" in boat("coverage", SURVEY).output
    assert "do not travel" not in office("coverage", SURVEY).output
    office("lab", "add", "QUILL", "Quillback (invented)")
    office("shipment", "pack", "SH-1", ONE, TWO, THREE, FOUR, "--lab", "QUILL")
    office("shipment", "send", "SH-1")
    sheet = tmp_path / "return.csv"
    sheet.write_text(f"Sample,Florida,Status\n{ONE},0.25,ok\n{TWO},,failed\n{THREE},,failed\n{FOUR},0.5,ok\n")
    office("return", "read", sheet, "--shipment", "SH-1")
    known = [5, 4, 3, 2, 1]  # the fish with a second swab is typed by that
    assert quality(office) == known
    said = office("carry", "out", SURVEY, file, "--replace").output
    assert "what became of each vial at the lab travels as it is today" in said
    assert boat.take(file)["n_told"] == 1
    assert quality(boat) == known
    assert "as reported by the shipping database on" in boat("coverage", SURVEY).output
    for place in (office, boat):  # the one swab that stayed behind waits to be packed at the office alone
        behind = [place("status").output.count("not packed"), place("inbox").output.count("not packed")]
        assert behind == ([1, 1] if place is office else [0, 0])
    assert boat.take(file)["changed"] is False
    log = ("fish", "log", SURVEY, "--yes", "--log", "boat", "--json")
    classes = json.loads(boat(*log, input=f"{SIX} 13 in\n").stdout)["classes"]
    assert [one["n_failed"] for one in classes if one["size_class"] == "quality"] == [
        1
    ]  # the tally knows of it
    boat.out(file)
    assert office.take(file)["n_told"] == 0
    assert quality(office) == quality(boat) == [6, 5, 3, 2, 1]
    office("return", "withdraw", sheet, "--why", "the lab took it back")
    office.out(file)
    boat.take(file)  # a result that was withdrawn is no outcome: nothing failed, all wait for the lab
    assert quality(office) == quality(boat) == [6, 5, 3, 0, 0]


def test_one_line_of_a_log_stored_in_two_databases_is_told_and_no_other_fish_is(
    places: tuple[Place, Place, Place], tmp_path: Path
) -> None:
    office, ann, _ = places
    asked = ("fish", "log", SURVEY, "--yes", "--log", "monday")
    office(*asked, input="14.5\n12.2\n")
    ann(*asked, input="14.5\n")  # the same log, begun again on the boat
    ann("fish", "log", SURVEY, "--yes", "--log", "tuesday", input="9.5\n")
    ann.out(tmp_path / "back")
    office.take(tmp_path / "back")
    (finding,) = office.all(Finding)
    assert finding.kind == "same_log_line"
    assert "logged there from the same line of a log as fish 1 here" in finding.text
    assert sorted(length for length, _ in office.fish() if length) == [9.5, 12.2, 14.5, 14.5]


def test_a_boat_exports_under_the_identities_of_its_office(
    places: tuple[Place, Place, Place], tmp_path: Path, new_database: Callable[[Path], str]
) -> None:
    office, ann, _ = places
    own = json.loads(office("office", "list", "--json").output)["offices"][0]["uuid"]
    cat = Place(new_database(tmp_path / "cat.sqlite"), "cat")
    cat(
        "office", "add", "BG", "--station", 7
    )  # by hand, so under a UUID of its own until the office's file comes
    assert json.loads(cat("office", "list", "--json").output)["offices"][0]["uuid"] != own
    office.out(tmp_path / "start")
    assert cat.take(tmp_path / "start")["changed"]
    cat.log(f"{ONE} 16.5 2.3", f"{TWO} 14 1.6")
    cat.out(tmp_path / "cat")
    office.take(tmp_path / "cat")
    for place, name in ((office, "o"), (cat, "c"), (ann, "a")):
        assert json.loads(place("office", "list", "--json").output)["offices"][0]["uuid"] == own
        place("report", "export", "--out", tmp_path / name)
    assert (tmp_path / "o" / "occurrence.csv").read_bytes() == (
        tmp_path / "c" / "occurrence.csv"
    ).read_bytes()
    assert not cat.take(tmp_path / "start")["changed"]
