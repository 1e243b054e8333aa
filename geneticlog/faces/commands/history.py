"""``geneticlog history``: the whole life of one vial, finding, shipment or survey on one screen."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from geneticlog.faces.app.desk import Desk, ShowCommand, say_table, say_wrapped
from geneticlog.settings import local_time

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from geneticlog.work.history import ResultSaid
    from geneticlog.work.life import Life


@click.command(cls=ShowCommand)
@click.argument("subject", metavar="VIAL|FINDING|SHIPMENT|SURVEY")
@click.pass_obj
def history(desk: Desk, subject: str) -> None:
    """Show the whole life of a vial, finding, shipment or survey.

    Of a vial: printed, filled, packed, sent, arrived, returned, its findings and who decided what about them. Of a
    finding: its rows as the lab wrote them, and each decision.

    \b
    geneticlog history "BG 4F7 Q2K R"
    geneticlog history F12
    """
    from geneticlog.rules.vialcode import printed
    from geneticlog.work.history import history as life_of
    from geneticlog.work.shipment.pack import look_up

    with desk.reading() as session:
        other = other_life(session, subject)
        told = life_of(session, look_up(session, subject)) if other is None else None
    if other is not None or told is None:
        show_life(desk, other)
        return

    def say() -> None:
        click.echo(f"Vial {printed(told.vial)}: {told.role.replace('_', ' ')}, {told.custody}")
        if told.fish:
            length = f", {told.length:g} {told.length_unit}" if told.length is not None else ""
            size = f" ({told.size_class})" if told.size_class else ""
            what = "".join(f", {text.replace('_', ' ')}" for text in (told.species, told.fate) if text)
            say_wrapped(f"  fish {told.fish}{length}{size}{what}, {told.lake}, {told.surveyed_on}", "    ")
        for result in told.results:
            if result.ancestry_class is not None and result.q is not None:
                click.echo(f"  {_result(result)}")
                click.echo(
                    f"    class by {result.rule_set}; interval of q: within {result.drop:g} log units of the likeliest"
                )
                if result.settled:
                    say_wrapped(f"    {result.settled}", " " * 4)
        say_table(
            ["when", "who", "what", "why"],
            [[local_time(moment.at), moment.by, moment.what, moment.why] for moment in told.life],
        )

    desk.show(vars(told), say)


def other_life(session: Session, subject: str) -> Life | None:
    """Return the life of the finding, shipment or survey of this name; None where it can only be a vial."""
    import re

    from geneticlog.errors import NotFound
    from geneticlog.rules.vialcode import VialCodeError, parse
    from geneticlog.work.events import find_shipment, find_survey
    from geneticlog.work.finding.decide import find_finding
    from geneticlog.work.life import life_of_finding, life_of_shipment, life_of_survey

    if re.fullmatch(r"[Ff][0-9]{1,9}", subject.strip()):
        return life_of_finding(session, find_finding(session, subject))
    try:
        parse(subject)
    except VialCodeError:
        pass
    else:
        return None
    try:
        return life_of_shipment(session, find_shipment(session, subject))
    except NotFound:
        pass
    try:
        return life_of_survey(session, find_survey(session, subject))
    except NotFound:
        return None


def show_life(desk: Desk, told: Life | None) -> None:
    """Show the life of a finding, a shipment or a survey."""
    assert told is not None

    def say() -> None:
        say_wrapped(told.title if told.kind != "finding" else f"Finding {told.name}: {told.title}", "  ")
        for fact in told.facts:
            say_wrapped(f"  {fact}", "    ")
        say_table(
            ["when", "who", "what", "why"],
            [[local_time(moment.at), moment.by, moment.what, moment.why] for moment in told.life],
        )

    desk.show({told.kind: told.name, "title": told.title, "facts": told.facts, "life": told.life}, say)


def _result(result: ResultSaid) -> str:
    interval = "" if result.low is None else f" ({result.low:.3f} to {result.high:.3f})"
    h = "" if result.heterozygosity is None else f", H {result.heterozygosity:.3f}"
    loci = "" if result.n_loci is None else f", {result.n_loci} loci"
    return f"q {result.q:.3f}{interval}{h}{loci}: {result.ancestry_class}; {result.generation}"
