"""``geneticlog report``: one lake, its fish one by one, all lakes, and the data behind them."""

from __future__ import annotations

from pathlib import Path

import click

from geneticlog.errors import NotFound, Refused
from geneticlog.faces.app.desk import Desk, ShowCommand, say_wrapped
from geneticlog.faces.app.groups import DeskGroup
from geneticlog.faces.app.options import PAPERS


@click.group(cls=DeskGroup)
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


replace_option = click.option(
    "--replace",
    is_flag=True,
    help="Write over files that geneticlog did not write, or that were changed, too.",
)
rule_set_option = click.option(
    "--rule-set", "rule_set_name", metavar="NAME", help="Name fish by this rule set (else the one in force)."
)


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
@rule_set_option
@replace_option
@click.pass_obj
def lake(
    desk: Desk,
    lake: str,
    out: Path | None,
    survey_code: str | None,
    half_width: float,
    paper: str,
    rule_set_name: str | None,
    replace: bool,
) -> None:
    """Write the report of one lake: HTML, PDF, figures, XLSX and CSV.

    Files of an earlier report in the folder are written anew; any other file is left alone.

    Example: geneticlog report lake HERON --out reports/heron
    """
    from geneticlog.faces.report.answer_sentences import answer, of_another_survey
    from geneticlog.faces.report.tables import lake_document
    from geneticlog.work.report.gather import gather_lake

    need_out_or_json(desk, out)
    with desk.reading() as session:
        facts = gather_lake(
            session,
            lake,
            now=desk.now(),
            by=desk.by,
            survey_code=survey_code,
            half_width=half_width,
            rule_set_name=rule_set_name,
        )
    written: list[Path] = []
    if out is not None:
        if facts.main is None:
            raise NotFound(
                f"lake {facts.lake} has no survey yet, so there is nothing to report; "
                "open one with: geneticlog survey open"
            )
        from geneticlog.faces.report.files import write_lake

        written = write_lake(out_folder(out), facts, paper=PAPERS[paper], replace=replace)
    sentences, note = answer(facts), of_another_survey(facts)

    def say() -> None:
        for sentence in sentences:
            say_wrapped(sentence)
        if note:
            click.echo("")
            say_wrapped(note)
        click.echo("")
        for path in written:
            click.echo(f"Wrote {path}")

    desk.show(lake_document(facts, sentences, note), say)


@report.command(cls=ShowCommand)
@click.argument("survey")
@rule_set_option
@click.pass_obj
def fish(desk: Desk, survey: str, rule_set_name: str | None) -> None:
    """Show every fish of SURVEY: q, its interval, the six classes, the generation.

    Example: geneticlog report fish HERON-2026
    """
    from geneticlog.faces.report.terminal import every_fish_document, say_every_fish
    from geneticlog.work.report.every_fish import gather_every_fish

    with desk.reading() as session:
        told = gather_every_fish(session, survey, rule_set_name)
    desk.show(every_fish_document(told), lambda: say_every_fish(told))


@report.command(cls=ShowCommand)
@click.option(
    "--out", type=click.Path(path_type=Path), metavar="DIR", help="Folder the report is written into."
)
@click.option(
    "--old-after",
    type=click.IntRange(1),
    default=1095,
    show_default=True,
    metavar="DAYS",
    help="Days after which a survey asks for attention.",
)
@replace_option
@click.pass_obj
def lakes(desk: Desk, out: Path | None, old_after: int, replace: bool) -> None:
    """Write one page over all lakes, those that need attention first.

    Files of an earlier report in the folder are written anew; any other file is left alone.

    Example: geneticlog report lakes --out reports
    """
    from dataclasses import asdict

    from geneticlog.work.portfolio.gather import gather_portfolio

    need_out_or_json(desk, out)
    now = desk.now()
    with desk.reading() as session:
        lines = gather_portfolio(session, today=now.date(), old_after_days=old_after)
    written: list[Path] = []
    if out is not None:
        from geneticlog.faces.report.files import write_portfolio

        written = write_portfolio(out_folder(out), lines, now=now, by=desk.by, replace=replace)

    def say() -> None:
        waiting = [line for line in lines if line.reasons]
        click.echo(f"{len(lines)} lake{'s' * (len(lines) != 1)}, {len(waiting)} to look at.")
        for line in waiting[:10]:
            click.echo(f"  {line.lake}: {'; '.join(line.reasons)}")
        if len(waiting) > 10:
            click.echo(f"  and {len(waiting) - 10} more")
        for path in written:
            click.echo(f"Wrote {path}")

    desk.show({"lakes": [asdict(line) for line in lines]}, say)


@report.command(cls=ShowCommand)
@click.option(
    "--out", type=click.Path(path_type=Path), required=True, metavar="DIR", help="Folder to write into."
)
@click.option("--lake", "codes", multiple=True, metavar="LAKE", help="Only this lake; may be given again.")
@click.option("--with-owner", is_flag=True, help="Write the owners of the lakes too.")
@click.option("--with-position", is_flag=True, help="Write the exact positions of the lakes too.")
@rule_set_option
@replace_option
@click.pass_obj
def export(
    desk: Desk,
    out: Path,
    codes: tuple[str, ...],
    with_owner: bool,
    with_position: bool,
    rule_set_name: str | None,
    replace: bool,
) -> None:
    """Write the data for others: CSVs under Darwin Core terms with their description.

    Owners and exact positions are left out unless asked for. Example: geneticlog report export --out open_data
    """
    from geneticlog.faces.report.export import write_package
    from geneticlog.work.catalogue.rule_sets import chosen_rule_set
    from geneticlog.work.open_data import gather_open_data

    now = desk.now()
    with desk.reading() as session:
        rule_set = chosen_rule_set(session, rule_set_name)
        tables = gather_open_data(
            session, codes, with_owner=with_owner, with_position=with_position, rule_set=rule_set
        )
        written = write_package(out_folder(out), tables, now=now, replace=replace)

    def say() -> None:
        for table in tables:
            click.echo(f"{len(table.rows):>8} rows  {table.name}.csv  {table.title}")
        click.echo(f"Described in {written[0]}")
        click.echo(f"Classes by the rule set {rule_set.label}.")
        if not (with_owner or with_position):
            click.echo("Owners and positions were left out.")

    rows = {table.name: len(table.rows) for table in tables}
    desk.show({"files": written, "rows": rows, "rule_set": rule_set.label}, say)
