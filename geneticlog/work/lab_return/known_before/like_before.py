"""Whether the shares of a file are like those that the same lab and panel gave for the same lakes before."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from math import sqrt
from statistics import fmean, variance

import numpy as np
from scipy.special import bdtrc
from sqlalchemy import case, func, select
from sqlalchemy.orm import Session

from geneticlog.rules.lab_return.doubts_of_files.copied_down import is_mixed
from geneticlog.rules.lab_return.doubts_of_files.sorted_parts import mostly_sorted, sorted_parts
from geneticlog.rules.lab_return.doubts_of_files.turned_tables import LEAST_BLOCK, OF_A_BLOCK, parted_best
from geneticlog.rules.lab_return.drafts.draft import Draft
from geneticlog.store.tables import Fish, Result, Shipment, ShipmentPosition, Survey, Vial
from geneticlog.work.result.in_the_numbers import usable

LEAST_BEFORE, LEAST_NOW = 10, 5
ROOM = 0.1  # of q beyond the lowest and highest seen: a lake moves between surveys
FEWEST_INSIDE = 0.5
ERRORS = 5  # standard errors of the difference
FAR = 0.3  # of one: further a mean hardly moves from one survey to the next, but after stocking
HARDLY_ANY = 0.1  # of earlier shares; where more are 0, those of one arm of a lake may all be
RUN_OF_ZEROS = 1e-4  # chance of so many of them one after another anywhere in the file
MANY_ZERO = 1e-6  # chance of so many shares of 0, as often as they were before
BY_CHANCE = 0.001  # that all fish are pure, as often as they were before


@dataclass(frozen=True)
class Before:
    """How many results the lab and panel gave for the lakes of a shipment, the lowest and highest q of them, how
    many are exactly 0 and 1, and their mean and variance; of files that give no mean the last two are None."""

    n: int
    lowest: float
    highest: float
    n_zero: int = 0
    n_one: int = 0
    mean: float | None = None
    variance: float | None = None


def given_before(session: Session, shipment: Shipment) -> Before | None:
    """Return what the shipment's lab and panel gave before for the lakes of its vials; None for too little."""
    lakes = (
        select(Survey.lake_id)
        .join(Fish, Fish.survey_id == Survey.id)
        .join(Vial, Vial.fish_id == Fish.id)
        .join(ShipmentPosition, ShipmentPosition.vial_id == Vial.id)
        .where(ShipmentPosition.shipment_id == shipment.id)
        .distinct()
    )
    same_panel = Shipment.panel_id == shipment.panel_id if shipment.panel_id else Shipment.panel_id.is_(None)
    n, lowest, highest, n_zero, n_one, mean, of_squares = session.execute(
        select(
            func.count(Result.id),
            func.min(Result.q),
            func.max(Result.q),
            func.sum(case((Result.q == 0, 1), else_=0)),
            func.sum(case((Result.q == 1, 1), else_=0)),
            func.avg(Result.q),
            func.avg(Result.q * Result.q),
        )
        .join(Vial, Vial.id == Result.vial_id)
        .join(Fish, Fish.id == Vial.fish_id)
        .join(Survey, Survey.id == Fish.survey_id)
        .join(ShipmentPosition, ShipmentPosition.vial_id == Vial.id)
        .join(Shipment, Shipment.id == ShipmentPosition.shipment_id)
        .where(
            usable(),
            Survey.lake_id.in_(lakes),
            Shipment.lab_id == shipment.lab_id,
            Shipment.id != shipment.id,
            same_panel,
        )
    ).one()
    if n < LEAST_BEFORE or mean is None or of_squares is None:
        return None
    mean = float(mean)
    variance = max(float(of_squares) - mean**2, 0.0) * n / (n - 1)
    return Before(n, lowest or 0.0, highest or 0.0, n_zero or 0, n_one or 0, mean, variance)


