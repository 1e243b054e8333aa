"""Coverage: fish per size class against the wish; failures take away, tallies count in full."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime

import pytest
from conftest import Runner
from sqlalchemy import select
from sqlalchemy.orm import Session
from survey_support import NOW, a_survey, codes

from geneticlog.faces.pages.boat_state import classes_of
from geneticlog.rules.boat.class_standing import class_standing
from geneticlog.store.engine import database_url, one_transaction, open_engine
from geneticlog.store.tables import Finding, Fish, Lab, Result, Shipment, ShipmentPosition, Survey, Vial
from geneticlog.work.boat.coverage import of_survey
from geneticlog.work.boat.tally import survey_tally

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
        "substock": (6, 0, 0, 0, None, None, "as they come"),
        "stock": (2, 2, 0, 0, 2, 0, "full"),
        "quality": (2, 1, 0, 0, 2, 1, "short"),
        "preferred": (2, 2, 0, 0, 1, 0, "more than wanted"),
        "memorable": (0, 0, 0, 0, 2, 2, "none caught"),
        "trophy": (0, 0, 0, 0, None, None, "as they come"),
    }
    said = run("coverage", "HERON-2026").stdout
    assert "To swab of the fish caught: quality (1)." in said
    assert "No fish caught, so target not met: memorable (2)." in said
    assert "Enough swabs: stock." in said
    assert "More swabs than wanted: preferred (2, wanted 1); do not swab more than the target." in said
    assert "preferred █▒ 2 of 1" in said
    assert said.splitlines()[-1] == "Samples: swabbed, not sent (5 fish)."
    assert json.loads(run("coverage", "HERON-2026", "--json").stdout)["state"] == "swabbed, not sent"
    heading = next(line for line in said.splitlines() if "swabbed" in line)
    assert "typed" in heading
    assert "failed" not in heading  # none has
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
    tally = {one.size_class: one for one in survey_tally(session, survey)}
    assert tally["stock"].words == "stock 1 of 2, 1 failed"  # the boat has it short again, like the coverage
    assert not tally["stock"].full
    assert {name: one.n_failed for name, one in tally.items()} == {
        c: one.n_failed for c, one in found.items()
    }
    on_the_boat = {one["size_class"]: one for one in classes_of(session, survey)}
    assert (on_the_boat["stock"]["n_covering"], on_the_boat["stock"]["n_failed"]) == (1, 1)
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
        (9, 2, 2, 0, "more than wanted"),
    ],
)
def test_the_word_for_how_a_class_stands(
    caught: int, swabbed: int, covering: int, target: int | None, word: str
) -> None:
    assert class_standing(caught, swabbed, covering, target) == word


def test_a_survey_without_a_plan_has_no_targets_and_says_how_to_get_them(run_on_sqlite: Runner) -> None:
    run_on_sqlite("lake", "add", "HERON", "Heron Lake")
    run_on_sqlite("survey", "open", "HERON", "2026-05-12", "--code", "EMPTY")
    document = json.loads(run_on_sqlite("coverage", "EMPTY", "--json").stdout)
    assert {row["target"] for row in document["classes"]} == {None}
    assert {row["short_by"] for row in document["classes"]} == {None}
    assert "geneticlog plan HERON" in run_on_sqlite("coverage", "EMPTY").stdout
    assert "no survey 'NONE'" in run_on_sqlite("coverage", "NONE", fails=3).stderr
    assert "name one survey" in run_on_sqlite("coverage", fails=2).stderr
    said = run_on_sqlite("coverage", "--lake", "HERON", "--since", "2020-01-01", fails=3).stderr
    assert "has no survey of largemouth bass from 2020-01-01 to 2020-12-31" in said
    assert "its last was on 2026-05-12: --since 2026-01-01" in said


def swabs(session: Session) -> list[Vial]:
    """The filled vials of a logged survey on their way to a lab, in the order of the fish."""
    lab = Lab(code="QUILL", name="Quillback (invented)")
    session.add(lab)
    session.flush()
    shipment = Shipment(
        code="SH-1", lab_id=lab.id, standing="sent", sent_at=NOW, container="loose", packed_at=NOW, packed_by="Ada"
    )  # fmt: skip
    session.add(shipment)
    session.flush()
    vials = list(session.scalars(select(Vial).where(Vial.fish_id.is_not(None)).order_by(Vial.fish_id)))
    for place, vial in enumerate(vials, start=1):
        session.add(ShipmentPosition(shipment_id=shipment.id, vial_id=vial.id, position=str(place)))
    session.flush()
    return vials


def test_only_what_may_still_give_a_result_covers(run: Runner, session: Session) -> None:
    a_logged_survey(run)
    rejected, held, broken, owed, waiting = swabs(session)
    session.scalars(
        select(ShipmentPosition).where(ShipmentPosition.vial_id == broken.id)
    ).one().arrival = "broken"
    finding = Finding(
        number=1, key="missing:1", kind="missing", vial_id=owed.id, text="Not in the return.", opened_at=NOW,
        decision="resample", decided_at=NOW, decided_by="Ada", why="never arrived",
    )  # fmt: skip
    session.add_all(
        [
            Result(vial_id=rejected.id, outcome="typed", q=0.25, standing="rejected"),
            Result(vial_id=held.id, outcome="typed", q=0.5, standing="held"),
            finding,
        ]
    )
    session.flush()
    survey = session.scalars(select(Survey)).one()
    found = {c.size_class: c for c in of_survey(session, survey).classes}
    counts = {name: (c.n_swabbed, c.n_failed, c.short_by) for name, c in found.items() if c.n_swabbed}
    assert counts == {"stock": (2, 1, 1), "quality": (1, 1, 2), "preferred": (2, 1, 0)}
    assert waiting.fish_id is not None


def test_a_vial_that_was_broken_once_and_typed_all_the_same_covers(run: Runner, session: Session) -> None:
    a_logged_survey(run)
    first = swabs(session)[0]
    session.scalars(
        select(ShipmentPosition).where(ShipmentPosition.vial_id == first.id)
    ).one().arrival = "broken"
    session.add(Result(vial_id=first.id, outcome="typed", q=0.25, fish_id=first.fish_id))
    session.flush()
    found = {c.size_class: c for c in of_survey(session, session.scalars(select(Survey)).one()).classes}
    assert (found["stock"].n_failed, found["stock"].n_resulted) == (0, 1)


def test_after_the_outing_nothing_is_swabbed_from_the_live_well(run: Runner, session: Session) -> None:
    a_logged_survey(run)
    swabs(session)
    session.commit()
    said = run("coverage", "HERON-2026").stdout
    assert "Still wanted, from another outing: quality (1)." in said
    assert "To swab of the fish caught" not in said


def test_fish_without_a_class_and_of_other_species_are_said_beside_the_table(run_on_sqlite: Runner) -> None:
    engine = open_engine(database_url(run_on_sqlite.database))
    with one_transaction(engine) as session:
        a_survey(session, targets=TARGETS)
    engine.dispose()
    unmeasured, *_ = codes(1)
    log = f"bluegill 6\nbluegill 7 x3\n9 x5\n{unmeasured}\n"
    run_on_sqlite("fish", "log", "HERON-2026", "--pipe", "--yes", input=log)
    document = json.loads(run_on_sqlite("coverage", "HERON-2026", "--json").stdout)
    assert [document[name] for name in ("n_unmeasured", "n_unmeasured_swabbed", "n_other_species")] == [
        1,
        1,
        4,
    ]
    found = by_class(document)["stock"]
    assert (found["n_caught"], found["n_swabbed"], found["standing"]) == (5, 0, "short")
    said = run_on_sqlite("coverage", "HERON-2026").stdout
    assert "Without a length, so in no size class: 1 fish, 1 of them swabbed." in said
    assert "Of other species, so not counted here: 4 fish." in said


def test_a_season_takes_the_plan_of_its_own_time(run: Runner, session: Session) -> None:
    a_survey(session, "HERON-2026", targets={"stock": 3})
    a_survey(session, "HERON-LATER", n_vials=0)
    newer = a_survey(session, "HERON-2027", targets={"stock": 9}, n_vials=0)
    newer.surveyed_on = date(2027, 5, 1)
    assert newer.sampling_plan is not None
    newer.sampling_plan.made_at = datetime(2027, 4, 1, tzinfo=UTC)
    session.commit()
    for year, plan, target, surveys in ((2026, 1, 3, 2), (2027, 2, 9, 1)):
        document = json.loads(run("coverage", "--lake", "HERON", "--since", f"{year}-01-01", "--json").stdout)
        assert (document["lake"], document["sampling_plan"], len(document["surveys"])) == (
            "HERON",
            plan,
            surveys,
        )
        assert by_class(document)["stock"]["target"] == target
    both = ("coverage", "--lake", "HERON", "--since", "2026-01-01", "--until", "2027-12-31")
    assert json.loads(run(*both, "--json").stdout)["sampling_plan"] == 2
    assert "surveys: HERON-2026, HERON-LATER, HERON-2027" in run(*both).stdout


def test_surveys_judged_by_other_limits_are_not_added_up(run_on_sqlite: Runner) -> None:
    run_on_sqlite("lake", "add", "HERON", "Heron Lake")
    for at, length in enumerate((12, 14), start=1):
        run_on_sqlite("lake", "classes", "HERON", "--two-groups", length)
        run_on_sqlite("survey", "open", "HERON", f"2026-05-0{at}")
    said = run_on_sqlite("coverage", "--lake", "HERON", "--since", "2026-01-01", fails=4).stderr
    assert "HERON-2026-05-01 were judged by other size classes than HERON-2026-05-02" in said


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        (["HERON-2026", "--since", "2026-01-01"], "go with --lake"),
        (["--lake", "HERON", "--since", "2026-05-01", "--until", "2026-04-01"], "ends before it begins"),
    ],
)
def test_options_that_do_not_fit_are_wrong_usage(run_on_sqlite: Runner, asked: list[str], words: str) -> None:
    assert words in run_on_sqlite("coverage", *asked, fails=2).stderr
