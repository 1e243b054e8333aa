"""The first page of a report and its sentences for the biologist say one thing, with one number."""

from __future__ import annotations

import json
import re
from datetime import date
from pathlib import Path

from conftest import Runner
from lakes_support import add_catch, add_lake, add_panel, add_survey
from report_support import reported_without_figures
from sqlalchemy.orm import Session

YOUNG, ADULT = 9.5, 13.0
NO_TAXON, ALL = [0], [76]


def test_the_first_page_says_what_the_sentences_say(
    run_on_sqlite: Runner, sqlite_session: Session, tmp_path: Path
) -> None:
    session = sqlite_session
    panel = add_panel(session)
    lakes = {
        # half of ten young fish are Florida, all eight adults: clear alone, not after Holm over the tests of size
        "TWO": {2026: {YOUNG: (40, ALL * 5 + NO_TAXON * 5), ADULT: (30, ALL * 8)}},
        "F1": {2023: {YOUNG: (60, [38] * 10), ADULT: (30, [38] * 10)},
               2026: {YOUNG: (60, [38] * 12), ADULT: (30, [38] * 12)}},
        "YOUNG": {2026: {YOUNG: (50, [20, 22, 18, 25, 30, 12])}},
        # two misread alleles more in the young: ranks show it, and misreading alone explains it
        "NORTH": {2026: {YOUNG: (60, [1, 0, 2, 1, 0, 1, 1, 2, 0, 1, 1, 1, 0, 1, 2]), ADULT: (30, [0] * 13 + [1, 1])}},
    }  # fmt: skip
    for code, years in lakes.items():
        lake = add_lake(session, code, code.title())
        for year, catch in years.items():
            survey = add_survey(session, lake, f"{code}-{year}", date(year, 4, 9))
            add_catch(session, survey, catch, panel)
    told = {code: json.loads(run_on_sqlite("report", "lake", code, "--json").stdout) for code in lakes}
    line = {code: document["answer"] for code, document in told.items()}
    summary = {code: " ".join(document["summary"]) for code, document in told.items()}

    contrast = told["TWO"]["surveys"][-1]["young_minus_adult"]
    assert contrast["high"] < 0
    assert contrast["p"] < 0.05 <= contrast["p_holm"]
    assert "Young fish may carry 50.0 points fewer" in summary["TWO"]
    assert "may carry 50 points less than adults" in line["TWO"][1]
    assert "it may be chance" in line["TWO"][1]

    contrast = told["F1"]["surveys"][-1]["young_minus_adult"]
    assert 0.01 < contrast["high"] < 0.02  # never printed narrower than it is
    assert "alike, within 2 points" in line["F1"][1]
    assert "No adult bass was read" in line["YOUNG"][1]
    for code in lakes:
        missed = line[code][3].split("a kind making up ")[1].split(" of the bass")[0]
        assert f"makes up as much as {missed} of the catch" in summary[code]

    # the history leads with the mean of the catch, the number that speaks for the lake everywhere else
    reported_without_figures(run_on_sqlite, tmp_path, "F1")
    page = (tmp_path / "f1.html").read_text()
    table = page[page.index("All surveys") :]
    headings = re.findall(r"<th[^>]*>(.*?)</th>", table[: table.index("</table>")], re.S)
    assert [heading.replace("<br>", " ").replace("\n", " ") for heading in headings[5:8]] == [
        "mean q of the catch", "95 % interval", "covers",
    ]  # fmt: skip
    weighted = told["F1"]["surveys"][-1]["catch_weighted"]
    assert f"{weighted['mean']:.3f}" in table[: table.index("</table>")]

    assert told["NORTH"]["surveys"][-1]["misreading"]["explains_alone"]
    assert told["NORTH"]["surveys"][-1]["trend"]["p_holm"] < 0.05
    assert "tend to carry" not in summary["NORTH"]
    assert "do not show whether it changes with size, as misread alleles alone explain" in summary["NORTH"]
    assert "carry" not in line["NORTH"][1]
