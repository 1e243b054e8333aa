"""The thirty Lake Ouachita fish go in as a lab's file and come out as the report's mean and interval."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from conftest import Runner
from survey_support import codes

# a published table is sorted by its shares, and the invented codes follow it
SORTED = ("--harmless", "in the order of the codes")

# Silliman K, Zhao H, Justice M, Thongda W, Bowen B, Peatman E (2021) Evolutionary Applications 14:2815-2830,
# doi:10.1111/eva.13314, per-fish table issued with it: Florida alleles of 76 (38 loci) in each of 30 fish.
OUACHITA = [0] * 8 + [1] * 2 + [2] * 3 + [3] * 3 + [4, 5, 5, 7, 8, 9, 10, 13, 13, 14, 14, 23, 33, 34]
MEAN = 209 / (30 * 76)  # by hand: 209 Florida alleles of 2280
# The guarded Korn-Graubard interval of these fish, computed apart from this program with scipy 1.17.1's beta
# quantiles (a published form with a guard of the project's own: no outside source prints these two limits).
LOW, HIGH = 0.0509584, 0.1491500
# The report reaches down as far as 2 % misread alleles could have moved it, the most where no rate is known: an allele
# read is one of the taxon or a misread one, p = e + (1 - 2e) q (arithmetic, no source).
REACHED = (LOW - 0.02) / (1 - 2 * 0.02)


def test_the_report_gives_the_mean_and_interval_of_the_file(run: Runner, tmp_path: Path) -> None:
    go_in_and_come_out(run, tmp_path, "csv")


def test_a_workbook_gives_the_same(run_on_sqlite: Runner, tmp_path: Path) -> None:
    go_in_and_come_out(run_on_sqlite, tmp_path, "xlsx")


def go_in_and_come_out(run: Runner, tmp_path: Path, ending: str) -> None:
    assert (len(OUACHITA), sum(OUACHITA)) == (30, 209)
    vials = codes(30, office="TH")
    run("office", "add", "TH")
    run("lake", "add", "OUACHITA", "Lake Ouachita (published fish, invented lengths)")
    run("survey", "open", "OUACHITA", "2019-05-01", "--code", "O-2019")
    run("label", "print", "-n", 30, "--survey", "O-2019", "--out", tmp_path / "labels.pdf")
    log = "".join(f"{vial} {8 + at % 4}\n" for at, vial in enumerate(vials))  # lengths are not published
    run("fish", "log", "O-2019", "--pipe", input=log)
    run("lab", "add", "QUILL", "Quillback (invented)")
    run("panel", "add", "P38", "Thirty-eight loci", "--loci", 38)
    run("shipment", "pack", "SH-1", "--survey", "O-2019", "--lab", "QUILL", "--panel", "P38")
    run("shipment", "send", "SH-1", "--carrier", "an invented carrier")
    rows = [[vial, k / 76, 1 - k / 76, 38] for vial, k in zip(vials, OUACHITA, strict=True)]
    heading = ["Sample ID", "Florida", "Northern", "Loci scored"]
    file = tmp_path / f"return.{ending}"
    if ending == "csv":
        lines = [["Report of the laboratory"], [], heading, *rows]
        file.write_text("".join(",".join(map(str, line)) + "\n" for line in lines))
    else:
        import openpyxl

        book = openpyxl.Workbook()
        for line in [["Report of the laboratory"], [], heading, *rows]:
            book.active.append(line)
        book.save(file)
    run("return", "read", file, "--shipment", "SH-1", *SORTED)
    report = json.loads(run("report", "lake", "OUACHITA", "--out", tmp_path / "report", "--json").stdout)
    swabbed = report["surveys"][0]["swabbed"]
    assert swabbed["n"] == 30
    assert swabbed["mean"] == pytest.approx(MEAN, abs=1e-6)
    assert (swabbed["low"], swabbed["high"]) == pytest.approx((REACHED, HIGH), abs=1e-6)
    page = next((tmp_path / "report").glob("*.html")).read_text(encoding="utf-8")
    assert "0.092" in page
    assert "0.051 to 0.149" in page
