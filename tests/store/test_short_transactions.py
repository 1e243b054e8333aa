"""A write transaction does not grow with its rows: what is stored goes to the database many rows at a time."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner
from office_support import an_office
from sqlalchemy import Connection, Engine, event, select

from geneticlog.faces.app.cli import cli
from geneticlog.store.engine import database_url, one_transaction, open_engine
from geneticlog.store.tables import Office, PrintRun


@pytest.fixture
def asked() -> Iterator[list[str]]:
    """Every statement that a write transaction sends; one that holds many rows is one."""
    sent: list[str] = []

    def note(connection: Connection, _cursor: object, statement: str, *_rest: object) -> None:
        if connection.get_execution_options().get("writes"):
            sent.append(statement)

    event.listen(Engine, "before_cursor_execute", note)
    yield sent
    event.remove(Engine, "before_cursor_execute", note)


def test_as_many_questions_for_fifty_fish_as_for_five(
    database: str, tmp_path: Path, new_database: Callable[[Path], str], asked: list[str]
) -> None:
    an_office(database, n_fish=1, n_vials=3)
    engine = open_engine(database_url(database))
    with one_transaction(engine) as session:
        session.scalars(select(Office)).one().next_serial = 1000
    boat = new_database(tmp_path / "boat.sqlite")

    def n_questions(words: str, on: str = database) -> int:
        asked.clear()
        result = CliRunner(env={"GENETICLOG_DATABASE": on, "GENETICLOG_PERSON": "Ada Test"}).invoke(
            cli, words.split()
        )
        assert result.exit_code == 0, result.output
        return len(asked)

    def season(n: int, survey: str, day: int) -> dict[str, int]:
        n_questions(f"survey open HERON 2026-06-{day:02} --code {survey}")
        found = {"print": n_questions(f"label print -n {n} --survey {survey} --out {tmp_path}/{survey}.pdf")}
        with one_transaction(engine, writes=False) as session:
            run = session.scalars(select(PrintRun).order_by(PrintRun.number.desc())).first()
            assert run is not None
            number, codes = run.number, [vial.code for vial in run.vials]
        rows = [f"{code},{8 + i / 10:.1f},99 lb\n" for i, code in enumerate(codes)]  # doubtful, each of them
        sheet = tmp_path / f"{survey}.csv"
        sheet.write_text("vial,length (in),weight\n" + "".join(rows))
        found["read"] = n_questions(f"fish read {survey} {sheet} --yes")
        found["read again"] = n_questions(f"fish read {survey} {sheet} --yes")
        n_questions(f"carry out {survey} {tmp_path}/{survey}.carry")
        found["carry in"] = n_questions(f"carry in {tmp_path}/{survey}.carry", on=boat)
        found["carry in again"] = n_questions(f"carry in {tmp_path}/{survey}.carry", on=boat)
        found["reprint"] = n_questions(f"label reprint --run {number} --out {tmp_path}/{survey}-2.pdf")
        n_questions(f"label print -n {n} --out {tmp_path}/{survey}-3.pdf")
        found["void"] = n_questions(f"label void --run {number + 1} --why torn")
        lab = "--lab QUILL --panel QB38 --fill-ml 1 --container loose"
        found["pack"] = n_questions(f"shipment pack {survey} --survey {survey} {lab}")
        found["send"] = n_questions(f"shipment send {survey}")
        return found

    few, many = season(5, "FEW", 1), season(50, "MANY", 2)
    # the first survey that is carried brings its lake and its office along
    assert {name: n for name, n in many.items() if n > few[name]} == {}
    engine.dispose()
