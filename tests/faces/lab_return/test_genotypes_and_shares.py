"""A file that states q, H and loci and brings the genotypes too: counted again, compared, and nothing mended."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from conftest import Runner
from office_support import an_office
from tests_support import on_sqlite

from geneticlog.rules.lab_return.drafts.recounted import compare_counted
from geneticlog.rules.vialcode import printed

N_LOCI = 38
HEADING = ["Sample ID", "Florida", "Het", "Loci", *(f"L{i:02d}" for i in range(1, N_LOCI + 1))]


def genotypes(n: int) -> np.ndarray:
    """Genotypes of n fish of an invented hybrid swarm, one locus of each without a call."""
    chance = np.random.default_rng(11)
    x = chance.binomial(2, chance.beta(6, 14, n)[:, None], (n, N_LOCI))
    x[:, 5] = -1
    return x


def a_row(vial: str, x: np.ndarray, **stated: str) -> list[str]:
    scored = x[x >= 0]
    held = {
        "q": f"{scored.sum() / (2 * len(scored)):.4f}",
        "h": f"{(scored == 1).mean():.4f}",
        "loci": str(len(scored)),
        **stated,
    }
    return [vial, held["q"], held["h"], held["loci"], *("NA" if one < 0 else str(one) for one in x)]


def read(run: Runner, tmp_path: Path, rows: Sequence[Sequence[str]], heading: Sequence[str] = HEADING) -> Any:
    file = tmp_path / "return.csv"
    file.write_text("\n".join(",".join(row) for row in [heading, *rows]), encoding="utf-8")
    told = run("return", "read", file, "--shipment", "SHIP-1", "--counted", "Florida", "--json").stdout
    return json.loads(told)


def sent(run: Runner, n: int) -> list[str]:
    vials = an_office(run.database, n_fish=n)
    run("shipment", "pack", "SHIP-1", "--lab", "QUILL", "--panel", "QB38", *vials)
    run("shipment", "send", "SHIP-1", "--at", "2026-06-01")
    return list(vials)


def result_of(run: Runner, vial: str) -> Any:
    return json.loads(run("history", vial, "--json").stdout)["results"][-1]


@on_sqlite
def test_what_agrees_is_read_without_a_finding(run: Runner, tmp_path: Path) -> None:
    vials, x = sent(run, 8), genotypes(8)
    cut_off = a_row(vials[7], x[7])
    scored = x[7][x[7] >= 0]
    cut_off[1] = str(int(scored.sum() / (2 * len(scored)) * 10_000) / 10_000)  # cut off instead of rounded
    told = read(
        run, tmp_path, [*(a_row(vial, one) for vial, one in zip(vials[:7], x, strict=False)), cut_off]
    )
    assert told["findings"] == []
    assert (told["n_typed"], told["n_held"]) == (8, 0)
    assert result_of(run, vials[0])["n_loci"] == 37


def test_q_or_h_that_is_not_that_of_the_genotypes_is_held_with_both_values(
    run: Runner, tmp_path: Path
) -> None:
    vials, x = sent(run, 4), genotypes(4)
    rows = [
        a_row(vials[0], x[0]),
        a_row(vials[1], x[1], q="0.7568"),
        a_row(vials[2], x[2], h="0.1081"),
        a_row(vials[3], x[3], loci="38"),
    ]
    told = read(run, tmp_path, rows)
    by_kind: dict[str, list[str]] = {}
    for one in told["findings"]:
        by_kind.setdefault(one["kind"], []).append(one["text"])
    apart = by_kind["genotypes_disagree"]
    assert len(apart) == 2
    q = x[1][x[1] >= 0].sum() / 74
    assert f"{vials[1]}, row 3: the lab gives q 0.7568, its genotypes give q {q:.4g}" in apart[0]
    h = (x[2][x[2] >= 0] == 1).mean()
    assert f"{vials[2]}, row 4: the lab gives H 0.1081, its genotypes give H {h:.4g}." in apart[1]
    assert by_kind["genotype_loci_disagree"] == [
        "Row 5: the lab states 38 loci, its genotypes have 37 calls; the stated number is kept."
    ]
    assert [result_of(run, vial)["standing"] for vial in vials] == ["current", "held", "held", "current"]
    assert result_of(run, vials[1])["q"] == 0.7568  # as the lab stated it
    assert result_of(run, vials[3])["n_loci"] == 38


def test_a_person_says_whether_the_stated_value_or_the_genotypes_stand(run: Runner, tmp_path: Path) -> None:
    vials, x = sent(run, 4), genotypes(4)
    told = read(
        run, tmp_path, [a_row(vials[0], x[0]), a_row(vials[1], x[1], q="0.7568"), a_row(vials[2], x[2])]
    )
    name = next(one["finding"] for one in told["findings"] if one["kind"] == "genotypes_disagree")
    text = next(one["text"] for one in told["findings"] if one["finding"] == name)
    assert "Accept: use what the lab gives. Recount: use what the genotypes give." in text
    q, h = x[1][x[1] >= 0].sum() / 74, (x[1][x[1] >= 0] == 1).mean()

    def of_report() -> tuple[Any, str]:
        report = json.loads(run("report", "fish", "HERON-2026", "--json").stdout)
        fish = next((one for one in report["fish"] if one["number"] == 2), None)
        return fish, " ".join(report["notes"])

    run("decide", name, "accept", "--why", "the lab corrected its sum")
    fish, said = of_report()
    assert (fish["q"], fish["counted_q"], fish["counted_from"]) == (0.7568, pytest.approx(q), "q, H and loci")
    assert fish["low"] < 0.7568 < fish["high"]
    assert f"fish 2: q 0.7568 as the lab stated, its genotypes give q {q:.4g} ({name}, accept)" in said
    told = run("decide", name, "recount", "--why", "the lab found its sum wrong").stdout
    assert f"q of {printed(vials[1])}: 0.7568, now {q:.4g}" in told
    fish, said = of_report()
    assert (fish["q"], fish["heterozygosity"], fish["n_loci"]) == (pytest.approx(q), pytest.approx(h), 37)
    assert (fish["counted_from"], fish["low"] < q < fish["high"]) == ("genotypes", True)
    words = f"q {q:.4g} counted from the genotypes, the lab stated q 0.7568 ({name}, recount)"
    assert f"fish 2: {words}" in said
    life = " ".join(run("history", vials[1]).stdout.split())
    assert words in life
    assert f"finding {name} decided: recount (was accept) (q 0.7568 to {q:.4g})" in life
    rows = run("report", "export", "--out", tmp_path / "open").stdout
    assert rows
    run("decide", name, "reject", "--why", "neither")
    assert of_report()[0] is None
    assert result_of(run, vials[1])["q"] == 0.7568  # given back as it was stated
    agreeing = run("decide", name, "accept", "--why", "as at first", "--json").stdout
    assert json.loads(agreeing)["decisions"][0]["moved"][0]["after"] == "current"
    assert "recount   use what its genotypes give" in run("decide", "--help").stdout


@on_sqlite
def test_what_the_genotypes_say_is_not_said_again_of_the_share_alone(run: Runner, tmp_path: Path) -> None:
    vials, x = sent(run, 2), genotypes(2)
    told = read(run, tmp_path, [a_row(vials[0], x[0], q="0.7000", h="0.5811")])
    assert [one["kind"] for one in told["findings"]] == ["genotypes_disagree"]
    heading, row = HEADING[:4], [vials[1], "0.7000", "", "37"]
    (tmp_path / "second.csv").write_text("\n".join(",".join(one) for one in (heading, row)))
    again = run("return", "read", tmp_path / "second.csv", "--shipment", "SHIP-1", "--json").stdout
    (finding,) = json.loads(again)["findings"]
    assert finding["text"].startswith(
        f"{vials[1]}, row 2: the proportion does not equal a whole number of alleles"
    )


def test_an_h_that_only_the_genotypes_gave_goes_with_them(run_on_sqlite: Runner, tmp_path: Path) -> None:
    run = run_on_sqlite
    vials, x = sent(run, 2), genotypes(2)
    heading = [word for word in HEADING if word != "Het"]
    row = a_row(vials[0], x[0], q="0.9054")
    told = read(run, tmp_path, [[*row[:2], *row[3:]]], heading)
    name = told["findings"][0]["finding"]
    run("decide", name, "accept", "--why", "the lab's sum is right")
    assert result_of(run, vials[0])["heterozygosity"] is None
    run("decide", name, "recount", "--why", "it was not")
    assert result_of(run, vials[0])["heterozygosity"] == pytest.approx((x[0][x[0] >= 0] == 1).mean())


def test_what_a_row_does_not_state_is_counted_and_a_failed_row_stays_failed(
    run: Runner, tmp_path: Path
) -> None:
    vials, x = sent(run, 3), genotypes(3)
    heading = [word for word in HEADING if word not in ("Het", "Loci")]
    whole = [a_row(vial, one) for vial, one in zip(vials, x, strict=True)]
    rows = [[*row[:2], *row[4:]] for row in whole]
    rows[2][1] = "failed"
    told = read(run, tmp_path, rows, heading)
    assert [one["kind"] for one in told["findings"]] == ["failed"]
    first = result_of(run, vials[0])
    assert first["heterozygosity"] == pytest.approx((x[0][x[0] >= 0] == 1).mean())
    assert first["n_loci"] == 37
    assert result_of(run, vials[2])["outcome"] == "failed"


def test_a_stated_h_of_nought_is_not_taken_for_none(run_on_sqlite: Runner, tmp_path: Path) -> None:
    vials, x = sent(run_on_sqlite, 1), genotypes(1)
    heading = [word for word in HEADING if word not in ("Florida", "Loci")]
    row = a_row(vials[0], x[0], h="0.0000")
    told = read(run_on_sqlite, tmp_path, [[row[0], row[2], *row[4:]]], heading)
    assert [one["kind"] for one in told["findings"]][:1] == ["genotypes_disagree"]
    assert "the lab gives H 0, its genotypes give H" in told["findings"][0]["text"]
    assert result_of(run_on_sqlite, vials[0])["standing"] == "held"


@pytest.mark.parametrize(
    ("q", "h", "n_loci", "digits", "kinds"),
    [
        pytest.param(0.2568, 0.3514, 37, 4, [], id="rounded to four decimals"),
        pytest.param(0.26, 0.35, 37, 2, [], id="rounded to whole percent"),
        pytest.param(0.24, 0.35, 37, 2, ["genotypes_disagree"], id="one allele off at whole percent"),
        pytest.param(None, None, None, 4, [], id="nothing stated"),
        pytest.param(0.2568, None, 38, 4, ["genotype_loci_disagree"], id="another number of loci"),
        pytest.param(0.7432, 0.3514, 37, 4, ["genotypes_disagree"], id="the other taxon's share"),
    ],
)
def test_how_near_is_near_enough(
    q: float | None, h: float | None, n_loci: int | None, digits: int, kinds: list[str]
) -> None:
    half = 0.5 * 10.0**-digits
    found = compare_counted((19 / 74, 13 / 37, 37), q, h, n_loci, half, half)
    assert [one.kind for one in found] == kinds
    if q == 0.7432:
        assert found[0].facts["how"] == "; are northern alleles counted?"
