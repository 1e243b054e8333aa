"""Questions about a lab's file, put to a person at the terminal until none is open."""

from __future__ import annotations

import shutil
import sys
import textwrap
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Generic, TypeVar

import click

from geneticlog.faces.app.plain_terminal import shown
from geneticlog.faces.lab_return.choices import choice_in_words
from geneticlog.rules.sentences import n_of

if TYPE_CHECKING:
    from geneticlog.rules.lab_return.sheet.reading import Question
    from geneticlog.rules.lab_return.words.headings import Taxa
    from geneticlog.rules.lab_return.words.layout import Layout
    from geneticlog.work.lab_return.look_first import Looked
    from geneticlog.work.lab_return.preview_return import Preview

Seen = TypeVar("Seen", "Preview", "Looked")
MOST_ROUNDS = 5  # answers may bring further questions


@dataclass(frozen=True)
class Answered(Generic[Seen]):
    """A file as it is seen with a person's answers; ``options`` give the same answers on a command line."""

    layout: Layout
    seen: Seen
    options: tuple[str, ...]


def until_answered(layout: Layout, look: Callable[[Layout], Seen]) -> Answered[Seen]:
    """Look at a file, and at a terminal put each question; elsewhere the questions stay open."""
    from geneticlog.rules.lab_return.sheet.reading import as_option
    from geneticlog.rules.lab_return.words.answers import with_answer

    seen = look(layout)
    options: list[str] = []
    for _ in range(MOST_ROUNDS):
        if not (seen.reading.questions and sys.stdin.isatty()):
            break
        n = len(seen.reading.questions)
        _say(f"{seen.reading.file}: {n_of(n, 'question')} to answer first.")
        for question in seen.reading.questions:
            choice = _asked(question, layout.taxa)
            layout = with_answer(layout, *choice)
            options.append(as_option(choice))
        seen = look(layout)
    return Answered(layout, seen, tuple(dict.fromkeys(options)))


def _asked(question: Question, taxa: Taxa) -> tuple[str, str, str]:
    """Put one question and return the choice."""
    click.echo(err=True)
    ends = "" if question.text.endswith("?") else ": what is it?" if question.text.endswith(")") else "."
    _say(f"{question.text}{ends}")
    for i, choice in enumerate(question.choices, start=1):
        _say(f"  {i}  {choice_in_words(choice, taxa)}", " " * 5)
    n = len(question.choices)
    one = "1, or Ctrl-C to ask the lab first" if n == 1 else f"1 to {n}"
    answer: int = click.prompt(f"Which ({one})", type=click.IntRange(1, n), err=True)
    return question.choices[answer - 1]


def _say(text: str, indent: str = "") -> None:
    """Say a sentence on stderr within the width of the screen; what a lab wrote commands no terminal."""
    width = max(40, shutil.get_terminal_size().columns)
    lines = textwrap.wrap(shown(text), width, subsequent_indent=indent, break_on_hyphens=False)
    click.echo("\n".join(lines), err=True)
