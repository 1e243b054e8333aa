"""What a command may write over in a folder, and what it may not."""

from __future__ import annotations

from pathlib import Path

from conftest import Runner
from office_support import an_office

MANIFEST = "SHIP-1-manifest.csv"


def packed(run: Runner) -> list[str]:
    vials = an_office(run.database, n_fish=4)
    run("shipment", "pack", "SHIP-1", "--lab", "QUILL", "--panel", "QB38", *vials[:3])
    return vials


def test_a_report_is_written_anew_but_no_file_of_another_hand(run_on_sqlite: Runner, tmp_path: Path) -> None:
    run = run_on_sqlite
    an_office(run.database, n_fish=4)
    out = tmp_path / "report"
    out.mkdir()
    (out / "heron.html").write_text("our own page about herons")
    (out / "notes.txt").write_text("notes")
    refused = run("report", "lake", "HERON", "--out", out, fails=4).stderr
    assert "heron.html, which geneticlog did not write" in refused
    assert "--replace" in refused
    assert sorted(path.name for path in out.iterdir()) == ["heron.html", "notes.txt"]
    assert (out / "heron.html").read_text() == "our own page about herons"
    run("report", "lake", "HERON", "--out", out, "--replace")
    run("report", "lake", "HERON", "--out", out)  # its own files now: no question
    run("report", "lakes", "--out", out)  # another report beside it
    with (out / "heron_fish.csv").open("a") as file:
        file.write("changed by hand\r\n")
    assert "heron_fish.csv" in run("report", "lake", "HERON", "--out", out, fails=4).stderr
    run("report", "lake", "HERON", "--out", out, "--replace")
    assert "changed by hand" not in (out / "heron_fish.csv").read_text()
    assert (out / "notes.txt").read_text() == "notes"
    run("report", "lakes", "--out", out)


def test_exported_data_are_not_written_over_other_data(run_on_sqlite: Runner, tmp_path: Path) -> None:
    run = run_on_sqlite
    an_office(run.database, n_fish=2)
    (tmp_path / "datapackage.json").write_text("{}")
    assert "datapackage.json" in run("report", "export", "--out", tmp_path, fails=4).stderr
    assert [path.name for path in tmp_path.glob("*.csv")] == []
    run("report", "export", "--out", tmp_path, "--replace")
    run("report", "export", "--out", tmp_path)


def test_the_manifest_of_a_shipment_that_was_sent_is_not_replaced_by_another(
    run: Runner, tmp_path: Path
) -> None:
    vials = packed(run)
    run("shipment", "manifest", "SHIP-1", "--out", tmp_path)
    run("shipment", "pack", "SHIP-1", "--add", vials[3])
    run("shipment", "manifest", "SHIP-1", "--out", tmp_path)  # still being packed: the list follows
    sent = (tmp_path / MANIFEST).read_bytes()
    assert vials[3] in sent.decode()
    run("shipment", "send", "SHIP-1", "--at", "2026-06-01")
    run("shipment", "manifest", "SHIP-1", "--out", tmp_path)  # the same list again, with a new custody form
    form = tmp_path / "form.toml"
    form.write_text('[[column]]\nheading = "Sample ID"\nholds = "vial"\n')
    run("lab", "change", "QUILL", "--manifest", form)
    refused = run("shipment", "manifest", "SHIP-1", "--out", tmp_path, fails=4).stderr
    assert "was sent on 2026-06-01" in refused
    assert "--replace" in refused
    assert (tmp_path / MANIFEST).read_bytes() == sent
    run("shipment", "manifest", "SHIP-1", "--out", tmp_path / "new")
    run("shipment", "manifest", "SHIP-1", "--out", tmp_path, "--replace")
    assert (tmp_path / MANIFEST).read_bytes() != sent


def test_a_manifest_that_was_edited_by_hand_is_not_written_over(
    run_on_sqlite: Runner, tmp_path: Path
) -> None:
    run = run_on_sqlite
    packed(run)
    run("shipment", "manifest", "SHIP-1", "--out", tmp_path)
    (tmp_path / MANIFEST).write_text("edited")
    assert MANIFEST in run("shipment", "manifest", "SHIP-1", "--out", tmp_path, fails=4).stderr
    assert (tmp_path / MANIFEST).read_text() == "edited"
