"""``report export``: a package that an independent library finds valid, without what was not asked for."""

from __future__ import annotations

import csv
import json
from datetime import date
from pathlib import Path

import pandas as pd
import pytest
from conftest import Runner
from frictionless import Package, system
from lakes_support import add_fish, add_lake, add_panel, add_result, add_survey, add_typed, add_vial
from sqlalchemy.orm import Session

HOSTILE = '=cmd|"/c calc"!A1, "quoted"\nand a line'


def two_lakes(session: Session) -> None:
    lake = add_lake(session, name=HOSTILE, owner="Private Owner", latitude=31.123456, longitude=-95.654321,
                    position_uncertainty_m=50.0)  # fmt: skip
    survey = add_survey(session, lake, effort_minutes=84, crew="A. Test | B. Test")
    add_typed(session, survey, [(13.0, 0.25, 0.4), (9.5, 1 / 3, None)], panel=add_panel(session))
    add_fish(session, survey, 6.5, n_fish=14)
    add_fish(session, survey, None)
    failed = add_vial(session, add_fish(session, survey, 11.0, weight_g=300), medium="ethanol")
    add_result(session, failed, None, failure="No amp")
    other = add_lake(session, "OTTER", "Otter Pond")
    add_typed(session, add_survey(session, other, "OTTER-1", date(2025, 4, 1)), [(14.0, 0.0)])
    session.commit()


def test_the_package_is_valid_to_an_independent_library(
    run: Runner, session: Session, tmp_path: Path
) -> None:
    two_lakes(session)
    run("report", "export", "--out", tmp_path / "out", "--with-owner", "--with-position")
    with system.use_context(trusted=True):
        found = Package(str(tmp_path / "out" / "datapackage.json")).validate()
    assert found.valid, found.flatten(["title", "message"])
    assert {task.name for task in found.tasks} == {
        "event",
        "occurrence",
        "materialsample",
        "measurementorfact",
        "fish",
    }


def test_the_library_would_see_a_broken_link(run: Runner, session: Session, tmp_path: Path) -> None:
    two_lakes(session)
    run("report", "export", "--out", tmp_path / "out")
    file = tmp_path / "out" / "event.csv"
    file.write_text(file.read_text().replace("HERON-2026", "HERON-9999"))
    with system.use_context(trusted=True):
        assert not Package(str(tmp_path / "out" / "datapackage.json")).validate().valid


def test_every_term_is_a_darwin_core_address(run: Runner, session: Session, tmp_path: Path) -> None:
    two_lakes(session)
    run("report", "export", "--out", tmp_path)
    package = json.loads((tmp_path / "datapackage.json").read_text())
    terms = {
        field["rdfType"]
        for resource in package["resources"]
        for field in resource["schema"]["fields"]
        if "rdfType" in field
    }
    # of the table in the standard's own list: tdwg/dwc, vocabulary/term_versions.csv
    for name in ("materialSampleID", "organismID", "eventID", "eventDate", "samplingProtocol", "waterBody",
                 "preparations", "disposition", "scientificName", "basisOfRecord", "individualCount"):  # fmt: skip
        assert f"http://rs.tdwg.org/dwc/terms/{name}" in terms
    assert all(term.startswith("http://rs.tdwg.org/dwc/terms/") for term in terms)


def test_owner_and_position_are_left_out_unless_asked_for(
    run: Runner, session: Session, tmp_path: Path
) -> None:
    two_lakes(session)
    run("report", "export", "--out", tmp_path / "bare")
    bare = "".join(path.read_text() for path in (tmp_path / "bare").iterdir())
    assert "Private Owner" not in bare
    assert "31.1234" not in bare
    assert "decimalLatitude" not in bare
    run("report", "export", "--out", tmp_path / "full", "--with-owner", "--with-position")
    with (tmp_path / "full" / "event.csv").open(newline="") as file:
        heron = next(row for row in csv.DictReader(file) if row["eventID"] == "HERON-2026")
    assert heron["lakeOwner"] == "Private Owner"
    assert float(heron["decimalLatitude"]) == 31.123456
    assert heron["geodeticDatum"] == "EPSG:4326"


def test_one_row_a_fish_reads_in_pandas(run: Runner, session: Session, tmp_path: Path) -> None:
    two_lakes(session)
    run("report", "export", "--out", tmp_path)
    fish = pd.read_csv(tmp_path / "fish.csv")
    assert len(fish) == 6
    assert fish["fish"].is_unique
    assert fish["n_fish"].sum() == 19
    assert fish["q"].dropna().tolist() == [0.25, 1 / 3, 0.0]  # nothing rounded
    assert fish["total_length_mm"].iloc[0] == pytest.approx(13 * 25.4)
    assert fish["ancestry_class"].dropna().tolist() == ["intergrade", "intergrade", "northern"]


def test_the_files_keep_to_the_standard_for_csv(run: Runner, session: Session, tmp_path: Path) -> None:
    two_lakes(session)
    run("report", "export", "--out", tmp_path)
    for path in tmp_path.glob("*.csv"):
        content = path.read_bytes()
        assert content.endswith(b"\r\n")
        assert not content.startswith(b"\xef\xbb\xbf")
        content.decode("utf-8")
    with (tmp_path / "event.csv").open(newline="") as file:
        names = [row["waterBody"] for row in csv.DictReader(file)]
    assert names[0] == "'" + HOSTILE  # guarded, and otherwise whole


def test_measurements_are_those_that_were_made(run: Runner, session: Session, tmp_path: Path) -> None:
    two_lakes(session)
    run("report", "export", "--out", tmp_path, "--lake", "heron")
    kinds = pd.read_csv(tmp_path / "measurementorfact.csv")["measurementType"].value_counts().to_dict()
    assert kinds == {
        "total length": 4, "weight": 1, "Florida-allele proportion": 2, "loci scored": 2,
        "heterozygosity between the two taxa": 1,
    }  # fmt: skip
    samples = pd.read_csv(tmp_path / "materialsample.csv")
    assert samples["preparations"].tolist() == ["mouth swab", "mouth swab", "mouth swab (ethanol)"]


def test_one_lake_alone_and_a_lake_that_is_not_there(run: Runner, session: Session, tmp_path: Path) -> None:
    two_lakes(session)
    run("report", "export", "--out", tmp_path / "one", "--lake", "otter")
    assert len(pd.read_csv(tmp_path / "one" / "fish.csv")) == 1
    assert "no lake" in run("report", "export", "--out", tmp_path / "none", "--lake", "nix", fails=3).stderr
    assert not (tmp_path / "none").exists()
