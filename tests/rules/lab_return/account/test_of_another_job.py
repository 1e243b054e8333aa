"""Dates, panels, shipments, lakes, names and methods that are of another job: each rule at its boundary."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from return_tables import PLAIN, SHARES, N, but, doubted, read

from geneticlog.rules.lab_return.account.one_assay import account_of_assays
from geneticlog.rules.lab_return.account.other_jobs import (
    Job,
    mostly_before_sending,
    older_than_before,
    rows_of_odd_dates,
    rows_of_other_days,
    rows_of_other_shipments,
    rows_too_early,
)
from geneticlog.rules.lab_return.account.other_lakes import (
    lakes_by_name,
    line_of_other_lake,
    rows_of_other_lakes,
)
from geneticlog.rules.lab_return.account.other_names import account_of_names, names_known

CAUGHT, SENT = date(2026, 5, 12), date(2026, 5, 20)
JOB = Job("SH-2026-01", frozenset({"ELM-7", "ab"}), ("P38",), 38, CAUGHT, SENT, frozenset({"SH-2026-02"}))
BEFORE_SENT, BEFORE_CAUGHT = (
    "before the vials were sent (2026-05-20)",
    "before the fish were caught (2026-05-12)",
)


@pytest.mark.parametrize(
    ("text", "heading", "says"),
    [
        ("analysed 2026-05-20", "", ""),
        ("analysed 2026-05-19", "", BEFORE_SENT),
        ("analysed 2026-05-12", "", BEFORE_SENT),
        ("analysed 2026-05-11", "", BEFORE_CAUGHT),
        ("analysed 2026-05-11 and 2026-05-20", "", ""),  # the last day counts
        ("analysed 12.5.2026", "", ""),  # or the fifth of December
        ("analysed 19.5.2026", "", BEFORE_SENT),
        ("analysed 5/19/26", "", BEFORE_SENT),
        ("analysed 19 May 2026", "", BEFORE_SENT),
        ("analysed May 19th, 2026", "", BEFORE_SENT),
        ("analysed 19-May-26", "", BEFORE_SENT),
        ("analysed 26/05/19", "", BEFORE_SENT),  # the year first
        ("analysed 2026-02-30", "", ""),  # no day
        ("seen 2026-05-19", "", ""),
        ("2026-05-19", "Run date", BEFORE_SENT),
        ("46161", "Run date", BEFORE_SENT),  # a spreadsheet's number of 2026-05-19
        ("46162", "Run date", ""),
        ("46161", "Run", ""),
        ("analysed", "", ""),
    ],
)
def test_work_that_is_dated_too_early(text: str, heading: str, says: str) -> None:
    assert JOB.too_early(text, heading) == says
    assert replace(JOB, caught_from=None).too_early(text, heading) == ""
    assert replace(JOB, sent_on=None).too_early(text, heading) == (says if "caught" in says else "")


@pytest.mark.parametrize(
    ("text", "heading", "is_late"),
    [
        ("Report date: 2026-07-03", "", True),
        ("Report date: 2026-07-02", "", False),  # it is the next day there already
        ("Issued 2027-03-01", "", True),
        ("Date: 1 March 2027", "", True),
        ("Report issued on 03/07/2026", "", False),  # or the seventh of March
        ("analysed 2026-06-20 and 2027-06-20", "", False),
        ("Extracts are kept until 2027-07-01", "", False),
        ("Reported 2026-06-30; extracts discarded 2026-12-31", "", False),
        ("Analysis accredited, valid to 2028-01-01", "", False),
        ("see 2027-03-01", "", False),
        ("2027-06-20", "Analysed", True),
        ("46206", "Run date", True),  # a spreadsheet's number of 2026-07-03
        ("46205", "Run date", False),
        ("2027-06-20", "Remark", False),
    ],
)
def test_work_that_is_yet_to_come(text: str, heading: str, is_late: bool) -> None:
    today = replace(JOB, today=date(2026, 7, 1))
    says = "after the day on which the file is read (2026-07-01)" if is_late else ""
    assert today.too_late(text, heading) == says
    assert JOB.too_late(text, heading) == ""
    if not heading:
        assert today.doubt_in(text) == (f"gives a date {says}" if is_late else "")


def test_a_file_that_is_dated_before_an_earlier_one() -> None:
    lines = ["Report of analysis", "Issued 2026-06-20", "Received 2026-09-01"]
    words = older_than_before(lines, 2, date(2026, 7, 14))
    assert words.startswith("2 vials have another share")
    assert "dated 2026-07-14, and this one 2026-06-20" in words
    assert older_than_before(lines, 1, date(2026, 6, 21)).startswith("1 vial has")
    for same in (
        older_than_before(lines, 0, date(2026, 7, 14)),
        older_than_before(lines, 2, date(2026, 6, 20)),
        older_than_before(lines, 2, None),
        older_than_before(lines[:1], 2, date(2026, 7, 14)),
        older_than_before(["Date: 6/8/2026"], 2, date(2026, 7, 14)),  # or the sixth of August
    ):
        assert same == ""


@pytest.mark.parametrize(
    ("text", "another"),
    [
        ("SH-2026-01", False),
        ("SH-2026-02", False),  # the same file is about it
        ("SH-2026-03", True),  # of the same form
        ("SH-2026-03 beside sh-2026-01", False),
        ("XSH-2026-03", False),
        ("ELM-7", True),
        ("ab", False),  # too short to be one
        ("nothing", False),
    ],
)
def test_another_shipment(text: str, another: bool) -> None:
    assert JOB.another_shipment(text.casefold()) is another
    assert bool(JOB.doubt_in(text)) is another
    assert not replace(JOB, shipment="7").another_shipment(text.casefold())  # a number alone is no name
    of_words = replace(JOB, shipment="spring")
    assert of_words.another_shipment(text.casefold()) == (text == "ELM-7")


@pytest.mark.parametrize(
    ("text", "loci", "another"),
    [
        ("panel of 61 loci", 38, True),
        ("panel of 38 loci", 38, False),
        ("panel of 38 and 61 loci", 38, False),
        ("panel of 61 loci", None, False),
        ("panel P38 of 61 loci", 38, False),  # by its name
        ("panel version 4", 38, False),
        ("panel version 5", 38, True),
        ("panel of 2026-05-12", 38, False),
        ("panel 61.5", 38, False),
        ("the panel of 61 loci", 38, False),  # not about a panel
    ],
)
def test_another_panel(text: str, loci: int | None, another: bool) -> None:
    doubt = replace(JOB, panel_loci=loci).doubt_in(text)
    assert doubt == (
        f"names another panel than that of these vials, which has {loci} loci" if another else ""
    )


def test_what_is_doubtful_in_a_line() -> None:
    assert JOB.doubt_in("analysed 2026-05-19") == f"gives a date {BEFORE_SENT}"
    assert JOB.doubt_in("for SH-2026-03") == "names another shipment than that of these vials"
    assert JOB.doubt_in("analysed") == ""


@pytest.mark.parametrize(
    ("heading", "n_early", "harmless", "rows"),
    [
        ("Run date", 2, "", [0, 1]),
        ("Run date", 2, "run date", [0, 1]),  # few: whatever a person calls the column
        ("Run date", 3, "run date", []),
        ("Run date", 3, "", [0, 1, 2]),
        ("Note", 2, "", []),
    ],
)
def test_rows_that_are_dated_too_early(heading: str, n_early: int, harmless: str, rows: list[int]) -> None:
    kept = replace(PLAIN, harmless=frozenset(filter(None, [harmless])))
    column = ["2026-05-19"] * n_early + ["2026-06-01"] * (N - n_early)
    reading, table = read(["Florida", heading], [SHARES, column], kept)
    early = rows_too_early(reading, table, JOB)
    assert sorted(row - 2 for row in early) == rows


@pytest.mark.parametrize(
    ("n_early", "n_rows", "said", "asks"),
    [
        (5, 10, BEFORE_SENT, False),
        (6, 10, BEFORE_SENT, True),
        (6, 10, BEFORE_CAUGHT, False),
        (1, 1, BEFORE_SENT, False),
        (2, 2, BEFORE_SENT, True),
        (0, 10, BEFORE_SENT, False),
    ],
)
def test_most_rows_before_the_sending_are_one_question(
    n_early: int, n_rows: int, said: str, asks: bool
) -> None:
    words = mostly_before_sending({n: [said] for n in range(n_early)}, n_rows, JOB)
    assert words.startswith(f"{n_early} of {n_rows} rows") if asks else not words


@pytest.mark.parametrize(
    ("heading", "n_others", "rows"),
    [
        ("Shipment", 3, [0, 1, 2]),
        ("Shipment", 2, []),  # two are told as odd rows
        ("Lane", 3, []),
    ],
)
def test_rows_of_other_shipments(heading: str, n_others: int, rows: list[int]) -> None:
    column = ["SH-2026-09"] * n_others + ["SH-2026-01"] * (N - n_others)
    reading, table = read(["Florida", heading], [SHARES, column])
    assert doubted(rows_of_other_shipments, reading, table, JOB) == rows


USUAL = date(2026, 6, 1)


@pytest.mark.parametrize(
    ("heading", "days", "n", "rows"),
    [
        ("Run date", 180, N, []),
        ("Run date", 181, N, [3]),
        ("Run date", -181, N, [3]),
        ("Run date", 181, 8, [3]),
        ("Run date", 181, 7, []),  # too few rows
        ("Run", 181, N, []),
    ],
)
def test_a_date_far_from_all_others(heading: str, days: int, n: int, rows: list[int]) -> None:
    column = but([str(USUAL)] * n, _3=str(USUAL + timedelta(days))) + [""] * (N - n)
    reading, table = read(["Florida", heading], [SHARES, column])
    assert doubted(rows_of_odd_dates, reading, table) == rows


@pytest.mark.parametrize(("n_odd", "rows"), [(1, [0]), (2, [0, 1]), (3, [])])
def test_many_odd_dates_are_no_oddity(n_odd: int, rows: list[int]) -> None:
    column = ["2024-06-01"] * n_odd + [str(USUAL)] * (N - n_odd)
    reading, table = read(["Florida", "Run date"], [SHARES, column])
    assert doubted(rows_of_odd_dates, reading, table) == rows


@pytest.mark.parametrize(
    ("heading", "days", "rows"),
    [
        ("Collected", [2] * N, []),
        ("Collected", [*[0] * 8, 3, 3], [8, 9]),
        ("Collected", [*[0] * 7, 3, 3, 3], []),  # more than a quarter
        ("Collected", [30] * N, list(range(N))),
        ("Collected", [30] * 9 + [29], []),
        ("Collected by", [*[0] * 8, 3, 3], []),
        ("Run", [*[0] * 8, 3, 3], []),
    ],
)
def test_a_day_that_is_not_the_fishs(heading: str, days: list[int], rows: list[int]) -> None:
    column = [str(CAUGHT + timedelta(each)) for each in days]
    reading, table = read(["Florida", heading], [SHARES, column])
    caught = dict.fromkeys(range(2, N + 2), CAUGHT)
    assert doubted(rows_of_other_days, reading, table, lambda: caught) == rows
    assert not rows_of_other_days(reading, table, dict)


LAKES = lakes_by_name(
    ["Elm Lake", "ELM"], ["Elm Lake", "ELM", "Oak Lake", "OAKS", "Fir", "Lake", "Elm Lake West"]
)


@pytest.mark.parametrize(
    ("text", "other"),
    [
        ("Oak Lake", "oak lake"),
        ("from OAKS, 2026", "oaks"),
        ("Elm Lake", ""),
        ("Elm Lake and Oak Lake", ""),  # it names ours too
        ("Fir", ""),  # three letters may stand for anything
        ("a lake", ""),
        ("Soaks", ""),
    ],
)
def test_another_lake(text: str, other: str) -> None:
    assert LAKES.other_in(text) == other
    assert bool(line_of_other_lake(text, LAKES)) == bool(other)
    reading, table = read(["Florida", "Water"], [SHARES, but(["Elm Lake"] * N, _3=text)])
    assert doubted(rows_of_other_lakes, reading, table, LAKES) == ([3] if other else [])
    assert not rows_of_other_lakes(reading, table, lakes_by_name(["Elm Lake"], ["Elm Lake"]))
    assert lakes_by_name([], ["Oak Lake"]).other_in(text) == ("oak lake" if "Oak Lake" in text else "")


NAMES = names_known(["Elm Lake", "Office of Bream County", None, ""])


@pytest.mark.parametrize(
    ("text", "strange"),
    [
        ("Elm", False),
        ("Elm Lake, north end", False),
        ("Oak", True),
        ("Lake", False),  # no word that says which
        ("7", False),
        ("x", False),
        ("ox", True),
        ("bream", False),
        ("Elm Oak", False),
        ("", False),
    ],
)
def test_a_strange_name(text: str, strange: bool) -> None:
    assert NAMES.strange_in(text) is strange
    assert not names_known([]).strange_in(text)


@pytest.mark.parametrize(
    ("line", "strange"),
    [
        ("Client: Oakham", True),
        ("Client: Elm", False),
        ("Client: Oakham Genomics Laboratory", False),  # the lab itself
        ("Oakham Lake", True),
        ("Elm Lake", False),
        ("12 Oakham Lake Road", False),
        ("12 Oakham Lake", False),  # an address
        ("about Oakham Lake and Elm", False),
        ("about Oakham", False),
    ],
)
def test_a_line_that_names_another_water_or_client(line: str, strange: bool) -> None:
    assert bool(NAMES.doubt_in(line)) is strange


FIVE = ["Oakham", "Ashby", "Firton", "Yewley", "Birchy"]


@pytest.mark.parametrize(
    ("heading", "names", "harmless", "against", "verdicts", "n_asked"),
    [
        ("Client", ["Oakham"], "", "", ["asked"], 1),
        ("Client", FIVE[:4], "", "", ["asked"] * 4, 4),
        ("Client", FIVE, "", "", ["asked"], 1),  # one question for all of them
        ("Client", ["Oakham"], "oakham", "", ["harmless"], 0),
        ("Client", ["Oakham"], "", "oakham", ["held"], 0),
        ("Client", ["Oakham"], "client", "", [], 0),
        ("Client", ["Elsewhere"], "", "", [], 0),  # a lake of ours: its rows are held
        ("Site", ["Oakham"], "", "", [], 0),
        ("Site", ["Oakham Lake"], "", "", ["asked"], 1),
        ("Lane", ["Oakham Lake"], "", "", [], 0),
    ],
)
def test_names_in_a_column(
    heading: str, names: list[str], harmless: str, against: str, verdicts: list[str], n_asked: int
) -> None:
    words = [frozenset(filter(None, [text])) for text in (harmless, against)]
    column = [*names, *["Elm"] * (N - len(names))]
    reading, table = read(
        ["Florida", heading], [SHARES, column], replace(PLAIN, harmless=words[0], against=words[1])
    )
    items, questions = account_of_names(reading, table, NAMES, lambda text: text == "Elsewhere")
    assert [str(item.verdict) for item in items] == verdicts
    assert len(questions) == n_asked


@pytest.mark.parametrize(
    ("heading", "column", "harmless", "against", "verdicts"),
    [
        ("Method", ["chip"] * N, "", "", {}),
        ("Method", but(["chip"] * N, _3="array"), "", "", {"array": "asked"}),
        ("Method", but(["chip"] * N, _3="array"), "array", "", {"array": "harmless"}),
        ("Method", but(["chip"] * N, _3="array"), "", "array", {"array": "held"}),
        ("Method", but(["chip"] * N, _3="array"), "method", "", {}),
        ("Lane", but(["chip"] * N, _3="array"), "", "", {}),
        ("Tissue", but(["swab"] * N, _3="fin clip"), "", "", {}),
        ("Tissue", but(["swab"] * N, _3="fin"), "", "", {}),
        ("Method", ["chip", "chip", *(f"array {w}" for w in "ghijkl"), "", ""], "", "",
         {f"array {w}": "asked" for w in "ghijkl"}),
        ("Method", ["chip", "chip", *(f"array {w}" for w in "ghijklm"), ""], "", "",
         {"; ".join(f"array {w}" for w in "ghijklm"): "asked"}),
    ],
)  # fmt: skip
def test_another_method(
    heading: str, column: list[str], harmless: str, against: str, verdicts: dict[str, str]
) -> None:
    words = [frozenset(filter(None, [text])) for text in (harmless, against)]
    reading, rows = read(
        ["Florida", heading], [SHARES, column], replace(PLAIN, harmless=words[0], against=words[1])
    )
    items: list[Any] = []
    account_of_assays(reading, rows, lambda item, question=None: items.append((item, question)))
    assert {item.text: str(item.verdict) for item, _ in items} == verdicts
    assert all((item.verdict == "asked") == (question is not None) for item, question in items)
