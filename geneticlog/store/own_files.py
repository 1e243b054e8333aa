"""Files in a folder shared with other people's files: ours replaced, all of them or none, no other lost."""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import tempfile
import time
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path

from geneticlog.errors import Refused

LIST = ".geneticlog-files"  # beside them: what we wrote, so that a file of another hand is told from our own
UNDER_WAY = (
    LIST + "-under-way"
)  # what the list says until all files are in place: the old and the new digests
ROOM = ".geneticlog-waiting-"
A_DAY = 86_400.0
MOST_NAMED = 4


def write_own(folder: Path, files: Mapping[str, bytes], *, replace: bool = False) -> list[Path]:
    """Write files into a folder, all of them or none; return their paths in the same order.

    They are written whole beside their place first. A folder that is new, or empty, then gets its name in one step:
    it is there with all files, or not there. In a folder that holds other files each takes its place in turn, since no
    file system changes several names at once: a fault before or in between leaves the folder as it was, but a process
    killed in between (or a cut of the power) leaves some old and some new. To write again then puts all in place; what
    we left is known by the list, which is written before the first takes its place.

    files
        name -> content.
    replace
        write over files that are not as we left them too.
    raises
        Refused where a file of that name is there that we did not write, or that was changed since; OSError, with the
        name that was asked for, where the files cannot be written.
    """
    if not folder.is_symlink() and (not folder.exists() or (folder.is_dir() and not any(folder.iterdir()))):
        return _write_new_folder(folder, files)
    ours = _listed(folder)
    _refuse_others(folder, files, ours, replace=replace)
    new = {name: _digest(content) for name, content in files.items()}
    on_the_way = ours | {name: f"{ours.get(name, '')} {digest}".strip() for name, digest in new.items()}
    with _waiting_room(folder, folder) as room:
        for name, content in {**files, UNDER_WAY: _list(on_the_way), LIST: _list(ours | new)}.items():
            _write(room / name, content, folder / name)
        _put_in_place(room, folder, list(files))
    return [folder / name for name in files]


def _write_new_folder(folder: Path, files: Mapping[str, bytes]) -> list[Path]:
    """Write files into a folder that is not there yet, or is empty: it appears with all of them in one step."""
    listed = _list({name: _digest(content) for name, content in files.items()})
    with _folder_for(folder.parent), _waiting_room(folder.parent, folder) as room:
        whole = room / "whole"
        whole.mkdir()
        for name, content in {**files, LIST: listed}.items():
            _write(whole / name, content, folder / name)
        try:
            if folder.exists():
                folder.rmdir()  # not every system puts a folder over an empty one
            whole.rename(folder)
        except OSError as fault:
            raise OSError(fault.errno, fault.strerror, str(folder)) from fault
    return [folder / name for name in files]


def _digest(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def _list(digests: Mapping[str, str]) -> bytes:
    return (json.dumps(digests, indent=0, sort_keys=True) + "\n").encode()


def _refuse_others(
    folder: Path, files: Mapping[str, bytes], ours: Mapping[str, str], *, replace: bool
) -> None:
    """Raise Refused for files in the way that geneticlog did not write."""
    present = {name: (folder / name).read_bytes() for name in files if (folder / name).is_file()}
    others = [
        name
        for name, content in present.items()
        if content != files[name] and _digest(content) not in ours.get(name, "").split()
    ]
    if others and not replace:
        named = ", ".join(others[:MOST_NAMED])
        more = f" and {len(others) - MOST_NAMED} more" if len(others) > MOST_NAMED else ""
        they = "it" if len(others) == 1 else "them"
        raise Refused(
            f"{folder} holds {named}{more}, which geneticlog did not write or somebody changed since; "
            f"write over {they} with --replace, or name another folder"
        )


@contextmanager
def _folder_for(folder: Path) -> Iterator[None]:
    """Make a folder, with those above it, where it is not there; after a fault those that were made are gone again."""
    made = [one for one in (folder, *folder.parents) if not one.exists()]
    folder.mkdir(parents=True, exist_ok=True)
    try:
        yield
    except BaseException:
        for one in made:
            one.rmdir()
        raise


@contextmanager
def _waiting_room(place: Path, asked_for: Path) -> Iterator[Path]:
    """Give a folder on the same disk for files that are not in their place yet; it is gone afterwards.

    One that a killed process left a day ago is gone then too.
    """
    for left in place.glob(f"{ROOM}*"):
        if left.is_dir() and time.time() - left.stat().st_mtime > A_DAY:
            shutil.rmtree(left, ignore_errors=True)
    try:
        room = Path(tempfile.mkdtemp(dir=place, prefix=ROOM))
    except OSError as fault:  # told by the name that was asked for, not by that of the temporary folder
        raise OSError(fault.errno, fault.strerror, str(asked_for)) from fault
    try:
        yield room
    finally:
        shutil.rmtree(room, ignore_errors=True)


def _write(path: Path, content: bytes, asked_for: Path) -> None:
    try:
        with path.open("wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
    except OSError as fault:
        raise OSError(fault.errno, fault.strerror, str(asked_for)) from fault


def _put_in_place(room: Path, folder: Path, names: Sequence[str]) -> None:
    """Move files from the waiting room to their places; after a fault those that were there are there again.

    The list tells of the files as they were and as they will be until all are in place.
    """
    before = room / "before"
    before.mkdir()
    reached: list[str] = []
    list_file = folder / LIST
    try:
        if list_file.exists():
            shutil.copy2(list_file, before / LIST)
        (room / UNDER_WAY).replace(list_file)
        for name in names:
            reached.append(name)
            if (folder / name).is_file():
                (folder / name).replace(before / name)
            (room / name).replace(folder / name)
        (room / LIST).replace(list_file)
    except BaseException as fault:
        for name in reached:
            if (before / name).exists():
                (before / name).replace(folder / name)
            elif not (room / name).exists():
                (folder / name).unlink()
        if (before / LIST).exists():
            (before / LIST).replace(list_file)
        else:
            list_file.unlink(missing_ok=True)
        if isinstance(fault, OSError):
            raise OSError(fault.errno, fault.strerror, str(folder / (reached or [LIST])[-1])) from fault
        raise


def _listed(folder: Path) -> dict[str, str]:
    try:
        listed = json.loads((folder / LIST).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return {str(name): str(digest) for name, digest in listed.items()} if isinstance(listed, dict) else {}
