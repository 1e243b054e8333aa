"""Three columns with the loci of each genotype, as FF, FN and NN: together they are a share of alleles."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from geneticlog.errors import SheetFault
from geneticlog.rules.lab_return.words.headings import Taxa, plain, taxa_named
from geneticlog.rules.lab_return.words.layout import column_letter
from geneticlog.rules.sentences import listed
from geneticlog.store.sheets import Cell, Sheet

SEARCHED = 30  # rows in which such a heading is looked for
FEWEST = 3  # samples, to see that whole numbers are counts of loci
_BESIDE = re.compile(r"\b(?:n|no|number|of|loci|locus|count|counts|snps?|markers?|genotypes?)\b")
_TWO, _ONE, _NONE, _OTHER = "a two", "b one", "c none", "d one of the two"  # in the order of the columns
_NAMED, _UNNAMED = (_TWO, _ONE, _NONE), (_OTHER, _ONE, _OTHER)


def with_class_counts(sheet: Sheet, taxa: Taxa, file: str) -> Sheet:
    """Return a sheet that counts the loci of the three genotypes of each sample with the share that they make.

    The three columns become the alleles of the taxon out of all alleles, the heterozygous loci out of all, and all
    loci. A sheet that names a share of the taxon beside them is returned as it is.

    raises
        SheetFault where nothing says which allele is whose.
    """
    for top, row in enumerate(sheet.rows[:SEARCHED]):
        classes = [_class_of(cell.text, taxa) for cell in row]
        if sorted(filter(None, classes)) not in (sorted(_NAMED), sorted(_UNNAMED)):
            continue
        places = sorted((i for i, one in enumerate(classes) if one), key=lambda i: classes[i])
        counted = _counted(sheet.rows[top + 1 :], places)
        others = [cell.text for i, cell in enumerate(row) if i not in places]
        if len(counted) < FEWEST or any(taxa_named(plain(text), taxa)[0] for text in others):
            return sheet
        names = listed([row[i].text.strip() for i in places])
        if _OTHER in classes:
            raise SheetFault(
                f"columns {names} count the loci of three genotypes, and nothing says which allele is {taxa.taxon}'s",
                file=file,
                sheet=sheet.name or None,
                row=top + 1,
                way_out=f"ask the lab for the share of {taxa.taxon} alleles",
            )
        return _with_shares(sheet, top, places, counted, names, taxa)
    return sheet


def _class_of(heading: str, taxa: Taxa) -> str:
    """Return which genotype a heading counts the loci of: FF, Hom FL or "Homozygous Florida loci"; "" for none."""
    words = plain(heading)
    if re.search(r"\bhet(?:ero(?:zyg(?!osity)\w*)?)?\b", words):
        return _ONE
    if re.search(r"\bhomo?(?:zyg\w*)?\b", words):
        first, other = taxa_named(words, taxa)
        return _TWO if first and not other else _NONE if other and not first else _OTHER
    letters = re.sub(r"[^a-z]", "", _BESIDE.sub(" ", words))
    a, b = taxa.taxon[:1].casefold(), taxa.other_taxon[:1].casefold()
    named = {a + a: _TWO, a + b: _ONE, b + a: _ONE, b + b: _NONE}
    return named.get(letters) or {"aa": _OTHER, "ab": _ONE, "bb": _OTHER}.get(letters, "")


def _counted(rows: Sequence[Sequence[Cell]], places: Sequence[int]) -> dict[int, tuple[int, int, int]]:
    """Return, by row below the heading, the loci of each class; nothing where a number is not whole."""
    out = {}
    for i, row in enumerate(rows):
        texts = [row[place].text.strip() if len(row) > place else "" for place in places]
        if all(text.isdecimal() for text in texts):
            two, one, none = map(int, texts)
            out[i] = (two, one, none)
        elif any(re.fullmatch(r"-?\d*[.,]\d+", text) for text in texts):
            return {}
    return out


def _with_shares(
    sheet: Sheet,
    top: int,
    places: Sequence[int],
    counted: dict[int, tuple[int, int, int]],
    names: str,
    taxa: Taxa,
) -> Sheet:
    rows = [list(row) for row in sheet.rows]
    headings = (f"{taxa.taxon} alleles", "Heterozygous loci", "Loci scored")
    for place, heading in zip(places, headings, strict=True):
        rows[top][place] = Cell(heading, "text")
    for i, (two, one, none) in counted.items():
        n = two + one + none
        made = (f"{2 * two + one}/{2 * n}", f"{one}/{n}", str(n)) if n else ("", "", "0")
        for place, text in zip(places, made, strict=True):
            rows[top + 1 + i][place] = Cell(text, "text" if text else "empty")
    for i in range(top + 1, len(rows)):
        if i - top - 1 not in counted:
            _as_written(rows[i], places)
    where = f"columns {listed([column_letter(place + 1) for place in places])}"
    why = f"{names} count the loci of each genotype, and are read as a share of alleles, the heterozygous loci and all"
    return replace(sheet, rows=rows, put_together=(*sheet.put_together, (where, why)))


def _as_written(row: list[Cell], places: Sequence[int]) -> None:
    """Put counts that make no whole into one cell, so that none of them is read as the share."""
    texts = [row[place].text.strip() if len(row) > place else "" for place in places]
    if any(any(map(str.isdigit, text)) for text in texts) and sum(map(bool, texts)) > 1:
        for place, text in zip(places, (" and ".join(text or "?" for text in texts), "", ""), strict=True):
            if len(row) > place:
                row[place] = Cell(text, "text" if text else "empty")
