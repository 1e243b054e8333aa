"""The README is true: its commands run as they stand there, every command is in it, its set-up is two commands."""

from __future__ import annotations

import json
import re
import shlex
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any
from uuid import uuid4

import pandas
import pytest
from conftest import Runner
from lakes_support import add_fish, add_lake, add_panel, add_result, add_survey, add_vial
from sqlalchemy.orm import Session

from geneticlog.faces.app.cli import COMMANDS
from geneticlog.settings import shipped_folder
from geneticlog.store.engine import database_url, open_engine
from geneticlog.store.tables import Office

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


def fence(language: str) -> str:
    """Return the one fence of a language."""
    (text,) = re.findall(rf"^```{language}\n(.*?)^```$", TEXT, flags=re.DOTALL | re.MULTILINE)
    return str(text)


def test_the_answer_and_the_figure_are_those_of_the_demo(demo: tuple[Path, str]) -> None:
    import numpy as np
    from PIL import Image

    folder, output = demo
    assert " ".join(printed()[0].split()) in " ".join(output.split())
    ours, theirs = (
        np.asarray(Image.open(one).convert("L").resize((400, 300)), dtype=float)
        for one in (shipped_folder("demo_data") / "heron_sizes.png", folder / "report" / "heron_sizes.png")
    )
    # the same figure, but for how a version of the drawing library smooths its letters
    assert np.abs(ours - theirs).mean() < 2


def test_the_notebook_lines_run_and_the_examples_of_the_tables_are_true(
    demo: tuple[Path, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    import doctest

    import geneticlog
    from geneticlog.faces.notebook import log as tables

    monkeypatch.chdir(demo[0])
    names: dict[str, object] = {}
    exec(fence("python"), names)
    assert 0.2 < names["whole_lake"].mean < 0.4
    with geneticlog.open("heron.sqlite") as log:
        done = doctest.testmod(tables, extraglobs={"log": log})
    assert done.attempted > 12
    assert done.failed == 0
    names["log"].close()


def read_as_r_does() -> tuple[pandas.DataFrame, pandas.DataFrame]:
    """What the lines for R call ``typed`` and ``same``, read without R."""
    import sqlite3

    lines = fence("r")
    (file,) = re.findall(r'read\.csv\("(.*?)"\)', lines)
    exported = pandas.read_csv(file, dtype=str, keep_default_na=False)
    typed = exported[exported["in_the_numbers"] == "true"]
    query = re.search(r'"(SELECT .*?)"\)', lines, flags=re.DOTALL)
    assert query is not None
    (by,) = re.findall(r'merge\(typed, stored, by = "(\w+)"\)', lines)
    database = sqlite3.connect("heron.sqlite")
    stored = pandas.read_sql_query(query[1], database)
    database.close()
    return typed, typed.merge(stored, on=by)


def test_the_lines_for_r_read_what_is_there(demo: tuple[Path, str], monkeypatch: pytest.MonkeyPatch) -> None:
    """What the lines for R ask of the database and of the exported files, asked without R."""
    import geneticlog

    monkeypatch.chdir(demo[0])
    lines = fence("r")
    assert len(lines.strip().splitlines()) == 10
    with geneticlog.open("heron.sqlite") as log:
        fish = log.fish()
    counted = fish[fish["in_the_numbers"]]
    Runner("heron.sqlite")("report", "export", "--out", "open_data")
    typed, same = read_as_r_does()
    assert sorted(same["stored_q"]) == sorted(map(float, typed["q"])) == sorted(counted["q"])
    (sizes,) = re.findall(r"sizes <- c\((.*?)\)", lines)
    classes = [word.strip(' "') for word in sizes.split(",")]
    assert classes == list(counted["size_class"].cat.categories)
    assert set(typed["size_class"]) <= set(classes)
    (wanted,) = re.findall(r"aggregate\((.*?), typed", lines)
    assert set(re.findall(r"\w+", wanted)) <= set(typed.columns)


def r_with_sqlite() -> str | None:
    """R, where it and its package for SQLite are installed (Debian: r-base-core, r-cran-rsqlite)."""
    r = shutil.which("Rscript")
    asked = [r, "--vanilla", "-e", 'quit(status = !nzchar(system.file(package = "RSQLite")))']
    return None if r is None or subprocess.run(asked, capture_output=True).returncode else r


R = r_with_sqlite()


def test_the_lines_count_what_the_report_counts(
    new_database: Callable[[Path], str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Fish of another species, results for another pair of taxa and results replaced are in no line's numbers."""
    run = Runner(new_database(tmp_path / "heron.sqlite"))
    monkeypatch.chdir(tmp_path)
    ours = [10 / 76, 22 / 76, 41 / 76, 60 / 76]
    engine = open_engine(database_url(run.database))
    with Session(engine) as session, session.begin():
        session.add(Office(uid=uuid4().hex, prefix="BG"))
        survey = add_survey(session, add_lake(session))
        panel = add_panel(session, "P38", 38, taxon="Florida", other_taxon="northern")
        other = add_panel(session, "SPOT", 38, taxon="spotted", other_taxon="smallmouth")
        for q, typed_for, species in [
            *((q, panel, "largemouth_bass") for q in ours), (0.9, other, "largemouth_bass"), (0.8, panel, "bluegill"),
        ]:  # fmt: skip
            vial = add_vial(session, add_fish(session, survey, 13.0, species=species))
            add_result(session, vial, 0.7, panel=typed_for, standing="superseded")
            add_result(session, vial, q, panel=typed_for)
    engine.dispose()
    (reported,) = json.loads(run("report", "lake", "HERON", "--json").stdout)["surveys"]
    assert reported["n_resulted"] == len(ours)
    names: dict[str, Any] = {}
    exec(fence("python"), names)
    names["log"].close()
    assert sorted(names["fish"]["q"]) == pytest.approx(ours)
    assert names["whole_lake"].mean == pytest.approx(sum(ours) / len(ours))
    run("report", "export", "--out", "open_data")
    typed, same = read_as_r_does()
    assert sorted(map(float, typed["q"])) == sorted(same["stored_q"]) == pytest.approx(ours)
    if R is not None:
        Path("lines.R").write_text(
            fence("r") + "\ncat(nrow(typed), nrow(same), sum(typed$q), sum(same$stored_q))\n",
            encoding="utf-8",
        )
        done = subprocess.run([R, "lines.R"], capture_output=True, text=True)
        assert done.returncode == 0, done.stderr
        n, n_same, *totals = map(float, done.stdout.split()[-4:])
        assert (n, n_same) == (len(ours), len(ours))
        assert totals == pytest.approx([sum(ours)] * 2, abs=1e-4)  # R prints seven digits


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
