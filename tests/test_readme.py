"""The README is true: its commands run as they stand there, every command is in it, its set-up is two commands."""

from __future__ import annotations

import re
import shlex
import shutil
from pathlib import Path

import pytest
from conftest import Runner

from geneticlog.faces.app.cli import COMMANDS
from geneticlog.settings import shipped_folder

README = Path(__file__).parent.parent / "README.md"
TEXT = README.read_text(encoding="utf-8")


def commands() -> list[str]:
    by_hand = TEXT.split("## The job by hand")[1].split("\n## ")[0]
    blocks = re.findall(r"```\n(.*?)```", by_hand, flags=re.DOTALL)
    return [line for block in blocks for line in block.splitlines() if line.startswith("geneticlog ")]


def test_the_set_up_is_two_commands() -> None:
    assert len(re.findall(r"^\$ python3 -m venv ", TEXT, flags=re.MULTILINE)) == 2


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_is_in_the_readme(name: str) -> None:
    assert re.search(rf"geneticlog {name}\b", TEXT), name


def test_the_job_by_hand_runs_as_the_readme_has_it(
    run: Runner, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "by hand"
    shutil.copytree(shipped_folder("demo_data"), folder)
    monkeypatch.chdir(folder)
    assert len(commands()) > 15
    for line in commands():
        typed, _, file = line.partition(" < ")
        said = Path(file).read_text(encoding="utf-8") if file else None
        run(*shlex.split(typed)[1:], input=said)
    assert list((folder / "report").glob("*.html"))
    mistyped = run("history", "TH00002BT", fails=4).stderr
    assert "does not check" in mistyped
    assert "TH 000 02B S" in mistyped
