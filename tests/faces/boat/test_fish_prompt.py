"""The prompt on the boat."""

from __future__ import annotations

import json
from collections.abc import Callable

import pytest
from click.testing import Result
from sqlalchemy import select
from sqlalchemy.orm import Session
from survey_support import codes, fish_of, prepared

from geneticlog.store.tables import Event, Finding, Vial

Run = Callable[..., Result]
ONE, TWO, THREE, FOUR = codes(4)
TARGETS = {"stock": 2, "quality": 1, "preferred": 3}


def typed(run: Run, *lines: str) -> str:
    return run("fish", "log", "HERON-2026", "--prompt", input="\n".join(lines) + "\n").output


def test_a_line_is_a_fish_and_the_tally_is_said(run: Run, database: str) -> None:
    prepared(database, targets=TARGETS)
    said = typed(run, f"{ONE} 16 1/2 2 lb 5 oz", "done")
    assert "Fish 1: 16.5 in, 2.3125 lb, preferred, vial BG 000 001 J." in said
    assert "stock none of 2, quality none of 1, preferred 1 of 3" in said
    assert "Electrofishing can kill" in said
    assert "Ethanol is flammable" not in said
    assert fish_of(database) == [(1, 1, 16.5, "in", "preferred", (ONE,))]


def test_vials_of_ethanol_on_a_boat_bring_their_caution(run: Run, database: str) -> None:
    prepared(database, targets=TARGETS)
    said = run("fish", "log", "HERON-2026", "--prompt", "--medium", "EtOH 95 %", input="done\n").output
    assert "Ethanol is flammable: keep it from flames" in " ".join(said.split())


def test_a_length_first_tells_whether_a_swab_is_needed_and_the_scan_goes_on_that_fish(
    run: Run, database: str
) -> None:
    prepared(database, targets=TARGETS)
    said = typed(run, "12.5", ONE, "1.1 lb", "12.6", "16")
    assert "Swab it: quality none of 1. Scan its vial." in said
    assert "quality is full: no more swabs of this size." in said
    assert "No swab: quality 1 of 1, full." in said
    assert "Swab it: preferred none of 3." in said
    assert fish_of(database) == [
        (1, 1, 12.5, "in", "quality", (ONE,)),
        (2, 1, 12.6, "in", "quality", ()),
        (3, 1, 16.0, "in", "preferred", ()),
    ]


def test_a_refusal_rings_says_why_and_keeps_the_rest_of_the_line(run: Run, database: str) -> None:
    prepared(database)
    said = typed(run, f"{ONE[:-1]}K 16.5 2.3", TWO, "BGX 14")
    assert "\a" in said
    assert "REFUSED: 'BG000001K' does not check" in said
    assert "Nearest free labels: BG 000 001 J" in said
    assert "Kept: 16.5 in, 2.3 lb." in said
    assert "REFUSED: 'bgx' is not understood" in said
    assert fish_of(database) == [(1, 1, 16.5, "in", "preferred", (TWO,))]


def test_a_vial_scanned_after_a_refused_fish_does_not_land_on_the_one_before(run: Run, database: str) -> None:
    prepared(database)
    said = typed(run, "12.5", "165 in", ONE, "n", "16.5", ONE)
    assert "cannot be" in said
    assert "there is no length" in said
    assert fish_of(database) == [(1, 1, 12.5, "in", "quality", ()), (2, 1, 16.5, "in", "preferred", (ONE,))]


def test_a_refusal_asks_nothing_that_could_not_be_answered(run: Run, database: str) -> None:
    prepared(database)
    said = " ".join(typed(run, "400").split())
    assert "REFUSED: a largemouth bass of 400 in cannot be; type 400 mm" in said
    assert "?" not in said
    typed(run, "400", "400 mm")
    assert [row[2:4] for row in fish_of(database)] == [(400.0, "mm")]


def test_kept_parts_are_dropped_when_the_next_line_is_another_fish(run: Run, database: str) -> None:
    prepared(database)
    said = typed(run, "16.5 blue", "12.1", "drop")
    assert "Dropped what was kept (16.5 in)" in said
    assert [row[2] for row in fish_of(database)] == [12.1]


def test_a_vial_that_cannot_be_used_is_refused_with_the_reason(run: Run, database: str) -> None:
    prepared(database)
    with_void(database, TWO)
    said = typed(
        run,
        f"{ONE} 16.5",
        f"{ONE} 12.5",
        "drop",
        f"{TWO} 14",
        "drop",
        f"{codes(1, 'TN')[0]} 14",
        "drop",
        f"{codes(1, first=900)[0]} 14",
    )
    flat = " ".join(said.split())
    assert "is already on fish 1 of survey HERON-2026 (16.5 in, logged" in flat
    assert "is void (smeared)" in flat
    assert "is not from this office; labels here begin with BG" in flat
    assert "no such label is in this database" in flat
    assert len(fish_of(database)) == 1


