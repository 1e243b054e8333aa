"""Help as a map, nearest names, old names, completion, settings and status; tables on narrow screens."""

from __future__ import annotations

import json
from pathlib import Path

import click
import pytest
from click.shell_completion import BashComplete
from click.testing import CliRunner
from conftest import Runner

from geneticlog.faces.app.cli import COMMANDS, OLD_NAMES, SECTIONS, cli
from geneticlog.faces.app.desk import say_table


def groups(group: click.Group, path: str) -> list[tuple[str, click.Group]]:
    context = click.Context(group)
    inner = [(f"{path} {name}", group.get_command(context, name)) for name in group.list_commands(context)]
    return [(name, one) for name, one in inner if isinstance(one, click.Group)]


def test_every_command_is_in_one_section_of_the_help() -> None:
    listed = [name for names in SECTIONS.values() for name in names]
    assert sorted(listed) == sorted(COMMANDS.keys() - OLD_NAMES.keys())
    shown = CliRunner().invoke(cli, ["--help"], terminal_width=100).output
    assert [shown.index(f"{title}:") for title in SECTIONS] == sorted(
        shown.index(f"{title}:") for title in SECTIONS
    )


def test_no_summary_is_cut_short() -> None:
    for path, _ in groups(cli, ""):
        shown = CliRunner().invoke(cli, [*path.split(), "--help"], terminal_width=80).output
        assert "..." not in shown.split("Commands:")[1], path
        assert "…" not in shown.split("Commands:")[1], path


@pytest.mark.parametrize(
    ("words", "near"),
    [
        (["cover"], "'coverage'"),
        (["shipmnt"], "'shipment'"),
        (["lake", "lst"], "'list'"),
        (["label", "pint"], "'print'"),
        (["lake", "list", "--jsn"], "'--json'"),
    ],
)
def test_a_slip_in_a_command_is_answered_with_the_nearest(words: list[str], near: str) -> None:
    said = CliRunner().invoke(cli, words)
    assert said.exit_code == 2
    assert f"did you mean {near}" in said.output.replace("Did", "did")


@pytest.mark.parametrize(
    ("noun", "verbs"),
    [
        ("office", "add change list remove"),
        ("lab", "add change list remove show"),
        ("panel", "add change list remove show"),
        ("lake", "add list remove show"),
        ("survey", "list open remove show"),
        ("stocking", "add list"),
    ],
)
def test_every_noun_takes_the_same_verbs_and_corrections_are_under_correct(noun: str, verbs: str) -> None:
    group = dict(groups(cli, ""))[f" {noun}"]
    assert set(verbs.split()) <= set(group.list_commands(click.Context(group)))
    for verb in {"change", "correct"} - set(verbs.split()):
        said = CliRunner().invoke(cli, [noun, verb], prog_name="geneticlog")
        assert said.exit_code == 2
        if verb == "change":
            assert f"use: geneticlog correct {noun}" in said.output


def test_a_word_of_the_usual_set_leads_to_the_verb_of_the_trade() -> None:
    for words, used in ((["survey", "add"], "survey open"), (["shipment", "receive"], "shipment arrive")):
        assert f"Usage: geneticlog {used}" in CliRunner().invoke(cli, words, prog_name="geneticlog").output
    said = CliRunner().invoke(cli, ["init"], prog_name="geneticlog").output
    assert "use: geneticlog database upgrade" in said


def test_what_was_entered_by_mistake_is_removed_while_nothing_needs_it(run: Runner) -> None:
    run("office", "add", "BG")
    run("office", "add", "QX")
    run("lake", "add", "HERON", "Heron Lake")
    run("lake", "add", "HERN", "Heron Lake")
    run("lab", "add", "QUILL", "Quillback Genotyping (invented)", "--usual-days", "30")
    run("lab", "add", "QULL", "Quillback Genotyping (invented)")
    run("panel", "add", "QB38", "Thirty-eight loci")
    run("survey", "open", "HERON", "2026-05-12", "--code", "ONE")
    for noun, code in (("office", "QX"), ("lake", "HERN"), ("lab", "QULL"), ("panel", "QB38")):
        assert json.loads(run(noun, "remove", code, "--why", "mistyped", "--json").stdout) == {
            noun: code,
            "removed": True,
        }
        assert code not in run(noun, "list", "--json").stdout
    said = run("lake", "remove", "HERON", "--why", "x", fails=4).stderr
    assert "lake HERON has 1 survey, so it stays" in said
    assert "give the reason" in run("lab", "remove", "QUILL", "--why", " ", fails=4).stderr
    assert json.loads(run("lab", "show", "QUILL", "--json").stdout)["usual_days"] == 30
    run("database", "check")


