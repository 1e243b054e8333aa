"""Groups of commands: whole summaries in their help, a nearest name for a slip, and old names that still work."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import click

from geneticlog.faces.app.plain_terminal import shown
from geneticlog.rules.sentences import nearest_names


class DeskGroup(click.Group):
    """A group that lists the whole first sentence of each command, suggests names and keeps old ones.

    old_names
        name that was used before -> the words that are used now, after ``geneticlog``. The old command still
        runs and says once, on stderr, what it is called now; it is not listed.
    other_names
        name that a person may try -> the command here that does the same; it runs, and is not listed.
    elsewhere
        name that a person may try here -> the words that do it, after ``geneticlog``; the fault names them.
    """

    def __init__(
        self,
        *arguments: Any,
        old_names: Mapping[str, str] | None = None,
        other_names: Mapping[str, str] | None = None,
        elsewhere: Mapping[str, str] | None = None,
        **keywords: Any,
    ) -> None:
        super().__init__(*arguments, **keywords)
        self.old_names = dict(old_names or {})
        self.other_names = dict(other_names or {})
        self.elsewhere = dict(elsewhere or {})

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
        if name in self.other_names:
            args = [self.other_names[name], *args[1:]]
            name = args[0]
        if self.get_command(ctx, name) is None and not name.startswith("-"):
            where = ctx.command_path
            ctx.fail(f"there is no command {where} {shown(name)}; {self._instead(name, where)}")
        if name in self.old_names and not ctx.resilient_parsing:
            click.echo(
                f"Note: `{ctx.command_path} {name}` is the old name of `geneticlog {self.old_names[name]}`.",
                err=True,
            )
        return super().resolve_command(ctx, args)

    def _instead(self, name: str, where: str) -> str:
        """Return what to use for a name that is not a command here."""
        if name in self.elsewhere:
            return f"use: geneticlog {self.elsewhere[name]}"
        near = nearest_names(name, self.list_commands(click.Context(self)))
        if not near:
            return f"see: {where} --help"
        return f"did you mean {' or '.join(repr(other) for other in near)}?"
