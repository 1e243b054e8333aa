"""Codes that another sheet gives the rows of a result, by the lab's own numbers."""

from __future__ import annotations

import pytest
from return_support import codes

from geneticlog.store.sheets import Cell, Sheet
from geneticlog.work.lab_return.sheets.key_sheet import with_codes

A, B, C, D = codes(4)
RESULTS = [["Run", "Florida"], ["101", "0.25"], ["102", "0.5"], ["103", "0.75"]]
KEY = [["Lab number", "Vial"], ["101", A], ["102", B], ["103", C]]


def sheet(name: str, rows: list[list[str]], *, hidden: bool = False) -> Sheet:
    return Sheet(
        name, [[Cell(text, "text" if text else "empty") for text in row] for row in rows], hidden=hidden
    )


def keyed(
    key: list[list[str]], results: list[list[str]] = RESULTS, *more: Sheet, hidden: bool = False
) -> list[list[str]]:
    """The rows of the results beyond their own two columns."""
    own = with_codes([sheet("Key", key, hidden=hidden), sheet("Results", results), *more])[1]
    assert own.keyed_by == ("Key" if any(len(row) > 2 for row in own.rows) else "")
    return [[cell.text for cell in row[2:]] for row in own.rows]


GIVEN = [["Vial (sheet Key)"], [A], [B], [C]]


@pytest.mark.parametrize(
    ("key", "given"),
    [
        (KEY, GIVEN),
        ([["Lab number", ""], *KEY[1:]], GIVEN),
        (KEY[1:], GIVEN),
        ([["for us"], *KEY], GIVEN),
        ([[*row, ""] for row in KEY], GIVEN),
        ([KEY[0], ["101", A], ["102", B], ["101", C]], [[], [], [], []]),  # one number of two vials
        ([KEY[0], ["101", A], ["", B], ["103", C]], [[], [], [], []]),  # a vial without a number
        ([KEY[0], ["101", A]], [[], [], [], []]),  # one vial is no key
        (
            [[*row, code] for row, code in zip(KEY, ("Again", D, C, B), strict=True)],
            [[], [], [], []],
        ),  # two codes
    ],
)
def test_a_key_names_one_vial_for_every_number(key: list[list[str]], given: list[list[str]]) -> None:
    assert keyed(key) == given


def test_a_number_that_the_key_does_not_know_gets_no_code() -> None:
    more = [*RESULTS, ["104", "0.1"], ["101", "0.25"]]
    assert keyed(KEY, more) == [*GIVEN, [], [A]]
    # where too many are unknown it is no key of this sheet: four in five have to be known
    assert keyed(KEY, [*RESULTS, ["104", "0.1"]]) == [[]] * 5
    assert keyed(KEY, [*RESULTS, ["101"], ["104", "0.1"]]) == [*GIVEN, [A], []]


def test_a_hidden_sheet_is_no_key_and_two_keys_say_nothing() -> None:
    assert keyed(KEY, hidden=True) == [[]] * 4
    assert keyed(KEY, RESULTS, sheet("Other key", [[*row] for row in KEY])) == [[]] * 4
    assert keyed(KEY, RESULTS, sheet("Empty", [["", ""]])) == GIVEN
    alone = sheet("Results", RESULTS)
    assert with_codes([alone]) == [alone]


def test_what_a_key_says_of_a_vial_in_words_comes_with_it() -> None:
    key = [["Lab number", "Vial", "Remarks"], ["101", A, "leaked"], ["102", B], ["103", C, "7"]]
    assert keyed(key) == [["Vial (sheet Key)", "Remarks (sheet Key)"], [A, "leaked"], [B, ""], [C, "7"]]
    # numbers alone say nothing that would be asked about
    assert keyed([["Lab number", "Vial", "Tray"], *([*row, "7"] for row in KEY[1:])]) == GIVEN


def test_wells_are_the_same_with_and_without_a_nought() -> None:
    key = [["Well", "Vial"], ["A01", A], ["B1", B], ["C12", C]]
    results = [["Position", "Florida"], ["A1", "0.25"], ["B01", "0.5"], ["C12", "0.75"]]
    assert keyed(key, results) == GIVEN
