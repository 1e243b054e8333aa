"""The loci part of the lake report: counts, tests, and which locus is a matter for the lab."""

from __future__ import annotations

import json
import re
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
import scipy.special
import scipy.stats
from conftest import Runner
from lakes_support import add_fish, add_lake, add_panel, add_result, add_survey, add_vial
from report_support import page_without_figures, reported_without_figures, words
from sqlalchemy.orm import Session
from statsmodels.stats.multitest import multipletests
from tests_support import database  # noqa: F401  (the words and files of a report: SQLite alone)

from geneticlog.rules.genetics.broods import brood_sign
from geneticlog.store.tables import Genotype, Panel, Survey

L = 20


def add_genotyped(session: Session, survey: Survey, table: np.ndarray, panel: Panel | None = None) -> None:
    """Add a fish of stock length for each row of alleles (fish, loci); -1 is no call."""
    for row in table:
        called = row[row >= 0]
        vial = add_vial(session, add_fish(session, survey, 10.5))
        result = add_result(
            session, vial, float(called.mean() / 2), float((called == 1).mean()), len(called), panel
        )
        session.add_all(
            Genotype(result_id=result.id, marker=f"M{at + 1:02}", n_alleles=None if one < 0 else int(one))
            for at, one in enumerate(row)
        )
    session.commit()


def swarm(n: int, p: float = 0.3, seed: int = 5) -> np.ndarray:
    return np.random.default_rng(seed).binomial(2, p, (n, L))


def reported(run: Runner) -> tuple[dict[str, Any], str]:
    """The last survey of the document, and the words of the page."""
    document = json.loads(run("report", "lake", "HERON", "--json").stdout)
    return document["surveys"][-1], page_without_figures(run)


def written(run: Runner, tmp_path: Path) -> tuple[dict[str, Any], str]:
    """As `reported`, from the files in the folder."""
    document = reported_without_figures(run, tmp_path)
    return document["surveys"][-1], words((tmp_path / "heron.html").read_text())


def exact_p(counts: list[int]) -> float:
    """The exact test by listing every way to pair the alleles' heterozygotes, with scipy's logarithms."""
    aa, ab, _ = counts
    n, a = sum(counts), 2 * aa + ab
    log = scipy.special.gammaln
    ways = {
        h: h * np.log(2) - log((a - h) / 2 + 1) - log(h + 1) - log((2 * n - a - h) / 2 + 1)
        for h in range(a % 2, min(a, 2 * n - a) + 1, 2)
    }
    chances = {h: np.exp(value - scipy.special.logsumexp(list(ways.values()))) for h, value in ways.items()}
    return float(sum(chance for chance in chances.values() if chance <= chances[ab] * (1 + 1e-9)))


def test_counts_call_rates_and_tests_of_every_locus(run: Runner, session: Session, tmp_path: Path) -> None:
    table = swarm(40)
    table[:4, 2] = -1
    table[:, 7] = 0
    add_genotyped(session, add_survey(session, add_lake(session)), table, add_panel(session))
    told, _ = written(run, tmp_path)
    loci = {one["marker"]: one for one in told["loci"]["loci"]}
    assert (told["loci"]["n_loci"], told["loci"]["n_tested"]) == (L, L - 1)
    p = []
    for at in range(L):
        counts = [int((table[:, at] == k).sum()) for k in (0, 1, 2)]
        one = loci[f"M{at + 1:02}"]
        assert [one["n_none"], one["n_one"], one["n_two"]] == counts
        assert one["call_rate"] == pytest.approx(sum(counts) / 40)
        if at != 7:
            p.append((one["p"], one["p_holm"]))
            assert one["p"] == pytest.approx(exact_p(counts), abs=1e-9)
            n, share = sum(counts), (counts[1] + 2 * counts[2]) / 2 / sum(counts)
            assert one["fis"] == pytest.approx(
                1 - counts[1] / n / (2 * n / (2 * n - 1) * 2 * share * (1 - share))
            )
    assert [after for _, after in p] == pytest.approx(
        list(multipletests([one for one, _ in p], method="holm")[1])
    )
    assert (loci["M03"]["n_called"], loci["M03"]["n_no_call"]) == (36, 4)
    assert (loci["M08"]["fis"], loci["M08"]["p"], loci["M08"]["p_holm"]) == (None, None, None)
    sheet = pd.read_csv(tmp_path / "heron_loci.csv")
    assert list(sheet["n_fish_1_allele"]) == [int((table[:, at] == 1).sum()) for at in range(L)]
    assert "loci" in pd.read_excel(tmp_path / "heron.xlsx", sheet_name=None, engine="openpyxl")


