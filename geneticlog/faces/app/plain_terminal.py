"""What a person types and what a terminal is sent, kept to text: no name may command a terminal."""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import Any, TextIO, cast

import click

# controls of both sets, marks that turn the direction of writing, and halves of characters; line feed, tab and carriage
# return are text, and so is what makes it bold or coloured, as we do; what hides it or turns it round is not
OURS = "(?:[0-4]|2[2-4]|3[1-79]|9[1-7])"
COMMANDS = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1a\x1c-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069\ud800-\udfff]"
    rf"|\x1b(?!\[(?:{OURS}(?:;{OURS})*)?m)"
)
NO_TEXT = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")
LARGEST = 2**31  # whole numbers of a column of PostgreSQL


def shown(text: str) -> str:
    """Return a text as it may be sent to a terminal: what would command it is written as \\u001b."""
    return COMMANDS.sub(lambda found: f"\\u{ord(found[0]):04x}", text)


def words_only(text: str) -> str:
    """Return a text of several lines without any colour of its own: a fault, which may hold the name of a file."""
    return shown(text.replace("\x1b", "\\u001b"))


def one_line(value: object) -> str:
    """Return a value as text without any colour of its own, for the cell of a table."""
    return NO_TEXT.sub(lambda found: f"\\u{ord(found[0]):04x}", shown(str(value)))


class PlainStream:
    """A stream that shows what would command a terminal; everything else is the stream's own."""

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream

    def write(self, text: str) -> int:
        if text.startswith("\a"):  # the bell of the log, which rings before a refusal
            return self._stream.write("\a" + shown(text[1:]))
        return self._stream.write(shown(text))

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)


@contextmanager
def plain_output() -> Iterator[None]:
    """Whatever is printed in this block is shown and not obeyed."""
    before = sys.stdout
    sys.stdout = cast(TextIO, PlainStream(before))
    try:
        yield
    finally:
        sys.stdout = before


def require_utf8(words: Sequence[str], context: click.Context) -> None:
    """End with a sentence where a word of the command line is not UTF-8, or holds a NUL."""
    for number, word in enumerate(words, start=1):
        if "\0" in word:
            context.fail(
                f"word {number} of the command, {word!a}, is not the name of a file; check what was typed"
            )
        try:
            word.encode()
        except UnicodeEncodeError:
            context.fail(
                f"word {number} of the command, {word!a}, is not UTF-8; set the terminal to UTF-8, or rename"
                " the file"
            )


def require_text(given: Mapping[str, Any], context: click.Context) -> None:
    """End with a sentence where a value holds a control character or is a number that no column holds.

    The name of a file may hold any: it is shown and not obeyed.
    """
    for name, value in given.items():
        for part in value if isinstance(value, tuple | list) else (value,):
            if isinstance(part, str) and (found := NO_TEXT.search(part)):
                context.fail(
                    f"{name.replace('_', ' ')} {part!a} holds a control character ({found[0]!a}); leave it out"
                )
            if isinstance(part, int) and abs(part) >= LARGEST:
                context.fail(f"{name.replace('_', ' ')} {part} is too large a number; check what was typed")
