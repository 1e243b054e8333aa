"""Packing, manifest, sending and following a shipment, through the program."""

from __future__ import annotations

import csv
import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import openpyxl
import pypdfium2
import pytest
from conftest import Runner
from office_support import an_office, free_codes
from tests_support import on_sqlite

from geneticlog.rules.vialcode import mint, printed

FORM = """
container = "box9x9"
keep_free = ["I09"]

[[column]]
heading = "Well"
holds = "position"

[[column]]
heading = "Sample ID"
holds = "vial"

[[column]]
heading = "Species"
text = "largemouth bass"
"""


def document(run: Runner, *arguments: object) -> Any:
    return json.loads(run(*arguments, "--json").stdout)


def words(path: Path) -> str:
    pages = pypdfium2.PdfDocument(path.read_bytes())
    return " ".join(page.get_textpage().get_text_bounded() for page in pages)


def rows_of(path: Path) -> list[list[str]]:
    return list(csv.reader(path.read_text(encoding="utf-8").splitlines()))


def pack(run: Runner, *arguments: object, code: str = "SHIP-1") -> Any:
    return document(run, "shipment", "pack", code, "--lab", "QUILL", *arguments)


def positions(run: Runner, code: str = "SHIP-1") -> dict[str, str]:
    shown = document(run, "shipment", "show", code)
    return {at["vial"]: at["position"] for at in shown["positions"]}


def test_a_survey_is_packed_into_a_plate(run: Runner) -> None:
    vials = an_office(run.database, n_fish=10, seconds=1)
    packed = pack(run, "--survey", "HERON-2026")
    assert (packed["n_vials"], packed["n_samples"], packed["n_blind_duplicates"]) == (11, 10, 1)
    assert (packed["duplicates_advised"], packed["blanks_advised"]) == (2, 1)
    placed = positions(run)
    assert set(placed) == set(vials)
    assert sorted(placed.values()) == sorted([*(f"{row}01" for row in "ABCDEFGH"), "A02", "B02", "C02"])


def test_a_vial_is_packed_once(run: Runner) -> None:
    vials = an_office(run.database, n_fish=4)
    pack(run, vials[0], vials[2], "--container", "loose")
    refused = run("shipment", "pack", "SHIP-2", *vials[:2], "--lab", "QUILL", fails=4)
    assert f"{printed(vials[0])} is in shipment SHIP-1 already" in refused.stderr
    assert "nothing was packed" in refused.stderr
    run("shipment", "show", "SHIP-2", fails=3)
    assert set(pack(run, "--survey", "HERON-2026", code="SHIP-2"))
    assert set(positions(run, "SHIP-2")) == {
        vials[1],
        vials[3],
    }


def test_what_may_not_be_packed_is_refused_with_its_reason(run: Runner) -> None:
    vials = an_office(run.database, n_fish=2)
    (free,) = free_codes(1, after=2)
    unknown = mint("BG", 40_000)
    refused = run("shipment", "pack", "S", vials[0], free, vials[0], "--lab", "QUILL", fails=4)
    assert f"{printed(free)} is not filled" in refused.stderr
    assert f"{printed(vials[0])} is named 2 times" in refused.stderr
    assert "not in this database" in run("shipment", "pack", "S", unknown, "--lab", "QUILL", fails=3).stderr
    assert "does not check" in run("shipment", "pack", "S", "BG12", "--lab", "QUILL", fails=4).stderr
    assert "no vial to pack" in run("shipment", "pack", "S", "--lab", "QUILL", fails=4).stderr
    assert "no lab 'OTHER'" in run("shipment", "pack", "S", vials[0], "--lab", "OTHER", fails=3).stderr


def test_by_plan_only_what_it_still_needs_is_packed(run: Runner) -> None:
    # 20 fish, 4 in each of five classes; the first fish has a second vial
    an_office(run.database, n_fish=20, seconds=1, targets={"stock": 2, "quality": 9, "trophy": 5})
    packed = pack(run, "--coverage", "HERON-2026")
    assert packed["n_samples"] == 6
    shown = document(run, "shipment", "show", "SHIP-1")["positions"]
    assert sorted(at["size_class"] for at in shown) == ["quality"] * 4 + ["stock"] * 2
    again = run("shipment", "pack", "SHIP-2", "--coverage", "HERON-2026", "--lab", "QUILL", fails=4)
    assert "the plan of survey HERON-2026 needs none of the vials left (6 in shipment SHIP-1)" in again.stderr


