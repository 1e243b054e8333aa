"""``geneticlog label`` as a person uses it: print, go on with a part-used sheet, print again, void."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import pypdfium2
import pytest
import zxingcpp
from sqlalchemy import Engine, select, update
from sqlalchemy.orm import Session
from tests_support import on_sqlite

from geneticlog.faces.commands.label import codes_in
from geneticlog.rules.vialcode import mint, printed
from geneticlog.store.tables import Event, Office, PrintRun, Vial

if TYPE_CHECKING:
    from conftest import Runner

FIRST = "BG000001J"


def read(pdf: Path) -> list[str]:
    return [
        found.text
        for page in pypdfium2.PdfDocument(pdf)
        for found in zxingcpp.read_barcodes(
            page.render(scale=600 / 72, grayscale=True).to_numpy(), formats=zxingcpp.BarcodeFormat.QRCode
        )
    ]


@pytest.fixture(autouse=True)
def _in_a_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = tmp_path / "boat"
    folder.mkdir()
    monkeypatch.chdir(folder)


def set_up(run: Runner) -> None:
    run("office", "add", "BG", "--name", "Invented office")
    run("lake", "add", "CEDAR", "Cedar Lake")
    run("survey", "open", "CEDAR", "2026-05-12", "--code", "CEDAR-1")


def test_labels_of_a_survey_are_minted_stored_and_read_back(run: Runner, engine: Engine) -> None:
    set_up(run)
    shown = json.loads(run("label", "print", "-n", 60, "--survey", "CEDAR-1", "--json").stdout)
    assert (shown["print_run"], shown["n_labels"], shown["next_slot"]) == (1, 60, 61)
    assert shown["vials"] == [mint("BG", n) for n in range(1, 100) if mint("BG", n)][:60]
    assert sorted(read(Path("labels-run-1.pdf"))) == sorted(shown["vials"])
    text = pypdfium2.PdfDocument("labels-run-1.pdf")[0].get_textpage().get_text_bounded()
    assert text.count("CEDAR 2026") == 60
    assert "Print run 1" in text
    with Session(engine) as session:
        kept = session.scalars(select(PrintRun)).one()
        assert [vial.code for vial in kept.vials] == shown["vials"]
        assert {vial.standing for vial in kept.vials} == {"printed"}
        assert (kept.survey and kept.survey.code, kept.stock, kept.printed_by) == (
            "CEDAR-1",
            "letter-wrap",
            "Ada Test",
        )
        assert session.scalar(select(Event.subject).where(Event.verb == "printed")) == "1"


def test_codes_are_never_minted_twice(run: Runner) -> None:
    set_up(run)
    seen: list[str] = []
    for n in (3, 5, 4):
        seen += json.loads(run("label", "print", "-n", n, "--json").stdout)["vials"]
    assert len(set(seen)) == 12


def test_a_part_used_sheet_is_finished(run_on_sqlite: Runner) -> None:
    run = run_on_sqlite
    set_up(run)
    assert "--start-slot 61" in run("label", "print", "-n", 60).output
    run("label", "print", "-n", 60, "--start-slot", 61)
    assert len(pypdfium2.PdfDocument("labels-run-2.pdf")) == 2
    assert "slots 1 to 100" in run("label", "print", "-n", 1, "--start-slot", 101, fails=4).output


@on_sqlite
def test_nothing_is_stored_when_the_labels_cannot_be_set_or_written(run: Runner, engine: Engine) -> None:
    set_up(run)
    for arguments, fails in (
        (("--start-slot", 101), 4),
        (("--out", "nowhere/x.pdf"), 3),
        (("--survey", "NONE"), 3),
        (("--stock", "none"), 3),
        (("--office", "XX"), 3),
        (("--measured-x", 50), 4),
        (("--stock", "letter-caps"), 4),
        (("--wrap-and-cap",), 4),
        (("--wrap-and-cap", "--cap-stock", "a4-wrap"), 4),
        (("--stock", "roll-1-600", "--measured-x", 99), 4),
    ):
        run("label", "print", "-n", 2, *arguments, fails=fails)
    run("label", "print", "-n", 0, fails=4)
    run("label", "print", "-n", 20_001, fails=4)
    run("label", "print", fails=2)
    Path("labels-run-1.pdf").write_bytes(b"a sheet of mine")
    assert "--replace" in run("label", "print", "-n", 2, fails=4).output
    with Session(engine) as session:
        assert session.scalars(select(Vial)).all() == []
        assert session.scalars(select(PrintRun)).all() == []
        assert session.scalars(select(Office.next_serial)).one() == 1
    assert {path.name for path in Path().iterdir()} == {"labels-run-1.pdf"}
    assert Path("labels-run-1.pdf").read_bytes() == b"a sheet of mine"


def test_a_full_block_of_codes_is_refused(run: Runner, engine: Engine) -> None:
    set_up(run)
    with Session(engine) as session:
        session.execute(update(Office).values(next_serial=32**4 - 5))
        session.commit()
    assert "another station" in run("label", "print", "-n", 10, fails=4).output
    run("label", "print", "-n", 2)


def test_a_station_has_serials_of_its_own(run_on_sqlite: Runner) -> None:
    run = run_on_sqlite
    run("office", "add", "BG", "--station", 3)
    (code,) = json.loads(run("label", "print", "-n", 1, "--json").stdout)["vials"]
    assert code == next(c for n in range(1, 9) if (c := mint("BG", 3 * 32**4 + n)))


def test_no_office_is_said_with_the_way_out(run_on_sqlite: Runner) -> None:
    assert "office add" in run_on_sqlite("label", "print", "-n", 1, fails=3).output


def test_wraps_with_caps_on_one_sheet_or_on_two(run_on_sqlite: Runner) -> None:
    run = run_on_sqlite
    set_up(run)
    codes = json.loads(
        run("label", "print", "-n", 4, "--stock", "a4-wrap-caps", "--wrap-and-cap", "--json").stdout
    )["vials"]
    assert sorted(read(Path("labels-run-1.pdf"))) == sorted(codes * 2)
    shown = json.loads(
        run("label", "print", "-n", 4, "--wrap-and-cap", "--cap-stock", "letter-caps", "--json").stdout
    )
    assert shown["files"] == ["labels-run-2.pdf", "labels-run-2-caps.pdf"]
    assert sorted(read(Path("labels-run-2.pdf"))) == sorted(read(Path("labels-run-2-caps.pdf")))
    said = run("label", "print", "-n", 4, "--stock", "a4-wrap-caps").stdout  # dots that are there are printed
    assert "blank" not in said
    assert len(read(Path("labels-run-3.pdf"))) == 8
    said = run("label", "print", "-n", 4, "--stock", "a4-wrap-caps", "--wrap-only").stdout
    assert "The cap dots beside the wraps stay blank (--wrap-only)." in said
    assert len(read(Path("labels-run-4.pdf"))) == 4


def test_a_smeared_label_is_printed_again_under_its_code(run: Runner, engine: Engine) -> None:
    set_up(run)
    codes = json.loads(
        run("label", "print", "-n", 5, "--stock", "a4-wrap", "--survey", "CEDAR-1", "--json").stdout
    )["vials"]
    again = run("label", "reprint", *printed(codes[2]).split(), codes[0].lower())
    assert "a4-wrap" in again.output
    assert sorted(read(Path("labels-again.pdf"))) == sorted([codes[2], codes[0]])
    run("label", "reprint", "--run", 1, "--stock", "letter-caps", "--out", "dots.pdf")
    assert sorted(read(Path("dots.pdf"))) == sorted(codes)
    with Session(engine) as session:
        assert len(session.scalars(select(Vial)).all()) == 5
        reprinted = session.scalars(select(Event.subject).where(Event.verb == "reprinted")).all()
        assert reprinted.count(codes[2]) == 2


def test_a_code_that_does_not_check_is_refused_and_the_nearest_offered(run_on_sqlite: Runner) -> None:
    run = run_on_sqlite
    set_up(run)
    run("label", "print", "-n", 5)
    wrong = run("label", "reprint", "BG000001K", fails=4).output
    assert "does not check" in wrong
    assert printed(FIRST) in wrong
    assert "not printed in this database" in run("label", "reprint", "BG4F7Q2KR", fails=3).output
    assert "the last is 1" in run("label", "reprint", "--run", 9, fails=3).output
    run("label", "reprint", fails=2)


def test_a_void_label_stays_void(run: Runner, engine: Engine) -> None:
    set_up(run)
    codes = json.loads(run("label", "print", "-n", 4, "--json").stdout)["vials"]
    assert codes[0] == FIRST
    run("label", "void", FIRST, "--why", "smeared")
    for again in (("void", FIRST, "--why", "x"), ("reprint", FIRST)):
        assert "void" in run("label", *again, fails=4).output
    run("label", "void", codes[1], "--why", "  ", fails=4)
    run("label", "void", codes[1], fails=2)
    # all or nothing: the second is void already, so the first stays free
    run("label", "void", codes[1], FIRST, "--why", "dropped", fails=4)
    shown = json.loads(run("label", "void", "--run", 1, "--why", "sheet overboard", "--json").stdout)
    assert shown["vials"] == codes[1:]
    with Session(engine) as session:
        assert {vial.code: vial.void_why for vial in session.scalars(select(Vial))} == {
            FIRST: "smeared",
            **dict.fromkeys(codes[1:], "sheet overboard"),
        }
        whys = session.scalars(select(Event.why).where(Event.verb == "made void", Event.subject == FIRST))
        assert whys.all() == ["smeared"]
    fresh = json.loads(run("label", "print", "-n", 4, "--json").stdout)["vials"]
    assert set(fresh).isdisjoint(codes)


def test_a_filled_vial_cannot_be_made_void(run_on_sqlite: Runner) -> None:
    run = run_on_sqlite
    set_up(run)
    run("label", "print", "-n", 2, "--survey", "CEDAR-1")
    run("fish", "log", "CEDAR-1", input=f"{FIRST} 16.5 2.3\n")
    assert "on fish 1 of survey CEDAR-1" in run("label", "void", FIRST, "--why", "smeared", fails=4).output
    run("label", "reprint", FIRST)  # but its label can be printed again


def test_a_calibration_page_needs_no_database(run_on_sqlite: Runner) -> None:
    run_on_sqlite("label", "print", "--calibration", "--stock", "a4-wrap")
    assert read(Path("calibration-a4-wrap.pdf")) == ["SPECIMEN"]


def test_slots_move_as_calibrated(run_on_sqlite: Runner) -> None:
    run = run_on_sqlite
    set_up(run)
    places = []
    for moved in ((), ("--offset-x", 1, "--offset-y", 2, "--measured-x", 98)):
        run("label", "print", "-n", 5, *moved)
        pdf = pypdfium2.PdfDocument(f"labels-run-{len(places) + 1}.pdf")
        found = zxingcpp.read_barcodes(pdf[0].render(scale=600 / 72, grayscale=True).to_numpy())
        places.append(
            [(f.position.top_left.x * 25.4 / 600, f.position.top_left.y * 25.4 / 600) for f in found]
        )
    plain, moved_to = sorted(places[0]), sorted(places[1])
    assert moved_to[0][1] - plain[0][1] == pytest.approx(2, abs=0.1)
    first, last = 0.75 * 25.4, (0.75 + 4 * 1.43) * 25.4
    assert moved_to[0][0] - plain[0][0] == pytest.approx(1 + first * (100 / 98 - 1), abs=0.1)
    assert moved_to[4][0] - plain[4][0] == pytest.approx(1 + last * (100 / 98 - 1), abs=0.1)


def test_stocks_are_listed_and_checked(run_on_sqlite: Runner, monkeypatch: pytest.MonkeyPatch) -> None:
    run = run_on_sqlite
    Path("own.toml").write_text("[wide]\nlike = 'letter-wrap'\ncols = 6\n", encoding="utf-8")
    shown = json.loads(run("label", "stocks", "--stocks", "own.toml", "--json").stdout)["stocks"]
    refused = {stock["stock"]: stock["refused"] for stock in shown}
    assert [name for name, is_refused in refused.items() if is_refused] == ["wide"]
    monkeypatch.setenv("GENETICLOG_STOCKS", "own.toml")
    told = run("label", "stocks").output
    assert "refused" in next(line for line in told.splitlines() if line.strip().startswith("wide"))
    assert "pitch across (pitch_x): the last label's right edge is at 233.17 mm" in told
    set_up(run)
    assert "cannot be printed on" in run("label", "print", "-n", 1, "--stock", "wide", fails=4).output
    monkeypatch.setenv("GENETICLOG_STOCKS", "none.toml")
    assert "no such file" in run("label", "stocks", fails=3).output
    monkeypatch.delenv("GENETICLOG_STOCKS")
    notes = [line for line in run("label", "stocks").output.splitlines() if line[:1].isdigit()]
    assert notes[0].startswith("1  label width: the symbol's corners keep")
    assert notes[1].startswith("2  cap dot: ")
    assert not [line for line in notes if "_" in line]


def test_a_code_copied_with_its_spaces_is_one_code() -> None:
    assert codes_in(["BG", "000", "001", "J", "bg-000002h"]) == ["BG000001J", "bg-000002h"]
    assert codes_in(["BG 000 001 J"]) == ["BG 000 001 J"]
    assert codes_in(["BG", "000"]) == ["BG000"]


def test_a_place_that_cannot_be_written_is_a_plain_sentence(run_on_sqlite: Runner) -> None:
    run = run_on_sqlite
    set_up(run)
    Path("a-file").write_text("", encoding="utf-8")
    told = run("label", "print", "-n", 1, "--out", "a-file/x.pdf", fails=1).output
    assert "cannot be written" in told
    assert "waiting" not in told
