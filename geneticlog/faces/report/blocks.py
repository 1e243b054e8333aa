"""The blocks a report is made of, as plain mappings that page and paper both set."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

Block = dict[str, Any]


def text(words: str, style: str = "") -> Block:
    return {"kind": "text", "text": words, "style": style}


def listed(items: Sequence[str]) -> Block:
    return {"kind": "list", "items": list(items)}


def table(
    name: str,
    caption: str,
    columns: Sequence[tuple[str, bool]],
    rows: Sequence[Sequence[str]],
    note: str = "",
) -> Block:
    return {
        "kind": "table",
        "id": name,
        "caption": caption,
        "columns": [{"label": label, "number": number} for label, number in columns],
        "rows": [list(row) for row in rows],
        "note": note,
    }
