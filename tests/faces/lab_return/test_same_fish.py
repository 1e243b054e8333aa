"""One fish under two numbers, seen when a return with genotypes is read. Fish and genotypes are invented."""

from __future__ import annotations

import csv
import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
from conftest import Runner
from office_support import an_office
from tests_support import database  # noqa: F401  (words and wiring: SQLite alone)

from geneticlog.rules.vialcode import printed

N_LOCI = 38
KINDS = ("same_genotype", "same_genotype_many", "identical_run")


def a_swarm(n: int, seed: int = 4) -> np.ndarray:
    """Genotypes of n fish of a hybrid swarm, half of its alleles of each kind."""
    chance = np.random.default_rng(seed)
    return chance.binomial(2, 0.5, (n, N_LOCI))


def a_file(path: Path, vials: Sequence[str], genotypes: np.ndarray) -> Path:
    with path.open("w", newline="") as file:
        out = csv.writer(file)
        out.writerow(["Sample ID", *[f"L{i:02d}" for i in range(1, N_LOCI + 1)]])
        for vial, calls in zip(vials, genotypes, strict=True):
            out.writerow([vial, *("NA" if call < 0 else call for call in calls)])
    return path


def packed(run: Runner, *lots: Sequence[str]) -> None:
    for number, vials in enumerate(lots, start=1):
        run("shipment", "pack", f"SHIP-{number}", "--lab", "QUILL", "--panel", "QB38", *vials)
        run("shipment", "send", f"SHIP-{number}", "--at", "2026-06-01")


def read(run: Runner, path: Path, shipment: str = "SHIP-1") -> list[dict[str, Any]]:
    told = run("return", "read", path, "--shipment", shipment, "--counted", "Florida", "--json").stdout
    return [finding for finding in json.loads(told)["findings"] if finding["kind"] in KINDS]


def listed(run: Runner, shipment: str = "SHIP-1") -> list[dict[str, Any]]:
    findings = json.loads(run("reconcile", shipment, "--json").stdout)["findings"]
    return [finding for finding in findings if finding["kind"] in KINDS]


def standing(run: Runner, vial: str) -> list[str]:
    return [one["standing"] for one in json.loads(run("history", vial, "--json").stdout)["results"]]


def test_one_fish_swabbed_under_two_numbers_is_found_on_distant_rows(run: Runner, tmp_path: Path) -> None:
    vials = an_office(run.database, n_fish=20)
    packed(run, vials)
    x = a_swarm(20)
    x[17] = x[2]
    x[17, 30] = (x[2, 30] + 1) % 3  # one locus misread
    x[17, 3:5] = -1  # and two not called
    (finding,) = read(run, a_file(tmp_path / "r.csv", vials, x))
    assert finding["kind"] == "same_genotype"
    text = finding["text"]
    assert text.startswith(f"{vials[17]} (fish 18, 13 in) and {vials[2]} (fish 3, 13 in)")
    assert "at 35 of 36 loci scored in both (rows 4, 19)" in text
    (told,) = listed(run)
    assert (told["vial"], told["rows"], told["decision"]) == (vials[17], [4, 19], None)


def test_of_the_two_one_is_rejected_and_the_decision_can_be_taken_back(run: Runner, tmp_path: Path) -> None:
    vials = an_office(run.database, n_fish=6)
    packed(run, vials)
    x = a_swarm(6)
    x[5] = x[0]
    (finding,) = read(run, a_file(tmp_path / "r.csv", vials, x))
    name = finding["finding"]
    stranger = run("decide", name, "reject", vials[1], "--why", "x", fails=4).stderr
    assert f"{name} is about" in stranger
    run("decide", name, "reject", vials[5], "--why", "the field sheet has this fish twice")
    assert (standing(run, vials[0]), standing(run, vials[5])) == (["current"], ["rejected"])
    run("decide", name, "accept", "--why", "lengths differ")
    assert (standing(run, vials[0]), standing(run, vials[5])) == (["current"], ["current"])
    run("decide", name, "resample", vials[0], "--why", "next survey")
    assert (standing(run, vials[0]), standing(run, vials[5])) == (["rejected"], ["current"])


def test_a_finding_about_two_vials_stands_at_both_and_says_which_was_rejected(
    run: Runner, tmp_path: Path
) -> None:
    vials = an_office(run.database, n_fish=6)
    packed(run, vials)
    x = a_swarm(6)
    x[5] = x[0]
    (finding,) = read(run, a_file(tmp_path / "r.csv", vials, x))
    name, stays, wrong = finding["finding"], vials[0], vials[5]
    shown = " ".join(run("report", "fish", "HERON-2026").stdout.split())
    assert "Doubtful until a finding is decided: fish 1, 6." in shown
    for action in ("reject", "resample"):
        unsure = run("decide", name, action, "--why", "x", fails=4).stderr
        for word in (printed(stays), printed(wrong), "say which one"):
            assert word in unsure
    run("decide", name, "reject", wrong, "--why", "the field sheet has this fish twice")
    for vial in (stays, wrong):
        life = json.loads(run("history", vial, "--json").stdout)["life"]
        assert any(moment["what"].startswith(f"finding {name}: ") for moment in life)
        assert life[-1]["what"] == f"finding {name} decided: reject {printed(wrong)}"
        assert (life[-1]["by"], life[-1]["why"]) == ("Ada Test", "the field sheet has this fish twice")
    report = json.loads(run("report", "lake", "HERON", "--out", tmp_path / "out", "--json").stdout)
    notes = [note for note in report["surveys"][0]["samples"] if name in note["text"]]
    assert [(note["vial"], note["decision"]) for note in notes] == [(wrong, "reject"), (wrong, "reject")]
    assert all(note["fish"] == "HERON-2026#6" and note["decided_by"] == "Ada Test" for note in notes)
    run("decide", name, "reject", stays, wrong, "--why", "neither can be told")
    assert (standing(run, stays), standing(run, wrong)) == (["rejected"], ["rejected"])
    assert "VIAL is needed" in run("decide", "--help").stdout


