"""Columns that count the loci of each genotype: which become a share, which are refused, and which stay."""

from __future__ import annotations

import pytest

from geneticlog.errors import SheetFault
from geneticlog.rules.lab_return.words.headings import Taxa
from geneticlog.store.sheets import Cell, Sheet
from geneticlog.work.lab_return.sheets.class_counts import with_class_counts

THREE = ["A1|10|8|20", "B1|0|0|38", "C1|38|0|0"]


def sheet(*lines: str) -> Sheet:
    rows = [[Cell(cell, "text" if cell else "empty") for cell in line.split("|")] for line in lines]
    return Sheet("Results", rows)


@pytest.mark.parametrize(
    ("lines", "shares"),
    [
        (["Vial|FF|FN|NN", *THREE], ["28/76", "0/76", "76/76"]),
        (["Vial|Hom FL|Het|Hom NL", *THREE], ["28/76", "0/76", "76/76"]),
        (["Vial|NN|NF|FF", *THREE], ["48/76", "76/76", "0/76"]),  # in their own order
        (["Vial|No. of FF loci|FN loci|NN loci", *THREE], ["28/76", "0/76", "76/76"]),
        (["A title", "Vial|FF|FN|NN", *THREE], ["28/76", "0/76", "76/76"]),
        (["Vial|FF|FN|NN", *THREE[:2]], None),  # two samples
        (["Vial|FF|FN|NN", *THREE, "D1|0.5|0.2|0.3"], None),  # shares of loci, not counts
        (["Vial|FF|FN|NN", *THREE, "D1|failed||"], ["28/76", "0/76", "76/76"]),
        (["Vial|FF|FN|NN|Florida", *(f"{line}|.5" for line in THREE)], None),  # the share is beside them
        (["Vial|FF|FN", *(line.rsplit("|", 1)[0] for line in THREE)], None),
        (["Vial|FF|FN|FN", *THREE], None),
        ([*["-"] * 29, "Vial|FF|FN|NN", *THREE], ["28/76", "0/76", "76/76"]),
        ([*["-"] * 30, "Vial|FF|FN|NN", *THREE], None),
    ],
)
def test_loci_of_each_genotype_are_a_share(lines: list[str], shares: list[str] | None) -> None:
    given = sheet(*lines)
    made = with_class_counts(given, Taxa(), "return.csv")
    if shares is None:
        assert made == given
        return
    top = next(n for n, row in enumerate(given.rows) if row[0].text == "Vial")
    texts = [[cell.text.replace(" ", "") for cell in row] for row in made.rows[top + 1 : top + 4]]
    assert all(any(share in text for text in row) for row, share in zip(texts, shares, strict=True))


@pytest.mark.parametrize("heads", ["AA|AB|BB", "Hom 1|Het|Hom 2"])
def test_genotypes_of_nobody_are_refused(heads: str) -> None:
    with pytest.raises(SheetFault, match="nothing says which allele is Florida's") as fault:
        with_class_counts(sheet(f"Vial|{heads}", *THREE), Taxa(), "return.csv")
    assert "row 1" in str(fault.value)
