"""A value as it is typed in a shell, the same in a POSIX shell, PowerShell and cmd."""

from __future__ import annotations

import re


def quoted(value: str) -> str:
    """Return a value in quotation marks where a shell would part it or take a character of it for its own.

    Where it has a quotation mark or a sign that shells replace even between them, the marks are single ones.
    """
    if re.search(r'["$`!]', value):
        return "'" + value.replace("'", "'\\''") + "'"
    return f'"{value}"' if re.search(r"[^\w.%+\-/\\:]", value) or not value else value
