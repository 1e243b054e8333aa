"""The program as a whole: quick help, a line for every command, faults in plain words."""

from __future__ import annotations

import subprocess
import sys

import pytest
from click.testing import CliRunner

from geneticlog.faces.cli import COMMANDS, cli

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
        "import sys; from click.testing import CliRunner; from geneticlog.faces.cli import cli;"
        "from geneticlog.faces.cli import main; sys.argv = ['geneticlog', '--help']\n"
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
