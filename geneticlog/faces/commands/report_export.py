"""``geneticlog report export``: the data behind the reports, for others."""

from __future__ import annotations

from pathlib import Path

import click

from geneticlog.faces.app.desk import Desk, ShowCommand
from geneticlog.faces.commands.report_options import out_folder, replace_option, rule_set_option


@click.command("export", cls=ShowCommand)
@click.option(
    "--out", type=click.Path(path_type=Path), required=True, metavar="DIR", help="Folder to write into."
)
@click.option("--lake", "codes", multiple=True, metavar="LAKE", help="Only this lake; may be repeated.")
@click.option("--with-owner", is_flag=True, help="Write the owners of the lakes too.")
@click.option("--with-position", is_flag=True, help="Write the exact positions of the lakes too.")
@click.option("--with-names", is_flag=True, help="Write the names of lakes and the codes of surveys too.")
@click.option("--with-people", is_flag=True, help="Write the names of crews and of hatcheries too.")
@click.option(
    "--licence",
    type=click.Choice(["CC0-1.0", "CC-BY-4.0", "CC-BY-NC-4.0"]),
    help="Licence the data are given under, named in the package (default: none named).",
)
@click.option(
    "--parquet", is_flag=True, help="Write each table as Parquet too, beside the CSV; needs pyarrow."
)
@click.option("--office", metavar="PREFIX", help="Office that owns the data (default: the only one).")
@rule_set_option
@replace_option
@click.pass_obj
def export(
    desk: Desk,
    out: Path,
    codes: tuple[str, ...],
    with_owner: bool,
    with_position: bool,
    with_names: bool,
    with_people: bool,
    licence: str | None,
    parquet: bool,
    office: str | None,
    rule_set_name: str | None,
    replace: bool,
) -> None:
    """Write the data for publication: CSVs under Darwin Core terms with their description.

    Owners, exact positions, people, and the names of lakes and surveys are left out unless asked for. Every record has
    a UUID made from the office's own: the same from export to export, and no other office's.

    Example: geneticlog report export --out open_data --licence CC-BY-4.0
    """
    from geneticlog.faces.report.export import write_package
    from geneticlog.store.parquet import require_pyarrow
    from geneticlog.work.catalogue.rule_sets import chosen_rule_set
    from geneticlog.work.open_data.gather import gather_open_data
    from geneticlog.work.open_data.tables import Told

    if parquet:
        require_pyarrow()
    shown = Told(owner=with_owner, position=with_position, names=with_names, people=with_people)
    now = desk.now()
    with desk.reading() as session:
        rule_set = chosen_rule_set(session, rule_set_name)
        tables = gather_open_data(session, codes, shown=shown, rule_set=rule_set, office=office)
        written = write_package(
            out_folder(out), tables, now=now, licence=licence, replace=replace, parquet=parquet
        )

    def say() -> None:
        for table in tables:
            name = f"{table.name}.csv and .parquet" if parquet else f"{table.name}.csv"
            click.echo(f"{len(table.rows):>8} rows  {name}  {table.title}")
        click.echo(f"Described in {written[0]}")
        click.echo(f"Classes by the rule set {rule_set.label}.")
        if shown.withheld:
            click.echo(f"Left out: {shown.withheld.removesuffix(' withheld')}.")
        if licence is None:
            click.echo(
                "No licence is named; nobody may use the data without asking. Name one with --licence."
            )

    rows = {table.name: len(table.rows) for table in tables}
    document = {"files": written, "rows": rows, "rule_set": rule_set.label, "licence": licence}
    desk.show({**document, "withheld": shown.withheld or None}, say)
