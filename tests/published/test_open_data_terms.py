"""Columns of the export against the standard's own list of terms.

Source: Darwin Core maintenance group, list of term versions, github.com/tdwg/dwc, vocabulary/term_versions.csv (commit
fbc2f3c8d8123918b47d33949187b9f5174c3f6f): of each term used here the version with the status recommended. The rows,
with version, name, definition and (where the words of a column come from them) examples as printed there, are in
darwin_core_terms.csv.
"""

from __future__ import annotations

import csv
import json
import re
from pathlib import Path

from conftest import Runner
from lakes_support import add_lake, add_survey, add_typed
from sqlalchemy.orm import Session

from geneticlog.store.tables import Office

LIST = Path(__file__).parent / "darwin_core_terms.csv"
PRINTED = list(csv.DictReader(LIST.read_text(encoding="utf-8").splitlines()))
DEFINED = {row["name"]: row["definition"] for row in PRINTED}
EXAMPLES = {row["name"]: set(re.findall(r"`([^`]+)`", row["examples"])) for row in PRINTED}
TERMS = "http://rs.tdwg.org/dwc/terms/"


def test_every_term_is_in_the_list_and_described_as_defined_there(
    run: Runner, session: Session, tmp_path: Path
) -> None:
    session.add(Office(prefix="BG"))
    lake = add_lake(session, latitude=31.1, longitude=-95.6)
    add_typed(session, add_survey(session, lake, crew="A. Test"), [(13.0, 0.25, 0.4)])
    session.commit()
    everything = ("--with-owner", "--with-position", "--with-names", "--with-people")
    run("report", "export", "--out", tmp_path, *everything)
    package = json.loads((tmp_path / "datapackage.json").read_text(encoding="utf-8"))
    seen = set()
    for resource in package["resources"]:
        if "rowType" in resource:
            assert resource["rowType"].removeprefix(TERMS) in DEFINED
        for field in resource["schema"]["fields"]:
            if "rdfType" not in field:
                assert field["name"] not in DEFINED, field["name"]
                continue
            name = field["rdfType"].removeprefix(TERMS)
            seen.add(name)
            assert field["name"] in (name, "stocked_on")  # a term goes by its own name; a stocking has a day
            if field["name"] == name:
                assert field["description"].startswith(DEFINED[name])
    assert seen == {name for name in DEFINED if name[0].islower()}
    with (tmp_path / "event.csv").open(newline="") as file:
        assert {row["geodeticDatum"] for row in csv.DictReader(file)} <= EXAMPLES["geodeticDatum"]
    for table, column in (("occurrence", "basisOfRecord"), ("materialsample", "basisOfRecord"),
                          ("materialsample", "disposition"), ("occurrence", "taxonRank")):  # fmt: skip
        with (tmp_path / f"{table}.csv").open(newline="") as file:
            assert {row[column] for row in csv.DictReader(file)} <= EXAMPLES[column]
