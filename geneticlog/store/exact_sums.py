"""Sums of proportions that come out the same in any order, on SQLite and on PostgreSQL, and as `math.fsum` gives them.

A sum of floating-point numbers depends on the order the database meets them in, so a mean worked out from it could
differ in its last digit from the same mean worked out from the fish. Each number is split into two whole numbers,
which add up exactly.
"""

from __future__ import annotations

from sqlalchemy import BigInteger, ColumnElement, Float, SQLColumnExpression, cast, func, literal

HIGH, LOW = (
    2.0**30,
    2.0**40,
)  # what is lost lies below 2^-70 of a number from 0 to 1: below the last digit of a double


_LOW = int(LOW)
_ONE = int(HIGH) * _LOW


def exact_sum(number: SQLColumnExpression[float | None]) -> tuple[ColumnElement[int], ColumnElement[int]]:
    """Return two aggregates for one sum of numbers from 0 to 1; `exact_total` puts them together.

    Multiplying by a power of two and taking away a whole part near to it are exact in floating point.
    """
    times = number * literal(HIGH, Float)
    whole = cast(times, BigInteger)
    rest = cast((times - whole) * literal(LOW, Float), BigInteger)
    return func.sum(whole), func.sum(rest)


def exact_total(high: int, low: int) -> int:
    """Return the sum as a whole number of 2^-70; totals of several groups may be added."""
    return int(high) * _LOW + int(low)


def as_number(total: int) -> float:
    """Return a total as the nearest floating-point number: Python rounds the quotient of two whole numbers once."""
    return total / _ONE
