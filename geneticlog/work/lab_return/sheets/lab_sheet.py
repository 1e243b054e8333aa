"""Which sheet of a lab's file holds the results, and how it is read."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace

from geneticlog.errors import SheetFault
from geneticlog.rules.lab_return.account.account_of_marks import merged_samples
from geneticlog.rules.lab_return.columns.read_columns import NoCodes, read_columns
from geneticlog.rules.lab_return.sheet.account_items import rows_in_words
from geneticlog.rules.lab_return.sheet.heading_rows import NoHeading, begins_with_codes, heading_above_codes
from geneticlog.rules.lab_return.sheet.reading import Reading
from geneticlog.rules.lab_return.sheet.sample_rows import SecondTable
from geneticlog.rules.lab_return.sheet.tall import told_apart_by, widen
from geneticlog.rules.lab_return.words.headings import plain, taxa_named
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.lab_return.words.roles import ColumnRole
from geneticlog.store.sheets import Cell, Sheet
from geneticlog.work.lab_return.known_before.expected import Places
from geneticlog.work.lab_return.sheets.by_well import by_our_wells, with_wells
from geneticlog.work.lab_return.sheets.class_counts import with_class_counts
from geneticlog.work.lab_return.sheets.genotypes_sheet import with_genotypes_beside
from geneticlog.work.lab_return.sheets.key_sheet import any_code, with_codes
from geneticlog.work.lab_return.sheets.merged_words import with_merged_words
from geneticlog.work.lab_return.sheets.named_results import with_named_results
from geneticlog.work.lab_return.sheets.plate_grid import UNSAID, from_grids
from geneticlog.work.lab_return.sheets.put_together import (
    with_bare_numbers,
    with_codes_of_two_columns,
    with_commas_of_texts,
    with_whole_codes,
)
from geneticlog.work.lab_return.sheets.same_vials import question_of_sheets, the_more_exact
from geneticlog.work.lab_return.sheets.side_by_side import refuse_side_by_side
from geneticlog.work.lab_return.sheets.stack_sheets import in_its_place, shape_of, stack
from geneticlog.work.lab_return.sheets.tables_of_sheet import in_order_of, with_halves_below, with_table_below
from geneticlog.work.lab_return.sheets.turned import turned

MOST_TABLES = 50  # of one sheet, below each other


def find_lab_sheet(
    sheets: Sequence[Sheet], layout: Layout, file: str, places: Places
) -> tuple[Sheet, Reading]:
    """Return the sheet that holds results, with its reading; sheets of the same headings (one a plate) are one.

    Hidden sheets are taken only when they are named. A sheet of other headings is left out where it holds no results,
    or none of other vials (a summary); the account of the file asks about it.

    places
        Our own map of the shipment's plates, for samples that are named by their well only.
    raises
        SheetFault when no sheet can be read, with the fault of the likeliest; when sheets of other headings hold
        results of further vials; and when a sheet that looks like the others cannot be read.
    """
    sheets = [
        turned(with_merged_words(with_codes_of_two_columns(with_whole_codes(sheet)))) for sheet in sheets
    ]
    sheets = with_wells(with_codes(from_grids(sheets, layout.taxa)), places)
    sheets = [with_class_counts(_widened(sheet, layout), layout.taxa, file) for sheet in sheets]
    sheets = [with_named_results(sheet, layout) for sheet in sheets]
    if names := layout.sheets or ((layout.sheet,) if layout.sheet else ()):
        return _named(names, sheets, layout, file)
    shown = [sheet for sheet in sheets if sheet.filled and not sheet.hidden]
    readable: list[tuple[Sheet, Reading]] = []
    faults: list[tuple[Sheet, SheetFault]] = []
    for sheet in shown:
        try:
            readable.append(_read(sheet, layout, file))
        except SheetFault as fault:
            faults.append((sheet, fault))
    with_rows = [(sheet, reading) for sheet, reading in readable if reading.data_rows or reading.questions]
    if not readable and (guessed := _under_unknown_words(faults, layout, file)):
        readable, faults = [guessed], []
    if not readable:
        if not faults:
            raise SheetFault(
                "every sheet that is filled in is hidden",
                file=file,
                way_out="name the right one with --sheet",
            )
        likeliest = max(
            (fault for _, fault in faults), key=lambda one: (isinstance(one, NoCodes), one.row or 0)
        )
        raise _with_key_named(likeliest, sheets)
    if joined := with_genotypes_beside(with_rows):
        return _taken([_read(joined, layout, file)], layout, file)
    chosen = _of_one_shape(with_rows or readable[:1], layout, file)
    shape = shape_of(chosen[0][0], layout, file)
    for sheet, its_fault in faults:
        if shape_of(sheet, layout, file) == shape:
            raise its_fault  # a plate that cannot be read is not left out of its return
    return _taken(chosen, layout, file)


def _with_key_named(fault: SheetFault, sheets: Sequence[Sheet]) -> SheetFault:
    """A fault of results without codes, with the sheet that names vials and could not be taken as their key."""
    if not isinstance(fault, NoCodes):
        return fault
    keys = [sheet.name for sheet in sheets if sheet.name and sheet.name != fault.sheet and any_code(sheet)]
    if not keys:
        return fault
    named = f"sheet {keys[0]} names" if len(keys) == 1 else f"sheets {' and '.join(keys)} name"
    way_out = f"{named} vials: give each sample number of these results once beside its vial, written as here"
    return SheetFault(fault.problem, file=fault.file, sheet=fault.sheet, row=fault.row, way_out=way_out)


def _under_unknown_words(
    faults: Sequence[tuple[Sheet, SheetFault]], layout: Layout, file: str
) -> tuple[Sheet, Reading] | None:
    """The one sheet whose codes are right below a row of words that we do not know, or below nothing at all.

    Its columns are asked about.
    """
    tops = [
        (sheet, heading_above_codes(sheet.rows) or (0 if begins_with_codes(sheet.rows) else None))
        for sheet, fault in faults
        if isinstance(fault, NoHeading)
    ]
    tops = [(sheet, top) for sheet, top in tops if top is not None]
    results_elsewhere = any(isinstance(fault, NoCodes) for _, fault in faults)
    if len(tops) != 1 or results_elsewhere or layout.heading_row is not None:
        return None
    sheet, reading = _read(tops[0][0], replace(layout, heading_row=tops[0][1]), file)
    return sheet, replace(reading, layout=replace(reading.layout, heading_row=None))


def _widened(sheet: Sheet, layout: Layout) -> Sheet:
    """A sheet with a row for each taxon or locus as one with a row for each fish, any other as it is."""
    wide = widen(sheet.rows, layout.taxa)
    if wide is None:
        return sheet
    return replace(sheet, rows=[[Cell(*cell) for cell in row] for row in wide.rows], tall=wide.said)


def _named(names: Sequence[str], sheets: Sequence[Sheet], layout: Layout, file: str) -> tuple[Sheet, Reading]:
    by_name = {sheet.name.strip().casefold(): sheet for sheet in sheets}
    for name in names:
        if name.strip().casefold() not in by_name:
            there = ", ".join(sheet.name for sheet in sheets if sheet.name) or "none with a name"
            raise SheetFault(f"there is no sheet {name!r}; its sheets are {there}", file=file)
    wanted = {name.strip().casefold() for name in names}
    chosen = [_read(sheet, layout, file) for sheet in sheets if sheet.name.strip().casefold() in wanted]
    first = shape_of(chosen[0][0], layout, file)
    for sheet, _ in chosen[1:]:
        if shape_of(sheet, layout, file) != first:
            raise SheetFault(
                f"sheets {chosen[0][0].name} and {sheet.name} have different headings, so they are not one return",
                file=file,
                way_out="give them the same columns, or save each as a file of its own",
            )
    return _taken(chosen, layout, file)


def _of_one_shape(
    readable: Sequence[tuple[Sheet, Reading]], layout: Layout, file: str
) -> list[tuple[Sheet, Reading]]:
    """The sheets of the headings that hold most samples; those of other headings may only repeat their vials."""
    by_shape: dict[object, list[tuple[Sheet, Reading]]] = defaultdict(list)
    for sheet, reading in readable:
        by_shape[shape_of(sheet, layout, file)].append((sheet, reading))
    if len(by_shape) == 1:
        return list(readable)
    sizes = {
        shape: (sum(len(reading.data_rows) for _, reading in there), len(there))
        for shape, there in by_shape.items()
    }
    largest = max(sizes.values())
    first = next(shape for shape in by_shape if sizes[shape] == largest)
    vials = {code for one in by_shape[first] for code in _codes(*one)}
    rest = [one for shape, there in by_shape.items() if shape != first for one in there]
    alone = list(sizes.values()).count(largest) == 1
    for begin in (first, *(shape for shape in by_shape if shape != first)):
        others = [one for shape, there in by_shape.items() if shape != begin for one in there]
        its_vials = {code for one in by_shape[begin] for code in _codes(*one)}
        if joined := _in_one_order(by_shape[begin], others, its_vials, layout):
            return joined
    if alone and all(_codes(*one) <= vials for one in rest):
        return by_shape[first]
    if asked := question_of_sheets(readable, layout):
        sheet, reading = by_shape[first][0]
        return [(sheet, replace(reading, questions=(*asked, *reading.questions)))]
    if len(readable) == 2 and _codes(*readable[0]) == _codes(*readable[1]):
        return [the_more_exact(readable)]
    groups = " and ".join(", ".join(sheet.name for sheet, _ in there) for there in by_shape.values())
    raise SheetFault(
        f"{len(readable)} sheets hold results, under different headings: {groups}",
        file=file,
        way_out="save each as a file of its own, or bring the rows under the same headings"
        if all(_codes(*one).isdisjoint(vials) for one in rest)
        else "say which are meant with --sheet, once for each, or bring the rows under the same headings",
    )


def _in_one_order(
    first: Sequence[tuple[Sheet, Reading]],
    rest: Sequence[tuple[Sheet, Reading]],
    vials: set[str],
    layout: Layout,
) -> list[tuple[Sheet, Reading]]:
    """The sheets, those with the same results in other columns brought into the order of the first; none where one
    holds other results, or no vial that the first sheets do not have."""
    chosen = list(first)
    for sheet, reading in rest:
        more_vials = not _codes(sheet, reading) <= vials
        pair = in_order_of(chosen[0], (sheet, reading), layout.taxa) if more_vials else None
        if pair is None:
            return []
        chosen[0] = (pair[0], chosen[0][1])
        chosen.append((pair[1], reading))
    return chosen


def _codes(sheet: Sheet, reading: Reading) -> set[str]:
    vial = reading.column(ColumnRole.VIAL)
    if vial is None:
        return set()
    rows = [sheet.rows[number - 1] for number in reading.data_rows]
    return {row[vial.number - 1].text.strip().upper() for row in rows if len(row) >= vial.number}


def _taken(chosen: Sequence[tuple[Sheet, Reading]], layout: Layout, file: str) -> tuple[Sheet, Reading]:
    """Return the chosen sheets as one, with what is to be said of merged cells."""
    asked = [] if layout.sheets or layout.sheet else question_of_sheets(chosen, layout)
    sheet, reading = chosen[0] if len(chosen) == 1 else stack(chosen, layout, file)
    reading = replace(reading, questions=(*asked, *reading.questions)) if asked else reading
    doubts = []
    if merged := merged_samples(reading, sheet.merged):
        doubts.append(
            f"values are merged over {rows_in_words(reading, merged)}: only the first of each has a value"
        )
    return sheet, replace(reading, doubts=(*reading.doubts, *doubts))


def _read(sheet: Sheet, layout: Layout, file: str) -> tuple[Sheet, Reading]:
    """Return a sheet, its tables as one, and how it is read."""
    sheet = with_halves_below(sheet, layout.taxa, file)
    try:
        for _ in range(MOST_TABLES):
            try:
                return _whole(sheet, _read_one(sheet, layout, file), layout, file)
            except SecondTable as fault:
                joined = with_table_below(sheet, fault, layout.taxa)
                if joined is None or sheet.sheet_rows.sheets:
                    raise
                sheet = joined
        return _whole(sheet, _read_one(sheet, layout, file), layout, file)
    except SheetFault as fault:
        raise in_its_place(fault, sheet.sheet_rows) from None


def _whole(sheet: Sheet, reading: Reading, layout: Layout, file: str) -> tuple[Sheet, Reading]:
    """A sheet with its reading, its numbers bare, its texts whole where commas of their own split them."""
    if bare := with_bare_numbers(sheet, reading):
        sheet, reading = bare, _read_one(bare, layout, file)
    if sheet.separator != "," or not reading.heading_row:
        return sheet, reading
    whole = with_commas_of_texts(sheet, reading, file)
    return (whole, _read_one(whole, layout, file)) if whole else (sheet, reading)


def _read_one(sheet: Sheet, layout: Layout, file: str) -> Reading:
    layout = by_our_wells(counted_by(layout, sheet.tall), sheet)
    if sheet.grid and UNSAID not in layout.columns.values() and _says(sheet, UNSAID):
        raise SheetFault(
            "a plate is laid out here, and nothing says what its wells hold",
            file=file,
            sheet=sheet.name or None,
            way_out=f'where it is the share of {layout.taxa.taxon} alleles, say --column q="{UNSAID}" --taxon'
            f" {layout.taxa.taxon}",
        )
    refuse_side_by_side(sheet, file)
    if long := told_apart_by(sheet.rows):
        raise SheetFault(
            "each vial has several rows here",
            file=file,
            sheet=sheet.name or None,
            row=long[0],
            column=long[1],
            way_out="ask the lab for a table with one row for each vial",
        )
    reading = read_columns(
        sheet.rows, layout, file=file, sheet=sheet.name, hidden=sheet.hidden_columns, parts=sheet.parts
    )
    return replace(reading, sheet_rows=sheet.sheet_rows)


def _says(sheet: Sheet, text: str) -> bool:
    return any(cell.text == text for row in sheet.rows for cell in row)


def counted_by(layout: Layout, tall: str) -> Layout:
    """The layout, with the taxon that the heading of genotypes in a row for each locus names."""
    first, other = taxa_named(plain(tall), layout.taxa)
    if layout.counted or first == other:
        return layout
    return replace(layout, counted=layout.taxa.taxon if first else layout.taxa.other_taxon, coding="counts")
