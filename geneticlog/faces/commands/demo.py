"""``geneticlog demo``: the whole job on invented data, told step by step with the commands a person would type."""

from __future__ import annotations

import contextlib
import io
import json
import os
import shlex
import shutil
import sys
import tempfile
import textwrap
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import click

from geneticlog.errors import GeneticlogError, Refused

MARK = ".geneticlog-demo"  # only a folder that a demo made is ever replaced


@dataclass(frozen=True)
class Step:
    """One step of the story: what happens, the command, and a file that is its standard input."""

    story: str
    command: str
    reads: str | None = None
    lines_shown: int = 12


STEPS: tuple[Step, ...] = (
    Step(
        "Tamarisk Hollow Waters, an invented company, looks after Heron Lake. Its office gets two letters for "
        "its vial codes; the lake, the laboratory and its panel are entered once.",
        "office add TH --name 'Tamarisk Hollow Waters (invented)'",
    ),
    Step("", "lake add HERON 'Heron Lake' --owner 'An invented owner' --area-ha 14.2 --state Georgia"),
    Step("", "lab add QUILL 'Quillback Genotyping (invented)' --fee 22"),
    Step("", "panel add QB38 'Thirty-eight loci' --loci 38 --source 'invented for the demo'"),
    Step(
        "Two years ago: a first survey. Labels are printed before the trip, fish are logged from the scanner's "
        "file, vials go to the lab and its return comes back.",
        "survey open HERON 2024-05-14 --code HERON-2024 --permit P-24-007 --permit-from 2024-01-01 "
        "--permit-to 2024-12-31",
    ),
    Step("", "label print -n 60 --stock letter-wrap --survey HERON-2024 --out labels_2024.pdf"),
    Step("", "fish log HERON-2024 --medium ethanol", reads="fish_2024.txt", lines_shown=3),
    Step("", "shipment pack SH-2024 --survey HERON-2024 --lab QUILL --panel QB38 --container plate96"),
    Step("", "shipment send SH-2024 --carrier 'an invented carrier' --tracking 000-2024"),
    Step("", "return read lab_return_2024.csv --shipment SH-2024"),
    Step(
        "The lake was stocked since.",
        "lake stocked HERON 2025-04-02 Florida -n 3000 --size '2 in fingerlings' --source 'an invented hatchery'",
    ),
    Step(
        "This year. A sampling plan says how many fish of which size are wanted; a survey opened now takes its "
        "targets from it.",
        "plan HERON --wanted 8 --figure plan.png",
        lines_shown=40,
    ),
    Step(
        "",
        "survey open HERON 2026-05-12 --code HERON-2026 --permit P-26-011 --permit-from 2026-01-01 "
        "--permit-to 2026-12-31",
    ),
    Step("", "label print -n 60 --stock letter-wrap --survey HERON-2026 --out labels.pdf"),
    Step("", "fieldsheet HERON-2026 --out ."),
    Step(
        "On the boat: one line a fish, from the scanner or the keyboard.",
        "fish log HERON-2026 --medium ethanol",
        reads="fish_2026.txt",
        lines_shown=4,
    ),
    Step(
        "The second boat wrote a field sheet; it is typed in at the landing and read back, all or nothing.",
        "fish read HERON-2026 field_sheet_2026.csv --medium ethanol",
        lines_shown=6,
    ),
    Step(
        "While the fish are still in the live well: which sizes need more swabs?",
        "coverage HERON-2026",
        lines_shown=40,
    ),
    Step(
        "In the office: pack, write the manifest, send.",
        "shipment pack SH-2026 --survey HERON-2026 --lab QUILL --panel QB38 --blank TH00003AQ --fill-ml 1",
    ),
    Step("", "shipment manifest SH-2026 --out ."),
    Step("", "shipment send SH-2026 --carrier 'an invented carrier' --tracking 000-2026"),
    Step(
        "Weeks later: the lab's return. First a look, then it is read, all or nothing.",
        "return preview lab_return_2026.csv",
        lines_shown=40,
    ),
    Step("", "return read lab_return_2026.csv --shipment SH-2026", lines_shown=20),
    Step("Read again, nothing changes.", "return read lab_return_2026.csv --shipment SH-2026"),
    Step("What does not reconcile?", "reconcile SH-2026 --out reconciliation.csv", lines_shown=60),
    Step(
        "A person decides, with a reason, and the reason is kept.",
        "finding decide F2 resample --why 'the swab came back dry'",
    ),
    Step("", "history TH00002BS", lines_shown=30),
    Step(
        "Every fish one by one, as far as its loci carry, with the six log-likelihoods and the words of caution.",
        "report fish HERON-2026",
        lines_shown=14,
    ),
    Step("And the report for the lake.", "report lake HERON --out report", lines_shown=40),
)


@click.command()
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path, file_okay=False))
@click.option("--replace", is_flag=True, help="Replace what an earlier demo left in DIR.")
@click.option(
    "--json", "as_json", is_flag=True, help="One JSON document on stdout; the story goes to stderr."
)
def demo(folder: Path, replace: bool, as_json: bool) -> None:
    """Run the whole job on invented data, step by step, in DIR.

    Every lake, person, company and laboratory in it is invented.
    """
    if not as_json:
        tell_all(folder, replace)
        click.echo(f"\nDone. In {folder}:")
        for name, said in look_at(folder):
            click.echo(f"  {name:<27} {said}")
        return
    with contextlib.redirect_stdout(sys.stderr):
        tell_all(folder, replace)
    files = [{"file": name, "holds": said} for name, said in look_at(folder)]
    click.echo(json.dumps({"folder": str(folder), "files": files}, indent=2))


