"""``geneticlog completion``: the lines a shell needs to complete commands and names."""

from __future__ import annotations

import click

from geneticlog.faces.app.desk import Desk, ShowCommand

WHERE = {
    "bash": 'eval "$(geneticlog completion bash)"   in ~/.bashrc',
    "zsh": 'eval "$(geneticlog completion zsh)"   in ~/.zshrc',
    "fish": "geneticlog completion fish > ~/.config/fish/completions/geneticlog.fish",
}


@click.command(
    cls=ShowCommand,
    epilog="\b\n" + "\n".join(f"{shell}: {line}" for shell, line in WHERE.items()),
)
@click.argument("shell", type=click.Choice(list(WHERE)))
@click.pass_obj
def completion(desk: Desk, shell: str) -> None:
    """Print what a shell needs to complete commands, lakes, surveys and more.

    The script is for bash, zsh or fish. Lakes, surveys, shipments, labs, panels, findings and label stocks are
    completed from the database.
    """
    from click.shell_completion import get_completion_class

    from geneticlog.faces.app.cli import cli

    found = get_completion_class(shell)
    assert found is not None  # the choice above names shells that click knows
    script = found(cli, {}, "geneticlog", "_GENETICLOG_COMPLETE").source()
    desk.show({"shell": shell, "script": script}, lambda: click.echo(script))