def unlike_before(drafts: Sequence[Draft], before: Before) -> str:
    """Return, in words, that most shares of a file are outside what was seen before, or "" where they are not."""
    shares = [draft.q for draft in drafts if draft.q is not None and not draft.held]
    if len(shares) < LEAST_NOW:
        return ""
    if len(set(shares)) == 1 and shares[0] in (0.0, 1.0):
        often = (before.n_zero if shares[0] == 0.0 else before.n_one) + 1
        if (often / (before.n + 2)) ** len(shares) < BY_CHANCE:
            return (
                f"all {len(shares)} shares are {shares[0]:.0f}, as {often - 1} of {before.n} results of this lab and"
                " panel for the same waters were before"
            )
    n_zero, zeros = sum(q == 0 for q in shares), (before.n_zero + 1) / (before.n + 2)
    if n_zero > 1 and bdtrc(n_zero - 1, len(shares), zeros) < MANY_ZERO:
        return (
            f"{n_zero} of {len(shares)} shares are exactly 0, as {before.n_zero} of {before.n} results of this lab and"
            " panel for the same waters were before"
        )
    if run := _run_of_zeros(drafts, zeros):
        return (
            f"{run} shares one after another are exactly 0, as {before.n_zero} of {before.n} results of this lab and"
            " panel for the same waters were before"
        )
    low, high = before.lowest - ROOM, before.highest + ROOM
    outside = sum(not low <= q <= high for q in shares)
    if outside <= FEWEST_INSIDE * len(shares):
        return _far_mean(shares, before) or _far_part(drafts, before)
    return (
        f"{outside} of {len(shares)} shares are outside what this lab and panel gave for the same waters before"
        f" ({before.n} results, {before.lowest:.3g} to {before.highest:.3g})"
    )


def _run_of_zeros(drafts: Sequence[Draft], often: float) -> int:
    """Return how many shares of 0 come one after another, where chance makes no such run; else 0.

    Rows that go by their share have them side by side.
    """
    shares = [draft.q for draft in drafts if draft.q is not None]
    if often > HARDLY_ANY or mostly_sorted(range(len(shares)), sorted_parts(shares)):
        return 0
    longest = max(
        (len(list(run)) for is_zero, run in groupby(shares, lambda q: q == 0) if is_zero), default=0
    )
    return longest if len(shares) * often**longest < RUN_OF_ZEROS else 0


def _far_mean(shares: Sequence[float], before: Before) -> str:
    """That the mean is far from that of the earlier results, by more than chance makes, or the empty text."""
    if before.mean is None or before.variance is None:
        return ""
    mean = fmean(shares)
    error = sqrt(variance(shares) / len(shares) + before.variance / before.n)
    if abs(mean - before.mean) < FAR or abs(mean - before.mean) < ERRORS * error:
        return ""
    return (
        f"the mean share is {mean:.2f}, and it was {before.mean:.2f} in {before.n} results that this lab and panel gave"
        " for the same waters before"
    )


def _far_part(drafts: Sequence[Draft], before: Before) -> str:
    """That from some row on, or up to it, the mean is far from the earlier one, and that of the others is near it."""
    mixed = [draft for draft in drafts if draft.q is not None and not draft.held and is_mixed(draft.q)]
    shares = np.array([draft.q or 0.0 for draft in mixed], dtype=float)
    if before.mean is None or len(mixed) < 2 * LEAST_BLOCK:
        return ""
    if mostly_sorted(range(len(mixed)), sorted_parts(shares.tolist())):
        return ""
    p, first = parted_best(shares)
    means = float(shares[:first].mean()), float(shares[first:].mean())
    near, far = sorted(abs(mean - before.mean) for mean in means)
    if p > OF_A_BLOCK or far < FAR or near > far / 2:
        return ""
    return (
        f"the mean share is {means[0]:.2f} above {mixed[first].written} and {means[1]:.2f} from it on, and it was"
        f" {before.mean:.2f} in {before.n} results that this lab and panel gave for the same waters before"
    )
