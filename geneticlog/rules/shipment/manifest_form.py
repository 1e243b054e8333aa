"""What one lab wants in its manifest: a short TOML text, checked line by line.

::

    container = "plate96"          # plate96, box9x9, box10x10, loose
    order = "by_column"            # or by_row
    keep_free = ["G12", "H12"]     # wells for the lab's own controls

    [[column]]
    heading = "Well"
    holds = "position"

    [[column]]
    heading = "Species"
    text = "largemouth bass"       # the same in every row
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from geneticlog.errors import Refused, SheetFault
from geneticlog.rules.shipment.plates import BY_COLUMN, CONTAINERS, ORDERS, parse_position
from geneticlog.toml_text import TomlSyntax, TomlText

# what a column may hold: its word, and how it is explained to a person
HOLDS = {
    "number": "the number of the row",
    "container_number": "which plate or box",
    "position": "the position, A01 to H12",
    "vial": "the vial code",
    "vial_printed": "the vial code as on the label, in groups",
    "tissue": "mouth swab or fin clip",
    "medium": "what the tissue is kept in",
    "fill_ml": "mL in a vial",
    "species": "the species",
    "shipment": "the shipment's code",
    "survey": "the survey's code",
    "surveyed_on": "the date of the survey",
    "filled_on": "the date the vial was filled",
    "total_length_mm": "total length of the fish, mm",
    "weight_g": "weight of the fish, g",
    "size_class": "the size class of the fish",
    "lake": "the name of the lake",
    "lake_code": "the code of the lake",
    "county": "the county of the lake",
    "owner": "the owner of the lake",
}
# measured on a fish, which a blank does not hold, so an empty cell would tell the lab which vial it is
TELLS_A_BLANK = frozenset({"total_length_mm", "weight_g", "size_class"})
# two vials of one fish agree in these, so the lab can pair them
TELLS_A_DUPLICATE = frozenset({"total_length_mm", "weight_g"})
KEYS = {"container", "order", "keep_free", "column"}


class ManifestFormError(SheetFault):
    """A lab's manifest form is at fault; the sentence names line and key."""


@dataclass(frozen=True)
class Column:
    """One column of a manifest: its heading, and what it holds or the text that every row has."""

    heading: str
    holds: str | None = None
    text: str | None = None


@dataclass(frozen=True)
class ManifestForm:
    """How one lab wants its manifest; without a form of its own a lab gets ``DEFAULT_FORM``."""

    columns: tuple[Column, ...]
    container: str = "plate96"
    order: str = BY_COLUMN
    keep_free: tuple[str, ...] = ()


DEFAULT_FORM = ManifestForm(
    columns=(
        Column("No.", "number"),
        Column("Container", "container_number"),
        Column("Position", "position"),
        Column("Vial code", "vial"),
        Column("Tissue", "tissue"),
        Column("Medium", "medium"),
    )
)


def parse_form(text: str, *, file: str = "manifest form") -> ManifestForm:
    """Return a lab's manifest form from its TOML text.

    Raises ManifestFormError, naming the line and the key, for text that is not TOML, an unknown key or word, a
    column without heading or content, a heading used twice, or a form that has no vial code.
    """
    try:
        toml = TomlText(text)
    except TomlSyntax as fault:
        raise ManifestFormError(
            f"this is not TOML ({fault.problem})", file=file, row=fault.line, way_out="correct that line"
        ) from None
    table = toml.table

    def refuse(problem: str, key: str, way_out: str, *, column: int | None = None) -> None:
        place = toml.line_of("", key) if column is None else toml.line_of("column", key, column)
        raise ManifestFormError(problem, file=file, row=place, column=key, way_out=way_out)

    for key in table:
        if key not in KEYS:
            refuse(f"there is no key {key!r}", key, f"keys are: {', '.join(sorted(KEYS))}")
    name = table.get("container", "plate96")
    if name not in CONTAINERS:
        refuse(f"there is no container {name!r}", "container", f"write one of: {', '.join(CONTAINERS)}")
    order = table.get("order", BY_COLUMN)
    if order not in ORDERS:
        refuse(f"there is no order {order!r}", "order", f"write one of: {', '.join(ORDERS)}")
    free: list[str] = []
    listed = table.get("keep_free", [])
    if not isinstance(listed, list):
        refuse("wells kept free are a list", "keep_free", 'write: keep_free = ["H12"]')
    for position in listed:
        try:
            free.append(parse_position(name, str(position)))
        except Refused as fault:
            refuse(str(fault), "keep_free", "write positions of the container")
    if not table.get("column"):
        return ManifestForm(DEFAULT_FORM.columns, name, order, tuple(free))
    columns = _columns(table["column"], refuse)
    return ManifestForm(tuple(columns), name, order, tuple(free))


def _columns(listed: Any, refuse: Any) -> list[Column]:
    if not isinstance(listed, list) or not all(isinstance(item, dict) for item in listed):
        refuse("columns are tables", "column", "write each as [[column]] with heading and holds")
    columns: list[Column] = []
    for number, item in enumerate(listed):
        for key in item:
            if key not in {"heading", "holds", "text"}:
                refuse(f"a column has no key {key!r}", key, "keys are: heading, holds, text", column=number)
        heading = item.get("heading")
        if not isinstance(heading, str) or not heading.strip():
            refuse(
                f"column {number + 1} has no heading",
                "heading",
                'write: heading = "Sample ID"',
                column=number,
            )
        if heading in {column.heading for column in columns}:
            refuse(f"the heading {heading!r} is there twice", "heading", "give each its own", column=number)
        holds, constant = item.get("holds"), item.get("text")
        if (holds is None) == (constant is None):
            refuse(
                f"column {heading!r} must have either holds or text",
                "holds",
                "write one of the two",
                column=number,
            )
        if holds is not None and holds not in HOLDS:
            refuse(
                f"no column can hold {holds!r}", "holds", f"write one of: {', '.join(HOLDS)}", column=number
            )
        columns.append(Column(str(heading), holds, None if constant is None else str(constant)))
    if not {"vial", "vial_printed"} & {column.holds for column in columns}:
        refuse("no column holds the vial code", "column", 'give one: holds = "vial"')
    return columns
