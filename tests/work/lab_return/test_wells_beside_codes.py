"""Wells beside vial codes that are not those in which we sent them: a few, a part of the file, or another plate."""

from __future__ import annotations

from dataclasses import replace

import pytest
from return_tables import CODES

from geneticlog.errors import SheetFault
from geneticlog.rules.lab_return.columns.read_columns import read_columns
from geneticlog.rules.lab_return.drafts.draft import Draft
from geneticlog.rules.lab_return.drafts.drafts import Drafter
from geneticlog.rules.lab_return.sheet.reading import Reading
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.label.vial_states import VialRole
from geneticlog.store.sheets import Cell, Sheet
from geneticlog.work.lab_return.known_before.expected import Expected
from geneticlog.work.lab_return.known_before.returned_vials import Sent
from geneticlog.work.lab_return.sheets.by_well import (
    note_other_wells,
    refuse_other_wells,
    well_in,
    wells_of_others,
)

WELLS = [f"{letter}{n:02}" for letter in "ABCD" for n in range(1, 6)]
OURS = dict(zip(WELLS, CODES[:20], strict=True))
PLACES = {(1, well): code for well, code in OURS.items()}


def read_beside(
    wells: list[str], heading: str = "Well", by_well: str = ""
) -> tuple[list[Draft], Reading, Sheet]:
    """A file of our vials with these wells beside them, in the order of our plate."""
    lines = [["Vial ID", "Florida", heading]]
    lines += [[code, f"0.{10 + i}", well] for i, (code, well) in enumerate(zip(CODES, wells, strict=False))]
    sheet = Sheet(
        "R", [[Cell(text, "text" if text else "empty") for text in line] for line in lines], by_well=by_well
    )
    rows = [[(cell.text, cell.kind) for cell in row] for row in sheet.rows]
    reading = read_columns(
        rows, Layout(taxon_of_q="Florida", harmless=frozenset({"well", "place"})), file="r.csv"
    )
    return list(Drafter(reading).drafts(rows)), reading, sheet


def held(wells: list[str], *, heading: str = "Well", by_well: str = "") -> list[int]:
    """The rows, from 0, that are held where the vials are beside these wells, in the order of our plate."""
    drafts, reading, sheet = read_beside(wells, heading, by_well)
    note_other_wells(drafts, reading, sheet, PLACES)
    return [draft.row - 2 for draft in drafts if any(str(noted.kind) == "marked" for noted in draft.noted)]


def rotated(same: int, by: int) -> list[str]:
    """The first wells as we sent them, and all others moved on by so many places among themselves."""
    rest = WELLS[same:]
    return [*WELLS[:same], *rest[by:], *rest[:by]]


def exchanged(*pairs: tuple[int, int]) -> list[str]:
    wells = list(WELLS)
    for a, b in pairs:
        wells[a], wells[b] = wells[b], wells[a]
    return wells


@pytest.mark.parametrize(
    ("wells", "rows"),
    [
        (WELLS, []),
        ([well.replace("0", "") for well in WELLS], []),  # A1 is A01
        (exchanged((3, 7)), [3, 7]),
        (exchanged((3, 7), (8, 9)), [3, 7, 8, 9]),  # a fifth of them
        ([*WELLS[:19], "H12"], [19]),  # a well in which we sent none
        (rotated(4, 5), list(range(4, 20))),  # four name ours: more than chance makes
        (rotated(3, 5), []),  # three: the lab's own plate
        (["H12" if i > 3 else well for i, well in enumerate(WELLS)], []),  # wells that we left empty
        (rotated(2, 1), list(range(2, 20))),  # moved by a row from the third on
        (rotated(2, 17), list(range(2, 20))),
        (rotated(1, 1), []),  # one alone may be ours by chance
        ([*WELLS[:16], *[""] * 4], []),
        ([*exchanged((3, 7))[:16], *[""] * 4], [3, 7]),  # in four of five rows
        ([*exchanged((3, 7))[:15], *[""] * 5], []),
    ],
)
def test_wells_that_are_not_ours(wells: list[str], rows: list[int]) -> None:
    assert held(wells) == rows
    assert held(wells, heading="Place") == rows
    assert held(wells, by_well="ours") == []  # then they are how the vials were found


@pytest.mark.parametrize(
    ("wells", "says"),
    [
        (WELLS, ""),
        (WELLS[::-1], "the other way round"),
        (rotated(0, 1), "1 place on"),
        (rotated(0, 17), "3 places back"),
        (rotated(0, 3)[:18] + WELLS[:2], "3 places on"),  # 18 of 20
        ([*rotated(0, 3)[:17], WELLS[1], WELLS[2], WELLS[0]], ""),
        ([*WELLS[1:], "D06"], ""),  # a well kept free for a control, and one filled that we left empty
        ([*rotated(0, 1)[:15], *[""] * 5], ""),
        ([f"{letter}{n:02}" for n in range(1, 6) for letter in "ABCD"], ""),  # by columns
    ],
)
def test_wells_of_other_vials_of_ours(wells: list[str], says: str) -> None:
    drafts, reading, sheet = read_beside(wells)
    sent = {code: Sent(i, code, VialRole.SAMPLE, None, None, None, position=well)
            for i, (well, code) in enumerate(OURS.items())}  # fmt: skip
    expected = Expected(sent=sent, places=PLACES, filling=("plate96", "by_row"))
    words = wells_of_others(drafts, reading, sheet, expected)
    assert words.endswith(
        f"{says}. Each value is read for its code: is the code right, and not the well?" if says else ""
    )
    assert bool(words) == bool(says)
    assert not wells_of_others(drafts, reading, sheet, replace(expected, places={}))


@pytest.mark.parametrize(
    ("text", "well"),
    [("A1", "A01"), ("a01", "A01"), ("H12", "H12"), ("A", ""), ("12", ""), ("", ""), ("A1 B1", "")],
)
def test_a_well_in_a_text(text: str, well: str) -> None:
    assert well_in(text) == well


@pytest.mark.parametrize(
    ("n_strange", "of", "refused"),
    [(2, 5, False), (3, 15, False), (3, 14, True), (4, 20, False), (5, 20, True)],
)
def test_results_in_wells_that_we_left_empty(n_strange: int, of: int, refused: bool) -> None:
    lines = [["Vial ID", "Florida"], *([CODES[i], f"0.{10 + i}"] for i in range(of))]
    rows = [[(text, "text") for text in line] for line in lines]
    reading = read_columns(rows, Layout(taxon_of_q="Florida"), file="r.csv")
    drafts = list(Drafter(reading).drafts(rows))
    for draft in drafts[:n_strange]:
        draft.written = ""
    cells = [[Cell(text, "text") for text in line] for line in lines]
    refuse_other_wells(drafts, Sheet("R", cells), reading)  # they were not found by their wells
    if not refused:
        refuse_other_wells(drafts, Sheet("R", cells, by_well="ours"), reading)
        return
    with pytest.raises(
        SheetFault, match=f"{n_strange} of {of} results are in wells in which we sent no vial"
    ):
        refuse_other_wells(drafts, Sheet("R", cells, by_well="ours"), reading)
