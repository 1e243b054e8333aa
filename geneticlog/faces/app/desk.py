"""What every command shares: the database it works on, who is at the keyboard, and how it shows things.

A command declared with ``DeskCommand`` takes ``--database`` and ``--by``; one declared with ``ShowCommand``
takes ``--json`` too. Both find the ``Desk`` with ``@click.pass_obj``.
"""

from __future__ import annotations

import json
import os
import re
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import asdict, is_dataclass
from datetime import UTC, date, datetime
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from geneticlog.errors import GeneticlogError, StoreUnready
from geneticlog.faces.app.completion import complete_names
from geneticlog.faces.app.plain_terminal import one_line, require_text, shown
from geneticlog.rules.stamp import Stamp
from geneticlog.settings import database_setting, person

if TYPE_CHECKING:
    from sqlalchemy import Engine
    from sqlalchemy.orm import Session

PASSWORD_SEEN = (
    "warning: a password on the command line is shown to every user of this machine by its list of processes; give it "
    "in PGPASSWORD, in the file that GENETICLOG_PASSWORD_FILE names, or in ~/.pgpass"
)
LONGEST_WORD = 24  # a longer one, such as a path, may be broken on a narrow screen
UNBROKEN = 16  # a cell no longer than this, such as a moment or a vial code, stays on one line


# what an option of this name is about, in every command that says nothing else of it
USUAL_HELP = {
    "address": "Where samples are sent.",
    "area_ha": "Area in hectares.",
    "carrier": "Who takes it.",
    "country_code": "Two letters, such as US.",
    "county": "County.",
    "crew": "Who is on the boat.",
    "effort_minutes": "Minutes of current on, or of fishing.",
    "fate": "What became of the fish.",
    "gear": "What the fish are caught with.",
    "latitude": "Decimal degrees, WGS 84.",
    "length_unit": "Unit of lengths.",
    "longitude": "Decimal degrees, WGS 84.",
    "name": "Its name.",
    "other_taxon": "The other taxon of the panel.",
    "owner": "Whose lake it is; never sent to a lab or exported unless asked for.",
    "paper": "Size of the paper.",
    "cap_start_slot": "First free slot of the sheet of cap dots.",
    "permit": "Number of the permit.",
    "permit_from": "First day of the permit.",
    "permit_to": "Last day of the permit.",
    "port": "Port on this machine.",
    "position_uncertainty_m": "How far the position may be off, in meters.",
    "protocol": "The crew's own words: swab seconds, handling.",
    "remarks": "Anything else worth keeping.",
    "site": "Where on the lake the fish were caught.",
    "size": "Their size in words, such as '2 in fingerlings'.",
    "source": "Where they came from.",
    "species": "Species.",
    "state_province": "State or province.",
    "surveyed_on": "Day of the survey.",
    "tissue": "What was taken from the fish.",
    "tracking": "The carrier's number.",
    "weight_unit": "Unit of weights.",
}


class Desk:
    """One run of the program: where its data are, who runs it, when, and for what kind of reader."""

    def __init__(self) -> None:
        self.database: str | None = None
        self.named_by: str | None = None
        self.as_json = False
        self._engine: Engine | None = None

    @property
    def by(self) -> str:
        return self.named_by or person()

    def now(self) -> datetime:
        return datetime.now(UTC)

    def stamp(self) -> Stamp:
        return Stamp(self.now(), self.by)

    @property
    def engine(self) -> Engine:
        """The engine of a database that is there and ready; raises StoreUnready with the way out."""
        if self._engine is None:
            from geneticlog.rules.shell_words import quoted
            from geneticlog.store.engine import database_url, open_engine, sqlite_file
            from geneticlog.store.migrate import require_ready

            setting = self.database or database_setting()
            url = database_url(setting)
            file = sqlite_file(url)
            if file is not None and not file.exists():
                raise StoreUnready(
                    f"there is no database at {file}; make one with: geneticlog database upgrade --database"
                    f" {quoted(str(file))}"
                )
            engine = open_engine(url, waiting=self.waiting)
            try:
                require_ready(engine)
            except GeneticlogError:
                engine.dispose()
                raise
            self._engine = engine
        return self._engine

    @contextmanager
    def writing(self) -> Iterator[Session]:
        """A session whose work is stored at the end of the block, all or nothing."""
        from geneticlog.store.engine import one_transaction

        with one_transaction(self.engine, writes=True) as session:
            yield session

    @contextmanager
    def reading(self) -> Iterator[Session]:
        """A session that only looks."""
        from geneticlog.store.engine import one_transaction

        with one_transaction(self.engine, writes=False) as session:
            yield session

    def waiting(self) -> None:
        """Say that a write waits for its turn."""
        self.note("Another program is writing to this database; waiting for it …")

    def close(self) -> None:
        if self._engine is not None:
            self._engine.dispose()
            self._engine = None

    def show(self, document: Mapping[str, Any], say: Callable[[], None]) -> None:
        """Write one JSON document to stdout with --json, else let ``say`` write for a person."""
        if self.as_json:
            ascii_only = (
                "utf" not in (sys.stdout.encoding or "").lower()
            )  # escapes, where letters would be lost
            click.echo(json.dumps(plain(document), ensure_ascii=ascii_only, indent=2, allow_nan=False))
        else:
            say()

    def note(self, text: str) -> None:
        """Say something beside the answer: to stderr, so that a pipe stays clean. A bell may come first."""
        words = text.removeprefix("\a")
        click.echo(text[: len(text) - len(words)] + shown(words), err=True)


