"""``report lakes``: every lake, the urgent ones first and why, the same numbers as the lake's own report."""

from __future__ import annotations

import csv
import json
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from conftest import Runner
from lakes_support import NOW, add_fish, add_lake, add_panel, add_result, add_survey, add_typed, add_vial
from sqlalchemy.orm import Session
from statsmodels.stats.multitest import multipletests
from tests_support import on_sqlite

from geneticlog.rules.schemes import five_length, two_groups
from geneticlog.store.tables import Finding, Lab, Lake, Shipment, ShipmentPosition, Survey
from geneticlog.work.portfolio.gather import LakeLine, gather_portfolio

TODAY = date(2026, 5, 12)
MANY = [0.1, 0.2, 0.3, 0.2, 0.1, 0.15, 0.25, 0.2, 0.3, 0.1, 0.2, 0.2]


def six_lakes(session: Session) -> None:
    add_lake(session, "NEVER", "Never <b>surveyed</b>")
    calm = add_lake(session, "CALM", "Calm Lake")
    add_typed(session, add_survey(session, calm, "CALM-1", date(2026, 4, 1)), [(13.0, q) for q in MANY])
    fell = add_lake(session, "FELL", "Fell Lake")
    add_typed(session, add_survey(session, fell, "FELL-1", date(2024, 4, 1)), [(13.0, q + 0.5) for q in MANY])
    add_typed(session, add_survey(session, fell, "FELL-2", date(2026, 4, 1)), [(13.0, q) for q in MANY])
    few = add_lake(session, "FEW", "Few Lake")
    add_typed(session, add_survey(session, few, "FEW-1", date(2026, 4, 1)), [(13.0, 0.2), (13.0, 0.4)])
    doubt = add_lake(session, "DOUBT", "Doubt Lake")
    survey = add_survey(session, doubt, "DOUBT-1", date(2026, 4, 1))
    vial = add_vial(session, add_fish(session, survey, 12.0))
    add_typed(session, survey, [(13.0, q) for q in MANY])
    for number, (on_survey, decided) in enumerate([(True, False), (False, False), (True, True)], start=1):
        decision = (
            {"decision": "close", "decided_at": NOW, "decided_by": "Bea", "why": "looked"} if decided else {}
        )
        session.add(
            Finding(number=number, key=str(number), kind="failed", vial_id=vial.id, text="look",
                    survey_id=survey.id if on_survey else None, opened_at=NOW, **decision)
        )  # fmt: skip
    old = add_lake(session, "OLD", "Old Lake")
    add_typed(session, add_survey(session, old, "OLD-1", date(2020, 4, 1)), [(13.0, q) for q in MANY])
    session.commit()


def by_code(session: Session) -> dict[str, LakeLine]:
    return {line.lake: line for line in gather_portfolio(session, today=TODAY)}


def test_what_asks_for_attention_and_in_which_order(session: Session) -> None:
    six_lakes(session)
    lines = gather_portfolio(session, today=TODAY)
    assert [line.lake for line in lines] == ["DOUBT", "FELL", "NEVER", "FEW", "OLD", "CALM"]
    reasons = {line.lake: line.reasons for line in lines}
    assert reasons["DOUBT"] == ("2 findings to decide",)
    assert reasons["FELL"] == ("the share fell since the survey before",)
    assert reasons["NEVER"] == ("never surveyed",)
    assert reasons["FEW"][0] == "too few to read"
    assert reasons["OLD"] == ("last surveyed 2232 days ago",)
    assert reasons["CALM"] == ()


def open_finding(session: Session, number: int, **more: object) -> None:
    session.add(
        Finding(number=number, key=str(number), kind="unexpected", text="look", opened_at=NOW, **more)
    )


