"""Days on the manifest are those of the people on the water, not of UTC."""

from __future__ import annotations

import time
from datetime import UTC, datetime

import pytest
from office_support import NOW, a_lab, swabbed
from sqlalchemy.orm import Session
from survey_support import a_survey

from geneticlog.rules.stamp import Stamp
from geneticlog.work.shipment.manifest import manifest
from geneticlog.work.shipment.pack import Packing, pack

FORM = '[[column]]\nheading = "Vial"\nholds = "vial"\n[[column]]\nheading = "Filled"\nholds = "filled_on"\n'


@pytest.mark.skipif(not hasattr(time, "tzset"), reason="Windows has no tzset")
def test_a_vial_filled_in_the_evening_is_of_that_day(
    sqlite_session: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TZ", "America/Chicago")
    time.tzset()
    try:
        survey = a_survey(sqlite_session)
        a_lab(sqlite_session, manifest=FORM)
        vials = swabbed(sqlite_session, survey, 2)
        for vial in vials:
            vial.filled_at = datetime(
                2026, 5, 13, 2, 30, tzinfo=UTC
            )  # half past nine in the evening of the 12th
        pack(sqlite_session, "SHIP", vials, Packing(), lab="QUILL", stamp=Stamp(NOW, "Ada Test"))
        assert {row[1] for row in manifest(sqlite_session, "SHIP").rows} == {"2026-05-12"}
    finally:
        monkeypatch.undo()
        time.tzset()
