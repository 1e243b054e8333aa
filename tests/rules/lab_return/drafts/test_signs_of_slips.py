"""Files that end too early, columns that slip, codes beside codes, numbered clusters, counts against genotypes."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from return_tables import CODES, PLAIN, SHARES, N, but, doubted, read

from geneticlog.rules.finding.finding_kinds import FindingKind
from geneticlog.rules.lab_return.columns.clusters import (
    exchanged_by_taxon,
    has_a_twin,
    stem_of,
    take_clusters,
)
from geneticlog.rules.lab_return.columns.texts_against import texts_against
from geneticlog.rules.lab_return.doubts_of_rows.cut_off import cut_off
from geneticlog.rules.lab_return.doubts_of_rows.other_codes import other_codes
from geneticlog.rules.lab_return.doubts_of_rows.slipped import slipped
from geneticlog.rules.lab_return.drafts.draft import LEFT_BLANK, Draft
from geneticlog.rules.lab_return.drafts.lab_ids import named_by_lab_ids
from geneticlog.rules.lab_return.drafts.marked import note_marked, note_struck
from geneticlog.rules.lab_return.drafts.recounted import compare_counted
from geneticlog.rules.lab_return.drafts.unit_in_doubt import note_mostly_impossible
from geneticlog.rules.lab_return.sheet.reading import Column, Row
from geneticlog.rules.lab_return.words.headings import BARE_Q, Said
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.lab_return.words.roles import ColumnRole
from geneticlog.rules.result.result_states import Outcome, Verdict


@pytest.mark.parametrize(
    ("last", "content", "cut"),
    [
        (["0.17", "38", "ok"], b"x", False),
        (["0.17", "38", "ok"], b"x\n", False),
        (["0.17", "38"], b"x", True),  # a column is missing
        (["0.17", "38"], b"x\n", False),  # a line end follows
        (["0.17", "38"], b"x\r\n\x1a", False),
        (["0.17", "38", ""], b"x", True),
        (["0.17", "38", "o"], b"x", True),  # the beginning of "ok"
        (["0.17", "38", "no"], b"x", False),  # another word, whole
        (["0.17", "38", "n"], b"x", False),
    ],
)
def test_a_file_that_ends_in_its_last_row(last: list[str], content: bytes, cut: bool) -> None:
    table = [["0.10", "38", "ok"]] * 4
    reading, rows = read(["Florida", "Loci scored", "Status"], list(map(list, zip(*table, strict=True))))
    rows[4] = [rows[4][0], *((text, "text") for text in last)]
    assert doubted(cut_off, content, reading, rows) == ([3] if cut else [])
    assert not cut_off(content, replace(reading, data_rows=reading.data_rows[1:]), rows)  # three rows
    assert not cut_off(content, reading, [*rows, [("a line", "text")]])


@pytest.mark.parametrize(
    ("last", "cut"),
    [("0.17", False), ("0.1", True), ("0", True), ("0.175", False), ("17.00", False), ("1700", True)],
)
def test_a_number_that_ends_early(last: str, cut: bool) -> None:
    reading, rows = read(["Loci scored", "Florida"], [["38"] * 4, ["0.10", "0.25", "0.31", "0.44"]])
    rows[4] = [*rows[4][:2], (last, "text")]
    assert bool(cut_off(b"x", reading, rows)) is cut


def draft(row: int, q: float | None, *, vial: bool = True, failure: str = LEFT_BLANK) -> Draft:
    outcome = Outcome.TYPED if q is not None else Outcome.FAILED
    return Draft(row, CODES[row] if vial else " ", None, outcome, q=q, failure=failure if q is None else None)


@pytest.mark.parametrize(
    ("drafts", "rows"),
    [
        # a vial without a value, and a value without a vial at the end: those between them
        ([draft(2, 0.1), draft(3, None), draft(4, 0.2), draft(5, 0.3), draft(6, 0.4, vial=False)], [4, 5]),
        ([draft(2, 0.4, vial=False), draft(3, 0.1), draft(4, 0.2), draft(5, None), draft(6, 0.3)], [3, 4]),
        ([draft(2, 0.1), draft(3, 0.2), draft(4, 0.2), draft(5, 0.4, vial=False)], []),
        ([draft(2, None), draft(3, 0.4, vial=False)], []),  # two rows
        ([draft(2, None), draft(3, 0.2), draft(4, 0.4, vial=False)], [3]),
        ([draft(2, None, failure="failed"), draft(3, 0.2), draft(4, 0.4, vial=False)], []),
        ([draft(2, 0.1), draft(3, None), draft(4, None, vial=False)], []),
        (
            [draft(2, 0.1), draft(3, 0.2), draft(4, None), draft(5, 0.4, vial=False)],
            [],
        ),  # the last one is blank
    ],
)
def test_a_column_that_slipped_by_a_row(drafts: list[Draft], rows: list[int]) -> None:
    doubts = slipped(drafts, str)
    assert sorted(doubts) == rows
    way = "up" if drafts[0].written == " " else "down"
    assert all(f"slips {way} by a row" in words for (words,) in doubts.values())


@pytest.mark.parametrize(
    ("heading", "column", "kept", "rows"),
    [
        ("Again", CODES[:N], {}, []),
        ("Again", but(CODES[:N], _3=CODES[20]), {}, [3]),
        ("Again", [*but(CODES[:5], _3=CODES[20]), *[""] * 5], {}, [3]),  # in half of the rows
        ("Again", [*but(CODES[:4], _3=CODES[7]), *[""] * 6], {}, [7]),  # at times: of the vial that is named
        ("Again", but([""] * N, _3=CODES[20]), {}, []),
        ("Replicate of", but([""] * N, _3=CODES[7]), {}, [3, 7]),
        ("Again", but([""] * N, _3=CODES[3]), {}, []),
        ("Again", but(CODES[:N], _3=CODES[20]), {"harmless": frozenset({CODES[20].casefold()})}, []),
        # codes of another kind, and a person said which column is ours
        ("Again", CODES[20:30], {"answered": frozenset({ColumnRole.VIAL, ColumnRole.Q})}, []),
        ("Again", CODES[20:30], {}, list(range(N))),
        ("Again", CODES[20:30], {"harmless": frozenset({"again"})}, []),
        (
            "Again",
            [*CODES[:5], *CODES[20:25]],
            {"harmless": frozenset({"again"})},
            [5, 6, 7, 8, 9],
        ),  # half of them
    ],
)
def test_codes_in_another_column(
    heading: str, column: list[str], kept: dict[str, Any], rows: list[int]
) -> None:
    layout = replace(PLAIN, columns={ColumnRole.VIAL: "Vial ID", ColumnRole.Q: "Florida"}, **kept)
    reading, table = read(["Florida", heading], [SHARES, column], layout)
    assert doubted(other_codes, reading, table) == rows


def said(*headings: str) -> list[Said]:
    return [Said(ColumnRole.NOT_USED, "") for _ in headings]


def sample(*columns: list[str]) -> list[Row]:
    return [[(text, "text" if text else "empty") for text in row] for row in zip(*columns, strict=True)]


LEFT = [f"{1 - float(q):.2f}" for q in SHARES]


@pytest.mark.parametrize(
    ("headings", "columns", "taken"),
    [
        (["Cluster 1", "Cluster 2"], [SHARES, LEFT], True),
        (["Cluster a", "Cluster b"], [SHARES, LEFT], True),
        (["Cluster 1", "Group 2"], [SHARES, LEFT], False),
        (["1", "2"], [SHARES, LEFT], False),  # numbers alone
        (["Cluster 1", "Cluster 2"], [SHARES, SHARES], False),  # no whole
        (["Cluster 1", "Cluster 2"], [["low"] * N, ["high"] * N], False),
        (["Cluster 1", "Cluster 2", "Cluster 3"], [SHARES, LEFT, SHARES], False),
        (["Cluster 1", "Cluster 2", "Cluster 3"], [SHARES, LEFT, [""] * N], True),  # the third is empty
        (["Cluster 1"], [SHARES], False),
    ],
)
def test_two_numbered_clusters(headings: list[str], columns: list[list[str]], taken: bool) -> None:
    of = said(*headings)
    take_clusters(of, headings, sample(*columns))
    assert [one.role for one in of[:2]] == (["q", "other_q"] if taken else [""] * len(of[:2]))
    q = [Said(ColumnRole.Q, BARE_Q), *said(*headings)]
    take_clusters(q, ["Share", *headings], sample(SHARES, *columns))
    assert [one.role for one in q] == ["q", *[""] * len(headings)]


@pytest.mark.parametrize(
    ("heading", "stem"), [("Cluster 1", "cluster"), ("Cluster b", "cluster"), ("Cluster", ""), ("12", "")]
)
def test_the_stem_of_a_heading(heading: str, stem: str) -> None:
    assert stem_of(heading) == stem


@pytest.mark.parametrize(
    ("headings", "taxon", "exchanged", "twin"),
    [
        (("Cluster 1", "Cluster 2"), "northern", True, True),
        (("Cluster 1", "Cluster 2"), "Florida", False, True),
        (("Cluster 1", "Group 2"), "northern", False, False),
        (("Share", "Rest"), "northern", False, False),
    ],
)
def test_two_clusters_exchange_where_a_person_says_so(
    headings: tuple[str, str], taxon: str, exchanged: bool, twin: bool
) -> None:
    columns = [
        Column(2, headings[0], ColumnRole.Q, ""), Column(3, headings[1], ColumnRole.OTHER_Q, ""),
        Column(4, "Note", ColumnRole.NOT_USED, "why"),
    ]  # fmt: skip
    after, layout = exchanged_by_taxon(columns, Layout(taxon_of_q=taxon))
    assert [str(one.role) for one in after] == (["other_q", "q", ""] if exchanged else ["q", "other_q", ""])
    assert layout.taxon_of_q == ("Florida" if exchanged else taxon)
    assert after[2].why == "why"
    assert has_a_twin(columns[0], columns) is twin
    assert exchanged_by_taxon(columns[:1], Layout(taxon_of_q=taxon))[0] == columns[:1]


@pytest.mark.parametrize(
    ("stated", "half_digits", "kinds"),
    [
        # of 38 loci: q .25, H .5
        ((0.25, 0.5, 38), (0.0, 0.0), []),
        ((None, None, None), (0.0, 0.0), []),
        ((0.25, 0.5, 37), (0.0, 0.0), ["genotype_loci_disagree"]),
        ((0.255, 0.5, 38), (0.005, 0.0), []),
        ((0.257, 0.5, 38), (0.005, 0.0), ["genotypes_disagree"]),
        ((0.256, 0.5, 38), (0.0035, 0.0), []),  # cut off, and still nearer than half an allele
        ((0.25, 0.51, 38), (0.0, 0.0), ["genotypes_disagree"]),
        ((0.25, 0.51, 38), (0.0, 0.01), []),
        ((0.75, 0.5, 37), (0.0, 0.0), ["genotypes_disagree", "genotype_loci_disagree"]),
    ],
)
def test_what_genotypes_count_again(
    stated: tuple[float | None, float | None, int | None], half_digits: tuple[float, float], kinds: list[str]
) -> None:
    noted = compare_counted((0.25, 0.5, 38), *stated, *half_digits)
    assert [str(one.kind) for one in noted] == kinds
    if kinds[:1] == ["genotypes_disagree"]:
        turned = stated[0] == 0.75
        assert noted[0].facts["how"] == ("; are northern alleles counted?" if turned else "")


def test_a_share_near_one_half_is_not_called_turned_round() -> None:
    (noted,) = compare_counted((0.48, 0.5, 38), 0.52, None, None, 0.0, 0.0)
    assert noted.facts["how"] == ""
    (noted,) = compare_counted((0.47, 0.5, 38), 0.53, None, None, 0.0, 0.0)
    assert noted.facts["how"] == "; are northern alleles counted?"


@pytest.mark.parametrize(
    ("cells", "columns", "are"),
    [
        ({(2, 2)}, "Florida", "is"),
        ({(2, 1), (2, 2)}, "Vial ID, Florida", "are"),
        ({(2, 9)}, "beside the table", "is"),
        ({(2, n) for n in range(1, 7)}, "Vial ID, Florida" + ", beside the table" * 4, "are"),
        ({(2, n) for n in range(1, 9)}, "Vial ID, Florida" + ", beside the table" * 4 + " and 2 more", "are"),
    ],
)
def test_cells_that_are_struck_through(cells: set[tuple[int, int]], columns: str, are: str) -> None:
    reading, _ = read(["Florida"], [SHARES])
    drafts = [Draft(2, "", None), Draft(3, "", None)]
    note_struck(drafts, reading, cells)
    assert drafts[0].noted[0].facts == {"columns": columns, "are": are}
    assert (drafts[0].held, drafts[1].noted) == (True, [])
    note_marked(drafts, {3: ["one", "two"]})
    assert [noted.facts["mark"] for noted in drafts[1].noted] == ["one", "two"]
    note_struck(drafts, reading, set())
    assert len(drafts[0].noted) == 1


@pytest.mark.parametrize(
    ("impossible", "n_others", "held"),
    [
        (["1.2", "1.4"], 6, True),  # a quarter
        (["1.2", "1.4"], 7, False),
        (["1.2"], 3, False),  # one alone
        (["999"] * 2, 4, False),  # what stands for no result
        (["999"] * 2, 3, False),
        (["999"] * 3, 3, True),  # in half of the column
        (["999", "998"], 4, True),
        (["1.2", "1.4"], 0, False),
    ],
)
def test_many_shares_that_cannot_be(impossible: list[str], n_others: int, held: bool) -> None:
    drafts = [Draft(i, "", None, q=0.5) for i in range(n_others)]
    for i, text in enumerate(impossible):
        drafts.append(Draft(90 + i, "", None))
        drafts[-1].note(FindingKind.IMPOSSIBLE_VALUE, written=text, role=ColumnRole.Q)
    of_h = Draft(99, "", None, q=0.5)
    of_h.note(FindingKind.IMPOSSIBLE_VALUE, written="7", role=ColumnRole.HETEROZYGOSITY)
    note_mostly_impossible(drafts)
    assert all(
        any(noted.kind == FindingKind.MARKED for noted in one.noted) is held for one in drafts[:n_others]
    )
    note_mostly_impossible([of_h])
    assert len(of_h.noted) == 1


@pytest.mark.parametrize(
    ("heading", "column", "harmless", "against", "texts"),
    [
        ("Comment", but(["ok"] * N, _3="contaminated"), "", "", {"contaminated"}),
        ("Comment", but(["ok"] * N, _3="blue lid"), "", "", set()),
        ("Comment", but(["ok"] * N, _3="blue lid"), "", "blue lid", {"blue lid"}),
        ("Comment", but(["ok"] * N, _3="blue lid"), "", "comment", {"blue lid"}),
        ("Comment", but(["ok"] * N, _3=""), "", "blank in comment", {""}),
        ("Comment", but(["ok"] * N, _3="contaminated"), "contaminated", "", set()),
        ("Lane", but(["one"] * N, _3="contaminated"), "", "", {"contaminated"}),
        ("Lane", but(["one"] * N, _3="contaminated"), "contaminated", "", set()),
        ("Lane", but(["one"] * N, _3="two"), "", "two", {"two"}),
        ("Lane", but(["one"] * N, _3="two"), "", "", set()),
    ],
)
def test_texts_that_take_a_value_back(
    heading: str, column: list[str], harmless: str, against: str, texts: set[str]
) -> None:
    words = [frozenset(filter(None, [text])) for text in (harmless, against)]
    reading, rows = read(
        ["Florida", heading], [SHARES, column], replace(PLAIN, harmless=words[0], against=words[1])
    )
    assert texts_against(reading, rows).get(3, frozenset()) == texts


@pytest.mark.parametrize(
    ("column", "against", "texts"),
    [
        (["x", "y"] * 5, "odd", {"x", "y"}),
        (["x", "y"] * 5, "odd other than x", {"y"}),
        (["x", "y"] * 5, "column c other than y", {"x"}),
        (["x", ""] * 5, "odd", {"x"}),
    ],
)
def test_texts_of_a_column_that_is_held(column: list[str], against: str, texts: set[str]) -> None:
    reading, rows = read(["Florida", "Odd"], [SHARES, column], replace(PLAIN, against=frozenset({against})))
    columns = tuple(
        replace(one, standing=Verdict.HELD) if one.heading == "Odd" else one for one in reading.columns
    )
    assert texts_against(replace(reading, columns=columns), rows).get(3, frozenset()) == texts


@pytest.mark.parametrize(
    ("text", "rows"),
    [
        ("D1002-D1004 are from the pilot", [1, 2, 3]),
        ("d1002 to D1004", [1, 2, 3]),
        ("D1002 and D1005", [1, 4]),
        ("D1002-D1099 are from the pilot", []),  # others, too
        ("the pilot of 2026", []),
    ],
)
def test_samples_that_a_line_names_by_the_numbers_of_the_lab(text: str, rows: list[int]) -> None:
    drafts = [Draft(i + 1, "", None, q=0.2) for i in range(6)]
    cells: list[Row] = [[(f"D{1001 + i}", "text"), ("0.2", "text")] for i in range(6)]
    assert [draft.row - 1 for draft in named_by_lab_ids(text, drafts, cells)] == rows