@on_sqlite
def test_a_survey_without_a_plan_says_how_to_pack_it(run: Runner) -> None:
    an_office(run.database)
    refused = run("shipment", "pack", "S", "--coverage", "HERON-2026", "--lab", "QUILL", fails=4)
    assert "--survey HERON-2026" in refused.stderr


def test_scanned_vials_keep_the_order_of_the_scan(run: Runner) -> None:
    vials = an_office(run.database, n_fish=5)
    scans = [vials[3], printed(vials[1]).lower(), vials[0]]
    run("shipment", "pack", "BOX", "--lab", "QUILL", "--scan", "--container", "loose", input="\n".join(scans))
    assert positions(run, "BOX") == {vials[3]: "1", vials[1]: "2", vials[0]: "3"}


@on_sqlite
def test_a_wrong_scan_in_a_pipe_packs_nothing_and_names_its_line(run: Runner) -> None:
    vials = an_office(run.database, n_fish=3)
    (free,) = free_codes(1, after=3)
    refused = run(
        "shipment",
        "pack",
        "BOX",
        "--lab",
        "QUILL",
        "--scan",
        input=f"{vials[0]}\n{free}\n{vials[0]}\n",
        fails=4,
    )
    assert f"line 2: {printed(free)} is not filled" in refused.stderr
    assert f"line 3: {printed(vials[0])} is in this box already" in refused.stderr
    run("shipment", "show", "BOX", fails=3)


def test_wells_kept_free_stay_free_when_more_is_added(run: Runner) -> None:
    vials = an_office(run.database, n_fish=8)
    pack(run, *vials[:4], "--keep-free", "b1, E01")
    run("shipment", "pack", "SHIP-1", *vials[4:], "--add")
    assert list(positions(run).values()) == ["A01", "C01", "D01", "F01", "G01", "H01", "A02", "B02"]


def test_a_blank_is_a_printed_vial_and_never_a_fish_again(run: Runner) -> None:
    an_office(run.database, n_fish=6)
    blank, other = free_codes(2, after=6)
    packed = pack(run, "--survey", "HERON-2026", "--blank", blank)
    assert packed["n_blanks"] == 1
    assert {at["role"] for at in document(run, "shipment", "show", "SHIP-1")["positions"]} == {
        "sample",
        "blank",
    }
    assert (
        "is in shipment" in run("shipment", "pack", "S", "--blank", blank, "--lab", "QUILL", fails=4).stderr
    )
    run("shipment", "unpack", "SHIP-1", blank, "--why", "another box")
    assert (
        "is blank already" in run("shipment", "pack", "S", "--blank", blank, "--lab", "QUILL", fails=4).stderr
    )
    assert "not in shipment" in run("shipment", "unpack", "SHIP-1", other, "--why", "x", fails=4).stderr


@on_sqlite
def test_the_lab_gets_what_its_form_asks_and_nothing_marks_the_blind_ones(
    run: Runner, tmp_path: Path
) -> None:
    vials = an_office(run.database, n_fish=6, seconds=2, lab={"manifest": FORM})
    (blank,) = free_codes(1, after=8)
    pack(run, "--survey", "HERON-2026", "--blank", blank)
    made = document(run, "shipment", "manifest", "SHIP-1", "--out", tmp_path)
    assert [Path(name).name for name in made["files"]] == [
        "SHIP-1-manifest.csv",
        "SHIP-1-manifest.xlsx",
        "SHIP-1-plate-map.pdf",
        "SHIP-1-custody-form.pdf",
        "SHIP-1-picking-list.pdf",
    ]
    heading, *rows = rows_of(tmp_path / "SHIP-1-manifest.csv")
    assert heading == ["Well", "Sample ID", "Species"]
    assert [row[0] for row in rows] == [f"{row}01" for row in "ABCDEFGHI"[:9]]
    assert {row[1] for row in rows} == {*vials, blank}
    assert {row[2] for row in rows} == {"largemouth bass"}
    told = (tmp_path / "SHIP-1-manifest.csv").read_text() + words(tmp_path / "SHIP-1-plate-map.pdf")
    assert not any(word in told.lower() for word in ("heron", "blank", "duplicate", "ada"))
    sheet = openpyxl.load_workbook(tmp_path / "SHIP-1-manifest.xlsx").active
    assert sheet is not None
    cells = [row[1] for row in sheet.iter_rows(min_row=2)]
    assert [cell.value for cell in cells] == [row[1] for row in rows]
    assert {(cell.data_type, cell.number_format) for cell in cells} == {("s", "@")}


