"""Files of one report, manifest or export: all of them in their place, or the folder as it was."""

from __future__ import annotations

import os
import resource
import shutil
import signal
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from geneticlog.errors import Refused
from geneticlog.store.own_files import LIST, own_files, write_own
from geneticlog.store.placed_together import finish_left, write_together
from geneticlog.store.writing import write_whole

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
        write_own(tmp_path, SECOND)
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir() if path.is_file()} == before
    assert (tmp_path / "c.csv" / "notes").read_text() == "of another hand"


STEPS = {"os.rename", "os.mkdir", "os.rmdir", "os.remove"}  # what changes a name on the disk
MOST_STEPS = 60


def with_a_step(number: int, do: Callable[[], object], refused: bool = False, killed: int = 0) -> int:
    """Do something in a process of its own, whose n-th change of a name is refused, or that is killed before it.

    killed: steps after the n-th; -1: not at all. Returns the exit code, 3 for a fault.
    """
    since = [-1 - number]

    def count(event: str, _arguments: tuple[object, ...]) -> None:
        if event in STEPS:
            since[0] += 1
            if since[0] == killed:
                os._exit(9)
            if since[0] == 0 and refused:
                raise PermissionError(13, "Permission denied")

    if not (child := os.fork()):
        code = 0
        sys.addaudithook(count)
        try:
            do()
        except OSError:
            code = 3
        finally:
            os._exit(code)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


def a_shared_folder(folder: Path) -> Path:
    folder.mkdir()
    (folder / "notes").write_text("of another hand")
    with own_files(folder) as files:
        files.add({"page.html": b"old page", "a.csv": b"old a", "gone.csv": b"old, not written again"})
        files.add({"page.html": b"old page below"}, below="heron")
        files.place()
    return folder


def second_run(folder: Path) -> None:
    with own_files(folder) as files:
        files.add({"page.html": b"new page", "a.csv": b"new a", "b.csv": b"new b"})
        files.add({"page.html": b"new page below"}, below="heron")
        files.place()


def seen(folder: Path) -> dict[str, str]:
    """What a person sees in a folder: no hidden files."""
    return {
        path.relative_to(folder).as_posix(): path.read_text()
        for path in folder.rglob("*")
        if path.is_file() and not any(part.startswith(".") for part in path.relative_to(folder).parts)
    }


def test_a_process_killed_at_any_step_parts_no_files(tmp_path: Path) -> None:
    """No old file beside a new one, the page only beside all others; the next run finishes what was begun."""
    old = seen(a_shared_folder(tmp_path / "before"))
    shutil.copytree(tmp_path / "before", tmp_path / "after")
    second_run(tmp_path / "after")
    new = seen(tmp_path / "after")
    assert old["notes"] == new["notes"]
    kept = {"notes": old["notes"], "gone.csv": old["gone.csv"]}
    finished = set()
    for step in range(MOST_STEPS):
        folder = Path(shutil.copytree(tmp_path / "before", tmp_path / f"killed-{step}"))
        code = with_a_step(step, lambda: second_run(folder))  # noqa: B023
        there = seen(folder)
        assert kept.items() <= there.items(), step
        ours = there.items() - kept.items()
        assert ours <= old.items() or ours <= new.items(), step
        if "page.html" in there:
            assert there in (old, new), step
        finish_left(folder)
        assert seen(folder) in (old, new), step
        finished.add("new" if seen(folder) == new else "old")
        second_run(folder)
        assert seen(folder) == new, step
        if code == 0:
            break
    else:
        pytest.fail("it never ended")
    assert finished == {"old", "new"}
    assert step > 12


def test_a_fault_at_any_step_leaves_the_folder_as_it_was(tmp_path: Path) -> None:
    """As where a file is open in a program that lets nobody move it; and so where it is killed taking them back."""
    old = seen(a_shared_folder(tmp_path / "before"))
    codes = set()
    for step in range(MOST_STEPS):
        for killed in (-1, 2):
            folder = Path(shutil.copytree(tmp_path / "before", tmp_path / f"refused-{step}-{killed}"))
            codes.add(code := with_a_step(step, lambda: second_run(folder), refused=True, killed=killed))  # noqa: B023
            finish_left(folder)
            assert code == 0 or seen(folder) == old or (code == 9 and len(seen(folder)) == 6), (step, killed)
        if code == 0 and step > 20:
            break
    assert codes == {0, 3, 9}