def plain(value: Any) -> Any:
    """Return a value as JSON can hold it: dataclasses to objects, dates to ISO 8601, NaN to null; nothing rounded."""
    if is_dataclass(value) and not isinstance(value, type):
        return plain(asdict(value))
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, StrEnum):
        return str(value)  # its text: whoever looks at the object sees a plain word, too
    if isinstance(value, str) or value is None or isinstance(value, bool):
        return value
    if isinstance(value, float):
        return value if value == value and abs(value) != float("inf") else None
    if isinstance(value, int):
        return value
    if isinstance(value, datetime | date):
        return value.isoformat()
    if isinstance(value, Path):
        return str(value)
    if hasattr(value, "item"):  # a numpy scalar
        return plain(value.item())
    if isinstance(value, Sequence) or hasattr(value, "__iter__"):
        return [plain(item) for item in value]
    raise TypeError(f"{type(value).__name__} has no JSON form")


def say_table(
    columns: Sequence[str],
    rows: Sequence[Sequence[Any]],
    *,
    title: str | None = None,
    numbers: Sequence[str] = (),
    whole: Sequence[str] = (),
    within: int | None = None,
) -> None:
    """Print a table for a person; columns named in ``numbers`` stand right-aligned; absent values stay empty.

    Columns named in ``whole`` are never broken into lines. With ``within`` the table is no wider than that many
    columns even where the screen, or a pipe, would have room: columns move closer first, then texts are broken.
    """
    from rich.box import SIMPLE
    from rich.cells import cell_len
    from rich.console import Console
    from rich.markup import escape
    from rich.table import Table

    rows = [[None if cell is None else one_line(cell) for cell in row] for row in rows]
    table = Table(
        title=escape(title) if title else None,
        title_justify="left",
        box=SIMPLE,
        pad_edge=False,
        padding=(0, 1, 0, 0),
    )
    least, most = [], []
    for at, column in enumerate(columns):
        cells = [row[at] or "" for row in rows]
        parts = [*column.split(), *(part for cell in cells for part in _unbroken(cell))]
        widest = max(map(cell_len, [*column.splitlines(), *cells]), default=0)
        least.append(widest if column in whole else min(max(map(cell_len, parts), default=0), LONGEST_WORD))
        most.append(widest)
        table.add_column(
            escape(column),
            justify="right" if column in numbers else "left",
            overflow="fold",
            no_wrap=column in whole,
        )
    for row in rows:
        table.add_row(*(escape(cell or "") for cell in row))
    # with NO_COLOR the text is plain altogether: no bold either, so that it can be copied and kept
    plain_text = bool(os.environ.get("NO_COLOR"))
    console = Console(file=sys.stdout, color_system=None if plain_text else "auto", force_terminal=None)
    if plain_text:
        table.header_style, table.title_style = "none", "none"
    loose, tight = 2 * len(columns), len(columns) + 1  # what stands between and beside the columns
    # piped, a table keeps its natural width; on a screen it fits the screen
    if not console.is_terminal:
        console.width = within or max(200, sum(least) + loose)
    elif within is not None:
        console.width = min(console.width, within)
    if console.is_terminal and sum(least) + tight > console.width:
        _say_blocks(columns, rows, title, console.width)
        return
    closer = sum(most if within is not None else least) + loose > console.width
    if closer:
        table.padding = (0, 0, 0, 0)
    room = console.width - (tight if closer else loose)
    for at, width in enumerate(_widths(least, most, room)):
        table.columns[at].width = width
    console.print(table)


def _widths(least: Sequence[int], most: Sequence[int], room: int) -> list[int]:
    """Return the width of each column: at least what it needs, the rest where most lines are saved."""
    widths = list(least)
    for _ in range(max(0, room - sum(least))):
        lines = [full / max(width, 1) for full, width in zip(most, widths, strict=True)]
        if max(lines, default=0) <= 1:
            break
        widths[lines.index(max(lines))] += 1
    return widths


