"""Whose alleles genotypes 0, 1 and 2 count, told by the shares that stand beside them; never guessed."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from conftest import Runner
from office_support import an_office

from geneticlog.rules.lab_return.columns.genotypes import taxon_counted
from geneticlog.rules.lab_return.words.headings import Taxa

N_LOCI = 38
ALLELES = np.random.default_rng(3)
SWARM = ALLELES.binomial(2, ALLELES.beta(6, 14, 9)[:, None], (9, N_LOCI))
HEADING = ["Sample ID", "Florida", *(f"L{i:02d}" for i in range(1, N_LOCI + 1))]


def a_file(tmp_path: Path, vials: list[str], x: np.ndarray, stated: np.ndarray, mark: str = ".") -> Path:
    file = tmp_path / "return.csv"
    apart = ";" if mark == "," else ","
    rows = [
        [vial, f"{q:.4f}".replace(".", mark), *map(str, one)]
        for vial, one, q in zip(vials, x, stated, strict=True)
    ]
    file.write_text("\n".join(apart.join(row) for row in [HEADING, *rows]), encoding="utf-8")
    return file


def sent(run: Runner, n: int) -> list[str]:
    vials = list(an_office(run.database, n_fish=n))
    run("shipment", "pack", "SHIP-1", "--lab", "QUILL", "--panel", "QB38", *vials)
    run("shipment", "send", "SHIP-1", "--at", "2026-06-01")
    return vials


def result_of(run: Runner, vial: str) -> Any:
    return json.loads(run("history", vial, "--json").stdout)["results"][-1]


@pytest.mark.parametrize("mark", [".", ","])
@pytest.mark.parametrize("counted", ["Florida", "northern"])
def test_the_shares_beside_genotypes_tell_whose_alleles_they_count(
    counted: str, mark: str, run_on_sqlite: Runner, tmp_path: Path
) -> None:
    run = run_on_sqlite
    vials = sent(run, 9)
    q = SWARM.mean(axis=1) / 2
    file = a_file(tmp_path, vials, SWARM if counted == "Florida" else 2 - SWARM, q, mark)
    screen = run("return", "preview", file).stdout
    assert f"C to AN, {N_LOCI} columns: L01 to L38" in screen
    assert "L17" not in screen
    seen = " ".join(screen.split())
    assert f"genotypes 0, 1 and 2 by {counted} alleles: the share stated beside them is that of" in seen
    told = json.loads(run("return", "read", file, "--shipment", "SHIP-1", "--json").stdout)
    assert (told["n_typed"], told["findings"]) == (9, [])
    first = result_of(run, vials[0])
    assert first["heterozygosity"] == pytest.approx((SWARM[0] == 1).mean())
    assert first["n_loci"] == N_LOCI
    document = json.loads(run("report", "fish", "HERON-2026", "--json").stdout)
    assert document["fish"][0]["counted_from"] == "genotypes"
    assert document["fish"][0]["loci_by_alleles"] == [int((SWARM[0] == g).sum()) for g in (0, 1, 2)]


def test_fish_that_do_not_tell_leave_the_genotypes_aside_and_name_the_way_out(
    run_on_sqlite: Runner, tmp_path: Path
) -> None:
    vials = sent(run_on_sqlite, 9)
    all_f1 = np.ones((9, N_LOCI), dtype=int)
    file = a_file(tmp_path, vials, all_f1, np.full(9, 0.5))
    seen = " ".join(run_on_sqlite("return", "preview", file).stdout.split())
    assert "so the lab's own share is taken; say it with --counted Florida or northern" in seen
    told = run_on_sqlite("return", "read", file, "--shipment", "SHIP-1", "--counted", "Florida", "--json")
    assert json.loads(told.stdout)["n_typed"] == 9
    assert result_of(run_on_sqlite, vials[0])["heterozygosity"] == 1


@pytest.mark.parametrize(
    ("stated", "expected"),
    [
        (["0.25"] * 5, "Florida"),
        (["0.75"] * 5, "northern"),
        (["25"] * 5, "Florida"),  # percent
        (["25 %"] * 5, "Florida"),
        (["0.25"] * 4, None),  # too few fish
        (["0.25"] * 5 + ["0.75"], None),  # five of six
        (["0.25"] * 9 + ["0.75"], "Florida"),  # nine of ten
        (["0.4"] * 9, None),  # neither
        (["ND"] * 9, None),
    ],
)
def test_who_is_counted(stated: list[str], expected: str | None) -> None:
    calls = ["0"] * 6 + ["1"] * 3 + ["2"] + [""] * 3  # five alleles of twenty
    told = taxon_counted([(calls, q) for q in stated], Taxa())
    assert (None if told is None else told[0]) == expected
