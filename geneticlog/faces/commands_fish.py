"""``geneticlog fish``: log fish at the prompt or from a pipe, and read filled field sheets."""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from geneticlog.errors import Refused
from geneticlog.faces.desk import Desk, DeskCommand

if TYPE_CHECKING:
    from geneticlog.faces.logbook import Logbook

CAUTION = (
    "Electrofishing can kill. Follow your agency or company safety plan;\n"
    "this program gives no safety clearance."
)


@click.group()
def fish() -> None:
    """Log fish at the prompt or from a pipe, and read filled field sheets."""


@fish.command(cls=DeskCommand)
@click.argument("survey")
@click.option(
    "--prompt/--pipe",
    default=None,
    help="Ask as at a keyboard, or read as from a pipe (else by what input is).",
)
@click.option(
    "--yes", "sure", is_flag=True, help="In a pipe: store what would be asked about, with a finding each."
)
@click.option(
    "--log",
    "log_name",
    default="main",
    metavar="NAME",
    help="In a pipe: name of the scanner's log, if there are several.",
)
@click.option(
    "--mend",
    type=click.Path(path_type=Path, dir_okay=False),
    help="In a pipe: file for the lines that were not stored.",
)
@click.option(
    "--tissue",
    type=click.Choice(["mouth_swab", "fin_clip"]),
    help="Where a line does not say; default mouth_swab.",
)
@click.option("--medium", help="What is in the vials: ethanol, dry, buffer.")
@click.option("--site", help="Where on the lake these fish were caught.")
@click.pass_obj
def log(
    desk: Desk,
    survey: str,
    prompt: bool | None,
    sure: bool,
    log_name: str,
    mend: Path | None,
    tissue: str | None,
    medium: str | None,
    site: str | None,
) -> None:
    """Log the fish of SURVEY, one line a fish.

    A line is a vial code, a length and a weight in any order: BG4F7Q2KR 16 1/2 2 lb 5 oz. Without a code the
    fish was measured only; x4 makes it a tally; "second" before a code is a second swab of the fish before.
    Each fish is stored before the next line is read. Type help at the prompt for more.
    """
    from geneticlog.faces.logbook import Logbook

    if not re.fullmatch(r"[A-Za-z0-9._-]{1,40}", log_name):
        raise click.BadParameter("letters, digits, full stop, hyphen and underscore only", param_hint="--log")
    book = Logbook(desk, survey, tissue=tissue, medium=medium, site=site)
    at_prompt = sys.stdin.isatty() if prompt is None else prompt
    if at_prompt:
        _at_the_prompt(book)
    else:
        _from_a_pipe(book, log_name, sure, mend)


def _at_the_prompt(book: Logbook) -> None:
    from geneticlog.faces.log_prompt import log_prompt

    click.echo(f"Survey {book.survey}: {book.lake}, {book.surveyed_on}, {book.gear}.")
    if "electro" in book.gear.lower():
        click.echo(CAUTION)
    length_unit = {"in": "inches", "mm": "mm", "cm": "cm"}[book.length_unit]
    click.echo(f"Lengths are in {length_unit} and weights in {book.weight_unit} where you name no unit.")
    click.echo("Type help, or done to end.")
    for one in book.tally:
        if one.target or one.n_caught:
            click.echo(f"  {one.words}")
    n_stored = log_prompt(book, _typed())
    click.echo(f"{n_stored} line{'s' if n_stored != 1 else ''} stored in this sitting.")


def _from_a_pipe(book: Logbook, log_name: str, sure: bool, mend: Path | None) -> None:
    from geneticlog.faces.log_pipe import free_name, log_pipe, write_mend_file

    report = log_pipe(book, _piped(), log_name=log_name, sure=sure)
    told = f"{report.n_stored} stored, {report.n_already} stored before, {report.n_undone} undone"
    if not report.unstored:
        click.echo(f"Survey {book.survey}: {told}.", err=True)
        return
    file = mend or free_name(Path(f"{book.survey}.mend.txt"))
    write_mend_file(report, file)
    n = len(report.unstored)
    raise Refused(
        f"survey {book.survey}: {told}, {n} line{'s' if n != 1 else ''} not stored; "
        f"mend {'them' if n != 1 else 'it'} in {file} and replay: geneticlog fish log {book.survey} < {file}"
    )


def _typed() -> Iterator[str]:
    """Lines from the keyboard, each after a prompt; ends with the input or with Ctrl-C at an empty prompt."""
    if sys.stdin.isatty():
        import readline  # noqa: F401 - line editing and history at the prompt
    while True:
        try:
            if sys.stdin.isatty():
                yield input("fish> ")
            else:
                click.echo("fish> ", nl=False)
                text = sys.stdin.readline()
                click.echo()
                if not text:
                    return
                yield text
        except (EOFError, KeyboardInterrupt):
            click.echo()
            return


def _piped() -> Iterator[str]:
    stream = sys.stdin
    if hasattr(stream, "reconfigure"):
        stream.reconfigure(errors="replace")
    yield from stream