def with_void(database: str, code: str) -> None:
    from geneticlog.store.engine import database_url, one_transaction, open_engine

    engine = open_engine(database_url(database))
    with one_transaction(engine) as session:
        vial = session.scalars(select(Vial).where(Vial.code == code)).one()
        vial.standing, vial.void_why = "void", "smeared"
    engine.dispose()


def test_a_doubt_is_asked_and_yes_stores_it_with_a_finding(run: Run, database: str, session: Session) -> None:
    prepared(database)
    said = typed(run, f"{ONE} 16.5 23", "y", f"{TWO} 16.5 23", "2.3 lb", f"{THREE} 16.5 23", "n")
    assert said.count("ASK: 23 lb at 16.5 in is a relative weight of") == 3
    assert "was it 2.3 lb?" in " ".join(said.split())
    assert [row[5] for row in fish_of(database)] == [(ONE,), (TWO,)]
    (finding,) = session.scalars(select(Finding)).all()
    assert finding.kind == "doubtful_measurement"
    assert "Ada Test said that it is so" in finding.text


def test_a_doubt_about_a_fish_that_is_undone_ends_in_the_history(
    run: Run, database: str, session: Session
) -> None:
    prepared(database)
    typed(run, f"{ONE} 16.5 23", "y", "undo")
    (finding,) = session.scalars(select(Finding)).all()
    assert finding.decision == "close"
    (decided,) = session.scalars(select(Event).where(Event.verb == "decided")).all()
    assert (decided.subject, decided.by, decided.why) == (f"F{finding.number}", "Ada Test", finding.why)


def test_a_vial_of_another_survey_is_asked_about(run: Run, database: str) -> None:
    prepared(database)
    prepared(database, code="OTHER-2026", n_vials=2)
    other = codes(1, first=1001)[0]
    said = typed(run, f"{other} 16.5", "y")
    assert "was printed for survey OTHER-2026, not for HERON-2026" in said
    assert fish_of(database)[0][5] == (other,)


def test_undo_takes_back_the_last_thing_and_the_history_keeps_it(
    run: Run, database: str, session: Session
) -> None:
    prepared(database)
    said = typed(run, f"{ONE} 16.5", f"second {TWO}", "undo", "12.5 x3", "undo", "undo", "undo")
    assert "Taken back. Now fish 1: 16.5 in, preferred, vial BG 000 001 J." in said
    assert "Undone: fish 2 x3: 12.5 in, quality." in said
    assert "nothing was logged in this run that could be undone" in " ".join(said.split())
    assert fish_of(database) == []
    standings = {vial.code: vial.standing for vial in session.scalars(select(Vial))}
    assert (standings[ONE], standings[TWO]) == ("printed", "printed")
    undone = session.scalars(select(Event).where(Event.verb == "undone").order_by(Event.id)).all()
    assert [json.loads(event.old or "{}")["length"] for event in undone] == [12.5, 16.5]


def test_second_is_one_word_for_a_blind_duplicate(run: Run, database: str, session: Session) -> None:
    prepared(database)
    said = typed(run, f"{ONE} 16.5", TWO, f"second {TWO}", f"second {THREE}")
    flat = " ".join(said.split())
    assert 'add the word "second" for a second swab of this one' in flat
    assert "has two vials already" in flat
    roles = {vial.code: vial.role for vial in session.scalars(select(Vial).where(Vial.fish_id.is_not(None)))}
    assert roles == {ONE: "sample", TWO: "blind_duplicate"}


def test_the_screen_is_80_columns_wide_and_has_no_colour_without_a_terminal(run: Run, database: str) -> None:
    prepared(
        database,
        targets=dict.fromkeys(("substock", "stock", "quality", "preferred", "memorable", "trophy"), 8),
    )
    said = typed(
        run,
        "help",
        "tally",
        f"{ONE} 16.5 2.3 clip kept # hook scar in the left jaw",
        "165 in",
        f"{TWO} 16.5 23",
        "y",
        "?",
    )
    assert max(len(line) for line in said.splitlines()) <= 80
    assert "\x1b[" not in said


def test_an_unknown_survey_is_not_found(run: Run) -> None:
    assert "no survey 'NOWHERE'" in run("fish", "log", "NOWHERE", input="12.5\n", fails=3).output


@pytest.mark.parametrize(
    ("line", "size"), [("11.9", "stock"), ("302.26 mm", "quality"), ("30.2 cm", "quality")]
)
def test_the_size_class_is_judged_in_the_unit_measured(run: Run, database: str, line: str, size: str) -> None:
    prepared(database)
    typed(run, line)
    assert fish_of(database)[0][4] == size


