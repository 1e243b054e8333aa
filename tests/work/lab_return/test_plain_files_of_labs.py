"""Plain, honest files as labs send them: read without a question, or with one whose first answer is right."""

from __future__ import annotations

import io
from collections.abc import Callable
from typing import Any

import openpyxl
import pytest
from return_support import codes, csv_file

from geneticlog.errors import SheetFault
from geneticlog.rules.lab_return.words.headings import answer_key
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.work.lab_return.known_before.expected import Expected
from geneticlog.work.lab_return.understand import Understood, understand

ALLELES = [23, 5, 75, 16, 2, 31, 61, 44, 52, 36, 69, 9]  # Florida alleles of twice the loci
LOCI = [38, 37, 38, 36, 38, 38, 35, 38, 38, 38, 38, 37]
CODES = codes(len(ALLELES))
Q = [k / (2 * n) for k, n in zip(ALLELES, LOCI, strict=True)]
Rows = list[list[Any]]


def read(content: bytes, **answers: Any) -> Understood:
    given = {key: frozenset(map(answer_key, texts)) if isinstance(texts, list) else texts
             for key, texts in answers.items()}  # fmt: skip
    return understand(content, "return.txt", Layout(**given), Expected(panel_loci=38))


def asked(understood: Understood) -> list[str]:
    return [f"{question.text} {question.options}" for question in understood.reading.questions]


def both_counts(heads: tuple[str, str], shift: int = 0) -> bytes:
    rows = [[c, k, 2 * n - k - shift] for c, k, n in zip(CODES, ALLELES, LOCI, strict=True)]
    return csv_file([["Sample", *heads], *rows])


def test_counts_of_both_taxa_are_counts_of_as_many_loci_as_they_make() -> None:
    content = both_counts(("Florida alleles", "Northern alleles"))
    (question,) = asked(read(content))
    assert "make 70 to 76 alleles together" in question
    assert "(38 loci in the first row)" in question
    drafts = read(content, harmless=["all alleles scored"]).drafts
    assert [(draft.q, draft.n_loci) for draft in drafts] == list(zip(Q, LOCI, strict=True))
    assert not any(draft.held for draft in drafts)
    assert all(draft.held for draft in read(content, against=["all alleles scored"]).drafts)
    odd = read(both_counts(("Florida alleles", "Northern alleles"), shift=1), harmless=["all alleles scored"])
    assert all(draft.held for draft in odd.drafts)  # half a locus was never scored
    for heads in (("Florida", "Northern"), ("Florida alleles (%)", "Northern alleles (%)")):
        assert "make 70 to 76" not in " ".join(asked(read(both_counts(heads)))), heads


def pages() -> bytes:
    lines = [f"{c}  {q:.4f}  {n}" for c, q, n in zip(CODES, Q, LOCI, strict=True)]
    head = "Sample  Florida  Loci"
    top = "Quillback Genotyping   Report 118   Page {}"
    return "\n".join([top.format(1), head, *lines[:6], top.format(2), head, *lines[6:]]).encode()


def table(
    head: list[str], row: Callable[[int, str, float, int], list[Any]], separator: str = ","
) -> Callable[[], bytes]:
    rows = [row(i, *one) for i, one in enumerate(zip(CODES, Q, LOCI, strict=True))]
    return lambda: csv_file([head, *rows], separator)


def comma(value: float, digits: int = 4) -> str:
    return f"{value:.{digits}f}".replace(".", ",")


def letter() -> bytes:
    lines = [f"{c}: {q:.4f} Florida ({n} loci)" for c, q, n in zip(CODES, Q, LOCI, strict=True)]
    ends = ["", "Best wishes,", "Mona Kestrel", "Quillback Genotyping"]
    return "\n".join(["Hello,", "", "please find the results below.", "", *lines, *ends]).encode()


def definitions() -> bytes:
    ends = ["Florida = proportion of Florida alleles (0 to 1)", "Loci = number of loci scored of 38"]
    rows = [[c, f"{q:.4f}", n] for c, q, n in zip(CODES, Q, LOCI, strict=True)]
    return csv_file([["Vial", "Florida", "Loci"], *rows, [], *([end] for end in ends)])


