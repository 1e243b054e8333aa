"""What the account of a sheet says of each thing in it: held, harmless or asked about, where and with which answers."""

from __future__ import annotations

from typing import Any

import pytest
from return_tables import CODES, PLAIN, SHARES, N, but, read

from geneticlog.rules.lab_return.account.account import account_of
from geneticlog.rules.lab_return.account.account_of_marks import rows_against, shown_again
from geneticlog.rules.lab_return.account.doubtful_texts import ask_about_lines, ask_about_names, rows_in_doubt
from geneticlog.rules.lab_return.sheet.account_items import Account, Item, SheetMarks
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.result.result_states import Verdict

HELD, HARMLESS, ASKED, USED = Verdict.HELD, Verdict.HARMLESS, Verdict.ASKED, Verdict.USED


def layout(harmless: str = "", against: str = "", **more: Any) -> Layout:
    from dataclasses import replace

    words = [frozenset(filter(None, texts.split("; "))) for texts in (harmless, against)]
    return replace(PLAIN, harmless=words[0], against=words[1], **more)


def of_marks(
    marks: SheetMarks, kept: Layout = PLAIN
) -> tuple[list[tuple[str, str, str, str]], list[list[str]]]:
    """Everything in the account but the two columns, and the values of the answers to each question."""
    reading, rows = read(["Florida"], [SHARES], kept)
    account, questions = account_of(reading, rows, marks)
    items = [(i.what, i.where, i.text, str(i.verdict)) for i in account.items if i.what != "column"]
    return items, [[value for _, _, value in question.choices] for question in questions]


def both(key: str) -> list[str]:
    return [key, key]


@pytest.mark.parametrize(
    ("marks", "items", "answers"),
    [
        ({}, [], []),
        ({"struck": frozenset({(3, 1), (3, 2), (5, 2)})}, [("mark", "rows 3, 5", "struck through", HELD)], []),
        ({"struck": frozenset({(1, 1), (40, 2)})}, [("mark", "rows 1, 40", "struck through", HARMLESS)], []),
        ({"merged": ((3, 2, 4, 2),)}, [("mark", "rows 3, 4", "merged cells", ASKED)], [both("merged cells")]),
        ({"merged": ((3, 2, 3, 3),)}, [], []),  # over columns of one sample
        ({"merged": ((11, 2, 12, 2),)}, [], []),  # the second row is no sample
        ({"merged": ((3, 3, 4, 3),)}, [], []),  # no column of a result
        ({"merged": ((3, 1, 4, 1),)}, [("mark", "rows 3, 4", "merged codes", USED)], []),
        ({"hidden_rows": frozenset({4, 50})}, [("mark", "row 4", "hidden rows", ASKED)], [both("hidden rows")]),
        ({"hidden_rows": frozenset({50})}, [], []),
        (
            {"colours": {(4, 2): "FFFF00", (4, 1): "FFFF00", (6, 2): "red text", (1, 1): "blue"}},
            [("mark", "row 4", "colour FFFF00", ASKED), ("mark", "row 6", "colour red text", ASKED)],
            [both("colour FFFF00"), both("colour red text")],
        ),
        ({"colours": {(4, 2): "a format that shows low"}}, [("mark", "row 4", "format low", ASKED)],
         [both("format low")]),
        # a colour on all samples, or on every second one, is decoration
        ({"colours": {(n, 2): "grey" for n in range(2, 12)}}, [("mark", "rows 2 to 11", "colour grey", HARMLESS)], []),
        ({"colours": {(n, 2): "grey" for n in range(2, 12, 2)}},
         [("mark", "rows 2, 4, 6, 8, 10", "colour grey", HARMLESS)], []),
        ({"colours": {(n, 2): "grey" for n in range(2, 10, 2)}},
         [("mark", "rows 2, 4, 6, 8", "colour grey", ASKED)], [both("colour grey")]),
        ({"rules": ((5, 1, 6, 2, "B2 < .3"), (11, 1, 99, 2, "B2 < .3"), (40, 1, 50, 2, "no sample"))},
         [("mark", "rows 5, 6, 11", "coloured where B2 < .3", ASKED)], [both("rule B2 < .3")]),
        ({"rules": ((5, 1, 6, 2, "x" * 61),)}, [("mark", "rows 5, 6", "coloured where " + "x" * 60, ASKED)],
         [both("rule " + "x" * 60)]),
        ({"comments": {(4, 2): "ok"}}, [("comment", "row 4", "ok", HARMLESS)], []),
        ({"comments": {(4, 2): "failed"}}, [("comment", "row 4", "failed", HELD)], []),
        ({"comments": {(1, 2): "failed"}}, [("comment", "row 1", "failed", ASKED)], [both("failed")]),
        ({"comments": {(4, 2): "seen twice"}}, [("comment", "row 4", "seen twice", ASKED)], [both("seen twice")]),
        ({"notes": (("the text box", "these are not final"),)},
         [("line", "the text box", "these are not final", ASKED)], [both("these are not final")]),
    ],
)  # fmt: skip
def test_marks_beside_the_values(
    marks: dict[str, Any], items: list[tuple[str, str, str, Verdict]], answers: list[list[str]]
) -> None:
    assert of_marks(SheetMarks(**marks)) == (items, answers)


