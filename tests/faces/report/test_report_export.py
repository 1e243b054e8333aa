"""``report export``: a package that an independent library finds valid, without what was not asked for."""

from __future__ import annotations

import csv
import json
from datetime import date
from pathlib import Path
from uuid import UUID, uuid5

import pandas as pd
import pytest
from conftest import Runner
from frictionless import Package, system
from lakes_support import NOW, add_fish, add_lake, add_panel, add_result, add_survey, add_typed, add_vial
from sqlalchemy import select
from sqlalchemy.orm import Session
from tests_support import database  # noqa: F401  (files: SQLite alone; what is read for them is tested on both in test_what_counts)

from geneticlog.store.tables import Finding, Lab, Office, Result, Shipment, ShipmentPosition, Survey

EVERYTHING = ("--with-owner", "--with-position", "--with-names", "--with-people")
HOSTILE = '=cmd|"/c calc"!A1, "quoted"\nand a line'


def two_lakes(session: Session) -> None:
    session.add(Office(prefix="BG", name="Bluff Gulch office"))
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
    run("report", "export", "--out", tmp_path / "out", *EVERYTHING, "--licence", "CC-BY-4.0")
    with system.use_context(trusted=True):
        found = Package(str(tmp_path / "out" / "datapackage.json")).validate()
    assert found.valid, found.flatten(["title", "message"])
    assert {task.name for task in found.tasks} == {
        "event",
        "occurrence",
        "materialsample",
        "measurementorfact",
        "outcome",
        "stocking",
        "fish",
    }


def test_the_library_would_see_a_broken_link(run: Runner, session: Session, tmp_path: Path) -> None:
    two_lakes(session)
    run("report", "export", "--out", tmp_path / "out")
    file = tmp_path / "out" / "event.csv"
    file.write_text(file.read_text().replace("urn:uuid:", "urn:uuid:9"))
    with system.use_context(trusted=True):
        assert not Package(str(tmp_path / "out" / "datapackage.json")).validate().valid


def test_every_term_is_a_darwin_core_address(run: Runner, session: Session, tmp_path: Path) -> None:
    two_lakes(session)
    run("report", "export", "--out", tmp_path, *EVERYTHING)
    package = json.loads((tmp_path / "datapackage.json").read_text())
    terms = {
        field["rdfType"]
        for resource in package["resources"]
        for field in resource["schema"]["fields"]
        if "rdfType" in field
    }
    assert all(len(field["description"]) > 8 for resource in package["resources"]
               for field in resource["schema"]["fields"])  # fmt: skip
    # of the table in the standard's own list: tdwg/dwc, vocabulary/term_versions.csv
    for name in ("materialSampleID", "organismID", "eventID", "eventDate", "samplingProtocol", "waterBody",
                 "preparations", "disposition", "scientificName", "basisOfRecord", "individualCount"):  # fmt: skip
        assert f"http://rs.tdwg.org/dwc/terms/{name}" in terms
    assert all(term.startswith("http://rs.tdwg.org/dwc/terms/") for term in terms)


def test_owner_position_people_and_names_are_left_out_unless_asked_for(
    run: Runner, session: Session, tmp_path: Path
) -> None:
    two_lakes(session)
    said = run("report", "export", "--out", tmp_path / "bare").stdout
    assert "Left out: owners, exact positions, names of lakes and surveys, names of people." in said
    assert "No licence is named" in said
    bare = "".join(path.read_text() for path in (tmp_path / "bare").iterdir())
    for word in (
        "Private Owner",
        "31.1234",
        "decimalLatitude",
        "A. Test",
        "HERON",
        "Otter Pond",
        "measuring board",
    ):
        assert word not in bare, word
    assert "licenses" not in json.loads((tmp_path / "bare" / "datapackage.json").read_text())
    run("report", "export", "--out", tmp_path / "full", *EVERYTHING, "--licence", "CC0-1.0")
    with (tmp_path / "full" / "event.csv").open(newline="") as file:
        heron = next(row for row in csv.DictReader(file) if row["fieldNumber"] == "HERON-2026")
    assert heron["lakeOwner"] == "Private Owner"
    assert heron["recordedBy"] == "A. Test | B. Test"
    assert float(heron["decimalLatitude"]) == 31.123456
    assert heron["geodeticDatum"] == "EPSG:4326"
    assert heron["informationWithheld"] == ""
    package = json.loads((tmp_path / "full" / "datapackage.json").read_text())
    assert package["licenses"] == [
        {"name": "CC0-1.0", "title": "Creative Commons Zero 1.0",
         "path": "https://creativecommons.org/publicdomain/zero/1.0/legalcode"}
    ]  # fmt: skip


