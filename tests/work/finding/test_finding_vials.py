"""Which findings are about a vial: its own, and those that name it among others."""

from __future__ import annotations

from office_support import NOW, swabbed
from sqlalchemy.orm import Session
from survey_support import a_survey

from geneticlog.rules.finding.finding_data import FindingData
from geneticlog.rules.finding.finding_kinds import FindingKind
from geneticlog.store.tables import Finding
from geneticlog.work.finding.finding_vials import NAMING_SEVERAL, OF_VIALS, findings_of_vial


def test_a_finding_is_about_its_own_vial_and_those_that_it_names(sqlite_session: Session) -> None:
    a, b, c = swabbed(sqlite_session, a_survey(sqlite_session), 3)
    pair = next(iter(OF_VIALS))
    for number, kind, vial, facts in (
        (1, FindingKind.FAILED, a, {}),
        (2, pair, a, {"vial": a.code, "other_vial": b.code}),
        (3, FindingKind.SAME_GENOTYPE_MANY, None, {"vials": [a.code, b.code]}),
        (4, pair, b, {"vial": b.code, "other_vial": c.code, "remark": a.code}),  # a remark names no vial
    ):
        sqlite_session.add(
            Finding(
                number=number, key=f"k{number}", kind=kind, vial_id=vial and vial.id, text="look", opened_at=NOW,
                data=FindingData(facts=facts),
            )
        )  # fmt: skip
    sqlite_session.flush()
    assert {pair, FindingKind.SAME_GENOTYPE_MANY} <= set(NAMING_SEVERAL)
    assert [[one.number for one in findings_of_vial(sqlite_session, vial)] for vial in (a, b, c)] == [
        [1, 2, 3], [2, 3, 4], [4],
    ]  # fmt: skip
