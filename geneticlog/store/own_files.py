"""Files in a folder shared with other people's files: ours replaced, all of them or none, no other lost."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

from geneticlog.errors import Refused
from geneticlog.store.placed_together import Together, finish_left, together

LIST = ".geneticlog-files"  # beside them: what we wrote, so that a file of another hand is told from our own
MOST_NAMED = 4


class OwnFiles:
    """Files of one report, export or shipment, or of many, that wait for their places."""

    def __init__(self, waiting: Together, *, replace: bool) -> None:
        self._waiting, self._replace = waiting, replace
        self._digests: dict[str, dict[str, str]] = {}  # folder below -> name -> digest

    def add(self, files: Mapping[str, bytes], *, below: str = "") -> list[Path]:
        """Write files onto the disk, not yet in their places; return the places, in the same order.

        files
            name -> content; the one to open first on top.
        below
            name of a folder in the folder that they go to.
        raises
            Refused as ``place``, before a long run rather than after it.
        """
        digests = {name: _digest(content) for name, content in files.items()}
        self._refuse_others(self._waiting.folder / below, digests)
        self._digests.setdefault(below, {}).update(digests)
        return [self._waiting.add(_joined(below, name), content) for name, content in files.items()]

    def place(self) -> None:
        """Put all files in their places, or none.

        Raises Refused where a file of that name is there that we did not write, or that was changed since, unless
        ``replace``; OSError, with the name that was asked for, where a file cannot be placed.
        """
        with self.placed():
            pass

    @contextmanager
    def placed(self) -> Iterator[None]:
        """Have all files in their places for a block; where it fails, the folder is as it was. Raises as ``place``."""
        with self._waiting.turn():
            for below, digests in self._digests.items():
                folder = self._waiting.folder / below
                self._refuse_others(folder, digests)
                listed = json.dumps(_listed(folder) | digests, indent=0, sort_keys=True) + "\n"
                self._waiting.add(_joined(below, LIST), listed.encode())
            with self._waiting.placed():
                yield

    def _refuse_others(self, folder: Path, digests: Mapping[str, str]) -> None:
        """Raise Refused for files in the way that geneticlog did not write, unless they are to be replaced."""
        if self._replace:
            return
        ours = _listed(folder)
        present = {
            name: _digest((folder / name).read_bytes()) for name in digests if (folder / name).is_file()
        }
        others = [name for name, digest in present.items() if digest not in (digests[name], ours.get(name))]
        if others:
            named = ", ".join(others[:MOST_NAMED])
            more = f" and {len(others) - MOST_NAMED} more" if len(others) > MOST_NAMED else ""
            they = "it" if len(others) == 1 else "them"
            raise Refused(
                f"{folder} holds {named}{more}, which geneticlog did not write or somebody changed since; "
                f"write over {they} with --replace, or name another folder"
            )


@contextmanager
def own_files(folder: Path, *, replace: bool = False) -> Iterator[OwnFiles]:
    """Give a place where files wait until all of them are placed at once; see ``placed_together``.

    replace
        write over files that are not as we left them too.
    """
    finish_left(folder)
    with together(folder) as waiting:
        yield OwnFiles(waiting, replace=replace)


def write_own(folder: Path, files: Mapping[str, bytes], *, replace: bool = False) -> list[Path]:
    """Write files into a folder, all of them or none; return their paths in the same order. Raises as ``place``."""
    with own_files(folder, replace=replace) as ours:
        paths = ours.add(files)
        ours.place()
    return paths


def _joined(below: str, name: str) -> str:
    return f"{below}/{name}" if below else name


def _digest(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def _listed(folder: Path) -> dict[str, str]:
    try:
        listed = json.loads((folder / LIST).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return {str(name): str(digest) for name, digest in listed.items()} if isinstance(listed, dict) else {}
