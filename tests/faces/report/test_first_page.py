"""The first page: five fixed questions, few words, few numbers, none that needs explaining; and a page that is full."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import UTC, date, datetime
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from lakes_support import NOW, add_fish, add_lake, add_result, add_stocking, add_survey, add_typed, add_vial
from sqlalchemy.orm import Session

from geneticlog.faces.figures.style import LEAST_TYPE
from geneticlog.faces.report.answer_sentences import answer
from geneticlog.faces.report.files import write_lake
from geneticlog.faces.report.owner import CHANGING, HOW_MUCH, NEXT, SIZES, SURE, owner_lines, points_between
from geneticlog.rules.stamp import Stamp
from geneticlog.store.tables import Lab, Lake, Shipment, ShipmentPosition, Vial
from geneticlog.work.report.gather import gather_lake

MOST_WORDS, MOST_NUMBERS = 100, 26
# terms of the trade and of statistics that an owner would have to ask about, and what reads twice
NEEDS_EXPLAINING = re.compile(
    r"\bp\b|\bq\b|\bH\b|Holm|weight|interval|confiden|allele|\bloc[iu]|heterozyg|intergrade|\bF1\b|carrier|introgress"
    r"|statistic|significan|panel|genotyp|deviation|variance|percentile|substock|hypothes|cannot be told"
    r"|\bnot [^.]* not\b",
    re.IGNORECASE,
)
YOUNG = [0.0, 0.03, 0.05, 0.5, 0.5, 0.1, 0.0, 0.08]
ADULT = [0.0, 0.02, 0.0, 0.06, 0.04, 0.0, 0.03, 0.01]


def two_surveys(session: Session, lake: Lake) -> None:
    for year, more in ((2024, 0.0), (2026, 0.35)):
        survey = add_survey(session, lake, f"HERON-{year}", date(year, 4, 9))
        add_typed(
            session, survey, [(6.5, min(q + more, 1), 0.4) for q in YOUNG] + [(13.0, q, q) for q in ADULT]
        )
    add_stocking(session, lake, date(2025, 5, 1), 5000)


def three_surveys(session: Session, lake: Lake) -> None:
    two_surveys(session, lake)
    survey = add_survey(session, lake, "HERON-2022", date(2022, 4, 9))
    add_typed(session, survey, [(6.5, q, 0.4) for q in YOUNG] + [(13.0, q, q) for q in ADULT])


def near_pure(session: Session, lake: Lake) -> None:
    survey = add_survey(session, lake)
    add_typed(session, survey, [(6.5, 0.0, 0.0)] * 12 + [(13.0, 0.0, 0.0)] * 11 + [(13.0, 0.02, 0.04)])


def millimetres(session: Session, lake: Lake) -> None:
    survey = add_survey(session, lake, length_unit="mm", weight_unit="g")
    add_typed(session, survey, [(165, q, 0.4) for q in YOUNG] + [(330, q, q) for q in ADULT])


def without_lengths(session: Session, lake: Lake) -> None:
    add_typed(session, add_survey(session, lake), [(None, q, 0.4) for q in YOUNG])


def four_fish(session: Session, lake: Lake) -> None:
    add_typed(session, add_survey(session, lake), [(13.0, q) for q in (0.1, 0.2, 0.0, 0.3)])


def never_swabbed(session: Session, lake: Lake) -> None:
    add_fish(session, add_survey(session, lake), 13.0)


def no_survey(session: Session, lake: Lake) -> None:
    """Nothing at all."""


def not_sent(session: Session, lake: Lake) -> None:
    survey = add_survey(session, lake)
    for _ in range(3):
        add_vial(session, add_fish(session, survey, 13.0))


def at_the_lab(session: Session, lake: Lake) -> list[Vial]:
    survey = add_survey(session, lake)
    lab = Lab(code="QUILL", name="Quillback (invented)")
    session.add(lab)
    session.flush()
    shipment = Shipment(code="SH-1", lab_id=lab.id, standing="sent", sent_at=datetime(2026, 5, 2, tzinfo=UTC),
                        packed_at=NOW, packed_by="Ada Test", container="loose")  # fmt: skip
    session.add(shipment)
    session.flush()
    vials = [add_vial(session, add_fish(session, survey, 13.0)) for _ in range(3)]
    for place, vial in enumerate(vials, start=1):
        session.add(ShipmentPosition(shipment_id=shipment.id, vial_id=vial.id, position=str(place)))
    return vials


def all_failed(session: Session, lake: Lake) -> None:
    for vial in at_the_lab(session, lake):
        add_result(session, vial, None)


SITUATIONS: dict[Callable[[Session, Lake], object], tuple[str, str]] = {
    # situation: what its first line says, what its last says
    two_surveys: (r"^\d+ % of the bass ancestry is Florida \(\d+ to \d+ %\)\.$", "Swab .* next spring"),
    three_surveys: (r"^\d+ % of the bass ancestry", "Swab .* next spring"),
    near_pure: (r"^Under 1 % of the bass ancestry|^No Florida ancestry", "Swab"),
    millimetres: (r"^\d+ % of the bass ancestry", "Swab"),
    without_lengths: (r"Florida ancestry in the fish swabbed", "Swab|Plan"),
    four_fish: (r"^Unknown: too few to read \(4 fish were read; it takes 5\)\.$", "Swab"),
    never_swabbed: (r"^Unknown: never swabbed\.$", "Swab for the first time"),
    no_survey: (r"^Unknown: never swabbed\.$", "Swab for the first time"),
    all_failed: (r"^Unknown: all 3 samples failed\.$", "Swab again"),
    not_sent: (r"^Unknown: swabbed, not sent\.$", "Send the samples to the lab"),
    at_the_lab: (r"^Unknown: 3 samples at the lab since 2 May 2026\.$", "Wait for the lab"),
}


@pytest.mark.parametrize("situation", SITUATIONS, ids=lambda one: one.__name__)
def test_five_questions_in_few_plain_words(
    situation: Callable[[Session, Lake], object], sqlite_session: Session
) -> None:
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
    ],
)
def test_a_range_is_never_printed_narrower_than_it_is(low: float, high: float, said: str) -> None:
    assert points_between(low, high) == said


def test_a_report_is_light_full_and_legible(sqlite_session: Session, tmp_path: Path) -> None:
    three_surveys(sqlite_session, add_lake(sqlite_session))
    sqlite_session.commit()
    facts = gather_lake(sqlite_session, "HERON", stamp=Stamp(NOW, "Ada Test"))
    write_lake(tmp_path, facts, paper="us-letter")
    assert (tmp_path / "heron.html").stat().st_size < 300_000
    html = (tmp_path / "heron.html").read_text(encoding="utf-8")
    assert html.index("What next?") < html.index("For the biologist")
    assert all(f'href="#{target}"' in html for target in ("words-heading", "word-range"))
    pdf = pypdfium2.PdfDocument(tmp_path / "heron.pdf")
    for number, page in enumerate(pdf, start=1):
        grey = np.asarray(page.render(scale=0.5, grayscale=True).to_numpy()).squeeze()
        body = grey[: int(grey.shape[0] * 0.93)]  # without the foot
        filled = np.flatnonzero((body < 200).any(axis=1)).max() / body.shape[0]
        assert filled >= 2 / 3 or number == len(pdf), f"page {number} is filled to {filled:.2f}"
        text = page.get_textpage()
        sizes = [_size_of(text, at) for at in range(0, text.count_chars(), 7)]
        assert min(size for size in sizes if size) >= LEAST_TYPE - 0.3, f"page {number}"
    first = pdf[0].get_textpage().get_text_range()
    assert all(question in first.replace("\r\n", " ") for question in (HOW_MUCH, SIZES, SURE, NEXT))


def _size_of(text: pypdfium2.PdfTextPage, at: int) -> float:
    """Return the type size of a letter in points, upright or turned: the box of its line is as high as that,
    a few hundredths less in this typeface."""
    left, bottom, right, top = text.get_charbox(at, loose=True)
    return float(max(right - left, top - bottom))
