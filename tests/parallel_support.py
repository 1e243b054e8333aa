"""Several programs on one database at once, each doing all that writes; what must hold whoever comes first."""

from __future__ import annotations

import json
import multiprocessing
import re
from collections.abc import Callable
from datetime import UTC, datetime
from itertools import pairwise
from multiprocessing.synchronize import Barrier
from pathlib import Path

from click.testing import CliRunner
from office_support import an_office
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from geneticlog.faces.app.cli import cli
from geneticlog.rules.stamp import Stamp
from geneticlog.store.check import look_over
from geneticlog.store.engine import database_url, one_transaction, open_engine
from geneticlog.store.tables import (
    Event,
    Finding,
    Fish,
    Office,
    PrintRun,
    ReturnFile,
    SamplingPlan,
    Shipment,
    ShipmentPosition,
    Survey,
    Vial,
)
from geneticlog.work.label.print_labels import LabelSheet, print_labels

RAW = re.compile(
    r"constraint|UNIQUE|psycopg|sqlite3|sqlalchemy|Traceback|fault of geneticlog|deadlock|Error\b|KeyError"
)
Said = tuple[str, int, str]
N_FISH, N_RUNS = 3, 2


def jobs(worker: int, folder: Path) -> list[tuple[str, str | None]]:
    """What one program does: every verb that writes, on the same things as the others."""
    fish = [f"{10 + worker}.{tenth} in" for tenth in range(N_FISH - 1)]
    # the last is doubtful; then a tally, and a fish that is taken back
    lines = [*fish, "24 in 1 lb", f"5.{worker} in x4", f"6.{worker} in", "undo"]
    lab = "--lab QUILL --panel QB38 --fill-ml 1"
    return [
        (f"fish log HERON-2026 --yes --log w{worker}", "\n".join(lines) + "\n"),
        (f"shipment pack SH-{worker} --survey HERON-2026 {lab}", None),
        (f"correct fish HERON-2026 1 --length 9.{worker}in --why tape{worker}", None),
        ("fish log HERON-2026 --log shared", "7.7 in\n9.9 in\n"),
        (f"return read {folder}/return.csv --shipment SENT", None),
        (f"decide F1 {'accept' if worker % 2 else 'reject'} --why said{worker}", None),
        ("shipment send READY", None),
        ("shipment arrive READY", None),
        (f"return withdraw {folder}/wrong.csv --why said{worker}", None),
        ("lake add WILLET Willet", None),
        ("survey open HERON 2026-06-01 --code HERON-JUNE", None),
        (f"plan HERON --wanted {4 + worker}", None),
        (f"survey open HERON 2026-07-0{worker + 1} --code HERON-W{worker}", None),
        (f"carry out HERON-W{worker} {folder}/{worker}.carry", None),
        (f"carry in {folder}/boat.carry", None),
    ]


def work(database: str, worker: int, folder: Path, together: Barrier, out: Path) -> None:
    said: list[Said] = []
    environment = {
        "GENETICLOG_DATABASE": database,
        "GENETICLOG_PERSON": f"W{worker}",
        "GENETICLOG_TRACEBACK": "",
    }
    together.wait(120)
    for words, given in jobs(worker, folder):
        result = CliRunner(env=environment).invoke(cli, words.split(), input=given)
        said.append((words, result.exit_code, result.output))
    engine = open_engine(database_url(database))
    for _ in range(N_RUNS):
        with one_transaction(engine) as session:
            print_labels(
                session, 3, LabelSheet("letter-wrap", "wrap"), survey=None, office=None,
                stamp=Stamp(datetime.now(UTC), f"W{worker}"),
            )  # fmt: skip
    engine.dispose()
    out.write_text(json.dumps(said))


def several_at_once(database: str, n: int, folder: Path, new_database: Callable[[Path], str]) -> list[Said]:
    """Let n programs do the same at once; what each was told."""
    prepare(database, folder, new_database)
    context = multiprocessing.get_context("fork")
    together = context.Barrier(n)
    outs = [folder / f"said-{worker}.json" for worker in range(n)]
    workers = [
        context.Process(target=work, args=(database, worker, folder, together, outs[worker]))
        for worker in range(n)
    ]
    for one in workers:
        one.start()
    for one in workers:
        one.join(300)
    assert [one.exitcode for one in workers] == [0] * n
    said: list[Said] = [tuple(one) for out in outs for one in json.loads(out.read_text())]
    for words, code, text in said:
        refused = (3, 4) if words.startswith("return withdraw") else (4,)  # none is in force any more
        assert code in (0, *refused), f"{words}: exit {code}\n{text}"
        assert not RAW.search(text), f"{words}\n{text}"
    hold(database, n, said)
    return said


