"""Coverage: fish per size class against the wish; failures take away, tallies count in full."""

from __future__ import annotations

import json

import pytest
from conftest import Runner
from sqlalchemy import select
from sqlalchemy.orm import Session
from survey_support import NOW, a_survey, codes

from geneticlog.store.engine import database_url, one_transaction, open_engine
from geneticlog.store.tables import Fish, Lab, Result, Shipment, ShipmentPosition, Survey, Vial
from geneticlog.work.coverage import of_survey, standing

TARGETS = {"stock": 2, "quality": 2, "preferred": 1, "memorable": 2}
LOG = """{0} 9
{1} 10
{2} 13
14
{3} 15
{4} 16
7 x6
"""


def a_logged_survey(run: Runner) -> None:
    engine = open_engine(database_url(run.database))
    with one_transaction(engine) as session:
        a_survey(session, targets=TARGETS)
    engine.dispose()
    run("fish", "log", "HERON-2026", "--pipe", input=LOG.format(*codes(5)))


def by_class(document: dict[str, object]) -> dict[str, dict[str, object]]:
    classes = document["classes"]
    assert isinstance(classes, list)
    return {row["size_class"]: row for row in classes}


def test_coverage_counts_caught_and_swabbed_against_the_target(run: Runner) -> None:
    a_logged_survey(run)
    document = json.loads(run("coverage", "HERON-2026", "--json").stdout)
    assert (document["survey"], document["scheme"]) == ("HERON-2026", "five-length")
    found = by_class(document)
    columns = ("n_caught", "n_swabbed", "n_shipped", "n_resulted", "target", "short_by", "standing")
    assert {name: tuple(found[name][column] for column in columns) for name in found} == {
        "substock": (6, 0, 0, 0, 0, 0, "none wanted"),
        "stock": (2, 2, 0, 0, 2, 0, "full"),
        "quality": (2, 1, 0, 0, 2, 1, "short"),
        "preferred": (2, 2, 0, 0, 1, 0, "more than wanted"),
        "memorable": (0, 0, 0, 0, 2, 2, "none caught"),
        "trophy": (0, 0, 0, 0, 0, 0, "none wanted"),
    }
    said = run("coverage", "HERON-2026").stdout
    assert "To swab of the fish caught: 1 quality." in said
    assert "To be filled only by catching more: 2 memorable." in said
    assert "no fish is swabbed for nothing: preferred" in said
    together = json.loads(run("coverage", "--lake", "HERON", "--since", "2026-01-01", "--json").stdout)
    assert by_class(together) == found


def test_a_failed_sample_covers_nothing_unless_its_duplicate_was_typed(run: Runner, session: Session) -> None:
    a_logged_survey(run)
    survey = session.scalars(select(Survey)).one()
    vials = {vial.code: vial for vial in session.scalars(select(Vial).where(Vial.fish_id.is_not(None)))}
    first, second, third = (vials[code] for code in codes(3))
    lab = Lab(code="QUILL", name="Quillback (invented)")
    session.add(lab)
    session.flush()
    shipment = Shipment(
        code="SH-1",
        lab_id=lab.id,
        standing="sent",
        sent_at=NOW,
        container="loose",
        packed_at=NOW,
        packed_by="Ada",
    )
    session.add(shipment)
    session.flush()
    for place, vial in enumerate((first, second, third), start=1):
        session.add(ShipmentPosition(shipment_id=shipment.id, vial_id=vial.id, position=str(place)))
    duplicate = session.scalars(select(Vial).where(Vial.code == codes(9)[8])).one()
    duplicate.fish, duplicate.standing, duplicate.role = second.fish, "filled", "blind_duplicate"
    session.flush()
    session.add_all(
        [
            Result(vial_id=first.id, outcome="failed"),
            Result(vial_id=second.id, outcome="failed"),
            Result(vial_id=duplicate.id, outcome="typed", q=0.25, fish_id=second.fish_id),
            Result(vial_id=third.id, outcome="typed", q=0.5, fish_id=third.fish_id),
        ]
    )
    session.flush()
    found = {c.size_class: c for c in of_survey(session, survey).classes}
    stock, quality = found["stock"], found["quality"]
    assert (stock.n_swabbed, stock.n_shipped, stock.n_resulted, stock.n_failed, stock.short_by) == (
        2,
        2,
        1,
        1,
        1,
    )
    assert (quality.n_resulted, quality.n_failed, quality.short_by) == (1, 0, 1)
    assert stock.standing == "all caught are swabbed"
    assert session.scalars(select(Fish).where(Fish.n_fish > 1)).one().size_class == "substock"


@pytest.mark.parametrize(
    ("caught", "swabbed", "covering", "target", "word"),
    [
        (5, 0, 0, None, "no target"),
        (5, 5, 5, 5, "full"),
        (9, 2, 2, 5, "short"),
        (0, 0, 0, 5, "none caught"),
        (0, 0, 0, 0, "none wanted"),
        (3, 3, 3, 5, "all caught are swabbed"),
        (9, 6, 6, 5, "more than wanted"),
        (9, 6, 5, 5, "full"),
    ],
)
def test_the_word_for_how_a_class_stands(
    caught: int, swabbed: int, covering: int, target: int | None, word: str
) -> None:
    assert standing(caught, swabbed, covering, target) == word


def test_a_survey_without_a_plan_has_no_targets_and_says_how_to_get_them(run_on_sqlite: Runner) -> None:
    run_on_sqlite("lake", "add", "HERON", "Heron Lake")
    run_on_sqlite("survey", "open", "HERON", "2026-05-12", "--code", "EMPTY")
    document = json.loads(run_on_sqlite("coverage", "EMPTY", "--json").stdout)
    assert {row["target"] for row in document["classes"]} == {None}
    assert {row["short_by"] for row in document["classes"]} == {None}
    assert "geneticlog plan LAKE" in run_on_sqlite("coverage", "EMPTY").stdout
    assert "no survey 'NONE'" in run_on_sqlite("coverage", "NONE", fails=3).stderr
    assert "name one survey" in run_on_sqlite("coverage", fails=2).stderr
    said = run_on_sqlite("coverage", "--lake", "HERON", "--since", "2020-01-01", fails=4).stderr
    assert "has no survey from" in said