@pytest.mark.parametrize(
    ("marks", "key"),
    [
        ({"merged": ((3, 2, 4, 2),)}, "merged cells"),
        ({"hidden_rows": frozenset({4})}, "hidden rows"),
        ({"colours": {(4, 2): "red"}}, "colour red"),
        ({"rules": ((5, 1, 6, 2, "low"),)}, "rule low"),
        ({"comments": {(4, 2): "seen twice"}}, "seen twice"),
    ],
)
def test_marks_that_a_person_settled(marks: dict[str, Any], key: str) -> None:
    (harmless,), asked = of_marks(SheetMarks(**marks), layout(key))
    assert (harmless[3], asked) == (HARMLESS, [])
    held_by = layout("", key)
    (waits,), asked = of_marks(SheetMarks(**marks), held_by)
    assert (waits[3], asked) == (HELD, [])
    reading, _ = read(["Florida"], [SHARES], held_by)
    of_rows = {"merged cells": [3, 4], "rule low": [5, 6]}.get(key, [4])
    against = rows_against(reading, SheetMarks(**marks))
    assert sorted(against) == of_rows
    assert all(len(words) == 1 for words in against.values())
    assert not rows_against(read(["Florida"], [SHARES])[0], SheetMarks(**marks))


def test_a_mark_on_two_cells_of_a_row_is_one_reason_and_rows_without_a_sample_have_none() -> None:
    reading, _ = read(["Florida"], [SHARES], layout("", "colour red; failed"))
    marks = SheetMarks(
        colours={(4, 1): "red", (4, 2): "red", (1, 1): "red"}, comments={(1, 1): "failed", (5, 2): "failed"}
    )
    assert rows_against(reading, marks) == {
        4: ["it has the colour red"],
        5: ["a comment says 'failed'"],
    }


