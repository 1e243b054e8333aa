"""The first page: five fixed questions, few words, few numbers, none that needs explaining; and a page that is full."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from pathlib import Path

import pypdfium2
import pytest
from lake_situations import (
    Situation,
    all_failed,
    at_the_lab,
    four_fish,
    millimetres,
    near_pure,
    never_swabbed,
    no_survey,
    not_sent,
    partly_returned,
    swarm_with_genotypes,
    three_surveys,
    three_surveys_with_stockings,
    two_surveys,
    without_lengths,
)
from lakes_support import NOW, add_fish, add_lake, add_survey, add_typed, add_vial
from paper_support import fullness, least_type
from sqlalchemy.orm import Session

from geneticlog.faces.figures.style import LEAST_TYPE
from geneticlog.faces.report.answer_sentences import answer
from geneticlog.faces.report.files import lake_contents
from geneticlog.faces.report.next_time import next_blocks, next_rows
from geneticlog.faces.report.owner import (
    CHANGING,
    HOW_MUCH,
    LEGEND,
    NEXT,
    SIZES,
    SURE,
    owner_lines,
)
from geneticlog.faces.report.owner_words import points_between
from geneticlog.rules.stamp import Stamp
from geneticlog.store.own_files import write_own
from geneticlog.work.report.gather import gather_lake

MOST_WORDS, MOST_NUMBERS = 100, 26
# terms of the trade and of statistics that an owner would have to ask about, and what reads twice
NEEDS_EXPLAINING = re.compile(
    r"\bp\b|\bq\b|\bH\b|Holm|weight|interval|confiden|allele|\bloc[iu]|heterozyg|intergrade|\bF1\b|carrier|introgress"
    r"|statistic|significan|panel|genotyp|deviation|variance|percentile|substock|hypothes|cannot be told"
    r"|\bnot [^.]* not\b",
    re.IGNORECASE,
)
SITUATIONS: dict[Situation, tuple[str, str]] = {
    # situation: what its first line says, what its last says
    two_surveys: (r"^\d+ % of the bass ancestry is Florida \(\d+ to \d+ %\)\.$", "Swab .* next spring"),
    three_surveys: (r"^\d+ % of the bass ancestry", "Swab .* next spring"),
    near_pure: (r"^Under 1 % of the bass ancestry|^No Florida ancestry", "Swab"),
    millimetres: (r"^\d+ % of the bass ancestry", "Swab"),
    without_lengths: (r"Florida ancestry in the fish swabbed", "Swab|Plan"),
    four_fish: (r"^Unknown: too few to read \(4 of 4 fish have a result\); it takes 5\.$", "Swab"),
    never_swabbed: (r"^Unknown: never swabbed\.$", "Swab for the first time"),
    no_survey: (r"^Unknown: never swabbed\.$", "Swab for the first time"),
    all_failed: (r"^Unknown: all samples failed \(3 fish swabbed\)\.$", "Swab again"),
    partly_returned: (
        r"^Unknown: partly returned or held \(1 of 3 fish have a result, 2 at the lab\)\.$",
        "Wait for",
    ),
    three_surveys_with_stockings: (r"^\d+ % of the bass ancestry in the sizes sampled", "Swab"),
    swarm_with_genotypes: (r"^\d+ % of the bass ancestry", "Swab"),
    not_sent: (r"^Unknown: swabbed, not sent \(3 fish\)\.$", "Send the samples to the lab"),
    at_the_lab: (r"^Unknown: at the lab since 2026-05-02 \(3 fish\)\.$", "Wait for the lab"),
}


@pytest.mark.parametrize("situation", SITUATIONS, ids=lambda one: one.__name__)
def test_five_questions_in_few_plain_words(situation: Situation, sqlite_session: Session) -> None:
    lake = add_lake(sqlite_session)
    situation(sqlite_session, lake)
    sqlite_session.commit()
    lines = owner_lines(gather_lake(sqlite_session, "HERON", stamp=Stamp(NOW, "Ada Test")))
    assert [line.question for line in lines] == [HOW_MUCH, SIZES, CHANGING, SURE, NEXT]
    told = " ".join(line.text for line in lines)
    assert len(told.split()) <= MOST_WORDS, told
    assert len(re.findall(r"\d[\d,.]*", told)) <= MOST_NUMBERS, told
    assert not NEEDS_EXPLAINING.search(told), told
    first, last = SITUATIONS[situation]
    assert re.search(first, lines[0].text), lines[0].text
    assert re.search(last, lines[-1].text), lines[-1].text

    if lines[0].text.startswith("Unknown"):  # then every line says what it would take
        for line in lines[1:]:
            assert re.search(r"takes? |\d+ bass|lab", line.text), line.text


def test_swabs_that_are_not_read_yet_are_named_before_more_fish_are_asked_for(
    sqlite_session: Session,
) -> None:
    survey = add_survey(sqlite_session, add_lake(sqlite_session))
    add_typed(sqlite_session, survey, [(6.5, q / 10) for q in range(8)])
    for _ in range(6):
        add_vial(sqlite_session, add_fish(sqlite_session, survey, 16.0))
    sqlite_session.commit()
    lines = owner_lines(gather_lake(sqlite_session, "HERON", stamp=Stamp(NOW, "Ada Test")))
    assert lines[1].text == "No adult bass was read so far; swabs that are still to be read may show it."
    assert lines[-1].text.startswith("Send the swabs of 6 fish not packed yet.")


def test_the_sentences_say_how_far_the_samples_are(sqlite_session: Session) -> None:
    all_failed(sqlite_session, add_lake(sqlite_session))
    sqlite_session.commit()
    told = answer(gather_lake(sqlite_session, "HERON", stamp=Stamp(NOW, "Ada Test")))
    assert told[-1] == "State of the samples: all samples failed (3 fish swabbed)."
    assert not any("has been read" in sentence for sentence in told)


def test_too_few_results_are_no_ground_to_plan_a_spread_on(sqlite_session: Session) -> None:
    four_fish(sqlite_session, add_lake(sqlite_session))
    sqlite_session.commit()
    plan = gather_lake(sqlite_session, "HERON", stamp=Stamp(NOW, "Ada Test")).next_plan
    assert plan is not None
    assert (plan.n_fish, plan.half_width) == (8, None)


def test_the_number_is_the_one_weighted_to_the_catch(sqlite_session: Session) -> None:
    survey = add_survey(sqlite_session, add_lake(sqlite_session))
    add_typed(
        sqlite_session, survey, [(6.5, 0.8)] * 6 + [(6.5, 0.7)] * 2 + [(13.0, 0.1)] * 6 + [(13.0, 0.0)] * 2
    )
    add_fish(sqlite_session, survey, 6.5, n_fish=152)  # 160 young and 8 adults were caught
    sqlite_session.commit()
    lines = owner_lines(gather_lake(sqlite_session, "HERON", stamp=Stamp(NOW, "Ada Test")))
    by_hand = (160 * (6 * 0.8 + 2 * 0.7) / 8 + 8 * 6 * 0.1 / 8) / 168
    assert lines[0].text.startswith(f"{100 * by_hand:.0f} % of the bass ancestry")


@pytest.mark.parametrize(
    ("low", "high", "said"),
    [
        (0.0501, 0.2299, "5 to 23 points"),
        (-0.2299, -0.0501, "5 to 23 points"),
        (-0.012, 0.0901, "−2 to +10 points"),
        (0.05, 0.23, "5 to 23 points"),
        (0.0035, 0.0309, "under 1 to 4 points"),
        (-0.153, -0.0057, "under 1 to 16 points"),
        (0.0, 0.031, "0 to 4 points"),
    ],
)
def test_a_range_is_never_printed_narrower_than_it_is(low: float, high: float, said: str) -> None:
    assert points_between(low, high) == said


@pytest.mark.parametrize(
    "situation",
    [three_surveys, near_pure, without_lengths, swarm_with_genotypes],
    ids=lambda one: one.__name__,
)
def test_a_report_is_light_full_and_legible(
    situation: Situation, sqlite_session: Session, tmp_path: Path
) -> None:
    situation(sqlite_session, add_lake(sqlite_session))
    sqlite_session.commit()
    facts = gather_lake(sqlite_session, "HERON", stamp=Stamp(NOW, "Ada Test"))
    write_own(tmp_path, lake_contents(facts, paper="us-letter"))
    assert max((tmp_path / f"heron.{kind}").stat().st_size for kind in ("html", "pdf")) < 300_000
    html = (tmp_path / "heron.html").read_text(encoding="utf-8")
    assert html.index("What next?") < html.index("For the biologist")
    assert all(f'href="#{target}"' in html for target in ("words-heading", "word-range"))
    pdf = pypdfium2.PdfDocument(tmp_path / "heron.pdf")
    for number, page in enumerate(pdf, start=1):
        full = fullness(page)
        assert full >= 2 / 3 or number == len(pdf), f"page {number} is filled to {full:.2f}"
        assert least_type(page) >= LEAST_TYPE - 0.3, f"page {number}"
    first = pdf[0].get_textpage().get_text_range()
    assert all(question in first.replace("\r\n", " ") for question in (HOW_MUCH, SIZES, SURE, NEXT))


def test_an_earlier_survey_is_named_and_the_one_at_the_lab_is_what_will_show_a_change(
    sqlite_session: Session,
) -> None:
    lake = add_lake(sqlite_session)
    earlier = add_survey(sqlite_session, lake, "HERON-2024", date(2024, 5, 14))
    add_typed(
        sqlite_session, earlier, [(9.0 + 0.5 * at, q) for at, q in enumerate((0.1, 0.2, 0.0, 0.3, 0.2, 0.6))]
    )
    at_the_lab(sqlite_session, lake)
    lake_now = gather_lake(sqlite_session, "HERON", stamp=Stamp(NOW, "Ada Test"))
    said = {line.question: line.text for line in owner_lines(lake_now)}
    assert said[HOW_MUCH].startswith("In 2024: ")
    assert said[CHANGING] == "One survey with results so far; the samples of 2026 will show it."
    # what came and is held is not still to come
    partly = replace(lake_now.progress, n_waiting=3, n_returned=7, n_held=2)
    (sure,) = (line for line in owner_lines(replace(lake_now, progress=partly)) if line.question == SURE)
    assert sure.text.endswith("1 more is still to come. 2 values are held until somebody decides.")
    held = replace(partly, n_waiting=2)
    (sure,) = (line for line in owner_lines(replace(lake_now, progress=held)) if line.question == SURE)
    assert "still to come" not in sure.text
    # the same fish may be planned with a wider interval than they show now: it is said why
    assert lake_now.next_plan is not None
    stock = next(one for one in lake_now.next_plan.classes if one.size_class == "stock")
    plan = replace(lake_now.next_plan, classes=(replace(stock, n_wanted=9, half_width=0.9),))
    told = next_blocks(replace(lake_now, next_plan=plan))[0]
    assert "it is larger than now for stock" in told["text"]
    same = replace(plan, classes=(replace(stock, n_wanted=9, half_width=next_rows(lake_now)[1].half_width),))
    assert "larger than now" not in next_blocks(replace(lake_now, next_plan=same))[0]["text"]
    assert "rounded outwards" in LEGEND


def test_one_fish_of_each_size_gives_the_weighted_mean_on_every_page_and_no_interval(
    sqlite_session: Session,
) -> None:
    survey = add_survey(sqlite_session, add_lake(sqlite_session))
    add_typed(sqlite_session, survey, [(6.5, 0.1), (9.0, 0.5), (13.0, 0.2), (16.0, 0.3), (21.0, 0.9)])
    add_fish(sqlite_session, survey, 6.5, n_fish=15)
    sqlite_session.commit()
    lake = gather_lake(sqlite_session, "HERON", stamp=Stamp(NOW, "Ada Test"))
    first, *others = answer(lake)
    assert first.startswith(
        "Heron Lake has 17.5 % Florida alleles, weighted to the sizes caught, from 5 fish of 9 April 2026 with a "
        "result, one of each size class, so that no interval can be given; "
    )
    assert owner_lines(lake)[0].text == "18 % of the bass ancestry is Florida (no range)."
    assert "where its sizes are those of which few were typed" in " ".join(others)


def test_the_size_that_has_most_is_one_with_enough_fish(sqlite_session: Session) -> None:
    """Northern fish of every size, Florida giants: nine fish of 20 in and over, and two greater ones, both Florida."""
    survey = add_survey(sqlite_session, add_lake(sqlite_session))
    add_typed(sqlite_session, survey, [(length, 0.0) for length in (9.0, 13.0, 16.0) for _ in range(12)])
    add_typed(sqlite_session, survey, [(21.0, 1.0)] * 6 + [(21.0, 0.0)] * 3 + [(26.0, 1.0)] * 2)
    for length, n in ((9.0, 90), (13.0, 60)):
        add_fish(sqlite_session, survey, length, n_fish=n)
    sqlite_session.commit()
    lines = owner_lines(gather_lake(sqlite_session, "HERON", stamp=Stamp(NOW, "Ada Test")))
    assert re.fullmatch(r"Most in bass of 20–25 in: 67 % \(\d+ to \d+ %\)\.", lines[1].text), lines[1].text
