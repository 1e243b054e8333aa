"""A correction keeps the old value, who, when and why."""

from __future__ import annotations

import json
from collections.abc import Callable

import pytest
from click.testing import Result
from sqlalchemy import select
from sqlalchemy.orm import Session
from survey_support import codes, fish_of, prepared
from tests_support import on_sqlite

from geneticlog.store.tables import Event, Finding, Fish, Lake, Survey, Vial

Run = Callable[..., Result]
ONE, TWO, THREE, FOUR = codes(4)
WHY = ("--why", "read again from the sheet")


@pytest.fixture
def logged(run: Run, database: str) -> str:
    prepared(database)
    run("fish", "log", "HERON-2026", input=f"{ONE} 16.5 2.3\n12.5 x3\n{TWO} 13 1.2\nsecond {THREE}\n")
    return database


def history(session: Session, subject: str) -> list[Event]:
    found = select(Event).where(Event.verb == "corrected", Event.subject == subject).order_by(Event.id)
    return list(session.scalars(found))


def test_a_length_is_corrected_and_what_follows_from_it_too(run: Run, logged: str, session: Session) -> None:
    said = run("correct", "fish", "HERON-2026", 1, "--length", "14 1/2", *WHY).output
    assert "length: 16.5 -> 14.5" in said
    assert "size class: preferred -> quality" in said
    fish = session.scalars(select(Fish).where(Fish.number == 1)).one()
    assert (fish.length, fish.length_mm, fish.size_class) == (14.5, 368.3, "quality")
    assert fish.relative_weight is not None
    (event,) = history(session, "HERON-2026#1")
    assert (event.by, event.why) == ("Ada Test", "read again from the sheet")
    assert json.loads(event.old or "{}")["length"] == 16.5
    assert json.loads(event.new or "{}")["length"] == 14.5


def test_the_life_of_a_vial_tells_the_corrections_of_its_fish(run: Run, logged: str) -> None:
    run("correct", "fish", "HERON-2026", 1, "--length", "14 1/2", *WHY)
    told = json.loads(run("history", ONE, "--json").output)
    corrected = [moment for moment in told["life"] if "length: 16.5 -> 14.5" in moment["what"]]
    assert [(moment["by"], moment["why"]) for moment in corrected] == [
        ("Ada Test", "read again from the sheet")
    ]


def test_the_same_value_again_changes_nothing(run: Run, logged: str, session: Session) -> None:
    shown = json.loads(run("correct", "fish", "HERON-2026", 1, "--length", "16.5", *WHY, "--json").output)
    assert shown["changes"] == {}
    assert history(session, "HERON-2026#1") == []


def test_a_doubtful_correction_is_asked_about_and_then_kept_with_a_finding(
    run: Run, logged: str, session: Session
) -> None:
    said = run("correct", "fish", "HERON-2026", 1, "--weight", "23 lb", *WHY, fails=4).output
    assert "relative weight" in said
    assert "--yes" in said
    run("correct", "fish", "HERON-2026", 1, "--weight", "23 lb", "--yes", *WHY)
    finding = session.scalars(select(Finding)).one()
    assert finding.decision is None
    run("correct", "fish", "HERON-2026", 1, "--weight", "2.3 lb", *WHY)
    session.rollback()
    assert session.scalars(select(Finding)).one().decision == "close"


def test_a_wrong_vial_is_replaced_and_the_wrong_one_is_free(run: Run, logged: str, session: Session) -> None:
    run("correct", "fish", "HERON-2026", 1, "--vial", FOUR, *WHY)
    assert fish_of(logged)[0][5] == (FOUR,)
    vial = session.scalars(select(Vial).where(Vial.code == ONE)).one()
    assert (vial.standing, vial.fish_id) == ("printed", None)
    run("correct", "fish", "HERON-2026", 3, "--take-vial", THREE, *WHY)
    assert fish_of(logged)[2][5] == (TWO,)