def test_a_code_that_is_not_there_is_answered_with_the_nearest(run_on_sqlite: Runner) -> None:
    for code in ("HERON", "OTTER", "MINK", "TEAL", "CRANE", "BITTERN"):
        run_on_sqlite("lake", "add", code, f"{code} (invented)")
    assert "did you mean HERON?" in run_on_sqlite("lake", "show", "HEROM", fails=3).stderr


def test_a_word_like_no_command_is_sent_to_the_help() -> None:
    assert "see: geneticlog --help" in CliRunner().invoke(cli, ["zzz"], prog_name="geneticlog").output


def test_old_names_work_and_say_the_new_one(run_on_sqlite: Runner) -> None:
    run_on_sqlite("lake", "add", "HERON", "Heron Lake")
    said = run_on_sqlite("lake", "stocked", "HERON", "2025-06-01", "Florida")
    assert "old name of `geneticlog stocking add`" in said.stderr
    assert "1 " not in said.stdout.split("Lake HERON")[0]
    assert "stocked" not in CliRunner().invoke(cli, ["lake", "--help"]).output.split("Commands:")[1]
    listed = json.loads(run_on_sqlite("stocking", "list", "HERON", "--json").stdout)
    assert [one["taxon"] for one in listed["stockings"]] == ["Florida"]


def test_an_office_is_added_once_and_changed_afterwards(run_on_sqlite: Runner) -> None:
    run_on_sqlite("office", "change", "BG", "--name", "Bluff", fails=3)
    run_on_sqlite("office", "add", "BG")
    assert "office change BG" in run_on_sqlite("office", "add", "bg", fails=4).output
    run_on_sqlite("office", "change", "BG", "--name", "Bluff")
    assert "Bluff" in run_on_sqlite("office", "list").output


def test_names_in_the_database_are_completed(run_on_sqlite: Runner, monkeypatch: pytest.MonkeyPatch) -> None:
    run_on_sqlite("lake", "add", "HERON", "Heron Lake")
    run_on_sqlite("lake", "add", "OTTER", "Otter Lake")
    run_on_sqlite("survey", "open", "HERON", "2026-05-12", "--code", "HERON-2026")
    monkeypatch.setenv("GENETICLOG_DATABASE", run_on_sqlite.database)

    def completed(*words: str) -> list[str]:
        asked = BashComplete(cli, {}, "geneticlog", "_GENETICLOG_COMPLETE")
        return [item.value for item in asked.get_completions(list(words[:-1]), words[-1])]

    assert completed("report", "lake", "h") == ["HERON"]
    assert completed("plan", "") == ["HERON", "OTTER"]
    assert completed("coverage", "HER") == ["HERON-2026"]
    assert completed("lake", "show", "o") == ["OTTER"]
    assert completed("correct", "survey", "") == completed("history", "HER") == ["HERON-2026"]
    assert completed("correct", "lake", "h") == completed("report", "export", "--lake", "h") == ["HERON"]
    for words in (
        ("shipment", "show"),
        ("reconcile",),
        ("finding", "decide"),
        ("lab", "show"),
        ("panel", "show"),
    ):
        assert completed(*words, "") == []
    run_on_sqlite("lab", "add", "QUILL", "Invented")
    assert completed("lab", "change", "") == completed("shipment", "pack", "--lab", "q") == ["QUILL"]
    assert completed("label", "print", "--stock", "letter-wrap")[0].startswith("letter-wrap")
    monkeypatch.setenv("GENETICLOG_DATABASE", "/nowhere/at/all.sqlite")
    assert completed("plan", "") == []


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_completion_prints_a_script_for_the_shell(shell: str) -> None:
    said = CliRunner().invoke(cli, ["completion", shell], prog_name="geneticlog")
    assert said.exit_code == 0
    assert f"_GENETICLOG_COMPLETE={shell}_complete" in said.output


