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
    fences = re.findall(r"^```(\w*)\n(.*?)^```$", by_hand, flags=re.DOTALL | re.MULTILINE)
    blocks = [text for language, text in fences if not language]
    return [line for block in blocks for line in block.splitlines() if line.startswith("geneticlog ")]


def printed() -> list[str]:
    """What stands in the README as output: its fences of text."""
    return re.findall(r"^```text\n(.*?)^```$", TEXT, flags=re.DOTALL | re.MULTILINE)


def test_the_set_up_is_two_commands_and_the_same_two_in_powershell() -> None:
    posix = re.findall(r"^\$ python3 -m venv .*$", TEXT, flags=re.MULTILINE)
    windows = re.findall(r"^py -m venv .*$", TEXT, flags=re.MULTILINE)
    assert len(posix) == len(windows) == 2
    for ours, theirs in zip(posix, windows, strict=True):
        alike = ours.removeprefix("$ python3").replace(" &&", ";").replace(".venv/bin/", ".venv\\Scripts\\")
        assert theirs == "py" + alike.replace(" --replace", " --replace")


def test_the_answer_and_the_figure_are_those_of_the_demo(tmp_path: Path) -> None:
    import numpy as np
    from click.testing import CliRunner
    from PIL import Image

    from geneticlog.faces.app.cli import cli

    folder = tmp_path / "demo"
    told = CliRunner().invoke(cli, ["demo", str(folder)])
    assert told.exit_code == 0, told.output
    assert " ".join(printed()[0].split()) in " ".join(told.output.split())
    ours, theirs = (
        np.asarray(Image.open(one).convert("L").resize((400, 300)), dtype=float)
        for one in (shipped_folder("demo_data") / "heron_sizes.png", folder / "report" / "heron_sizes.png")
    )
    # the same figure, but for how a version of the drawing library smooths its letters
    assert np.abs(ours - theirs).mean() < 2


def test_the_prompt_answers_as_the_readme_shows(run_on_sqlite: Runner, tmp_path: Path) -> None:
    run = run_on_sqlite
    run("office", "add", "TH")
    run("lake", "add", "HERON", "Heron Lake")
    run("plan", "HERON", "--wanted", 8)
    run("survey", "open", "HERON", "2026-05-12", "--code", "HERON-2026")
    run("label", "print", "-n", 5, "--survey", "HERON-2026", "--out", tmp_path / "labels.pdf")
    command, *lines = printed()[1].splitlines()
    typed = [line.partition("> ")[2] for line in lines if "> " in line]
    said = run(
        *shlex.split(command.removeprefix("$ geneticlog ")), "--prompt", input="\n".join(typed) + "\n"
    ).output
    for line in lines:
        assert (line.partition("> ")[0] + "> " if "> " in line else line.strip()) in said, line


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
