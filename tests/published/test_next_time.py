"""The fish that the report asks for next time: those that the report's own interval needs, and the same as `plan`.

Checked against the guarded Korn-Graubard formula written out with scipy (Korn EL, Graubard BI (1998) Survey
Methodology 24:193-201; the guard is the project's own extension), alleles taken as many.
"""

from __future__ import annotations

import json

import numpy as np
import pytest
from conftest import Runner
from lakes_support import add_lake, add_survey, add_typed
from scipy import stats
from sqlalchemy.orm import Session
from tests_support import database  # noqa: F401  (numbers: SQLite alone; both engines give the same document)

STOCK = [0.10, 0.45, 0.30, 0.60, 0.05, 0.35, 0.20, 0.70]  # invented
QUALITY = [0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0132, 0.0]
PREFERRED = [0.4, 0.6]


def half_of_interval(q: list[float], n: int) -> float:
    """Half the guarded interval that n fish of this mean and spread give; no spread is planned with below .02."""
    p, s, w = float(np.mean(q)), max(0.02, float(np.std(q, ddof=1))), 0.02
    squares, m = n * p**2 + (n - 1) * s**2, n + 2 * w
    middle = (n * p + w) / m
    variance = ((squares + w) / m - middle**2) * m / (m - 1)
    n_eff = middle * (1 - middle) * n / variance * (stats.norm.ppf(0.975) / stats.t.ppf(0.975, n - 1)) ** 2
    low, high = (stats.beta.ppf(0.025, n_eff * p, n_eff * (1 - p) + 1),
                 stats.beta.ppf(0.975, n_eff * p + 1, n_eff * (1 - p)))  # fmt: skip
    return float(high - low) / 2


def test_the_report_asks_for_the_fish_that_its_interval_needs_and_plan_for_as_many(
    run: Runner, session: Session
) -> None:
    fish = [*((9.0, q) for q in STOCK), *((13.0, q) for q in QUALITY), *((16.0, q) for q in PREFERRED)]
    add_typed(session, add_survey(session, add_lake(session)), fish)
    session.commit()
    document = json.loads(run("report", "lake", "HERON", "--half-width", "0.08", "--json").stdout)
    wanted = {row["size_class"]: row for row in document["next_time"]}
    for name, q in (("stock", STOCK), ("quality", QUALITY)):
        n = wanted[name]["n_for_half_width"]
        assert half_of_interval(q, n) <= 0.08 < half_of_interval(q, n - 1)
        assert wanted[name]["borrowed"] is False
    # two fish are too few to read: all classes together lend their spread
    squares = sum((len(q) - 1) * float(np.var(q, ddof=1)) for q in (STOCK, QUALITY, PREFERRED))
    assert wanted["preferred"]["spread"] == pytest.approx((squares / 15) ** 0.5)
    assert wanted["preferred"]["borrowed"] is True


@pytest.mark.parametrize(
    "fish", [[(9.0, q) for q in STOCK] + [(13.0, q) for q in QUALITY], [(9.0, 0.2), (13.0, 0.4)]]
)
def test_report_plan_and_coverage_ask_for_the_same_fish(
    run: Runner, session: Session, fish: list[tuple[float, float]]
) -> None:
    add_typed(session, add_survey(session, add_lake(session)), fish)
    session.commit()
    report = json.loads(run("report", "lake", "HERON", "--half-width", "0.08", "--json").stdout)
    for wish in ("--lake-half-width=0.05" if len(fish) > 2 else "--look", "--half-width=0.08"):
        plan = json.loads(run("plan", "HERON", wish, "--json").stdout)["sampling_plan"]
        run(
            "survey",
            "open",
            "HERON",
            "2026-06-03" if wish == "--half-width=0.08" else "2026-06-02",
            "--code",
            f"NEXT{wish[2:4]}",
        )
        coverage = json.loads(run("coverage", f"NEXT{wish[2:4]}", "--json").stdout)["classes"]
        planned = {
            row["size_class"]: None if row["as_they_come"] else row["target"] for row in plan["classes"]
        }
        assert planned["trophy"] is None  # never caught
        if wish != "--look":
            assert {row["size_class"]: row["target"] for row in coverage} == planned
        if wish == "--half-width=0.08":
            assert {row["size_class"]: row["n_for_half_width"] for row in report["next_time"]} == planned
            continue
        told = report["next_plan"]
        assert (told["n_fish"], told["n_likely"], told["cost"]) == (
            plan["n_fish"],
            plan["n_likely"],
            plan["cost"],
        )
        wanted = {row["size_class"]: row["target"] for row in plan["classes"]}
        for rows in (told["classes"], report["next_time"]):  # one name, one number
            assert {row["size_class"]: row["n_wanted"] for row in rows} == wanted
        assert told["half_width"] == (0.05 if len(fish) > 2 else None)
