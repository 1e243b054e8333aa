"""Somebody at the lab plays: which of these vials are second ones or blanks? No way of guessing beats chance.

The guesser has what a lab has: the manifest by a form that asks for everything it may, the places, the codes and the
labels. Each way of guessing names as many vials as there are blind ones; over many shipments of the same vials its hits
are set against the hypergeometric distribution (scipy).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from datetime import timedelta
from typing import Any

import pytest
from office_support import NOW, a_lab, swabbed
from scipy.stats import hypergeom
from sqlalchemy import select
from sqlalchemy.orm import Session
from survey_support import a_survey, codes

from geneticlog.rules.shipment.blind import SeenVial, dealt, gives_away
from geneticlog.rules.stamp import Stamp
from geneticlog.rules.vialcode import printed
from geneticlog.store.tables import PrintRun, Shipment, Vial
from geneticlog.work.label.print_labels import _corner
from geneticlog.work.shipment.manifest import manifest
from geneticlog.work.shipment.pack import Packing, pack, unpack

FORM = """
container = "plate96"
""" + "".join(
    f'[[column]]\nheading = "{holds}"\nholds = "{holds}"\n'
    for holds in (
        *(
            "number",
            "container_number",
            "position",
            "vial",
            "tissue",
            "medium",
            "fill_ml",
            "species",
            "survey",
        ),
        *("surveyed_on", "filled_on", "lake", "lake_code", "county", "owner"),
    )
)
N_SHIPMENTS = 30
CODES = codes(7)
Row = dict[str, Any]
Guess = Callable[[Sequence[Row]], Sequence[float]]  # a number for each row: the higher, the more suspect


def rank(values: Sequence[Any]) -> list[int]:
    order = sorted(range(len(values)), key=lambda i: values[i])
    ranks = [0] * len(values)
    for place, i in enumerate(order):
        ranks[i] = place
    return ranks


def out_of_order(rows: Sequence[Row]) -> list[float]:
    """How far a code stands from where it would stand in ascending order."""
    return [abs(place - i) for i, place in enumerate(rank([row["vial"] for row in rows]))]


def breaks_a_run(rows: Sequence[Row]) -> list[float]:
    """A code that is lower than the one before it, or higher than the one after."""
    codes = [row["vial"] for row in rows]
    return [
        float(i > 0 and code < codes[i - 1]) + float(i + 1 < len(codes) and code > codes[i + 1])
        for i, code in enumerate(codes)
    ]


def rare(*names: str) -> Guess:
    """Rows whose cells are seldom on this manifest, or empty."""

    def guess(rows: Sequence[Row]) -> list[float]:
        counts = Counter(tuple(row[name] for name in names) for row in rows)
        return [
            -counts[tuple(row[name] for name in names)] + 100 * any(row[name] is None for name in names)
            for row in rows
        ]

    return guess


def far_from_the_others(rows: Sequence[Row]) -> list[float]:
    """Codes at either end of the block."""
    ranks = rank([row["vial"] for row in rows])
    middle = (len(ranks) - 1) / 2
    return [abs(place - middle) for place in ranks]


WAYS: dict[str, Guess] = {
    "codes out of ascending order": out_of_order,
    "codes that break a run": breaks_a_run,
    "the highest codes": lambda rows: rank([row["vial"] for row in rows]),
    "the ends of the block of codes": far_from_the_others,
    "the last places": lambda rows: list(range(len(rows))),
    "the first places": lambda rows: [-i for i in range(len(rows))],
    "an odd day": rare("filled_on", "surveyed_on"),
    "an odd fill": rare("tissue", "medium", "fill_ml"),
    "an odd lake": rare("species", "survey", "lake", "lake_code", "county", "owner"),
    "an odd print run": rare("run"),
    "an odd label": rare("corner"),
}


def seen(session: Session, code: str) -> tuple[list[Row], set[str]]:
    """What the lab sees of a shipment, and which vials are blind."""
    made = manifest(session, code)
    assert not made.warnings
    rows = [dict(zip(made.heading, row, strict=True)) for row in made.rows]
    blind = set()
    for row in rows:
        vial = session.scalars(select(Vial).where(Vial.code == row["vial"])).one()
        row["run"] = vial.print_run_id
        row["corner"] = _corner(vial.print_run.survey if vial.print_run else None)
        if vial.role != "sample":
            blind.add(vial.code)
    return rows, blind


def hits(guess: Guess, rows: Sequence[Row], blind: set[str]) -> int:
    suspicion = guess(rows)
    # ties in the order of the printed codes' last characters, which are as good as chance
    named = sorted(range(len(rows)), key=lambda i: (-suspicion[i], rows[i]["vial"][::-1]))[: len(blind)]
    return sum(rows[i]["vial"] in blind for i in named)


def a_box(session: Session) -> tuple[list[Vial], list[Vial]]:
    """20 fish of two days, the 1st, 6th and 11th with a second vial, and two labels left unused in between."""
    survey = a_survey(session, n_vials=30)
    a_lab(session, manifest=FORM)
    vials = swabbed(session, survey, 25)
    for vial in vials[13:]:
        vial.filled_at = NOW + timedelta(days=1)
    blanks = []
    for vial in (vials[7], vials[16]):  # left unused on the boat
        vial.fish, vial.fish_n, vial.standing = None, None, "printed"
        vial.filled_at = vial.tissue = vial.medium = None
        blanks.append(vial)
    pairs = ((0, 1), (5, 6), (10, 11))
    for _, second in pairs:  # a vial is filled once: emptied first
        vials[second].fish, vials[second].fish_n, vials[second].standing = None, None, "printed"
    session.flush()
    for first, second in pairs:
        vials[second].fish, vials[second].fish_n, vials[second].standing = vials[first].fish, 1, "filled"
        vials[second].role = "blind_duplicate"
    session.flush()
    return [vial for vial in vials if vial not in blanks], blanks


def test_no_way_of_guessing_beats_chance(sqlite_session: Session) -> None:
    session = sqlite_session
    vials, blanks = a_box(session)
    score: Counter[str] = Counter()
    n = len(vials) + len(blanks)
    for number in range(N_SHIPMENTS):
        code = f"S{number}"
        packed = pack(
            session, code, [*vials, *(blanks if number else [])],
            Packing(blanks=[] if number else blanks, shuffle=True, seed=f"{number}"),
            lab="QUILL", stamp=Stamp(NOW, "Ada"),
        )  # fmt: skip
        assert packed.gives_away == ()
        rows, blind = seen(session, code)
        assert len(rows) == n
        assert len(blind) == 5
        for name, guess in WAYS.items():
            score[name] += hits(guess, rows, blind)
        unpack(session, code, [*vials, *blanks], stamp=Stamp(NOW, "Ada"), why="dealt again")
    # names of ways that depend on the codes alone guess the same vials each time: one draw, not thirty
    by_code = {"the highest codes", "the ends of the block of codes"}
    for name in WAYS:
        draws = 1 if name in by_code else N_SHIPMENTS
        most = draws * 5 * 5 / n + 3.3 * (draws * hypergeom(n, 5, 5).var()) ** 0.5
        assert score[name] * draws / N_SHIPMENTS <= most, (name, score[name], most)


def test_the_guesser_finds_what_is_not_hidden(sqlite_session: Session) -> None:
    """Places in the order of the codes, blanks at the end and a label of another run: the guesser is no fool."""
    session = sqlite_session
    vials, blanks = a_box(session)
    other = PrintRun(
        uid="other", number=9, office="BG", n_labels=1, stock="letter-wrap", printed_at=NOW, printed_by="Ada"
    )
    session.add(other)
    blanks[1].print_run = other
    ordered = sorted(vials, key=lambda vial: (vial.role != "sample", vial.code))
    packed = pack(session, "S", ordered, Packing(blanks=blanks), lab="QUILL", stamp=Stamp(NOW, "Ada"))
    assert len(packed.gives_away) == 2  # the print run, and the places
    made = manifest(session, "S")
    assert len([told for told in made.warnings if "print run" in told]) == 1
    rows = [dict(zip(made.heading, row, strict=True)) for row in made.rows]
    for row in rows:
        vial = session.scalars(select(Vial).where(Vial.code == row["vial"])).one()
        row["run"] = vial.print_run_id
    blind = {vial.code for vial in [*vials, *blanks] if vial.role != "sample"}
    assert hits(WAYS["the last places"], rows, blind) == 5
    assert hits(WAYS["an odd print run"], rows, blind) >= 1
    assert hits(WAYS["codes out of ascending order"], rows, blind) >= 4


def test_vials_added_later_are_dealt_with_all_the_others(session: Session) -> None:
    vials, blanks = a_box(session)
    first = pack(
        session,
        "S",
        vials,
        Packing(shuffle=True, seed="a", keep_free=["A01"]),
        lab="QUILL",
        stamp=Stamp(NOW, "Ada"),
    )
    assert first.shuffled
    assert not first.dealt_anew
    shipment = session.scalars(select(Shipment)).one()
    assert shipment.shuffle_seed == "a"
    before = {at.vial.code: at.position for at in shipment.positions}
    added = pack(
        session, "S", [], Packing(blanks=blanks, add=True, seed="b"), lab="QUILL", stamp=Stamp(NOW, "Ada")
    )
    assert added.dealt_anew
    after = {at.vial.code: at.position for at in shipment.positions}
    assert len(set(after.values())) == len(after) == len(vials) + 2
    assert "A01" not in after.values()
    assert sum(after[code] != position for code, position in before.items()) > len(before) / 2
    places = [at.vial.role for at in sorted(shipment.positions, key=lambda at: at.position)]
    assert places[-2:] != ["blank", "blank"]


@pytest.mark.parametrize(
    ("blind", "told"),
    [
        (SeenVial(CODES[3], 1, 1, True), []),
        (SeenVial(CODES[6], 1, 1, True), ["above every sample's code"]),
        (SeenVial(CODES[0], 1, 1, True), ["below every sample's code"]),
        (SeenVial(CODES[3], 2, 1, True), ["another print run"]),
        (SeenVial(CODES[3], 1, 5, True), ["before or after every sample"]),
    ],
)
def test_what_gives_a_blind_vial_away(blind: SeenVial, told: list[str]) -> None:
    samples = [SeenVial(CODES[k], 1, place, False) for k, place in ((2, 0), (4, 2), (5, 3))]
    found = gives_away([*samples, blind], in_order_of_scan=True)
    assert len(found) == len(told)
    assert all(words in one for words, one in zip(told, found, strict=True))
    assert all(printed(blind.code) in one for one in found)


def test_every_order_comes_up_and_a_seed_gives_the_same_order() -> None:
    orders = Counter(tuple(dealt(3, str(seed))) for seed in range(600))
    assert len(orders) == 6
    assert min(orders.values()) > 60  # 100 expected of each
    assert dealt(40, "x") == dealt(40, "x")