@pytest.mark.parametrize(
    ("names", "kept", "items", "answers"),
    [
        ((("file", "return.csv"), ("sheet", "Results")), PLAIN, [], []),
        ((("file", "draft.csv"),), PLAIN, [("file", "draft.csv", ASKED)], [both("file draft.csv")]),
        ((("file", "old.csv"),), PLAIN, [], []),  # an old file is not taken back by its name
        ((("sheet", "Old"),), PLAIN, [("sheet", "Old", ASKED)], [both("sheet Old")]),
        ((("sheet", "Old"), ("sheet", "New")), PLAIN, [("sheet", "Old", ASKED)], [["New", *both("sheet Old")]]),
        ((("sheet", "Old"), ("sheet", "New"), ("sheet", "Newer")), PLAIN, [("sheet", "Old", ASKED)],
         [both("sheet Old")]),
        ((("sheet", "Old"),), layout(sheets=("Old",)), [], []),  # a person chose it
        ((("file", "draft.csv"),), layout("file draft csv"), [("file", "draft.csv", HARMLESS)], []),
        ((("sheet", "Northern bass"),), PLAIN, [("sheet", "Northern bass", ASKED)], [both("sheet Northern bass")]),
        ((("sheet", "Northern and Florida"),), PLAIN, [], []),
        ((("file", "northern.csv"),), PLAIN, [], []),
        ((("file", "NORTHERN_share.csv"),), PLAIN, [("file", "NORTHERN_share.csv", ASKED)],
         [both("file NORTHERN_share.csv")]),
        ((("file", "Florida_and_northern_share.csv"),), PLAIN, [], []),
    ],
)  # fmt: skip
def test_names_that_cast_doubt(
    names: tuple[tuple[str, str], ...], kept: Layout, items: list[Any], answers: list[list[str]]
) -> None:
    seen, asked = of_marks(SheetMarks(names=names), kept)
    assert ([one[1:] for one in seen], asked) == (items, answers)


LETTERHEAD = ("Page 1 of 1",)


@pytest.mark.parametrize(
    ("sheet", "kept", "verdict", "said"),
    [
        (("Notes", False, LETTERHEAD), PLAIN, HARMLESS, ""),
        (("Notes", True, LETTERHEAD), PLAIN, ASKED, "sheet Notes is hidden: does it"),
        (("Notes", False, ("two vials were mixed up",)), PLAIN, ASKED,
         "is not read; it says 'two vials were mixed up' ("),
        (("Notes", False, ("all went well with them", "do not use these")), PLAIN, ASKED,
         "it says 'do not use these'; 'all went well with them'"),
        (("Notes", False, tuple(f"a remark of kind {w}" for w in "abcde")), PLAIN, ASKED, "kind e': does"),
        (("Notes", False, tuple(f"a remark of kind {w}" for w in "abcdef")), PLAIN, ASKED, " and 1 lines more"),
        (("Notes", False, ("two vials were mixed up",)), layout("two vials were mixed up"), HARMLESS, ""),
        (("Notes", False, ("two vials were mixed up",)), layout("", "two vials were mixed up"), HARMLESS, ""),
        (("Notes", False, ("two vials were mixed up",)), layout("", "sheet notes"), HELD, ""),
        (("Notes", False, ("two fish seen",)), layout("sheet notes"), HARMLESS, ""),
    ],
)  # fmt: skip
def test_sheets_that_are_not_read(
    sheet: tuple[str, bool, tuple[str, ...]], kept: Layout, verdict: str, said: str
) -> None:
    reading, rows = read(["Florida"], [SHARES], kept)
    account, questions = account_of(reading, rows, SheetMarks(other_sheets=(sheet,)))
    (item,) = [one for one in account.items if one.what == "sheet"]
    assert item.verdict == verdict
    assert len(questions) == (verdict == ASKED)
    for question in questions:
        assert said in question.text
        assert [value for _, _, value in question.choices] == both("sheet Notes")


def test_a_sheet_called_harmless_is_asked_about_where_it_takes_values_back() -> None:
    lines = ("do not use these values", f"do not use {CODES[0]}", "thank you")
    marks = SheetMarks(other_sheets=(("Notes", False, lines),))
    items, answers = of_marks(marks, layout("sheet notes"))
    assert items == [("sheet", "Notes", "", HARMLESS), ("sheet", "Notes", lines[0], ASKED)]
    assert answers == [both(lines[0])]
    for settled in (
        layout("sheet notes; do not use these values"),
        layout("sheet notes", "do not use these values"),
    ):
        assert of_marks(marks, settled) == ([("sheet", "Notes", "", HARMLESS)], [])
    six = SheetMarks(other_sheets=(("Notes", False, tuple(f"do not use batch {w}" for w in "abcdef")),))
    assert len(of_marks(six, layout("sheet notes"))[1]) == 5


