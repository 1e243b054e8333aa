"""Results that go by wells only, held against our own map of the plate or box in which the vials were sent."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

from geneticlog.errors import SheetFault
from geneticlog.rules.finding.finding_kinds import FindingKind
from geneticlog.rules.lab_return.doubts_of_files.sorted_alone import LEAST_IN_WELLS, codes_sorted_alone
from geneticlog.rules.lab_return.drafts.draft import Draft
from geneticlog.rules.lab_return.sheet.reading import Question, Reading, is_code
from geneticlog.rules.lab_return.words.headings import plain
from geneticlog.rules.lab_return.words.layout import Layout, column_letter
from geneticlog.rules.lab_return.words.roles import ColumnRole
from geneticlog.rules.vialcode import printed
from geneticlog.store.sheets import Cell, Sheet
from geneticlog.work.lab_return.known_before.expected import Expected, Places

OURS = "Vial (our plate map)"  # the heading of the codes
LEAST_SAME, LEAST_SAME_SHARE = 4, 0.2  # rows in our wells; a plate filled anew by rows has one or two
MOSTLY_APART = 0.9  # of the vials with a well, those that are alike many places from their own
LEAST_WELLS = 0.8  # of the filled cells of a column below its first well
LEAST_STRANGE = 3  # results in wells that were empty
LEAST_MOVED = 4  # rows in the well of the next vial or of the one before
_WELL = re.compile(r"([A-Z])0*([1-9][0-9]?)")


def well_in(text: str) -> str:
    """Return a well as we write it (a1 and A01 are A01), or "" for what is none."""
    found = _WELL.fullmatch(text.strip().upper())
    return f"{found[1]}{int(found[2]):02d}" if found else ""


def with_wells(sheets: Sequence[Sheet], places: Places) -> list[Sheet]:
    """Return the sheets, those that name wells and no vial having a column more: the vial that we sent in each well.

    A well that is empty in our map gets no code; its row is then a finding. Where we sent several plates and nothing
    says which of them a row is of, the sheet is left as it is.
    """
    if not places or any(is_code(cell.text) for sheet in sheets for row in sheet.rows for cell in row):
        return list(sheets)
    return [sheet if sheet.hidden else _with_wells(sheet, places) for sheet in sheets]


def _with_wells(sheet: Sheet, places: Places) -> Sheet:
    names = {name for _, name in places}
    columns = []
    width = max((len(row) for row in sheet.rows), default=0)
    for i in range(width):
        wells = {n: well_in(row[i].text) for n, row in enumerate(sheet.rows) if len(row) > i}
        hits = [n for n, name in wells.items() if name]
        if len(hits) < 2 or not names & set(wells.values()):
            continue
        below = sum(len(row) > i and row[i].kind != "empty" for row in sheet.rows[hits[0] :])
        if len(hits) >= LEAST_WELLS * below:
            columns.append((i, {n: wells[n] for n in hits}))
    if len(columns) != 1:
        return sheet
    column, wells = columns[0]
    numbers = _plate_numbers(sheet, wells, {number for number, _ in places})
    if numbers is None or len({(numbers[n], name) for n, name in wells.items()}) < len(wells):
        return sheet
    codes = {n: places.get((numbers[n], name), "") for n, name in wells.items()}
    top = max(
        (n for n in range(min(wells)) if any(cell.kind != "empty" for cell in sheet.rows[n])), default=-1
    )
    rows = []
    for n, row in enumerate(sheet.rows):
        text = OURS if n == top else codes.get(n, "")
        rows.append([*row, *[Cell("", "empty")] * (width - len(row)), Cell(text, "text")] if text else row)
    heading = sheet.rows[top][column].text.strip() if top >= 0 and len(sheet.rows[top]) > column else ""
    n_ours = sum(bool(code) for code in codes.values())
    in_words = (
        f"column {heading or column_letter(column + 1)} names {len(wells)} wells, {n_ours} of them among the"
        f" {len(places)} in which we sent a vial"
    )
    return replace(sheet, rows=rows, by_well=in_words, well_column=heading or column_letter(column + 1))


def _plate_numbers(sheet: Sheet, wells: Mapping[int, str], ours: set[int]) -> dict[int, int] | None:
    """Which of our plates each row is of: the only one, the one a column names, or the one the sheet is called by."""
    if len(ours) == 1:
        return dict.fromkeys(wells, next(iter(ours)))
    top = min(wells)
    width = max(len(row) for row in sheet.rows)
    for i in range(width):
        above = " ".join(plain(row[i].text) for row in sheet.rows[:top] if len(row) > i)
        if not re.search(r"\b(plate|box|rack)\b", above):
            continue
        matches = {
            n: re.search(r"(\d{1,3})\D*$", sheet.rows[n][i].text) for n in wells if len(sheet.rows[n]) > i
        }
        numbers = {n: int(one[1]) for n, one in matches.items() if one}
        if len(numbers) == len(wells) and set(numbers.values()) <= ours:
            return numbers
    named = re.search(r"(\d{1,3})\D*$", sheet.name)
    return dict.fromkeys(wells, int(named[1])) if named and int(named[1]) in ours else None


def refuse_other_wells(drafts: Sequence[Draft], sheet: Sheet, reading: Reading) -> None:
    """Raise SheetFault where many results are in wells that were empty when we sent the plate.

    A control or two may be; where more are, the lab put the vials elsewhere, and none is where our map says.
    """
    typed = [draft for draft in drafts if draft.q is not None]
    strange = [draft for draft in typed if not draft.written]
    in_ours = len(typed) - len(strange)
    if not sheet.by_well or len(strange) < LEAST_STRANGE or in_ours >= LEAST_WELLS * len(typed):
        return
    rows = reading.sheet_rows.words([draft.row for draft in strange])
    raise SheetFault(
        f"{len(strange)} of {len(typed)} results are in wells in which we sent no vial (rows {rows}), so these are not"
        " the wells of our plate",
        file=reading.file,
        sheet=reading.sheet or None,
        column=sheet.well_column,
        way_out="ask the lab for a file with our codes, or for its own plate map as a sheet of the file",
    )


def note_other_wells(drafts: Sequence[Draft], reading: Reading, sheet: Sheet, places: Places) -> None:
    """Note on a draft that its row names another well than the one in which we sent its vial, where most name ours.

    A lab that put all samples elsewhere says nothing of any; two that stand in each other's well may be exchanged.
    """
    if not places or sheet.by_well:
        return
    used = {column.number for column in reading.columns if column.role}
    of_row = {draft.row: draft for draft in drafts if draft.code in set(places.values())}
    for column in reading.columns:
        i = column.number - 1
        cells = {n: sheet.rows[n - 1][i].text for n in of_row if len(sheet.rows[n - 1]) > i}
        wells = {n - 1: well for n, text in cells.items() if (well := well_in(text))}
        if column.number in used or len(wells) < LEAST_WELLS * len(of_row) or len(wells) < 2:
            continue
        numbers = _plate_numbers(sheet, wells, {number for number, _ in places})
        if numbers is None:
            continue
        ours = {n: places.get((numbers[n], well)) for n, well in wells.items()}
        other = [n for n, code in ours.items() if code != of_row[n + 1].code]
        if len(wells) - len(other) < LEAST_WELLS * len(wells):
            codes = {n: of_row[n + 1].code for n in wells}
            # plated anew by their codes, both are in order, and that is asked about
            anew = _in_order([codes[n] for n in sorted(codes)], [wells[n] for n in sorted(codes)])
            in_part = not anew and _part_of_ours(ours, other)
            other = other if in_part else _moved_by_a_row(ours, codes, other)
        for n in other:
            there = f"{printed(code)}" if (code := ours[n]) else "no vial"
            mark = f"{column.heading or f'column {column.letter}'} says {wells[n]}, where we sent {there}"
            of_row[n + 1].note(FindingKind.MARKED, mark=mark)


def in_order_with_wells(drafts: Sequence[Draft], reading: Reading, sheet: Sheet, expected: Expected) -> str:
    """Return in words that codes and the wells beside them are both in order though our vials were not, or ""."""
    sent = expected.sent or {}
    coded = [draft for draft in drafts if draft.code in sent]
    if sheet.by_well or len(coded) < LEAST_IN_WELLS:
        return ""
    for column in reading.columns:
        if column.role or not well_in(column.text_in(sheet.rows[coded[0].row - 1])):
            continue
        wells = [well_in(column.text_in(sheet.rows[draft.row - 1])) for draft in coded]
        codes = [draft.code for draft in coded]
        if all(wells) and (words := codes_sorted_alone(codes, wells, expected.in_order())):
            return words
    return ""


def wells_of_others(drafts: Sequence[Draft], reading: Reading, sheet: Sheet, expected: Expected) -> str:
    """Return in words that the wells beside the codes are those of other vials of ours, in an order that no lab makes,
    or "".

    Each is the same number of places on, or all are the other way round; a lab that puts the vials anew fills wells
    that we left empty, or goes by its own order.
    """
    at = {code: i for i, code in enumerate(expected.in_order())}
    coded = [draft for draft in drafts if draft.code in at]
    # where a map of the lab's gave the codes, the wells are its own
    if sheet.by_well or sheet.keyed_by or sheet.grid or len(coded) < LEAST_IN_WELLS or not expected.places:
        return ""
    for column in reading.columns:
        texts = {draft.row - 1: column.text_in(sheet.rows[draft.row - 1]) for draft in coded}
        wells = {n: well for n, text in texts.items() if (well := well_in(text))}
        if column.role or len(wells) < LEAST_WELLS * len(coded):
            continue
        numbers = _plate_numbers(sheet, wells, {number for number, _ in expected.places})
        ours = (
            {n: expected.places.get((numbers[n], well), "") for n, well in wells.items()} if numbers else {}
        )
        pairs = [
            (at[draft.code or ""], at[code]) for draft in coded if (code := ours.get(draft.row - 1, "")) in at
        ]
        if len(pairs) < len(wells) or not pairs:
            continue
        (step, n_moved), *_ = Counter((theirs - mine) % len(at) for mine, theirs in pairs).most_common(1)
        (_, n_turned), *_ = Counter((theirs + mine) % len(at) for mine, theirs in pairs).most_common(1)
        back = step > len(at) // 2
        n_places = len(at) - step if back else step
        places = f"{n_places} {'place' if n_places == 1 else 'places'} {'back' if back else 'on'}"
        how = "the other way round" if n_turned >= MOSTLY_APART * len(pairs) else ""
        how = places if step and n_moved >= MOSTLY_APART * len(pairs) else how
        if how:
            name = column.heading or f"column {column.letter}"
            said = f"{name} names the wells of our map, but those of other vials: they are {how}"
            return f"{said}. Each value is read for its code: is the code right, and not the well?"
    return ""


def _in_order(codes: Sequence[str | None], wells: Sequence[str]) -> bool:
    """Whether both the codes and the wells beside them are in order."""
    of_plate = [(well[0], int(well[1:])) for well in wells]
    by_row, by_column = of_plate == sorted(of_plate), of_plate == sorted(of_plate, key=lambda at: at[::-1])
    return (by_row or by_column) and all((a or "") < (b or "") for a, b in pairwise(codes))


def _part_of_ours(ours: Mapping[int, str | None], other: list[int]) -> bool:
    """Whether far more rows name our well than chance makes, and the others, too, wells in which we sent a vial."""
    n_same = len(ours) - len(other)
    return all(ours.values()) and n_same >= max(LEAST_SAME, LEAST_SAME_SHARE * len(ours))


def _moved_by_a_row(
    ours: Mapping[int, str | None], codes: Mapping[int, str | None], other: list[int]
) -> list[int]:
    """Of many rows in another well than ours all, where the column of codes moved by a row from some row on.

    A lab that keeps a well free for a control moves its vials too, but then into a well that was empty when we sent it.
    """
    if not all(ours.values()) or len(ours) - len(other) < 2:
        return []
    for step in (-1, 1):
        moved = [n for n in other if ours.get(n + step) == codes[n] is not None]
        if len(moved) >= max(LEAST_MOVED, 0.75 * len(other)):
            return other
    return []


def by_our_wells(layout: Layout, sheet: Sheet) -> Layout:
    """The layout, where a person named the column of wells as the one of our vials: our map says which these are."""
    named = layout.columns.get(ColumnRole.VIAL, "")
    if not sheet.by_well or not named or plain(named) != plain(sheet.well_column):
        return layout
    return replace(layout, wells="ours", columns={**layout.columns, ColumnRole.VIAL: OURS})


def question_of_wells(sheet: Sheet, layout: Layout) -> list[Question]:
    """Ask whether wells are ours, where no vial is named and nobody said it."""
    if not sheet.by_well or layout.wells:
        return []
    text = (
        f"no vial is named, but {sheet.by_well}: did the vials stay in the wells in which they were sent? (If not, ask"
        " the lab for a file with our codes)"
    )
    return [Question(text, (("wells", "", "ours"),), "wells")]
