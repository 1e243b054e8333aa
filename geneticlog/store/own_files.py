"""Files in a folder shared with other people's files: ours replaced, all of them or none, no other lost."""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path

from geneticlog.errors import Refused

LIST = ".geneticlog-files"  # beside them: what we wrote, so that a file of another hand is told from our own
MOST_NAMED = 4


def write_own(folder: Path, files: Mapping[str, bytes], *, replace: bool = False) -> list[Path]:
    """Write files into a folder, all of them or none; return their paths in the same order.

    They are written whole into a folder beside their place first, and only then put there. A fault before or in
    between leaves the folder as it was, or not there where it was not.

    files
        name -> content.
    replace
        write over files that are not as we left them too.
    raises
        Refused where a file of that name is there that we did not write, or that was changed since; OSError, with the
        name that was asked for, where the files cannot be written.
    """
    ours = _listed(folder)
    _refuse_others(folder, files, ours, replace=replace)
    ours |= {name: hashlib.sha256(content).hexdigest() for name, content in files.items()}
    listed = (json.dumps(ours, indent=0, sort_keys=True) + "\n").encode()
    with _folder_for(folder), _waiting_room(folder) as room:
        for name, content in {**files, LIST: listed}.items():
            _write(room / name, content, folder / name)
        _put_in_place(room, folder, [*files, LIST])
    return [folder / name for name in files]


def _refuse_others(
    folder: Path, files: Mapping[str, bytes], ours: Mapping[str, str], *, replace: bool
) -> None:
    """Raise Refused for files in the way that geneticlog did not write."""
    there = {name: (folder / name).read_bytes() for name in files if (folder / name).is_file()}
    others = [
        name
        for name, content in there.items()
        if content != files[name] and ours.get(name) != hashlib.sha256(content).hexdigest()
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
def _waiting_room(folder: Path) -> Iterator[Path]:
    """Give a folder on the same disk for files that are not in their place yet; it is gone afterwards."""
    try:
        room = Path(tempfile.mkdtemp(dir=folder, prefix=".geneticlog-"))
    except OSError as fault:  # told by the name that was asked for, not by that of the temporary folder
        raise OSError(fault.errno, fault.strerror, str(folder)) from fault
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
    """Move files from the waiting room to their places; after a fault those that were there are there again."""
    before = room / "before"
    before.mkdir()
    reached: list[str] = []
    try:
        for name in names:
            reached.append(name)
            if (folder / name).is_file():
                (folder / name).replace(before / name)
            (room / name).replace(folder / name)
    except BaseException as fault:
        for name in reached:
            if (before / name).exists():
                (before / name).replace(folder / name)
            elif not (room / name).exists():
                (folder / name).unlink()
        if isinstance(fault, OSError):
            raise OSError(fault.errno, fault.strerror, str(folder / reached[-1])) from fault
        raise


def _listed(folder: Path) -> dict[str, str]:
    try:
        told = json.loads((folder / LIST).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return {str(name): str(digest) for name, digest in told.items()} if isinstance(told, dict) else {}
