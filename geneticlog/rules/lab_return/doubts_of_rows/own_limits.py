"""Shares that lie outside the limits that stand beside them: then one of the three is under a wrong heading."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from statistics import median

from geneticlog.rules.lab_return.cells.cells import Number, ends_of, number
from geneticlog.rules.lab_return.cells.percent_or_fraction import PERCENT
from geneticlog.rules.lab_return.sheet.reading import Column, Reading, Row
from geneticlog.rules.lab_return.words.headings import A_MARGIN, plain, taxa_named
from geneticlog.rules.lab_return.words.roles import ColumnRole
from geneticlog.rules.lengths import LENGTH_NAMES, WEIGHT_NAMES

_LOWER = re.compile(r"\b(lower|low|lcl|lci|ci ?lo|q ?lo|0 ?025|2 ?5)\b")
_UPPER = re.compile(r"\b(upper|high|ucl|uci|ci ?hi|q ?hi|0 ?975|97 ?5)\b")
_OF_ANOTHER = re.compile(rf"\b(het\w*|h|f|{'|'.join(sorted(LENGTH_NAMES | WEIGHT_NAMES))}|call|loci)\b")
_ERROR = re.compile(r"\b(se|s e|sd|s d|std|stdev|std ?err\w*|standard (error|deviation))\b")
_BEHIND = re.compile(r"([\d.,]+ ?%?) ?[(\[]([\d.,]+ ?%?) ?(?:-|–|—|;|to|, ) ?([\d.,]+ ?%?)[)\]]")
_ERROR_BEHIND = re.compile(r"[+-]?[\d.,]+ ?%? ?(?:[(\[](\d*[.,]\d+)[)\]]|(?:±|\+/-|\+-) ?(\d*[.,]?\d+) ?%?)")
FAR, LEAST_WIDE = (
    4.0,
    0.1,
)  # times the median of the margins, and of one: a margin that casts doubt on its share
# rows with a limit, and how many may be doubtful: common practice, no source
LEAST_ROWS, MOST_BEYOND = 6, 0.25
NEARLY_ALL, OF_MEDIAN, WHOLE = 0.8, 3.0, 1.5  # of what a share can be, and of the median width
AT_THE_END = (
    0.05  # of one: how far limits may keep from a share of exactly 0 or 1, as those of a posterior do
)


def outside_its_limits(reading: Reading, rows: Sequence[Row]) -> dict[int, list[str]]:
    """Return, by row, that the share is below its lower or above its upper limit, where the file has one of each.

    A column of one limit alone may be headed for another thing: it says something where most shares keep to it.
    """
    q, lower, upper = reading.column(ColumnRole.Q), _limit(reading, _LOWER), _limit(reading, _UPPER)
    if q is None or (lower is None and upper is None):
        return {}
    if lower is None or upper is None:
        return _beyond_one_limit(reading, rows, q, lower, upper)
    named = f"column {lower.heading} and column {upper.heading}"
    triples = {
        n: (share, low, high)
        for n in reading.data_rows
        if (share := reading.number_in(rows[n - 1], q))
        and (low := reading.number_in(rows[n - 1], lower))
        and (high := reading.number_in(rows[n - 1], upper))
    }
    outside = min((_outside(triples, scale) for scale in (1.0, 100.0, 0.01)), key=len)
    text = "the share is not between {} and {} (" + named + ")"
    return {n: [text.format(*(one.text_in(rows[n - 1]) for one in (lower, upper)))] for n in outside}


def _beyond_one_limit(
    reading: Reading, rows: Sequence[Row], q: Column, lower: Column | None, upper: Column | None
) -> dict[int, list[str]]:
    """The rows whose share is beyond the one limit that stands beside it; none where many are."""
    limit = lower or upper
    pairs = {
        n: (share, end)
        for n in reading.data_rows
        if limit
        and (share := reading.number_in(rows[n - 1], q))
        and (end := reading.number_in(rows[n - 1], limit))
    }
    if limit is None or len(pairs) < LEAST_ROWS:
        return {}
    scale = _scale_of(pairs.values())
    triples = {
        n: (share, end, end._replace(value=math.inf)) if lower else (share, end._replace(value=0.0), end)
        for n, (share, end) in pairs.items()
    }
    outside = _outside(triples, scale)
    if len(outside) > MOST_BEYOND * len(triples):
        return {}
    words = "the share is below its lower limit" if lower else "the share is above its upper limit"
    return {n: [f"{words} {limit.text_in(rows[n - 1])} (column {limit.heading})"] for n in outside}


def _scale_of(pairs: Iterable[tuple[Number, Number]]) -> float:
    """By what limits are to be multiplied to be in the unit of their shares, as far as their sums can tell."""
    shares, limits = (sum(one.value for one in figures) for figures in zip(*pairs, strict=True))
    if not shares or not limits:
        return 1.0
    return min((1.0, 100.0, 0.01), key=lambda scale: abs(math.log(limits * scale / shares)))


def far_wider(reading: Reading, rows: Sequence[Row]) -> dict[int, list[str]]:
    """Return, by row, that the interval of its share is nearly all that a share can be, where no other one is."""
    doubts: dict[int, list[str]] = {}
    for named, ends in _limits_of_rows(reading, rows):
        if len(ends) < LEAST_ROWS:
            continue
        whole = 100.0 if max(high for _, high in ends.values()) > WHOLE else 1.0
        usual = median(high - low for low, high in ends.values())
        far = {
            n: limits
            for n, limits in ends.items()
            if limits[1] - limits[0] > max(NEARLY_ALL * whole, OF_MEDIAN * usual)
        }
        for n, (low, high) in far.items() if len(far) <= max(1, MOST_BEYOND * len(ends)) else ():
            words = f"the interval of {named} goes from {low:g} to {high:g}, so nearly any share is as likely"
            doubts.setdefault(n, []).append(words)
    return doubts


def _limits_of_rows(
    reading: Reading, rows: Sequence[Row]
) -> Iterator[tuple[str, dict[int, tuple[float, float]]]]:
    """The limits of the share of each row, by where they are: in two columns, and in each column of intervals."""
    lower, upper = _limit(reading, _LOWER), _limit(reading, _UPPER)
    if lower and upper:
        of_row = {}
        for n in reading.data_rows:
            low, high = (reading.number_in(rows[n - 1], limit) for limit in (lower, upper))
            if low and high:
                of_row[n] = low.value, high.value
        yield f"columns {lower.named} and {upper.named}", of_row
    for column in reading.columns:
        if column.role or column.why != A_MARGIN or _of_another(column, reading):
            continue
        of_row = {
            n: (ends[0].value, ends[1].value)
            for text, its_rows in reading.rows_by_text(rows, column).items()
            if (ends := ends_of(text, reading.decimal))
            for n in its_rows
        }
        yield f"column {column.named}", of_row


def outside_its_interval(reading: Reading, rows: Sequence[Row]) -> dict[int, list[str]]:
    """Return, by row, that the share is not in the interval of a column of such: 0.14 beside 0.70-0.90."""
    q, doubts = reading.column(ColumnRole.Q), dict[int, list[str]]()
    if q is None:
        return doubts
    for column in reading.columns:
        if column.role or column.why != A_MARGIN or _of_another(column, reading):
            continue
        triples = {
            n: (share, *ends)
            for text, its_rows in reading.rows_by_text(rows, column).items()
            if (ends := ends_of(text, reading.decimal))
            for n in its_rows
            if (share := reading.number_in(rows[n - 1], q))
        }
        for n in min((_outside(triples, scale) for scale in (1.0, 100.0, 0.01)), key=len):
            words = f"the share is not in the interval {column.text_in(rows[n - 1])[:40]!r} of column {column.named}"
            doubts.setdefault(n, []).append(words)
    return doubts


def beyond_any_error(reading: Reading, rows: Sequence[Row]) -> dict[int, list[str]]:
    """Return, by row, that a standard error (or deviation) beside a share is larger than that of any share can be.

    What lies between 0 and 1 with mean q has a standard deviation of at most sqrt(q (1 - q)).

    source
        Bhatia R, Davis C (2000) American Mathematical Monthly 107:353-357.
    """
    q, doubts = reading.column(ColumnRole.Q), dict[int, list[str]]()
    for column in reading.columns if q else ():
        if column.role or not _ERROR.search(plain(column.heading)) or _of_another(column, reading):
            continue
        pairs = {
            n: (share, error)
            for n in reading.data_rows
            if q
            and (share := reading.number_in(rows[n - 1], q))
            and (error := reading.number_in(rows[n - 1], column))
        }
        whole = 100.0 if q and q.unit == "percent" else 1.0
        scales = {whole, 1.0} | ({100.0} if any(error.value > 1 for _, error in pairs.values()) else set())
        beyond = min((_beyond(pairs, whole, scale) for scale in sorted(scales)), key=len)
        condemned = len(pairs) >= LEAST_ROWS and len(beyond) > MOST_BEYOND * len(pairs)
        for n in pairs if condemned else beyond:  # the two are exchanged then, and all rows are doubtful
            text = column.text_in(rows[n - 1])[:40]
            words = f"{text} in column {column.named} is more than the error of such a share can be"
            if n not in beyond:
                words = f"column {column.named} is more than the error of such a share can be in {len(beyond)} rows"
            doubts.setdefault(n, []).append(words)
    return doubts


def _beyond(pairs: Mapping[int, tuple[Number, Number]], whole: float, scale: float) -> list[int]:
    """The rows whose error, in parts of ``scale``, is more than that of a share, in parts of ``whole``, can be."""
    out = []
    for n, (share, error) in pairs.items():
        half = share.half_digit / whole
        near = [min(1.0, max(0.0, share.value / whole + away)) for away in (-half, 0.0, half)]
        most = max(math.sqrt(at * (1 - at)) for at in near)
        if share.value in (0.0, whole):
            most = max(most, AT_THE_END)
        if error.value / scale > most + error.half_digit / scale + 1e-9:
            out.append(n)
    return out


def outside_interval_behind(reading: Reading, rows: Sequence[Row]) -> dict[int, list[str]]:
    """Return, by row, that the share is not in the interval written behind it: 0.14 (0.70-0.90)."""
    q = reading.column(ColumnRole.Q)
    doubts: dict[int, list[str]] = {}
    if q is None:
        return doubts
    for text, its_rows in reading.rows_by_text(rows, q).items():
        parts = _BEHIND.fullmatch(text)
        ends = [number(part, reading.decimal) for part in parts.groups()] if parts else []
        triple = [end for end in ends if end]
        if len(triple) == 3 and _outside({0: (triple[0], triple[1], triple[2])}, 1.0):
            for n in its_rows:
                doubts[n] = [f"the share is not in the interval behind it, {text[:60]!r}"]
    return doubts


def wide_error_behind(reading: Reading, rows: Sequence[Row]) -> dict[int, list[str]]:
    """Return, by row, that the margin behind a share is far wider than those of the others: 0.35 (0.48)."""
    q, margins = reading.column(ColumnRole.Q), dict[int, tuple[str, float]]()
    for text, its_rows in reading.rows_by_text(rows, q).items() if q else ():
        found = _ERROR_BEHIND.fullmatch(text)
        margin = number(found[1] or found[2], reading.decimal) if found else None
        if margin and q:
            share = margin.value / (100 if q.unit == PERCENT or "%" in text else 1)
            margins |= dict.fromkeys(its_rows, (text, share))
    if not margins:
        return {}
    middle = median(share for _, share in margins.values())
    return {
        n: [f"the margin behind it, {text[:40]!r}, is far wider than those of the others"]
        for n, (text, share) in margins.items()
        if share > max(FAR * middle, LEAST_WIDE)
    }


def _limit(reading: Reading, words: re.Pattern[str]) -> Column | None:
    """The one column without a role that is headed as a limit of the share, if there is one and no other."""
    limits = []
    for column in reading.columns:
        heading = plain(column.heading).replace(".", " ")
        if not column.role and words.search(heading) and not _of_another(column, reading):
            limits.append(column)
    return limits[0] if len(limits) == 1 else None


def _of_another(column: Column, reading: Reading) -> bool:
    """Whether a column of limits is of another figure than the first taxon's share."""
    heading = plain(column.heading).replace(".", " ")
    other_taxon = taxa_named(heading, reading.layout.taxa) == (False, True)
    return other_taxon or _OF_ANOTHER.search(heading) is not None


def _outside(triples: dict[int, tuple[Number, Number, Number]], scale: float) -> list[int]:
    """The rows whose share is not between its limits times ``scale``, at the digits written."""
    out = []
    for n, (share, low, high) in triples.items():
        whole = 100.0 if share.value > 1 else 1.0
        near = AT_THE_END * whole if share.value in (0.0, whole) else 0.0
        slack = share.half_digit + max(low.half_digit, high.half_digit) * scale + near + 1e-9
        if not low.value * scale - slack <= share.value <= high.value * scale + slack:
            out.append(n)
    return out
