"""``geneticlog carry``: surveys between boat and office in one self-checking file."""

from __future__ import annotations

import hashlib
from pathlib import Path

import click

from geneticlog.errors import Refused
from geneticlog.faces.app.desk import Desk, ShowCommand, say_wrapped
from geneticlog.faces.app.groups import DeskGroup
from geneticlog.rules.sentences import n_of


@click.group(cls=DeskGroup)
def carry() -> None:
    """Carry surveys between databases, boat to office and back, in one self-checking file."""


@carry.command(cls=ShowCommand)
@click.argument("surveys", nargs=-1, required=True, metavar="SURVEY...")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.option(
    "--for-boat", metavar="OFFICE",
    help="Give the boat's database a block of this office's vial codes, so that it can print labels itself.",
)  # fmt: skip
@click.option("--replace", is_flag=True, help="Overwrite an existing file.")
@click.pass_obj
def out(desk: Desk, surveys: tuple[str, ...], file: Path, for_boat: str | None, replace: bool) -> None:
    """Write SURVEYS into FILE, with their lakes, print runs, vials, fish, history and findings.

    The lake's owner and position travel too: the file is for your own databases. Shipments, results and rule sets
    stay; the state of each vial at the lab (shipped, typed, failed) is included, so that coverage counts it.
    """
    from geneticlog.store.writing import write_whole
    from geneticlog.work.carry.carry_out import carry_out
    from geneticlog.work.events import find_survey

    if file.exists() and not replace:
        raise Refused(f"{file} is there already; name a new file, or overwrite it with --replace")
    with desk.writing() as session:
        lakes = list(
            {survey.id: survey for survey in (find_survey(session, code) for code in surveys)}.values()
        )
        carried = carry_out(session, lakes, stamp=desk.stamp(), for_boat=for_boat)
        write_whole(file, carried.content)

    def say() -> None:
        click.echo(
            f"Wrote {file}: {', '.join(carried.surveys)} with {n_of(carried.n_fish, 'row')} of fish and "
            f"{n_of(carried.n_vials, 'vial')}."
        )
        say_wrapped(
            "Shipments and results stay here; what became of each vial at the lab travels as it is today."
            if carried.n_told
            else "Shipments and results stay here: they do not travel with a survey."
        )
        for chain in carried.chains_left:
            say_wrapped(
                f"The history of station {chain[:8]} is too long to travel whole; it is checked here, with: geneticlog"
                " database check. The database that reads the file cannot check these events against it."
            )
        if carried.station is not None:
            click.echo(
                f"The database that reads it gets station {carried.station}; carry it to one boat only."
            )

    document = {
        "file": file,
        "sha256": hashlib.sha256(carried.content).hexdigest(),
        "surveys": carried.surveys,
        "n_fish_rows": carried.n_fish,
        "n_vials": carried.n_vials,
        "station": carried.station,
        "n_told": carried.n_told,
        "chains_left": carried.chains_left,
    }
    desk.show(document, say)


@carry.command("in", cls=ShowCommand)
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.pass_obj
def in_(desk: Desk, file: Path) -> None:
    """Read the surveys of FILE into this database, all or nothing; reading it twice has no effect."""
    from geneticlog.store.carry_file import unpack
    from geneticlog.store.sheets import read_bytes
    from geneticlog.work.carry.carry_in import carry_in

    content = read_bytes(file)
    head, lines = unpack(content, str(file))
    digest = hashlib.sha256(content).hexdigest()
    with desk.writing() as session:
        did = carry_in(session, head, lines, digest=digest, stamp=desk.stamp())

    def say() -> None:
        names = ", ".join(did.surveys)
        if not did.changed:
            click.echo(f"{names}: all of it is here already; nothing changed.")
            return
        click.echo(
            f"{names}: {n_of(did.n_new, 'row')} new, {did.n_taken} changed to what is newer, "
            f"{did.n_removed} fish taken out, {did.n_renumbered} fish given another number."
        )
        say_wrapped(
            "What became of its vials at the lab is as of the day it was carried out; the shipments and results"
            " stayed there."
            if did.n_told
            else "Shipments and results do not travel with a survey; they are known where the vials were sent from."
        )
        if did.station is not None:
            click.echo(f"This database mints vial codes at station {did.station} from now on.")
        if did.n_chained:
            click.echo(f"Its history came along: {n_of(did.n_chained, 'entry', 'entries')}, chained by hash.")
        for merged in did.merged:
            say_wrapped(f"Put together: {merged}", "  ")
        for finding in did.findings:
            say_wrapped(finding, "  ")
        if did.findings:
            click.echo(
                f"Decide each with: geneticlog finding decide {did.findings[0].partition(':')[0]} ACTION --why TEXT"
            )

    document = {
        "file": file,
        "surveys": did.surveys,
        "changed": did.changed,
        "n_new": did.n_new,
        "n_taken": did.n_taken,
        "n_removed": did.n_removed,
        "n_renumbered": did.n_renumbered,
        "station": did.station,
        "n_told": did.n_told,
        "n_chained": did.n_chained,
        "merged": did.merged,
        "findings": did.findings,
    }
    desk.show(document, say)
