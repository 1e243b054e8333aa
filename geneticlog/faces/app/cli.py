"""The program ``geneticlog``: a table of commands, loaded when called, and the one place where faults are
said."""

from __future__ import annotations

import os
import sys
from errno import EDQUOT, EFBIG, ENOSPC
from importlib import import_module
from io import TextIOWrapper
from typing import Any

import click

from geneticlog import __version__
from geneticlog.errors import GeneticlogError
from geneticlog.faces.app.desk import Desk, database_option
from geneticlog.faces.app.groups import DeskGroup
from geneticlog.faces.app.plain_terminal import plain_output, require_utf8, words_only

# name: (where it is, its line in --help); the line must be the first of the command's own help
COMMANDS = {
    "demo": (
        "geneticlog.faces.commands.demo:demo",
        "Run the whole job on invented data, step by step, in DIR.",
    ),
    "office": (
        "geneticlog.faces.commands.office:office",
        "Enter the office whose two letters start every vial code.",
    ),
    "lake": (
        "geneticlog.faces.commands.lake:lake",
        "Add, list, show and remove lakes; give a lake its own size classes.",
    ),
    "stocking": (
        "geneticlog.faces.commands.stocking:stocking",
        "Add and list what was stocked in a lake.",
    ),
    "survey": ("geneticlog.faces.commands.survey:survey", "Open, list, show and remove surveys."),
    "plan": (
        "geneticlog.faces.commands.plan:plan",
        "Plan how many fish of which size classes to swab on a lake.",
    ),
    "coverage": (
        "geneticlog.faces.commands.coverage:coverage",
        "Show fish caught, swabbed and typed in each size class against the target.",
    ),
    "lab": ("geneticlog.faces.commands.lab:lab", "Add, list, show, change and remove genotyping labs."),
    "panel": (
        "geneticlog.faces.commands.panel:panel",
        "Add, list, show, change and remove panels: their loci and two taxa.",
    ),
    "ruleset": (
        "geneticlog.faces.commands.ruleset:ruleset",
        "Keep, show and choose the rule sets that name ancestry classes.",
    ),
    "label": (
        "geneticlog.faces.commands.label:label",
        "Print vial labels, print smeared ones again, void spoiled ones.",
    ),
    "vial": (
        "geneticlog.faces.commands.vial:vial",
        "Record a filled vial as lost, broken or found again.",
    ),
    "fish": (
        "geneticlog.faces.commands.fish:fish",
        "Log fish at the prompt or from a pipe, and read filled field sheets.",
    ),
    "correct": (
        "geneticlog.faces.commands.correct:correct",
        "Correct a fish, a survey, a lake, a stocking, a shipment or a result; the old value stays in the history.",
    ),
    "carry": (
        "geneticlog.faces.commands.carry:carry",
        "Carry surveys between databases, boat to office and back, in one self-checking file.",
    ),
    "fieldsheet": (
        "geneticlog.faces.commands.fieldsheet:fieldsheet",
        "Write the field sheet of SURVEY: PDF for waterproof paper, CSV and XLSX to be filled in.",
    ),
    "shipment": (
        "geneticlog.faces.commands.shipment:shipment",
        "Pack, send and track shipments.",
    ),
    "return": (
        "geneticlog.faces.commands.lab_return:lab_return",
        "Look at what a lab sent back, and read it.",
    ),
    "reconcile": (
        "geneticlog.faces.commands.reconcile:reconcile",
        "Compare what came back for SHIPMENT with what was sent.",
    ),
    "inbox": (
        "geneticlog.faces.commands.inbox:inbox",
        "Show what is waiting: open findings and stalled shipments, oldest first.",
    ),
    "finding": (
        "geneticlog.faces.commands.finding:finding",
        "List, show and decide findings: what does not reconcile.",
    ),
    "decide": (
        "geneticlog.faces.commands.finding:decide",
        "Decide on FINDING, with the reason; another decision takes it back.",
    ),
    "history": (
        "geneticlog.faces.commands.history:history",
        "Show the whole life of a vial, finding, shipment or survey.",
    ),
    "report": (
        "geneticlog.faces.commands.report:report",
        "Report one lake, all lakes, or the data behind them.",
    ),
    "serve": (
        "geneticlog.faces.commands.serve:serve",
        "Serve the pages: for the boat's phones and the office's desk.",
    ),
    "status": (
        "geneticlog.faces.commands.status:status",
        "Show the database in use, who is at the keyboard, and what waits.",
    ),
    "completion": (
        "geneticlog.faces.commands.completion:completion",
        "Print what a shell needs to complete commands, lakes, surveys and more.",
    ),
    "database": (
        "geneticlog.faces.commands.database:database",
        "Prepare, check, copy and restore the database.",
    ),
}


