"""What the values of a column look like."""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Callable, Sequence

from geneticlog.rules.lab_return.cells.cells import ends_of, number
from geneticlog.rules.lab_return.sheet.reading import Row, code_in, is_code


def only_words(sample: Sequence[Row], i: int) -> bool:
    return bool(filled_cells(sample, i)) and not any_number(sample, i)


def filled_cells(sample: Sequence[Row], i: int) -> list[tuple[str, str]]:
    return [row[i] for row in sample if len(row) > i and row[i][1] != "empty"]


def any_number(sample: Sequence[Row], i: int) -> bool:
    return any(number(text) or number(text, ",") for text, _ in filled_cells(sample, i))


def words_again(sample: Sequence[Row], i: int) -> bool:
    """Whether a column holds no names of samples: few rows have any, or some occur again and most have no digit."""
    texts = [text.strip() for text, _ in filled_cells(sample, i)]
    few = 0 < 2 * len(texts) <= len(sample)
    with_digits = sum(re.search(r"\d", text) is not None for text in texts)
    return few or (len(set(texts)) < len(texts) and 2 * with_digits < len(texts))


MOST_SHOWN = 5  # distinct values in a question
LEAST_COMMON = 0.6  # of the rows, with one value, for the others to stand out


def values_in_words(rows: Sequence[Row], i: int) -> str:
    """Return what a column says, for a question: its distinct values with their rows where they are few."""
    texts = [text.strip() for text, _ in filled_cells(rows, i)]
    distinct = Counter(texts)
    if 1 < len(distinct) <= MOST_SHOWN or (len(distinct) > 1 and common_value(rows, i)):
        shown = [
            f"{text[:30]!r}{f' in {n} rows' if n > 1 else ''}" for text, n in distinct.most_common(MOST_SHOWN)
        ]
        more = [f"{len(distinct) - MOST_SHOWN} more"] if len(distinct) > MOST_SHOWN else []
        return f"values {', '.join([*shown, *more])}"
    return (
        f"first value {texts[0][:30]!r}"
        if len(distinct) != 1 or len(texts) < 2
        else f"always {texts[0][:30]!r}"
    )


def common_value(rows: Sequence[Row], i: int) -> str:
    """Return the text that most rows of a column have, where others stand out beside it, or the empty text."""
    texts = [text.strip() for text, _ in filled_cells(rows, i)]
    (common, n), *others = Counter(texts).most_common(2) or [("", 0)]
    return common if others and LEAST_COMMON * len(texts) <= n else ""


def is_interval(text: str) -> bool:
    return ends_of(text) is not None or ends_of(text, ",") is not None


def most_with(says: Callable[[str], bool], sample: Sequence[Row], i: int) -> bool:
    """Whether half of a column's texts are of a kind, those that hold no digit left out."""
    texts = [text for text, _ in filled_cells(sample, i) if any(map(str.isdigit, text))]
    return bool(texts) and 2 * sum(map(says, texts)) > len(texts)


def mostly_numbers(sample: Sequence[Row], i: int) -> bool:
    cells = filled_cells(sample, i)
    return bool(cells) and 2 * sum(bool(number(text) or number(text, ",")) for text, _ in cells) > len(cells)


NO_VALUE = ("na", "n/a", "nd", "n.d.", "-", "--", "null", "none", ".")  # that say nothing of a sample


def codes_in(sample: Sequence[Row], i: int) -> list[str]:
    return [code_in(row[i][0]) for row in sample if len(row) > i and is_code(row[i][0])]


def make_a_whole(rows: Sequence[Row], *columns: int) -> bool:
    """Whether columns add up to 1, or to 100, in nearly every row that has them, or to one whole number in all."""
    numbers = [
        [number(row[i][0].replace(",", ".", 1)) for i in columns] for row in rows if len(row) > max(columns)
    ]
    sums = [math.fsum(one.value for one in each if one) for each in numbers if all(each)]
    if len(sums) > 2 and len(set(sums)) == 1 and sums[0] > 1 and sums[0].is_integer():
        return True  # counts of all alleles
    return len(sums) > 2 and any(
        10 * sum(abs(total - whole) <= 0.011 * whole for total in sums) >= 9 * len(sums) for whole in (1, 100)
    )


def same_numbers(sample: Sequence[Row], a: int, b: int) -> bool:
    """Whether two columns say the same in every row, one of them perhaps in percent."""
    pairs = [
        (row[a], row[b])
        for row in sample
        if len(row) > max(a, b) and (row[a][1] != "empty" or row[b][1] != "empty")
    ]
    scales: set[float] = set()
    for (left, _), (right, _) in pairs:
        x, y = (number(text.replace(",", ".", 1)) for text in (left, right))
        if x is None or y is None:
            if left.strip() != right.strip():
                return False
            continue
        if x.value == y.value == 0:
            continue
        fitting = {
            scale for scale in (1, 100, 0.01)
            if abs(x.value - y.value * scale) <= x.half_digit + y.half_digit * scale + 1e-9
        }  # fmt: skip
        scales = scales & fitting if scales else fitting
        if not scales:
            return False
    return bool(pairs)


_TWO_PARTS = re.compile(r"(\d+(?:[.,]\d+)?) ?%? ?[/:|;] ?(\d+(?:[.,]\d+)?) ?%?")
LEAST_PARTED = 3


def parts_of_one_whole(texts: Sequence[str]) -> str:
    """Return the first of a column's texts where each is two parts of one whole, as 40/60 beside 24/76; else "".

    A count out of a number has the same second part where all was scored; two shares have the same sum.
    """
    parted = [match for text in texts if (match := _TWO_PARTS.fullmatch(text.strip()))]
    parts = [tuple(float(part.replace(",", ".")) for part in match.groups()) for match in parted]
    if len(parts) < LEAST_PARTED or len({second for _, second in parts}) < LEAST_PARTED:
        return ""
    sums = [first + second for first, second in parts]
    return parted[0][0] if max(sums) - min(sums) <= 0.011 * max(sums) else ""