def test_a_process_killed_before_a_new_folder_has_its_name_leaves_none(tmp_path: Path) -> None:
    for step in range(MOST_STEPS):
        folder = tmp_path / f"deep-{step}" / "out"
        code = with_a_step(step, lambda: second_run(folder))  # noqa: B023
        assert not folder.exists() or len(seen(folder)) == 4, step
        if code == 0:
            assert folder.exists()
            break


def test_files_that_came_in_the_way_of_a_killed_run_are_not_lost(tmp_path: Path) -> None:
    folder = a_shared_folder(tmp_path / "shared")
    for step in range(MOST_STEPS):
        with_a_step(step, lambda: second_run(folder))
        if not (folder / "page.html").exists():
            break
    (folder / "page.html").write_text("of another hand")
    with pytest.raises(Refused, match=r"page\.html was written while"):
        second_run(folder)
    assert (folder / "page.html").read_text() == "of another hand"
    (folder / "page.html").unlink()
    second_run(folder)
    assert seen(folder)["page.html"] == "new page"
    (folder / "a.csv").write_text("changed by somebody")
    with pytest.raises(Refused, match=r"a\.csv"):
        second_run(folder)


def test_what_fails_after_the_files_are_placed_takes_them_back(tmp_path: Path) -> None:
    """As where the record of a report cannot be stored."""

    def not_stored(folder: Path) -> None:
        with own_files(folder) as files:
            files.add({"page.html": b"new page", "b.csv": b"new b"})
            files.add({"page.html": b"new page below"}, below="heron")
            with files.placed():
                assert seen(folder)["b.csv"] == "new b"
                raise Refused("not stored")

    old = seen(a_shared_folder(tmp_path / "shared"))
    for folder in (tmp_path / "shared", tmp_path / "new"):
        with pytest.raises(Refused, match="not stored"):
            not_stored(folder)
    assert seen(tmp_path / "shared") == old
    assert sorted(path.name for path in tmp_path.iterdir()) == ["shared"]


def test_two_processes_that_write_into_one_folder_take_turns(tmp_path: Path) -> None:
    folder = a_shared_folder(tmp_path / "shared")

    def often(mark: bytes) -> None:
        for _ in range(20):
            write_own(folder, dict.fromkeys(("page.html", "x.csv", "y.csv"), mark), replace=True)

    children = []
    for mark in (b"one", b"two"):
        if not (child := os.fork()):
            try:
                often(mark)
            except BaseException:
                os._exit(1)
            os._exit(0)
        children.append(child)
    assert [os.waitpid(child, 0)[1] for child in children] == [0, 0]
    assert len({(folder / name).read_bytes() for name in ("page.html", "x.csv", "y.csv")}) == 1
    assert not list(folder.glob(".geneticlog-waiting-*"))


def test_a_device_is_written_to_and_stays_a_device(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    reader = os.open(tmp_path / "pipe", os.O_RDONLY | os.O_NONBLOCK)
    write_whole(tmp_path / "pipe", b"content")
    assert os.read(reader, 100) == b"content"
    os.close(reader)
    with pytest.raises(OSError, match="pipe"):
        write_together({tmp_path / "pipe": b"content"})
    assert (tmp_path / "pipe").is_fifo()


@pytest.mark.usefixtures("small_files_only")
def test_files_that_belong_together_come_together(tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_bytes(b"before")
    with pytest.raises(OSError, match=r"c\.csv"):
        write_together({tmp_path / name: content for name, content in SECOND.items()})
    assert held(tmp_path) == {"a.csv": b"before"}
    write_together({tmp_path / name: content for name, content in FIRST.items()})
    assert held(tmp_path) == FIRST