@on_sqlite
def test_usual_columns_give_a_blank_the_tissue_and_medium_of_the_others(run: Runner, tmp_path: Path) -> None:
    an_office(run.database, n_fish=3)
    (blank,) = free_codes(1, after=3)
    pack(run, "--survey", "HERON-2026", "--blank", blank)
    run("shipment", "manifest", "SHIP-1", "--out", tmp_path)
    heading, *rows = rows_of(tmp_path / "SHIP-1-manifest.csv")
    assert "Vial code" in heading
    assert {tuple(row[4:]) for row in rows} == {("mouth swab", "ethanol")}


@on_sqlite
def test_a_form_that_tells_on_the_blanks_is_warned_about(run: Runner, tmp_path: Path) -> None:
    asks = (
        FORM
        + '\n[[column]]\nheading = "Lake"\nholds = "lake"\n[[column]]\nheading = "TL"\nholds = "total_length_mm"\n'
    )
    an_office(run.database, n_fish=3, seconds=1, lab={"manifest": asks})
    (blank,) = free_codes(1, after=4)
    pack(run, "--survey", "HERON-2026", "--blank", blank)
    made = document(run, "shipment", "manifest", "SHIP-1", "--out", tmp_path)
    asks_tl, pairs, high = made["warnings"]
    assert ("asks for TL" in asks_tl, "asks for TL" in pairs) == (True, True)
    assert "above every sample's code" in high
    rows = rows_of(tmp_path / "SHIP-1-manifest.csv")[1:]
    assert [row[3] for row in rows].count("Heron Lake") == 5  # the blank is given the lake of a sample


@on_sqlite
def test_the_plate_map_shows_each_code_and_the_custody_form_its_fields(run: Runner, tmp_path: Path) -> None:
    vials = an_office(run.database, n_fish=10)
    pack(run, "--survey", "HERON-2026", "--fill-ml", "1.5", "--seal", "S-77")
    run("shipment", "manifest", "SHIP-1", "--out", tmp_path)
    plate = " ".join(words(tmp_path / "SHIP-1-plate-map.pdf").split())
    for vial in vials:
        assert printed(vial) in plate
    form = words(tmp_path / "SHIP-1-custody-form.pdf")
    for said in ("Released by", "Received by", "S-77", "10 vials", "UN1170", "15 mL", "not a clearance"):
        assert said in form
    # sender, collector and day, and no lake
    for said in ("Bluff Gulch office, Ada Test", "Collected by", "2026-05-12"):
        assert said in form
    assert "HERON" not in form
    assert "10 vials 2026-05-12" in " ".join(form.split())
    # the packer takes the vials by their codes and finds their places
    listed = " ".join(words(tmp_path / "SHIP-1-picking-list.pdf").split())
    placed = positions(run)
    at = [listed.index(f"{printed(vial)} {placed[vial]}") for vial in sorted(vials)]
    assert at == sorted(at)
    cut = ("correct", "shipment", "SHIP-1", "--packages", 2, "--why", "ethanol")
    assert "at most 1 package, not 2" in " ".join(run(*cut, fails=4).stderr.split())
    assert "at most 1 package" in " ".join(
        run("shipment", "send", "SHIP-1", "--packages", 2, fails=4).stderr.split()
    )


def test_a_shipment_travels_once_and_arrives_with_its_losses(run: Runner) -> None:
    *vials, left = an_office(run.database, n_fish=5)
    pack(run, *vials)
    run("shipment", "arrive", "SHIP-1", fails=4)
    sent = run(
        "shipment", "send", "SHIP-1", "--carrier", "Otter Post", "--tracking", "007", "--at", "2026-06-01"
    )
    assert "4 vials sent to Quill Lab (invented) by Otter Post, tracking 007." in sent.stdout
    assert "not a clearance" in sent.stdout
    assert "is sent already" in run("shipment", "send", "SHIP-1", fails=4).stderr
    assert "is sent already" in run("shipment", "pack", "SHIP-1", left, "--add", fails=4).stderr
    early = run("shipment", "arrive", "SHIP-1", "--at", "2026-05-30", fails=4)
    assert "cannot arrive before it was sent" in early.stderr
    arrived = document(
        run, "shipment", "arrive", "SHIP-1", "--at", "2026-06-03", "--received-by", "Q. Quill",
        "--missing", vials[0], "--broken", vials[1], "--note", f"{vials[1]}=cap cracked",
    )  # fmt: skip
    assert arrived["n_ok"] == 2
    assert arrived["vials"] == [
        {"vial": vials[0], "arrival": "missing", "note": None},
        {"vial": vials[1], "arrival": "broken", "note": "cap cracked"},
    ]
    found = document(run, "shipment", "arrive", "SHIP-1", "--ok", vials[0])
    assert found["n_ok"] == 3
    shown = document(run, "shipment", "show", "SHIP-1")
    where = {at["vial"]: at["custody"] for at in shown["positions"]}
    assert where[vials[0]] == "at the lab"
    assert where[vials[1]] == "arrived damaged"
    assert shown["days_out"] > 0
    assert shown["counts"] is None
    assert shown["received_by"] == "Q. Quill"


