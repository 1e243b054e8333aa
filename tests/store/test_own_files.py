"""Files of one report, manifest or export: all of them in their place, or the folder as it was."""

from __future__ import annotations

import resource
import signal
from collections.abc import Iterator
from pathlib import Path

import pytest

from geneticlog.store.own_files import LIST, write_own

FIRST = {"a.csv": b"first a", "b.csv": b"first b"}
SECOND = {"a.csv": b"second a", "b.csv": b"second b", "c.csv": b"c" * 9_000}


def held(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


@pytest.fixture
def small_files_only() -> Iterator[None]:
    """A disk that takes no file over 4,000 bytes, as one does that is nearly full."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    before = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (4_000, hard))
    yield
    resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    signal.signal(signal.SIGXFSZ, before)


def test_all_files_come_with_the_list_of_them(tmp_path: Path) -> None:
    out = tmp_path / "deep" / "out"
    assert write_own(out, FIRST) == [out / "a.csv", out / "b.csv"]
    write_own(out, SECOND)
    assert {name: content for name, content in held(out).items() if name != LIST} == SECOND


@pytest.mark.usefixtures("small_files_only")
def test_a_disk_that_is_full_in_the_middle_leaves_nothing(tmp_path: Path) -> None:
    with pytest.raises(OSError, match=r"c\.csv") as fault:
        write_own(tmp_path / "deep" / "out", SECOND)
    assert fault.value.filename == str(tmp_path / "deep" / "out" / "c.csv")
    assert list(tmp_path.iterdir()) == []
    out = tmp_path / "there"
    write_own(out, FIRST)
    before = held(out)
    with pytest.raises(OSError, match=r"c\.csv"):
        write_own(out, SECOND)
    assert held(out) == before


def test_what_cannot_take_its_place_leaves_what_was_there(tmp_path: Path) -> None:
    write_own(tmp_path, FIRST)
    before = held(tmp_path)
    (tmp_path / "c.csv").mkdir()
    (tmp_path / "c.csv" / "notes").write_text("of another hand")
    with pytest.raises(OSError, match=r"c\.csv"):
        write_own(tmp_path, SECOND)  # a and b have had their turn by then
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir() if path.is_file()} == before
    assert (tmp_path / "c.csv" / "notes").read_text() == "of another hand"