def test_every_record_keeps_one_identity_of_its_own(run: Runner, session: Session, tmp_path: Path) -> None:
    two_lakes(session)
    for name in ("once", "again"):
        run("report", "export", "--out", tmp_path / name)
    run("report", "export", "--out", tmp_path / "heron", "--lake", "heron")
    seen: list[str] = []
    for table, key in (("event", "eventID"), ("occurrence", "occurrenceID"), ("materialsample", "materialSampleID"),
                       ("measurementorfact", "measurementID"), ("outcome", "outcomeID")):  # fmt: skip
        once, again, heron = (
            pd.read_csv(tmp_path / name / f"{table}.csv")[key].tolist() for name in ("once", "again", "heron")
        )
        assert once == again
        assert set(heron) <= set(once)
        seen += once
    assert len(seen) == len(set(seen))
    assert all(str(UUID(one.removeprefix("urn:uuid:"))) in one for one in seen)


def test_identities_are_made_in_the_namespace_of_the_office(
    run: Runner, session: Session, tmp_path: Path
) -> None:
    assert "no office is entered yet" in run("report", "export", "--out", tmp_path / "none", fails=3).stderr
    two_lakes(session)
    run("report", "export", "--out", tmp_path / "bluff")
    uid = json.loads(run("office", "list", "--json").stdout)["offices"][0]["uuid"]
    events = pd.read_csv(tmp_path / "bluff" / "event.csv")
    assert set(events["institutionID"]) == {f"urn:uuid:{UUID(uid)}"}
    by_code = {survey.code: survey.uid for survey in session.scalars(select(Survey))}
    # a name-based UUID, version 5, of RFC 9562, made by the standard library: not by the code under test
    assert set(events["eventID"]) == {f"urn:uuid:{uuid5(UUID(uid), one)}" for one in by_code.values()}
    session.add(Office(prefix="TH", name="another office with the same records"))
    session.commit()
    assert "several offices (BG, TH)" in run("report", "export", "--out", tmp_path, fails=3).stderr
    run("report", "export", "--out", tmp_path / "tower", "--office", "th")
    other = pd.read_csv(tmp_path / "tower" / "occurrence.csv")["occurrenceID"]
    ours = pd.read_csv(tmp_path / "bluff" / "occurrence.csv")["occurrenceID"]
    assert len(ours) == len(other) > 0
    assert not set(ours) & set(other)


