"""``geneticlog report compare``: lakes against each other."""

from __future__ import annotations

from dataclasses import asdict

import click

from geneticlog.faces.app.desk import Desk, ShowCommand, say_table, say_wrapped
from geneticlog.faces.commands.report_options import matters_option


@click.command("compare", cls=ShowCommand)
@click.argument("lakes", metavar="LAKE LAKE...", nargs=-1, required=True)
@matters_option
@click.pass_obj
def compare(desk: Desk, lakes: tuple[str, ...], matters: float) -> None:
    """Compare two lakes or more: which has more, by how much, and how sure.

    Each lake is its catch-weighted mean on the survey that its report is about. Beside it: the same with both lakes
    weighted to one length frequency, and of young and adult fish alone. Several p are adjusted by Holm.

    Example: geneticlog report compare HERON OSPREY
    """
    from geneticlog.faces.report.compare_words import (
        ONE_STATISTIC,
        heading,
        lake_row,
        misread_sentences,
        pair_sentences,
    )
    from geneticlog.rules.report.comparability import is_small
    from geneticlog.work.report.compare_lakes import compare_lakes

    if len(lakes) < 2:
        raise click.UsageError("Name two lakes or more.")
    with desk.reading() as session:
        compared = compare_lakes(session, lakes)
    sentences = {
        (pair.first, pair.second): pair_sentences(
            pair, compared.lakes[0].taxon, matters / 100, several=len(compared.pairs) > 1
        )
        for pair in compared.pairs
    }

    def say() -> None:
        say_wrapped(heading(compared))
        say_table(
            ["lake", "name", "survey", "fish", "share", "95 %", "of the catch"],
            [lake_row(one) for one in compared.lakes],
            numbers=["fish", "share", "95 %", "of the catch"],
            whole=["lake", "survey"],
        )
        for line in misread_sentences(compared):
            say_wrapped(line)
        for said in sentences.values():
            click.echo("")
            for line in said:
                say_wrapped(line, indent="  ")
        click.echo("")
        say_wrapped(ONE_STATISTIC)

    pairs = [
        {
            **asdict(pair),
            "is_small": is_small(pair.low, pair.high, pair.missed, matters / 100),
            "sentences": sentences[pair.first, pair.second],
        }
        for pair in compared.pairs
    ]
    desk.show(
        {"lakes": [asdict(one) for one in compared.lakes], "matters": matters / 100, "pairs": pairs}, say
    )