def test_one_locus_out_of_step_is_named_and_left_to_the_lab(run: Runner, session: Session) -> None:
    table = swarm(40)
    table[table[:, 4] == 1, 4] = 0  # a silent allele: heterozygous fish read as of one kind
    table[:20, 4] = 2
    add_genotyped(session, add_survey(session, add_lake(session)), table)
    told, page = reported(run)
    assert told["loci"]["out_of_step"] == ["M05"]
    assert told["loci"]["n_departing"] == 1
    assert "Out of step with the other loci, and by itself: M05. That is a matter for the lab" in page
    assert "describes the lake" not in page


def test_some_loci_that_depart_the_way_all_loci_go_describe_the_lake(run: Runner, session: Session) -> None:
    random = np.random.default_rng(4)
    ancestry = random.beta(0.5, 1, 45)  # invented: two kinds and fish between them
    table = random.binomial(2, np.repeat(ancestry[:, None], L, axis=1))
    add_genotyped(session, add_survey(session, add_lake(session)), table)
    told, page = reported(run)
    assert 0 < told["loci"]["n_departing"] < 0.8 * L
    assert told["loci"]["out_of_step"] == []
    assert "They go the way that nearly all loci go, so they describe the lake" in page
    assert "matter for the lab" not in page


def test_departure_at_nearly_all_loci_describes_the_lake(run: Runner, session: Session) -> None:
    pure = np.vstack([np.zeros((30, L), int), np.full((30, L), 2)])
    pure[::9, ::3] = 1
    add_genotyped(session, add_survey(session, add_lake(session)), pure)
    told, page = reported(run)
    assert told["loci"]["n_departing"] == told["loci"]["n_too_few"] == L
    assert told["loci"]["out_of_step"] == []
    assert "Departure at nearly all loci describes the lake, not the lab" in page
    assert "No single locus is out of step" in page


def test_a_lot_of_first_crosses_has_too_many_heterozygous_fish(run: Runner, session: Session) -> None:
    add_genotyped(session, add_survey(session, add_lake(session)), np.ones((20, L), int))
    told, page = reported(run)
    assert told["loci"]["n_too_many"] == L
    assert "first-generation crosses or near to them" in page


def test_without_genotypes_nothing_is_said(run: Runner, session: Session, tmp_path: Path) -> None:
    survey = add_survey(session, add_lake(session))
    add_result(session, add_vial(session, add_fish(session, survey, 10.5)), 0.3, 0.2)
    session.commit()
    told, page = written(run, tmp_path)
    assert told["loci"] is None
    assert "Loci furthest" not in page
    assert "genotypes of single loci" not in page
    assert not (tmp_path / "heron_loci.csv").exists()


def test_a_survey_without_genotypes_beside_one_with_says_so_in_a_sentence(
    run: Runner, session: Session, tmp_path: Path
) -> None:
    lake = add_lake(session)
    add_genotyped(session, add_survey(session, lake, "HERON-2020", date(2020, 4, 9)), swarm(12))
    survey = add_survey(session, lake)
    for _ in range(5):  # enough fish for the report to turn on this survey
        add_result(session, add_vial(session, add_fish(session, survey, 10.5)), 0.3, 0.2)
    session.commit()
    told, page = written(run, tmp_path)
    assert told["loci"] is None
    assert "The lab gave no genotypes of single loci for this survey." in page
    assert set(pd.read_csv(tmp_path / "heron_loci.csv")["survey"]) == {"HERON-2020"}


