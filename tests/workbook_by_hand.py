"""A workbook of a table, then changed by hand as an office or a lab may have done."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterable
from typing import Any

import openpyxl


def number_or_text(cell: Any) -> Any:
    """Return a cell as a number where it reads as one, else as it is."""
    try:
        return float(cell)
    except (TypeError, ValueError):
        return cell


def changed_workbook(rows: Iterable[Iterable[Any]], change: Callable[[Any], object]) -> bytes:
    """Return the XLSX file of some rows, after ``change`` was made to the workbook."""
    workbook = openpyxl.Workbook()
    for row in rows:
        workbook.active.append([number_or_text(cell) for cell in row])
    change(workbook)
    out = io.BytesIO()
    workbook.save(out)
    return out.getvalue()
