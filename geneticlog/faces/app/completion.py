"""Completion of names that are in the database: lakes, surveys, shipments, findings, label stocks.

The shell calls the program with the line so far; a database that is missing or not ready completes nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

import click
from click.shell_completion import CompletionItem

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from geneticlog.faces.app.desk import Desk

MOST = 200  # names offered at once


def _codes(
    table: str, column: str, about: str | None = None
) -> Callable[[Session, str], list[CompletionItem]]:
    def find(session: Session, begun: str) -> list[CompletionItem]:
        from sqlalchemy import select

        from geneticlog.store import tables

        model = getattr(tables, table)
        name = getattr(model, column)
        shown = getattr(model, about) if about else name
        rows = session.execute(
            select(name, shown).where(name.istartswith(begun, autoescape=True)).order_by(name).limit(MOST)
        )
        return [CompletionItem(str(code), help=str(text) if about and text else None) for code, text in rows]

    return find


def _findings(session: Session, begun: str) -> list[CompletionItem]:
    from sqlalchemy import select

    from geneticlog.store.tables import Finding

    number = begun.upper().removeprefix("F")
    rows = session.execute(select(Finding.number, Finding.kind).order_by(Finding.number))
    return [
        CompletionItem(f"F{n}", help=kind) for n, kind in rows if n is not None and str(n).startswith(number)
    ][:MOST]


def _any_of(*kinds: str) -> Callable[[Session, str], list[CompletionItem]]:
    return lambda session, begun: [item for kind in kinds for item in SOURCES[kind](session, begun)]


# the name of a parameter of any command -> where its values are
SOURCES: dict[str, Callable[[Session, str], list[CompletionItem]]] = {
    "lake": _codes("Lake", "code", "name"),
    "survey": _codes("Survey", "code"),
    "surveys": _codes("Survey", "code"),
    "shipment": _codes("Shipment", "code"),
    "lab": _codes("Lab", "code", "name"),
    "panel": _codes("Panel", "code", "name"),
    "finding": _findings,
    "vial|finding|shipment|survey": _any_of("finding", "shipment", "survey"),
}


class Name(click.types.StringParamType):
    """A text that the shell completes with names of one kind."""

    def __init__(self, kind: str, desk: type[Desk]) -> None:
        self.kind, self.desk = kind, desk

    def shell_complete(
        self, ctx: click.Context, param: click.Parameter, incomplete: str
    ) -> list[CompletionItem]:
        desk = ctx.ensure_object(self.desk)
        try:
            if self.kind == "stock":
                return _stocks(incomplete)
            kind = self.kind
            if kind == "code":  # of what the command is about: `lake show CODE`, `correct survey CODE`
                kind = next(word for word in reversed(ctx.command_path.split()) if word in SOURCES)
            with desk.reading() as session:
                return SOURCES[kind](session, incomplete)
        except Exception:  # a shell that completes must never print a fault between two keys
            return []
        finally:
            desk.close()


def _stocks(begun: str) -> list[CompletionItem]:
    from geneticlog.faces.label.stocks import load_stocks

    return [
        CompletionItem(stock.name, help=stock.about)
        for stock in load_stocks(None).values()
        if stock.name.startswith(begun)
    ]


def complete_names(parameters: Sequence[click.Parameter], desk: type[Desk]) -> None:
    """Let the shell complete each parameter whose name says what it holds, where it takes any text."""
    for parameter in parameters:
        if parameter.type is not click.STRING:
            continue
        shown = (parameter.metavar or "").strip("[].").lower()
        for kind in (parameter.name, shown):
            if kind in {"stock_name", "cap_stock"}:
                parameter.type = Name("stock", desk)
            elif kind == "code" or kind in SOURCES:
                parameter.type = Name(str(kind), desk)
            else:
                continue
            break
