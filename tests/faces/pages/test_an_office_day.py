"""The office's day through its pages: a lab's file dropped, its questions answered, stored, a finding decided."""

from __future__ import annotations

import json
import re
import shutil
from datetime import timedelta
from pathlib import Path

import openpyxl
import pytest
from browser_support import DESK, PHONE, accessibility_faults, cut_tables, opened, wider_than_the_screen
from conftest import Runner
from office_support import NOW, a_lab, a_return, a_shipment, swabbed
from pages_support import client, free_port, served
from playwright.sync_api import Browser, Page, expect
from sqlalchemy.orm import Session
from survey_support import a_survey

from geneticlog.settings import shipped_folder

ZOOMED = (DESK[0] // 2, DESK[1] // 2)  # what is left of a desk's screen at 200 %


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory, sqlite_template: Path) -> Path:
    """The README's day up to the lab's file, made once and copied for each test."""
    folder = tmp_path_factory.mktemp("made")
    shutil.copy(sqlite_template, folder / "made.sqlite")
    run = Runner(str(folder / "made.sqlite"))
    run("office", "add", "TH")
    run("lake", "add", "HERON", "Heron Lake")
    run("lab", "add", "QUILL", "Quillback Genotyping (invented)")
    run("panel", "add", "QB38", "Thirty-eight loci", "--loci", 38)
    run("survey", "open", "HERON", "2026-05-12", "--code", "HERON-2026")
    run("label", "print", "-n", 120, "--survey", "HERON-2026", "--out", folder / "labels.pdf")
    fish = (shipped_folder("demo_data") / "fish_2026.txt").read_text(encoding="utf-8")
    run("fish", "log", "HERON-2026", "--medium", "ethanol", input=fish)
    run("shipment", "pack", "SH-2026", "--survey", "HERON-2026", "--lab", "QUILL", "--panel", "QB38")
    run("shipment", "send", "SH-2026", "--carrier", "a carrier")
    return folder / "made.sqlite"