def test_status_says_which_database_as_whom_and_what_waits(run_on_sqlite: Runner) -> None:
    assert "none entered" in run_on_sqlite("status").output
    run_on_sqlite("office", "add", "TH", "--name", "Invented")
    run_on_sqlite("lake", "add", "HERON", "Heron Lake")
    run_on_sqlite("survey", "open", "HERON", "2026-05-12", "--code", "HERON-2026")
    paper = f"{run_on_sqlite.database}.pdf"
    printed = run_on_sqlite("label", "print", "-n", 2, "--survey", "HERON-2026", "--out", paper, "--json")
    vial = json.loads(printed.stdout)["vials"][0]
    run_on_sqlite("fish", "log", "HERON-2026", "--medium", "ethanol", input=f"{vial} 16 in\n")
    found = json.loads(run_on_sqlite("status", "--json").stdout)
    assert found["database"] == run_on_sqlite.database
    assert found["database_from"] == "GENETICLOG_DATABASE"
    assert (found["person"], found["person_from"]) == ("Ada Test", "GENETICLOG_PERSON")
    assert (found["n_lakes"], found["n_surveys"], found["n_fish"], found["n_vials_filled"]) == (1, 1, 1, 1)
    assert found["waiting"] == [
        {"n": 1, "what": "swabbed fish not packed", "see": "geneticlog shipment pack"}
    ]
    assert "1 swabbed fish not packed" in run_on_sqlite("status").output


def test_a_settings_file_names_database_and_person(
    run_on_sqlite: Runner, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    kept = tmp_path / "settings.toml"
    monkeypatch.setenv("GENETICLOG_SETTINGS", str(kept))
    kept.write_text(f"database = '{run_on_sqlite.database}'\nperson = 'Bo Boat'\n", encoding="utf-8")
    environment = {"GENETICLOG_DATABASE": "", "GENETICLOG_PERSON": ""}
    found = json.loads(CliRunner().invoke(cli, ["status", "--json"], env=environment).stdout)
    assert (found["database"], found["person"]) == (run_on_sqlite.database, "Bo Boat")
    assert found["database_from"] == found["person_from"] == str(kept)
    for wrong, word in (
        ("databse = 'x'", "databse"),
        ("person = 3", "text in quotes"),
        ("person", "not TOML"),
    ):
        kept.write_text(wrong, encoding="utf-8")
        said = CliRunner().invoke(cli, ["status"], env=environment)
        assert said.exit_code == 1
        assert word in said.output
        assert str(kept) in said.output


def test_a_table_too_wide_for_the_screen_becomes_blocks(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    import rich.console

    monkeypatch.setattr(rich.console.Console, "is_terminal", True)
    monkeypatch.setenv("COLUMNS", "60")
    monkeypatch.setenv("NO_COLOR", "1")
    columns = [f"column{n}" for n in range(12)]
    say_table(columns, [[f"value{n}" for n in range(12)], [None, *range(11)]])
    said = capsys.readouterr().out
    assert all(f"{name}" in said and f"value{n}" in said for n, name in enumerate(columns))
    assert max(map(len, said.splitlines())) <= 60


@pytest.mark.parametrize("width", [60, 80])
def test_no_table_loses_a_column_or_breaks_a_code(
    width: int, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    import rich.console

    monkeypatch.setattr(rich.console.Console, "is_terminal", True)
    monkeypatch.setenv("COLUMNS", str(width))
    monkeypatch.setenv("NO_COLOR", "1")
    for n in range(2, 14):
        columns = [f"short\nby {at}" for at in range(n)]
        row = ["TH 000 03J 8" if at % 3 else "recognised by its headings" for at in range(n)]
        say_table(columns, [row])
        said = capsys.readouterr().out
        assert max(map(len, said.splitlines())) <= width
        assert said.count("TH 000 03J 8") == sum(cell.startswith("TH") for cell in row)
        assert said.count("headings") == sum(cell.endswith("headings") for cell in row)
