"""How a file was read, and each row as the lab wrote it, as JSON texts that are kept beside the results.

Nobody else reads or writes these texts: whoever asks takes them from here, by name.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping
from dataclasses import asdict, dataclass, replace

from geneticlog.rules.lab_return.cells.cells import number
from geneticlog.rules.lab_return.cells.percent_or_fraction import COUNT, PERCENT
from geneticlog.rules.lab_return.sheet.account_items import Account, account_from
from geneticlog.rules.lab_return.sheet.reading import Reading, Row
from geneticlog.rules.lab_return.sheet.sheet_rows import SheetRows
from geneticlog.rules.lab_return.words.layout import column_letter
from geneticlog.rules.lab_return.words.roles import PROPORTIONS, ColumnRole
from geneticlog.store.tables import ReturnFile

_encode = json.JSONEncoder(ensure_ascii=False).encode
_quoted = json.encoder.encode_basestring


@dataclass(frozen=True)
class KeptColumn:
    """A column as it was read: the key that its cells are kept under, what it was taken for, the unit of a share."""

    key: str
    role: ColumnRole
    unit: str


@dataclass(frozen=True)
class KeptReading:
    """How a file was read, as far as it is asked later.

    sheet
        the one sheet that was read of a workbook; None for a file of one table.
    sheet_rows
        how its rows are named.
    loci_from_panel
        the file did not say the loci scored, so its results were given the panel's number.
    """

    columns: tuple[KeptColumn, ...]
    decimal: str
    sheet: str | None
    sheet_rows: SheetRows
    loci_from_panel: bool


def kept_reading(text: str) -> KeptReading:
    """Return a reading from the text that `reading_in_json` kept."""
    kept = json.loads(text)
    columns = kept.get("columns", [])
    keys = _keys((column["heading"], column_letter(column["number"])) for column in columns)
    rows = kept.get("sheet_rows") or {}
    return KeptReading(
        tuple(
            KeptColumn(key, ColumnRole(column["role"]), column["unit"])
            for key, column in zip(keys, columns, strict=True)
        ),
        kept.get("decimal", "."),
        kept.get("sheet") or None,
        SheetRows(tuple(rows.get("sheets", ())), rows.get("step", 0)),
        bool(kept.get("loci_from_panel")),
    )


def kept_cells(text: str) -> dict[str, str]:
    """Return the cells of a row from the text that `cell_writer` gave: the key of each column -> what the lab wrote."""
    cells: dict[str, str] = json.loads(text)
    return cells


def kept_account(file: ReturnFile) -> Account | None:
    """Return the account of a file that `account_in_json` kept; None for one read before accounts were."""
    return account_from(json.loads(file.account)) if file.account else None


def sheet_rows_of(file: ReturnFile) -> SheetRows:
    """Return how the rows of a file that was read are named."""
    return kept_reading(file.reading).sheet_rows


def _keys(columns: Iterable[tuple[str, str]]) -> list[str]:
    """The keys of the columns with these headings and letters: its letter for one without a heading of its own; a
    heading that stands twice has the letter added.
    """
    keys: list[str] = []
    for heading, letter in columns:
        key = heading or letter
        keys.append(f"{key} ({letter})" if key in keys else key)
    return keys


def cell_writer(reading: Reading) -> Callable[[Row], str]:
    """Return a function that gives a row as JSON, key of the column -> text as written."""
    keys = _keys((column.heading, column.letter) for column in reading.columns)
    named = [
        (f"{_quoted(key)}: ", column.number - 1) for key, column in zip(keys, reading.columns, strict=True)
    ]

    def write(row: Row) -> str:  # as an encoder would, for each of many rows of texts
        width = len(row)
        cells = ", ".join([name + _quoted(row[i][0]) for name, i in named if i < width])
        return f"{{{cells}}}".replace("\\u0000", "")

    return write


def half_digits_of(reading: KeptReading, cells: Mapping[str, str]) -> dict[str, float]:
    """Return half the last digit that a kept row had in each column of shares, as shares of one."""
    out: dict[str, float] = {}
    for column in reading.columns:
        if column.role not in PROPORTIONS:
            continue
        text = str(cells.get(column.key, ""))
        figure = number(text, reading.decimal) or number(text)
        if figure is not None:
            is_count = (
                column.unit == COUNT and figure.of is None
            )  # of alleles or loci: nothing of it is rounded
            out[column.role] = 0.0 if is_count else figure.as_fraction(column.unit == PERCENT)[1]
    return out


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