@pytest.fixture
def sent(made: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Runner:
    monkeypatch.chdir(tmp_path)
    shutil.copy(shipped_folder("demo_data") / "lab_return_2026.csv", tmp_path)
    return Runner(str(shutil.copy(made, tmp_path / "office.sqlite")))


def test_a_file_is_looked_at_asked_about_and_stored_only_then(sent: Runner) -> None:
    at = client(sent.database)
    content = (
        Path("lab_return_2026.csv").read_bytes()
        + b"\r\nan unheard of remark: the second dozen was run again\r\n"
    )
    taken = at.post("/returns/look", data={"shipment": "SH-2026"}, files={"file": ("odd.csv", content)})
    assert taken.status_code == 303
    place = taken.headers["location"]
    shown = at.get(place)
    assert "to answer first" in shown.text
    assert "Store it" not in shown.text
    refused = at.post(f"{place}/store", data={"x": "1"})
    assert refused.status_code == 422
    assert sent("reconcile", "SH-2026", "--json").stdout.count('"returned": 0') == 1
    names = dict.fromkeys(re.findall(r'name="(q\d+)" value="([^"]*harmless[^"]*)"', shown.text))
    answers = {name: value.replace("&#34;", '"') for name, value in names}
    assert at.post(place, data=answers).status_code == 303
    assert "Store it" in at.get(place).text
    wrong = at.post(place, data={"q0": '["column", "q", "other"]'})
    assert wrong.status_code == 409
    done = at.post(f"{place}/store", data={"x": "1"})
    assert done.status_code == 200, done.text
    assert '"returned": 0' not in sent("reconcile", "SH-2026", "--json").stdout
    assert at.get(place).status_code == 404


def test_a_file_that_cannot_be_read_is_told_where_its_parts_are(sent: Runner) -> None:
    at = client(sent.database)
    lines = Path("lab_return_2026.csv").read_text(encoding="utf-8").splitlines()
    codes = [line.split(",")[0] for line in lines if line.startswith("TH")]
    book = openpyxl.Workbook()
    book.active.title = "first"
    for sheet, heading, some in (
        (book.active, "Florida proportion", codes[:9]),
        (book.create_sheet("second"), "Florida share", codes[9:]),
    ):
        for row in (["Sample", heading], *([code, 0.25] for code in some)):
            sheet.append(row)
    book["second"]["C1"] = "Heterozygosity"  # other results, so that the two cannot be read as one
    for n in range(len(codes[9:])):
        book["second"].cell(n + 2, 3, 0.5)
    book.save("odd.xlsx")
    dropped = at.post(
        "/returns/look",
        data={"shipment": "SH-2026"},
        files={"file": ("odd.xlsx", Path("odd.xlsx").read_bytes())},
    )
    place = dropped.headers["location"]
    shown = at.get(place).text
    assert "2 sheets hold results" in shown
    assert "cannot be read yet" in shown
    assert "--" not in shown.split("<main")[1]
    assert at.post(place, data={"own_sheet": "third"}).status_code == 303
    assert "there is no sheet" in at.get(place).text
    assert at.post(place, data={"own_sheet": "first"}).status_code == 303
    assert "cannot be read yet" not in at.get(place).text
    menu = at.get("/lakes/NOWHERE")
    assert menu.status_code == 404
    assert 'aria-label="Pages"' in menu.text
    assert "Inbox</a>" in menu.text
    assert "geneticlog lake list" not in menu.text


def tab_to(page: Page, words: str) -> None:
    """Move the focus by Tab alone until it is on what says these words."""
    for _ in range(80):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.innerText || document.activeElement.name") == words:
            return
    raise AssertionError(f"Tab never came to {words!r}")


def every_page(page: Page, base: str, vial: str) -> None:
    """No fault by axe-core and nothing cut off, at a desk's and a phone's width and at 200 % zoom."""
    for path in (
        "/", "/coverage/HERON-2026", "/inbox", "/inbox/F1", "/shipments", "/shipments/SH-2026", "/returns", "/lakes",
        "/lakes/HERON", f"/vial?code={vial}", "/labels", "/devices", "/pair", "/boat/HERON-2026",
    ):  # fmt: skip
        for size in (DESK, PHONE, ZOOMED):
            page.set_viewport_size({"width": size[0], "height": size[1]})
            if size == DESK:
                page.goto(base + path, timeout=60_000)
            if size != ZOOMED:
                assert accessibility_faults(page) == [], (path, size)
            assert not wider_than_the_screen(page), (path, size)
            assert (path == "/lakes/HERON" and size != DESK) or not cut_tables(page), (path, size)


def test_from_the_dropped_file_to_a_decision_and_the_report(browser: Browser, sent: Runner) -> None:
    port = free_port()
    base = f"http://127.0.0.1:{port}"
    with served(sent.database, port), opened(browser, f"{base}/returns", DESK) as page:
        page.locator("#file").set_input_files("lab_return_2026.csv")
        page.get_by_role("button", name="Look at it").click()
        expect(page.get_by_role("heading", name="Everything in the file")).to_be_visible(timeout=30_000)
        assert accessibility_faults(page) == []
        page.get_by_role("button", name="Store it").click()
        expect(page.get_by_role("heading", level=1)).to_contain_text("is stored", timeout=30_000)
        assert accessibility_faults(page) == []
        page.get_by_role("link", name="To the inbox").click()
        # a finding is found, read and decided by the keyboard alone
        name = page.locator("tbody th a").first.inner_text()
        tab_to(page, name)
        page.keyboard.press("Enter")
        expect(page.get_by_role("heading", name=re.compile("as the lab wrote it")).first).to_be_visible()
        row = page.get_by_role("row").filter(has_text="our vial code")
        expect(row.locator("td").first).to_have_text(
            re.compile("TH")
        )  # as the lab wrote it, and what was read
        expect(row.locator("td.read")).to_have_text(re.compile("^TH 0"))
        tab_to(page, "why")
        page.keyboard.type("looked at the swab")
        tab_to(page, "accept")
        page.keyboard.press("Enter")
        expect(page.get_by_role("heading", level=1)).to_have_text("Inbox")
        expect(page.get_by_role("link", name=name, exact=True)).to_have_count(0)
        # the working list says what the command says
        page.goto(f"{base}/lakes")
        [lake] = json.loads(sent("report", "lakes", "--json").stdout)["lakes"]
        line = page.locator("tbody tr").first
        expect(line).to_contain_text(lake["next_step"])
        expect(line).to_contain_text(f"{lake['n_resulted']} fish")
        expect(line.locator("td[data-name=Share]")).to_contain_text(f"{100 * lake['mean']:.0f} %")
        line.get_by_role("link").click()
        expect(page.get_by_role("heading", level=1)).to_contain_text("Heron Lake", timeout=60_000)
        # coverage refreshes itself
        page.goto(f"{base}/coverage/HERON-2026")
        caught = page.locator("tbody tr").first.locator("td").first
        before = int(caught.inner_text())
        sent("fish", "log", "HERON-2026", input="5 in\n")
        expect(caught).to_have_text(str(before + 1), timeout=15_000)
        # a vial's life, and what became of it
        page.goto(f"{base}/vial?code=TH00002BS")
        expect(page.get_by_role("region", name="What happened")).to_contain_text("filled from fish")
        every_page(page, base, "TH00002BS")
    assert "looked at the swab" in sent("history", name).output


def test_a_vial_is_lost_and_found_a_second_one_added_and_a_file_thrown_away(sent: Runner) -> None:
    at = client(sent.database)
    free = json.loads(sent("label", "print", "-n", 2, "--survey", "HERON-2026", "--json").stdout)["vials"]
    sent("fish", "log", "HERON-2026", input=f"13 in {free[0]}\n")
    assert at.post("/vial/gone", data={"vial": free[0], "how": "lost", "why": "overboard"}).status_code == 303
    shown = at.get(f"/vial?code={free[0]}").text
    assert "overboard" in shown
    assert "It is found" in shown
    assert (
        at.post("/vial/gone", data={"vial": free[0], "how": "found", "why": "in the boot"}).status_code == 303
    )
    assert at.post("/vial/gone", data={"vial": free[0], "how": "eaten", "why": "x"}).status_code == 409
    assert at.post("/vial/second", data={"vial": free[0], "second": free[1]}).status_code == 303
    assert json.loads(sent("history", free[1], "--json").stdout)["role"] == "blind_duplicate"
    assert at.post("/vial/second", data={"vial": free[0], "second": "TH00002BS"}).status_code == 409
    file = {"file": ("r.csv", Path("lab_return_2026.csv").read_bytes())}
    place = at.post("/returns/look", data={"shipment": "SH-2026"}, files=file).headers["location"]
    assert at.get(place).status_code == 200
    assert at.post(f"{place}/forget", data={"x": "1"}).status_code == 303
    assert at.get(place).status_code == 404
    assert '"returned": 0' in sent("reconcile", "SH-2026", "--json").stdout
    only_looks = client(sent.database, read_only=True)
    for path in ("/labels", "/vial?code=TH00002BS", "/returns", "/devices", "/inbox"):
        assert "<button>" not in only_looks.get(path).text.replace("<button>Show</button>", ""), path


def test_the_inbox_leads_to_a_page_and_names_a_command_only_where_there_is_none(
    run_on_sqlite: Runner, sqlite_session: Session
) -> None:
    session, at = sqlite_session, client(run_on_sqlite.database)

    def shown() -> tuple[set[str], str]:
        """The pages the inbox leads to, and its text with its commands as ``<code>``."""
        session.commit()
        main = at.get("/inbox").text.partition("<h1>")[2]
        for place in (places := set(re.findall(r'href="([^"]+)"', main))):
            assert at.get(place).status_code == 200, place
        for command in re.findall(r"<code>", main):
            assert f"in a terminal: {command}" in main
        return places, main

    vials = swabbed(session, a_survey(session), 4)
    places, main = shown()
    assert places == {"/coverage/HERON-2026"}
    assert "Pack them for a lab.<br><small" in main
    assert "Samples: swabbed, not sent (4 fish)." in at.get("/coverage/HERON-2026").text
    shipment = a_shipment(session, vials, lab=a_lab(session, usual_days=30), sent=False)
    places, main = shown()
    assert places == {"/shipments/SHIP-1"}
    assert "Record the carrier when the box goes.<br><small" in main
    shipment.standing, shipment.sent_at = "sent", NOW - timedelta(days=400)
    places, main = shown()
    assert "<code>" not in main
    assert '<a href="/shipments/SHIP-1">See which vials are still out</a>' in main
    a_return(session, shipment, [{"vial": vials[0], "q": 0.5}], days=-380)
    assert "<code>geneticlog reconcile SHIP-1</code>" in shown()[1]
    assert (
        "1 partly returned, not reconciled" in at.get("/shipments").text
    )  # as the inbox and the list have it
    session.rollback()  # another session writes now
    run_on_sqlite("reconcile", "SHIP-1")
    places, main = shown()
    assert '<a href="/inbox/F1">Decide F1, its oldest finding</a>' in main
    assert "<code>" not in main
    session.refresh(shipment)
    shipment.standing, shipment.closed_at = "closed", NOW - timedelta(days=300)
    assert "<code>geneticlog shipment resample SHIP-1</code>" in shown()[1]


def test_one_file_about_two_shipments_is_stored_for_both(sent: Runner) -> None:
    sent("survey", "open", "HERON", "2026-06-20", "--code", "HERON-JUNE")
    more = json.loads(sent("label", "print", "-n", 3, "--survey", "HERON-JUNE", "--json").stdout)["vials"]
    sent(
        "fish", "log", "HERON-JUNE", "--medium", "ethanol", input="".join(f"13 in {vial}\n" for vial in more)
    )
    sent("shipment", "pack", "SH-JUNE", "--survey", "HERON-JUNE", "--lab", "QUILL", "--panel", "QB38")
    sent("shipment", "send", "SH-JUNE", "--carrier", "a carrier")
    vials = ["TH00002BS", *more]
    sheet = "Sample ID,% Florida,% Northern\n" + "".join(f"{vial},25,75\n" for vial in vials)
    at = client(sent.database)

    for shipments, n_strange in ((["SH-2026"], 3), (["SH-JUNE"], 1), (["SH-2026", "SH-JUNE"], 0)):
        looked = at.post("/returns/look", data={"shipment": shipments}, files={"file": ("both.csv", sheet)})
        place = looked.headers["location"]
        assert at.get(place).text.count("its code is not one of ours") == n_strange, shipments
    assert "For shipments SH-2026, SH-JUNE" in at.get(place).text
    assert at.post(f"{place}/store", data={"x": "1"}).status_code == 200
    for shipment, n in (("SH-2026", 1), ("SH-JUNE", 3)):
        counts = json.loads(sent("reconcile", shipment, "--json").stdout)["counts"]
        assert (counts["returned"], counts["matched"]) == (n, n), shipment