def test_pure_fish_are_all_alike_and_raise_nothing(run_on_sqlite: Runner, tmp_path: Path) -> None:
    run = run_on_sqlite
    vials = an_office(run.database, n_fish=20)
    packed(run, vials)
    x = np.zeros((20, N_LOCI), dtype=int)
    x[10:] = 2
    assert read(run, a_file(tmp_path / "r.csv", vials, x)) == []


def test_a_blind_duplicate_is_known_to_be_alike(run_on_sqlite: Runner, tmp_path: Path) -> None:
    run = run_on_sqlite
    vials = an_office(
        run.database, n_fish=10, seconds=2
    )  # fish 1, its second vial, fish 2, its second vial, …
    packed(run, vials)
    x = a_swarm(12)
    x[1], x[3] = x[0], x[2]
    assert read(run, a_file(tmp_path / "r.csv", vials, x)) == []
    x[11] = x[0]  # a third vial, on another fish, is told once although two vials are like it
    found = read(run, a_file(tmp_path / "again.csv", vials, x))
    assert [finding["kind"] for finding in found] == ["same_genotype"]
    assert vials[11] in found[0]["text"]


def test_a_pair_across_two_returns_is_found_and_told_once(run: Runner, tmp_path: Path) -> None:
    vials = an_office(run.database, n_fish=12)
    packed(run, vials[:6], vials[6:])
    x = a_swarm(12)
    x[9] = x[1]
    assert read(run, a_file(tmp_path / "first.csv", vials[:6], x[:6])) == []
    (finding,) = read(run, a_file(tmp_path / "second.csv", vials[6:], x[6:]), "SHIP-2")
    assert f"{vials[9]} (fish 10" in finding["text"]
    assert f"{vials[1]} (fish 2" in finding["text"]
    assert "(row 3 of first.csv; row 5)" in finding["text"]
    # the lab's file again, with another locus called: the pair has its finding and gets no second one
    x[9, 0] = -1
    assert read(run, a_file(tmp_path / "reissue.csv", vials[6:], x[6:]), "SHIP-2") == []
    # after a rejection a re-issue that is still the same is told anew, and the old decision does not touch it
    run("decide", finding["finding"], "reject", vials[9], "--why", "asked the lab")
    x[9, 1] = -1
    (again,) = read(run, a_file(tmp_path / "third.csv", vials[6:], x[6:]), "SHIP-2")
    assert again["kind"] == "same_genotype"
    reissued = [
        one["finding"]
        for one in json.loads(run("reconcile", "SHIP-2", "--json").stdout)["findings"]
        if one["kind"] == "reissue_of_rejected"
    ]
    for name in [*reissued, again["finding"]]:
        run("decide", name, "accept", "--why", "the lab typed it again")
    assert standing(run, vials[9])[-1] == "current"


def test_many_fish_alike_are_one_finding(run_on_sqlite: Runner, tmp_path: Path) -> None:
    run = run_on_sqlite
    vials = an_office(run.database, n_fish=20)
    packed(run, vials)
    x = a_swarm(20)
    x[8:14] = x[8]
    (finding,) = read(run, a_file(tmp_path / "r.csv", vials, x))
    assert finding["kind"] == "same_genotype_many"
    assert finding["text"].startswith("6 fish of survey HERON-2026 have the same genotype")
    assert "(rows 10 to 15)" in finding["text"]
    run("decide", finding["finding"], "reject", "--why", "one swab on the whole column")
    assert [standing(run, vial)[0] for vial in (vials[7], vials[8], vials[13])] == [
        "current",
        "rejected",
        "rejected",
    ]


def test_with_q_and_h_alone_only_neighbours_are_told(run_on_sqlite: Runner, tmp_path: Path) -> None:
    run = run_on_sqlite
    vials = an_office(run.database, n_fish=8)
    packed(run, vials)
    rows = ["Sample ID,Florida proportion,Heterozygosity,Loci scored"]
    figures = [(10, 8), (20, 16), (10, 8), (30, 20), (12, 6), (12, 6), (12, 6), (10, 8)]
    rows += [f"{vial},{k / 76:.4f},{h / 38:.4f},38" for vial, (k, h) in zip(vials, figures, strict=True)]
    path = tmp_path / "r.csv"
    path.write_text("\n".join(rows) + "\n")
    said = run("return", "read", path, "--shipment", "SHIP-1", "--json").stdout
    found = [f for f in json.loads(said)["findings"] if f["kind"] in KINDS]
    assert [finding["kind"] for finding in found] == ["identical_run"]
    assert found[0]["text"].startswith("Rows 6 to 8: 3 neighbouring vials have the same q and H")
    assert "Lake or lab: fish of one brood may be alike by chance" in found[0]["text"]


def test_four_fish_alike_are_still_told_pair_by_pair(run_on_sqlite: Runner, tmp_path: Path) -> None:
    vials = an_office(run_on_sqlite.database, n_fish=20)
    packed(run_on_sqlite, vials)
    x = a_swarm(20)
    x[8:12] = x[8]
    found = read(run_on_sqlite, a_file(tmp_path / "r.csv", vials, x))
    assert [one["kind"] for one in found] == ["same_genotype"] * 3  # each with the one before it
