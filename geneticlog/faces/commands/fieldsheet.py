"""``geneticlog fieldsheet``: the sheet a crew fills in, on paper or on a tablet."""

from __future__ import annotations

from pathlib import Path

import click

from geneticlog.errors import NotFound, Refused
from geneticlog.faces.app.desk import Desk, ShowCommand
from geneticlog.faces.app.options import PAPERS


@click.command(cls=ShowCommand)
@click.argument("survey")
@click.option(
    "--out", type=click.Path(path_type=Path, file_okay=False), default=Path(), show_default="here",
    help="Folder to write into.",
)  # fmt: skip
@click.option(
    "--form", "forms", multiple=True, type=click.Choice(["pdf", "csv", "xlsx"]),
    help="Only this form; may be repeated (default: all three).",
)  # fmt: skip
@click.option(
    "--paper", type=click.Choice(sorted(PAPERS)), default="letter", show_default=True,
    help="Size of the paper.",
)  # fmt: skip
@click.option("--replace", is_flag=True, help="Overwrite existing sheets.")
@click.pass_obj
def fieldsheet(desk: Desk, survey: str, out: Path, forms: tuple[str, ...], paper: str, replace: bool) -> None:
    """Write the field sheet of SURVEY: PDF for waterproof paper, CSV and XLSX to be filled in.

    It lists the vials of the survey's print runs in order, and its size classes with their targets. Take a
    filled CSV or XLSX back with: geneticlog fish read SURVEY FILE
    """
    from geneticlog.faces.boat.field_sheet import field_rows, field_sheet_pdf
    from geneticlog.store.placed_together import finish_left, write_together
    from geneticlog.store.writing import csv_bytes, xlsx_bytes
    from geneticlog.work.boat.sheet_contents import lay_field_sheet
    from geneticlog.work.events import find_survey

    with desk.reading() as session:
        sheet = lay_field_sheet(session, find_survey(session, survey))
    if not out.is_dir():
        raise NotFound(f"there is no folder {out}; make it first")
    finish_left(out)
    wanted = list(dict.fromkeys(forms)) or ["pdf", "csv", "xlsx"]
    files = {form: out / f"{sheet.survey}-field-sheet.{form}" for form in wanted}
    in_the_way = [str(file) for file in files.values() if file.exists()]
    if in_the_way and not replace:
        are, them = ("is", "it") if len(in_the_way) == 1 else ("are", "them")
        raise Refused(
            f"{', '.join(in_the_way)} {are} there already and may be filled in; "
            f"move {them} away, or overwrite {them} with --replace"
        )
    heading, rows = field_rows(sheet)
    content = {}
    for form in wanted:
        if form == "pdf":
            content[form] = field_sheet_pdf(sheet, PAPERS[paper])
        elif form == "csv":
            content[form] = csv_bytes(heading, rows, for_spreadsheets=True)
        else:
            content[form] = xlsx_bytes({sheet.survey: (heading, rows)})
    write_together({file: content[form] for form, file in files.items()})

    def say() -> None:
        for file in files.values():
            click.echo(f"Wrote {file}.")
        if not sheet.vials:
            click.echo(
                f"No labels are printed for {sheet.survey} yet, so no vials are listed; "
                f"print them first: geneticlog label print -n 60 --survey {sheet.survey}"
            )

    desk.show(
        {
            "survey": sheet.survey,
            "files": list(files.values()),
            "n_vials": len(sheet.vials),
            "classes": sheet.classes,
        },
        say,
    )
