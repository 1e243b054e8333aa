"""``geneticlog return list|withdraw``: the files that were read, and taking one reading back."""

from __future__ import annotations

import click

from geneticlog.faces.app.desk import Desk, ShowCommand, say_table, say_wrapped
from geneticlog.rules.sentences import n_of
from geneticlog.settings import local_time


@click.command("list", cls=ShowCommand)
@click.option("--shipment", metavar="CODE", help="Only the files of this shipment.")
@click.pass_obj
def list_(desk: Desk, shipment: str | None) -> None:
    """List the files that were read, the latest first; those withdrawn are marked."""
    from geneticlog.work.lab_return.readings import readings

    with desk.reading() as session:
        every = readings(session, shipment)

    def say() -> None:
        if not every:
            click.echo("No return is read yet: geneticlog return read FILE --shipment CODE")
            return
        say_table(
            ["file", "shipment", "rows", "read", "by", "digest", "withdrawn"],
            [
                [
                    reading.file,
                    reading.shipment,
                    reading.n_rows,
                    local_time(reading.read_at),
                    reading.read_by,
                    reading.sha256[:10],
                    f"{reading.withdrawn_at.astimezone():%Y-%m-%d} by {reading.withdrawn_by}: {reading.withdrawn_why}"
                    if reading.withdrawn_at
                    else None,
                ]
                for reading in every
            ],
            numbers=["rows"],
        )

    desk.show({"returns": every}, say)


@click.command(cls=ShowCommand)
@click.argument("file")
@click.option(
    "--shipment", metavar="CODE", help="Only its reading for this shipment, where it was read for several."
)
@click.option("--why", required=True, help="The reason, for the record.")
@click.pass_obj
def withdraw(desk: Desk, file: str, shipment: str | None, why: str) -> None:
    """Take the whole reading of FILE back: its results, its findings and the decisions on them.

    FILE is a path, the name of a file that was read, or the first letters of its digest. Nothing is deleted; results
    that the file had replaced count again, and the same file can be read again with other answers.

    \b
    geneticlog return withdraw lab_return.csv --why "read as percent, it is a share"
    """
    from geneticlog.work.lab_return.withdraw_return import withdraw_return

    with desk.writing() as session:
        done = withdraw_return(session, file, why=why, stamp=desk.stamp(), shipment_code=shipment)

    def say() -> None:
        for undone in done:
            say_wrapped(
                f"{undone.file} of shipment {undone.shipment} withdrawn. No longer counted:"
                f" {n_of(undone.n_results, 'result')}; counted again: {n_of(undone.n_back, 'earlier one')};"
                f" closed: {n_of(undone.n_findings, 'finding')}; taken back: {n_of(undone.n_decisions, 'decision')};"
                f" opened again: {n_of(undone.n_reopened, 'finding')}.",
                "  ",
            )
        say_wrapped(f"Read it again with: geneticlog return read {file} --shipment {done[0].shipment}", "  ")

    desk.show({"withdrawn": done}, say)
