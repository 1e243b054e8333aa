"""A scanner's stored log through a pipe: nothing lost, nothing stored twice."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import select
from sqlalchemy.orm import Session
from survey_support import codes, fish_of, prepared
from tests_support import on_sqlite

from geneticlog.faces.app.cli import cli
from geneticlog.store.tables import Finding

Run = Callable[..., Result]
ONE, TWO, THREE, FOUR = codes(4)
LOG = [
    f"{ONE} 16.5 2.3",
    "12.2",
    "12.2",
    "10.1 x4",
    f"16.5 {TWO}",
    "1.9 lb",
    f"{THREE},13.5,1.2",
    f"second {FOUR}",
    "9.9",
    "undo",
]


@pytest.fixture(autouse=True)
def _here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def piped(run: Run, *lines: str, options: tuple[str, ...] = (), fails: int = 0) -> Result:
    return run("fish", "log", "HERON-2026", *options, input="\n".join(lines) + "\n", fails=fails)


def test_a_whole_log_is_stored_and_its_replay_changes_nothing(run: Run, database: str) -> None:
    prepared(database)
    said = piped(run, *LOG)
    assert "8 stored, 0 stored before, 1 undone: 9 fish" in said.output
    stored = fish_of(database)
    assert stored == [
        (1, 1, 16.5, "in", "preferred", (ONE,)),
        (2, 1, 12.2, "in", "quality", ()),
        (3, 1, 12.2, "in", "quality", ()),
        (4, 4, 10.1, "in", "stock", ()),
        (5, 1, 16.5, "in", "preferred", (TWO,)),
        (6, 1, 13.5, "in", "quality", (THREE, FOUR)),
    ]
    again = piped(run, *LOG)
    assert "0 stored, 8 stored before, 1 undone: 9 fish" in again.output
    assert fish_of(database) == stored
    grown = piped(run, *LOG, "12.2", "11.1 x2")
    assert "2 stored, 8 stored before" in grown.output
    assert fish_of(database) == [*stored, (7, 1, 12.2, "in", "quality", ()), (8, 2, 11.1, "in", "stock", ())]


def test_a_card_at_fault_goes_to_a_file_that_is_mended_and_replayed(
    run: Run, database: str, tmp_path: Path
) -> None:
    prepared(database)
    log = ["BG000001K 16.5 2.3", "12.2", f"{TWO} 165", THREE, "14.5", "second nonsense"]
    said = piped(run, *log, fails=4)
    assert "line 1: not stored: 'BG000001K' does not check" in said.output
    assert "lines 4 to 6: not stored: 'nonsense' is not understood" in said.output
    assert "HERON-2026.mend.txt" in said.output
    assert [row[2] for row in fish_of(database)] == [12.2]
    mend = tmp_path / "HERON-2026.mend.txt"
    mended = (
        mend.read_text()
        .replace("BG000001K", ONE)
        .replace(f"{TWO} 165", f"{TWO} 16.5")
        .replace("second nonsense", f"second {FOUR}")
    )
    assert "5 stored" in run("fish", "log", "HERON-2026", input=mended).output
    stored = fish_of(database)
    assert [(row[0], row[2], row[5]) for row in stored] == [
        (1, 12.2, ()),
        (2, 16.5, (ONE,)),
        (3, 16.5, (TWO,)),
        (4, 14.5, (THREE, FOUR)),
    ]
    run("fish", "log", "HERON-2026", input=mended)
    assert fish_of(database) == stored
    piped(run, *log, fails=4)
    assert fish_of(database) == stored
    assert mend.with_name("HERON-2026.mend-2.txt").exists()


@on_sqlite
def test_a_mend_file_of_an_older_program_is_read(run: Run, database: str) -> None:
    prepared(database)
    piped(run, f"{ONE} 16.5")
    piped(
        run,
        "#@ log:main:0123456789abcdef:1 fish 1",
        f"second {TWO}",
        "#@ log:main:0123456789abcdee:1",
        "12.2",
    )
    assert [(row[2], row[5]) for row in fish_of(database)] == [(16.5, (ONE, TWO)), (12.2, ())]


@on_sqlite
@pytest.mark.parametrize(
    ("log", "options", "fish"),
    [
        ([ONE, "16.5", TWO, "12.5", THREE, "9"], (), [(ONE, 16.5), (TWO, 12.5), (THREE, 9)]),
        (["16.5", ONE, "12.5", TWO], (), [(ONE, 16.5), (TWO, 12.5)]),
        (["16.5", ONE, "12.5", "9", TWO], ("--order", "length,vial"), [(ONE, 16.5), (None, 12.5), (TWO, 9)]),
        ([ONE, "16.5", "12.5", TWO, "9"], ("--order", "vial,length"), [(ONE, 16.5), (None, 12.5), (TWO, 9)]),
        (["20", "5.2", ONE], ("--order", "length,weight,vial"), [(ONE, 20)]),
        ([f"16.5{ONE}", f"]Q1{TWO}\t12.5"], (), [(ONE, 16.5), (TWO, 12.5)]),
    ],
)
def test_lines_of_their_own_make_the_fish_that_the_crew_had(
    run: Run, database: str, log: list[str], options: tuple[str, ...], fish: list[tuple[str | None, float]]
) -> None:
    prepared(database)
    said = piped(run, *log, options=options).output
    assert ("Recognised, from the first fish on" in said) == (options == () and log[0] in (ONE, "16.5"))
    assert [((row[5] or (None,))[0], row[2]) for row in fish_of(database)] == fish
    again = piped(run, *log, options=options).output
    assert " 0 stored," in again
    assert len(fish_of(database)) == len(fish)


@on_sqlite
@pytest.mark.parametrize(
    ("log", "lengths", "n_unstored"),
    [
        (["14", "", "16.5", ONE, "12.5", "11"], [14, 12.5, 11], 2),  # whose vial it is, nobody can say
        (["20", "5.2", ONE, "16.5 2.3"], [16.5], 3),  # a weight, or the next fish
        (["14", "1.1 lb", "20", "5.2"], [14], 2),
        ([ONE, TWO, "12.5 1.1", "9"], [9], 3),  # two vials and one length
        (["BG000001K", "16.5", "9", "12 1.1"], [9, 12], 2),  # the measure belongs to the scan that failed
        ([f"{ONE} 16.5", "380 33 2", "9"], [16.5, 9], 1),
        ([f"{ONE} 16.5 2.3", "16-1/2 2-5x", TWO, "9 0.4"], [16.5, 9], 2),
    ],
)
def test_what_only_a_person_can_say_goes_to_the_mend_file_whole(
    run: Run, database: str, tmp_path: Path, log: list[str], lengths: list[float], n_unstored: int
) -> None:
    prepared(database)
    piped(run, *log, fails=4)
    assert [row[2] for row in fish_of(database)] == lengths
    lines = (tmp_path / "HERON-2026.mend.txt").read_text().splitlines()
    assert len([line for line in lines if not line.startswith("#")]) == n_unstored


@on_sqlite
def test_a_scan_after_a_fish_only_measured_is_refused_with_the_way_out(run: Run, database: str) -> None:
    prepared(database)
    said = " ".join(piped(run, f"{ONE} 16.5", "12.5", TWO, "9 0.4", fails=4).output.split())
    assert (
        "lines 2 to 3: not stored: a question that a pipe cannot answer: vial BG 000 002 H: of the fish on the"
        in said
    )
    assert "or name the order of work with --order" in said
    assert [row[2] for row in fish_of(database)] == [16.5, 9]


def test_a_log_that_was_mended_in_place_stores_only_what_is_new(run: Run, database: str) -> None:
    prepared(database)
    piped(run, "12.2", "BG000001K 16.5", "10.1 x4", fails=4)
    piped(run, "12.2", f"{ONE} 16.5", "10.1 x4")
    assert [(row[1], row[2]) for row in fish_of(database)] == [(1, 12.2), (4, 10.1), (1, 16.5)]


def test_another_log_with_a_line_alike_loses_no_fish(run: Run, database: str, tmp_path: Path) -> None:
    prepared(database)
    piped(run, "12.2", "10.1")
    said = piped(run, "12.2", "14.4", fails=4)
    assert "the same as a line stored before as fish 1" in said.output
    mend = tmp_path / "HERON-2026.mend.txt"
    for _ in range(2):
        run("fish", "log", "HERON-2026", input=mend.read_text())
        assert [row[2] for row in fish_of(database)] == [12.2, 10.1, 14.4, 12.2]


def test_another_site_is_another_log(run: Run, database: str, tmp_path: Path) -> None:
    prepared(database)
    west, east = ("--site", "West Dam"), ("--site", "east shore")
    first = [f"{ONE} 16.5", "12.2", "12.2"]
    piped(run, *first, options=west)
    said = piped(run, f"{TWO} 14.5", "12.2", options=east)  # a length met before, on the other shore
    assert "2 stored, 0 stored before" in said.output
    for options in (west, ("--site", "west  dam"), (), east):  # that log again, whatever site is named
        said = piped(run, *first, options=options)
        assert "0 stored, 3 stored before" in said.output
    assert "1 stored, 3 stored before" in piped(run, *first, "10.1", options=west).output
    assert [row[2] for row in fish_of(database)] == [16.5, 12.2, 12.2, 14.5, 12.2, 10.1]

    piped(run, "9.9", options=("--site", "bay"))
    said = piped(run, "9.9", "8.8", options=("--site", "inlet"), fails=4)  # no vial tells the two logs apart
    about = [line for line in said.output.splitlines() if line.startswith("line 1:")]
    assert about == [
        "line 1: not stored: the same as a line stored before as fish 7; delete it if it is that fish, keep it if not"
    ]
    assert "--site inlet < HERON-2026.mend.txt" in said.output
    mend = (tmp_path / "HERON-2026.mend.txt").read_text()
    run("fish", "log", "HERON-2026", "--site", "inlet", input=mend)
    assert [row[2] for row in fish_of(database)][6:] == [9.9, 8.8, 9.9]


def test_two_named_logs_are_told_apart(run: Run, database: str) -> None:
    prepared(database)
    for _ in range(2):
        piped(run, "12.2", options=("--log", "morning"))
        piped(run, "12.2", options=("--log", "evening"))
    assert [row[2] for row in fish_of(database)] == [12.2, 12.2]


def test_a_pipe_has_no_answer_to_a_question_unless_told(run: Run, database: str, session: Session) -> None:
    prepared(database)
    said = piped(run, f"{ONE} 16.5 23", fails=4)
    assert "a question that a pipe cannot answer: 23 lb at 16.5 in" in said.output
    assert fish_of(database) == []
    piped(run, f"{ONE} 16.5 23", options=("--yes",))
    assert len(fish_of(database)) == 1
    assert session.scalars(select(Finding.kind)).all() == ["doubtful_measurement"]


def test_the_same_vial_with_other_values_is_refused(run: Run, database: str) -> None:
    prepared(database)
    piped(run, f"{ONE} 16.5 2.3")
    assert "is already on fish 1" in piped(run, f"{ONE} 14 2.3", fails=4).output
    assert fish_of(database) == [(1, 1, 16.5, "in", "preferred", (ONE,))]


@on_sqlite
def test_a_mend_file_can_be_named(run: Run, database: str, tmp_path: Path) -> None:
    prepared(database)
    piped(run, "nonsense", options=("--not-stored", str(tmp_path / "left.txt")), fails=4)
    assert "nonsense" in (tmp_path / "left.txt").read_text()


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "bom-be"])
@pytest.mark.parametrize("way", ["file", "pipe"])
def test_a_log_is_read_in_the_encodings_that_scanners_and_shells_write(
    run_on_sqlite: Run, sqlite_database: str, tmp_path: Path, encoding: str, way: str
) -> None:
    prepared(sqlite_database)
    text = f"{ONE}\r\n16½\r\n12.5 # Škofja\r\n"
    content = b"\xfe\xff" + text.encode("utf-16-be") if encoding == "bom-be" else text.encode(encoding)
    file = tmp_path / "log.txt"
    file.write_bytes(content)
    environment = {"GENETICLOG_DATABASE": sqlite_database, "GENETICLOG_PERSON": "Ada Test"}
    if way == "file":
        run_on_sqlite("fish", "log", "HERON-2026", file)
    else:
        CliRunner(env=environment).invoke(cli, ["fish", "log", "HERON-2026"], input=content)
    shown = json.loads(run_on_sqlite("fish", "list", "HERON-2026", "--json").output)["fish"]
    assert [(one["length"], one["vials"]) for one in shown] == [(16.5, [ONE]), (12.5, [])]
    assert shown[1]["remarks"] == "Škofja"
    assert "no such file" in run_on_sqlite("fish", "log", "HERON-2026", tmp_path / "no.txt", fails=3).output


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
def test_a_live_pipe_is_read_as_it_comes(sqlite_database: str, encoding: str) -> None:
    prepared(sqlite_database)
    environment = {"GENETICLOG_DATABASE": sqlite_database, "GENETICLOG_PERSON": "Ada Test"}
    command = [sys.executable, "-m", "geneticlog", "fish", "log", "HERON-2026"]
    content = f"{ONE}\r\n16½\r\n12.5\r\n".encode(encoding)
    done = subprocess.run(command, input=content, capture_output=True, env=os.environ | environment)
    assert done.returncode == 0, done.stderr
    assert [row[2] for row in fish_of(sqlite_database)] == [16.5, 12.5]


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(lines=st.lists(st.sampled_from([*LOG, "BG000001K 9", "165", "x", "14 x2"]), max_size=12))
def test_any_log_replayed_stores_nothing_twice(
    lines: list[str], tmp_path_factory: pytest.TempPathFactory, sqlite_template: Path
) -> None:
    folder = tmp_path_factory.mktemp("log")
    shutil.copy(sqlite_template, folder / "log.sqlite")
    database, mend = str(folder / "log.sqlite"), str(folder / "mend.txt")
    prepared(database)
    stored = []
    for _ in range(2):
        environment = {"GENETICLOG_DATABASE": database, "GENETICLOG_PERSON": "Ada Test"}
        arguments = ["fish", "log", "HERON-2026", "--mend", mend]
        result = CliRunner(env=environment).invoke(cli, arguments, input="\n".join(lines) + "\n")
        assert result.exit_code in (0, 4)
        stored.append([row[:5] for row in fish_of(database)])
    assert stored[0] == stored[1]  # a second swab refused for want of a first may find its fish in the replay


@on_sqlite
def test_with_json_a_pipe_ends_in_one_document(run: Run, database: str) -> None:
    prepared(database, targets={"quality": 2})
    log = f"{ONE} 12.5\n9 x3\nnonsense\n9.5 0.4\n9.6 x2\nundo\n"
    answered = run("fish", "log", "HERON-2026", "--json", input=log, fails=4)
    assert "lines 3 to 4: not stored" in answered.stderr
    document = json.loads(answered.stdout)
    counts = ("survey", "n_stored", "n_already", "n_undone", "n_fish", "mend_file")
    assert [document[name] for name in counts] == ["HERON-2026", 3, 0, 1, 4, "HERON-2026.mend.txt"]
    assert [(one["row"], one["line"]) for one in document["not_stored"]] == [(3, "nonsense"), (4, "9.5 0.4")]
    quality = next(one for one in document["classes"] if one["size_class"] == "quality")
    assert quality == {"size_class": "quality", "n_caught": 1, "n_swabbed": 1, "n_failed": 0, "target": 2}
    again = json.loads(run("fish", "log", "HERON-2026", "--json", input=f"{ONE} 12.5\n").stdout)
    assert (again["n_stored"], again["n_already"], again["not_stored"], again["mend_file"]) == (
        0,
        1,
        [],
        None,
    )
    refused = run("fish", "log", "HERON-2026", "--json", "--prompt", fails=2)
    assert "--json is for a pipe" in refused.stderr


def test_undo_takes_back_the_last_line_and_names_it(run: Run, database: str) -> None:
    prepared(database)
    lines = ["12", f"{ONE} 13.9", "undo", "14.1", f"{TWO} {THREE} 9", "undo", "11", "undo", "done"]
    said = run("fish", "log", "HERON-2026", input="\n".join(lines) + "\n").output
    assert "line 3: undone: BG 000 001 J, 13.9 in" in said
    assert f"line 6: line 5 taken back, not stored: {TWO} {THREE} 9" in said
    assert "line 8: undone: 11 in" in said
    assert [(row[2], row[5]) for row in fish_of(database)] == [(12.0, ()), (14.1, ())]
