"""``geneticlog plan``: targets from wishes, and the spread the lake itself has shown."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from conftest import Runner
from sqlalchemy import select
from sqlalchemy.orm import Session
from survey_support import NOW, a_survey

from geneticlog.store.engine import database_url, one_transaction, open_engine
from geneticlog.store.tables import Fish, Result, Survey, Vial
from geneticlog.work.record import new_uid

CLASSES = ["substock", "stock", "quality", "preferred", "memorable", "trophy"]


def a_lake(run: Runner) -> None:
    run("office", "set", "BG")
    run("lake", "add", "HERON", "Heron Lake (invented)")


def targets(document: dict) -> dict[str, int]:
    return {c["size_class"]: c["target"] for c in document["sampling_plan"]["classes"]}


def test_without_wishes_every_class_gets_eight_and_the_next_survey_takes_them(run: Runner) -> None:
    a_lake(run)
    document = json.loads(run("plan", "HERON", "--json").stdout)["sampling_plan"]
    assert {c["size_class"]: c["target"] for c in document["classes"]} == dict.fromkeys(CLASSES, 8)
    assert document["number"] == 1
    assert {c["spread_from"] for c in document["classes"]} == {"default"}
    assert {c["likely_catch"] for c in document["classes"]} == {None}
    run("survey", "open", "HERON", "2026-05-02", "--code", "H-26")
    coverage = json.loads(run("coverage", "H-26", "--json").stdout)
    assert {c["size_class"]: c["target"] for c in coverage["classes"]} == dict.fromkeys(CLASSES, 8)


def test_a_look_stores_nothing(run: Runner) -> None:
    a_lake(run)
    assert json.loads(run("plan", "HERON", "--look", "--json").stdout)["sampling_plan"]["number"] is None
    assert json.loads(run("plan", "HERON", "--json").stdout)["sampling_plan"]["number"] == 1
    assert json.loads(run("plan", "HERON", "--json").stdout)["sampling_plan"]["number"] == 2


def test_the_budget_bounds_the_wish_and_both_are_said(run_on_sqlite: Runner) -> None:
    a_lake(run_on_sqlite)
    asked = ("plan", "HERON", "--carrier-frequency", "0.05", "--fee", "18", "--budget", "900")
    document = json.loads(run_on_sqlite(*asked, "--json").stdout)["sampling_plan"]
    assert (document["n_fish"], document["cost"], document["fish_for_carrier"]) == (50, 900, 59)
    assert document["chance_unseen"] == pytest.approx(0.95**50)
    assert sum(c["target"] for c in document["classes"]) == 50
    said = run_on_sqlite(*asked).stdout
    assert "Wished for: 59 fish; the budget pays for 50." in said
    assert "missed with chance 7.7%" in said


def test_a_half_width_is_met_in_every_class(run_on_sqlite: Runner) -> None:
    a_lake(run_on_sqlite)
    document = json.loads(run_on_sqlite("plan", "HERON", "--half-width", "0.10", "--json").stdout)
    assert targets(document) == dict.fromkeys(CLASSES, 27)  # t s / sqrt(n) <= .10 at s = .25: 27 fish
    assert max(c["half_width"] for c in document["sampling_plan"]["classes"]) <= 0.10


def test_a_class_that_stays_wider_than_wished_is_named(run: Runner) -> None:
    a_typed_survey(run)
    asked = ("plan", "HERON", "--half-width", "0.15", "--allocation", "proportional", "--look", "--json")
    document = json.loads(run(*asked).stdout)["sampling_plan"]
    wide = [c["size_class"] for c in document["classes"] if (c["half_width"] or 1) > 0.15]
    assert "trophy" in wide
    assert f"Not as narrow as the wished-for 0.15: {', '.join(wide)}." in document["notes"]
    said = run(*asked[:-1]).stdout
    assert "± lake mean" in said
    assert "May not be caught in one survey" in said


def a_typed_survey(run: Runner) -> tuple[list[float], list[float]]:
    """A survey of 40 stock and 10 quality fish, six of each swabbed and typed."""
    stock, quality = [0.0, 0.1, 0.0, 0.2, 0.1, 0.2], [0.1, 0.9, 0.2, 0.8, 0.5, 0.5]
    engine = open_engine(database_url(run.database))
    with one_transaction(engine) as session:
        a_survey(session, targets={"stock": 6})
        survey = session.scalars(select(Survey)).one()
        free = iter(session.scalars(select(Vial).where(Vial.standing == "printed").order_by(Vial.id)).all())
        number = 0
        for name, length, caught, typed in (("stock", 10, 40, stock), ("quality", 13, 10, quality)):
            for at in range(caught):
                number += 1
                fish = Fish(
                    uid=new_uid(),
                    survey=survey,
                    number=number,
                    n_fish=1,
                    species="largemouth_bass",
                    length=length,
                    length_unit="in",
                    length_mm=length * 25.4,
                    size_class=name,
                    logged_at=NOW,
                    logged_by="Ada Test",
                )
                session.add(fish)
                session.flush()
                if at < len(typed) and (vial := next(free, None)) is not None:
                    vial.fish, vial.standing = fish, "filled"
                    session.flush()
                    session.add(
                        Result(vial_id=vial.id, outcome="typed", q=typed[at], n_loci=35, fish_id=fish.id)
                    )
    engine.dispose()
    return stock, quality


def test_the_spread_and_catch_of_the_last_survey_are_planned_with(run: Runner, session: Session) -> None:
    stock, quality = a_typed_survey(run)
    asked = ("plan", "HERON", "--fish", "40", "--allocation", "least-variance", "--json")
    document = json.loads(run(*asked).stdout)["sampling_plan"]
    found = {c["size_class"]: c for c in document["classes"]}
    assert found["stock"]["spread"] == pytest.approx(np.std(stock, ddof=1))
    assert found["quality"]["spread"] == pytest.approx(np.std(quality, ddof=1))
    assert found["stock"]["spread_from"] == "HERON-2026"
    pooled = (np.var(stock, ddof=1) / 2 + np.var(quality, ddof=1) / 2) ** 0.5
    assert found["trophy"]["spread"] == pytest.approx(pooled)
    assert found["trophy"]["spread_from"] == "HERON-2026, all classes"
    assert (found["stock"]["likely_catch"], found["quality"]["likely_catch"]) == (40, 10)
    # 20 fish beyond the least of five in four uncaught classes, by 40 s1 : 10 s2
    assert found["trophy"]["target"] == 5
    assert found["stock"]["target"] + found["quality"]["target"] == 20
    assert found["stock"]["target"] > found["quality"]["target"]
    assert "HERON-2026" in " ".join(document["notes"])
    assert session.scalars(select(Survey)).one().sampling_plan is not None


def test_the_figure_is_drawn_and_never_overwritten_unasked(run_on_sqlite: Runner, tmp_path: Path) -> None:
    a_lake(run_on_sqlite)
    file = tmp_path / "plan.svg"
    run_on_sqlite("plan", "HERON", "--look", "--figure", file)
    assert "<svg" in file.read_text(encoding="utf-8")
    refused = run_on_sqlite("plan", "HERON", "--figure", file, fails=4)
    assert "is there already" in refused.stderr
    run_on_sqlite("plan", "HERON", "--figure", file, "--replace")
    assert (
        "a figure is written as"
        in run_on_sqlite("plan", "HERON", "--figure", tmp_path / "p.doc", fails=4).stderr
    )


@pytest.mark.parametrize(
    ("options", "fails", "words"),
    [
        (["--budget", "300"], 4, "needs the lab's fee"),
        (["--budget", "30", "--fee", "18"], 4, "pays for 1 fish"),
        (["--half-width", "0"], 4, "half-width of 0.0"),
        (["--half-width", "0.7"], 4, "half-width of 0.7"),
        (["--half-width", "0.0001"], 1, "over a million fish"),
        (["--carrier-frequency", "5"], 4, "frequency of 5.0"),
        (["--chance", "1"], 4, "chance of 1.0"),
        (["--fish", "0"], 4, "0 fish cannot be planned"),
        (["--least", "-1"], 4, "least for each class"),
        (["--allocation", "best"], 2, "best"),
    ],
)
def test_a_wish_that_cannot_be_is_refused(
    run_on_sqlite: Runner, options: list[str], fails: int, words: str
) -> None:
    a_lake(run_on_sqlite)
    assert words in run_on_sqlite("plan", "HERON", *options, fails=fails).stderr


def test_an_unknown_lake_is_not_found(run_on_sqlite: Runner) -> None:
    run_on_sqlite("plan", "NOWHERE", fails=3)
