"""Lab files of unusual shapes that a careful person reads without asking, and others refused in words that help.

Each file is about the same twelve fish of an invented lake. What it says is known before it is written, so the
expected side comes from the list of alleles below and never from the code under test.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from return_support import MOMENT, a_shipment, as_stored, csv_file, nearly
from sqlalchemy.orm import Session

from geneticlog.errors import GeneticlogError
from geneticlog.rules.lab_return.layout import Layout
from geneticlog.rules.stamp import Stamp
from geneticlog.store.engine import open_engine
from geneticlog.work.lab_return.read_return import LabFile, ReturnRead, read_return

ALLELES = [2, 5, 9, 16, 23, 31, 36, 44, 52, 61, 69, 75]  # Florida alleles of 76
HEAD = ["Sample", "Florida proportion", "Loci scored"]
TRUTH: dict[int, Any] = {i: k / 76 for i, k in enumerate(ALLELES)}
Codes = list[str]
Rows = list[list[Any]]


def f(i: int) -> str:
    return f"{ALLELES[i] / 76:.4f}"


def p(i: int) -> str:
    return f"{100 * ALLELES[i] / 76:.2f}"


READ: dict[str, tuple[Callable[[Codes], Rows | bytes], dict[int, Any], Layout | None, str]] = {}
REFUSED: dict[str, tuple[Callable[[Codes], Rows | bytes], str, Layout | None]] = {}


def read(
    name: str,
    make: Callable[[Codes], Rows | bytes],
    truth: dict[int, Any] = TRUTH,
    layout: Layout | None = None,
    account: str = "",
) -> None:
    """A file that is stored so, without a question; its account says ``account``."""
    assert name not in READ
    READ[name] = (make, truth, layout, account)


def refused(
    name: str, make: Callable[[Codes], Rows | bytes], says: str, layout: Layout | None = None
) -> None:
    """A file that is not stored, for which a person reads ``says``."""
    assert name not in REFUSED
    REFUSED[name] = (make, says, layout)


read(
    "the customer's word before every code",
    lambda codes: [HEAD, *([f"ACME-{code}", f(i), 38] for i, code in enumerate(codes)), ["NTC", "", ""]],
    account="'ACME' it is before every code",
)
refused(
    "another word before one of the codes",
    lambda codes: [
        HEAD,
        *([f"{'OTHER' if i == 4 else 'ACME'}-{code}", f(i), 38] for i, code in enumerate(codes)),
    ],
    "12 codes have something beside them",
)
refused(
    "a word before every code that takes them back",
    lambda codes: [HEAD, *([f"RERUN_{code}", f(i), 38] for i, code in enumerate(codes))],
    "12 codes have something beside them",
)
read(
    "French headings",
    lambda codes: [
        ["Échantillon", "Proportion floridanus", "Taux d'appel", "Loci analysés"],
        *([code, f(i), "1.00", 38] for i, code in enumerate(codes)),
    ],
)
read(
    "Spanish headings, with percents",
    lambda codes: [
        [
            "Muestra",
            "Porcentaje de alelos Florida",
            "Porcentaje del norte",
            "Número de loci",
            "Observaciones",
        ],
        *([code, p(i), f"{100 - float(p(i)):.2f}", 38, ""] for i, code in enumerate(codes)),
    ],
)
read(
    "German headings",
    lambda codes: [
        ["Probe", "Florida-Anteil", "Anzahl Loci"],
        *([code, f(i), 38] for i, code in enumerate(codes)),
    ],
)


@pytest.fixture(scope="module")
def shipped(
    sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[tuple[Session, Codes]]:
    file = tmp_path_factory.mktemp("shapes") / "shipped.sqlite"
    shutil.copy(sqlite_template, file)
    engine = open_engine(f"sqlite:///{file}")
    with Session(engine) as session:
        codes = a_shipment(session, len(ALLELES), panel_loci=38)
        session.commit()
    with engine.connect() as connection, Session(connection) as session:
        yield session, codes
    engine.dispose()


def reading_of(session: Session, made: Rows | bytes, layout: Layout | None) -> ReturnRead:
    content = made if isinstance(made, bytes) else csv_file(made)
    stamp = Stamp(MOMENT, "Ada")
    return read_return(session, LabFile(content, "return.csv"), "SH-1", stamp=stamp, layout=layout)


@pytest.mark.parametrize("name", READ)
def test_a_readable_file_is_stored_without_a_question(name: str, shipped: tuple[Session, Codes]) -> None:
    session, codes = shipped
    make, truth, layout, account = READ[name]
    try:
        done = reading_of(session, make(codes), layout)
        got = as_stored(session, codes)
    finally:
        session.rollback()
    assert got == nearly(truth)
    assert account in "\n".join(f"{item.where}: {item.text!r} {item.why}" for item in done.account.items)


@pytest.mark.parametrize("name", REFUSED)
def test_a_file_that_may_mean_two_things_is_refused_in_words(
    name: str, shipped: tuple[Session, Codes]
) -> None:
    session, codes = shipped
    make, says, layout = REFUSED[name]
    with pytest.raises(GeneticlogError) as fault:
        reading_of(session, make(codes), layout)
    session.rollback()
    assert says in str(fault.value)