def test_dates_that_cannot_be_are_refused_and_wrong_ones_corrected(run: Runner, tmp_path: Path) -> None:
    vials = an_office(run.database, n_fish=3)  # caught on 2026-05-12
    run("lab", "add", "REED", "Reed Lab (invented)")
    run("panel", "add", "QB60", "60 loci (invented)", "--loci", 60)
    run(
        "panel",
        "add",
        "SPOTTED",
        "Another pair (invented)",
        "--taxon",
        "spotted",
        "--other-taxon",
        "smallmouth",
    )
    pack(run, "--survey", "HERON-2026", "--panel", "QB38")

    def correct(*arguments: object, fails: int = 0) -> str:
        done = run("correct", "shipment", "SHIP-1", *arguments, "--why", "the waybill says so", fails=fails)
        return done.stdout + done.stderr

    assert "no sent moment to correct" in correct("--sent-at", "2026-05-20", fails=4)
    early = run("shipment", "send", "SHIP-1", "--at", "2026-05-11", fails=4).stderr
    assert "it holds fish of survey HERON-2026, caught on 2026-05-12" in early
    run("shipment", "send", "SHIP-1", "--at", "2026-05-12")  # the same day can be
    run("shipment", "arrive", "SHIP-1", "--at", "2026-05-20")
    assert "cannot arrive before it was sent" in correct("--sent-at", "2026-05-21", fails=4)
    assert "cannot arrive before it was sent" in correct("--arrived-at", "2026-05-11", fails=4)
    assert "caught on 2026-05-12" in correct("--sent-at", "2026-05-01", fails=4)
    assert "still to come" in correct("--arrived-at", "2999-01-01", fails=4)
    correct("--sent-at", "2026-05-14 10:00", "--arrived-at", "2026-05-18", "--lab", "reed", "--panel", "QB60")
    shown = document(run, "shipment", "show", "SHIP-1")
    assert (shown["lab"], shown["panel"]) == ("REED", "QB60")
    assert (shown["sent_at"][:10], shown["arrived_at"][:10]) <= ("2026-05-14", "2026-05-18")
    moved = run(
        "correct", "survey", "HERON-2026", "--surveyed-on", "2026-05-16", "--why", "x", fails=4
    ).stderr
    assert "its vials were sent with shipment SHIP-1 on 2026-05-14" in moved
    run("correct", "survey", "HERON-2026", "--surveyed-on", "2026-05-13", "--why", "a slip")
    # results follow a panel that changes nothing of what they say, and hold any other up
    file = tmp_path / "r.csv"
    file.write_text("Sample ID,Florida proportion,Loci scored\n" + f"{vials[0]},0.5,30\n")
    run("return", "read", file, "--shipment", "SHIP-1")
    correct("--panel", "QB38")
    assert "read with the taxa of panel QB38" in correct("--panel", "SPOTTED", fails=4)
    run("return", "withdraw", file, "--why", "typed for another pair")
    correct("--panel", "SPOTTED")


@on_sqlite
def test_a_shipment_cannot_leave_tomorrow(run: Runner) -> None:
    an_office(run.database, n_fish=1)
    pack(run, "--survey", "HERON-2026")
    assert "still to come" in run("shipment", "send", "SHIP-1", "--at", "2999-01-01", fails=4).stderr


