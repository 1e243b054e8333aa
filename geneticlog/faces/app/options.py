"""Options and arguments that several commands take."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime
from typing import Any

import click

PAPERS = {"letter": "us-letter", "a4": "a4"}  # as a person says it -> as the page is set


class IsoDate(click.ParamType[date]):
    """A date as YYYY-MM-DD; a date is never guessed from 3/4/25."""

    name = "YYYY-MM-DD"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> date:
        if isinstance(value, date):
            return value
        try:
            return date.fromisoformat(str(value).strip())
        except ValueError:
            self.fail(f"{value!r} is not a date; write it as 2026-05-12 (year-month-day)", param, ctx)


ISO_DATE = IsoDate()
MOMENT = click.DateTime(["%Y-%m-%d", "%Y-%m-%d %H:%M", "%Y-%m-%dT%H:%M"])


class RenamedOption(click.Option):
    """An option with older names behind its own: they work as before, and help shows the first alone."""

    def get_help_record(self, ctx: click.Context) -> tuple[str, str] | None:
        names = self.opts
        self.opts = names[:1]
        try:
            return super().get_help_record(ctx)
        finally:
            self.opts = names


def instant(moment: datetime | None) -> datetime | None:
    """Return the instant of a local time as it is typed."""
    return moment.astimezone() if moment is not None else None


def all_of(*options: Callable[[Any], Any]) -> Callable[[Any], Any]:
    """Put several options on a command in the order given."""

    def decorate(command: Any) -> Any:
        for option in reversed(options):
            command = option(command)
        return command

    return decorate


# As in rules/boat/sitting.py, kept here so that --help need not load it; a test compares the two.
ORDERS = ("any", "vial,length", "vial,length,weight", "length,vial", "length,weight,vial")
