"""``geneticlog fish``: log fish at the prompt or from a pipe, and read filled field sheets."""

from __future__ import annotations

import re
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from geneticlog.errors import GeneticlogError, Refused, StoreUnready
from geneticlog.faces.app.desk import Desk, ShowCommand, say_table, say_wrapped
from geneticlog.faces.app.groups import DeskGroup
from geneticlog.faces.app.options import ORDERS, RenamedOption
from geneticlog.faces.app.waiting_findings import say_waiting
from geneticlog.rules.sentences import n_of

if TYPE_CHECKING:
    from geneticlog.faces.boat.logbook import Logbook
    from geneticlog.faces.boat.pipe_book import PipeBook
    from geneticlog.faces.boat.prompt import Prompt


@click.group(
    cls=DeskGroup,
    other_names={"add": "log", "show": "list"},
    elsewhere={"change": "correct fish", "correct": "correct fish", "remove": "correct fish … --remove"},
)
def fish() -> None:
    """Log fish at the prompt or from a pipe, and read filled field sheets."""


@fish.command(cls=ShowCommand)
@click.argument("survey")
@click.argument("file", type=click.Path(path_type=Path), required=False)
@click.option(
    "--prompt/--pipe",
    default=None,
    help="Ask as at a keyboard, or read as from a pipe (default: ask at a terminal, otherwise read).",
)
@click.option(
    "--yes",
    "sure",
    is_flag=True,
    help="In a pipe: store doubtful fish without asking; each becomes a finding.",
)
@click.option(
    "--log",
    "log_name",
    default="main",
    metavar="NAME",
    help="In a pipe: name of the scanner's log, if there are several at one site.",
)
@click.option(
    "--not-stored",
    "--mend",
    "mend",
    cls=RenamedOption,
    type=click.Path(path_type=Path, dir_okay=False),
    help="In a pipe: file for the lines that were not stored.",
)
@click.option(
    "--tissue",
    type=click.Choice(["mouth_swab", "fin_clip"]),
    help="Tissue where a line does not say (default: mouth_swab).",
)
@click.option("--medium", help="What the vials contain: ethanol, dry, buffer.")
@click.option("--site", help="Where on the lake these fish were caught.")
@click.option(
    "--order", type=click.Choice(ORDERS), help="How you work this time (default: as the survey says)."
)
@click.pass_obj
def log(
    desk: Desk,
    survey: str,
    file: Path | None,
    prompt: bool | None,
    sure: bool,
    log_name: str,
    mend: Path | None,
    tissue: str | None,
    medium: str | None,
    site: str | None,
    order: str | None,
) -> None:
    """Log the fish of SURVEY at the prompt, from FILE or from a pipe.

    One fish is one open card. A vial code, a length and a weight come in any order, on one line
    (BG4F7Q2KR 16 1/2 2 lb 5 oz) or on several; the prompt shows the open card. It closes when it is complete, on an
    empty line, or when a part comes that it has already. Without a code the fish was measured only; x4 makes it a
    tally; "second" before a code is the other vial of the fish. Type help at the prompt for more.
    """

    if not re.fullmatch(r"[A-Za-z0-9._-]{1,40}", log_name):
        raise click.BadParameter("letters, digits, full stop, hyphen and underscore only", param_hint="--log")
    at_prompt = (file is None and sys.stdin.isatty()) if prompt is None else prompt
    if at_prompt and file is not None:
        raise click.UsageError("a file is read as a pipe is; leave out --prompt, or the file")
    if at_prompt and desk.as_json:
        raise click.UsageError("--json is for a pipe; at the prompt every fish is answered in words")
    if at_prompt:
        from geneticlog.faces.boat.logbook import Logbook

        _at_the_prompt(Logbook(desk, survey, order=order, tissue=tissue, medium=medium, site=site))
        return
    from geneticlog.faces.boat.pipe_book import PipeBook

    book = PipeBook(desk, survey, log_name, order=order, tissue=tissue, medium=medium, site=site)
    _from_a_pipe(book, file, sure, mend)


