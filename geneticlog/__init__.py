"""Follows genetic samples of largemouth bass from the fish on the boat to the lake report.

For notebooks: ``geneticlog.open(path_or_url)`` gives a database as tidy DataFrames, read only.
"""

from __future__ import annotations

from os import PathLike
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from geneticlog.faces.notebook.log import Log

__version__ = "0.1.0"


def open(database: str | PathLike[str] | None = None) -> Log:
    """Open a database to read it as tidy DataFrames: ``geneticlog.open("bass.sqlite").fish()``.

    database
        path of a SQLite file, a ``postgresql://`` URL, or None for the database of your settings.
    raises
        StoreUnready where it is missing, unreachable, or of another revision than this program.
    """
    from geneticlog.faces.notebook.log import open_log  # nothing is loaded before it is asked for

    return open_log(database)
