"""Several files that take their places together: whole on the disk first, old and new never side by side.

A folder that is new gets its name in one step, with all its files. No file system changes several names in one that is
there: its files are made ready in a waiting room beside them, which then gets a name that says so (``READY``), with
their order in it. From that step on they will be placed, by this process or by the next that writes there: first the
old ones are taken away, the one to open first before all others; then the new ones are placed, and that one last. So
whoever looks in between, or after a kill, meets old files or new ones, never both, and the page only when all is there.
"""

from __future__ import annotations

import errno
import json
import os
import shutil
import tempfile
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path

from geneticlog.errors import Refused
from geneticlog.store.writing import by_its_own_name, require_folder

ROOM = ".geneticlog-waiting-"
READY = ".geneticlog-ready"
ORDER = "order"
CLEAR, PLACE, BACK = "new", "placing", "back"  # what a room's new files are called tells how far it is
OLD = "old"
A_DAY = 86_400.0


class Together:
    """Files that wait for their places in one folder, and in folders below it."""

    def __init__(self, folder: Path, room: Path) -> None:
        self.folder, self.room, self.names = folder, room, list[str]()

    def add(self, name: str, content: bytes) -> Path:
        """Write a file onto the disk, not yet in its place; return the place.

        The first is the one to open first; files of the folder itself come before those of folders below.
        """
        waiting, place = self.room / CLEAR / name, self.folder / name
        with by_its_own_name(place):
            waiting.parent.mkdir(parents=True, exist_ok=True)
            _write(waiting, content)
        if name not in self.names:
            self.names.append(name)
        return place

    @contextmanager
    def turn(self) -> Iterator[None]:
        """Wait until no other process places files in this folder; what a killed one left is placed first."""
        with _alone_in(self.folder if self.folder.is_dir() else self.folder.parent):
            _finish_left(self.folder)
            yield

    def place(self) -> None:
        """Put all files in their places, within ``turn``: all of them, or the folder is as it was.

        Raises OSError with the name of the file that could not be placed.
        """
        with self.placed():
            pass

    @contextmanager
    def placed(self) -> Iterator[None]:
        """Have all files in their places for a block; where it fails, the folder is as it was. Raises as ``place``."""
        for name in self.names:
            place = self.folder / name
            if place.exists() and not place.is_file():
                why = errno.EISDIR if place.is_dir() else errno.EEXIST  # a device or a pipe
                raise OSError(why, os.strerror(why), str(place))
        if not self.folder.exists():
            with by_its_own_name(self.folder):
                (self.room / CLEAR).rename(self.folder)
            _sync(self.folder.parent)
            try:
                yield
            except BaseException:
                self.folder.rename(self.room / CLEAR)
                raise
            return
        order = sorted(self.names, key=lambda name: name.count("/"))
        with by_its_own_name(self.folder):
            _write(self.room / ORDER, json.dumps(order).encode())
            _sync(self.room)
            self.room.rename(self.folder / READY)
            _sync(self.folder)
        with _all_or_none(self.folder, order):
            yield


@contextmanager
def together(folder: Path) -> Iterator[Together]:
    """Give the waiting room of files for one folder, which may be new; what was not placed is gone afterwards.

    Folders above it that were made for it are gone again after a fault. A room that a killed process left a day ago is
    removed too.
    """
    if folder.exists() and not folder.is_dir():
        raise OSError(errno.ENOTDIR, os.strerror(errno.ENOTDIR), str(folder))
    beside = folder if folder.is_dir() or folder.is_symlink() else folder.parent
    made = [one for one in (beside, *beside.parents) if not one.exists() and not folder.is_symlink()]
    with by_its_own_name(folder):
        if made:
            beside.mkdir(parents=True)
        for left in beside.glob(f"{ROOM}*"):
            if left.is_dir() and time.time() - left.stat().st_mtime > A_DAY:
                shutil.rmtree(left, ignore_errors=True)
    try:
        with by_its_own_name(folder):
            room = Path(tempfile.mkdtemp(dir=beside, prefix=ROOM))
            (room / CLEAR).mkdir()
        try:
            yield Together(folder, room)
        finally:
            shutil.rmtree(room, ignore_errors=True)
    except BaseException:
        for one in made:
            with suppress(OSError):  # not empty: somebody else uses it by now
                one.rmdir()
        raise


