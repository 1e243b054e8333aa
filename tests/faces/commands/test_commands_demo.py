"""The demo tells the whole job and leaves whole files, or nothing."""

from __future__ import annotations

import json
import sqlite3
from pathlib import Path

from conftest import Runner

from geneticlog.rules.sentences import n_of


def test_the_demo_leaves_every_paper_and_names_it(demo: tuple[Path, str]) -> None:
    folder, said = demo
    listed = [line.split()[0] for line in said.split("Done. In ")[1].splitlines()[1:] if line.strip()]
    assert listed[0].endswith(".html")
    for wanted in (
        "labels.pdf",
        "manifest.csv",
        "plate-map.pdf",
        "lab_return",
        "heron.sqlite",
        "field_sheet",
        ".html",
    ):
        assert any(wanted in name for name in listed), wanted
    assert all((folder / name).stat().st_size > 0 for name in listed)
    assert any("reconcil" in name for name in listed)


def test_the_demo_stores_what_it_tells(demo: tuple[Path, str]) -> None:
    database = str(demo[0] / "heron.sqlite")
    run = Runner(database)
    shown = json.loads(run("reconcile", "SH-2026", "--json").stdout)
    counts = shown["counts"]
    assert counts["sent"] == counts["returned"] + counts["missing"]
    assert counts["returned"] == counts["matched"] + counts["failed"] + counts["conflicting"]
    assert (counts["unexpected"], counts["duplicate_rows"]) == (1, 1)
    assert "TH00003AQ" not in {
        finding["vial"] for finding in shown["findings"]
    }  # a blank that gave nothing is right
    assert (
        "could tell" not in demo[1]
    )  # it is a label left over in the middle of the run, as the packer is advised
    connection = sqlite3.connect(database)
    assert connection.execute("SELECT count(*) FROM fish").fetchone()[0] > 200
    connection.close()


def test_the_report_counts_the_open_findings_as_the_reconciliation_does(demo: tuple[Path, str]) -> None:
    run = Runner(str(demo[0] / "heron.sqlite"))
    waiting = 0
    for shipment in ("SH-2024", "SH-2026"):
        every = len(json.loads(run("reconcile", shipment, "--json").stdout)["findings"])
        found = len(json.loads(run("reconcile", shipment, "--open", "--json").stdout)["findings"])
        assert run("reconcile", shipment, "--open").stdout.endswith(
            f"{found} open of {n_of(every, 'finding')}.\n"
        )
        waiting += found
    assert waiting == 4
    assert f"{waiting} findings are undecided" in (demo[0] / "report" / "heron.html").read_text()
    (line,) = json.loads(run("report", "lakes", "--json").stdout)["lakes"]
    assert line["n_open_findings"] == waiting
    assert json.loads(run("report", "lake", "HERON", "--json").stdout)["n_open_findings"] == waiting


def test_the_demo_fits_a_screen_of_eighty_columns_where_it_tells_the_story(demo: tuple[Path, str]) -> None:
    story = [line for line in demo[1].splitlines() if line and not line.startswith(" ")]
    assert max(map(len, story)) <= 80 + len(str(demo[0]))


def test_the_demo_overwrites_only_what_a_demo_made(demo: tuple[Path, str], tmp_path: Path) -> None:
    run = Runner("nowhere.sqlite")
    assert "--replace" in run("demo", demo[0], fails=4).stderr
    own = tmp_path / "mine"
    own.mkdir()
    (own / "thesis.txt").write_text("mine")
    assert "holds files that no demo made" in run("demo", own, "--replace", fails=4).stderr
    assert (own / "thesis.txt").read_text() == "mine"
