"""``geneticlog return preview`` and ``read``, as a person at the office meets them."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from conftest import Runner
from return_support import a_shipment, csv_file
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from geneticlog.store.engine import open_engine
from geneticlog.store.tables import Event, Finding, Result, ReturnFile, ReturnRow, Vial

Write = Callable[..., Path]


@pytest.fixture
def write(tmp_path: Path) -> Write:
    def write(rows: list[list[object]] | bytes, name: str = "return.csv") -> Path:
        path = tmp_path / name
        path.write_bytes(rows if isinstance(rows, bytes) else csv_file(rows))
        return path

    return write


def plain_rows(codes: list[str], q: list[object]) -> list[list[object]]:
    return [["Vial", "Florida proportion"], *([code, value] for code, value in zip(codes, q, strict=False))]


def n_of(session: Session, table: Any) -> int:
    return session.scalar(select(func.count()).select_from(table)) or 0


def test_a_return_is_stored_with_its_bytes_its_rows_and_its_results(
    run: Runner, session: Session, write: Write
) -> None:
    codes = a_shipment(session, 3)
    session.commit()
    path = write(plain_rows(codes, [0.25, "failed", 0]))
    said = json.loads(run("return", "read", path, "--shipment", "sh-1", "--json").stdout)
    assert {key: said[key] for key in ("n_rows", "n_typed", "n_failed", "n_held", "n_unexpected")} == {
        "n_rows": 3,
        "n_typed": 2,
        "n_failed": 1,
        "n_held": 0,
        "n_unexpected": 0,
    }
    file = session.scalars(select(ReturnFile)).one()
    assert file.content == path.read_bytes()
    rows = session.scalars(select(ReturnRow).order_by(ReturnRow.row_number)).all()
    assert [row.row_number for row in rows] == [2, 3, 4]
    assert json.loads(rows[0].cells) == {"Vial": codes[0], "Florida proportion": "0.25"}
    assert [row.outcome for row in rows] == ["typed", "failed", "typed"]
    results = session.scalars(select(Result).order_by(Result.id)).all()
    assert [(result.q, result.outcome, result.standing) for result in results] == [
        (0.25, "typed", "current"),
        (None, "failed", "current"),
        (0.0, "typed", "current"),
    ]
    assert results[1].failure == "failed"
    assert [result.fish_id is not None for result in results] == [True, False, True]
    kinds = list(session.scalars(select(Finding.kind).order_by(Finding.number)))
    assert kinds == ["failed", "loci_unknown"]
    assert session.scalar(select(Event.by).where(Event.verb == "return_read")) == "Ada Test"


def test_the_same_bytes_again_change_nothing_and_say_so(run: Runner, session: Session, write: Write) -> None:
    codes = a_shipment(session, 2)
    session.commit()
    path = write(plain_rows(codes, [0.25, 0.5]))
    run("return", "read", path, "--shipment", "SH-1")
    before = [n_of(session, table) for table in (ReturnFile, ReturnRow, Result, Finding, Event)]
    copy = write(path.read_bytes(), "another name.csv")
    said = run("return", "read", copy, "--shipment", "SH-1").output
    assert "already read on" in said
    assert "nothing changed" in said
    assert [n_of(session, table) for table in (ReturnFile, ReturnRow, Result, Finding, Event)] == before


def test_a_corrected_file_replaces_row_by_row_and_keeps_the_old(
    run: Runner, session: Session, write: Write
) -> None:
    codes = a_shipment(session, 3)
    session.commit()
    run("return", "read", write(plain_rows(codes, [0.25, 0.5, "ND"])), "--shipment", "SH-1")
    again = write(plain_rows(codes[1:], [0.75, 0.1]), "corrected.csv")
    said = run("return", "read", again, "--shipment", "SH-1").output
    assert "2 earlier results were replaced" in said
    assert f"{codes[1]} was q 0.5 in an earlier file and is q 0.75" in said
    results = session.execute(
        select(Vial.code, Result.q, Result.standing, Result.fish_id.is_not(None))
        .join(Vial, Vial.id == Result.vial_id)
        .order_by(Vial.id, Result.id)
    ).all()
    assert [tuple(row) for row in results] == [
        (codes[0], 0.25, "current", True),
        (codes[1], 0.5, "superseded", False),
        (codes[1], 0.75, "current", True),
        (codes[2], None, "superseded", False),
        (codes[2], 0.1, "current", True),
    ]


def test_a_failure_in_a_later_file_waits_for_a_decision_and_does_not_unseat_a_result(
    run: Runner, session: Session, write: Write
) -> None:
    codes = a_shipment(session, 2)
    session.commit()
    run("return", "read", write(plain_rows(codes, [0.25, "ND"])), "--shipment", "SH-1")
    again = write(plain_rows(codes, ["no amp", "failed"]), "two.csv")
    said = run("return", "read", again, "--shipment", "SH-1").output
    assert f"{codes[0]} was q 0.25 in an earlier file and has no result in row 2, 'no amp'" in said

    def standings() -> list[tuple[Any, ...]]:
        session.rollback()  # see what the command stored
        found = session.execute(
            select(Result.q, Result.outcome, Result.standing)
            .join(Vial, Vial.id == Result.vial_id)
            .where(Vial.code == codes[0])
            .order_by(Result.id)
        )
        return [tuple(row) for row in found]

    assert standings() == [(0.25, "typed", "current"), (None, "failed", "held")]
    finding = session.scalars(select(Finding).where(Finding.kind == "failed_after_result")).one()
    run("decide", f"F{finding.number}", "accept", "--why", "the lab withdrew it")
    assert standings() == [(0.25, "typed", "superseded"), (None, "failed", "current")]


@pytest.mark.parametrize(
    ("heading", "cells", "words"),
    [
        (["Florida", "North", "H"], ["", "0.79", "0.21"], "they did not all fail"),
        (["Florida", "H"], ["ND", "0.21"], "they did not all fail"),
    ],
)
def test_shares_without_the_one_that_counts_are_no_failures(
    run_on_sqlite: Runner,
    sqlite_database: str,
    write: Write,
    heading: list[str],
    cells: list[str],
    words: str,
) -> None:
    from geneticlog.store.engine import open_engine

    engine = open_engine(f"sqlite:///{sqlite_database}")
    with Session(engine) as session:
        codes = a_shipment(session, 2)
        session.commit()
        run_on_sqlite("return", "read", write(plain_rows(codes, [0.25, 0.5])), "--shipment", "SH-1")
        path = write([["Sample", *heading], *([code, *cells] for code in codes)], "two.csv")
        for command in ("preview", "read"):
            said = run_on_sqlite("return", command, path, "--shipment", "SH-1", fails=5).stderr
            assert words in said
            assert "--column q=" in said
            assert len(said.strip().splitlines()) == 1
        assert [(r.q, r.standing) for r in session.scalars(select(Result).order_by(Result.id))] == [
            (0.25, "current"),
            (0.5, "current"),
        ]
    engine.dispose()


def test_an_impossible_value_of_a_corrected_file_does_not_unseat_what_stands(
    run: Runner, session: Session, write: Write
) -> None:
    codes = a_shipment(session, 6)
    session.commit()
    q = [0.25, 0.5, 0.1, 0.2, 0.3, 0.4]
    run("return", "read", write(plain_rows(codes, q)), "--shipment", "SH-1")
    run("return", "read", write(plain_rows(codes, [1.7, *q[1:]]), "two.csv"), "--shipment", "SH-1")
    results = session.execute(
        select(Result.q, Result.standing)
        .join(Vial, Vial.id == Result.vial_id)
        .where(Vial.code == codes[0])
        .order_by(Result.id)
    ).all()
    assert [tuple(row) for row in results] == [(0.25, "current"), (None, "held")]


@pytest.mark.parametrize(
    ("content", "name", "exit_code", "words"),
    [
        (b"", "return.csv", 5, "the file is empty"),
        (b"%PDF-1.4", "return.xlsx", 5, "this is a PDF"),
        (b"Name,Florida\nx,0.4\n", "return.csv", 5, "none of its values is a vial code"),
        (b"Vial,Length\nBG000001J,300\n", "return.csv", 5, "no column holds the share of Florida alleles"),
        (b"Vial,Florida\n", "return.csv", 5, "no sample below the heading"),
        (b"Vial,Florida\nBG000001J,1\n", "return.csv", 5, "percent or as fraction"),
        (None, "none.csv", 3, "no such file"),
    ],
)
def test_a_file_that_cannot_be_read_stores_nothing(
    run_on_sqlite: Runner,
    new_session: Callable[[], Session],
    tmp_path: Path,
    content: bytes | None,
    name: str,
    exit_code: int,
    words: str,
) -> None:
    with new_session() as session:
        a_shipment(session, 2)
        session.commit()
    path = tmp_path / name
    if content is not None:
        path.write_bytes(content)
    said = run_on_sqlite("return", "read", path, "--shipment", "SH-1", fails=exit_code)
    assert words in said.stderr
    assert len(said.stderr.strip().splitlines()) == 1
    with new_session() as session:
        assert [n_of(session, table) for table in (ReturnFile, ReturnRow, Result, Finding, Event)] == [0] * 5


def test_an_unknown_shipment_is_not_found(run_on_sqlite: Runner, tmp_path: Path) -> None:
    path = tmp_path / "return.csv"
    path.write_bytes(b"Vial,Florida\nBG000001J,0.5\n")
    assert "no shipment 'SH-9'" in run_on_sqlite("return", "read", path, "--shipment", "SH-9", fails=3).stderr


@pytest.fixture
def new_session(sqlite_database: str) -> Callable[[], Session]:
    from geneticlog.store.engine import open_engine

    engine = open_engine(f"sqlite:///{sqlite_database}")
    return lambda: Session(engine)


def test_a_preview_stores_nothing_tells_why_and_keeps_its_answers_as_a_layout(
    run_on_sqlite: Runner, new_session: Callable[[], Session], write: Write, tmp_path: Path
) -> None:
    with new_session() as session:
        codes = a_shipment(session, 3)
        session.commit()
    rows: list[list[object]] = [
        ["An invented lab"],
        ["Tube", "FLMB"],
        [codes[0], 1],
        [codes[1], 0],
        [codes[2], "redo"],
    ]
    path = write(rows)
    seen = json.loads(run_on_sqlite("return", "preview", path, "--json").stdout)
    assert seen["heading_row"] == 2
    assert [column["taken_for"] for column in seen["columns"]] == ["vial", "q"]
    assert seen["questions"][0]["options"] == "--unit q=percent or --unit q=fraction"
    assert "Nothing can be read before" in run_on_sqlite("return", "preview", path).stdout
    layout = tmp_path / "north.toml"
    answers = ("--unit", "q=fraction", "--missing", "redo")
    run_on_sqlite("return", "preview", path, "--save-layout", layout, fails=5)
    assert not layout.exists()
    run_on_sqlite("return", "preview", path, *answers, "--save-layout", layout, "--keep-for", "LABSH-1")
    assert "--replace" in run_on_sqlite("return", "preview", path, "--save-layout", layout, fails=4).stderr
    run_on_sqlite("return", "preview", path, *answers, "--save-layout", layout, "--replace")
    with new_session() as session:
        assert n_of(session, ReturnFile) == 0
    # what is kept are columns and words; the unit is judged, or asked about, on each file
    seen = json.loads(run_on_sqlite("return", "preview", path, "--layout", layout, "--json").stdout)
    assert "in an earlier file it was fraction" in seen["questions"][0]["text"]
    unit = ("--unit", "q=fraction")
    seen = json.loads(run_on_sqlite("return", "preview", path, "--layout", layout, *unit, "--json").stdout)
    assert [(row["vial"], row["q"], row["outcome"]) for row in seen["rows"]] == [
        (codes[0], 1.0, "typed"),
        (codes[1], 0.0, "typed"),
        (codes[2], None, "failed"),
    ]
    read = run_on_sqlite("return", "read", path, "--shipment", "SH-1", *unit)
    assert "3 rows for shipment SH-1" in read.stdout


@pytest.mark.parametrize(
    "option",
    [("--column", "q"), ("--column", "colour=B"), ("--unit", "q=half"), ("--counted", "Delta")],
)
def test_an_answer_that_is_none_is_wrong_usage(
    run_on_sqlite: Runner, write: Write, option: tuple[str, str]
) -> None:
    run_on_sqlite("return", "preview", write([["Vial", "Florida"], ["BG000001J", 0.5]]), *option, fails=2)


def test_a_preview_of_a_heading_alone_is_refused_as_reading_it_is(
    run_on_sqlite: Runner, write: Write
) -> None:
    said = run_on_sqlite("return", "preview", write(b"Vial,Florida\n"), fails=5).stderr
    assert "there is no sample below the heading" in said


def test_a_column_that_is_not_there_is_named(run_on_sqlite: Runner, write: Write) -> None:
    path = write([["Vial", "Florida"], ["BG000001J", 0.5]])
    said = run_on_sqlite("return", "preview", path, "--column", "q=Flroida", fails=5).stderr
    assert "no column headed 'Flroida'" in said
    assert "A Vial, B Florida" in said


def test_a_result_of_another_shipments_vial_waits_for_a_decision(
    run: Runner, session: Session, write: Write
) -> None:
    codes = a_shipment(session, 2)
    other = a_shipment(session, 2, code="SH-2", first=500)
    session.commit()
    said = run(
        "return", "read", write(plain_rows([*codes, other[0]], [0.2, 0.3, 0.4])), "--shipment", "SH-1"
    ).stdout
    assert f"{other[0]} came back, but it went with shipment SH-2" in said
    finding = session.scalars(select(Finding).where(Finding.kind == "unexpected")).one()
    assert finding.data.facts["values"]["q"] == 0.4
    assert finding.rows == [4]
    assert n_of(session, Result) == 2


def test_a_return_of_a_shipment_that_was_never_sent_says_so(
    run_on_sqlite: Runner, new_session: Callable[[], Session], write: Write
) -> None:
    from geneticlog.store.tables import Shipment

    with new_session() as session:
        codes = a_shipment(session, 1)
        shipment = session.scalars(select(Shipment)).one()
        shipment.standing, shipment.sent_at = "packed", None
        session.commit()
    said = run_on_sqlite("return", "read", write(plain_rows(codes, [0.5])), "--shipment", "SH-1").stdout
    assert "not recorded as sent" in said


def test_an_impossible_value_says_how_many_there_are_and_whether_the_column_is_percent(
    run_on_sqlite: Runner, sqlite_database: str, write: Write
) -> None:
    engine = open_engine(f"sqlite:///{sqlite_database}")
    with Session(engine) as session:
        codes = a_shipment(session, 6)
        session.commit()
    engine.dispose()

    def texts(q: list[object], *options: str) -> list[str]:
        said = run_on_sqlite("return", "preview", write(plain_rows(codes, q)), *options, "--json").stdout
        return [one["text"] for one in json.loads(said)["findings"] if one["kind"] == "impossible_value"]

    (one,) = texts([0.1, 0.2, 1.7, 0.3, "ND", 0.4])
    assert "'1.7', outside what is possible (0 to 1); 1 of 5 values in this column is outside" in one
    assert one.endswith("fit a fraction, in which the column is read.")
    first, second = texts([0.1, 0.2, 1.7, 2.5, 0.3, 0.4], "--unit", "q=fraction")
    assert "2 of 6 values in this column are outside (rows 4, 5), and the other 4" in first
    assert "2 of 6" in second
    half = texts([10, 20, 1.7, 0, 0.35, 0.4], "--unit", "q=fraction")
    assert len(half) == 3
    assert "3 of 6 values in this column are outside (rows 2 to 4): if all of it is in percent" in half[0]
    assert "--unit q=percent" in half[0]
    # most of a column outside: the answer is in doubt, and not the values
    most = run_on_sqlite(
        "return",
        "preview",
        write(plain_rows(codes, [10, 20, 1.7, 0, 35, 40])),
        "--unit",
        "q=fraction",
        "--json",
    )
    (question,) = json.loads(most.stdout)["questions"]
    assert "as a person says, but 5 of 6 values cannot be a fraction (the first is 10)" in question["text"]
    assert question["options"] == "--unit q=percent"
    (percent,) = texts([10, 20, 170, 0, 35, 40], "--unit", "q=percent")
    assert percent.endswith("(0 to 100); 1 of 6 values in this column is outside.")
