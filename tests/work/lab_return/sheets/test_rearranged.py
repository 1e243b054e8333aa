"""Blocks of a sheet in another place: what marks a cell goes with it, and what is not of a block is left out."""

from __future__ import annotations

from geneticlog.store.sheets import EMPTY, Cell, Sheet
from geneticlog.work.lab_return.sheets.rearranged import Block, rearranged


def test_ranges_marks_and_hidden_rows_go_where_their_cells_go() -> None:
    rows = [[Cell("abcd"[c] + str(r), "text") for c in range(4)] for r in (1, 2, 3)]
    sheet = Sheet(
        "Results", rows, struck=frozenset({(2, 3), (2, 4)}), comments={(3, 1): "read twice"},
        merged=((1, 1, 2, 1),), rules=((2, 1, 3, 4, "below 0.9"),), hidden_rows=frozenset({3}),
        hidden_columns=frozenset({3}),
    )  # fmt: skip
    # columns 1 and 3 of rows 2 and 3, side by side, a row further down
    made = rearranged(sheet, [Block(2, 3, {1: 1, 3: 2}, down=1)])
    texts = [[cell.text for cell in row] for row in made.rows]
    assert [row[:2] for row in texts[2:]] == [["a2", "c2"], ["a3", "c3"]]
    assert all(cell == EMPTY for row in made.rows[:2] for cell in row)
    assert made.struck == {(3, 2)}
    assert made.comments == {(4, 1): "read twice"}
    assert made.merged == ((3, 1, 3, 1),)
    assert made.rules == ((3, 1, 4, 1, "below 0.9"), (3, 2, 4, 2, "below 0.9"))
    assert (made.hidden_rows, made.hidden_columns) == ({4}, {2})


def test_hidden_rows_of_a_block_are_its_first_to_its_last() -> None:
    rows = [[Cell(f"a{r}", "text")] for r in range(1, 6)]
    hidden = Sheet("Results", rows, hidden_rows=frozenset({1, 2, 3, 4, 5}), hidden_columns=frozenset({1, 2}))
    made = rearranged(hidden, [Block(2, 4, {1: 1}, down=1)])
    assert (made.hidden_rows, made.hidden_columns) == ({3, 4, 5}, {1})
