"""A vial lost, broken and found: what is owed afterwards, what the history says, and what is refused."""

from __future__ import annotations

import json
from typing import Any

from conftest import Runner
from office_support import an_office
from survey_support import codes

from geneticlog.rules.vialcode import printed

TARGETS = {"substock": 2, "stock": 2, "quality": 2, "preferred": 2, "memorable": 2}


def of_class(run: Runner, name: str) -> dict[str, Any]:
    found = json.loads(run("coverage", "HERON-2026", "--json").stdout)
    return {**next(row for row in found["classes"] if row["size_class"] == name), "n_lost": found["n_lost"]}


def test_a_lost_vial_is_owed_until_it_is_found(run: Runner) -> None:
    vials = an_office(run.database, n_fish=10, targets=TARGETS)
    first = vials[0]  # fish 1, substock
    assert of_class(run, "substock")["standing"] == "full"
    run("shipment", "pack", "SHIP-1", "--lab", "QUILL", *vials[:3])
    said = run("vial", "lost", printed(first), "--why", "fell overboard").stdout
    assert "taken out of shipment SHIP-1" in said
    assert "geneticlog coverage HERON-2026" in said
    seen = of_class(run, "substock")
    assert (seen["n_caught"], seen["n_swabbed"], seen["short_by"], seen["n_lost"]) == (2, 1, 1, 1)
    assert "lost or broken: 1 fish" in run("coverage", "HERON-2026").stdout
    (owed,) = json.loads(run("shipment", "resample", "--json").stdout)["resample"]
    assert (owed["size_class"], owed["n_sent"], owed["n_lost"], owed["vials"]) == ("substock", 0, 1, [first])
    assert json.loads(run("shipment", "resample", "SHIP-1", "--json").stdout)["resample"] == []
    packed = json.loads(run("shipment", "show", "SHIP-1", "--json").stdout)
    assert first not in {one["vial"] for one in packed["positions"]}
    life = json.loads(run("history", first, "--json").stdout)
    assert (life["standing"], life["custody"]) == ("lost", "lost")
    assert [(one["what"].split(":")[0], one["why"]) for one in life["life"][-1:]] == [
        ("recorded as lost", "fell overboard")
    ]
    assert (
        "is recorded as lost"
        in run("shipment", "pack", "SHIP-1", "--add", "--lab", "QUILL", first, fails=4).stderr
    )
    run("vial", "found", first, "--why", "in the live well")
    assert of_class(run, "substock")["short_by"] == 0
    assert json.loads(run("shipment", "resample", "--json").stdout)["resample"] == []
    run("shipment", "pack", "SHIP-1", "--add", "--lab", "QUILL", first)


def test_a_fish_with_a_second_vial_still_counts(run_on_sqlite: Runner) -> None:
    run = run_on_sqlite
    vials = an_office(run.database, n_fish=1, seconds=1, targets=TARGETS)
    said = run("vial", "broken", vials[0], "--why", "cracked in the cooler").stdout
    assert "still counts as swabbed" in said
    assert of_class(run, "substock")["n_swabbed"] == 1
    assert json.loads(run("history", vials[0], "--json").stdout)["custody"] == "broken"


def test_what_cannot_be_lost_says_what_to_do(run_on_sqlite: Runner) -> None:
    run = run_on_sqlite
    vials = an_office(run.database, n_fish=3)
    free, void = codes(30)[-1], codes(30)[-2]
    run("label", "void", void, "--why", "smeared")
    run("shipment", "pack", "SHIP-1", "--lab", "QUILL", vials[0])
    run("shipment", "send", "SHIP-1")
    run("vial", "lost", vials[1], "--why", "gone")
    for vial, verb, why, says in (
        (free, "lost", "x", f"geneticlog label void {printed(free)}"),
        (void, "broken", "x", "is void (smeared)"),
        (vials[0], "lost", "x", f"geneticlog shipment arrive SHIP-1 --missing {printed(vials[0])}"),
        (vials[0], "broken", "x", f"geneticlog shipment arrive SHIP-1 --broken {printed(vials[0])}"),
        (vials[1], "lost", "x", "recorded as lost already (gone)"),
        (vials[2], "found", "x", "is not recorded as lost or broken"),
        (vials[2], "lost", " ", "say what happened"),
    ):
        assert says in run("vial", verb, vial, "--why", why, fails=4).stderr
    run("vial", "broken", vials[1], "--why", "found in pieces")  # what was lost turns out broken
    assert json.loads(run("history", vials[1], "--json").stdout)["standing"] == "broken"
