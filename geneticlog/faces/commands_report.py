"""``geneticlog report``: one lake, all lakes, and the data behind them."""

from __future__ import annotations

from pathlib import Path

import click

from geneticlog.errors import NotFound, Refused
from geneticlog.faces.desk import Desk, ShowCommand

PAPERS = {"letter": "us-letter", "a4": "a4"}


@click.group()
def report() -> None:
    """Report one lake, all lakes, or the data behind them."""


def out_folder(out: Path) -> Path:
    """Return a folder to write into, made if it is not there. Raises Refused where a file has its name."""
    if out.exists() and not out.is_dir():
        raise Refused(f"{out} is a file; give --out a folder")
    out.mkdir(parents=True, exist_ok=True)
    return out


def need_out_or_json(desk: Desk, out: Path | None) -> None:
    """Raise a usage error where a command would neither write nor print."""
    if out is None and not desk.as_json:
        raise click.UsageError("Give --out DIR for the files, or --json for the numbers.")


@report.command(cls=ShowCommand)
@click.argument("lake")
@click.option(
    "--out", type=click.Path(path_type=Path), metavar="DIR", help="Folder the report is written into."
)
@click.option(
    "--survey", "survey_code", metavar="SURVEY", help="Survey it turns on (else the latest with results)."
)
@click.option(
    "--half-width",
    type=click.FloatRange(0.01, 0.5),
    default=0.10,
    show_default=True,
    help="Half-width wanted of a class mean next time.",
)
@click.option(
    "--paper", type=click.Choice(sorted(PAPERS)), default="letter", show_default=True, help="PDF page."
)
@click.pass_obj
def lake(
    desk: Desk, lake: str, out: Path | None, survey_code: str | None, half_width: float, paper: str
) -> None:
    """Write the report of one lake: HTML, PDF, figures, XLSX and CSV.

    Example: geneticlog report lake HERON --out reports/heron
    """
    from geneticlog.faces.answer import answer
    from geneticlog.faces.report_tables import lake_document
    from geneticlog.work.lake_report import gather_lake

    need_out_or_json(desk, out)
    with desk.reading() as session:
        facts = gather_lake(
            session, lake, now=desk.now(), by=desk.by, survey_code=survey_code, half_width=half_width
        )
    written: list[Path] = []
    if out is not None:
        if facts.main is None:
            raise NotFound(
                f"lake {facts.lake} has no survey yet, so there is nothing to report; "
                "open one with: geneticlog survey open"
            )
        from geneticlog.faces.report_files import write_lake

        written = write_lake(out_folder(out), facts, paper=PAPERS[paper])
    sentences = answer(facts)

    def say() -> None:
        for sentence in sentences:
            click.echo(sentence)
        click.echo("")
        for path in written:
            click.echo(f"Wrote {path}")

    desk.show(lake_document(facts, sentences), say)
