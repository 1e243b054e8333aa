"""The field sheet: on waterproof paper (PDF), and as CSV or XLSX to be filled in on a tablet."""

from __future__ import annotations

from typing import Any

from geneticlog.errors import Refused
from geneticlog.rules.gear import ELECTROFISHING_CAUTION
from geneticlog.rules.shipment.ethanol import ON_THE_BOAT
from geneticlog.work.boat.sheet_contents import FieldSheet

LEAST_BLANK_ROWS = 12  # for fish that are measured and not swabbed
MOST_ROWS = 400
ROW_MM = 8  # for a pencil in a cold hand


def n_blank_rows(sheet: FieldSheet) -> int:
    """Return how many rows without a vial a sheet has: the longer the run of labels, the more fish go unswabbed."""
    return max(LEAST_BLANK_ROWS, len(sheet.vials) // 5)


def field_rows(sheet: FieldSheet) -> tuple[list[str], list[list[Any]]]:
    """Return heading and rows of the sheet to be filled in; ``fish read`` takes it back.

    First a row for each printed vial, in order, then rows without one, then a tally box for each size class.
    """
    heading = [
        "fish",
        "vial",
        "species",
        f"length ({sheet.length_unit})",
        f"weight ({sheet.weight_unit})",
        "tissue",
        "fate",
        "n_fish",
        "size_class",
        "second vial",
        "site",
        "remarks",
    ]
    empty = [None] * (len(heading) - 2)
    rows: list[list[Any]] = [[None, vial, *empty] for vial in sheet.vials]
    rows += [[None] * len(heading) for _ in range(n_blank_rows(sheet))]
    at = heading.index("size_class")
    rows += [[one.name if column == at else None for column in range(len(heading))] for one in sheet.classes]
    return heading, rows


def field_sheet_pdf(sheet: FieldSheet, paper: str = "us-letter") -> bytes:
    """Return the field sheet as PDF. Raises Refused for more rows than a crew can turn over on a boat."""
    from geneticlog.faces.paper.typeset import set_paper

    n_blank = n_blank_rows(sheet)
    n_rows = len(sheet.vials) + n_blank
    if n_rows > MOST_ROWS:
        raise Refused(f"a field sheet of {n_rows} rows is too long for a boat; {MOST_ROWS} at most")
    cautions = [ELECTROFISHING_CAUTION] if sheet.electrofishing else []
    cautions.append(ON_THE_BOAT)
    cautions.append(
        "Your crew's own safety plan and crew leader decide; this sheet gives no safety clearance."
    )
    data = {
        "paper": paper,
        "title": f"Field sheet {sheet.survey}",
        "survey": sheet.survey,
        "lake": sheet.lake,
        "surveyed_on": sheet.surveyed_on.isoformat(),
        "gear": sheet.gear,
        "species": sheet.species,
        "length_unit": sheet.length_unit,
        "weight_unit": sheet.weight_unit,
        "permit": sheet.permit or "none recorded",
        "protocol": sheet.protocol or "",
        "vials": [*sheet.vials, *[""] * n_blank],
        "row_mm": ROW_MM,
        "tally_mm": 7.4,
        "classes": [
            {"name": one.name, "lengths": one.lengths, "target": one.target} for one in sheet.classes
        ],
        "cautions": cautions,
    }
    return set_paper("field_sheet.typ", data)
