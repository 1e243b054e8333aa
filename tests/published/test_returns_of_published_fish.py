"""Real figures travel through a lab's file and raise the findings they should.

Source of q, H and loci: Silliman K, Zhao H, Justice M, Thongda W, Bowen B & Peatman E (2021) Complex
introgression among three diverged largemouth bass lineages. Evolutionary Applications 14:2815-2830,
doi:10.1111/eva.13314, and the per-fish table issued with it. Of Lake Ouachita the alleles are given (k of
76), not H; the H used here is the highest with the right parity that k allows, made up for the test and no
figure of theirs. Expected findings by hand from those figures: parity of 2Lq - LH, and the deficit F = 1 - H
/ (2 p (1 - p)).
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pytest
from conftest import Runner
from return_support import a_shipment, csv_file
from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.store.engine import open_engine
from geneticlog.store.tables import Finding, Result

# a published table is sorted by its shares, and the invented codes follow it
# printed in order; and where only the mean of a lot is printed, its fish are set evenly around it here
SORTED = (
    "--harmless", "in the order of the codes", "--harmless", "one step from share to share",
    "--harmless", "one share for all",
)  # fmt: skip

# Florida alleles of 76 in thirty fish of Lake Ouachita, Arkansas
OUACHITA = (
    [0] * 8 + [1] * 2 + [2] * 3 + [3] * 3 + [4] + [5] * 2 + [7, 8, 9, 10] + [13] * 2 + [14] * 2 + [23, 33, 34]
)
# Lake Allatoona, Georgia: q and H of nine fish at 35 loci, as printed
ALLATOONA_Q = [0.5000, 0.4429, 0.3857, 0.5000, 0.3714, 0.4857, 0.3857, 0.5429, 0.4143]
ALLATOONA_H = [0.5143, 0.5714, 0.5714, 0.4571, 0.5429, 0.4857, 0.5714, 0.4857, 0.5143]


def spread_of(n: int, mean: float, half: float) -> list[float]:
    """n shares around a mean, for lots of which only the mean is published."""
    return [mean + half * (2 * i / (n - 1) - 1) for i in range(n)]


LOTS = {
    "Ouachita AR, 30 fish": (
        [k / 76 for k in OUACHITA],
        [min(k, 76 - k) / 38 for k in OUACHITA],
        38,
        [],
    ),
    "Allatoona GA, 9 fish: every one of the wrong parity": (ALLATOONA_Q, ALLATOONA_H, 35, ["odd_parity"]),
    "known F1 lot, 5 fish: all q .5, H 1, and no fault": ([0.5] * 5, [1.0] * 5, 38, []),
    "hatchery northern, 10 fish": ([0.0] * 10, [0.0] * 10, 38, []),
    "St Johns River, 9 fish all Florida": ([1.0] * 9, [0.0] * 9, 38, []),
    "sample MYS, 11 fish: q .6, H 0, a placeholder": (
        [0.6] * 11,
        [0.0] * 11,
        35,
        ["identical_run", "possible_third_lineage", "zero_heterozygosity"],
    ),
    "BBCanot AL, 18 fish of the Delta lineage (means)": (
        spread_of(18, 0.2713, 0.03),
        spread_of(18, 0.1339, 0.03),
        None,
        ["loci_unknown", "possible_third_lineage"],
    ),
    "D'Olive Bay AL, 15 fish (means)": (
        spread_of(15, 0.2990, 0.03),
        spread_of(15, 0.1421, 0.03),
        None,
        ["loci_unknown", "possible_third_lineage"],
    ),
    "Millers Ferry AL, 16 fish (means)": (
        spread_of(16, 0.2873, 0.03),
        spread_of(16, 0.1611, 0.03),
        None,
        ["loci_unknown", "possible_third_lineage"],
    ),
}


@pytest.mark.parametrize("lot", LOTS)
def test_a_published_lot_raises_the_findings_it_should(
    lot: str, run_on_sqlite: Runner, sqlite_database: str, tmp_path: Path
) -> None:
    q, heterozygosity, loci, kinds = LOTS[lot]
    engine = open_engine(f"sqlite:///{sqlite_database}")
    with Session(engine) as session:
        codes = a_shipment(session, len(q))
        session.commit()
    path = tmp_path / "return.csv"
    path.write_bytes(a_file(codes, q, heterozygosity, loci))
    run_on_sqlite("return", "read", path, "--shipment", "SH-1", *SORTED)
    with Session(engine) as session:
        found = session.execute(select(Finding.kind, Finding.rows, Finding.text).order_by(Finding.kind)).all()
        stored = list(session.scalars(select(Result.q).order_by(Result.id)))
        standing = set(session.scalars(select(Result.standing)))
    engine.dispose()
    assert [kind for kind, _, _ in found] == kinds
    assert stored == pytest.approx(q, abs=5e-5)
    assert standing == {"current"}
    for kind, rows, text in found:
        assert rows == list(range(2, len(q) + 2)), kind
        assert text


def a_file(
    codes: Sequence[str], q: Sequence[float], heterozygosity: Sequence[float], loci: int | None
) -> bytes:
    """A lab's file of four decimals, the loci scored beside them where they are known."""
    heading = ["Sample ID", "Florida proportion", "Heterozygosity", *(["Loci scored"] if loci else [])]
    rows = [
        [code, f"{share:.4f}", f"{h:.4f}", *([loci] if loci else [])]
        for code, share, h in zip(codes, q, heterozygosity, strict=True)
    ]
    return csv_file([heading, *rows])


def test_loci_left_out_are_taken_from_the_panel_where_every_proportion_fits(
    run_on_sqlite: Runner, sqlite_database: str, tmp_path: Path
) -> None:
    """The thirty Ouachita fish lie on 1/76: 38 loci fit, and the 35 of another panel do not."""
    for panel_loci, n_loci in ((38, {38}), (35, {None})):
        engine = open_engine(f"sqlite:///{sqlite_database}")
        code = f"SH-{panel_loci}"
        with Session(engine) as session:
            codes = a_shipment(session, 30, code=code, first=panel_loci * 1000, panel_loci=panel_loci)
            session.commit()
        path = tmp_path / f"{code}.csv"
        shares = [k / 76 for k in OUACHITA]
        path.write_bytes(a_file(codes, shares, [min(q, 1 - q) * 2 for q in shares], None))
        run_on_sqlite("return", "read", path, "--shipment", code, *SORTED)
        with Session(engine) as session:
            stored = session.scalars(
                select(Result.n_loci).where(Result.return_row_id.is_not(None)).order_by(Result.id)
            )
            assert set(list(stored)[-30:]) == n_loci
        engine.dispose()