def test_the_fish_of_a_survey_are_listed_as_stored(run: Run, database: str) -> None:
    prepared(database)
    assert "has no fish yet" in run("fish", "list", "HERON-2026").output
    typed(run, f"{ONE} 16 1/2 2 lb 5 oz # hook scar", "10.1 x4")
    shown = json.loads(run("fish", "list", "HERON-2026", "--json").output)
    assert shown["fish"][0]["vials"] == [ONE]
    assert (shown["fish"][0]["length"], shown["fish"][0]["total_length_mm"]) == (16.5, 419.1)
    assert (shown["fish"][1]["n_fish"], shown["fish"][1]["weight"]) == (4, None)
    listed = run("fish", "list", "HERON-2026").output
    assert "BG 000 001 J" in listed
    assert "hook scar" in listed


def test_second_after_undo_goes_on_the_fish_that_stands_and_a_vial_alone_does_not(
    run: Run, database: str
) -> None:
    prepared(database)
    lines = ["10.1", f"{ONE} 16.5", "12.5", "12.6"]
    said = typed(run, *lines, "undo", "undo", f"second {TWO}", "14", "undo", THREE, "n")
    assert "vials BG 000 001 J and" in " ".join(said.split())
    assert "there is no length" in said  # the vial alone did not land on fish 2
    assert [row[5] for row in fish_of(database)] == [(), (ONE, TWO)]


def test_second_with_no_fish_before_it_is_refused_with_the_true_reason(run: Run, database: str) -> None:
    prepared(database)
    said = " ".join(typed(run, f"{ONE} 16.5", "undo", f"second {TWO}", "12.5").split())
    assert fish_of(database) == [(1, 1, 12.5, "in", "quality", ())]
    assert "belongs to the one fish stored just before it in this run, and there is none" in said


def test_the_sitting_says_how_many_fish_stand(run: Run, database: str) -> None:
    prepared(database)
    said = typed(run, f"{ONE} 16.5", f"second {TWO}", "12.5", "10.1 x3", "12.6", "undo", "done")
    assert "Stored in this sitting and not undone: 5 fish." in said
    assert sum(row[1] for row in fish_of(database)) == 5
    said = typed(run, f"{ONE} 16.5", "12.7", "undo")
    assert "Stored in this sitting and not undone: 0 fish." in said


@pytest.mark.parametrize(
    ("next_line", "lengths"),
    [("12.5", [12.5]), (f"{TWO} 12.5 1.1", [12.5]), ("12.5 1.1", [12.5]), ("12.5 clip", [12.5]),
     ("12.5 x3", [12.5]), (f"second {TWO}", []), ("undo", []), ("12.5 bleu", []), (None, [])],
)  # fmt: skip
def test_an_open_question_is_never_dropped_in_silence(
    run: Run, database: str, next_line: str | None, lengths: list[float]
) -> None:
    prepared(database)
    lines = ["10.1", "16.5 41", *([next_line] if next_line else [])]
    said = " ".join(typed(run, *lines).split())
    assert "A number without a unit is the next fish." in said
    assert "Not stored: 16.5 in, 41 lb (question unanswered)." in said
    assert [row[2] for row in fish_of(database)] == [10.1, *lengths]
    weights = [
        row["weight"] for row in json.loads(run("fish", "list", "HERON-2026", "--json").output)["fish"]
    ]
    assert 41 not in weights


@pytest.mark.parametrize(
    ("answers", "stored"), [(("y",), [16.5]), (("n",), []), (("done", "9"), []), (("2.4 lb", "done"), [16.5])]
)
def test_done_with_a_question_open_asks_once_more(
    run: Run, database: str, answers: tuple[str, ...], stored: list[float]
) -> None:
    prepared(database)
    said = " ".join(typed(run, "16.5 41", "done", *answers).split())
    assert "Not stored yet: 16.5 in, 41 lb (question unanswered). y stores it, n drops it" in said
    assert ("Not stored: 16.5 in, 41 lb" in said) == (not stored)
    assert [row[2] for row in fish_of(database)] == stored


def test_the_value_in_doubt_is_put_right_and_the_rest_of_the_fish_is_kept(run: Run, database: str) -> None:
    prepared(database)
    said = typed(
        run, f"{ONE} 16.5 41", "what", "tally", "", "2.4 lb", "30", "20 in", "16.5 41", THREE, "2.1 lb"
    )
    assert "Not stored" not in said
    assert said.count("Still asked") == 3
    assert [(row[2], row[5]) for row in fish_of(database)] == [(16.5, (ONE,)), (20.0, ()), (16.5, (THREE,))]


def test_a_vial_that_waits_for_its_length_takes_a_number_alone(run: Run, database: str) -> None:
    prepared(database)
    said = typed(run, ONE, "16.5 2.3", "14", "23 lb", "12.6")
    assert "Not stored: 23 lb (question unanswered)." in said
    assert [(row[2], row[5]) for row in fish_of(database)] == [
        (16.5, (ONE,)),
        (14.0, ()),
        (12.6, ()),
    ]
