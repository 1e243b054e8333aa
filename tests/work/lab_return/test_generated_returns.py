"""Files in random shapes from a known truth: each is read right, or refused, held or asked about."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from return_generator import a_plate_of_vials, read_unanswered
from return_shapes import draw
from sqlalchemy.orm import Session

from geneticlog.store.engine import open_engine

N_FILES = 40
N_VIALS = 14


@pytest.fixture(scope="module")
def shipped(
    sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[tuple[Session, list[str]]]:
    file = tmp_path_factory.mktemp("shipped") / "shipped.sqlite"
    shutil.copy(sqlite_template, file)
    engine = open_engine(f"sqlite:///{file}")
    with Session(engine) as session:
        codes = a_plate_of_vials(session, N_VIALS)
    with engine.connect() as connection, Session(connection) as session:
        yield session, codes
    engine.dispose()


def test_no_generated_file_is_silently_wrong_and_most_plain_ones_are_read(
    shipped: tuple[Session, list[str]],
) -> None:
    session, codes = shipped
    wrong: dict[int, object] = {}
    plain: list[str] = []
    for seed in range(N_FILES):
        made = draw(seed, codes)
        came_to, seen, _ = read_unanswered(session, made)
        if seen:
            wrong[seed] = (made.shape, made.traps, seen)
        if not made.traps:
            plain.append(came_to)
    assert not wrong
    assert sum(came_to.startswith("right") for came_to in plain) > len(plain) / 2, plain