def tell_all(folder: Path, replace: bool) -> None:
    """Tell every step into the folder, which appears only when all of it is there."""
    from geneticlog.settings import shipped_folder

    refuse_unless_free(folder, replace)
    folder.parent.mkdir(parents=True, exist_ok=True)
    work = Path(tempfile.mkdtemp(prefix=f".{folder.name}.", dir=folder.parent))
    try:
        for file in sorted(shipped_folder("demo_data").iterdir()):
            if file.suffix in {".csv", ".txt", ".toml", ".xlsx"}:
                shutil.copy(file, work / file.name)
        click.echo("geneticlog demo: one invented lake company, from printed vial to lake report.")
        click.echo(f"Each command below can be typed by hand in {folder}.")
        number = 0
        with working_in(work):
            for step in (Step("A database of its own.", "database upgrade"), *STEPS):
                if step.story:
                    number += 1
                    say(f"{number}. {step.story}")
                tell(step)
        made = "This folder was made by geneticlog demo and may be replaced by it.\n"
        (work / MARK).write_text(made, encoding="utf-8")
        if folder.exists():
            shutil.rmtree(folder)
        work.chmod(0o755)
        work.rename(folder)
    except BaseException:
        shutil.rmtree(work, ignore_errors=True)
        raise


def refuse_unless_free(folder: Path, replace: bool) -> None:
    """Raise Refused for a folder in use, unless an earlier demo made it and it was said to replace it."""
    if folder.exists() and any(folder.iterdir()):
        if not (folder / MARK).is_file():
            raise Refused(f"{folder} holds files that no demo made; name a new or an empty folder")
        if not replace:
            raise Refused(
                f"{folder} holds an earlier demo; say --replace to make it again, or name another folder"
            )


def say(text: str) -> None:
    """Say a part of the story in lines that fit the screen."""
    click.echo()
    click.echo(click.wrap_text(text, width=78))


@contextlib.contextmanager
def working_in(folder: Path) -> Iterator[None]:
    """Work in the folder, on its own database, under an invented name, whatever the environment says."""
    kept = {name: os.environ.get(name) for name in ("GENETICLOG_DATABASE", "GENETICLOG_PERSON")}
    os.environ.update(GENETICLOG_DATABASE="heron.sqlite", GENETICLOG_PERSON="Ida Invented")
    before = Path.cwd()
    os.chdir(folder)
    try:
        yield
    finally:
        os.chdir(before)
        for name, value in kept.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value


def tell(step: Step) -> None:
    """Show the command, run it in this process, show the head of what it said."""
    from geneticlog.faces.app.cli import cli

    click.echo(f"\n   $ geneticlog {step.command}{f' < {step.reads}' if step.reads else ''}")
    heard, grumbled = (io.TextIOWrapper(io.BytesIO(), encoding="utf-8", newline="\n") for _ in range(2))
    feed = Path(step.reads).open(encoding="utf-8") if step.reads else None  # noqa: SIM115 - closed below
    kept, code = sys.stdin, 0
    try:
        if feed:
            sys.stdin = feed
        with contextlib.redirect_stdout(heard), contextlib.redirect_stderr(grumbled):
            code = cli.main(shlex.split(step.command), prog_name="geneticlog", standalone_mode=False) or 0
    except click.ClickException as fault:
        raise GeneticlogError(
            f"the demo stopped at: geneticlog {step.command} ({fault.format_message()})"
        ) from fault
    finally:
        sys.stdin = kept
        if feed:
            feed.close()
    if code:
        raise GeneticlogError(f"the demo stopped at: geneticlog {step.command} ({text_of(grumbled).strip()})")
    printed = [line.rstrip() for line in (text_of(heard) + text_of(grumbled)).splitlines() if line.strip()]
    for line in printed[: step.lines_shown]:
        for part in lines_of(line):
            click.echo(f"     {part}")
    if len(printed) > step.lines_shown:
        click.echo(f"     … {len(printed) - step.lines_shown} more lines, the last: {printed[-1]}")


def lines_of(line: str) -> list[str]:
    """Return a sentence in lines that fit the screen; a row of a table or of a chart as it stands."""
    if "  " in line.strip() or len(line) <= 75:
        return [line]
    return textwrap.wrap(line, 75, subsequent_indent="  ", break_long_words=False, break_on_hyphens=False)


def text_of(stream: io.TextIOWrapper) -> str:
    """Return what was written to a stream in memory."""
    stream.flush()
    held = stream.buffer
    assert isinstance(held, io.BytesIO)
    return held.getvalue().decode("utf-8")


def look_at(folder: Path) -> list[tuple[str, str]]:
    """Return the files that were written, what to look at first on top, each with what it is."""
    return [(name, said) for name, said in FILES if (folder / name).exists()]


# what to look at first stands on top; names end in *, the first that fits is shown
FILES = (
    ("report/heron.html", "the lake report: look at this first, in any browser, no network needed"),
    ("report/heron.pdf", "the same report for paper"),
    ("plan.png", "what more fish would show: the trade-off of the sampling plan"),
    ("labels.pdf", "a sheet of vial labels; print at 100 %"),
    ("HERON-2026-field-sheet.pdf", "the field sheet for the boat (and as .csv and .xlsx)"),
    ("field_sheet_2026.csv", "a field sheet as it came back filled in"),
    ("SH-2026-manifest.csv", "the manifest for the lab (and as .xlsx)"),
    ("SH-2026-plate-map.pdf", "the plate map, to check the vials against"),
    ("SH-2026-custody-form.pdf", "the custody form, signed at each hand-over"),
    ("lab_return_2026.csv", "what the lab sent back"),
    ("reconciliation.csv", "what does not reconcile, finding by finding"),
    ("heron.sqlite", "the database: geneticlog --database heron.sqlite lake list"),
)