def test_failures_duplicates_and_what_is_in_doubt_are_told(
    run: Runner, session: Session, tmp_path: Path
) -> None:
    two_lakes(session)
    survey = session.scalars(select(Survey).where(Survey.code == "HERON-2026")).one()
    fish = add_fish(session, survey, 12.0)
    first, second = add_vial(session, fish), add_vial(session, fish, role="blind_duplicate")
    add_result(session, first, 0.5)
    session.add(Result(vial_id=second.id, outcome="typed", standing="held", q=0.1))
    session.add(Finding(number=1, key="k", kind="conflicting", vial_id=first.id, text="look", opened_at=NOW))
    session.commit()
    run("report", "export", "--out", tmp_path)
    told = pd.read_csv(tmp_path / "outcome.csv")
    assert told["outcome"].tolist().count("failed") == 1
    assert told["failure"].dropna().tolist() == ["No amp"]
    assert told[["role", "standing", "counts"]].to_numpy().tolist()[-3:-1] == [
        ["sample", "current", True], ["blind_duplicate", "held", False],
    ]  # fmt: skip
    assert told["doubtful"].tolist().count(True) == 1
    remarks = pd.read_csv(tmp_path / "occurrence.csv")["occurrenceRemarks"].dropna().tolist()
    assert remarks == ["the result of this fish is in doubt until a finding is decided"]
    assert pd.read_csv(tmp_path / "fish.csv")["doubtful"].tolist().count(True) == 1


def test_a_vial_is_where_it_went(run: Runner, session: Session, tmp_path: Path) -> None:
    session.add(Office(prefix="BG"))
    survey = add_survey(session, add_lake(session))
    lab = Lab(code="QUILL", name="Quillback (invented)")
    session.add(lab)
    session.flush()
    sent = Shipment(code="SH", lab_id=lab.id, container="loose", standing="sent", packed_at=NOW, packed_by="A",
                    sent_at=NOW)  # fmt: skip
    session.add(sent)
    session.flush()
    for at, (standing, arrival) in enumerate(
        [("filled", None), ("lost", None), ("broken", None), ("filled", "missing"), ("filled", "broken")]
    ):
        vial = add_vial(session, add_fish(session, survey, 12.0))
        vial.standing = standing
        if standing == "filled":
            session.add(
                ShipmentPosition(shipment_id=sent.id, vial_id=vial.id, position=str(at), arrival=arrival)
            )
    add_vial(session, add_fish(session, survey, 12.0))  # in store
    session.commit()
    run("report", "export", "--out", tmp_path)
    assert pd.read_csv(tmp_path / "materialsample.csv")["disposition"].tolist() == [
        "on loan", "missing", "destroyed", "missing", "destroyed", "in collection",
    ]  # fmt: skip


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
    run("report", "export", "--out", tmp_path, "--with-names")
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


def test_parquet_files_hold_the_same_rows_with_types(run: Runner, session: Session, tmp_path: Path) -> None:
    import pyarrow.parquet as pq

    two_lakes(session)
    run("report", "export", "--out", tmp_path, *EVERYTHING, "--parquet")
    described = json.loads((tmp_path / "datapackage.json").read_text())["resources"]
    for resource in described:
        table = pq.read_table(tmp_path / f"{resource['name']}.parquet")
        text = pd.read_csv(tmp_path / resource["path"], dtype=str, keep_default_na=False)
        assert table.column_names == list(text.columns)
        assert table.num_rows == len(text)
        assert all(field.metadata[b"description"] for field in table.schema)
    fish = pq.read_table(tmp_path / "fish.parquet")
    kinds = {field.name: str(field.type) for field in fish.schema}
    assert (kinds["n_fish"], kinds["q"], kinds["in_the_numbers"]) == ("int64", "double", "bool")
    stored = pd.read_csv(tmp_path / "fish.csv")
    assert fish.column("q").to_pylist() == [None if pd.isna(q) else q for q in stored["q"]]
    assert pq.read_table(tmp_path / "event.parquet").column("waterBody").to_pylist().count(HOSTILE) == 1


def test_without_pyarrow_the_csv_files_are_pointed_at(
    run_on_sqlite: Runner, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import sys

    monkeypatch.setitem(sys.modules, "pyarrow", None)
    said = run_on_sqlite("report", "export", "--out", tmp_path / "out", "--parquet", fails=1).stderr
    assert "pip install 'geneticlog[parquet]'" in said
    assert not (tmp_path / "out").exists()
    run_on_sqlite("office", "add", "BG")
    run_on_sqlite("report", "export", "--out", tmp_path / "out")
