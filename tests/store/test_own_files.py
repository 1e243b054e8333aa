"""Files of one report, manifest or export: all of them in their place, or the folder as it was."""

from __future__ import annotations

import os
import resource
import signal
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from geneticlog.errors import Refused
from geneticlog.store.own_files import LIST, write_own
from geneticlog.store.writing import write_together

FIRST = {"a.csv": b"first a", "b.csv": b"first b"}
SECOND = {"a.csv": b"second a", "b.csv": b"second b", "c.csv": b"c" * 9_000}
THIRD = {"a.csv": b"third a", "b.csv": b"third b", "c.csv": b"third c"}


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


@pytest.mark.parametrize("moves", range(7))
def test_a_process_killed_between_two_files(tmp_path: Path, moves: int) -> None:
    """A new folder is there whole or not at all; in one that is shared, to write again puts all in place."""
    shared = tmp_path / "shared"
    shared.mkdir()
    (shared / "notes").write_text("of another hand")
    write_own(shared, FIRST)

    def killed(folder: Path) -> None:
        left = [moves]

        def count(event: str, _arguments: tuple[object, ...]) -> None:
            if event == "os.rename":  # one file, or the folder, is about to take its place
                left[0] -= 1
                if left[0] < 0:
                    os._exit(9)

        if not (child := os.fork()):
            sys.addaudithook(count)
            write_own(folder, SECOND)
            os._exit(0)
        os.waitpid(child, 0)

    killed(tmp_path / "new")
    assert not (tmp_path / "new").exists() or SECOND.items() <= held(tmp_path / "new").items()
    assert (tmp_path / "new").exists() == (moves > 0)
    killed(shared)
    write_own(shared, THIRD)  # on another day
    found = {path.name: path.read_bytes() for path in shared.iterdir() if path.is_file()}
    assert THIRD.items() <= found.items()
    (shared / "a.csv").write_text("changed by somebody")
    with pytest.raises(Refused, match=r"a\.csv"):
        write_own(shared, FIRST)


@pytest.mark.usefixtures("small_files_only")
def test_files_that_belong_together_come_together(tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_bytes(b"before")
    with pytest.raises(OSError, match=r"c\.csv"):
        write_together({tmp_path / name: content for name, content in SECOND.items()})
    assert held(tmp_path) == {"a.csv": b"before"}
    write_together({tmp_path / name: content for name, content in FIRST.items()})
    assert held(tmp_path) == FIRST