def test_every_report_counts_the_same_open_findings_of_a_lake(run: Runner, session: Session) -> None:
    first, other = add_lake(session), add_lake(session, "OTTER", "Otter Lake")
    lab = Lab(code="QUILL", name="Quillback (invented)")
    session.add(lab)
    session.flush()
    shipment = Shipment(code="SH", lab_id=lab.id, container="loose", packed_at=NOW, packed_by="Ada Test")
    session.add(shipment)
    session.flush()
    surveys = [add_survey(session, first, f"HERON-{year}", date(year, 4, 9)) for year in (2024, 2026)]
    surveys.append(add_survey(session, other, "OTTER-2026"))
    vials = []
    for at, survey in enumerate(surveys):
        vials.append(add_vial(session, add_fish(session, survey, 13.0)))
        add_typed(session, survey, [(13.0, 0.2), (14.0, 0.3)])
        session.add(ShipmentPosition(shipment_id=shipment.id, vial_id=vials[-1].id, position=str(at + 1)))
    open_finding(session, 1, shipment_id=shipment.id)  # a row that nobody sent: it concerns both lakes
    open_finding(session, 2, shipment_id=shipment.id, vial_id=vials[0].id)  # of the earlier survey
    open_finding(session, 3, shipment_id=shipment.id, vial_id=vials[2].id)  # of the other lake
    open_finding(session, 4, survey_id=surveys[1].id, fish_id=vials[1].fish_id)  # two values met: one finding
    open_finding(session, 5, shipment_id=shipment.id, vial_id=vials[1].id, decision="close", decided_at=NOW,
                 decided_by="Bea", why="looked")  # fmt: skip
    session.commit()
    lines = {line["lake"]: line for line in json.loads(run("report", "lakes", "--json").stdout)["lakes"]}
    for code, wanted in (("HERON", 3), ("OTTER", 2)):
        assert lines[code]["n_open_findings"] == wanted
        own = json.loads(run("report", "lake", code, "--json").stdout)
        assert own["n_open_findings"] == wanted
        assert f"{wanted} findings are undecided" in " ".join(own["summary"])
    listed = json.loads(run("reconcile", "SH", "--open", "--json").stdout)["findings"]
    assert [one["finding"] for one in listed] == ["F1", "F2", "F3"]


def test_the_numbers_are_those_of_the_lakes_own_report(run: Runner, session: Session) -> None:
    six_lakes(session)
    lines = {line["lake"]: line for line in json.loads(run("report", "lakes", "--json").stdout)["lakes"]}
    assert len(lines) == 6
    for code in ("CALM", "FELL", "FEW", "DOUBT", "OLD"):
        own = json.loads(run("report", "lake", code, "--json").stdout)
        survey, line = own["surveys"][-1], lines[code]
        assert line["swabbed"] == survey["swabbed"]
        for name in ("mean", "low", "high", "guard", "unseen"):
            assert line[name] == survey["catch_weighted"][name]
        assert (line["n_caught"], line["n_swabbed"]) == (survey["n_caught"], survey["n_swabbed"])
        assert line["survey"] == survey["survey"]
    change = json.loads(run("report", "lake", "FELL", "--json").stdout)["changes"][0]
    assert lines["FELL"]["change"] == pytest.approx(np.mean(MANY) - np.mean(MANY) - 0.5)
    assert lines["FELL"]["change"] == pytest.approx(change["difference"])
    assert lines["DOUBT"]["coverage"] == pytest.approx(12 / 13)


def lakes_of_every_kind(session: Session) -> None:
    """Several size classes, gears, species, pairs of taxa, panels, numbers of loci, seasons and schemes."""
    p38, p60 = add_panel(session), add_panel(session, "P60", 60)
    other_pair = add_panel(session, "SPSM", 20, taxon="spotted", other_taxon="smallmouth")
    small, middle, large = (
        [(length, q) for q in (0.1, 0.15, 0.2, 0.1, 0.3, 0.2)] for length in (9.0, 13.0, 16.0)
    )

    def surveyed(lake: Lake, year: int, fish: list[tuple[float, float]], **more: Any) -> Survey:
        panel, n_loci = more.pop("panel", p38), more.pop("n_loci", 38)
        survey = add_survey(session, lake, f"{lake.code}-{year}", more.pop("on", date(year, 4, 9)), **more)
        add_typed(session, survey, fish, n_loci, panel)
        return survey

    species = surveyed(add_lake(session, "KINDS", "Two kinds of fish"), 2026, [*small, *middle])
    for _ in range(8):  # swabbed and typed too, of another species
        fish = add_fish(session, species, 10.5, species="spotted_bass")
        add_result(session, add_vial(session, fish), 0.9, 0.1, 38, p38)
    add_fish(session, species, None, n_fish=40)
    add_typed(session, species, [(None, 0.5)], 38, p38)
    pairs = surveyed(add_lake(session, "PAIRS", "Two pairs of taxa"), 2026, middle)
    add_typed(session, pairs, [(13.0, 0.9)] * 4, 20, other_pair)
    add_typed(session, pairs, [(13.0, 0.4)], None)  # of no named panel: taken as of the main pair

    def raised(fish: list[tuple[float, float]], by: float) -> list[tuple[float, float]]:
        return [(length, q + by) for length, q in fish]

    for code, first, then in (
        ("SIZES", {}, {}),  # the catch shifted from large fish to small, the ancestry of each class stayed
        ("GEAR", {}, {"gear": "angling"}),
        ("PANEL", {}, {"panel": p60, "n_loci": 60}),
        ("LOCI", {}, {"n_loci": 30}),
        ("SEASON", {}, {"on": date(2026, 10, 9)}),
        ("SCHEME", {}, {"scheme": two_groups("largemouth_bass", 12.0, "in").to_json()}),
    ):
        lake = add_lake(session, code, f"Lake {code}")
        before = surveyed(
            lake, 2024, [*small[:3], *raised(middle, 0.2), *raised(large, 0.5), *raised(large, 0.5)], **first
        )
        after = surveyed(lake, 2026, [*small, *small, *raised(middle, 0.2), *raised(large[:3], 0.5)], **then)
        add_fish(session, before, 9.0, n_fish=30)
        add_fish(session, after, 16.0, n_fish=45)
    wholly = add_lake(session, "WHOLE", "Every class fell")
    surveyed(wholly, 2024, raised([*small, *middle, *large], 0.5))
    surveyed(wholly, 2026, [*small, *middle, *large])
    apart = add_lake(session, "APART", "Every class fell, by another gear")
    surveyed(apart, 2024, raised([*small, *middle, *large], 0.5))
    surveyed(apart, 2026, [*small, *middle, *large], gear="angling")
    swapped = add_lake(session, "SWAP", "First one species, then another")
    surveyed(swapped, 2024, raised(middle, 0.5))
    later = add_survey(session, swapped, "SWAP-2026", species="smallmouth_bass",
                       scheme=five_length("smallmouth_bass").to_json())  # fmt: skip
    for _, q in middle:
        add_result(
            session,
            add_vial(session, add_fish(session, later, 13.0, species="smallmouth_bass")),
            q,
            panel=p38,
        )
    session.commit()


