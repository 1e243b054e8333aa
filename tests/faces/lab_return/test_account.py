"""From a strange file to stored results by answering what is asked, and the account of it at any time after."""

from __future__ import annotations

import json
import re
import shlex
from collections.abc import Callable
from pathlib import Path

import pytest
from conftest import Runner
from return_support import a_shipment, csv_file
from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.store.engine import open_engine
from geneticlog.store.tables import Lab, Result, ReturnFile

STRANGE = [
    ["Quillback Genotyping", "", "", "", ""],
    ["Values checked against run 7", "", "", "", ""],
    ["Tube", "q", "Zeta", "Flag", "Loci scored"],
]


@pytest.fixture
def strange(session: Session, tmp_path: Path) -> Path:
    """A file with a line, a column, a word and a share that nobody explains."""
    codes = a_shipment(session, 6)
    session.commit()
    rows = [*STRANGE, *([code, f"{k / 76:.4f}", k + 0.5, "XQ2" if k == 9 else "ok", 38]
                        for code, k in zip(codes, (3, 9, 20, 41, 60, 76), strict=True))]  # fmt: skip
    path = tmp_path / "strange.csv"
    path.write_bytes(csv_file(rows))
    return path


def test_a_person_gets_from_a_strange_file_to_results_by_answering_what_is_asked(
    run: Runner, session: Session, strange: Path
) -> None:
    read = ("return", "read", strange, "--shipment", "SH-1")
    asked = run(*read, fails=5).stderr
    assert session.scalars(select(ReturnFile)).first() is None
    ways = [ways[0] for ways in re.findall(r"[;?] [sS]ay (--.+?)(?= or --|;|\n)()", asked)]
    answers = [part for way in ways for part in shlex.split(way)]
    assert {"--taxon", "--harmless"} <= set(answers)
    said = json.loads(run(*read, *answers, "--json").stdout)
    assert (said["n_typed"], said["n_held"]) == (6, 0)
    verdicts = {(item["what"], item["text"]): item["verdict"] for item in said["account"]}
    assert verdicts["column", "q"] == "used"
    assert verdicts["column", "Zeta"] == "harmless"
    assert verdicts["word", "XQ2"] == "harmless"
    assert verdicts["line", "Quillback Genotyping"] == "harmless"
    assert "asked" not in verdicts.values()
    shown = json.loads(run("return", "show", "strange.csv", "--json").stdout)
    assert shown["account"] == said["account"]
    assert shown["rows"][1]["cells"]["Flag"] == "XQ2"
    assert shown["rows"][1]["q"] == pytest.approx(9 / 76, abs=5e-5)
    words = run("return", "show", said["sha256"][:10]).stdout
    assert "known to be harmless" in words
    assert "XQ2" in words


def test_answers_can_be_kept_for_the_lab_and_units_are_not(
    run: Runner, session: Session, strange: Path, tmp_path: Path
) -> None:
    answers = (
        "--taxon",
        "Florida",
        "--harmless",
        "Zeta",
        "--hold",
        "XQ2",
        "--harmless",
        "Values checked against run 7",
    )
    run("return", "preview", strange, "--shipment", "SH-1", *answers, "--keep-for", "LABSH-1")
    session.rollback()
    layout = session.scalars(select(Lab.layout).where(Lab.code == "LABSH-1")).one() or ""
    assert 'harmless = ["values checked against run 7", "zeta"]' in layout
    taxon = ("--taxon", "Florida")  # asked of each file
    said = json.loads(run("return", "read", strange, "--shipment", "SH-1", *taxon, "--json").stdout)
    assert (said["n_typed"], said["n_held"]) == (5, 1)
    percent = tmp_path / "percent.csv"
    text = strange.read_text()
    percent.write_text(re.sub(r"\b0\.(\d\d)(\d\d)\b", r"\1.\2", text).replace("1.0000", "100.00"))
    asked = run("return", "read", percent, "--shipment", "SH-1", fails=5).stderr
    assert "looks like percent" in asked
    assert "in an earlier file it was fraction" in asked


