"""A table that turns into blocks on a narrow screen: each cell carries the heading it stands under.

The style sheet shows these headings where the screen is narrow. A row that is laid out as a block is no row to a
browser any more, so each part says by its role what it is.
"""

from __future__ import annotations

import re

from markupsafe import Markup

_HEAD = re.compile(r'<th scope="col"[^>]*>(.*?)</th>', re.DOTALL)
_PART = re.compile(r"<(tr|td|th|thead|tbody)\b((?:\"[^\"]*\"|[^\">])*)>")
ROLES = {"tr": "row", "td": "cell", "thead": "rowgroup", "tbody": "rowgroup"}


def in_blocks(table: str) -> Markup:
    """Return the inner HTML of a table of ours, its cells with their heading (``data-head``) and roles."""
    heads = _HEAD.findall(table)
    at = 0

    def part(found: re.Match[str]) -> str:
        nonlocal at
        name, given = found[1], found[2]
        if name == "tr":
            at = 0
        if name in ROLES and name != "td":
            return f'<{name}{given} role="{ROLES[name]}">'
        if 'scope="col"' in given:
            return f'<{name}{given} role="columnheader">'
        head = heads[at] if at < len(heads) else ""
        at += 1
        role = "rowheader" if name == "th" else "cell"
        return f'<{name}{given} role="{role}" data-head="{head}">'

    return Markup(_PART.sub(part, table))
