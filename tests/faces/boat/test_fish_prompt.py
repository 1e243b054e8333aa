"""The prompt on the boat."""

from __future__ import annotations

import json
from collections.abc import Callable

import pytest
import tests_support
from click.testing import Result
from sqlalchemy import select
from sqlalchemy.orm import Session
from survey_support import codes, fish_of, prepared

from geneticlog.store.tables import Event, Finding, Vial

# what the prompt says: SQLite alone; what it writes is tested on both with the pipe and with several at once
database = tests_support.database

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


def test_a_size_that_the_plan_takes_as_it_comes_is_swabbed(run: Run, database: str) -> None:
    prepared(database, targets=TARGETS)
    said = typed(run, "21", ONE, "done")
    assert "Swab it: memorable is taken as it comes. Scan its vial." in said
    coverage = json.loads(run("coverage", "HERON-2026", "--json").stdout)["classes"]
    assert {row["size_class"] for row in coverage if row["standing"] == "as they come"} == {
        "substock", "memorable", "trophy",
    }  # fmt: skip


def test_vials_of_ethanol_on_a_boat_bring_their_caution(run: Run, database: str) -> None:
    prepared(database, targets=TARGETS)
    said = run("fish", "log", "HERON-2026", "--prompt", "--medium", "EtOH 95 %", input="done\n").output
    assert "Ethanol is flammable: keep it from flames" in " ".join(said.split())


def test_a_length_first_says_whether_a_swab_is_needed_and_where_the_scan_belongs_is_asked_once(
    run: Run, database: str
) -> None:
    prepared(database, targets=TARGETS)
    said = typed(run, "12.5", ONE, "t", "1.1 lb", "12.6", "", "16", TWO)
    assert "Swab it: quality none of 1. Scan its vial." in said
    assert "12.5 in> " in said
    flat = " ".join(said.split())
    assert (
        "ASK: vial BG 000 001 J: of the fish on the card (12.5 in), or of the next fish? t this fish, n"
        in flat
    )
    assert "To say it at once, type: order vial,length (or order length,vial)." in flat
    assert "From here on: a fish is measured, then its vial scanned." in said
    assert said.count("ASK") == 1
    assert "BG 000 001 J, 12.5 in> " in said
    assert "quality is full: no more swabs of this size." in said
    assert "No swab: quality 1 of 1, full." in said
    assert "Swab it: preferred none of 3." in said
    assert fish_of(database) == [
        (1, 1, 12.5, "in", "quality", (ONE,)),
        (2, 1, 12.6, "in", "quality", ()),
        (3, 1, 16.0, "in", "preferred", (TWO,)),
    ]


def test_a_refusal_rings_says_why_and_takes_nothing_of_the_line(run: Run, database: str) -> None:
    prepared(database)
    said = typed(run, "12.1 in", f"{ONE[:-1]}K 16.5 2.3", f"{TWO} 16.5 2.3", "BGX 14", "walleye 15", "1O.5")
    flat = " ".join(said.split())
    assert "\a" in said
    assert "REFUSED: 'BG000001K' does not check" in flat
    assert "Nearest free labels: BG 000 001 J" in flat
    assert "Nothing of it was taken. On the card: 12.1 in." in flat
    assert "REFUSED: 'BGX' is not understood." in flat
    assert "walleye is another species" in flat
    assert "'1O.5' is not understood" in flat
    assert [row[2:6:3] for row in fish_of(database)] == [(12.1, ()), (16.5, (TWO,))]


def test_a_vial_scanned_after_a_refused_length_does_not_land_on_the_fish_before(
    run: Run, database: str
) -> None:
    prepared(database)
    run("correct", "survey", "HERON-2026", "--order", "length,vial", "--why", "as the crew works")
    said = typed(run, "12.5", "165 in", ONE, "drop", "16.5", ONE)
    assert "cannot be" in said
    assert "of the fish on the card (12.5 in), or of the next fish?" in " ".join(said.split())
    assert "To say it at once" not in said  # it was said: an order is set
    assert fish_of(database) == [(1, 1, 12.5, "in", "quality", ()), (2, 1, 16.5, "in", "preferred", (ONE,))]


