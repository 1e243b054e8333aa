"""What stands beside the numbers of a lake report: intervals, definitions, doubts, how a p was found."""

from __future__ import annotations

import re
from datetime import date, datetime
from pathlib import Path
from typing import Any

import numpy as np
import openpyxl
import pytest
from conftest import Runner
from lakes_support import NOW, add_fish, add_lake, add_result, add_survey, add_vial
from report_support import reported_without_figures
from scipy import stats
from sqlalchemy.orm import Session
from statsmodels.stats.proportion import proportion_confint
from tests_support import database  # noqa: F401  (the words and files of a report: SQLite alone)

from geneticlog.rules.schemes import inch_groups
from geneticlog.store.tables import Finding

STOCK_WR = (95.0, 102.0, 88.0, 91.0, 99.0)


def reported(run: Runner, folder: Path) -> tuple[dict[str, Any], str]:
    document = reported_without_figures(run, folder)
    page = (folder / "heron.html").read_text()
    return document, re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page))


def test_each_number_has_its_interval_or_its_doubt_beside_it(
    run: Runner, session: Session, tmp_path: Path
) -> None:
    survey = add_survey(session, add_lake(session))
    vials = []
    for at, (length, q, h) in enumerate(
        [(9.0, 0.5, 1.0)] * 5 + [(13.0, 0.0, 0.0)] * 3 + [(16.0, 0.2, 0.3)] * 5
    ):
        fish = add_fish(session, survey, length)
        fish.relative_weight = STOCK_WR[at] if at < 5 else 97.0 if at == 5 else None
        vials.append(add_vial(session, fish))
        add_result(session, vials[-1], q, h, n_loci=6 if at == 12 else 38)
    for number, vial in ((7, vials[0]), (9, vials[3])):
        session.add(
            Finding(
                number=number,
                key=str(number),
                kind="genotypes_disagree",
                vial_id=vial.id,
                text="look",
                opened_at=NOW,
            )
        )
    session.commit()
    document, page = reported(run, tmp_path)
    answer = " ".join(document["summary"])
    assert "Of the 13 fish in the mean 2 are doubtful until F7 and F9 are decided." in answer
    assert "1 of the 13 fish was scored at under 12 loci." in answer
    # sizes of 5, 3 and 5 caught, all typed, the first all F1: limits within sizes, and the sampling of the catch
    p, w = 5 / 13, (5 / 13, 3 / 13, 5 / 13)
    limits = [proportion_confint(x, n, method="beta") for x, n in ((5, 5), (0, 3), (0, 5))]
    catch = stats.norm.ppf(0.975) ** 2 * p * (1 - p) / 13
    down = (w[0] * (1 - limits[0][0])) ** 2
    up = (w[1] * limits[1][1]) ** 2 + (w[2] * limits[2][1]) ** 2
    low, high = 100 * (p - (down + catch) ** 0.5), 100 * (p + (up + catch) ** 0.5)
    f1 = re.search(
        r"5 of 13 fish look like .*?, F1 \(weighted .* 38\S* % of the fish, .* interval (\S+) to (\S+) %\)",
        answer,
    )
    assert f1 is not None
    assert [float(end) for end in f1.groups()] == pytest.approx([low, high], abs=0.51)
    assert "Young is under 12 in, adult is 12 in and over" in answer

    told = document["surveys"][0]
    stock = next(row for row in told["classes"] if row["size_class"] == "stock")
    limits = stats.t.interval(0.95, 4, np.mean(STOCK_WR), stats.sem(STOCK_WR))
    assert (stock["relative_weight_low"], stock["relative_weight_high"]) == pytest.approx(limits)
    assert f"{np.mean(STOCK_WR):.1f} ({limits[0]:.1f} to {limits[1]:.1f}; n 5)" in page
    assert "97.0 (n 1: too few)" in page
    assert re.search(r"0 of 3 \(0\S* to 56\S* %\)", page)  # carriers of a class, with their interval

    assert told["trend"]["expected"] == (5 * 3 + 5 * 5 + 3 * 5) / 2  # half of all pairs of two classes
    assert f"J {told['trend']['statistic']:g}, 27.5 if none; q is higher in smaller fish" in page
    assert told["trend"]["method"] == "exact"
    assert "of the trend exact, over all arrangements of the fish" in page
    assert "a class counts as one parameter, free q and H as two" in page
    assert "a class counts as one parameter" in run("report", "fish", "HERON-2026").stdout


def test_lengths_are_shown_as_measured_and_many_thin_classes_are_counted(
    run: Runner, session: Session, tmp_path: Path
) -> None:
    lake = add_lake(session)
    survey = add_survey(session, lake, scheme=inch_groups("largemouth_bass", 6, 20, 1).to_json())
    metric = 299.9
    for length in (8.99, 8.75, 10.25, 12.125, 14.0):
        add_result(session, add_vial(session, add_fish(session, survey, length)), 0.25, 0.5)
    fish = add_fish(session, survey, metric / 25.4)
    fish.length, fish.length_unit = metric, "mm"
    add_result(session, add_vial(session, fish), 0.5, 1.0, n_loci=None)
    add_survey(session, lake, "HERON-2027", date(2027, 4, 9))
    session.commit()
    said = run("report", "fish", "HERON-2026").stdout
    document, page = reported(run, tmp_path)
    for shown in ("8.99", "8.75", "10.25", "12.125", "14", "299.9 mm"):
        assert re.search(rf"(^|\s){re.escape(shown)}\s", said, re.MULTILINE), shown
        assert re.search(rf"\s{re.escape(shown)}\s", page), shown
    assert "9.0 " not in said
    assert max(map(len, said.splitlines()[:20])) <= 80

    answer = " ".join(document["summary"])
    assert "in 5 of the 5 size classes caught" in answer
    note = "The latest survey, HERON-2027 of 9 April 2027, has no fish with a result; this report is about HERON-2026."
    assert document["note"] == note
    assert note in page
    first_lines = run("report", "lake", "HERON", "--out", tmp_path, "--replace").stdout
    assert note in first_lines
    assert "rounded outwards" in first_lines

    html = (tmp_path / "heron.html").read_text()
    assert all(
        "\u00a0%" in said and " %" not in said
        for said in re.findall(r'<p class="answer">([^<]*%[^<]*)', html)
    )

    tested = "Where the loci of a fish are not stated, the least number of loci is not tested."
    assert document["rule_set_sentence"].endswith(tested)
    assert tested in " ".join(said.split())
    assert (
        "1 of the 6 fish: loci not stated, so their class was not tested against the least number, 12 loci."
        in page
    )
    assert "loci not stated" in page.split("Fish of survey HERON-2026")[1]

    intervals = re.findall(r"([\d.]+|under 0.1) to ([\d.]+|over 99.9) %", answer)
    assert intervals
    assert all(re.fullmatch(r"\d+\.\d|under 0.1|over 99.9", end) for pair in intervals for end in pair)

    book = openpyxl.load_workbook(tmp_path / "heron.xlsx")
    heading, *rows = book["surveys"].iter_rows(values_only=True)
    on = [dict(zip(heading, row, strict=True))["surveyed_on"] for row in rows]
    assert all(isinstance(one, datetime) for one in on)
    assert [f"{one:%Y-%m-%d}" for one in on] == ["2026-04-09", "2027-04-09"]
    heading, *rows = book["next"].iter_rows(values_only=True)
    borrowed = [dict(zip(heading, row, strict=True)) for row in rows]
    assert {type(row["spread_is_borrowed"]) for row in borrowed} <= {bool, type(None)}
    assert all(row["spread_is_borrowed"] is None for row in borrowed if row["spread"] is None)