@pytest.mark.parametrize(
    ("codes", "hidden", "again"),
    [
        ([0, 1, 2, 0], {2}, True),  # row 2 is the first sample; its vial is in row 5 too
        ([0, 1, 2, 0], {2, 3}, False),
        ([0, 1, 2, 3], {2}, False),
        ([0, 1, 2, 0], set(), False),
        ([0, 1, 2, 0], {2, 5}, False),
        ([0, 1, 2, 0], {2, 70}, True),
    ],
)
def test_hidden_rows_whose_vials_are_shown_again(codes: list[int], hidden: set[int], again: bool) -> None:
    reading, rows = read(["Florida"], [SHARES[: len(codes)]])
    for n, code in enumerate(codes, 1):
        rows[n] = [(CODES[code], "text"), *rows[n][1:]]
    assert shown_again(reading, rows, hidden) is again
    account, questions = account_of(reading, rows, SheetMarks(hidden_rows=frozenset(hidden)))
    if again:
        assert [value for _, _, value in questions[0].choices] == ["hidden earlier rows", "hidden rows"]
        assert account.open[0].where == "row 2"


@pytest.mark.parametrize(
    ("kept", "verdict"),
    [("hidden earlier rows", HARMLESS), ("hidden rows", HARMLESS), ("-hidden rows", HELD), ("", ASKED)],
)
def test_earlier_rows_that_a_person_settled(kept: str, verdict: str) -> None:
    by = layout("", kept[1:]) if kept.startswith("-") else layout(kept)
    reading, rows = read(["Florida"], [SHARES[:4]], by)
    rows[4] = [rows[1][0], *rows[4][1:]]
    account, _ = account_of(reading, rows, SheetMarks(hidden_rows=frozenset({2})))
    assert [item.verdict for item in account.items if item.what == "mark"] == [verdict]


LIDS = [f"{colour} lid" for colour in ["azure", "brown", "cyan", "dusky", "ecru", "fawn", "green", "hazel"]]
WORDS = ["ok", "ok", "ok", "", "ok", "ok", "ok", "ok", "ok", "ok"]


@pytest.mark.parametrize(
    ("heading", "column", "kept", "verdicts", "asked"),
    [
        ("Comment", ["ok"] * N, PLAIN, {"ok": HARMLESS}, []),
        ("Comment", but([""] * N, _2="contaminated"), PLAIN, {"contaminated": HELD}, []),
        ("Comment", but([""] * N, _2="blue lid"), PLAIN, {"blue lid": ASKED}, ["blue lid"]),
        ("Comment", but([""] * N, _2="blue lid"), layout("blue lid"), {"blue lid": HARMLESS}, []),
        ("Comment", but([""] * N, _2="blue lid"), layout("", "blue lid"), {"blue lid": HELD}, []),
        # six words are asked about one by one, and all further ones by the name of the column
        ("Comment", [*LIDS[:6], *[""] * 4], PLAIN, dict.fromkeys(LIDS[:6], ASKED), LIDS[:6]),
        ("Comment", [*LIDS, *[""] * 2], PLAIN, {**dict.fromkeys(LIDS[:6], ASKED), "; ".join(LIDS[6:]): ASKED},
         [*LIDS[:6], "Comment"]),
        # a blank among words of acceptance
        ("Accepted", WORDS, PLAIN, {"ok": HARMLESS, "blank in Accepted": ASKED}, ["blank in Accepted"]),
        ("Accepted", WORDS, layout("", "blank in accepted"), {"ok": HARMLESS, "blank in Accepted": HELD}, []),
        ("Accepted", ["ok"] * 6 + [""] * 4, PLAIN, {"ok": HARMLESS, "blank in Accepted": ASKED},
         ["blank in Accepted"]),
        ("Accepted", ["ok"] * 5 + [""] * 5, PLAIN, {"ok": HARMLESS}, []),  # fewer than .6 of them
        ("Comment", WORDS, PLAIN, {"ok": HARMLESS}, []),
    ],
)  # fmt: skip
def test_words_beside_the_values(
    heading: str, column: list[str], kept: Layout, verdicts: dict[str, Verdict], asked: list[str]
) -> None:
    reading, rows = read(["Florida", heading], [SHARES, column], kept)
    account, questions = account_of(reading, rows, SheetMarks())
    assert {item.text: item.verdict for item in account.items if item.what in ("word", "mark")} == verdicts
    assert [question.choices[0][2] for question in questions] == asked