def _unbroken(cell: str) -> list[str]:
    """Return the parts of a cell that stay on one line each: a short cell whole, else its words."""
    return [cell] if len(cell) <= UNBROKEN else cell.split()


def _say_blocks(
    columns: Sequence[str], rows: Sequence[Sequence[str | None]], title: str | None, width: int
) -> None:
    """Print a table as one block a row, a line a column, where the screen is too narrow for its columns."""
    import textwrap

    if title:
        click.echo(title)
    names = [" ".join(column.split()) for column in columns]
    label = max(map(len, names))
    for row in rows:
        click.echo()
        for column, cell in zip(names, row, strict=True):
            if not cell:
                continue
            first = f"{column:<{label}}  "
            click.echo(textwrap.fill(cell, width, initial_indent=first, subsequent_indent=" " * len(first)))


def say_wrapped(text: str, indent: str = "", fg: str | None = None) -> None:
    """Say a sentence within the width of the screen, further lines behind ``indent``; a pipe gets one line.

    fg: its colour, where the screen has any.
    """
    import shutil
    import textwrap

    if sys.stdout.isatty():
        width = max(40, shutil.get_terminal_size().columns)
        text = textwrap.fill(
            text.replace(" %", "\u00a0%"),  # no line starts with %
            width,
            subsequent_indent=indent,
            break_long_words=False,
            break_on_hyphens=False,
        ).replace("\u00a0%", " %")
    click.secho(text, fg=fg) if fg else click.echo(text)


def _keep_database(context: click.Context, _parameter: click.Parameter, value: str | None) -> None:
    if not value:
        return
    context.ensure_object(Desk).database = value
    if "=" in value or "@" in value:
        from geneticlog.store.address import holds_password

        if holds_password(value):
            click.echo(PASSWORD_SEEN, err=True)


def _keep_person(context: click.Context, _parameter: click.Parameter, value: str | None) -> None:
    if value:
        context.ensure_object(Desk).named_by = value


def _keep_json(context: click.Context, _parameter: click.Parameter, value: bool) -> None:
    if value:
        context.ensure_object(Desk).as_json = True


def database_option() -> click.Option:
    return click.Option(
        ["--database"],
        metavar="PATH_OR_URL",
        expose_value=False,
        callback=_keep_database,
        help="SQLite file or postgresql:// URL (default: GENETICLOG_DATABASE, the settings file, your data folder).",
    )


class DeskCommand(click.Command):
    """A command that works on a database; its help writes defaults and ranges as sentences do."""

    def __init__(self, *arguments: Any, **keywords: Any) -> None:
        super().__init__(*arguments, **keywords)
        complete_names(self.params, Desk)
        for parameter in self.params:
            if isinstance(parameter, click.Option) and not parameter.help:
                parameter.help = USUAL_HELP.get(str(parameter.name))
        self.params.append(database_option())
        self.params.append(
            click.Option(
                ["--by"],
                metavar="NAME",
                expose_value=False,
                callback=_keep_person,
                help="Who does it, for the record (default: GENETICLOG_PERSON, the settings file, your login).",
            )
        )

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        for word in args:  # a path with one stops the parser itself
            if "\0" in word:
                ctx.fail(f"{word!a} is not the name of a file; check what was typed")
        left = super().parse_args(ctx, args)
        require_text({**ctx.params, "by": ctx.ensure_object(Desk).named_by}, ctx)
        return left

    def format_options(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        records = [record for one in self.get_params(ctx) if (record := one.get_help_record(ctx))]
        with formatter.section("Options"):
            formatter.write_dl([(names, in_brackets(text)) for names, text in records])


def in_brackets(text: str) -> str:
    """Return the help of an option with "[default: 0.1; x>=1]" as "(default: 0.1; 1 or more)"."""
    if not (bracketed := re.search(r"\s*\[([^\[\]]*)\]$", text)) or not re.search(
        r"default: |required|<=x|x>=", bracketed[1]
    ):
        return text
    inner = re.sub(r"([0-9.]+)<=x<=([0-9.]+)", r"\1 to \2", bracketed[1])
    inner = re.sub(r"x>=([0-9.]+)", r"\1 or more", inner).replace("default: (", "default: ").removesuffix(")")
    return f"{text[: bracketed.start()]} ({inner})".strip()


class ShowCommand(DeskCommand):
    """A command that shows something, for a person or with --json for a program."""

    def __init__(self, *arguments: Any, **keywords: Any) -> None:
        super().__init__(*arguments, **keywords)
        self.params.append(
            click.Option(
                ["--json"],
                is_flag=True,
                expose_value=False,
                callback=_keep_json,
                help="One JSON document on stdout, nothing else.",
            )
        )