def test_the_numbers_are_those_of_the_lakes_own_report_whatever_was_caught(
    run: Runner, session: Session
) -> None:
    lakes_of_every_kind(session)
    lines = {line["lake"]: line for line in json.loads(run("report", "lakes", "--json").stdout)["lakes"]}
    for code, line in lines.items():
        own = json.loads(run("report", "lake", code, "--json").stdout)
        survey = own["surveys"][-1]
        assert (line["survey"], line["n_resulted"]) == (survey["survey"], survey["swabbed"]["n"])
        assert line["swabbed"] == survey["swabbed"], code
        for name in ("mean", "low", "high", "guard", "unseen", "share_of_catch_covered"):
            assert line[name] == survey["catch_weighted"][name], (code, name)
        assert (line["n_caught"], line["n_swabbed"]) == (survey["n_caught"], survey["n_swabbed"])
        assert line["coverage"] <= 1
        if line["change"] is None:
            continue
        change = own["changes"][-1]
        assert line["change_basis"] == change["basis"]
        for name, of_line in (
            ("difference", "change"),
            ("low", "change_low"),
            ("high", "change_high"),
            ("p", "change_p"),
        ):
            assert line[of_line] == change[name], (code, name)
        assert (line["young"], line["adult"]) == (change["young"], change["adult"])
        assert not set(line["change_differs"]) & set(change["alike"])
        assert (line["change_p"] < 0.05) == (line["change_low"] > 0 or line["change_high"] < 0)
    assert (lines["KINDS"]["n_resulted"], lines["KINDS"]["n_swabbed"]) == (13, 13)
    assert (lines["PAIRS"]["taxon"], lines["PAIRS"]["n_resulted"], lines["PAIRS"]["n_other_taxa"]) == (
        "Florida",
        7,
        4,
    )
    assert lines["PAIRS"]["reasons"] == [
        "4 results are for other taxa than Florida and northern, and left out"
    ]
    assert lines["SIZES"]["change"] == pytest.approx(0.0, abs=0.02)  # unweighted it would be -0.2
    told = {code: tuple(line["change_differs"]) for code, line in lines.items() if line["change"] is not None}
    assert told == {
        "SIZES": (), "WHOLE": (), "GEAR": ("gear",), "APART": ("gear",), "PANEL": ("panel",), "LOCI": ("loci scored",),
        "SEASON": ("season",), "SCHEME": (),
    }  # fmt: skip
    assert lines["WHOLE"]["reasons"] == ["the share fell since the survey before"]
    assert lines["APART"]["reasons"] == ["lower than the survey before, which differs in gear"]
    assert not any("fell" in reason for code in told if code != "WHOLE" for reason in lines[code]["reasons"])