def test_an_order_typed_at_the_question_leaves_it_open_and_no_other_is_asked(run: Run, database: str) -> None:
    prepared(database)
    said = typed(run, "12.5", ONE, "order length,vial", "t", "", "16.5", TWO)
    assert "Order of work from here on: length,vial." in said
    assert "Still asked of" in said
    assert said.count("ASK") == 1
    assert [row[2:6:3] for row in fish_of(database)] == [(12.5, (ONE,)), (16.5, (TWO,))]


def test_a_refusal_asks_nothing_that_could_not_be_answered(run: Run, database: str) -> None:
    prepared(database)
    said = " ".join(typed(run, "400").split())
    assert "REFUSED: a largemouth bass of 400 in cannot be; type 400 mm" in said
    assert "?" not in said
    typed(run, "400", "400 mm")
    assert [row[2:4] for row in fish_of(database)] == [(400.0, "mm")]


def test_the_card_is_emptied_with_drop_and_comes_back_with_redo(run: Run, database: str) -> None:
    prepared(database)
    said = typed(run, "16.5 clip", "drop", "drop", "redo", "", "12.1", "drop")
    assert "Dropped: 16.5 in, fin clip. redo brings it back." in said
    assert "The card is empty." in said
    assert [row[2] for row in fish_of(database)] == [16.5]


def test_kept_is_the_fate_of_the_open_fish_and_nothing_else(run: Run, database: str) -> None:
    prepared(database)
    said = typed(run, f"{ONE} 16.5 41", "n", "kept", "12.1", "kept", "done")
    assert "REFUSED: kept: there is no fish on the card" in said
    assert "12.1 in, kept> " in said
    shown = json.loads(run("fish", "list", "HERON-2026", "--json").output)["fish"]
    assert [(one["length"], one["fate"]) for one in shown] == [(12.1, "kept")]