def test_a_file_without_a_kept_column_is_read_or_asked_about(
    run_on_sqlite: Runner, sqlite_database: str, tmp_path: Path
) -> None:
    engine = open_engine(f"sqlite:///{sqlite_database}")
    with Session(engine) as session:
        codes = a_shipment(session, 4)
        session.commit()
    engine.dispose()
    first, later, other = (tmp_path / name for name in ("first.csv", "later.csv", "other.csv"))
    shares = ["0.2105", "0.3289", "0.0658", "0.5000"]
    rows = [f"{code},{share},38" for code, share in zip(codes, shares, strict=True)]
    first.write_text("\n".join(["Tube,Florida share,Loci,Comment", *(f"{row},pass" for row in rows)]) + "\n")
    run_on_sqlite("return", "preview", first, "--shipment", "SH-1", "--keep-for", "LABSH-1")
    later.write_text("\n".join(["Tube,Florida share,Loci", *rows]) + "\n")  # no comments is no fault
    assert (
        json.loads(run_on_sqlite("return", "read", later, "--shipment", "SH-1", "--json").stdout)["n_typed"]
        == 4
    )
    other.write_text("\n".join(["Tube,Florida proportion,Loci", *rows]) + "\n")
    asked = run_on_sqlite("return", "read", other, "--shipment", "SH-1", fails=5).stderr
    assert (
        "column Florida share, which was kept for the share of Florida alleles, is not in this file" in asked
    )
    other.write_text("\n".join(["Tube,Result,Loci", *rows]) + "\n")
    refused = run_on_sqlite("return", "read", other, "--shipment", "SH-1", fails=5).stderr
    assert "say which it is with --column q=HEADING" in refused


def test_whose_alleles_an_unnamed_share_counts_is_never_kept(
    run_on_sqlite: Runner, sqlite_database: str, tmp_path: Path
) -> None:
    engine = open_engine(f"sqlite:///{sqlite_database}")
    with Session(engine) as session:
        codes = a_shipment(session, 12)
        session.commit()
    engine.dispose()
    for name, part in (("first.csv", codes[:6]), ("next.csv", codes[6:])):
        shares = [f"{k / 76:.4f}" for k in (3, 9, 20, 41, 60, 75)]
        rows = [["Tube", "q", "Loci scored"], *[[c, q, 38] for c, q in zip(part, shares, strict=True)]]
        (tmp_path / name).write_bytes(csv_file(rows))
    read = ("return", "read", "--shipment", "SH-1", "--json")
    for taxon in ("northern", "Florida"):
        said = json.loads(run_on_sqlite(*read, tmp_path / "first.csv", "--taxon", taxon, "--keep").stdout)
        assert said["n_typed"] == 6
        asked = run_on_sqlite(*read, tmp_path / "next.csv", fails=5).stderr
        assert "its heading does not say whose alleles it counts" in asked
        run_on_sqlite("return", "withdraw", "first.csv", "--why", "the other taxon")


def test_the_original_comes_back_as_it_came(run: Runner, strange: Path, tmp_path: Path) -> None:
    answers = (
        "--taxon",
        "Florida",
        "--harmless",
        "Zeta",
        "--hold",
        "XQ2",
        "--harmless",
        "Values checked against run 7",
    )
    run("return", "read", strange, "--shipment", "SH-1", *answers)
    original = strange.read_bytes()
    strange.unlink()
    run("return", "show", "strange.csv", "--out", tmp_path / "again.csv")
    assert (tmp_path / "again.csv").read_bytes() == original
    run("return", "show", "nothing.csv", fails=3)


def test_shares_unlike_those_before_are_asked_about(
    run_on_sqlite: Runner, sqlite_database: str, tmp_path: Path, lake_twice: Callable[[], list[str]]
) -> None:
    codes = lake_twice()
    path = tmp_path / "second.csv"
    path.write_bytes(csv_file([["Vial", "Florida proportion"], *[[code, 0.97] for code in codes]]))
    asked = run_on_sqlite("return", "read", path, "--shipment", "SH-2", fails=5).stderr
    assert (
        "6 of 6 shares are outside what this lab and panel gave for the same waters before (12 results"
        in asked
    )
    answer = ("--harmless", "unlike before")
    said = json.loads(run_on_sqlite("return", "read", path, "--shipment", "SH-2", *answer, "--json").stdout)
    assert said["n_typed"] == 6


@pytest.fixture
def lake_twice(run_on_sqlite: Runner, sqlite_database: str, tmp_path: Path) -> Callable[[], list[str]]:
    """Two shipments of one lake to one lab, the first with results near 0.1."""
    from sqlalchemy import update

    from geneticlog.store.engine import open_engine
    from geneticlog.store.tables import Lake, Shipment, Survey

    def make() -> list[str]:
        engine = open_engine(f"sqlite:///{sqlite_database}")
        with Session(engine) as session:
            first, second = a_shipment(session, 12), a_shipment(session, 6, code="SH-2", first=500)
            lake, lab = session.scalars(select(Lake.id)).first(), session.scalars(select(Lab.id)).first()
            session.execute(update(Survey).values(lake_id=lake))
            session.execute(update(Shipment).values(lab_id=lab))
            session.commit()
        engine.dispose()
        path = tmp_path / "first.csv"
        path.write_bytes(
            csv_file(
                [["Vial", "Florida proportion"], *[[c, 0.05 + i * i / 1000] for i, c in enumerate(first)]]
            )
        )
        run_on_sqlite("return", "read", path, "--shipment", "SH-1")
        with Session(open_engine(f"sqlite:///{sqlite_database}")) as session:
            assert len(session.scalars(select(Result)).all()) == 12
        return second

    return make