def test_a_survey_with_results_of_another_pair_of_taxa_only_is_said(sqlite_session: Session) -> None:
    lake = add_lake(sqlite_session)
    main, other = (
        add_panel(sqlite_session),
        add_panel(sqlite_session, "SPSM", 20, taxon="spotted", other_taxon="x"),
    )
    add_typed(sqlite_session, add_survey(sqlite_session, lake, "A-1", date(2025, 4, 1)), [(13.0, q) for q in MANY],
              panel=main)  # fmt: skip
    add_typed(
        sqlite_session,
        add_survey(sqlite_session, lake, "A-2", date(2026, 4, 1)),
        [(13.0, 0.5)] * 4,
        panel=other,
    )
    line = by_code(sqlite_session)["HERON"]
    assert (line.survey, line.n_resulted) == ("A-1", 12)
    assert line.reasons == ("the latest survey has no result yet for Florida and northern",)


def test_a_latest_survey_without_results_is_said_and_the_one_before_is_shown(session: Session) -> None:
    lake = add_lake(session)
    add_typed(session, add_survey(session, lake, "A-1", date(2024, 4, 1)), [(13.0, q) for q in MANY])
    add_vial(session, add_fish(session, add_survey(session, lake, "A-2", date(2026, 4, 1)), 12.0))
    line = by_code(session)["HERON"]
    assert (line.survey, line.n_resulted, line.n_caught, line.n_swabbed) == ("A-1", 12, 12, 12)
    assert line.reasons == ("the latest survey has no result yet",)


def test_the_tables_hold_every_lake(run: Runner, session: Session, tmp_path: Path) -> None:
    six_lakes(session)
    run("report", "lakes", "--out", tmp_path)
    with (tmp_path / "lakes.csv").open(newline="") as file:
        rows = {row["lake"]: row for row in csv.DictReader(file)}
    assert len(rows) == 6
    assert rows["NEVER"]["mean"] == ""
    assert float(rows["CALM"]["mean"]) == pytest.approx(np.mean(MANY))
    assert {path.name for path in tmp_path.iterdir()} >= {
        "lakes.html",
        "lakes.csv",
        "lakes.xlsx",
        "lakes.pdf",
    }
    assert (rows["CALM"]["state"], rows["NEVER"]["state"]) == ("known", "never swabbed")


@on_sqlite
def test_no_lake_at_all_is_a_page_too(run: Runner, tmp_path: Path) -> None:
    assert json.loads(run("report", "lakes", "--json", "--out", tmp_path).stdout) == {"lakes": []}
    assert "0 lakes, 0 to look at" in (tmp_path / "lakes.html").read_text(encoding="utf-8")


def lakes_that_changed(session: Session, n_steady: int) -> None:
    """One lake that fell by a little, and so many whose fish are the same twice."""
    for at in range(n_steady + 1):
        lake = add_lake(session, f"L{at:02}", f"Lake {at:02}")
        for year, shift in ((2024, 0.08 if at == 0 else 0.001 * at), (2026, 0.0)):
            survey = add_survey(session, lake, f"L{at:02}-{year}", date(year, 4, 1))
            add_typed(session, survey, [(13.0, q + shift) for q in MANY])
    session.commit()


@on_sqlite
def test_p_of_every_change_stands_beside_its_p_after_holm(
    run: Runner, session: Session, tmp_path: Path
) -> None:
    lakes_that_changed(session, 7)
    told = json.loads(run("report", "lakes", "--out", tmp_path, "--json").stdout)["lakes"]
    p = [line["change_p"] for line in told]
    assert [line["change_p_holm"] for line in told] == pytest.approx(list(multipletests(p, method="holm")[1]))
    for line in told:
        outside = line["change_high"] < 0 or line["change_low"] > 0
        assert outside == (line["change_p"] < 0.05)
    with (tmp_path / "lakes.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["change_p_holm"] for row in rows] == [repr(line["change_p_holm"]) for line in told]


def test_a_fall_that_many_lakes_told_together_do_not_carry_is_said_with_care(sqlite_session: Session) -> None:
    lakes_that_changed(sqlite_session, 7)
    line = by_code(sqlite_session)["L00"]
    assert line.change_high is not None
    assert line.change_high < 0
    assert line.change_p is not None
    assert line.change_p_holm is not None
    assert line.change_p < 0.05 < line.change_p_holm
    assert line.reasons == ("the share may have fallen; chance is not ruled out with this many lakes",)


def test_one_lake_alone_is_not_adjusted(sqlite_session: Session) -> None:
    lakes_that_changed(sqlite_session, 0)
    line = by_code(sqlite_session)["L00"]
    assert line.change_p == line.change_p_holm
    assert line.reasons == ("the share fell since the survey before",)
