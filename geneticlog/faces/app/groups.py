"""Groups of commands: whole summaries in their help, a nearest name for a slip, and old names that still work."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from difflib import get_close_matches
from typing import Any

import click


def nearest_names(name: str, names: Sequence[str]) -> str:
    """Return "; did you mean 'coverage'?" for a name that is close to others, else nothing."""
    near = get_close_matches(name, names, n=3, cutoff=0.6)
    near += [other for other in names if other.startswith(name) and other not in near]
    if not near:
        return ""
    listed = " or ".join(repr(other) for other in near[:3])
    return f"; did you mean {listed}?"


class DeskGroup(click.Group):
    """A group that lists the whole first sentence of each command, suggests names and keeps old ones.

    old_names
        name that was used before -> the words that are used now, after ``geneticlog``. The old command still
        runs and says once, on stderr, what it is called now; it is not listed.
    """

    def __init__(self, *arguments: Any, old_names: Mapping[str, str] | None = None, **keywords: Any) -> None:
        super().__init__(*arguments, **keywords)
        self.old_names = dict(old_names or {})

    def list_commands(self, ctx: click.Context) -> list[str]:
        return [name for name in super().list_commands(ctx) if name not in self.old_names]

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        rows = []
        for name in self.list_commands(ctx):
            command = self.get_command(ctx, name)
            if command is not None and not command.hidden:
                rows.append((name, command.get_short_help_str(limit=400)))
        with formatter.section("Commands"):
            formatter.write_dl(rows)

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        name = args[0]
        if self.get_command(ctx, name) is None and not name.startswith("-"):
            where = ctx.command_path
            near = nearest_names(name, self.list_commands(ctx))
            ctx.fail(f"there is no command {where} {name}{near}" + ("" if near else f"; see: {where} --help"))
        if name in self.old_names and not ctx.resilient_parsing:
            click.echo(
                f"Note: `{ctx.command_path} {name}` is the old name of `geneticlog {self.old_names[name]}`.",
                err=True,
            )
        return super().resolve_command(ctx, args)
