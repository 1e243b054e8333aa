"""Windows and macOS as far as they can be tried here: encodings, names of files, files that others hold open."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner
from conftest import Runner

from geneticlog.faces.app.cli import cli

NAMES = ["with spaces, 100%20sure %d", "what? a#b&c", "Étang du Héron – 北", "lake" * 45]


@pytest.mark.parametrize("name", NAMES)
def test_a_folder_and_a_file_may_have_any_name(name: str, tmp_path: Path) -> None:
    folder = tmp_path / name
    database = folder / f"{name}.sqlite"

    def run(*arguments: object) -> str:
        done = CliRunner().invoke(cli, [*map(str, arguments), "--database", str(database)])
        assert done.exit_code == 0, done.output
        return done.stdout

    run("database", "upgrade")
    run("office", "add", "TH")
    run("lake", "add", "HERON", name[:40])
    run("survey", "open", "HERON", "2026-05-12", "--code", "ONE")
    run("label", "print", "-n", 2, "--survey", "ONE", "--out", folder / f"{name}.pdf")
    log = folder / f"{name}.txt"
    log.write_text("14 in\n15 in x3\n", encoding="utf-8")
    run("fish", "log", "ONE", log)
    run("report", "export", "--out", folder / name, "--with-names")
    run("database", "backup", folder / f"{name}.copy")
    assert json.loads(run("status", "--json"))["database"] == str(database)
    assert json.loads(run("lake", "show", "HERON", "--json"))["name"] == name[:40]
    assert {one.name for one in tmp_path.iterdir()} == {name}
    made = {one.name for one in folder.iterdir()}
    assert {database.name, f"{name}.pdf", log.name, name, f"{name}.copy"} <= made
    assert not [
        one for one in made if one.startswith(".geneticlog-") or one.endswith((".waiting", ".partial"))
    ]


def test_a_console_of_windows_shows_and_reads_everything(run_on_sqlite: Runner, tmp_path: Path) -> None:
    run_on_sqlite("lake", "add", "HERON", "Étang du Héron")
    run_on_sqlite("survey", "open", "HERON", "2026-05-12", "--code", "ONE")
    environment = {
        **{key: value for key, value in os.environ.items() if key not in {"LANG", "LC_ALL", "LC_CTYPE"}},
        "GENETICLOG_DATABASE": run_on_sqlite.database,
        "PYTHONIOENCODING": "cp1252",
        "PYTHONUTF8": "0",
        "LC_ALL": "C",
        "PYTHONCOERCECLOCALE": "0",
    }

    def said(*commands: list[str], given: bytes = b"") -> list[str]:
        """What commands print, run one after the other in one program of its own."""
        run = (
            "import json, sys\n"
            "from geneticlog.faces.app.cli import main\n"
            "for words in json.loads(sys.argv[1]):\n"
            "    sys.argv[1:] = words\n"
            "    try: main()\n"
            "    except SystemExit as end: assert not end.code\n"
            "    print('=====')\n"
            "assert 'sqlalchemy.dialects.postgresql' not in sys.modules, 'a SQLite file needs nothing of it'"
        )
        start = [sys.executable, "-c", run, json.dumps(commands)]
        done = subprocess.run(start, capture_output=True, input=given, env=environment, cwd=tmp_path)
        assert done.returncode == 0, done.stderr
        assert b"Traceback" not in done.stderr
        return done.stdout.decode("cp1252").split("=====")

    lakes, plan, lake, _ = said(
        ["lake", "list"], ["plan", "HERON", "--look"], ["lake", "show", "HERON", "--json"]
    )
    assert "Étang du Héron" in lakes
    assert "±" in plan
    assert json.loads(lake)["name"] == "Étang du Héron"
    for at, encoding in enumerate(("utf-8", "utf-8-sig", "utf-16"), start=1):
        said(["fish", "log", "ONE"], given=f"1{at} in\r\n1{at}.5 in\r\n".encode(encoding))
    assert json.loads(run_on_sqlite("survey", "show", "ONE", "--json").stdout)["n_fish"] == 6


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be"])
def test_scanned_vials_come_in_the_encoding_of_any_shell(
    encoding: str, run_on_sqlite: Runner, tmp_path: Path
) -> None:
    run = run_on_sqlite
    for words in (
        ("office", "add", "TH"),
        ("lake", "add", "HERON", "Heron Lake"),
        ("lab", "add", "QUILL", "Lab"),
    ):
        run(*words)
    run("survey", "open", "HERON", "2026-05-12", "--code", "ONE")
    printed = run("label", "print", "-n", 3, "--survey", "ONE", "--out", tmp_path / "a.pdf", "--json")
    vials = json.loads(printed.stdout)["vials"]
    run("fish", "log", "ONE", "--medium", "ethanol", input="".join(f"{vial} 14 in\n" for vial in vials))
    scanned = ("\r\n".join(vials) + "\r\n").encode(encoding)
    done = CliRunner().invoke(
        cli, ["shipment", "pack", "SH-1", "--lab", "QUILL", "--scan", "--json"], input=scanned,
        env={"GENETICLOG_DATABASE": run.database},
    )  # fmt: skip
    assert done.exit_code == 0, done.output
    checked = CliRunner().invoke(
        cli, ["shipment", "check", "SH-1", "--json"], input=scanned, env={"GENETICLOG_DATABASE": run.database}
    )
    assert json.loads(checked.stdout)["n_expected"] == 3
    assert checked.exit_code == 0, checked.output


def test_a_file_that_is_open_elsewhere_is_named_as_it_was_asked_for(
    run_on_sqlite: Runner, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    run_on_sqlite("lake", "add", "HERON", "Heron Lake")
    target = tmp_path / "decisions.csv"
    target.write_text("open in a spreadsheet", encoding="utf-8")
    replace = Path.replace

    def held(self: Path, other: Path) -> Path:  # what Windows does while another program has the file open
        if Path(other) == target:
            raise PermissionError(13, "The process cannot access the file", str(self), 32, str(other))
        return replace(self, other)

    monkeypatch.setattr(Path, "replace", held)
    said = run_on_sqlite("report", "decisions", "--out", target, "--replace", fails=1).stderr
    assert f"{target}: the process cannot access the file" in said
    assert "close it there and run this again" in said
    assert {one.name for one in tmp_path.iterdir() if one.suffix != ".sqlite"} >= {target.name}
    assert not [one for one in tmp_path.iterdir() if one.name.startswith(".geneticlog-")]
    assert target.read_text(encoding="utf-8") == "open in a spreadsheet"
