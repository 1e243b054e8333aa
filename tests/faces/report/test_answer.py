"""The answer: different fish give different sentences, and none says more than its interval."""

from __future__ import annotations

import random
from datetime import date

import pytest
from lakes_support import NOW, add_fish, add_lake, add_panel, add_survey, add_typed
from sqlalchemy.orm import Session

from geneticlog.faces.report.answer_sentences import answer, of_another_survey
from geneticlog.faces.report.change_words import notes_of
from geneticlog.rules.stamp import Stamp
from geneticlog.work.portfolio.gather import gather_portfolio
from geneticlog.work.report.gather import Wanted, gather_lake

Typed = list[tuple[float | None, float, float | None]]


def fish(
    n: int, lengths: tuple[float, float], q: float, spread: float = 0.0, h: float | None = 0.3, seed: int = 1
) -> Typed:
    """Return n fish of lengths between two, with q around a value."""
    chance = random.Random(seed)
    return [
        (round(chance.uniform(*lengths), 1), min(1.0, max(0.0, q + chance.uniform(-spread, spread))), h)
        for _ in range(n)
    ]


YOUNG, ADULT, SMALL = (8, 11.9), (12, 19.9), (5, 7.9)


def said(session: Session, *surveys: tuple[date, Typed]) -> str:
    lake = add_lake(session)
    panel = add_panel(session)
    for on, typed in surveys:
        survey = add_survey(session, lake, f"HERON-{on.year}", on)
        add_typed(session, survey, typed, panel=panel)
    sentences = answer(gather_lake(session, "HERON", stamp=Stamp(NOW, "Ada Test")))
    assert 3 <= len(sentences) <= 6, sentences
    told = " ".join(sentences)
    assert "significant" not in told
    assert "no difference" not in told
    assert "nan" not in told.lower()
    assert "None " not in told.replace("None of", "")
    return told


# invented: young fish carry more than adults, and the largest carry nearly as much as the young
YOUNG_Q = (0.2, 0.28, 0.33, 0.69, 0.45, 0.58, 0.21, 0.46, 0.66, 0.46, 0.72, 0.68)
QUALITY_Q, PREFERRED_Q = (0.13, 0.0, 0.27, 0.05, 0.0, 0.26), (0.56, 0.55, 0.6, 0.3, 0.25, 0.27)
THEN, NOW_ON = date(2023, 4, 12), date(2026, 4, 9)

