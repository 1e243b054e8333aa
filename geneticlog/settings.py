"""Where things are on this machine, and who is at the keyboard: read from the environment, never guessed twice."""

from __future__ import annotations

import os
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from geneticlog.errors import GeneticlogError

DATABASE_VARIABLE = "GENETICLOG_DATABASE"
PERSON_VARIABLE = "GENETICLOG_PERSON"
STOCKS_VARIABLE = "GENETICLOG_STOCKS"
PASSWORD_FILE_VARIABLE = "GENETICLOG_PASSWORD_FILE"
SETTINGS_VARIABLE = "GENETICLOG_SETTINGS"
# the settings a person can keep in a file -> the environment variable that goes before it
VARIABLES = {"database": DATABASE_VARIABLE, "person": PERSON_VARIABLE, "stocks": STOCKS_VARIABLE}


def data_folder() -> Path:
    """Return the user's data folder for geneticlog (not created here)."""
    from platformdirs import user_data_path

    return user_data_path("geneticlog", appauthor=False)


def settings_file() -> Path:
    """Return the user's settings file (not created here): a TOML file of ``database``, ``person`` and ``stocks``."""
    from platformdirs import user_config_path

    return Path(
        os.environ.get(SETTINGS_VARIABLE) or user_config_path("geneticlog", appauthor=False) / "settings.toml"
    )


@dataclass(frozen=True)
class Setting:
    """A value and where it comes from, in words."""

    value: str
    source: str


def setting(key: str) -> Setting | None:
    """Return a setting: the environment's, else that of the settings file, else None.

    Raises GeneticlogError for a settings file that is not TOML, or holds another key or something else than a text.
    """
    variable = VARIABLES[key]
    if named := os.environ.get(variable, "").strip():
        return Setting(named, variable)
    file = settings_file()
    if not file.is_file():
        return None
    value = _stored(file).get(key, "").strip()
    return Setting(value, str(file)) if value else None


def _stored(file: Path) -> dict[str, str]:
    """Return what the settings file holds. Raises GeneticlogError with file, line and key."""
    from geneticlog.toml_text import TomlSyntax, TomlText

    try:
        toml = TomlText(file.read_text(encoding="utf-8-sig"))
    except (TomlSyntax, UnicodeDecodeError) as fault:
        raise GeneticlogError(
            f"{file}: this settings file is not TOML ({fault}); correct it or remove it"
        ) from fault
    for name, value in toml.table.items():
        where = f"{file}, line {toml.line_of('', name)}, {name}"
        if name not in VARIABLES:
            raise GeneticlogError(
                f"{where}: there is no such setting; the settings are {', '.join(VARIABLES)}"
            )
        if not isinstance(value, str):
            raise GeneticlogError(f"{where}: it has to be a text in quotes, not {value!r}")
    return toml.table


def database_setting() -> str:
    """Return the database that is used when none is named; see ``setting``, else a file in the user's data folder."""
    found = setting("database")
    return found.value if found else str(data_folder() / "geneticlog.sqlite")


def person() -> str:
    """Return who is at the keyboard, for the record of who did what; see ``setting``, else the login."""
    import getpass
    import socket

    if found := setting("person"):
        return found.value
    try:
        return getpass.getuser()
    except (KeyError, OSError):  # no such user in a bare container
        return f"someone at {socket.gethostname()}"


def local_time(when: datetime, *, with_offset: bool = False) -> str:
    """Return an instant as people read it: to the minute, in this machine's time; on paper with its offset from UTC."""
    here = when.astimezone()
    return f"{here:%Y-%m-%d %H:%M} (UTC{here:%z})" if with_offset else f"{here:%Y-%m-%d %H:%M}"


def local_day(when: datetime) -> date:
    """Return the day of an instant in this machine's time: 9 p.m. on the water is not the next day."""
    return when.astimezone().date()


def shipped_folder(name: str) -> Path:
    """Return a folder that is inside the wheel, or beside the package in a source checkout."""
    inside = Path(__file__).parent / name
    return inside if inside.is_dir() else Path(__file__).parent.parent / name


def reading_limit(name: str, default: int) -> int:
    """Return a limit of what a file may ask for, as its variable sets it. Raises GeneticlogError."""
    variable = f"GENETICLOG_READ_{name.upper()}"
    given = os.environ.get(variable, "").strip()
    if not given:
        return default
    if not given.isdigit() or int(given) == 0:
        raise GeneticlogError(f"{variable} is {given!r}; give a whole number above 0, such as {default}")
    return int(given)
