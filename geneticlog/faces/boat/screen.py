"""The screen of the boat's prompt: words at most 78 columns wide, with colour and a bell where they help."""

from __future__ import annotations

import os
import re
import sys
import textwrap
from contextlib import suppress

import click

BELL = "\a"
WIDEST = 78


class Screen:
    """Says things in words, with colour beside them where the terminal takes it."""

    def __init__(self) -> None:
        terminal = sys.stdout.isatty() and os.environ.get("TERM") != "dumb"
        self.colour = terminal and not os.environ.get("NO_COLOR")
        self.width = WIDEST
        if terminal:
            with suppress(OSError):
                self.width = min(WIDEST, os.get_terminal_size(sys.stdout.fileno()).columns - 2)

    def say(self, text: str, colour: str | None = None, *, bell: bool = False, indent: str = "") -> None:
        text = self.wrapped(text, indent)
        shown = click.style(text, fg=colour, bold=True) if colour and self.colour else text
        click.echo((BELL if bell else "") + shown, color=self.colour or None)
        sys.stdout.flush()

    def plain(self, text: str) -> None:
        """Say a text whose lines are broken as they should be; on a narrow screen what is explained comes below."""
        for line in text.splitlines():
            if len(line) <= self.width:
                click.echo(line)
                continue
            key, _, meaning = line.strip().partition("  ")
            click.echo(self.wrapped(key))
            if meaning:
                click.echo(self.wrapped(meaning.strip(), "    "))

    def wrapped(self, text: str, indent: str = "  ") -> str:
        """Return a text broken into lines; a vial code stays on one line."""
        whole = re.sub(r"\b([A-Z]{2}) (\w{3}) (\w{3}) (\w)\b", "\\1\xa0\\2\xa0\\3\xa0\\4", text)
        lines = [
            textwrap.wrap(line, max(self.width, 30), initial_indent=indent, subsequent_indent=indent) or [""]
            for line in whole.split("\n")
        ]
        return "\n".join(part for line in lines for part in line).replace("\xa0", " ")