GERMAN = table(
    ["Probennummer", "Florida (%)", "Nördlich (%)", "Loci", "Ergebnis"],
    lambda i, c, q, n: [c, comma(100 * q, 3), comma(100 - 100 * q, 3), n, "i.O."],
    ";",
)
PLAIN: dict[str, Callable[[], bytes]] = {
    "the heads of printed pages": pages,
    "a letter with its signature": letter,
    "definitions below the table": definitions,
    "words that capitals part": table(
        ["LabSampleNo", "ClientSampleID", "DateReceived", "FloridaPct", "NorthernPct", "LociScored", "QCStatus"],
        lambda i, c, q, n: [f"26-{i:05}", c, "2026-05-21", f"{100 * q:.3f}", f"{100 - 100 * q:.3f}", n, "Pass"],
    ),
    "as R writes it": table(
        ["", "vial", "q_FL", "q_NL", "nloci"], lambda i, c, q, n: [i + 1, c, q, 1 - q, n]
    ),
    "a number called": table(["vial", "Florida", "n_called"], lambda i, c, q, n: [c, f"{q:.4f}", n]),
    "clusters that are named": table(
        ["Label", "Cluster 1 (Florida)", "Cluster 2 (northern)", "Loci"],
        lambda i, c, q, n: [c, f"{q:.4f}", f"{1 - q:.4f}", n],
    ),
    "a day without a known heading": table(
        ["Vial", "Genotyped", "Florida", "Loci"], lambda i, c, q, n: [c, "2026-05-28", f"{q:.4f}", n]
    ),
    "German in the code page of Windows": lambda: GERMAN().decode().encode("cp1252"),
    "French": table(
        ["Échantillon", "Proportion Floride", "Nb loci", "Remarque"],
        lambda i, c, q, n: [c, comma(q), n, "bonne" if i % 2 else ""],
        ";",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", PLAIN)
def test_a_plain_file_is_read_without_a_question(name: str) -> None:
    understood = read(PLAIN[name]())
    assert [round(draft.q or 9, 4) for draft in understood.drafts] == [round(q, 4) for q in Q], asked(
        understood
    )
    assert not any(draft.held for draft in understood.drafts)


# --- a further table of the other taxon's share -----------------------------------------------------------------------
def two_tables(beside: bool, heads: tuple[str, str], share: Callable[[float], str]) -> bytes:
    """Six fish under the first heading, six under the second, which has what ``share`` makes of the northern share."""
    first = [["Sample", heads[0]], *([c, f"{q:.4f}"] for c, q in zip(CODES[:6], Q[:6], strict=True))]
    later = [["Sample", heads[1]], *([c, share(1 - q)] for c, q in zip(CODES[6:], Q[6:], strict=True))]
    if not beside:
        return csv_file([*first, [], *later])
    return csv_file([[*left, "", *right] for left, right in zip(first, later, strict=True)])


def two_sheets() -> bytes:
    book = openpyxl.Workbook()
    for name, head, part in (
        ("A", "Florida fraction", slice(0, 5)),
        ("B", "Northern fraction", slice(5, 12)),
    ):
        page = book.active if name == "A" else book.create_sheet()
        page.title = name
        page.append(["Vial", head])
        for code, q in zip(CODES[part], Q[part], strict=True):
            page.append([code, round(q if name == "A" else 1 - q, 4)])
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


@pytest.mark.parametrize(
    "make",
    [
        lambda: two_tables(False, ("Florida", "Northern"), lambda rest: f"{rest:.4f}"),
        lambda: two_tables(True, ("Florida", "Northern"), lambda rest: f"{rest:.4f}"),
        lambda: two_tables(False, ("Florida", "Northern (%)"), lambda rest: f"{100 * rest:.2f}"),
        two_sheets,
    ],
)
def test_a_table_of_the_other_taxon_is_read_as_what_it_leaves_once_a_person_says_so(
    make: Callable[[], bytes],
) -> None:
    content = make()
    (question,) = [one for one in asked(read(content)) if "northern shares turned round" in one]
    assert "the share is that of northern alleles, and before it that of Florida ones" in question
    drafts = read(content, harmless=["northern shares turned round"]).drafts
    assert sorted((str(draft.code), round(draft.q or 9, 4)) for draft in drafts) == sorted(
        (code, round(q, 4)) for code, q in zip(CODES, Q, strict=True)
    )
    held = read(content, against=["northern shares turned round"]).drafts
    assert {str(draft.code) for draft in held if draft.held} in (set(CODES[6:]), set(CODES[5:]))


def test_whole_numbers_of_the_other_taxon_are_turned_round_by_nobody() -> None:
    with pytest.raises(SheetFault, match="give each table a file of its own"):
        read(two_tables(False, ("Florida", "Northern"), lambda rest: f"{round(76 * rest)}"))


def test_a_column_of_one_word_is_not_offered_as_a_number() -> None:
    make = table(["Vial", "Marker panel", "Florida"], lambda i, c, q, n: [c, "DR38", f"{q:.4f}"])
    (question,) = asked(read(make()))
    assert "n_loci" not in question
    assert '--harmless "Marker panel"' in question