def test_a_vial_that_cannot_be_used_is_refused_with_the_reason(run: Run, database: str) -> None:
    prepared(database)
    with_void(database, TWO)
    said = typed(
        run,
        f"{ONE} 16.5 2.3",
        f"{ONE} 12.5",
        f"{TWO} 14",
        f"{codes(1, 'TN')[0]} 14",
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


def test_undo_takes_back_the_last_part_and_the_history_keeps_it(
    run: Run, database: str, session: Session
) -> None:
    prepared(database)
    said = typed(
        run, f"{ONE} 16.5 2.3", f"second {TWO}", "undo", "12.5 x3", "undo", "redo", "undo", "undo", "undo"
    )
    flat = " ".join(said.split())
    assert "Out of the log: fish 1: 16.5 in, 2.3 lb, preferred, vials BG 000 001 J and BG 000 002 H." in flat
    assert "In the log: fish 1: 16.5 in, 2.3 lb, preferred, vial BG 000 001 J." in flat
    assert flat.count("Out of the log: fish 2 x3: 12.5 in, quality.") == 2
    assert "nothing was logged in this run that could be undone" in flat
    assert fish_of(database) == []
    standings = {vial.code: vial.standing for vial in session.scalars(select(Vial))}
    assert (standings[ONE], standings[TWO]) == ("printed", "printed")
    undone = session.scalars(select(Event).where(Event.verb == "undone").order_by(Event.id)).all()
    assert [json.loads(event.old or "{}")["length"] for event in undone] == [16.5, 12.5, 12.5, 16.5]


def test_undo_after_a_refusal_deletes_no_good_fish(run: Run, database: str) -> None:
    prepared(database)
    said = typed(run, f"{ONE} 16.5 2.3", "12 bleu", "undo", f"{ONE[:-1]}K", "undo")
    assert said.count("Nothing of the refused line was taken, so nothing is undone.") == 2
    assert len(fish_of(database)) == 1


def test_second_is_one_word_for_a_blind_duplicate(run: Run, database: str, session: Session) -> None:
    prepared(database)
    said = typed(
        run, f"{ONE} 16.5 2.3", f"second {TWO}", f"second {THREE}", f"second {THREE} 12.5", "12", TWO, "t"
    )
    flat = " ".join(said.split())
    assert "has two vials already" in flat
    assert '"second" is the other vial of a fish that has one' in flat
    assert "vial BG 000 002 H is already on fish 1" in flat
    roles = {vial.code: vial.role for vial in session.scalars(select(Vial).where(Vial.fish_id.is_not(None)))}
    assert roles == {ONE: "sample", TWO: "blind_duplicate"}
    assert len(fish_of(database)) == 2


def test_an_earlier_fish_is_mended_without_leaving(run: Run, database: str) -> None:
    prepared(database)
    said = typed(
        run, f"{ONE} 16.5 2.3", "12.5", "", "list", f"mend 2 {TWO} 12.6 kept", "mend 1 off BG000001J",
        "mend 1 16.5 41 lb", "n", f"mend 2 {THREE}", "mend 9 12", "mend 1 41 lb", "y", "9",
    )  # fmt: skip
    flat = " ".join(said.split())
    assert "fish 1: 16.5 in, 2.3 lb, preferred, vial BG 000 001 J fish 2: 12.5 in, quality" in flat
    assert "Changed: fish 2: 12.6 in, quality, vial BG 000 002 H, kept." in flat
    assert "Changed: fish 1: 16.5 in, 2.3 lb, preferred." in flat
    assert "fish 2 has vial BG 000 002 H already; take it off first" in flat
    assert "has no fish 9" in flat
    assert "Changed: fish 1: 16.5 in, 41 lb, preferred." in flat
    assert [row[2:6:3] for row in fish_of(database)] == [(16.5, ()), (12.6, (TWO,)), (9.0, ())]
    listed = run("fish", "list", "HERON-2026", "--last", "1", "--json").output
    assert [one["fish"] for one in json.loads(listed)["fish"]] == [3]


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


def test_after_undo_a_scan_lands_on_the_card_that_the_prompt_shows(run: Run, database: str) -> None:
    prepared(database)
    said = typed(
        run, "10.1", f"{ONE} 16.5 2.3", "12.5", "undo", "undo", f"second {TWO}", "16.6 2.3", f"second {TWO}"
    )
    assert "REFUSED: the fish before it (10.1 in) has no first vial yet" in " ".join(said.split())
    assert [row[2:6:3] for row in fish_of(database)] == [(10.1, ()), (16.6, ())]


def test_second_with_no_fish_before_it_is_refused_with_the_true_reason(run: Run, database: str) -> None:
    prepared(database)
    said = " ".join(typed(run, f"{ONE} 16.5 2.3", "undo", f"second {TWO}", "12.5").split())
    assert fish_of(database) == [(1, 1, 12.5, "in", "quality", ())]
    assert "belongs to the fish before it in this run, but there is none" in said


def test_the_sitting_says_how_many_fish_stand(run: Run, database: str) -> None:
    prepared(database)
    said = typed(run, f"{ONE} 16.5 2.3", f"second {TWO}", "12.5", "10.1 x3", "12.6", "undo", "done")
    assert "Stored in this sitting and not undone: 5 fish." in said
    assert sum(row[1] for row in fish_of(database)) == 5
    said = typed(run, f"{ONE} 16.5 2.3", "12.7", "undo")
    assert "Stored in this sitting and not undone: 0 fish." in said


def test_a_card_left_open_by_a_flat_battery_is_asked_about(run: Run, database: str) -> None:
    from geneticlog.faces.app.desk import Desk
    from geneticlog.faces.boat.logbook import Logbook

    prepared(database)
    for line in (f"{ONE} 16.5", TWO):
        run_desk = Desk()
        run_desk.database, run_desk.named_by = database, "Ada Test"
        book = Logbook(run_desk, "HERON-2026")
        book.take(book.read(line))  # and the battery is empty
        run_desk.close()
    said = typed(run, "n", "y", "", f"{THREE} 12")
    assert "by Ada Test: BG 000 002 H. y takes it up, n leaves it." in " ".join(said.split())
    assert "Taken up again: BG 000 001 J, 16.5 in." in said
    assert [row[5] for row in fish_of(database)] == [(ONE,), (THREE,)]
    said = typed(run, "y", "done", "done")
    assert "Left open, not stored: BG 000 002 H." in said
    typed(run, "y", "14", "done")
    assert fish_of(database)[-1][2:6:3] == (14.0, (TWO,))
    assert "left open" not in typed(run, "done")


@pytest.mark.parametrize(
    ("next_line", "lengths"),
    [("12.5", [12.5]), (f"{TWO} 12.5 1.1", [12.5]), ("12.5 1.1", [12.5]), ("12.5 clip", [12.5]),
     ("12.5 x3", [12.5]), (f"second {TWO}", []), ("undo", []), (None, [])],
)  # fmt: skip
def test_an_open_question_is_never_dropped_in_silence(
    run: Run, database: str, next_line: str | None, lengths: list[float]
) -> None:
    prepared(database)
    lines = ["10.1", "16.5 41", *([next_line] if next_line else [])]
    said = " ".join(typed(run, *lines).split())
    assert "y stores it as it is, n drops it; or type the right weight." in said
    assert "Not taken: 16.5 in, 41 lb (question unanswered)." in said
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
    assert "Not stored yet: 16.5 in, 41 lb (question unanswered). y stores it as it is, n drops it" in said
    assert ("Not taken: 16.5 in, 41 lb" in said) == (not stored)
    assert [row[2] for row in fish_of(database)] == stored


def test_the_value_in_doubt_is_put_right_and_the_rest_of_the_line_is_taken_with_it(
    run: Run, database: str
) -> None:
    prepared(database)
    said = typed(
        run, f"{ONE} 16.5 41", "what", "tally", "# a remark", "2.4", "2.4 lb", "30", "20 in", "16.5 41", THREE, "2.1 lb"
    )  # fmt: skip
    assert said.count("Still asked") == 4
    assert "2.4 may be the right weight or the next fish: type 2.4 lb, or 2.4 in" in " ".join(said.split())
    assert "Not taken: 16.5 in, 41 lb (question unanswered)." in said  # the scan was no answer to it
    assert [(row[2], row[5]) for row in fish_of(database)] == [(16.5, (ONE,)), (20.0, ())]


def test_a_vial_waits_for_its_length_and_only_a_person_stores_it_without(
    run: Run, database: str, session: Session
) -> None:
    prepared(database)
    said = typed(run, ONE, TWO, "", "16.5 2.3", TWO, "", "n", "", "y", "12.6")
    flat = " ".join(said.split())
    assert (
        "REFUSED: the card (BG 000 001 J) has no length yet: type it first, or undo. Vial BG 000 002 H was"
        in flat
    )
    assert flat.count("there is no length, so the fish counts in no size class") == 3
    assert [(row[2], row[5]) for row in fish_of(database)] == [(16.5, (ONE,)), (None, (TWO,)), (12.6, ())]
    assert session.scalars(select(Finding.kind)).all() == ["no_length"]


@pytest.mark.parametrize("sends", ["enter", "tab", "nothing"])
@pytest.mark.parametrize("order", ["any", "vial,length", "length,vial"])
def test_a_scanner_set_in_any_way_shifts_no_vial(run: Run, database: str, sends: str, order: str) -> None:
    prepared(database)
    run("correct", "survey", "HERON-2026", "--order", order, "--why", "as the crew works")
    fish = list(zip(codes(6), (16.5, 12.5, 9, 14, 20, 11.5), strict=True))
    lines: list[str] = []
    for code, length in fish:
        if sends == "enter":
            lines += [f"{length}", code] if order == "length,vial" else [code, f"{length}"]
        else:
            lines.append(f"{code}{chr(9) if sends == 'tab' else ''}{length}")
    said = typed(run, *lines)
    assert "ASK" not in said
    assert "REFUSED" not in said
    assert [(row[5], row[2]) for row in fish_of(database)] == [((code,), length) for code, length in fish]


@pytest.mark.parametrize(
    ("lines", "keys"),
    [([ONE, "16.5"], 5), ([ONE, "16.5 2.3"], 9), ([f"{ONE}16.5"], 5), ([f"{ONE}\t16.5 2-5"], 9)],
)
def test_keys_pressed_for_a_fish(run: Run, database: str, lines: list[str], keys: int) -> None:
    """A scan and a length are 5 keys, with a weight 9: the scanner presses those of the code."""
    prepared(database)
    run("correct", "survey", "HERON-2026", "--order", "vial,length", "--why", "as the crew works")
    typed(run, *lines)
    assert fish_of(database) == [(1, 1, 16.5, "in", "preferred", (ONE,))]
    pressed = sum(len(line.replace(ONE, "").strip()) + (line != ONE) for line in lines)
    assert pressed <= keys
