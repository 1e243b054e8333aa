"""Options that several reports share, and the folder they write into."""

from __future__ import annotations

from pathlib import Path

import click

from geneticlog.errors import Refused
from geneticlog.faces.app.desk import Desk


def out_folder(out: Path) -> Path:
    """Return a folder to write into; it is made with the files. Raises Refused where a file has its name."""
    if out.exists() and not out.is_dir():
        raise Refused(f"{out} is a file; give --out a folder")
    return out


def need_out_or_json(desk: Desk, out: Path | None) -> None:
    """Raise a usage error where a command would neither write nor print."""
    if out is None and not desk.as_json:
        raise click.UsageError("Give --out DIR for the files, or --json for the numbers.")


replace_option = click.option(
    "--replace",
    is_flag=True,
    help="Overwrite files too that geneticlog did not write, or that were changed.",
)
rule_set_option = click.option(
    "--rule-set",
    "rule_set_name",
    metavar="NAME",
    help="Name fish by this rule set (default: the one in force).",
)
matters_option = click.option(
    "--matters",
    type=click.FloatRange(0.1, 50),
    default=10,
    show_default=True,
    metavar="POINTS",
    help="Least difference that matters, in points: a smaller one is called small.",
)