@fish.command(cls=ShowCommand)
@click.argument("survey")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--look-only", is_flag=True, help="Show what would be stored, and store nothing.")
@click.option(
    "--yes", "sure", is_flag=True, help="Store doubtful fish without asking; each becomes a finding."
)
@click.option("--medium", help="What the vials contain: ethanol, dry, buffer.")
@click.option(
    "--ignore", multiple=True, metavar="COLUMN", help="Ignore this column (or tab); may be repeated."
)
@click.pass_obj
def read(
    desk: Desk,
    survey: str,
    file: Path,
    look_only: bool,
    sure: bool,
    medium: str | None,
    ignore: tuple[str, ...],
) -> None:
    """Read a filled-in field sheet (CSV or XLSX) into SURVEY, all of it or nothing.

    Units may be in the heading or in the cell; pounds and ounces in one column or two. Rows without anything
    beside the printed vial are unused labels. A value that was struck and rewritten is written 16.5 -> 15.6; a cell
    that is struck through in a workbook is a fault, a row of such cells is left out. An edited sheet read again
    changes the fish it made; the same sheet again changes nothing.
    """
    from geneticlog.store.sheets import read_bytes, read_sheets
    from geneticlog.work.boat.read_field_sheet import read_field_sheet
    from geneticlog.work.boat.sheet_again import How
    from geneticlog.work.boat.understand_sheet import understand_sheet
    from geneticlog.work.events import find_survey

    sheets = read_sheets(read_bytes(file), str(file))
    with desk.reading() as session:
        understood = understand_sheet(find_survey(session, survey), sheets, file=str(file), ignore=ignore)
    with suppress(_OnlyLooked), desk.writing() as session:
        reading = read_field_sheet(
            session, find_survey(session, survey), sheets, file=str(file), stamp=desk.stamp(),
            understood=understood, how=How(sure, medium, ignore),
        )  # fmt: skip
        if look_only:
            raise _OnlyLooked

    def say() -> None:
        rows = [[row.row, row.doing, row.logged.words if row.logged else row.note] for row in reading.rows]
        if rows:
            say_table(["row", "", "fish"], rows, numbers=["row"])
        changed = f"{reading.n_changed} changed, " if reading.n_changed else ""
        counts = f"{changed}{reading.n_stored} stored, {reading.n_already} stored before,"
        counts += f" {n_of(reading.n_unused, 'label')} unused"
        for name in reading.not_used:
            click.echo(f"Not used: {name}.")
        for note in reading.notes:
            say_wrapped(f"{note[0].upper()}{note[1:]}.")
        if look_only:
            click.echo(f"Survey {reading.survey}: looked only; would be: {counts}. Nothing was stored.")
        elif reading.n_stored or reading.n_changed:
            click.echo(f"Survey {reading.survey}: {counts}.")
        else:
            click.echo(f"Survey {reading.survey}: {counts}. Nothing changed.")

    document = {
        "survey": reading.survey,
        "file": str(file),
        "looked_only": look_only,
        "n_stored": 0 if look_only else reading.n_stored,
        "n_changed": 0 if look_only else reading.n_changed,
        "n_already": reading.n_already,
        "n_unused": reading.n_unused,
        "columns": reading.columns,
        "not_used": reading.not_used,
        "notes": reading.notes,
        "rows": [
            {
                "row": row.row,
                "doing": row.doing,
                "fish": row.logged.number if row.logged else None,
                "n_fish": row.logged.n_fish if row.logged else None,
                "size_class": row.logged.size_class if row.logged else None,
                "vials": list(row.logged.vials) if row.logged else [],
                "note": row.note,
            }
            for row in reading.rows
        ],
    }
    desk.show(document, say)


