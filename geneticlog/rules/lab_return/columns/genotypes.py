"""Genotypes by locus: columns of 0/1/2, of 11/12/22, of AA/AB/BB, or two columns a marker, counted into alleles of one
taxon."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence

from geneticlog.rules.lab_return.cells.cells import missing_meaning, number
from geneticlog.rules.lab_return.words.headings import Said, Taxa, plain
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.lab_return.words.roles import ColumnRole

LEAST_MARKERS = 5  # fewer columns of 0, 1 and 2 may be anything
LEAST_FISH_TO_TELL = 5  # fewer that tell whose alleles are counted may do so by chance
NEAR_ENOUGH = 0.0051  # a share printed in whole percent
NO_CALL = frozenset({"-1", "-9", "9", "00", "0/0", "0|0", "0:0", "0 0"})  # common practice, no source
COUNTS, DIGITS, DIGIT_PAIRS = "counts", "digits", "digit_pairs"
BY_ALLELE = (COUNTS, DIGITS, DIGIT_PAIRS)  # codings that need no more than whose the counted allele is
_DIGITS = re.compile(r"([12])[/|: ]?([12])")
_LETTERS = re.compile(r"([ACGTB])[/|: ]?([ACGTB])", re.IGNORECASE)
_ALLELE = re.compile(r"[ACGTB]", re.IGNORECASE)


def find_markers(
    headings: Sequence[str],
    roles: Sequence[str],
    sample: Sequence[Sequence[tuple[str, str]]],
    layout: Layout,
) -> Iterator[tuple[int, Said]]:
    """Yield the columns that hold genotypes: those of the marker table, else those whose values are such."""
    table = {plain(marker) for marker in layout.markers}
    if table:
        for i, heading in enumerate(headings):
            if plain(marker_of(heading, layout.coding)) in table:
                yield i, Said(ColumnRole.MARKER, "the marker table names it")
        return
    columns = []
    for i, role in enumerate(roles):
        if role:
            continue
        texts = [row[i][0].strip() for row in sample if len(row) > i and row[i][1] != "empty"]
        called = [text for text in texts if missing_meaning(text) is None and text not in NO_CALL]
        fits = sum(
            text in ("0", "1", "2") or any(form.fullmatch(text) for form in (_LETTERS, _DIGITS))
            for text in called
        )
        if layout.coding == "pairs":
            fits = sum(_ALLELE.fullmatch(text) is not None for text in called)
        if called and fits >= 0.9 * len(called):
            columns.append(i)
    if len(columns) >= LEAST_MARKERS:
        for i in columns:
            yield i, Said(ColumnRole.MARKER, "its values are genotypes")


def marker_of(heading: str, coding: str) -> str:
    """Return the marker a heading names; of two columns a marker the ending a, b, 1, 2 is left out."""
    text = " ".join(heading.split())
    return (
        re.sub(r"[ _.\-]*\(?(allele ?)?[12ab]\)?$", "", text, flags=re.IGNORECASE)
        if coding in ("pairs", DIGIT_PAIRS)
        else text
    )


def in_pairs(headings: Sequence[str]) -> bool:
    """Whether columns are two for each marker: M01a and M01b, M01.1 and M01.2."""
    markers = Counter(marker_of(heading, DIGIT_PAIRS) for heading in headings)
    return bool(markers) and set(markers.values()) == {2} and len(set(headings)) == len(headings)


def coding_of(texts: Sequence[str]) -> str:
    """Return counts, digits or letters, as the values of genotype columns are written; "" for none of them."""
    called = [text for text in map(str.strip, texts) if missing_meaning(text) is None and text not in NO_CALL]
    if called and all(text in ("0", "1", "2") for text in called):
        return COUNTS
    if called and all(_DIGITS.fullmatch(text) for text in called):
        return DIGITS
    if called and all(_LETTERS.fullmatch(text) for text in called):
        return "letters"
    return ""


def copies(text: str, coding: str) -> int | None:
    """Return how often the counted allele is in a genotype of counts (0, 1, 2) or digits (22, 12, 11); None for none.

    The allele that digits are counted by is 1.
    """
    if coding == COUNTS:
        return int(text) if text in ("0", "1", "2") else None
    pair = _DIGITS.fullmatch(text)
    return pair.groups().count("1") if pair else None


def alleles(texts: Mapping[str, str], layout: Layout) -> dict[str, int | None]:
    """Return the alleles of ``layout.taxa.taxon`` at each marker of one fish; None where there is no call.

    texts
        marker -> what the cell says; for "pairs" the two cells joined by a stroke.
    raises
        ValueError, naming the marker, for a text that is no genotype or an allele that the table does not
        know.
    """
    out: dict[str, int | None] = {}
    for marker, text in texts.items():
        plain_text = text.strip().upper()
        no_call = missing_meaning(plain_text.replace("/", ""), layout.missing) is not None
        if no_call or plain_text in NO_CALL:
            out[marker] = None
        elif layout.coding in BY_ALLELE:
            count = copies(plain_text, layout.coding)
            if count is None:
                wanted = "0, 1 or 2" if layout.coding == COUNTS else "11, 12 or 22"
                raise ValueError(f"{marker} is {text!r} where {wanted} is expected")
            out[marker] = 2 - count if layout.counted == layout.taxa.other_taxon else count
        else:
            letters = _LETTERS.fullmatch(plain_text)
            own = layout.markers.get(marker)
            if letters is None or own is None:
                raise ValueError(f"{marker} is {text!r} where two letters are expected")
            out[marker] = (letters[1] == own.upper()) + (letters[2] == own.upper())
    return out


def ancestry_of(counts: Mapping[str, int | None]) -> tuple[float, float, int] | None:
    """Return q, heterozygosity and the loci scored of one fish, or None where no locus is scored.

    q = sum(x) / (2 L), H = n1 / L (Fitzpatrick 2012, BMC Evolutionary Biology 12:131).
    """
    scored = [count for count in counts.values() if count is not None]
    if not scored:
        return None
    return sum(scored) / (2 * len(scored)), scored.count(1) / len(scored), len(scored)


def taxon_counted(
    rows: Sequence[tuple[Sequence[str], str]], taxa: Taxa, coding: str = COUNTS
) -> tuple[str, str] | None:
    """Return whose alleles genotypes of counts or digits count, and the evidence, from the shares stated beside them.

    A fish with 22 counted alleles at 40 loci has q .275 if the first taxon's alleles are counted and .725 if the
    other's are. None unless at least LEAST_FISH_TO_TELL fish tell the two apart and nine in ten of them say the same.

    rows
        A fish each: what its genotype cells say, and what its q cell says (share or percent, with a point).
    """
    votes: list[bool] = []
    for cells, stated in rows:
        called = [n for text in cells if (n := copies(text.strip(), coding)) is not None]
        figure = number(stated)
        if figure is None or len(called) < LEAST_MARKERS:
            continue
        share = sum(called) / (2 * len(called))
        stated_q = [figure.value / 100] if figure.signed else [figure.value, figure.value / 100]
        direct, mirrored = (any(abs(q - own) <= NEAR_ENOUGH for q in stated_q) for own in (share, 1 - share))
        if direct != mirrored:
            votes.append(direct)
    if len(votes) < LEAST_FISH_TO_TELL:
        return None
    for taxon, n in ((taxa.taxon, sum(votes)), (taxa.other_taxon, len(votes) - sum(votes))):
        if n >= 0.9 * len(votes):
            return (
                taxon,
                f"the share stated beside them is that of {taxon} alleles in {n} of {len(votes)} rows",
            )
    return None
