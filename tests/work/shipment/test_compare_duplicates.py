"""The two vials of one fish, side by side."""

from __future__ import annotations

import pytest
from office_support import a_return, a_shipment, swabbed
from sqlalchemy import select
from sqlalchemy.orm import Session
from statsmodels.stats.proportion import proportion_confint
from survey_support import a_survey

from geneticlog.faces.shipment.terminal import duplicates_in_words
from geneticlog.store.tables import Genotype, Result
from geneticlog.work.shipment.compare_duplicates import compare_duplicates


def test_pairs_are_reported_side_by_side(session: Session) -> None:
    first, second, third, fourth, alone = swabbed(session, a_survey(session), 3, seconds=2)
    shipment = a_shipment(session, [first, second, third, fourth, alone])
    rows = zip([first, second, third, fourth, alone], [10, 11, 30, 40, 5], strict=True)
    a_return(session, shipment, [{"vial": vial, "q": k / 76} for vial, k in rows])
    compared = compare_duplicates(session, shipment)
    told = [(pair.fish, pair.vial, pair.other_vial, pair.disagree) for pair in compared.pairs]
    assert told == [
        ("HERON-2026#1", first.code, second.code, False),
        ("HERON-2026#2", third.code, fourth.code, True),
    ]
    assert [pair.n_alleles for pair in compared.pairs] == pytest.approx([1, 10])
    assert (compared.verdict, compared.error_below) == ("nothing to compare", None)


def test_genotypes_are_compared_call_by_call(session: Session) -> None:
    first, second = swabbed(session, a_survey(session), 1, seconds=1)
    shipment = a_shipment(session, [first, second])
    a_return(session, shipment, [{"vial": first, "q": 0.5}, {"vial": second, "q": 0.5}])
    results = list(session.scalars(select(Result).order_by(Result.id)))
    for result in results:
        session.add_all(Genotype(result_id=result.id, marker=f"L{i}", n_alleles=i % 3) for i in range(38))
    session.flush()
    compared = compare_duplicates(session, shipment)
    assert (compared.n_compared, compared.n_different, compared.verdict) == (38, 0, "good")
    assert compared.error_below == pytest.approx(1 - 0.05 ** (1 / 38))
    wrong = session.get_one(Genotype, (results[0].id, "L3"))
    wrong.n_alleles = 2
    session.flush()
    compared = compare_duplicates(session, shipment)
    assert (compared.n_different, compared.verdict, compared.error_below) == (1, "ask the lab", None)
    low, high = (100 * limit for limit in proportion_confint(1, 38, method="wilson"))
    told = duplicates_in_words(compared)[-1]
    assert (
        told
        == f"  38 genotypes compared, 1 differ (2.6 %, 95 % interval {low:.1f} to {high:.1f} %): ask the lab"
    )


def test_a_failed_twin_makes_no_pair(session: Session) -> None:
    first, second = swabbed(session, a_survey(session), 1, seconds=1)
    shipment = a_shipment(session, [first, second])
    a_return(session, shipment, [{"vial": first, "q": 0.5}, {"vial": second, "outcome": "failed"}])
    assert compare_duplicates(session, shipment).pairs == ()
