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
    from geneticlog.work.shipment.packable import look_up

    with desk.reading() as session:
        other = other_life(session, subject)
        life = life_of(session, look_up(session, subject)) if other is None else None
    if other is not None or life is None:
        show_life(desk, other)
        return

    def say() -> None:
        click.echo(f"Vial {printed(life.vial)}: {life.role.replace('_', ' ')}, {life.custody}")
        if life.fish:
            length = f", {life.length:g} {life.length_unit}" if life.length is not None else ""
            size = f" ({life.size_class})" if life.size_class else ""
            what = "".join(f", {text.replace('_', ' ')}" for text in (life.species, life.fate) if text)
            say_wrapped(f"  fish {life.fish}{length}{size}{what}, {life.lake}, {life.surveyed_on}", "    ")
        for result in life.results:
            if result.ancestry_class is not None and result.q is not None:
                click.echo(f"  {_result(result)}")
                click.echo(
                    f"    class by {result.rule_set}; interval of q: within {result.drop:g} log units of the likeliest"
                )
                if result.settled:
                    say_wrapped(f"    {result.settled}", " " * 4)
        say_table(
            ["when", "who", "what", "why"],
            [[local_time(moment.at), moment.by, moment.what, moment.why] for moment in life.life],
        )

    desk.show(vars(life), say)


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


def show_life(desk: Desk, life: Life | None) -> None:
    """Show the life of a finding, a shipment or a survey."""
    assert life is not None

    def say() -> None:
        say_wrapped(life.title if life.kind != "finding" else f"Finding {life.name}: {life.title}", "  ")
        for fact in life.facts:
            say_wrapped(f"  {fact}", "    ")
        say_table(
            ["when", "who", "what", "why"],
            [[local_time(moment.at), moment.by, moment.what, moment.why] for moment in life.life],
        )

    desk.show({life.kind: life.name, "title": life.title, "facts": life.facts, "life": life.life}, say)


def _result(result: ResultSaid) -> str:
    interval = "" if result.low is None else f" ({result.low:.3f} to {result.high:.3f})"
    h = "" if result.heterozygosity is None else f", H {result.heterozygosity:.3f}"
    loci = "" if result.n_loci is None else f", {result.n_loci} loci"
    return f"q {result.q:.3f}{interval}{h}{loci}: {result.ancestry_class}; {result.generation}"
