"""Lines that are harmless by their form and contradict the rows: a mean, a number of samples or of loci, a species."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from statistics import mean, median

from geneticlog.rules.lab_return.cells.cells import Number, number
from geneticlog.rules.lab_return.sheet.reading import Reading, Row, code_in
from geneticlog.rules.lab_return.sheet.words_beside import GOOD, judge
from geneticlog.rules.lab_return.words.headings import plain
from geneticlog.rules.lab_return.words.roles import ColumnRole

LEAST_VALUES = 5
ROOM = 0.02  # of what a share can be, for fish that a lab counts and we do not, or the other way
SUMS: dict[str, Callable[[Sequence[float]], float]] = {
    "mean": mean, "average": mean, "avg": mean, "median": median,
    "min": min, "minimum": min, "max": max, "maximum": max,
}  # fmt: skip
_TOTAL = re.compile(rf"(?:grand |overall |sub ?)?({'|'.join(SUMS)}|n|count)\b")
_SAMPLES = re.compile(r"(?:number of |no of |n )?(?:samples|fish|specimens)(?: received| typed| genotyped)?")
_LOCI = re.compile(
    r"(?:number of |no of |n )?(?:loci|snps|markers)(?: scored| typed| genotyped| called| used)?"
)
_SPECIES = re.compile(r"(?:species|organism|taxon)(?: name)?")
_IN_WORDS = re.compile(
    r"(?<![\d.,-])(\d{1,5}) (?:samples|fish|specimens|individuals|vials|swabs)?\s?(?:were )?(?:successfully )?"
    r"(?:analy[sz]ed|genotyped|typed|tested|scored|reported)\b"
)
_LABEL = re.compile(r"\s*([^:=|]{1,40}?)\s*[:=|]\s*(.+)")


def doubt_in_line(reading: Reading, rows: Sequence[Row], panel_loci: int | None) -> Callable[[str], str]:
    """Return what says, of a line, that it contradicts the rows: in words that follow "which", or the empty text."""
    totals = {text: words for n, text in reading.other_rows if (words := _total(reading, rows, n))}

    def doubt(line: str) -> str:
        if line in totals:
            return totals[line]
        if found := _IN_WORDS.search(line.casefold()):
            return _other_number(reading, rows, int(found[1]))
        label = _LABEL.match(line)
        if label is None:
            return ""
        name, value = plain(label[1]), label[2].strip()
        if _SPECIES.fullmatch(name) and judge(value, reading.layout.taxa, is_class=True) != GOOD:
            return "names another species than the panel's"
        figure = re.match(r"\d{1,6}(?![\d.,])", value)
        if figure and (_SAMPLES.fullmatch(name) or name == "n"):
            return _other_number(reading, rows, int(figure[0]))
        if figure and _LOCI.fullmatch(name):
            return _fewer_loci(reading, rows, int(figure[0]), panel_loci)
        return ""

    return doubt


def _total(reading: Reading, rows: Sequence[Row], n: int) -> str:
    """What a row of means, limits or numbers says otherwise than the values above it, or all of them."""
    q, texts = reading.column(ColumnRole.Q), [text.strip() for text, kind in rows[n - 1] if kind != "empty"]
    kind = _TOTAL.match(plain(texts[0])) if texts else None
    if q is None or kind is None:
        return ""
    if kind[1] in ("n", "count"):
        figures = [one for text in texts[1:] if (one := number(text, reading.decimal))]
        return _other_number(reading, rows, int(figures[0].value), n) if figures else ""
    written = reading.number_in(rows[n - 1], q)
    if written is None:
        return ""
    sets = [values for values in sets_of_shares(reading, rows, n) if values]
    own = [SUMS[kind[1]](values) for values in sets]
    if (
        not own
        or len(sets[0]) < LEAST_VALUES
        or any(is_near(written, one, kind[1], max(sets[0])) for one in own)
    ):
        return ""
    return f"says {kind[1]} {texts[-1] if len(texts) == 2 else written.plain}, and the values come to {own[0]:.4g}"


def is_near(written: Number, own: float, kind: str, largest: float) -> bool:
    whole = 100.0 if largest > 1 else 1.0
    of_extremes = kind.startswith(("min", "max"))
    room = 1e-9 if of_extremes else ROOM * whole
    other = 100.0 if whole > 1 >= written.value else 0.01 if written.value > 1 >= largest else 1.0  # its unit
    return any(
        abs(written.value * scale - own) <= room + written.half_digit * scale for scale in (1.0, other)
    )


def sets_of_shares(reading: Reading, rows: Sequence[Row], n: int | None = None) -> list[list[float]]:
    """The shares that a total may be of: all of the file, and those above it since the last such line; each with and
    without the rows that are no vials of ours."""
    q, vial = reading.column(ColumnRole.Q), reading.column(ColumnRole.VIAL)
    last = max((row for row in reading.data_rows if n is not None and row < n), default=0)
    since = max(
        (row for row, _ in reading.other_rows if row < last), default=0
    )  # lines of totals follow one another
    block = [row for row in reading.data_rows if n is None or since < row < n]
    out = []
    for data in (list(reading.data_rows), block):
        coded = [row for row in data if vial and code_in(vial.text_in(rows[row - 1]))]
        for each in (data, coded):
            figures = [reading.number_in(rows[row - 1], q) for row in each] if q else []
            out.append([one.value for one in figures if one])
    return out


def _other_number(reading: Reading, rows: Sequence[Row], written: int, n: int | None = None) -> str:
    """That a number of samples is not that of the rows, of those with a value, of our vials, or of any part so far."""
    vial = reading.column(ColumnRole.VIAL)
    codes = {code for row in reading.data_rows if vial and (code := code_in(vial.text_in(rows[row - 1])))}
    counts = {len(reading.data_rows), len(codes), *map(len, sets_of_shares(reading, rows, n))}
    if len(reading.data_rows) < LEAST_VALUES or any(abs(written - count) <= 1 for count in counts):
        return ""
    return f"says {written} samples, and there are {len(reading.data_rows)}"


def _fewer_loci(reading: Reading, rows: Sequence[Row], written: int, panel_loci: int | None) -> str:
    """That fewer loci are written than the rows have, or where these do not say, than the panel has."""
    column = reading.column(ColumnRole.N_LOCI)
    scored = [reading.number_in(rows[row - 1], column) for row in reading.data_rows] if column else []
    most = max((one.value for one in scored if one), default=0.0)
    if most > written:
        return f"says {written} loci, and the rows have up to {most:.0f}"
    if not most and panel_loci and written < 0.9 * panel_loci:
        return f"says {written} loci, and the panel has {panel_loci}"
    return ""
