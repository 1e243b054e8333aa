"""How often a panel misreads: from blind duplicates, known fish and blanks, else as stated, else assumed."""

from __future__ import annotations

import json

import pytest
from conftest import Runner
from lakes_support import add_fish, add_lake, add_panel, add_result, add_survey, add_vial, vial_code
from sqlalchemy import insert, select
from sqlalchemy.orm import Session
from statsmodels.stats.proportion import proportion_confint

from geneticlog.store.engine import database_url, open_engine
from geneticlog.store.tables import Event, Genotype, KnownVial, Panel, Result, Vial
from geneticlog.work.result.panel_error import NO_PANEL, highest, panel_errors

LOCI = 38


def _typed(
    session: Session, vial: Vial, calls: list[int | None], panel: Panel, *, speaks: bool = True
) -> None:
    """Store a vial's genotypes; a second typing does not speak for its fish."""
    known = [one for one in calls if one is not None]
    result = Result(
        vial_id=vial.id, panel_id=panel.id, outcome="typed", standing="current", n_loci=len(known),
        q=sum(known) / (2 * len(known)), fish_id=vial.fish_id if speaks else None,
    )  # fmt: skip
    session.add(result)
    session.flush()
    session.execute(
        insert(Genotype),
        [{"result_id": result.id, "marker": f"M{at:02}", "n_alleles": one} for at, one in enumerate(calls)],
    )


def test_duplicates_and_known_fish_show_the_rate_and_blanks_stand_beside_it(
    run: Runner, session: Session
) -> None:
    panel = add_panel(session, "P38", LOCI)
    other = add_panel(session, "P35", 35, taxon="Florida")
    survey = add_survey(session, add_lake(session))
    vials = []
    for first, second in (
        ([0] * LOCI, [0] * 37 + [1]),  # one allele differs
        ([1] * LOCI, [1] * 36 + [None, 2]),  # one more, and a locus that only one of them called
        ([2] * LOCI, [2] * LOCI),
    ):
        fish = add_fish(session, survey, 14.0)
        vials.append(add_vial(session, fish))
        _typed(session, vials[-1], first, panel)
        again = add_vial(session, fish, role="blind_duplicate")
        _typed(session, again, second, panel, speaks=False)
    known = [add_vial(session, add_fish(session, survey, 15.0)) for _ in range(3)]
    add_result(session, known[0], 2 / 76, 2 / 38, LOCI, panel)  # northern, two alleles misread
    add_result(session, known[1], 1.0, 0.0, LOCI, panel)  # Florida, none
    add_result(session, known[2], 0.5, 37 / 38, LOCI, panel)  # F1, one locus
    for outcome in ("failed", "typed"):
        blank = Vial(code=vial_code(), standing="blank", role="blank")
        session.add(blank)
        session.flush()
        add_result(session, blank, 0.5 if outcome == "typed" else None, panel=panel, outcome=outcome)
    session.commit()
    for vial, kind in zip(known, ("Northern", "florida", "f1"), strict=True):
        run("panel", "known", vial.code, kind, "--why", "hatchery stock")
    told = json.loads(run("panel", "show", "P38", "--json").stdout)["miscalls"]
    wrong, read = 2 + 3, 2 * 2 * (38 + 37 + 38) + 3 * 76
    assert (told["source"], told["n_misread"], told["n_read"]) == ("measured", wrong, read)
    assert told["rate"] == pytest.approx(wrong / read)
    assert (told["low"], told["high"]) == pytest.approx(proportion_confint(wrong, read, method="beta"))
    counted = (
        told["n_blind_duplicates"],
        told["n_known_fish"],
        told["n_blanks"],
        told["n_blanks_with_genotype"],
    )
    assert counted == (3, 3, 2, 1)
    said = " ".join(run("panel", "show", "P38").stdout.split())
    assert "5 of 680 readings, from 3 blind duplicates with genotypes and 3 fish of known kind" in said
    assert "1 of 2 blanks gave a genotype" in said
    # another panel of the same database knows nothing of it
    assert json.loads(run("panel", "show", "P35", "--json").stdout)["miscalls"]["source"] == "assumed"
    session.expire_all()
    errors = panel_errors(session)
    assert (
        highest(errors, [panel.id, other.id]).rate == errors[other.id].rate
    )  # the assumed one reaches higher
    assert highest(errors, [panel.id]).panel == "P38"
    assert highest(errors, [None]) == highest(errors, []) == NO_PANEL


