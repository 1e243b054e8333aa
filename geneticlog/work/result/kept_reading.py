"""How a file was read, and each row as the lab wrote it, as JSON texts that are kept beside the results."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import asdict, replace
from typing import Any

from geneticlog.rules.lab_return.cells.cells import number
from geneticlog.rules.lab_return.cells.percent_or_fraction import COUNT, PERCENT
from geneticlog.rules.lab_return.sheet.account_items import Account
from geneticlog.rules.lab_return.sheet.reading import Reading, Row
from geneticlog.rules.lab_return.sheet.sheet_rows import SheetRows
from geneticlog.rules.lab_return.words.layout import column_letter
from geneticlog.rules.lab_return.words.roles import PROPORTIONS
from geneticlog.store.tables import ReturnFile

_encode = json.JSONEncoder(ensure_ascii=False).encode
_quoted = json.encoder.encode_basestring


def cell_writer(reading: Reading) -> Callable[[Row], str]:
    """Return a function that gives a row as JSON, heading -> text as written.

    A column without a heading of its own goes by its letter; a heading that stands twice has the letter
    added.
    """
    seen: set[str] = set()
    keys: list[tuple[str, int]] = []
    for column in reading.columns:
        key = column.heading or column.letter
        if key in seen:
            key = f"{key} ({column.letter})"
        seen.add(key)
        keys.append((key, column.number - 1))

    named = [(f"{_quoted(key)}: ", i) for key, i in keys]

    def write(row: Row) -> str:  # as an encoder would, for each of many rows of texts
        width = len(row)
        cells = ", ".join([name + _quoted(row[i][0]) for name, i in named if i < width])
        return f"{{{cells}}}".replace("\\u0000", "")

    return write


def sheet_rows_of(file: ReturnFile) -> SheetRows:
    """Return how the rows of a file that was read are named."""
    told = json.loads(file.reading).get("sheet_rows") or {}
    return SheetRows(tuple(told.get("sheets", ())), told.get("step", 0))


def half_digits_of(reading: Mapping[str, Any], cells: Mapping[str, str]) -> dict[str, float]:
    """Return half the last digit that a kept row had in each column of shares, as shares of one.

    reading
        as `reading_in_json` kept it.
    """
    seen: set[str] = set()
    out: dict[str, float] = {}
    for column in reading.get("columns", []):
        letter = column_letter(column["number"])
        key = column["heading"] or letter
        if key in seen:
            key = f"{key} ({letter})"
        seen.add(key)
        if column["role"] not in PROPORTIONS:
            continue
        text = str(cells.get(key, ""))
        figure = number(text, reading.get("decimal", ".")) or number(text)
        if figure is not None:
            is_count = (
                column["unit"] == COUNT and figure.of is None
            )  # of alleles or loci: nothing of it is rounded
            out[column["role"]] = 0.0 if is_count else figure.as_fraction(column["unit"] == PERCENT)[1]
    return out


def sheet_of(file: ReturnFile) -> str | None:
    """Return the one sheet that was read of a workbook; None for a file of one table."""
    return json.loads(file.reading).get("sheet") or None


def account_in_json(account: Account) -> str:
    """Return the account of a file as JSON, as it is kept beside the file."""
    return _encode(account.as_plain()).replace("\\u0000", "")


def reading_in_json(reading: Reading, loci_from_panel: int | None) -> str:
    """Return the reading as JSON: sheet, heading, each column with role, unit and evidence, missing words."""
    n_data_rows = len(reading.data_rows)
    used = asdict(replace(reading, data_rows=()))
    layout = used.pop("layout")
    layout.pop("kept")
    used.pop("questions")
    used.pop("data_rows")
    used["n_data_rows"] = n_data_rows
    sets = ("missing", "harmless", "against", "answered")
    used["layout"] = {**layout, **{key: sorted(layout[key]) for key in sets}}
    used["loci_from_panel"] = loci_from_panel
    return _encode(used).replace("\\u0000", "")
