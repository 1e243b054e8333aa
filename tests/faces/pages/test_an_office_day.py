"""The office's day through its pages: a lab's file dropped, its questions answered, stored, a finding decided."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest
from browser_support import DESK, accessibility_faults, opened
from conftest import Runner
from pages_support import client, free_port, served
from playwright.sync_api import Browser, expect

from geneticlog.settings import shipped_folder


@pytest.fixture
def sent(run_on_sqlite: Runner, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Runner:
    """The README's day up to the lab's file."""
    folder = tmp_path / "office"
    shutil.copytree(shipped_folder("demo_data"), folder)
    monkeypatch.chdir(folder)
    run = run_on_sqlite
    run("office", "add", "TH")
    run("lake", "add", "HERON", "Heron Lake")
    run("lab", "add", "QUILL", "Quillback Genotyping (invented)")
    run("panel", "add", "QB38", "Thirty-eight loci", "--loci", 38)
    run("survey", "open", "HERON", "2026-05-12", "--code", "HERON-2026")
    run("label", "print", "-n", 120, "--survey", "HERON-2026")
    run(
        "fish",
        "log",
        "HERON-2026",
        "--medium",
        "ethanol",
        input=Path("fish_2026.txt").read_text(encoding="utf-8"),
    )
    run("shipment", "pack", "SH-2026", "--survey", "HERON-2026", "--lab", "QUILL", "--panel", "QB38")
    run("shipment", "send", "SH-2026", "--carrier", "a carrier")
    return run


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


def test_from_the_dropped_file_to_a_decision_and_the_report(browser: Browser, sent: Runner) -> None:
    port = free_port()
    with served(sent.database, port), opened(browser, f"http://127.0.0.1:{port}/returns", DESK) as page:
        page.locator("#file").set_input_files("lab_return_2026.csv")
        page.get_by_role("button", name="Look at it").click()
        expect(page.get_by_role("heading", name="Everything in the file")).to_be_visible(timeout=30_000)
        assert accessibility_faults(page) == []
        page.get_by_role("button", name="Store it").click()
        expect(page.get_by_role("heading", level=1)).to_contain_text("is stored", timeout=30_000)
        page.get_by_role("link", name="To the inbox").click()
        first = page.locator("tbody th a").first
        name = first.inner_text()
        first.click()
        expect(page.get_by_role("heading", name=re.compile("as it came")).first).to_be_visible()
        assert accessibility_faults(page) == []
        page.get_by_label("Reason, for the record").fill("looked at the swab")
        page.locator("button[name=action]").first.click()
        expect(page.get_by_role("heading", level=1)).to_have_text("Inbox")
        expect(page.get_by_role("link", name=name, exact=True)).to_have_count(0)
        page.goto(f"http://127.0.0.1:{port}/lakes/HERON", timeout=60_000)
        expect(page.get_by_role("heading", level=1)).to_contain_text("Heron Lake", timeout=60_000)
    assert "looked at the swab" in sent("history", name).output
