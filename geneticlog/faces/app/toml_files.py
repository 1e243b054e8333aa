"""TOML files given on the command line: a lab's layout, a manifest form, markers, a rule set."""

from __future__ import annotations

from pathlib import Path

import click

from geneticlog.errors import NotFound, SheetFault

TOML_FILE = click.Path(path_type=Path, dir_okay=False)


def read_toml(file: Path | None) -> str | None:
    """Return the text of a TOML file given on the command line. Raises NotFound, SheetFault for one that is not."""
    from geneticlog.toml_text import TomlSyntax, TomlText

    if file is None:
        return None
    try:
        text = file.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        raise NotFound(f"there is no file {file}; check the path") from None
    except UnicodeDecodeError:
        raise SheetFault("this is not a text in UTF-8", file=str(file), way_out="save it as UTF-8") from None
    try:
        TomlText(text)
    except TomlSyntax as fault:
        raise SheetFault(
            f"this is not TOML: {fault.problem}", file=str(file), row=fault.line, way_out="correct that line"
        ) from None
    return text
