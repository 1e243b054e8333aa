"""Where things are on this machine, and who is at the keyboard: read from the environment, never guessed twice."""

from __future__ import annotations

import os
from pathlib import Path

DATABASE_VARIABLE = "GENETICLOG_DATABASE"
PERSON_VARIABLE = "GENETICLOG_PERSON"
STOCKS_VARIABLE = "GENETICLOG_STOCKS"


def data_folder() -> Path:
    """Return the user's data folder for geneticlog (not created here)."""
    from platformdirs import user_data_path

    return user_data_path("geneticlog", appauthor=False)


def database_setting() -> str:
    """Return the database that is used when none is named: the environment's, else a file of the user's."""
    return os.environ.get(DATABASE_VARIABLE) or str(data_folder() / "geneticlog.sqlite")


def person() -> str:
    """Return who is at the keyboard, for the record of who did what."""
    import getpass
    import socket

    named = os.environ.get(PERSON_VARIABLE, "").strip()
    if named:
        return named
    try:
        return getpass.getuser()
    except (KeyError, OSError):  # no such user in a bare container
        return f"someone at {socket.gethostname()}"


def shipped_folder(name: str) -> Path:
    """Return a folder that is inside the wheel, or beside the package in a source checkout."""
    inside = Path(__file__).parent / name
    return inside if inside.is_dir() else Path(__file__).parent.parent / name
