"""A fish of another species than its survey's: seen in every list, asked about with a vial, held when it returns."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import tests_support
from click.testing import Result
from office_support import an_office, free_codes

# what is said and asked; what a log writes is tested on both engines with the pipe
database = tests_support.database

Run = Callable[..., Result]


def test_a_swabbed_bluegill_is_asked_about_seen_left_out_and_held(
    run: Run, database: str, tmp_path: Path
) -> None:
    vials = an_office(database, n_fish=5)
    blue, dead, mistaken = free_codes(3, after=5)
    lines = [f"{blue} 7 bluegill kept", "y", "", f"12 died {dead}", "", f"13 {mistaken}", "", "tally"]
    lines += ["change 8 bluegill", "y", "tally", "done"]
    said = run("fish", "log", "HERON-2026", "--prompt", input="\n".join(lines) + "\n").output
    flat = " ".join(said.split())
    assert flat.count("ASK: a vial for a bluegill on a survey of largemouth bass: it is not packed") == 2
    assert "Fish 6: 7 in, bluegill, quality, vial" in flat
    assert "kept." in flat
    assert "died." in flat
    assert "quality 3 swabbed of 3 caught; 3 caught" in flat
    assert "quality 2 swabbed of 2 caught; 2 caught" in flat.split("Changed: fish 8")[1]
    listed = run("fish", "list", "HERON-2026").output
    assert all(word in listed for word in ("species", "bluegill", "fate", "kept", "died"))
    assert "fate" not in run("fish", "list", "HERON-2026", "--last", "1").output
    assert "died" in run("history", dead).output
    assert "bluegill" in run("history", blue).output

    packed = json.loads(
        run("shipment", "pack", "SHIP-1", "--survey", "HERON-2026", "--lab", "QUILL", "--json").stdout
    )
    assert (packed["n_vials"], packed["n_other_species"]) == (6, 0)
    more = run("shipment", "pack", "SHIP-1", "--add", "--lab", "QUILL", blue).output
    assert "1 vial of fish of another species than their survey's" in " ".join(more.split())
    run("shipment", "send", "SHIP-1", "--at", "2026-06-01")
    file = tmp_path / "return.csv"
    file.write_text("\n".join(["Sample,Florida %", *(f"{one},25.0" for one in (*vials, dead, blue))]))
    done = json.loads(run("return", "read", file, "--shipment", "SHIP-1", "--json").stdout)
    assert (done["n_typed"], done["n_held"]) == (6, 1)
    (held,) = [one["text"] for one in done["findings"] if one["kind"] == "other_species"]
    assert held.startswith(f"{blue}, row 8: its fish was logged as bluegill")


def test_the_letters_that_the_printed_sheet_offers_are_read(run: Run, database: str, tmp_path: Path) -> None:
    an_office(database, n_fish=0)
    first, second = free_codes(2, after=0)
    sheet = tmp_path / "sheet.csv"
    rows = [f"1,{first},12,S,K", f"2,{second},13,c,R"]
    sheet.write_text("\n".join(["fish,vial,length (in),swab or clip,kept or released", *rows]))
    run("fish", "read", "HERON-2026", sheet)
    shown = json.loads(run("fish", "list", "HERON-2026", "--json").stdout)["fish"]
    assert [one["fate"] for one in shown] == ["kept", "released"]
    sheet.write_text("\n".join(["fish,vial,length (in),swab or clip", f"3,{free_codes(1, after=2)[0]},13,Q"]))
    refused = " ".join(run("fish", "read", "HERON-2026", sheet, fails=5).stderr.split())
    assert "use one of C (fin clip), S (mouth swab)" in refused
