"""A sheet of shares and a sheet of the genotypes of the same vials: read as one table, each row with its genotypes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from geneticlog.rules.lab_return.sheet.reading import Reading, code_in
from geneticlog.rules.lab_return.words.roles import ColumnRole
from geneticlog.store.sheets import EMPTY, Cell, Sheet


def with_genotypes_beside(readable: Sequence[tuple[Sheet, Reading]]) -> Sheet | None:
    """Return the sheet of shares with the genotypes of the same vials from the other sheet; None for other sheets."""
    if len(readable) != 2 or any(
        sheet.sheet_rows.sheets or reading.heading_rows != 1 for sheet, reading in readable
    ):
        return None
    shares = [one for one in readable if one[1].column(ColumnRole.Q) and not one[1].column(ColumnRole.MARKER)]
    loci = [one for one in readable if one[1].column(ColumnRole.MARKER) and not one[1].column(ColumnRole.Q)]
    if len(shares) != 1 or len(loci) != 1:
        return None
    (sheet, reading), (other, of_loci) = shares[0], loci[0]
    ours, theirs = _rows_by_code(sheet, reading), _rows_by_code(other, of_loci)
    if not ours or set(ours) != set(theirs):
        return None
    markers = [column for column in of_loci.columns if column.role == ColumnRole.MARKER]
    width = max(map(len, sheet.rows))
    rows = [[*row, *[EMPTY] * (width - len(row))] if row else list(row) for row in sheet.rows]
    rows[reading.heading_row - 1] += [Cell(column.heading, "text") for column in markers]
    for code, n in ours.items():
        row = other.rows[theirs[code] - 1]
        rows[n - 1] += [row[one.number - 1] if len(row) >= one.number else EMPTY for one in markers]
    why = f"the genotypes of sheet {other.name} are held against the shares of the same vials"
    return replace(
        sheet, rows=rows, beside=other.name, put_together=(*sheet.put_together, (f"sheet {other.name}", why))
    )


def _rows_by_code(sheet: Sheet, reading: Reading) -> dict[str, int]:
    """The row of each vial; nothing where a vial has two, or a row has none."""
    vial = reading.column(ColumnRole.VIAL)
    codes = [code_in(vial.text_in(sheet.rows[n - 1])) if vial else "" for n in reading.data_rows]
    return (
        dict(zip(codes, reading.data_rows, strict=True))
        if all(codes) and len(set(codes)) == len(codes)
        else {}
    )