CASES = {
    "no heterozygosity": (
        [(NOW_ON, fish(12, YOUNG, 0.3, 0.1, h=None) + fish(12, ADULT, 0.3, 0.1, h=None))],
        ["The lab gave no heterozygosity"], ["F1)"],
    ),
    "one class only": (
        [(NOW_ON, fish(9, YOUNG, 0.3, 0.1))],
        ["All results are from one size class, stock", "No adult fish has a result"], ["rises", "falls"],
    ),
    "all northern": (
        [(NOW_ON, fish(15, YOUNG, 0, h=0) + fish(15, ADULT, 0, h=0))],
        ["None of the 30 fish", "as high as", "12 % of its fish"], ["rises with size", "falls with size"],
    ),
    "all Florida": ([(NOW_ON, fish(9, YOUNG, 1, h=0))], ["All 9 fish", "as low as"], []),
    "one fish": ([(NOW_ON, fish(1, YOUNG, 0.3))], ["One fish", "says nothing about the lake"], ["on average"]),
    "few fish": ([(NOW_ON, fish(3, YOUNG, 0.3, 0.1))], ["Only 3 fish", "too few to read"], ["on average"]),
    "rise": (
        [(THEN, fish(30, YOUNG, 0.1, 0.1)), (NOW_ON, fish(30, YOUNG, 0.5, 0.1, seed=2))],
        ["rose by", "since 12 April 2023"], ["We cannot tell", "fell by", "is small"],
    ),
    "fall": (
        [(THEN, fish(30, YOUNG, 0.5, 0.1)), (NOW_ON, fish(30, YOUNG, 0.1, 0.1, seed=2))],
        ["fell by"], ["rose by"],
    ),
    "any change is small": (
        [(THEN, fish(60, YOUNG, 0.3, 0.05)), (NOW_ON, fish(60, YOUNG, 0.3, 0.05, seed=2))],
        ["Any change since 12 April 2023 is small"], ["We cannot tell", "rose", "fell"],
    ),
    "cannot tell a change": (
        [(THEN, fish(8, YOUNG, 0.4, 0.4)), (NOW_ON, fish(8, YOUNG, 0.45, 0.4, seed=2))],
        ["We cannot tell whether it changed since 12 April 2023"], ["is small", "rose by", "fell by"],
    ),
    "no earlier survey": ([(NOW_ON, fish(9, YOUNG, 0.3, 0.1))], ["There is no earlier survey with results"], []),
    "young carry more": (
        [(NOW_ON, fish(25, YOUNG, 0.6, 0.1) + fish(25, ADULT, 0.2, 0.1, seed=3))],
        ["Young fish carry", "more Florida alleles than adults", "falls with size"], ["We cannot tell"],
    ),
    "adults carry more": (
        [(NOW_ON, fish(25, YOUNG, 0.2, 0.1) + fish(25, ADULT, 0.6, 0.1, seed=3))],
        ["fewer Florida alleles than adults", "rises with size"], [],
    ),
    "young against adult cannot be told": (
        [(NOW_ON, fish(6, YOUNG, 0.45, 0.45) + fish(6, ADULT, 0.5, 0.45, seed=3))],
        ["We cannot tell whether young and adult fish differ"], ["than adults"],
    ),
    "a mean of a size class has its fish and its interval": (
        [(NOW_ON, fish(25, YOUNG, 0.6, 0.1) + fish(25, ADULT, 0.2, 0.1, seed=3))],
        ["% in stock (95 % interval", ", 25 fish)", "after Holm for 3 tests"], [],
    ),
    "a contrast that three tests told together do not carry": (
        [(NOW_ON, [(10.5, q, 0.1) for q in YOUNG_Q] + [(13.0, q, 0.1) for q in QUALITY_Q]
          + [(16.0, q, 0.1) for q in PREFERRED_Q])],
        ["Young fish may carry", "chance is not ruled out (p 0."], ["Young fish carry", "with size: "],
    ),
    "third lineage": (
        [(NOW_ON, fish(15, YOUNG, 0.28, 0.04, h=0.13))],
        ["a third lineage, another species or a failed assay is possible"], [],
    ),
    "two pure kinds side by side": (
        [(NOW_ON, fish(10, YOUNG, 0.0, h=0) + fish(10, YOUNG, 1.0, h=0))],
        ["two kinds living side by side"], ["third lineage"],
    ),
    "first-generation crosses": ([(NOW_ON, fish(6, YOUNG, 0.5, h=1.0))], ["6 of 6 fish look like a first"], []),
    "thin classes are named": (
        [(NOW_ON, fish(8, YOUNG, 0.3, 0.1) + fish(8, ADULT, 0.3, 0.1) + fish(2, SMALL, 0.3, 0.1))],
        ["too few or none to say in substock"], [],
    ),
    "what cannot be seen": (
        [(NOW_ON, fish(8, YOUNG, 0.3, 0.1))], ["as much as 31 % of the catch", "8 fish could miss entirely"], [],
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", CASES)
def test_the_answer(case: str, sqlite_session: Session) -> None:
    surveys, there, absent = CASES[case]
    told = said(sqlite_session, *surveys)
    for words in there:
        assert words in told, told
    for words in absent:
        assert words not in told, told


def test_before_the_lab_has_answered(sqlite_session: Session) -> None:
    lake = add_lake(sqlite_session)
    add_fish(sqlite_session, add_survey(sqlite_session, lake), 9.5)
    sentences = answer(gather_lake(sqlite_session, "HERON", stamp=Stamp(NOW, "Ada Test")))
    assert "No fish of Heron Lake has a result yet" in sentences[0]


def test_an_uncovered_class_is_told_with_the_share_of_the_catch(sqlite_session: Session) -> None:
    lake = add_lake(sqlite_session)
    survey = add_survey(sqlite_session, lake)
    add_typed(sqlite_session, survey, fish(10, YOUNG, 0.3, 0.1))
    add_fish(sqlite_session, survey, 15.5, n_fish=30)
    told = " ".join(answer(gather_lake(sqlite_session, "HERON", stamp=Stamp(NOW, "Ada Test"))))
    assert "25 % of the catch" in told
    assert "weighted to the sizes caught it is" not in told
    assert "(also caught: preferred)" in told


def test_what_stands_in_the_way_of_comparing_is_said(sqlite_session: Session) -> None:
    lake = add_lake(sqlite_session)
    first = add_survey(sqlite_session, lake, "A-2023", date(2023, 9, 1), gear="angling")
    add_typed(
        sqlite_session,
        first,
        fish(10, YOUNG, 0.3, 0.1),
        n_loci=35,
        panel=add_panel(sqlite_session, "P35", 35),
    )
    second = add_survey(sqlite_session, lake, "A-2026", NOW_ON)
    add_typed(sqlite_session, second, fish(10, YOUNG, 0.3, 0.1), panel=add_panel(sqlite_session))
    told = " ".join(answer(gather_lake(sqlite_session, "HERON", stamp=Stamp(NOW, "Ada Test"))))
    for words in ("compare with care", "gear differs", "panel differs", "season differs"):
        assert words in told


def test_the_first_results_of_a_new_survey_do_not_push_the_last_one_aside(sqlite_session: Session) -> None:
    lake, panel = add_lake(sqlite_session), add_panel(sqlite_session)
    old = add_survey(sqlite_session, lake, "HERON-2024", date(2024, 5, 14))
    add_typed(sqlite_session, old, [(13.0, q / 76) for q in range(20, 32)], panel=panel)
    new = add_survey(sqlite_session, lake, "HERON-2025", date(2025, 5, 14))
    add_typed(sqlite_session, new, [(13.0, 70 / 74)], n_loci=37, panel=panel)
    own = gather_lake(sqlite_session, "HERON", stamp=Stamp(NOW, "Ada Test"))
    assert own.changes == ()
    assert "12 fish of 14 May 2024 with a result" in answer(own)[0]
    assert "HERON-2025 of 14 May 2025, has 1 fish with a result" in of_another_survey(own)
    (line,) = gather_portfolio(sqlite_session, today=NOW.date())
    assert (line.survey, line.n_resulted, line.change) == ("HERON-2024", 12, None)
    assert "the latest survey has only 1 fish with a result" in line.reasons
    # asked for by name it is shown, with the change since the survey before it
    named = gather_lake(sqlite_session, "HERON", stamp=Stamp(NOW, "Ada Test"), wanted=Wanted("HERON-2025"))
    (change,) = named.changes
    assert (named.main, change.later) == (named.surveys[1], "HERON-2025")
    assert notes_of(change) == ()  # 37 and 38 loci of one panel are no difference
