"""Writing the open data: RFC 4180 CSVs, on request Parquet, and a datapackage.json that says what each column is."""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

from geneticlog import __version__
from geneticlog.store.own_files import write_own
from geneticlog.store.parquet import ParquetColumn, parquet_bytes
from geneticlog.store.writing import csv_bytes
from geneticlog.work.open_data.tables import Field, OpenTable

LICENCES = {  # by their identifiers at spdx.org; the three that biodiversity data are commonly given under
    "CC0-1.0": ("Creative Commons Zero 1.0", "https://creativecommons.org/publicdomain/zero/1.0/legalcode"),
    "CC-BY-4.0": (
        "Creative Commons Attribution 4.0",
        "https://creativecommons.org/licenses/by/4.0/legalcode",
    ),
    "CC-BY-NC-4.0": (
        "Creative Commons Attribution Non Commercial 4.0",
        "https://creativecommons.org/licenses/by-nc/4.0/legalcode",
    ),
}


def package_document(
    tables: Sequence[OpenTable], *, now: datetime, licence: str | None = None
) -> dict[str, Any]:
    """Return the datapackage.json: Table Schema of each table, Darwin Core terms as ``rdfType``."""
    return {
        "profile": "tabular-data-package",
        "name": "geneticlog-export",
        "title": "Fish, vials and ancestry by survey",
        "created": now.isoformat(),
        "version": __version__,
        **({"licenses": [_licence(licence)]} if licence else {}),
        "resources": [
            {
                "name": table.name,
                "title": table.title,
                "path": f"{table.name}.csv",
                "profile": "tabular-data-resource",
                "format": "csv",
                "mediatype": "text/csv",
                "encoding": "utf-8",
                **({"rowType": table.row_term} if table.row_term else {}),
                "dialect": {
                    "delimiter": ",",
                    "quoteChar": '"',
                    "doubleQuote": True,
                    "lineTerminator": "\r\n",
                },
                "schema": {
                    "fields": [_field(field, table) for field in table.fields],
                    "primaryKey": [table.key],
                    "foreignKeys": [
                        {"fields": [column], "reference": {"resource": other, "fields": [there]}}
                        for column, other, there in table.links
                    ],
                    "missingValues": [""],
                },
            }
            for table in tables
        ],
    }


def _licence(name: str) -> dict[str, str]:
    title, path = LICENCES[name]
    return {"name": name, "title": title, "path": path}


def _field(field: Field, table: OpenTable) -> dict[str, Any]:
    constraints: dict[str, Any] = {}
    if field.required:
        constraints["required"] = True
    if field.name == table.key:
        constraints["unique"] = True
    if field.least is not None:
        constraints["minimum"] = field.least
    if field.most is not None:
        constraints["maximum"] = field.most
    description: dict[str, Any] = {"name": field.name, "type": field.type, "description": field.description}
    if field.term:
        description["rdfType"] = field.term
    if constraints:
        description["constraints"] = constraints
    return description


def write_package(
    folder: Path,
    tables: Sequence[OpenTable],
    *,
    now: datetime,
    licence: str | None = None,
    replace: bool = False,
    parquet: bool = False,
) -> list[Path]:
    """Write the tables and their description; returns the files, the description first.

    parquet: write each table as Parquet too, with the same rows and typed columns.

    Raises Refused for a file in the folder that geneticlog did not write, unless ``replace``; GeneticlogError for
    Parquet without
    pyarrow.
    """
    contents = {
        "datapackage.json": json.dumps(
            package_document(tables, now=now, licence=licence), indent=2, ensure_ascii=False
        ).encode()
    }
    for table in tables:
        contents[f"{table.name}.csv"] = csv_bytes([field.name for field in table.fields], table.rows)
        if parquet:
            columns = [ParquetColumn(field.name, field.type, field.description) for field in table.fields]
            contents[f"{table.name}.parquet"] = parquet_bytes(columns, table.rows)
    return write_own(folder, contents, replace=replace)