def account(*items: tuple[str, str, Verdict]) -> Account:
    return Account(tuple(Item(what, "row 9", text, verdict, "") for what, text, verdict in items))


def is_of_august(text: str) -> str:
    return "is of August" if "August" in text else ""


@pytest.mark.parametrize(
    ("what", "text", "verdict", "harmless", "after"),
    [
        ("line", "sent in August", HARMLESS, "", ASKED),
        ("line", "sent in August", HARMLESS, "sent in august", HARMLESS),
        ("line", "sent in May", HARMLESS, "", HARMLESS),
        ("line", "sent in August", HELD, "", HELD),
        ("word", "August", HARMLESS, "", HARMLESS),
    ],
)
def test_a_harmless_line_that_is_doubtful(
    what: str, text: str, verdict: Verdict, harmless: str, after: Verdict
) -> None:
    reading, _ = read(["Florida"], [SHARES], layout(harmless))
    judged, questions = ask_about_lines(account((what, text, verdict)), reading, is_of_august)
    assert judged.items[0].verdict == after
    asked = after == ASKED
    assert len(questions) == asked
    if asked:
        assert (
            questions[0].text
            == "row 9 says 'sent in August', which is of August: does it change what the values mean?"
        )
        assert judged.items[0].why == "it is of August"


@pytest.mark.parametrize(
    ("name", "items", "kept", "added"),
    [
        ("August_run.csv", [], PLAIN, [ASKED]),
        ("May_run.csv", [], PLAIN, []),
        ("run.August", [], PLAIN, [ASKED]),
        ("run.Aug", [], PLAIN, []),
        ("August_run.csv", [("name", "August_run.csv", ASKED)], PLAIN, []),  # asked about already
        ("August_run.csv", [("line", "August_run.csv", ASKED)], PLAIN, [ASKED]),
        ("August_run.csv", [("name", "another.csv", ASKED)], PLAIN, [ASKED]),
        ("August_run.csv", [], layout("file august run csv"), [HARMLESS]),
        ("August_run.csv", [], layout("", "file august run csv"), [HELD]),
    ],
)
def test_the_name_of_a_file_that_is_doubtful(
    name: str, items: list[tuple[str, str, Verdict]], kept: Layout, added: list[Verdict]
) -> None:
    judged, questions = ask_about_names(account(*items), [("file", name)], kept, is_of_august)
    assert [item.verdict for item in judged.items[len(items) :]] == added
    assert len(questions) == (added == [ASKED])


@pytest.mark.parametrize(
    ("kept", "whatever", "rows"),
    [
        (PLAIN, False, [5]),
        (layout("run"), False, []),
        (layout("run"), True, [5]),
        (layout("august"), False, []),
    ],
)
def test_rows_whose_unused_columns_are_doubtful(kept: Layout, whatever: bool, rows: list[int]) -> None:
    reading, table = read(["Florida", "Run"], [SHARES, but(["May"] * N, _3="August")], kept)
    doubts = rows_in_doubt(
        reading, table, lambda column, text: is_of_august(text), whatever_its_role=whatever
    )
    assert doubts == {row: ["column Run says 'August', is of August"] for row in rows}
