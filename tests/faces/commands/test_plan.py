"""``geneticlog plan``: targets from wishes, and the spread the lake itself has shown."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from conftest import Runner
from lakes_support import (
    add_catch,
    add_fish,
    add_lake,
    add_panel,
    add_result,
    add_survey,
    add_typed,
    add_vial,
)
from sqlalchemy import select
from sqlalchemy.orm import Session
from survey_support import NOW, a_survey
from tests_support import database  # noqa: F401  (words and numbers of a plan: SQLite alone; what it reads is tested on both in test_what_counts)

from geneticlog.rules.statistics.planned_intervals import fish_for_interval
from geneticlog.store.engine import database_url, one_transaction, open_engine
from geneticlog.store.tables import Fish, Result, Survey, Vial
from geneticlog.work.events import new_uid

CLASSES = ["substock", "stock", "quality", "preferred", "memorable", "trophy"]


def a_lake(run: Runner) -> None:
    run("office", "add", "BG")
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
    assert [c["unseen"] for c in document["classes"]] == [
        pytest.approx(0.3123, abs=5e-5)
    ] * 6  # 1 - .05^(1/8)
    assert "as much as 31 % of a class is absent from 8 fish" in run("plan", "HERON", "--look").stdout
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
    assert "Wanted: 59 fish; the budget pays for 50." in said
    assert "missed with chance 7.7 %" in said


def test_a_half_width_is_met_in_every_class(run_on_sqlite: Runner) -> None:
    a_lake(run_on_sqlite)
    document = json.loads(run_on_sqlite("plan", "HERON", "--half-width", "0.10", "--json").stdout)
    assert targets(document) == dict.fromkeys(CLASSES, 29)  # t s / sqrt(n) alone would ask for 27 at s = .25
    said = " ".join(document["sampling_plan"]["notes"])
    assert (
        "asks for 27 fish of the class that needs most, the guarded interval of the reports for 29: a few"
        in said
    )
    assert max(c["half_width"] for c in document["sampling_plan"]["classes"]) <= 0.10


def test_a_class_that_stays_wider_than_wished_is_named(run: Runner) -> None:
    a_typed_survey(run)
    asked = ("plan", "HERON", "--half-width", "0.15", "--allocation", "proportional", "--look", "--json")
    document = json.loads(run(*asked).stdout)["sampling_plan"]
    wide = [c["size_class"] for c in document["classes"] if (c["half_width"] or 1) > 0.15]
    assert "trophy" in wide
    assert f"Not as narrow as the half-width of 0.15: {', '.join(wide)}." in document["notes"]
    said = run(*asked[:-1]).stdout
    assert "lake mean" in said
    assert "Never caught here so far, so this target may not be met: substock" in said


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
        (
            ["--budget", "30", "--fee", "18"],
            4,
            "pays for 1 fish at $18.00 each, but the least of 5 in each of 6 size classes takes 30 fish",
        ),
        (["--budget", "9", "--fee", "18"], 4, "$9.00 does not pay for one fish at $18.00"),
        (["--budget", "-5", "--fee", "18"], 2, "budget of -5 cannot be used for a plan"),
        (["--fee", "-1"], 4, "fee of -1 cannot be used for a plan"),
        (["--fee", "nan"], 4, "fee of nan"),
        (["--fee", "twenty"], 2, "'twenty' is not a valid float"),
        (["--fee", "20", "--lab", "QUILL"], 2, "not both"),
        (["--lab", "QUILL"], 3, "no lab 'QUILL'"),
        (["--half-width", "0"], 2, "half-width of 0 cannot"),
        (["--lake-half-width", "0"], 2, "lake half-width of 0 cannot"),
        (["--lake-half-width", "0.0001"], 4, "more than 100,000 fish"),
        (["--half-width", "0.7"], 2, "half-width of 0.7"),
        (["--half-width", "0.0001"], 4, "over a million fish"),
        (["--carrier-frequency", "5"], 2, "frequency of 5 is not possible"),
        (["--carrier-frequency", "0"], 2, "frequency of 0 is not possible"),
        (["--carrier-frequency", "0.05", "--chance", "1"], 2, "chance of 1 cannot"),
        (["--chance", "0.9"], 2, "add --carrier-frequency"),
        (["--wanted", "0"], 2, "wanted in each class cannot be 0"),
        (["--fish", "9999999"], 4, "no more than 100,000 can be planned"),
        (["--species", "trout"], 4, "'trout' is not a species known here"),
        (["--species", "alabama_bass"], 4, "geneticlog lake classes HERON --species alabama_bass"),
        (["--fish", "0"], 2, "0 fish cannot be planned"),
        (["--least", "-1"], 2, "least for each class cannot be -1"),
        (["--allocation", "best"], 2, "best"),
        (["--without", "huge"], 4, "no size class here is called so; they are substock, stock"),
        ([o for name in CLASSES for o in ("--without", name)], 4, "leaves every size class out"),
        (["--power", "0.9"], 2, "add --change or --young-adult"),
        (["--change", "0"], 2, "change of 0 cannot be used for a plan"),
        (["--change", "0.1", "--power", "1"], 2, "power of 1 cannot"),
        (["--change", "0.1"], 4, "no survey of this lake has fish enough with a result"),
        (["--young-adult", "1.5"], 2, "difference of young and adult of 1.5"),
        (["--stored", "--wanted", "5", "--fee", "3"], 2, "take --wanted, --fee away, or --stored"),
    ],
)
def test_a_wish_that_cannot_be_is_refused(
    run_on_sqlite: Runner, options: list[str], fails: int, words: str
) -> None:
    a_lake(run_on_sqlite)
    assert words in run_on_sqlite("plan", "HERON", *options, fails=fails).stderr


def test_an_unknown_lake_is_not_found(run_on_sqlite: Runner) -> None:
    run_on_sqlite("plan", "NOWHERE", fails=3)


def of_plan(run: Runner, *options: str) -> dict:
    return json.loads(run("plan", "HERON", *options, "--json").stdout)["sampling_plan"]


def test_every_wish_is_named_and_the_one_that_binds(run_on_sqlite: Runner) -> None:
    a_lake(run_on_sqlite)
    made = of_plan(run_on_sqlite, "--carrier-frequency", "0.02", "--wanted", "10", "--half-width", "0.2")
    assert made["n_fish"] == 149
    assert [(one["n_fish"], one["binds"]) for one in made["asked"]] == [
        (60, False),  # 10 fish a class
        (149, True),
        (60, False),
        (30, False),
    ]
    assert made["notes"][0].startswith("149 fish in all: a 0.95 chance to meet a kind that makes up 0.02.")
    assert "10 fish in each of 6 size classes (60)" in made["notes"][0]
    least = of_plan(run_on_sqlite, "--carrier-frequency", "0.10")  # 29 fish would do for that
    assert least["n_fish"] == 30
    assert least["notes"][0].startswith("30 fish in all: the least of 5 in each of 6 size classes.")
    given = of_plan(run_on_sqlite, "--fish", "60", "--half-width", "0.1")
    assert given["n_fish"] == 60
    assert "Not as narrow as the half-width of 0.1" in " ".join(given["notes"])
    few = of_plan(run_on_sqlite, "--fish", "13")
    assert sum(c["target"] for c in few["classes"]) == 13
    assert "13 fish are too few for the least of 5 in each of 6 classes." in few["notes"]


def test_the_lake_half_width_is_met_and_takes_fewer_fish_with_least_variance(run: Runner) -> None:
    a_typed_survey(run)
    wished = ("--lake-half-width", "0.08", "--least", "2", "--look")
    equal, best = (of_plan(run, *wished, "--allocation", rule) for rule in ("equal", "least-variance"))
    assert equal["lake_half_width"] <= 0.08
    assert best["lake_half_width"] <= 0.08
    assert best["n_fish"] < equal["n_fish"]


def test_no_half_width_is_above_one_half_and_few_fish_are_too_few(run_on_sqlite: Runner) -> None:
    a_lake(run_on_sqlite)
    made = of_plan(run_on_sqlite, "--fish", "14", "--least", "2")
    assert max(c["half_width"] for c in made["classes"]) <= 0.5
    assert {c["guard"] for c in made["classes"]} == {"too few to read; wide"}
    assert max(line["half_width"] for line in made["trade_off"]) <= 0.5
    said = run_on_sqlite("plan", "HERON", "--fish", "14", "--least", "2").stdout
    assert (
        said.count("too few") == 6 + 1 + 1
    )  # six classes, 3 fish of the curve, the sentence about the least
    assert "under 5 fish of a class are too few" in said


def test_the_fee_that_is_stored_is_taken_and_named(run: Runner) -> None:
    a_typed_survey(run)
    assert of_plan(run, "--look")["cost"] is None
    run("lab", "add", "QUILL", "Quillback (invented)")
    assert "QUILL" in run("plan", "HERON", "--budget", "900", "--lab", "QUILL", fails=4).stderr
    assert "No cost is shown: the fee of lab QUILL" in run("plan", "HERON", "--look", "--lab", "quill").stdout
    run("lab", "change", "QUILL", "--fee", "22")
    only = of_plan(run, "--look")
    assert (only["fee"], only["cost"]) == (22, 2 * 8 * 22)  # the four classes never caught come as they come
    assert only["fee_from"] == "the fee of lab QUILL, the only lab entered"
    run("lab", "add", "PIKE", "Pike Lane (invented)", "--fee", "30")
    assert of_plan(run, "--look")["fee"] is None  # two labs, nothing sent yet: none is invented
    assert of_plan(run, "--look", "--lab", "PIKE")["fee"] == 30
    run("shipment", "pack", "SH-1", "--survey", "HERON-2026", "--lab", "PIKE")
    sent = of_plan(run, "--look", "--budget", "1000")
    assert sent["fee_from"] == "the fee of lab PIKE, which shipment SH-1 of this lake went to"
    assert (sent["n_fish"], sent["cost"]) == (33, 990)
    assert of_plan(run, "--look", "--fee", "10")["fee_from"] == "as given with --fee"


def test_a_plan_made_later_leaves_an_open_survey_as_it_was(run: Runner) -> None:
    a_lake(run)
    run("plan", "HERON", "--wanted", "6")
    run("survey", "open", "HERON", "2026-05-02", "--code", "FIRST")
    run("plan", "HERON", "--wanted", "12")
    run("survey", "open", "HERON", "2026-06-02", "--code", "SECOND")
    for survey, wanted in (("FIRST", 6), ("SECOND", 12)):
        document = json.loads(run("coverage", survey, "--json").stdout)
        assert {c["target"] for c in document["classes"]} == {wanted}


def test_plans_of_two_species_stand_beside_each_other(run: Runner) -> None:
    a_lake(run)
    run("plan", "HERON", "--wanted", "6")
    run("plan", "HERON", "--wanted", "9", "--species", "Bluegill")
    run("survey", "open", "HERON", "2026-05-02", "--code", "BASS")
    run("survey", "open", "HERON", "2026-05-03", "--code", "GILLS", "--species", "bluegill")
    for survey, wanted in (("BASS", 6), ("GILLS", 9)):
        document = json.loads(run("coverage", survey, "--json").stdout)
        assert {c["target"] for c in document["classes"]} == {wanted}
    said = run("lake", "show", "HERON").stdout
    assert "targets for largemouth bass: 6 in each of 6 size classes" in said
    assert "targets for bluegill: 9 in each of 6 size classes" in said
    run("plan", "HERON", "--fish", "32")
    assert (
        "targets for largemouth bass: substock (6), stock (6), quality (5)"
        in run("lake", "show", "HERON").stdout
    )
    assert "targets from sampling plan 1: 6 in each" in run("survey", "show", "BASS").stdout


def test_the_stored_plan_is_shown_with_who_made_it_and_what_it_rested_on(run: Runner) -> None:
    a_lake(run)
    assert "no sampling plan for largemouth bass" in run("plan", "HERON", "--stored", fails=3).stderr
    run("plan", "HERON", "--wanted", "6", "--allocation", "proportional")
    kept = of_plan(run, "--stored")
    assert (kept["number"], kept["allocation"], kept["made_by"], kept["in_force"]) == (
        1,
        "proportional",
        "Ada Test",
        True,
    )
    assert kept["targets"] == dict.fromkeys(CLASSES, 6)
    said = run("plan", "HERON", "--stored").stdout
    assert "Sampling plan 1 of HERON: 36 largemouth bass" in said
    assert "36 fish in all: 6 fish in each of 6 size classes." in said
    run("lake", "classes", "HERON", "--two-groups", "12")
    assert "no survey takes its targets from this plan" in run("plan", "HERON", "--stored").stdout


def test_earlier_lengths_are_judged_anew_by_other_classes(run: Runner) -> None:
    a_typed_survey(run)  # 40 fish of 10 in, 10 of 13 in
    run("lake", "classes", "HERON", "--inch-groups", "8", "14")
    made = of_plan(run, "--fish", "60")
    found = {c["size_class"]: c for c in made["classes"]}
    assert (found["10 to 11 in"]["likely_catch"], found["13 to 14 in"]["likely_catch"]) == (40, 10)
    assert found["10 to 11 in"]["n_typed"] == 6
    assert found["10 to 11 in"]["spread_from"] == "HERON-2026"
    assert found["under 8 in"]["likely_catch"] == 0


def test_only_results_for_the_main_two_taxa_are_planned_with(run: Runner, session: Session) -> None:
    lake = add_lake(session)
    main, other = (
        add_panel(session),
        add_panel(session, "SPSM", 20, taxon="spotted", other_taxon="smallmouth"),
    )
    survey = add_survey(session, lake, "HERON-2025", date(2025, 4, 9))
    q = [0.1, 0.2, 0.1, 0.3, 0.2, 0.1]
    add_typed(session, survey, [(10.5, value) for value in q], panel=main)
    add_typed(session, survey, [(10.5, 0.9)] * 2, 20, other)
    for _ in range(5):  # swabbed and typed too, of another species
        fish = add_fish(session, survey, 10.5, species="spotted_bass")
        add_result(session, add_vial(session, fish), 0.9, panel=main)
    later = add_survey(session, lake, "HERON-2026", date(2026, 4, 9))  # only for the other two taxa
    add_typed(session, later, [(10.5, 0.9)] * 2, 20, other)
    session.commit()
    stock = next(c for c in of_plan(run)["classes"] if c["size_class"] == "stock")
    assert stock["spread"] == pytest.approx(np.std(q, ddof=1))
    assert (stock["n_typed"], stock["spread_from"]) == (6, survey.code)
    assert stock["likely_catch"] == 5  # 8 and 2 largemouth bass were caught, whatever they were typed for


def test_a_plan_for_other_classes_no_longer_holds_and_that_is_said(run: Runner) -> None:
    a_lake(run)
    run("plan", "HERON")
    said = run("lake", "classes", "HERON", "--two-groups", "14").stdout
    assert "Sampling plan 1 was made for other classes" in said
    run("survey", "open", "HERON", "2026-05-02", "--code", "NEW")
    document = json.loads(run("coverage", "NEW", "--json").stdout)
    assert [c["size_class"] for c in document["classes"]] == ["young", "adult"]
    assert {c["target"] for c in document["classes"]} == {None}
    run("plan", "HERON")
    run("lake", "classes", "HERON", "--two-groups", "12")  # the same names, other limits
    run("survey", "open", "HERON", "2026-05-03", "--code", "NEWER")
    assert json.loads(run("coverage", "NEWER", "--json").stdout)["sampling_plan"] is None


@pytest.mark.parametrize("classes", [["--published"], ["--inch-groups", "4", "24", "--step", "0.5"]])
def test_no_table_is_wider_than_the_screen(run: Runner, classes: list[str]) -> None:
    a_typed_survey(run)
    run("lake", "classes", "HERON", *classes)
    run("plan", "HERON", "--fee", "1234.5")
    run("survey", "open", "HERON", "2026-06-02", "--code", "NEXT")
    for asked in (
        ("plan", "HERON", "--fee", "1234.5", "--look"),
        ("coverage", "NEXT"),
        ("coverage", "HERON-2026"),
    ):
        lines = run(*asked).stdout.splitlines()
        table = [line for line in lines if line.startswith(" ") and "─" not in line]
        assert max(map(len, table)) <= 80
        assert not any(line.strip() in ("in", "over") for line in table)  # no size class is broken in two


def test_a_kind_to_be_met_is_looked_for_where_fish_are_caught(run: Runner) -> None:
    a_typed_survey(run)  # 40 stock fish and 10 quality fish were caught, nothing else
    asked = ("--carrier-frequency", "0.05", "--look")
    made = of_plan(run, *asked)
    assert (made["n_fish"], made["allocation"]) == (59, "proportional")
    found = {c["size_class"]: c["target"] for c in made["classes"]}
    assert found == dict.fromkeys(CLASSES, 0) | {"stock": 47, "quality": 12}  # 59 by 40 : 10
    assert made["n_likely"] == 50
    assert made["chance_unseen"] == pytest.approx(0.95**59)
    assert made["chance_unseen_likely"] == pytest.approx(0.95**50)
    said = run("plan", "HERON", *asked).stdout
    assert "swab any that are caught: substock, preferred, memorable, trophy" in " ".join(said.split())
    assert "with the 50 that are likely to be caught in one survey with chance 7.7 %" in said
    equal = of_plan(run, *asked, "--allocation", "equal")
    assert min(c["target"] for c in equal["classes"]) == 9
    assert equal["chance_unseen_likely"] == pytest.approx(0.95**20)  # ten stock and ten quality fish
    lifted = of_plan(run, *asked, "--least", "2")
    assert {c["size_class"]: c["target"] for c in lifted["classes"]}["trophy"] == 2
    # what is asked of each class is met in each class
    both = of_plan(run, *asked, "--wanted", "9")
    assert (both["n_fish"], both["allocation"], min(c["target"] for c in both["classes"])) == (59, "equal", 9)
    # and the fish are shared by the catch only where this wish decides
    assert of_plan(run, "--carrier-frequency", "0.05", "--wanted", "12", "--look")["allocation"] == "equal"


def test_a_class_never_caught_makes_no_budget_impossible(run: Runner) -> None:
    a_typed_survey(run)
    budget = ("--budget", "300", "--fee", "20")
    plain = {c["size_class"]: c["target"] for c in of_plan(run, *budget, "--look")["classes"]}
    refused = run("plan", "HERON", *budget, "--least", "5", fails=4).stderr
    assert "leave classes out (--without CLASS; never caught here: substock, preferred" in refused
    made = of_plan(
        run,
        *budget,
        *(o for name in ("Trophy", "memorable", "substock", "preferred") for o in ("--without", name)),
    )
    found = {c["size_class"]: c["target"] for c in made["classes"]}
    assert plain == found == dict.fromkeys(CLASSES, 0) | {"stock": 8, "quality": 7}
    assert "Left out with --without, so none wanted: substock, preferred, memorable, trophy." in made["notes"]
    run("survey", "open", "HERON", "2026-06-02", "--code", "NEXT")
    coverage = json.loads(run("coverage", "NEXT", "--json").stdout)
    assert {c["size_class"]: c["target"] for c in coverage["classes"]} == found
    mean = run("plan", "HERON", "--lake-half-width", "0.05", "--without", "stock", fails=4).stderr
    assert "the mean of the lake needs fish of every size class that is caught, and stock is left out" in mean


def test_each_class_takes_its_own_need_and_one_never_caught_comes_as_it_comes(
    run_on_sqlite: Runner,
) -> None:
    engine = open_engine(database_url(run_on_sqlite.database))
    with Session(engine) as session:
        survey = add_survey(session, add_lake(session))
        alike, mixed = [20, 22, 24, 21, 23, 22, 20, 24], [0, 0, 38, 38, 0, 38, 0, 38]
        add_catch(session, survey, {9.0: (40, alike), 13.0: (20, mixed)}, add_panel(session))
    engine.dispose()
    made = of_plan(run_on_sqlite, "--half-width", "0.1")
    held = {c["size_class"]: c for c in made["classes"]}
    assert held["stock"]["target"] < held["quality"]["target"]
    for name in ("stock", "quality"):
        assert held[name]["half_width"] <= 0.1
    # one fish fewer of the mixed class would not do
    q = pd.Series(mixed) / 76
    fewer = fish_for_interval(float(q.mean()), float(q.std(ddof=1)), 0.1) - 1
    assert held["quality"]["target"] == fewer + 1
    never = [name for name in CLASSES if name not in ("stock", "quality")]
    assert {held[name]["target"] for name in never} == {0}
    assert made["n_fish"] == held["stock"]["target"] + held["quality"]["target"]
    assert "Never caught here so far, so swab any that are caught: substock, preferred" in " ".join(
        made["notes"]
    )
    # a least that is asked for holds for every class
    asked = of_plan(run_on_sqlite, "--half-width", "0.1", "--least", "2")
    assert min(c["target"] for c in asked["classes"]) >= 2


def an_earlier_survey(run: Runner) -> None:
    """Twelve fish of each of three classes typed, 40, 20 and 10 caught; nothing ever caught of the others."""
    engine = open_engine(database_url(run.database))
    with Session(engine) as session:
        survey = add_survey(session, add_lake(session))
        swarm = [20, 22, 34, 15, 23, 29, 18, 24, 11, 26, 31, 19]
        catch = {
            9.0: (40, swarm),
            13.0: (20, [n + 8 for n in swarm]),
            16.0: (10, [n - 6 for n in swarm][:10]),
        }
        add_catch(session, survey, catch, add_panel(session))
    engine.dispose()


def test_a_change_the_young_and_the_lake_are_planned_for_by_trial(run_on_sqlite: Runner) -> None:
    run = run_on_sqlite
    an_earlier_survey(run)
    wishes = ("--change", "0.1", "--young-adult", "0.12", "--lake-half-width", "0.03", "--fee", "20")
    made = of_plan(run, *wishes, "--look")
    lake, change, young, *_ = made["asked"]
    assert (lake["measure"], change["measure"], young["measure"]) == ("half_width", "chance", "chance")
    assert lake["reached"] <= 0.03
    for one in (change, young):
        assert 0.8 <= one["reached"] < 0.9
    for one in (lake, change, young):
        assert one["cost"] == 20 * one["n_fish"]
        assert one["n_likely"] <= min(70, one["n_fish"])
        assert one["unknown"]
        assert (one["reached_likely"] == one["reached"]) == (one["n_likely"] == one["n_fish"])
    # every class gets the greatest of its needs, and one never caught comes as it comes
    (decides,) = [one for one in made["asked"] if one["binds"]]
    assert decides["n_fish"] == made["n_fish"] >= max(one["n_fish"] for one in (lake, change, young))
    held = {c["size_class"]: c for c in made["classes"]}
    both = of_plan(run, "--lake-half-width", "0.03", "--half-width", "0.08", "--look")
    each, mean = (
        {c["size_class"]: c["target"] for c in of_plan(run, *wish, "--look")["classes"]}
        for wish in (("--half-width", "0.08"), ("--lake-half-width", "0.03"))
    )
    assert {c["size_class"]: c["target"] for c in both["classes"]} == {
        n: max(each[n], mean[n]) for n in CLASSES
    }
    assert [name for name in CLASSES if held[name]["as_they_come"]] == ["substock", "memorable", "trophy"]
    said = " ".join(run("plan", "HERON", *wishes, "--look").stdout.split())
    assert "A 0.8 chance to see a change of 10 points since HERON-2026" in said
    assert "One outing is likely to bring" in said
    assert f"they give ± {lake['reached']:.3f} for the mean of the lake." in said
    assert "This plan will not show: a change of less than 10 points" in said
    assert "Tried as first crosses of some of the fish with a pure kind" in said
    said = " ".join(run("plan", "HERON", "--half-width", "0.08", "--look").stdout.split())
    assert " in the class with the widest interval. One outing is likely" in said
    assert made == of_plan(run, *wishes, "--look")  # the same plan twice
    # the table of other numbers counts no fish of the classes that come as they come
    usual = of_plan(run, "--look", "--fee", "20")
    (line,) = [one for one in usual["trade_off"] if one["fish_a_class"] == 8]
    assert (line["n_fish"], line["cost"], line["lake_half_width"]) == (24, 480, usual["lake_half_width"])
    assert usual["n_fish"] == 24


def test_more_is_asked_for_less_and_what_no_survey_shows_is_refused(run_on_sqlite: Runner) -> None:
    run = run_on_sqlite
    an_earlier_survey(run)

    def fish(*wish: str) -> int:
        return of_plan(run, *wish, "--look")["n_fish"]

    assert fish("--change", "0.14") < fish("--change", "0.1") < fish("--change", "0.1", "--power", "0.9")
    assert fish("--young-adult", "0.2") < fish("--young-adult", "0.1")
    refused = run("plan", "HERON", "--change", "0.03", fails=4).stderr
    assert "HERON-2026 has only 34 fish with a result in these sizes" in " ".join(refused.split())
    # the lake's mean takes the narrowest way of sharing unless another is asked for
    ways = {
        way: fish("--lake-half-width", "0.03", "--allocation", way)
        for way in ("equal", "proportional", "least-variance")
    }
    assert (
        fish("--lake-half-width", "0.03") == min(ways["proportional"], ways["least-variance"]) < ways["equal"]
    )
    bounded = of_plan(run, "--lake-half-width", "0.03", "--budget", "400", "--fee", "20", "--look")
    assert bounded["n_fish"] == 20
    assert {c["size_class"]: c["target"] for c in bounded["classes"]}["trophy"] == 0
