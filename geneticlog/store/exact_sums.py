"""Sums of proportions that come out the same in any order, on SQLite and on PostgreSQL, and as `math.fsum` gives them.

A sum of floating-point numbers depends on the order the database meets them in, so a mean worked out from it could
differ in its last digit from the same mean worked out from the fish. Each number is split into a whole number and a
rest of few digits, which both add up exactly.
"""

from __future__ import annotations

from sqlalchemy import BigInteger, ColumnElement, Float, SQLColumnExpression, cast, func, literal

# The rest of a number from 2^-k up has 13 + k binary digits behind its point, so 2^(40 - k) such rests add up exactly:
# millions of fish, for the square of an allele proportion at any number of loci scored.
HIGH, LOW = 2.0**40, 2.0**50

_LOW = int(LOW)
_ONE = int(HIGH) * _LOW


def exact_sum(number: SQLColumnExpression[float | None]) -> tuple[ColumnElement[int], ColumnElement[float]]:
    """Return two aggregates for one sum of numbers from 0 to 1; `exact_total` puts them together.

    Multiplying by a power of two and taking away a whole part near to it are exact in floating point.
    """
    times = number * literal(HIGH, Float)
    whole = cast(times, BigInteger)
    return func.sum(whole), func.sum(times - whole)


def exact_total(high: int, low: float) -> int:
    """Return the sum as a whole number of 2^-90; totals of several groups may be added."""
    return int(high) * _LOW + int(low * LOW)


def as_number(total: int) -> float:
    """Return a total as the nearest floating-point number: Python rounds the quotient of two whole numbers once."""
    return total / _ONE
