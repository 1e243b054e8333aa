"""The layout of a lab's return as TOML: read with the line and key of any fault, and written back."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from geneticlog.errors import SheetFault
from geneticlog.rules.lab_return.cells.percent_or_fraction import COUNT, FRACTION, PERCENT
from geneticlog.rules.lab_return.sheet.reading import Reading, roles_of_layout
from geneticlog.rules.lab_return.words.headings import Taxa, answer_key, plain
from geneticlog.rules.lab_return.words.layout import CODINGS, Layout
from geneticlog.rules.lab_return.words.roles import PROPORTIONS, ColumnRole
from geneticlog.toml_text import TomlSyntax, TomlText

NOT_KEPT = (
    "not whole numbers",
    "unlike before",
    "columns as headed",
    "only 0 and 1",
    "only quarters",
    "few different shares",
    "one step from share to share",
    "each share twice",
    "loci named otherwise",
    "probabilities of classes",
    "reference fish",
    "in the order of the codes",
    "codes and wells in order",
    "wells of other vials",
    "sites of the fish",
    "tissue of the vials",
    "vials and shares in one row",
    "the other lines above",
    "the other lines below",
    "lengths and weights",
    "the same as heterozygosity",
    "shares and what they leave",
    "less than one allele",
    "the taxon of the heading",
    "unlike an earlier file",
    "rows shorter than the heading",
    "genotypes beside the shares",
    "shares of exactly 0",
    "no whole tens",
    "loci against the others",
    "dated before the sending",
    "dated before an earlier file",
    "blanks and duplicates",
    "one share for all",
    "numbers of the fish",
    "clusters of each table",
    "a table of the other taxon",
    "hidden rows",
    "merged cells",
)  # answers about one file
_TOP = (
    "lab",
    "sheet",
    "heading_row",
    "heading_rows",
    "decimal",
    "wells",
    "missing",
    "harmless",
    "held",
    "columns",
    "units",
    "seen",
    "genotypes",
)


ALLELE = re.compile("[ACGTB]", re.IGNORECASE)  # how the allele of a marker is written


def read_layout(text: str, source: str, taxa: Taxa | None = None) -> Layout:
    """Return the layout in a TOML text; ``source`` names it in the message of a fault.

    Raises SheetFault with line and key: no TOML, an unknown key, a value of another kind, a role or unit that
    does not exist, a genotype table without its markers.
    """
    form = _Form(text, source)
    table = form.table
    form.check("", table, _TOP)
    columns = form.take("", table, "columns", dict, {})
    units = form.take("", table, "units", dict, {})
    genotypes = form.take("", table, "genotypes", dict, {})
    form.check("columns", columns, roles_of_layout())
    form.check("units", units, PROPORTIONS)
    form.check("genotypes", genotypes, ("coding", "counted", "markers"))
    for key in columns:
        form.take("columns", columns, key, str, "")
    for key, unit in units.items():
        if unit not in (FRACTION, PERCENT, COUNT):
            raise form.fault("units", key, f'it has to be "{PERCENT}", "{FRACTION}" or "{COUNT}"')
    seen = form.take("", table, "seen", dict, {})
    for key, words in seen.items():
        if not isinstance(words, list) or not all(isinstance(word, str) for word in words):
            raise form.fault("seen", key, "it has to be a list of texts")
    lists = {key: form.take("", table, key, list, []) for key in ("missing", "harmless", "held")}
    for key, words in lists.items():
        if not all(isinstance(word, str) for word in words):
            raise form.fault("", key, "it has to be a list of texts")
    row, n_rows = (
        form.take("", table, "heading_row", int, None),
        form.take("", table, "heading_rows", int, None),
    )
    if row is not None and row < 0:
        raise form.fault("", "heading_row", "it has to be 1 or more, or 0 for a file without heading")
    if n_rows not in (None, 1, 2, 3):
        raise form.fault("", "heading_rows", "it has to be 1, 2 or 3")
    coding, counted, markers = _genotypes(genotypes, taxa or Taxa(), form)
    return Layout(
        lab=form.take("", table, "lab", str, ""),
        sheet=form.take("", table, "sheet", str, ""),
        heading_row=row,
        heading_rows=n_rows,
        columns={ColumnRole(role): heading for role, heading in columns.items()},
        kept_units={ColumnRole(role): unit for role, unit in units.items()},
        decimal=form.one_of("decimal", (".", ","), 'it has to be "." or ","'),
        wells=form.one_of("wells", ("ours",), 'it has to be "ours", or be left out'),
        missing=frozenset(word.strip().casefold() for word in lists["missing"]),
        harmless=frozenset(answer_key(word) for word in lists["harmless"]),
        kept=frozenset(answer_key(word) for word in lists["harmless"]),
        against=frozenset(answer_key(word) for word in lists["held"]),
        seen={answer_key(key): tuple(map(answer_key, words)) for key, words in seen.items()},
        taxa=taxa or Taxa(),
        coding=coding,
        counted=counted,
        markers=markers,
    )


class _Form:
    """The table of a layout; its faults name file, line and key."""

    def __init__(self, text: str, source: str) -> None:
        self.source = source
        try:
            self.toml = TomlText(text)
        except TomlSyntax as broken:
            raise SheetFault(
                f"the layout is not TOML: {broken.problem}",
                file=source,
                row=broken.line,
                way_out="correct that line",
            ) from None
        self.table = self.toml.table

    def fault(self, section: str, key: str, problem: str) -> SheetFault:
        return SheetFault(problem, file=self.source, row=self.toml.line_of(section, key), column=key)

    def check(self, section: str, given: Mapping[str, Any], known: tuple[str, ...]) -> None:
        for key in given:
            if key not in known:
                raise self.fault(section, key, f"there is no such key; known are {', '.join(known)}")

    def take(self, section: str, given: Mapping[str, Any], key: str, kind: type, default: Any) -> Any:
        value = given.get(key, default)
        if value is not default and (
            not isinstance(value, kind) or (kind is int and isinstance(value, bool))
        ):
            words = {str: "a text in quotation marks", int: "a whole number", dict: "a table", list: "a list"}
            raise self.fault(section, key, f"it has to be {words[kind]}")
        return value

    def one_of(self, key: str, words: tuple[str, ...], problem: str) -> str:
        value: str = self.take("", self.table, key, str, "")
        if value and value not in words:
            raise self.fault("", key, problem)
        return value


def _genotypes(genotypes: Mapping[str, Any], taxa: Taxa, form: _Form) -> tuple[str, str, dict[str, str]]:
    coding = form.take("genotypes", genotypes, "coding", str, "")
    counted = form.take("genotypes", genotypes, "counted", str, "")
    markers = form.take("genotypes", genotypes, "markers", dict, {})
    if coding and coding not in CODINGS:
        raise form.fault("genotypes", "coding", f"it has to be one of {', '.join(CODINGS)}")
    if counted and counted not in (taxa.taxon, taxa.other_taxon):
        raise form.fault("genotypes", "counted", f"it has to be {taxa.taxon} or {taxa.other_taxon}")
    if coding in ("letters", "pairs") and not markers:
        raise form.fault(
            "genotypes", "coding", f"needs [genotypes.markers], the {taxa.taxon} allele of each marker"
        )
    for key, allele in markers.items():
        if not isinstance(allele, str) or not ALLELE.fullmatch(allele):
            raise form.fault("genotypes.markers", key, f"it has to be one letter, the {taxa.taxon} allele")
    return coding, counted, dict(markers)


def read_markers(text: str, source: str) -> dict[str, str]:
    """Return a panel's marker table from TOML, ``[markers]`` or plain keys: marker -> allele of its taxon.

    Raises SheetFault, with line and key, for what is no marker with one letter (A, C, G, T or B).
    """
    way_out = 'a marker table holds under [markers] one line a marker with one letter, such as M01 = "B"'
    try:
        toml = TomlText(text)
    except TomlSyntax as fault:
        raise SheetFault(
            f"the marker table is not TOML: {fault.problem}", file=source, row=fault.line, way_out=way_out
        ) from None
    table = toml.table
    section = "markers" if "markers" in table else ""
    markers = table.get("markers", table)
    beside = next((key for key in table if section and key != section), None)
    if beside is not None:
        raise SheetFault(
            "there is no such key beside [markers]",
            file=source, row=toml.line_of("", beside), column=beside, way_out=way_out,
        )  # fmt: skip
    if not isinstance(markers, dict) or not markers:
        raise SheetFault("there is no marker in it", file=source, way_out=way_out)
    for key, allele in markers.items():
        if not isinstance(allele, str) or not ALLELE.fullmatch(allele):
            raise SheetFault(
                f"{allele!r} is not one letter, the allele that q counts",
                file=source, row=toml.line_of(section, key), column=key, way_out=way_out,
            )  # fmt: skip
    return dict(markers)


def write_layout(layout: Layout) -> str:
    """Return the TOML text that read_layout reads as the same layout."""
    lines = [
        "# How this laboratory lays out a return; whatever is left out is recognised in the file itself."
    ]
    for key in ("lab", "sheet", "heading_row", "heading_rows", "decimal", "wells"):
        value = getattr(layout, key)
        if value not in ("", None):
            lines.append(f"{key} = {_toml(value)}")
    for key, words in (("missing", layout.missing), ("harmless", layout.harmless), ("held", layout.against)):
        if words:
            lines.append(f"{key} = [{', '.join(_toml(word) for word in sorted(words))}]")
    for section, table in (("columns", layout.columns), ("units", layout.kept_units)):
        if table:
            lines += ["", f"[{section}]", *(f"{key} = {_toml(value)}" for key, value in table.items())]
    if layout.seen:
        lines += ["", "[seen]"]
        lines += [
            f"{_toml(key)} = [{', '.join(_toml(word) for word in sorted(words))}]"
            for key, words in sorted(layout.seen.items())
        ]
    if layout.coding or layout.counted or layout.markers:
        lines += ["", "[genotypes]"]
        lines += [
            f"{key} = {_toml(getattr(layout, key))}" for key in ("coding", "counted") if getattr(layout, key)
        ]
    if layout.markers:
        lines += ["", "[genotypes.markers]"]
        lines += [f"{_toml(marker)} = {_toml(allele)}" for marker, allele in layout.markers.items()]
    return "\n".join(lines) + "\n"


def layout_of(reading: Reading) -> Layout:
    """Return the layout that reads the next file as this one was read, with every column named.

    Units are kept to be held against those of the next file, and decide nothing there.
    """
    used = [
        column for column in reading.columns if column.role not in (ColumnRole.NOT_USED, ColumnRole.MARKER)
    ]
    # what counts the other taxon, or one that each row names, is no q in the next file
    counts_other = reading.layout.taxon_of_q not in ("", reading.layout.taxa.taxon)
    headings = [plain(column.heading) for column in reading.columns]

    def name(heading: str, letter: str) -> str:
        return heading if heading and headings.count(plain(heading)) == 1 else letter

    return replace(
        reading.layout,
        columns={
            column.role: name(column.heading, column.letter)
            for column in used
            if column.role != ColumnRole.Q or not counts_other
        },
        kept_units={column.role: column.unit for column in used if column.unit and not column.own_units},
        units={},
        units_of_parts={},
        taxon_of_q="",
        answered=frozenset(),
        harmless=reading.layout.harmless - frozenset(NOT_KEPT),
        against=reading.layout.against - frozenset(NOT_KEPT),
        decimal=reading.decimal if any(column.unit for column in used) else "",
        sheets=(),
    )


def _toml(value: str | int) -> str:
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007F")