@pytest.mark.parametrize(
    ("scans", "exit_code", "belong", "missed"),
    [([0, 1, 2], 0, 0, 0), ([0, 2], 1, 0, 1), ([0, 1, 2, 5], 1, 1, 0), ([0, 0, 1, 2], 0, 0, 0)],
)
def test_a_box_is_checked_by_scanning(
    run_on_sqlite: Runner, scans: Sequence[int], exit_code: int, belong: int, missed: int
) -> None:
    run = run_on_sqlite
    vials = an_office(run.database, n_fish=6)
    pack(run, *vials[:3])
    lines = "\n".join(vials[i] for i in scans)
    checked = run("shipment", "check", "SHIP-1", "--json", input=lines, fails=exit_code)
    seen = json.loads(checked.stdout)
    assert (len(seen["does_not_belong"]), len(seen["not_seen"])) == (belong, missed)
    assert ("\a" in checked.stderr) == (belong > 0 or len(set(scans)) < len(scans))


def test_the_list_shows_what_waits(run: Runner) -> None:
    vials = an_office(run.database, n_fish=4)
    assert "No shipment is packed yet" in run("shipment", "list").stdout
    pack(run, vials[0])
    pack(run, vials[1], code="SHIP-2")
    run("shipment", "send", "SHIP-1", "--at", "2026-06-01")
    there = {one["shipment"]: one for one in document(run, "shipment", "list")["shipments"]}
    assert there["SHIP-1"]["standing"] == "sent"
    assert there["SHIP-1"]["days_out"] >= 0
    assert there["SHIP-2"]["standing"] == "packed"
    assert there["SHIP-2"]["days_out"] is None


def test_a_bill_stands_beside_what_came_back(run: Runner) -> None:
    vials = an_office(run.database, n_fish=4, lab={"fee": 25.0})
    pack(run, *vials)
    told = run("shipment", "bill", "SHIP-1", 4).stdout
    assert "Billed 4 samples ($100.00)" in told
    assert "4 sent, 0 returned" in told
    assert document(run, "shipment", "show", "SHIP-1")["cost"]["amount"] == 100
    run("shipment", "bill", "SHIP-1", "-1", fails=2)


def test_a_form_at_fault_is_refused_when_the_lab_is_entered(run_on_sqlite: Runner, tmp_path: Path) -> None:
    run = run_on_sqlite
    form = tmp_path / "quill.toml"
    form.write_text('[[column]]\nheading = "Sample ID"\nholds = "barcode"\n')
    refused = run("lab", "add", "QUILL", "Quill Lab", "--manifest", form, fails=5)
    assert "quill.toml, row 3, column holds: no column can hold 'barcode'" in refused.stderr
    form.write_text('[[column]]\nheading = "Sample ID"\nholds = "vial"\n')
    run("lab", "add", "QUILL", "Quill Lab", "--manifest", form)


def test_a_shipment_of_which_no_more_is_expected_is_closed(run: Runner) -> None:
    vials = an_office(run.database, n_fish=2)
    pack(run, *vials)
    assert "is packed already" in run("shipment", "close", "SHIP-1", "--why", "x", fails=4).stderr
    run("shipment", "send", "SHIP-1", "--at", "2026-06-01")
    assert [one["shipment"] for one in document(run, "shipment", "list", "--open")["shipments"]] == ["SHIP-1"]
    assert "0 of 2 vials returned" in run("shipment", "close", "SHIP-1", "--why", "the lab lost it").stdout
    assert document(run, "shipment", "list", "--open")["shipments"] == []
    assert document(run, "shipment", "show", "SHIP-1")["standing"] == "closed"
    assert "is closed already" in run("shipment", "arrive", "SHIP-1", fails=4).stderr


@on_sqlite
def test_vials_that_do_not_say_what_they_are_kept_in_are_warned_about(run: Runner) -> None:
    vials = an_office(run.database, n_fish=4, medium=None)
    (blank,) = free_codes(1, after=4)
    said = run(
        "shipment", "pack", "SHIP-1", "--lab", "QUILL", *vials[:3], "--blank", blank, "--fill-ml", 40
    ).stdout
    assert "3 vials do not say what they are kept in" in said
    assert "geneticlog correct shipment SHIP-1 --medium ethanol" in said
    assert "UN1170" not in said
    assert document(run, "shipment", "show", "SHIP-1")["n_without_medium"] == 3
    assert "3 vials do not say" in run("shipment", "show", "SHIP-1").stdout
    run("correct", "shipment", "SHIP-1", "--medium", "ethanol", "--why", "asked the crew")
    told = run("shipment", "show", "SHIP-1").stdout
    assert "do not say what they are kept in" not in told
    assert "UN1170" in told
    assert "Above the 30 mL" in told
    (moment,) = [
        one for one in document(run, "history", vials[0])["life"] if one["what"].startswith("corrected")
    ]
    assert (moment["what"], moment["why"]) == ("corrected: medium: (none) -> ethanol", "asked the crew")
    run("shipment", "pack", "SHIP-1", "--add", vials[3])
    assert "1 vial does not say what it is kept in" in run("shipment", "send", "SHIP-1").stdout