def test_a_stated_rate_speaks_until_one_is_measured(run_on_sqlite: Runner) -> None:
    run = run_on_sqlite
    run("panel", "add", "P38", "Thirty-eight", "--loci", 38, "--miscall-rate", 0.004, "--miscall-high", 0.01)
    told = json.loads(run("panel", "show", "P38", "--json").stdout)["miscalls"]
    assert (told["source"], told["rate"], told["high"]) == ("stated", 0.004, 0.01)
    said = " ".join(run("panel", "show", "P38").stdout.split())
    assert "Misreads 0.4 % of alleles, at most 1 %, as stated for the panel" in said
    assert "At 38 loci a carrier has at least 4 Florida alleles of 76" in said
    run("panel", "change", "P38", "--miscall-rate", 0.002)
    run("panel", "add", "P12", "Twelve")
    assert "is not known: 0.5 % is assumed" in " ".join(run("panel", "show", "P12").stdout.split())
    refused = run("panel", "change", "P38", "--miscall-rate", 0.4, fails=1)
    assert "percentage" in refused.stderr
    assert "needs the rate" in run("panel", "add", "P9", "Nine", "--miscall-high", 0.1, fails=4).stderr


def test_a_measurement_leads_where_it_says_more_than_is_stated(run: Runner, session: Session) -> None:
    panel = add_panel(session, "P38", LOCI)
    panel.miscall_rate, panel.miscall_high = 0.005, 0.02
    survey = add_survey(session, add_lake(session))

    def known(n: int, misread: int) -> dict[str, object]:
        for _ in range(n):
            vial = add_vial(session, add_fish(session, survey, 15.0))
            code = vial.code
            session.commit()
            run("panel", "known", code, "northern", "--why", "hatchery stock")
            add_result(session, vial, misread / 76, misread / 38, LOCI, panel)
            session.commit()
        found: dict[str, object] = json.loads(run("panel", "show", "P38", "--json").stdout)["miscalls"]
        return found

    one = known(1, 0)  # 76 alleles leave a limit of 4.7 %: no news
    assert proportion_confint(0, 76, method="beta")[1] > 0.04
    assert (one["source"], one["rate"], one["high"], one["n_read"]) == ("stated", 0.005, 0.02, 76)
    said = " ".join(run("panel", "show", "P38").stdout.split())
    assert (
        "0 of 76 readings of 0 blind duplicates and 1 fish of known kind agree with it and are too few"
        in said
    )
    three = known(2, 0)  # 228 alleles: below 2 %
    assert three["source"] == "measured"
    assert three["high"] == pytest.approx(float(proportion_confint(0, 228, method="beta")[1]))
    bad = known(1, 20)  # more than any statement allows
    assert (bad["source"], bad["rate"]) == ("measured", pytest.approx(20 / 304))


def test_a_known_fish_is_taken_back_and_wrong_ones_are_refused(run_on_sqlite: Runner) -> None:
    run = run_on_sqlite
    engine = open_engine(database_url(run.database))
    with Session(engine) as session:
        add_panel(session)
        vial = add_vial(session, add_fish(session, add_survey(session, add_lake(session)), 14.0)).code
        blank = Vial(code=vial_code(), standing="blank", role="blank")
        session.add(blank)
        session.commit()
        empty = blank.code
    run("panel", "known", vial, "northern", "--why", "tagged stock")
    run("panel", "known", vial, "F1", "--why", "the tag was read wrong")
    assert "not among the known fish" in run("panel", "known", vial, "--none", "--why", "tag lost").stdout
    assert "not a kind of fish" in run("panel", "known", vial, "spotted", "--why", "x", fails=4).stderr
    assert "only a vial filled" in run("panel", "known", empty, "F1", "--why", "x", fails=4).stderr
    assert "not among" in run("panel", "known", vial, "--none", "--why", "x", fails=4).stderr
    assert "reason" in run("panel", "known", vial, "F1", "--why", " ", fails=4).stderr
    assert "give a KIND" in run("panel", "known", vial, "--why", "x", fails=2).stderr
    with Session(engine) as session:
        assert session.scalars(select(KnownVial)).all() == []
        verbs = session.scalars(select(Event.verb).where(Event.subject == vial).order_by(Event.id)).all()
        assert verbs == ["known", "known", "unknown"]
    engine.dispose()
