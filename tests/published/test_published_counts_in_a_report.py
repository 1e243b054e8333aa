"""Published counts through ``report lake``: size structure of a catch, and a locus half of whose heterozygotes lack."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from conftest import Runner
from lakes_support import add_fish, add_lake, add_result, add_survey, add_vial
from sqlalchemy.orm import Session
from tests_support import database  # noqa: F401  (numbers: SQLite alone; both engines give the same document)

from geneticlog.store.tables import Genotype


def reported(run: Runner, *options: object) -> dict:
    return json.loads(run("report", "lake", "HERON", *options, "--json").stdout)["surveys"][0]


def test_size_structure_of_boomer_lake(run: Runner, session: Session, tmp_path: Path) -> None:
    # PSD-2: data set LMBassBL of the R package FSAdata 0.4.1 (McNew RW, Summerfelt RC (1978) TAFS 107:730-736): 113
    # substock fish; 334, 183, 75, 1 and 0 of each length and above. PSD 54.79 (Wilson 49.43-60.04), PSD-P 22.46
    # (18.31-27.23), PSD-M 0.30.
    survey = add_survey(session, add_lake(session), length_unit="mm")
    for length, n in ((150, 113), (200, 334 - 183), (300, 183 - 75), (380, 75 - 1), (510, 1)):
        add_fish(session, survey, length, n_fish=n)
    session.commit()
    sizes = reported(run, "--out", tmp_path)["size_structure"]
    psd, preferred, memorable, trophy = sizes["indices"]
    assert (sizes["n_substock"], psd["n_stock"]) == (113, 334)
    assert (psd["value"], psd["low"], psd["high"]) == pytest.approx((54.79, 49.43, 60.04), abs=0.005)
    assert (preferred["value"], preferred["low"], preferred["high"]) == pytest.approx(
        (22.46, 18.31, 27.23), abs=0.005
    )
    assert memorable["value"] == pytest.approx(0.30, abs=0.005)
    assert trophy["value"] == 0
    page = " ".join((tmp_path / "heron.html").read_text().split())
    assert '<td class="n">55</td><td class="n">49 to 60</td>' in page


def test_a_locus_half_of_whose_heterozygotes_lack(run: Runner, session: Session) -> None:
    # HWE-3: 12, 6 and 12 fish: Fis .606667, exact p .0010034 (arithmetic of the formulas, with scipy outside this
    # package; the exact test as in Wigginton JE, Cutler DJ, Abecasis GR (2005) AJHG 76:887-893)
    survey = add_survey(session, add_lake(session))
    for n_alleles, n in ((0, 12), (1, 6), (2, 12)):
        for _ in range(n):
            vial = add_vial(session, add_fish(session, survey, 10.5))
            result = add_result(session, vial, n_alleles / 2, float(n_alleles == 1), 1)
            session.add(Genotype(result_id=result.id, marker="M1", n_alleles=n_alleles))
    session.commit()
    (locus,) = reported(run)["loci"]["loci"]
    assert locus["fis"] == pytest.approx(0.606667, abs=5e-7)
    assert locus["p"] == locus["p_holm"] == pytest.approx(0.0010034, abs=5e-8)
    assert locus["departs"] is True