@on_sqlite
@pytest.mark.parametrize(
    ("arguments", "fails", "words"),
    [
        (("1", "--length", "4000 mm"), 4, "cannot be"),
        (("1", "--length", "long"), 4, "is not a length"),
        (("1", "--vial", TWO), 4, "is already on fish 3"),
        (("1", "--vial", "BG000001K"), 4, "does not check"),
        (("1", "--count", "3"), 4, "cannot have a vial"),
        (("1", "--take-vial", FOUR), 4, "is not on fish 1"),
        (("2", "--weight", "1 lb"), 4, "cannot have a vial or a weight"),
        (("9", "--length", "12"), 3, "has no fish 9"),
        (("1",), 2, "say what to correct"),
        (("1", "--remove", "--length", "12"), 2, "give it alone"),
        (("1", "--length", "12", "--why", " "), 4, "give the reason"),
    ],
)
def test_what_cannot_be_corrected_so_is_refused_and_nothing_changes(
    run: Run, logged: str, arguments: tuple[str, ...], fails: int, words: str
) -> None:
    before = fish_of(logged)
    said = run("correct", "fish", "HERON-2026", *WHY, *arguments, fails=fails).output
    assert words in " ".join(said.split())
    assert fish_of(logged) == before


def test_a_tissue_is_corrected_with_its_vial_in_the_history(run: Run, logged: str, session: Session) -> None:
    run("correct", "fish", "HERON-2026", 1, "--tissue", "fin_clip", *WHY)
    assert session.scalars(select(Vial.tissue).where(Vial.code == ONE)).one() == "fin_clip"
    (event,) = history(session, ONE)
    assert (event.subject_kind, json.loads(event.old or "{}")) == ("vial", {"tissue": "mouth_swab"})


def test_a_fish_is_taken_out_and_stays_in_the_history(run: Run, logged: str, session: Session) -> None:
    assert "Taken out" in run("correct", "fish", "HERON-2026", 3, "--remove", *WHY).output
    assert [row[0] for row in fish_of(logged)] == [1, 2]
    event = session.scalars(select(Event).where(Event.verb == "undone")).one()
    assert json.loads(event.old or "{}")["vials"] == [TWO, THREE]
    assert event.why == "read again from the sheet"


def test_a_survey_and_a_lake_are_corrected(run: Run, logged: str, session: Session) -> None:
    run("correct", "survey", "HERON-2026", "--surveyed-on", "2026-05-13", "--gear", "angling", *WHY)
    run("correct", "lake", "heron", "--area-ha", "12.5", "--county", "Gulch", *WHY)
    run("correct", "lake", "heron", "--clear", "county", *WHY)
    survey = session.scalars(select(Survey)).one()
    assert (survey.surveyed_on.isoformat(), survey.gear) == ("2026-05-13", "angling")
    lake = session.scalars(select(Lake)).one()
    assert (lake.area_ha, lake.county) == (12.5, None)
    assert json.loads(history(session, "HERON-2026")[0].old or "{}") == {
        "gear": "boat electrofishing",
        "surveyed_on": "2026-05-12",
    }
    assert len(history(session, "HERON")) == 2


@on_sqlite
@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("lake", "HERON", "--latitude", "91", "--longitude", "0"), "is not possible"),
        (("lake", "HERON", "--latitude", "31"), "both latitude and longitude"),
        (("lake", "HERON", "--area-ha", "-1"), "more than zero"),
        (("lake", "HERON", "--name", ""), "cannot be emptied"),
        (("survey", "HERON-2026", "--effort-minutes", "0"), "is not possible"),
        (("survey", "HERON-2026", "--gear", "dynamite"), "is not one gear"),
        (
            ("survey", "HERON-2026", "--permit-from", "2026-06-01", "--permit-to", "2026-05-01"),
            "before it begins",
        ),
    ],
)
def test_what_a_lake_or_survey_cannot_be_is_refused(
    run: Run, logged: str, arguments: tuple[str, ...], words: str
) -> None:
    assert words in run("correct", *arguments, *WHY, fails=4).output