def test_a_medium_said_when_packing_is_written_on_the_silent_vials(run_on_sqlite: Runner) -> None:
    run = run_on_sqlite
    vials = an_office(run.database, n_fish=2, medium=None)
    packed = document(run, "shipment", "pack", "SHIP-1", "--lab", "QUILL", *vials, "--medium", "dry")
    assert (packed["n_without_medium"], packed["ethanol"]) == (0, None)
    assert "medium: (none) -> dry" in run("history", vials[0]).stdout
    wrong = run("correct", "shipment", "SHIP-1", "--fill-ml", "-1", "--why", "x", fails=4).stderr
    assert "-1 mL is not a possible fill" in wrong
    assert (
        "give the reason"
        in run("correct", "shipment", "SHIP-1", "--seal", "S-1", "--why", " ", fails=4).stderr
    )
    run("correct", "shipment", "SHIP-9", "--seal", "S-1", "--why", "x", fails=3)
    changed = document(run, "correct", "shipment", "SHIP-1", "--seal", "S-1", "--why", "new seal")
    assert changed["changes"] == {"seal": {"old": None, "new": "S-1"}}


@on_sqlite
def test_each_step_of_a_shipment_is_one_json_document(run: Runner) -> None:
    vials = an_office(run.database, n_fish=3)
    document(run, "shipment", "pack", "SHIP-1", "--lab", "QUILL", *vials)
    left = document(run, "shipment", "unpack", "SHIP-1", vials[2], "--why", "another box")
    assert (left["shipment"], left["n_new"], left["n_vials"]) == ("SHIP-1", -1, 2)
    sent = document(run, "shipment", "send", "SHIP-1", "--at", "2026-06-01", "--carrier", "a carrier")
    assert (sent["n_vials"], sent["carrier"], sent["n_without_medium"]) == (2, "a carrier", 0)
    assert sent["ethanol"]["n_vials"] == 2
    billed = document(run, "shipment", "bill", "SHIP-1", 2, "--amount", 44)
    assert (billed["cost"]["n_billed"], billed["cost"]["amount"]) == (2, 44)
    closed = document(run, "shipment", "close", "SHIP-1", "--why", "the lab lost it")
    assert (closed["standing"], closed["counts"]["missing"]) == ("closed", 2)


@on_sqlite
def test_the_ethanol_of_a_shipment_in_several_packages(run: Runner, tmp_path: Path) -> None:
    vials = an_office(run.database, n_fish=10)
    packed = document(
        run, "shipment", "pack", "SHIP-1", "--lab", "QUILL", *vials, "--fill-ml", 29.5, "--packages", 3,
        "--container", "loose",
    )  # fmt: skip
    ethanol = packed["ethanol"]
    assert (ethanol["total_ml"], ethanol["n_packages"], ethanol["package_ml"]) == (295, 3, 118)
    run("shipment", "manifest", "SHIP-1", "--out", tmp_path)
    form = " ".join(words(tmp_path / "SHIP-1-custody-form.pdf").split())
    assert "in 3 packages" in form
    placed = positions(run)
    order = sorted(vials, key=lambda vial: int(placed[vial]))
    assert f"Package 1 of 3, places {placed[order[0]]} to {placed[order[3]]}, 4 vials" in form
    assert form.index(printed(order[3])) < form.index("Package 2 of 3") < form.index(printed(order[4]))
    run("correct", "shipment", "SHIP-1", "--packages", 1, "--why", "one box was enough")
    assert "taken as one package" in run("shipment", "show", "SHIP-1").stdout
    assert "in 2 packages up to" in run("shipment", "send", "SHIP-1", "--packages", 2).stdout
    assert "Ethanol" in run("shipment", "show", "SHIP-1").stdout  # it is on its way
    run("shipment", "arrive", "SHIP-1")
    assert "thanol" not in run("shipment", "show", "SHIP-1").stdout
    assert document(run, "shipment", "show", "SHIP-1")["ethanol"]["n_packages"] == 2