@fish.command("list", cls=ShowCommand)
@click.argument("survey")
@click.option("--last", type=click.IntRange(min=1), metavar="N", help="Only the last N fish.")
@click.pass_obj
def list_(desk: Desk, survey: str, last: int | None) -> None:
    """List the fish of SURVEY as they are stored."""
    from sqlalchemy import select

    from geneticlog.store.tables import Fish
    from geneticlog.work.events import find_survey
    from geneticlog.work.finding.waiting import waiting_of

    with desk.reading() as session:
        outing = find_survey(session, survey)
        code, its_species = outing.code, outing.species
        waiting = waiting_of(session, [outing.id])
        rows: list[dict[str, Any]] = [
            {
                "fish": fish.number,
                "n_fish": fish.n_fish,
                "species": fish.species,
                "length": fish.length,
                "length_unit": fish.length_unit,
                "total_length_mm": fish.length_mm,
                "weight": fish.weight,
                "weight_unit": fish.weight_unit,
                "weight_g": fish.weight_g,
                "size_class": fish.size_class,
                "relative_weight": fish.relative_weight,
                "fate": fish.fate,
                "site": fish.site,
                "vials": [vial.code for vial in fish.vials],
                "remarks": fish.remarks,
            }
            for fish in session.scalars(
                select(Fish).where(Fish.survey_id == outing.id).order_by(Fish.number)
            ).unique()
        ][-last if last else 0 :]

    def say() -> None:
        if not rows:
            click.echo(f"Survey {code} has no fish yet: geneticlog fish log {code}")
            return
        _say_fish(rows, its_species)
        say_waiting(waiting)

    desk.show({"survey": code, "fish": rows, "findings_open": waiting}, say)


def _say_fish(rows: Sequence[dict[str, Any]], its_species: str) -> None:
    """Say the fish of a survey; species and fate where any is worth a column."""
    from geneticlog.rules.vialcode import printed

    others = {row["species"] for row in rows} - {its_species}
    fates = any(row["fate"] for row in rows)
    say_table(
        ["fish", "n", *["species"] * bool(others), "length", "weight", "size class", "Wr", "vials"]
        + ["fate"] * fates
        + ["remarks"],
        [
            [
                row["fish"],
                row["n_fish"] if row["n_fish"] != 1 else None,
                *[row["species"].replace("_", " ")] * bool(others),
                f"{row['length']:.10g} {row['length_unit']}" if row["length"] else None,
                f"{row['weight']:.10g} {row['weight_unit']}" if row["weight"] else None,
                row["size_class"],
                f"{row['relative_weight']:.0f}" if row["relative_weight"] else None,
                ", ".join(printed(vial) for vial in row["vials"]),
                *[row["fate"]] * fates,
                row["remarks"],
            ]
            for row in rows
        ],
        numbers=["fish", "n", "length", "weight", "Wr"],
    )


class _OnlyLooked(Exception):
    """Leaves a transaction with nothing stored."""


def _at_the_prompt(book: Logbook) -> None:
    from geneticlog.faces.boat.prompt import Prompt
    from geneticlog.rules.gear import ELECTROFISHING_CAUTION, is_electrofishing
    from geneticlog.rules.shipment.ethanol import ON_THE_BOAT, is_ethanol

    prompt = Prompt(book)
    say = prompt.screen.say
    say(f"Survey {book.survey}: {book.lake}, {book.surveyed_on}, {book.gear.replace('_', ' ')}.")
    if is_electrofishing(book.gear):
        say(ELECTROFISHING_CAUTION)
    if is_ethanol(book.medium):
        say(ON_THE_BOAT)
    length_unit = {"in": "inches", "mm": "mm", "cm": "cm"}[book.rules.length_unit]
    say(f"Lengths are in {length_unit} and weights in {book.rules.weight_unit} where you name no unit.")
    say(f"Order of work: {book.order}. Type help, or done to end.")
    for one in book.tally:
        if one.target or one.n_caught:
            say(one.words, indent="  ")
    prompt.ask_left()
    prompt.run(_typed(prompt))
    n_fish = book.n_standing()
    click.echo(f"Stored in this sitting and not undone: {n_fish} fish.")


