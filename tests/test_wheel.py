"""What is installed from the built wheel can do the whole job, away from the source tree."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import venv
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("wheel")
    build = [sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", str(folder), str(ROOT)]
    done = subprocess.run(build, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr
    return next(folder.glob("*.whl"))


def test_the_wheel_holds_migrations_demo_data_and_templates(wheel: Path) -> None:
    names = set(zipfile.ZipFile(wheel).namelist())
    for wanted in (
        "geneticlog/migrations/env.py",
        "geneticlog/migrations/versions/r0001_first_tables.py",
        "geneticlog/demo_data/fish_2026.txt",
        "geneticlog/faces/templates/labels.typ",
        "geneticlog/py.typed",
        "geneticlog/statistics.py",
    ):
        assert wanted in names
    assert not any("tests/" in name or "__pycache__" in name for name in names)


def test_the_installed_program_prepares_a_database_and_tells_the_demo_in_one_document(
    wheel: Path, tmp_path: Path
) -> None:
    environment = tmp_path / "clean"
    venv.create(environment, with_pip=False)
    bin_folder = environment / ("Scripts" if os.name == "nt" else "bin")
    own = next((environment / "lib").glob("python*/site-packages"))
    # the dependencies are taken from this environment, the program itself only from the wheel
    shared = [path for path in sys.path if Path(path).name == "site-packages"]
    (own / "dependencies.pth").write_text("".join(f"{path}\n" for path in dict.fromkeys(shared)))
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(own)
    program = [str(bin_folder / "python"), "-I", "-m", "geneticlog"]
    where = subprocess.run(
        [str(bin_folder / "python"), "-I", "-c", "import geneticlog; print(geneticlog.__file__)"],
        capture_output=True,
        text=True,
        cwd=tmp_path,
    )
    assert Path(where.stdout.strip()).is_relative_to(environment)
    for arguments in (["database", "upgrade", "--database", "bass.sqlite"], ["demo", "out", "--json"]):
        done = subprocess.run([*program, *arguments], capture_output=True, text=True, cwd=tmp_path)
        assert done.returncode == 0, done.stdout + done.stderr
    assert (tmp_path / "bass.sqlite").is_file()
    assert list((tmp_path / "out").glob("*.pdf"))
    document = json.loads(done.stdout)  # one document, beside which the story is told on the other stream
    assert (tmp_path / document["folder"]).samefile(tmp_path / "out")
    assert {"file", "holds"} == set(document["files"][0])
    assert all((tmp_path / "out" / one["file"]).exists() for one in document["files"])
    assert "geneticlog plan HERON" in done.stderr
