"""Lakes with nothing to average, nothing that varies or nothing to compare: a value and a word, never a NaN."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import openpyxl
import pypdfium2
import pytest
from conftest import Runner
from lakes_support import add_fish, add_lake, add_panel, add_result, add_survey, add_typed, add_vial
from sqlalchemy.orm import Session

from geneticlog.rules.schemes import inch_groups, two_groups
from geneticlog.store.tables import Genotype

NOT_A_NUMBER = re.compile(r"(?<![A-Za-z])[-+−]?(?:nan|inf|infinity)(?![A-Za-z])", re.IGNORECASE)
Typed = list[tuple[float | None, float, float | None]]


def typed(*fish: tuple[float | None, float, float | None], n: int = 1) -> Callable[[Session], None]:
    def fill(session: Session) -> None:
        add_typed(session, add_survey(session, add_lake(session)), list(fish) * n, panel=add_panel(session))

    return fill


def one_carrier(session: Session) -> None:
    fish: Typed = [*[(10.5, 0.0, 0.0), (13.0, 0.0, 0.0)] * 8, (13.0, 0.5, 1.0)]
    add_typed(session, add_survey(session, add_lake(session)), fish)


def no_fish(session: Session) -> None:
    add_survey(session, add_lake(session))


def caught_not_swabbed(session: Session) -> None:
    survey = add_survey(session, add_lake(session))
    add_fish(session, survey, 10.5)
    add_fish(session, survey, 13.0)


def all_tallies(session: Session) -> None:
    survey = add_survey(session, add_lake(session))
    for length, n in ((6.0, 40), (10.0, 25), (26.0, 1)):
        add_fish(session, survey, length, n_fish=n)


def all_failed(session: Session) -> None:
    survey = add_survey(session, add_lake(session))
    for length in (10.5, 13.0):
        add_result(session, add_vial(session, add_fish(session, survey, length)), None, failure="ND")


def pure_apart(session: Session) -> None:
    lake = add_lake(session)
    for year, q in ((2022, 0.0), (2024, 1.0), (2026, 0.0)):
        survey = add_survey(session, lake, f"HERON-{year}", date(year, 4, 9))
        add_typed(session, survey, [(10.5, q, 0.0), (13.0, q, 0.0)] * 4)


def one_fish_then_none(session: Session) -> None:
    lake = add_lake(session)
    add_typed(session, add_survey(session, lake, "HERON-2024", date(2024, 4, 9)), [(10.5, 0.4, 0.2)])
    add_survey(session, lake)


def one_fish_twice(session: Session) -> None:
    lake = add_lake(session)
    for year in (2024, 2026):
        survey = add_survey(session, lake, f"HERON-{year}", date(year, 4, 9))
        add_typed(session, survey, [(10.5, 0.4, 0.2)])


def without_loci(session: Session) -> None:
    survey = add_survey(session, add_lake(session))
    add_typed(session, survey, [(10.5, 0.4, None), (13.0, 0.6, None), (13.0, 0.6, None)], n_loci=None)


def one_class_scheme(session: Session) -> None:
    scheme = two_groups("largemouth_bass", 12, "in").to_json()
    add_typed(session, add_survey(session, add_lake(session), scheme=scheme), [(13.0, 0.2, 0.1)] * 6)


def inch_scheme_one_fish_each(session: Session) -> None:
    scheme = inch_groups("largemouth_bass", 6, 20).to_json()
    fish = [(float(inch) + 0.5, inch / 20, 0.0) for inch in range(6, 20)]
    add_typed(session, add_survey(session, add_lake(session), scheme=scheme), fish)


def weighed_alike(session: Session) -> None:
    survey = add_survey(session, add_lake(session))
    for q in (0.1, 0.2, 0.3, 0.4, 0.5, 0.6):
        add_result(session, add_vial(session, add_fish(session, survey, 10.5, weight_g=250)), q, 0.1)


def genotyped_alike(session: Session) -> None:
    survey = add_survey(session, add_lake(session))
    for n_alleles in (0, 0, None):
        vial = add_vial(session, add_fish(session, survey, 10.5))
        result = add_result(session, vial, 0.0, 0.0, 3)
        session.add_all(
            Genotype(result_id=result.id, marker=f"M{at}", n_alleles=n_alleles) for at in range(3)
        )


def of_another_species(session: Session) -> None:
    survey = add_survey(session, add_lake(session))
    add_fish(session, survey, 6.0, species="bluegill")


LAKES: dict[str, tuple[Callable[[Session], None], str]] = {
    "no fish": (no_fish, "no fish"),
    "caught, not swabbed": (caught_not_swabbed, "no fish"),
    "all tallies": (all_tallies, "no fish"),
    "all failed": (all_failed, "no fish"),
    "of another species": (of_another_species, "no fish"),
    "one fish": (typed((10.5, 0.4, 0.2)), "one fish"),
    "one fish, all northern": (typed((10.5, 0.0, 0.0)), "one fish"),
    "one fish without a length": (typed((None, 1.0, 0.0)), "one fish"),
    "two fish": (typed((10.5, 0.4, 0.2), (13.0, 0.6, 0.3)), "too few to read; wide"),
    "all northern": (typed((10.5, 0.0, 0.0), (13.0, 0.0, 0.0), n=6), ""),
    "all Florida": (typed((10.5, 1.0, 0.0), (13.0, 1.0, 0.0), n=6), ""),
    "all F1": (typed((10.5, 0.5, 1.0), (13.0, 0.5, 1.0), n=6), ""),
    "all alike, of one length": (typed((10.5, 0.6, 0.0), n=12), ""),
    "one carrier": (one_carrier, ""),
    "no length at all": (typed((None, 0.2, 0.1), (None, 0.4, 0.1), n=4), ""),
    "all of one class": (one_class_scheme, ""),
    "a fish a class": (inch_scheme_one_fish_each, ""),
    "weighed alike": (weighed_alike, "wide"),
    "without loci": (without_loci, "too few to read; wide"),
    "genotyped alike": (genotyped_alike, "too few to read; wide"),
    "pure and pure again": (pure_apart, "wide"),
    "one fish, then none": (one_fish_then_none, "one fish"),
    "one fish, twice": (one_fish_twice, "one fish"),
}


def refuse(word: str) -> Any:
    raise AssertionError(f"{word} in the JSON")


def numbers_in(value: Any) -> list[float]:
    if isinstance(value, dict):
        return [one for each in value.values() for one in numbers_in(each)]
    if isinstance(value, list):
        return [one for each in value for one in numbers_in(each)]
    return [value] if isinstance(value, float) else []


@pytest.mark.parametrize("lake", LAKES)
def test_a_lake_with_little_to_say_says_it(
    lake: str, run_on_sqlite: Runner, sqlite_session: Session, tmp_path: Path
) -> None:
    fill, guard = LAKES[lake]
    fill(sqlite_session)
    sqlite_session.commit()
    text = run_on_sqlite("report", "lake", "HERON", "--out", tmp_path, "--json").stdout
    document = json.loads(text, parse_constant=refuse)
    assert all(math.isfinite(one) for one in numbers_in(document))
    main = next(one for one in document["surveys"] if one["survey"] == document["main_survey"])
    assert main["swabbed"]["guard"] == guard
    if main["n_resulted"]:
        assert main["swabbed"]["mean"] is not None
    if main["n_resulted"] > 1:
        assert main["swabbed"]["low"] <= main["swabbed"]["mean"] <= main["swabbed"]["high"]
    else:
        assert main["swabbed"]["low"] is None
    for row in (main["rank_on_length"], main["trend"], main["young_minus_adult"]):
        assert (row["p"] is None) == (row["p_holm"] is None)
        assert row["p"] is None or 0 <= row["p"] <= row["p_holm"] <= 1
    assert document["summary"]
    for path in tmp_path.glob("*.csv"):
        assert not NOT_A_NUMBER.search(path.read_text()), path.name
    book = openpyxl.load_workbook(tmp_path / "heron.xlsx", data_only=True)
    cells = [str(cell) for sheet in book for row in sheet.iter_rows(values_only=True) for cell in row]
    assert not [cell for cell in cells if NOT_A_NUMBER.fullmatch(cell) or cell.startswith("#")]
    page = re.sub(r"<style.*?</style>|<[^>]+>", " ", (tmp_path / "heron.html").read_text(), flags=re.DOTALL)
    assert not NOT_A_NUMBER.search(page)
    paper = "".join(
        one.get_textpage().get_text_bounded() for one in pypdfium2.PdfDocument(tmp_path / "heron.pdf")
    )
    assert not NOT_A_NUMBER.search(paper)


@pytest.mark.parametrize("lake", LAKES)
def test_it_stands_in_the_portfolio_too(
    lake: str, run_on_sqlite: Runner, sqlite_session: Session, tmp_path: Path
) -> None:
    LAKES[lake][0](sqlite_session)
    add_lake(sqlite_session, "NEVER", "Never surveyed")
    sqlite_session.commit()
    text = run_on_sqlite("report", "lakes", "--out", tmp_path, "--json").stdout
    document = json.loads(text, parse_constant=refuse)
    assert {one["lake"] for one in document["lakes"]} == {"HERON", "NEVER"}
    assert not NOT_A_NUMBER.search((tmp_path / "lakes.csv").read_text())
    page = re.sub(
        r"<(style|script).*?</\1>|<[^>]+>", " ", (tmp_path / "lakes.html").read_text(), flags=re.DOTALL
    )
    assert not NOT_A_NUMBER.search(page)


def test_a_lake_without_a_survey_is_told_in_json_and_refused_a_report(
    run: Runner, session: Session, tmp_path: Path
) -> None:
    add_lake(session)
    session.commit()
    document = json.loads(run("report", "lake", "HERON", "--json").stdout, parse_constant=refuse)
    assert (document["surveys"], document["main_survey"], document["changes"]) == ([], None, [])
    assert document["summary"] == ["Heron Lake has no survey yet, so there is nothing to say about its fish."]
    assert "has no survey yet" in run("report", "lake", "HERON", "--out", tmp_path / "out", fails=3).stderr