def _from_a_pipe(book: PipeBook, file: Path | None, sure: bool, mend: Path | None) -> None:
    from geneticlog.faces.boat.log_lines import lines_of_file, piped_lines
    from geneticlog.faces.boat.mend_file import free_name, mend_text, write_mend_file
    from geneticlog.faces.boat.pipe import log_pipe, pipe_document

    lines = list(lines_of_file(file)) if file else piped_lines()
    came: list[str] = []
    try:
        report = log_pipe(book, lines if isinstance(lines, list) else _noted(lines, came), sure=sure)
    except (StoreUnready, OSError) as fault:
        whole = lines if isinstance(lines, list) else [*came, *lines]
        why = (fault.strerror or str(fault)).lower() if isinstance(fault, OSError) else str(fault)
        said = f"{why}; {_keep_log(book, whole, free_name)}"
        raise (StoreUnready if isinstance(fault, StoreUnready) else GeneticlogError)(said) from fault
    counts = f"{report.n_stored} stored, {report.n_already} stored before, {report.n_undone} undone"
    counts += f": {book.n_standing()} fish"
    if report.unstored:
        name = mend or free_name(Path(f"{book.survey}.mend.txt"))
        try:
            write_mend_file(report, name, book.replay(name.name))
        except OSError as fault:
            click.echo(mend_text(report, book.replay(name.name)), nl=False)
            raise GeneticlogError(
                f"survey {book.survey}: {counts}; {name} cannot be written ({(fault.strerror or 'no room').lower()}):"
                " the lines that were not stored are printed here, to be corrected and replayed"
            ) from fault
    book.desk.show(pipe_document(report, book), lambda: None)
    if not report.unstored:
        click.echo(f"Survey {book.survey}: {counts}.", err=True)
        return
    n, file = len(report.unstored), report.mend_file
    raise Refused(
        f"survey {book.survey}: {counts}, {n_of(n, 'line')} not stored; "
        f"correct {'them' if n != 1 else 'it'} in {file} and replay: {book.replay(str(file))}"
    )


def _noted(lines: Iterable[str], came: list[str]) -> Iterator[str]:
    """The lines of a pipe, each noted as it comes."""
    for line in lines:
        came.append(line)
        yield line


def _keep_log(book: PipeBook, lines: list[str], free_name: Callable[[Path], Path]) -> str:
    """Keep a log that the database could not take to its end; say which of its lines are stored, and what to do."""
    from geneticlog.faces.boat.mend_file import lines_in_words
    from geneticlog.store.writing import write_whole

    log = "".join(line.rstrip("\r\n") + "\n" for line in lines)
    name = free_name(Path(f"{book.survey}.rest.txt"))
    command = book.replay(str(name), book.log_name.partition("@")[0])
    replay = f"replay it with: {command}; nothing is stored twice"
    try:
        write_whole(name, log.encode())
    except OSError:
        click.echo(log, nl=False)
        where = "printed here"
    else:
        where = f"kept in {name}"
    stored = (
        f"{lines_in_words(book.answered)} of {len(lines)} {'is' if len(book.answered) < 2 else 'are'} stored"
    )
    return f"{stored}; the whole log is {where}, {replay}"


def _typed(prompt: Prompt) -> Iterator[str]:
    """Lines from the keyboard, each after the open card; ends with the input or with Ctrl-C."""
    if sys.stdin.isatty():
        with suppress(ImportError):  # Windows edits lines itself
            import readline  # noqa: F401 - line editing and history at the prompt
    while True:
        try:
            if sys.stdin.isatty():
                yield input(prompt.text)
            else:
                click.echo(prompt.text, nl=False)
                text = sys.stdin.readline()
                click.echo()
                if not text:
                    return
                yield text
        except (EOFError, KeyboardInterrupt):
            click.echo()
            return