def prepare(database: str, folder: Path, new_database: Callable[[Path], str]) -> None:
    """An office with three shipments (one to be sent, one to be answered, one answered wrongly) and a boat's file."""
    vials = an_office(database, n_fish=8, n_vials=30)
    engine = open_engine(database_url(database))
    with one_transaction(engine) as session:
        session.scalars(select(Office)).one().next_serial = 1000
    engine.dispose()
    environment = {"GENETICLOG_DATABASE": database, "GENETICLOG_PERSON": "Ada Test"}

    def run(*arguments: str, on: str | None = None, given: str | None = None) -> None:
        where = environment | ({"GENETICLOG_DATABASE": on} if on else {})
        result = CliRunner(env=where).invoke(cli, list(arguments), input=given)
        assert result.exit_code == 0, result.output

    lab = ("--lab", "QUILL", "--panel", "QB38", "--fill-ml", "1")
    for name, packed in (("SENT", vials[:2]), ("READY", vials[2:4]), ("WRONG", vials[4:6])):
        run("shipment", "pack", name, *packed, *lab)
    run("shipment", "send", "SENT")
    run("shipment", "send", "WRONG")
    heading = "Sample,Florida proportion,Loci scored\n"
    (folder / "wrong.csv").write_text(f"{heading}{vials[4]},0.5,38\n{vials[5]},0.25,38\n")
    (folder / "return.csv").write_text(
        f"{heading}{vials[0]},0.4512,38\n{vials[1]},failed,\nBG00004WW,0.2,38\n"
    )
    run("survey", "open", "HERON", "2026-05-20", "--code", "HERON-BOAT")
    run("carry", "out", "HERON-BOAT", str(folder / "to.carry"))
    boat = new_database(folder / "boat.sqlite")
    run("carry", "in", str(folder / "to.carry"), on=boat)
    run("fish", "log", "HERON-BOAT", "--yes", on=boat, given="9 in\n24 in 1 lb\n11 in\n")
    run("carry", "out", "HERON-BOAT", str(folder / "boat.carry"), on=boat)
    run("return", "read", str(folder / "wrong.csv"), "--shipment", "WRONG")


def hold(database: str, n: int, said: list[Said]) -> None:
    """What must be so afterwards, whoever came first."""

    def tried(start: str) -> int:
        return sum(words.startswith(start) for words, _, _ in said)

    def done(start: str) -> int:
        return sum(code == 0 for words, code, _ in said if words.startswith(start))

    engine = open_engine(database_url(database))
    with Session(engine) as session:
        logged = session.scalars(select(Fish.n_fish).where(Fish.source.startswith("log:w"))).all()
        n_logged = n if tried("fish log HERON-2026 --yes") else 0
        assert sorted(logged) == [1] * N_FISH * n_logged + [4] * n_logged, logged
        survey = session.scalars(select(Survey).where(Survey.code == "HERON-2026")).one()
        numbers = sorted(session.scalars(select(Fish.number).where(Fish.survey_id == survey.id)))
        shared = 2 if tried("fish log HERON-2026 --log") else 0  # the lines that all have: once
        assert len(numbers) == len(set(numbers)) == 8 + n_logged * (N_FISH + 1) + shared
        boat = select(func.count()).select_from(Fish).join(Survey).where(Survey.code == "HERON-BOAT")
        assert session.scalar(boat) == (3 if done("carry in") else 0)  # as the boat logged them, once
        assert done("carry in") == tried("carry in")
        for table, column in ((Finding, Finding.number), (PrintRun, PrintRun.number)):
            given = sorted(session.scalars(select(column)))
            assert given == list(range(1, len(given) + 1)), table
        plans = sorted(session.scalars(select(SamplingPlan.number)))
        assert plans == list(range(1, done("plan") + 1))
        once = (
            "shipment pack", "shipment send", "return withdraw", "lake add", "survey open HERON 2026-06-01",
        )  # fmt: skip
        for verb in once:
            assert done(verb) == min(1, tried(verb)), [one for one in said if one[0].startswith(verb)]
        arrivals = session.scalars(select(Event.new).where(Event.verb == "arrived"))
        moments = [json.loads(one or "{}")["arrived_at"] for one in arrivals]  # may be said again
        assert (len(moments), len(set(moments))) == (
            tried("shipment arrive"),
            min(1, tried("shipment arrive")),
        )
        packed = session.scalars(
            select(ShipmentPosition.vial_id).join(Shipment).where(Shipment.code.startswith("SH-"))
        ).all()
        assert len(packed) == len(set(packed)) == 2 * min(1, tried("shipment pack"))
        read = session.scalar(select(func.count()).where(ReturnFile.withdrawn_at.is_(None)))
        assert read == min(1, tried("return read")) + 1 - min(1, tried("return withdraw"))
        codes = session.scalars(select(Vial.code)).all()
        assert len(codes) == len(set(codes)) == 30 + n * N_RUNS * 3
        unbroken(session, "corrected", "HERON-2026#1", tried("correct fish"))
        unbroken(session, "decided", "F1", tried("decide"))
    assert look_over(engine).faults == []
    engine.dispose()


def unbroken(session: Session, verb: str, subject: str, n: int) -> None:
    """Each event's old values are the new ones of the event before it."""
    events = session.scalars(
        select(Event).where(Event.verb == verb, Event.subject == subject).order_by(Event.id)
    ).all()
    assert len(events) >= min(n, 2) - 1
    for before, after in pairwise(events):
        new, old = json.loads(before.new or "{}"), json.loads(after.old or "{}")
        shared = set(new) & set(old)
        assert shared
        assert {key: new[key] for key in shared} == {key: old[key] for key in shared}