def write_together(files: Mapping[Path, bytes]) -> None:
    """Write several files of one folder, all or none; the one to open first on top.

    Raises NotFound where the folder is not there, OSError with the name of the file that cannot be written.
    """
    for path in files:
        require_folder(path)
    with together(next(iter(files)).parent) as waiting:
        for path, content in files.items():
            waiting.add(path.name, content)
        with waiting.turn():
            waiting.place()


def finish_left(folder: Path) -> None:
    """Place the files that a process killed in the middle has left ready in a folder; mostly there are none."""
    if (folder / READY).is_dir():
        with _alone_in(folder):
            _finish_left(folder)


def _finish_left(folder: Path) -> None:
    if (folder / READY).is_dir():
        try:
            _finish(folder)
        except OSError:
            if (folder / READY).exists():  # the old ones could not be put back either
                raise


def _finish(folder: Path) -> None:
    """Go on with the files that are ready, however far another process came; after a fault the old ones are back."""
    with _all_or_none(folder, _order(folder / READY)):
        pass


@contextmanager
def _all_or_none(folder: Path, names: list[str]) -> Iterator[None]:
    """Put what is ready in its place; where that or the block fails, the old files are there again."""
    room = folder / READY
    try:
        if (room / CLEAR).is_dir():
            for name in names:
                _move(folder / name, room / OLD / name)
            (room / CLEAR).rename(room / PLACE)
        if (room / PLACE).is_dir():
            for name in reversed(names):
                _move(room / PLACE / name, folder / name)
        yield
    except BaseException:
        for way in (CLEAR, PLACE):
            if (room / way).is_dir():
                (room / way).rename(room / BACK)
        _take_back(folder, room, names)
        raise
    if (room / BACK).is_dir():
        _take_back(folder, room, names)
        return
    _sync(folder)
    _remove(room)


def _order(room: Path) -> list[str]:
    """Return the names in a room that is ready; raises Refused where they cannot be read or lead elsewhere."""
    try:
        names = [str(name) for name in json.loads((room / ORDER).read_text(encoding="utf-8"))]
    except (OSError, ValueError, TypeError):
        names = []
    if not names or any(Path(name).is_absolute() or ".." in Path(name).parts for name in names):
        raise Refused(
            f"{room} was left by a run that was killed, and it cannot be read; move it away, then run this again"
        )
    return names


def _take_back(folder: Path, room: Path, names: list[str]) -> None:
    """Take the new files out of their places again and put the old ones back."""
    for name in reversed(names):
        if not (room / BACK / name).exists():
            _move(folder / name, room / BACK / name)
        _move(room / OLD / name, folder / name)
    for below in {(folder / name).parent for name in names} - {folder}:
        with suppress(OSError):  # not empty, or not there
            below.rmdir()
    _remove(room)


def _remove(room: Path) -> None:
    """End what a room stands for, in one step, and remove it; where that cannot be, the next turn tries again."""
    with suppress(OSError):
        done = Path(tempfile.mkdtemp(dir=room.parent, prefix=ROOM))
        room.rename(done / "done")
        shutil.rmtree(done, ignore_errors=True)


def _move(source: Path, target: Path) -> None:
    """Move a file where it is still to be moved; raises Refused for a file of another hand that came in the way."""
    if not os.path.lexists(source):
        return
    if os.path.lexists(target):
        kept, new = sorted((source, target), key=lambda path: READY in path.parts)
        raise Refused(
            f"{kept} was written while files of that name were put in place, and the other waits as {new}; "
            "move one of them away, then run this again"
        )
    with by_its_own_name(source if READY in target.parts else target):
        target.parent.mkdir(parents=True, exist_ok=True)
        source.rename(target)


def _write(path: Path, content: bytes) -> None:
    with path.open("wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


@contextmanager
def _alone_in(folder: Path) -> Iterator[None]:
    """Hold the folder for one process at a time, where the system can lock a folder; the lock ends with the process."""
    try:
        import fcntl

        opened = os.open(folder, os.O_RDONLY)
    except (ImportError, OSError):  # Windows, or a folder that is not there yet
        yield
        return
    try:
        with suppress(OSError):  # some shares lock nothing
            fcntl.flock(opened, fcntl.LOCK_EX)
        yield
    finally:
        os.close(opened)


def _sync(folder: Path) -> None:
    """Write the names in a folder onto the disk, where the system can."""
    with suppress(OSError):
        opened = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(opened)
        finally:
            os.close(opened)