# files that a person looks at in another program, which on Windows keeps everyone else from writing them
OPEN_ELSEWHERE = (".csv", ".xlsx", ".xls", ".ods", ".pdf", ".tsv", ".txt")
# top-level command of old -> what it is called now
OLD_NAMES = {"decide": "finding decide"}
# word that a person may try -> the command that does it
ELSEWHERE = {
    "init": "database upgrade", "create": "database upgrade", "backup": "database backup", "config": "status",
    "log": "fish log", "import": "return read", "export": "report export", "undo": "correct", "edit": "correct",
    "print": "label print", "pack": "shipment pack", "withdraw": "return withdraw", "web": "serve",
}  # fmt: skip

# the help as a map: the job from its beginning to its end; every command that is not an old name is in one section
SECTIONS = {
    "Start": ["demo", "serve", "status"],
    "Set up once": ["office", "lab", "panel", "ruleset", "lake", "stocking"],
    "Before the trip": ["plan", "survey", "label", "fieldsheet"],
    "On the boat": ["fish", "vial", "coverage", "correct", "carry"],
    "To the lab and back": ["shipment", "return", "reconcile", "inbox", "finding", "history"],
    "Answers": ["report"],
    "The database and this machine": ["database", "completion"],
}


class LazyGroup(DeskGroup):
    """A group that imports a command when it is called, so that --help is quick."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return [name for names in SECTIONS.values() for name in names]

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        module, name = COMMANDS[cmd_name][0].split(":")
        command: click.Command = getattr(import_module(module), name)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        for title, names in SECTIONS.items():
            with formatter.section(title):
                formatter.write_dl([(name, COMMANDS[name][1]) for name in names])

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        require_utf8(args, ctx)
        return super().parse_args(ctx, args)

    def invoke(self, ctx: click.Context) -> Any:
        try:
            with plain_output():
                return super().invoke(ctx)
        except GeneticlogError as fault:
            fail(str(fault), fault.exit_code, ctx)
        except (click.exceptions.Exit, click.Abort, click.ClickException, BrokenPipeError):
            raise
        except OSError as fault:
            fail(said_of_the_disk(fault), 1, ctx)
        except Exception as fault:
            if os.environ.get("GENETICLOG_TRACEBACK"):
                raise
            text, code = said_of_the_database(fault)
            fail(text, code, ctx)
        finally:
            if isinstance(ctx.obj, Desk):
                ctx.obj.close()


def fail(text: str, exit_code: int, ctx: click.Context) -> None:
    """Say a fault on stderr and leave; what a terminal might obey, in the name of a file say, is shown and not sent."""
    click.echo(f"geneticlog: {words_only(text)}", err=True)
    ctx.exit(exit_code)


def said_of_the_disk(fault: OSError) -> str:
    """Return a plain sentence for a file that cannot be read or written."""
    named = f"{fault.filename}: " if fault.filename else ""
    why = (fault.strerror or str(fault)).lower()
    if isinstance(fault, PermissionError) and str(fault.filename or "").lower().endswith(OPEN_ELSEWHERE):
        return (
            f"{named}{why}; if it is open in a spreadsheet or a viewer, close it there and run this again;"
            " otherwise check its permissions"
        )
    if fault.errno in (ENOSPC, EDQUOT, EFBIG):
        return f"{named}{why}; make room there, or name another place"
    return f"{named}{why}; check the path and its permissions"


def said_of_the_database(fault: Exception) -> tuple[str, int]:
    """Return sentence and exit code for what the database refused, or for a fault of our own."""
    if type(fault).__module__.startswith("sqlalchemy") and hasattr(fault, "orig"):
        from geneticlog.store.refusals import in_words

        said = in_words(fault)  # type: ignore[arg-type]
        return str(said), said.exit_code
    told = f"{type(fault).__name__}: {fault}".splitlines()[0]
    return (
        f"this is a fault of geneticlog itself ({told}); nothing more was stored; "
        "run it again with GENETICLOG_TRACEBACK=1 and send what it prints",
        1,
    )


@click.group(
    cls=LazyGroup,
    old_names=OLD_NAMES,
    elsewhere=ELSEWHERE,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)
@click.version_option(__version__, prog_name="geneticlog")
@click.pass_context
def cli(ctx: click.Context) -> None:
    """Follow genetic samples of largemouth bass from the fish on the boat to the lake report."""
    ctx.ensure_object(Desk)
    if os.environ.get("NO_COLOR"):
        ctx.color = False


cli.params.append(database_option())


def main() -> int:
    """Run the program; the console script."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):  # a screen that has no ± shows a question mark
            stream.reconfigure(errors="replace")
    try:
        cli.main(prog_name="geneticlog", standalone_mode=True)
    except BrokenPipeError:  # the reader of the pipe has gone (… | head)
        sys.stderr.close()
        return 1
    return 0
