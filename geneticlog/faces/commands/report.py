"""``geneticlog report``: one lake, its fish one by one, all lakes, and the data behind them."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from geneticlog.errors import NotFound, StoreReadOnly
from geneticlog.faces.app.desk import Desk, ShowCommand, say_table, say_wrapped
from geneticlog.faces.app.groups import DeskGroup
from geneticlog.faces.app.options import PAPERS
from geneticlog.faces.app.progress import Watch, progress, step
from geneticlog.faces.commands import report_compare, report_decisions, report_export
from geneticlog.faces.commands.report_options import (
    matters_option,
    need_out_or_json,
    out_folder,
    replace_option,
    rule_set_option,
)
from geneticlog.rules.sentences import n_of
from geneticlog.rules.stamp import Stamp
from geneticlog.settings import local_time

if TYPE_CHECKING:
    from geneticlog.faces.report.files import Given
    from geneticlog.store.own_files import OwnFiles
    from geneticlog.work.portfolio.working_list import ListedLake
    from geneticlog.work.report.kept_reports import SentReport


@click.group(cls=DeskGroup)
def report() -> None:
    """Report one lake, all lakes, or the data behind them."""


report.add_command(report_compare.compare)
report.add_command(report_decisions.decisions)
report.add_command(report_export.export)


@report.command(cls=ShowCommand)
@click.argument("lake")
@click.option(
    "--out", type=click.Path(path_type=Path), metavar="DIR", help="Folder the report is written into."
)
@click.option(
    "--survey",
    "survey_code",
    metavar="SURVEY",
    help="Survey to report on (default: the latest with results).",
)
@click.option(
    "--half-width",
    type=click.FloatRange(0.01, 0.5),
    default=0.10,
    show_default=True,
    help="Half-width wanted of a class mean next time.",
)
@matters_option
@click.option(
    "--paper", type=click.Choice(sorted(PAPERS)), default="letter", show_default=True, help="PDF page."
)
@click.option(
    "--stocking-steps",
    is_flag=True,
    help="With several surveys: let the line through the years step up at each stocking.",
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
    matters: float,
    paper: str,
    rule_set_name: str | None,
    replace: bool,
    stocking_steps: bool,
) -> None:
    """Write the report of one lake: HTML, PDF, figures, XLSX and CSV.

    Files of an earlier report in the folder are replaced; any other file is left alone.

    Example: geneticlog report lake HERON --out reports/heron
    """
    from geneticlog.faces.report.answer_sentences import of_another_survey
    from geneticlog.faces.report.document import report_document
    from geneticlog.faces.report.files import LAKE_STEPS, given, lake_contents
    from geneticlog.faces.report.owner import ROUNDED, answer_lines
    from geneticlog.store.own_files import own_files
    from geneticlog.work.report.gather import Wanted, gather_lake

    need_out_or_json(desk, out)
    wanted = Wanted(survey_code, half_width, rule_set_name, stocking_steps, matters / 100)
    written: list[Path] = []
    kept = ""
    with progress(desk, f"Step 1 of {LAKE_STEPS if out else 1}: gathering fish and results") as watch:
        with desk.reading() as session:
            facts = gather_lake(session, lake, stamp=desk.stamp(), wanted=wanted)
        if out is not None:
            if facts.main is None:
                raise NotFound(
                    f"lake {facts.lake} has no survey yet, so there is nothing to report; "
                    "open one with: geneticlog survey open"
                )
            with own_files(out_folder(out), replace=replace) as files:
                written = files.add(lake_contents(facts, paper=PAPERS[paper], watch=watch))
                kept = "".join(_give(desk, files, [given(facts)]))
    lines, note = answer_lines(facts), of_another_survey(facts)

    def say() -> None:
        for line in lines:
            say_wrapped(line, indent="  ")
        if facts.main is not None and facts.main.fish:
            say_wrapped(ROUNDED)
        if note:
            click.echo("")
            say_wrapped(note)
        click.echo("")
        for path in written:
            click.echo(f"Wrote {path}")
        if kept:
            click.echo(f"Kept in the record as {kept}.")

    desk.show({**report_document(facts), "report": kept or None}, say)


def _give(desk: Desk, files: OwnFiles, reports: Sequence[Given]) -> list[str]:
    """Place the files of reports and record that they were issued, both or neither; return their names.

    They are drawn, typeset and on the disk before anybody has to wait for the database. From one that can only be read
    they are written all the same, and it is said that they are not kept.
    """
    from geneticlog.faces.report.files import keep

    try:
        with ExitStack() as until_stored:
            with desk.writing() as session:
                names = [keep(session, one, desk.by) for one in reports]
                until_stored.enter_context(files.placed())
            return names
    except StoreReadOnly:
        for one in reports:
            desk.note(f"The report of {one.lake} is not kept in the record: this database is read-only here.")
        files.place()
        return []


@report.command("list", cls=ShowCommand)
@click.option("--lake", "code", metavar="LAKE", help="Only the reports of this lake (default: all).")
@click.option("--outdated", is_flag=True, help="Only those whose owner should get a new report.")
@click.pass_obj
def list_(desk: Desk, code: str | None, outdated: bool) -> None:
    """List the reports that were sent out; outdated ones are marked.

    A report is outdated when a result behind it no longer counts or was changed, or its fish were corrected.

    Example: geneticlog report list --outdated
    """
    from dataclasses import asdict

    from geneticlog.work.events import find_lake
    from geneticlog.work.report.kept_reports import sent_reports

    with desk.reading() as session:
        sent = sent_reports(session, find_lake(session, code).code if code else None)
    shown = [one for one in sent if one.tell_again or not outdated]

    def say() -> None:
        if not shown:
            click.echo("No report is outdated." if outdated else "No report was sent out yet.")
            return
        say_table(
            ["report", "lake", "written", "by", "told", "standing"],
            [
                [one.report, one.lake, local_time(one.written_at), one.written_by,
                 one.told[0].partition("? ")[2] if one.told else "", standing_of(one)]
                for one in shown
            ],
            whole=["report"],
        )  # fmt: skip
        n = len({one.lake for one in sent if one.tell_again})
        if n:
            say_wrapped(
                f"{n_of(n, 'lake')} whose owner should get a new report; write it with geneticlog "
                "report lake LAKE --out DIR."
            )

    desk.show({"reports": [{**asdict(one), "tell_again": one.tell_again} for one in shown]}, say)


def standing_of(sent: SentReport) -> str:
    """Return in words whether a report that was sent out still holds."""
    since = f"{n_of(sent.n_newer, 'newer result')}" if sent.n_newer else ""
    if sent.outdated:
        said = f"outdated: {'; '.join(sent.changes)}"
        return f"{said}; a later report was sent out" if sent.replaced else said
    return "; ".join(part for part in ("holds", since) if part)


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
@matters_option
@click.option(
    "--with-reports",
    is_flag=True,
    help="Write the report of every lake too, each in its own folder next to the page.",
)
@click.option(
    "--paper", type=click.Choice(sorted(PAPERS)), default="letter", show_default=True, help="PDF page."
)
@replace_option
@click.pass_obj
def lakes(
    desk: Desk,
    out: Path | None,
    old_after: int,
    matters: float,
    with_reports: bool,
    paper: str,
    replace: bool,
) -> None:
    """Write the working list of all lakes, those that need attention first.

    Files of an earlier report in the folder are replaced; any other file is left alone.

    Example: geneticlog report lakes --out reports
    """
    from geneticlog.work.portfolio.working_list import working_list

    need_out_or_json(desk, out)
    if with_reports and out is None:
        raise click.UsageError("Give --out DIR for the reports of --with-reports.")
    now = desk.now()
    written: list[Path] = []
    of = 1 if out is None else 2 + with_reports
    with progress(desk, f"Step 1 of {of}: counting fish and results") as watch:
        with desk.reading() as session:
            listed = working_list(
                session,
                today=now.date(),
                old_after_days=old_after,
                matters=matters / 100,
                watch=step(watch, 1, of),
            )
        if out is not None:
            from geneticlog.faces.report.files import lakes_contents
            from geneticlog.store.own_files import own_files

            with own_files(out_folder(out), replace=replace) as files:
                reports: list[Given] = []
                if with_reports:
                    counted = step(watch, 2, of)
                    reports = _add_each(desk, files, out, listed, PAPERS[paper], counted, matters)
                links = _links(out, listed, {one.lake for one in reports})
                step(watch, of, of)(f"Setting the list of {n_of(len(listed), 'lake')}", 0, 0)
                stamp = Stamp(now, desk.by)
                written = files.add(lakes_contents(listed, stamp=stamp, paper=PAPERS[paper], links=links))
                if reports:
                    _give(desk, files, reports)
                else:
                    files.place()

    def say() -> None:
        waiting = [one for one in listed if one.reasons]
        click.echo(f"{n_of(len(listed), 'lake')}, {len(waiting)} to look at.")
        for one in waiting[:10]:
            click.echo(f"  {one.line.lake}: {'; '.join(one.reasons)}")
        if len(waiting) > 10:
            click.echo(f"  and {len(waiting) - 10} more")
        for path in written:
            click.echo(f"Wrote {path}")

    desk.show({"lakes": [_listed_document(one) for one in listed]}, say)


def _listed_document(listed: ListedLake) -> dict[str, Any]:
    """Return one lake of ``report lakes --json``: its numbers and what the list says of it, flat."""
    from dataclasses import asdict

    return {
        **asdict(listed.line),
        "state": str(listed.state),
        "state_words": listed.state_words,
        "owner": listed.owner,
        "county": listed.county,
        "last_survey_on": listed.last_survey_on,
        "next_step": listed.next_step,
        "reasons": listed.reasons,
        "urgency": listed.urgency,
    }


def _add_each(
    desk: Desk,
    files: OwnFiles,
    folder: Path,
    lakes: Sequence[ListedLake],
    paper: str,
    watch: Watch,
    matters: float,
) -> list[Given]:
    """Make the report of every lake with a survey for a folder of its own; return what is kept of each.

    They wait on the disk for their places until all are there, so that no old list is beside new reports.
    """
    from geneticlog.faces.report.files import given, lake_contents
    from geneticlog.work.report.gather import Wanted, gather_lake

    reports = []
    surveyed = [one.line.lake for one in lakes if one.last_survey_on is not None]
    for at, code in enumerate(surveyed, start=1):
        with desk.reading() as session:
            facts = gather_lake(session, code, stamp=desk.stamp(), wanted=Wanted(matters=matters / 100))
        out_folder(folder / code.lower())
        files.add(lake_contents(facts, paper=paper), below=code.lower())
        reports.append(given(facts))
        watch("Writing reports", at, len(surveyed))
        if at % 25 == 0 and not sys.stderr.isatty():
            desk.note(f"{at} of {len(surveyed)} reports written")
    return reports


def _links(folder: Path, lakes: Sequence[ListedLake], given_now: set[str]) -> dict[str, str]:
    """Return where the report of a lake is beside the page: those given now, and those an earlier run left there."""
    names = {one.line.lake: f"{one.line.lake.lower()}/{one.line.lake.lower()}.html" for one in lakes}
    return {code: name for code, name in names.items() if code in given_now or (folder / name).is_file()}
