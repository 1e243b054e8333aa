"""Files written into a folder that other people's files may share: our own are written anew, no other is lost."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from pathlib import Path

from geneticlog.errors import Refused
from geneticlog.store.writing import write_whole

LIST = ".geneticlog-files"  # beside them: what we wrote, so that a file of another hand is told from our own
MOST_NAMED = 4


def write_own(folder: Path, files: Mapping[str, bytes], *, replace: bool = False) -> list[Path]:
    """Write files into a folder, each whole or not at all; return their paths in the same order.

    files
        name -> content.
    replace
        write over files that are not as we left them too.
    raises
        Refused where a file of that name is there that we did not write, or that was changed since; nothing is written
        then.
    """
    ours = _listed(folder)
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
    for name, content in files.items():
        write_whole(folder / name, content)
        ours[name] = hashlib.sha256(content).hexdigest()
    write_whole(folder / LIST, (json.dumps(ours, indent=0, sort_keys=True) + "\n").encode())
    return [folder / name for name in files]


def _listed(folder: Path) -> dict[str, str]:
    try:
        told = json.loads((folder / LIST).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return {str(name): str(digest) for name, digest in told.items()} if isinstance(told, dict) else {}
