"""The program as a whole: quick help, a line for every command, faults in plain words."""

from __future__ import annotations

import json
import os
import subprocess
import sys

import click
import pytest
from click.testing import CliRunner
from conftest import Runner

from geneticlog.faces.app.cli import COMMANDS, cli
from geneticlog.faces.app.desk import say_table

HEAVY = {
    "numpy",
    "pandas",
    "scipy",
    "sqlalchemy",
    "alembic",
    "matplotlib",
    "typst",
    "rich",
    "qrcode",
    "jinja2",
}


def test_help_loads_nothing_heavy() -> None:
    look = (
        "import sys; from click.testing import CliRunner; from geneticlog.faces.app.cli import cli;"
        "from geneticlog.faces.app.cli import main; sys.argv = ['geneticlog', '--help']\n"
        "try: main()\nexcept SystemExit: pass\n"
        "print('LOADED', *sorted({name.split('.')[0] for name in sys.modules}))"
    )
    done = subprocess.run([sys.executable, "-c", look], capture_output=True, text=True, check=True)
    loaded = set(done.stdout.split("LOADED")[1].split())
    assert HEAVY.isdisjoint(loaded), HEAVY & loaded


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_has_help_that_begins_with_its_line(name: str) -> None:
    shown = CliRunner().invoke(cli, [name, "--help"])
    assert shown.exit_code == 0
    assert COMMANDS[name][1] in " ".join(shown.output.split())


def test_help_fits_eighty_columns() -> None:
    shown = CliRunner().invoke(cli, ["--help"], terminal_width=80)
    assert max(map(len, shown.output.splitlines())) <= 80


def test_a_command_that_is_not_there_is_wrong_usage() -> None:
    assert CliRunner().invoke(cli, ["fishing"]).exit_code == 2


def test_a_table_breaks_no_word_on_a_narrow_screen(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    import rich.console

    monkeypatch.setattr(rich.console.Console, "is_terminal", True)
    monkeypatch.setenv("COLUMNS", "60")
    monkeypatch.setenv("NO_COLOR", "1")
    say_table(
        ["size class", "standing", "remarks"], [["memorable", "none caught", "a remark of many words " * 4]]
    )
    said = capsys.readouterr().out
    assert "\x1b" not in said
    assert max(map(len, said.splitlines())) <= 60
    assert {"memorable", "standing", "caught", "remark"} <= set(said.split())


def test_a_screen_that_has_only_ascii_gets_the_words_all_the_same(run_on_sqlite: Runner) -> None:
    run_on_sqlite("lake", "add", "HERON", "Étang du Héron")
    start = [sys.executable, "-c", "from geneticlog.faces.app.cli import main; main()"]
    environment = {**os.environ, "GENETICLOG_DATABASE": run_on_sqlite.database, "PYTHONIOENCODING": "ascii"}

    def said(*arguments: str) -> str:
        done = subprocess.run(
            [*start, *arguments], capture_output=True, text=True, env=environment, check=True
        )
        assert done.stderr == ""
        return done.stdout

    assert "of a mean q, by fish in every class" in said("plan", "HERON", "--look")
    assert json.loads(said("lake", "show", "HERON", "--json"))["name"] == "Étang du Héron"


def test_every_command_answers_in_json_when_asked() -> None:
    def without(command: click.Command, path: str) -> list[str]:
        if isinstance(command, click.Group):
            context = click.Context(command)
            inner = ((name, command.get_command(context, name)) for name in command.list_commands(context))
            return [one for name, found in inner if found for one in without(found, f"{path} {name}")]
        return [] if any("--json" in option.opts for option in command.params) else [path]

    assert without(cli, "geneticlog") == []
