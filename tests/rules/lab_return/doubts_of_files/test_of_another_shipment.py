"""Values of one shipment beside the codes of another, and lakes that are only alike."""

from __future__ import annotations

import random
from collections.abc import Sequence

import pytest

from geneticlog.rules.lab_return.doubts_of_files.of_another_shipment import Given, of_another_shipment
from geneticlog.rules.lab_return.drafts.draft import Draft

Row = tuple[float, int | None]  # share and loci scored


def lake(rng: random.Random, n: int = 40, digits: int = 4) -> list[Row]:
    middle = rng.uniform(0.15, 0.85)
    rows: list[Row] = []
    for _ in range(n):
        p, loci = rng.choice([*[middle] * 6, 0.0, min(middle + 0.1, 1.0)]), rng.randint(35, 38)
        rows.append((round(sum(rng.random() < p for _ in range(2 * loci)) / (2 * loci), digits), loci))
    return rows


def drafts_of(rows: Sequence[Row]) -> list[Draft]:
    return [Draft(n, "", f"vial {n}", q=q, n_loci=loci) for n, (q, loci) in enumerate(rows, 2)]


def given(rows: Sequence[Row], first_fish: int = 1000) -> list[Given]:
    return [Given(first_fish + i, q, None, loci, i) for i, (q, loci) in enumerate(rows)]


def shares(rows: Sequence[Row]) -> list[Row]:
    return [(q, None) for q, _ in rows]


OLD = lake(random.Random(1))
NEW = lake(random.Random(2))
PURE: list[Row] = [(0.0, 38), (1.0, 38), (0.5, 38), (0.013, 38)] * 8
SHUFFLED = random.Random(3).sample(OLD, len(OLD))
SAME = "vials have the values of shipment SH-2 in the same order"
OPPOSITE = "vials have the values of shipment SH-2 in the opposite order"
NO_ORDER = "vials have the values of shipment SH-2 in another order"


@pytest.mark.parametrize(
    ("here", "there", "seen", "of"),
    [
        (OLD, OLD, SAME, range(40)),
        ([*OLD[:20], *NEW[20:]], OLD, SAME, range(20)),
        ([*NEW[:25], *OLD[:15]], OLD, SAME, range(25, 40)),
        (shares([*NEW[:28], *OLD[8:20]]), shares(OLD), SAME, range(28, 40)),
        ([(round(q, 2), loci) for q, loci in OLD[:24]], shares(OLD), SAME, range(24)),  # rounded when it was pasted
        (OLD[::-1], OLD, OPPOSITE, range(40)),
        (SHUFFLED, OLD, NO_ORDER, range(40)),
        (shares(SHUFFLED), shares(OLD), NO_ORDER, range(40)),
        (SHUFFLED[:30], OLD, NO_ORDER, range(30)),
        (OLD[:4], OLD, "", range(0)),
        (NEW, OLD, "", range(0)),
        (sorted(NEW), sorted(OLD), "", range(0)),
        (PURE, PURE, "", range(0)),
    ],
)  # fmt: skip
def test_values_of_another_shipment(here: list[Row], there: list[Row], seen: str, of: range) -> None:
    others = {"SH-2": given(there), "SH-3": given(lake(random.Random(4)), 5000)}
    found = list(of_another_shipment(drafts_of(here), others, {}, {}))
    assert (found[0][0] if found else "") == seen
    # at the edges a row that is alike by chance, or a pure one, may be held with the others
    held = {i for _, at in found for i in at}
    assert not {i for i in of if 0.05 < here[i][0] < 0.95 and here[i][0] != 0.5} - held
    assert all(i in held for i in of if 1 < i - of.start < len(of) - 2)
    assert len(held) <= len(of) + 3


def test_lists_of_one_order_are_compared_as_we_listed_the_vials() -> None:
    by_code = random.Random(5).sample(range(40), 40)
    here = drafts_of([OLD[i] if i < 20 else NEW[i] for i in by_code])
    places = {draft.code or "": i for draft, i in zip(here, by_code, strict=True)}
    (how, at), *_ = of_another_shipment(here, {"SH-2": given(OLD)}, places, {})
    assert how == SAME
    assert {by_code[i] for i in at} <= set(range(21))


def test_another_vial_of_the_same_fish_is_meant_to_be_alike() -> None:
    here = drafts_of(OLD)
    fish = {draft.row: 1000 + i for i, draft in enumerate(here)}
    assert not list(of_another_shipment(here, {"SH-2": given(OLD)}, {}, fish))


def test_lakes_that_are_alike_are_not_taken_for_one_another() -> None:
    rng = random.Random(20260512)
    for n in (20, 40, 90):
        for digits in (2, 3, 4):
            for sort in (False, True):
                made = [lake(rng, n, digits) for _ in range(6)]
                made = [sorted(rows) for rows in made] if sort else made
                if rng.random() < 0.5:
                    made = [shares(rows) for rows in made]
                first, *others = made
                elsewhere = {f"SH-{k}": given(rows, 1000 * k) for k, rows in enumerate(others, 2)}
                assert not list(of_another_shipment(drafts_of(first), elsewhere, {}, {}))