@pytest.mark.parametrize(
    ("table", "words"),
    [
        (np.zeros((5, L), int), "With one allele alone at every locus there is nothing to test."),
        (np.ones((1, L), int), "under 30 fish a locus; a departure may stay unseen"),
        (np.ones((3, 4), int), "under 10 loci; under 30 fish a locus"),
    ],
    ids=["one allele", "one fish", "few loci"],
)
def test_loci_that_tell_little_say_so(run: Runner, session: Session, table: np.ndarray, words: str) -> None:
    add_genotyped(session, add_survey(session, add_lake(session)), table)
    _, page = reported(run)
    assert words in page


def test_a_rejected_result_is_in_no_count(run: Runner, session: Session) -> None:
    survey = add_survey(session, add_lake(session))
    add_genotyped(session, survey, swarm(12))
    vial = add_vial(session, add_fish(session, survey, 10.5))
    rejected = add_result(session, vial, 0.5, 1.0, L, standing="rejected")
    session.add_all(Genotype(result_id=rejected.id, marker=f"M{at + 1:02}", n_alleles=1) for at in range(L))
    session.commit()
    told, _ = reported(run)
    assert {one["n_called"] for one in told["loci"]["loci"]} == {12}


def test_fish_of_few_broods_are_warned_of_and_what_cannot_be_looked_for_is_said(
    run_on_sqlite: Runner, sqlite_session: Session
) -> None:
    session, random = sqlite_session, np.random.default_rng(4)
    parents = [random.binomial(2, 0.3, (2, 38)) for _ in range(3)]

    def gamete(parent: np.ndarray) -> np.ndarray:
        return np.where(parent == 1, random.integers(0, 2, parent.shape), parent // 2)

    of_broods = np.array([gamete(parents[at % 3][0]) + gamete(parents[at % 3][1]) for at in range(30)])
    lake, panel = add_lake(session), add_panel(session)
    add_genotyped(session, add_survey(session, lake, "HERON-2024", date(2024, 4, 9)), swarm(30), panel)
    add_genotyped(session, add_survey(session, lake), of_broods, panel)
    survey, page = reported(run_on_sqlite)
    told = survey["broods"]
    assert (told["of"], told["n_fish"], told["guard"], told["found"]) == ("young", 30, "", True)
    assert 3 <= told["at_most"] <= 18
    assert (told["effective_number"], told["low"], told["high"]) == (None, None, None)  # no trial holds them
    most = (
        f"are of few broods (p 0.005; in effect no more than about {told['at_most']:.0f}, perhaps far fewer)"
    )
    assert f"By their genotypes the young fish {most}" in page
    assert f"The 30 young fish with genotypes {most}" in page
    assert "The young are of few parents, so the ranges here are too narrow." in page
    assert "at most 1 lake in 20 without broods" in page
    assert re.search("too few loci vary|No sign of broods", page) is None
    # twenty loci of another survey vary too little to look
    (other,) = [
        one for one in json.loads(run_on_sqlite("report", "lake", "HERON", "--json").stdout)["surveys"]
        if one["survey"] == "HERON-2024"
    ]  # fmt: skip
    assert (other["broods"]["guard"], other["broods"]["found"]) == ("under 20 loci vary", False)


def test_broods_that_are_found_are_warned_of_whatever_their_number(
    run_on_sqlite: Runner, sqlite_session: Session
) -> None:
    """Four broods of F1 with F2: the rough number is several times too great."""
    session, random = sqlite_session, np.random.default_rng(12)

    def gamete(parent: np.ndarray) -> np.ndarray:
        return np.where(parent == 1, random.integers(0, 2, parent.shape), parent // 2)

    f1 = np.ones(38, int)
    fathers = random.binomial(2, 0.5, (4, 38))
    fish = np.array([gamete(f1) + gamete(fathers[at % 4]) for at in range(60)])
    assert brood_sign(fish).n_broods > 10  # type: ignore[operator]
    add_genotyped(session, add_survey(session, add_lake(session)), fish, add_panel(session))
    survey, page = reported(run_on_sqlite)
    assert survey["broods"]["found"]
    assert "By their genotypes the young fish are of few broods (p 0.005" in page
    assert "The young are of few parents, so the ranges here are too narrow." in page
