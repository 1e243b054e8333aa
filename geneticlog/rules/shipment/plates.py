"""Where vials sit: 96-well plates, boxes and loose vials, filled down the columns or along the rows.

Rows are letters and columns numbers, A01 to H12 on a 96-well plate. ANSI/SLAS 4-2004 places the wells of a
plate; OPC UA LADS, annex D.2, lists them row by row; filling by column is common practice at the bench, no
source. A position is therefore always given by its name, with the order beside it, never by an index alone.
"""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import dataclass

from geneticlog.errors import Refused

LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
BY_COLUMN, BY_ROW = "by_column", "by_row"
ORDERS = {BY_COLUMN: "down the columns", BY_ROW: "along the rows"}


class PositionError(Refused):
    """A position, container or order that there is not."""


@dataclass(frozen=True)
class Container:
    """What vials are packed in: rows are letters, columns numbers; loose vials have neither."""

    name: str
    printed: str
    n_rows: int
    n_columns: int

    @property
    def capacity(self) -> int | None:
        """How many positions one has; None for loose vials, which have no end."""
        return self.n_rows * self.n_columns or None


CONTAINERS = {
    "plate96": Container("plate96", "96-well plate", 8, 12),
    "box9x9": Container("box9x9", "box 9 x 9", 9, 9),
    "box10x10": Container("box10x10", "box 10 x 10", 10, 10),
    "loose": Container("loose", "loose vials", 0, 0),
}


def container(name: str) -> Container:
    """Return a container by its name. Raises PositionError."""
    if name not in CONTAINERS:
        raise PositionError(f"there is no container {name!r}; there are: {', '.join(CONTAINERS)}")
    return CONTAINERS[name]


def well(row: int, column: int) -> str:
    """Return the name of a position from its row and column, both counted from 0: (0, 0) is A01."""
    return f"{LETTERS[row]}{column + 1:02d}"


def place(container_name: str, index: int, order: str = BY_COLUMN) -> str:
    """Return the position of the vial with this index, counted from 0.

    By row ``r = i // columns, c = i % columns``; by column ``c = i // rows, r = i % rows``. Loose vials are
    numbered 1, 2, … in the order of their list.

    raises
        PositionError for an order that there is not or an index outside the container.
    """
    box = container(container_name)
    if order not in ORDERS:
        raise PositionError(f"there is no filling order {order!r}; there are: {', '.join(ORDERS)}")
    if index < 0 or (box.capacity is not None and index >= box.capacity):
        raise PositionError(f"a {box.printed} has {box.capacity} positions; there is no number {index + 1}")
    if box.capacity is None:
        return str(index + 1)
    if order == BY_ROW:
        return well(index // box.n_columns, index % box.n_columns)
    return well(index % box.n_rows, index // box.n_rows)


def parse_position(container_name: str, text: str) -> str:
    """Return a position as it is written here: ``a1`` and ``A01`` are A01. Raises PositionError."""
    box = container(container_name)
    written = text.strip().upper()
    if box.capacity is None:
        if re.fullmatch(r"[0-9]{1,6}", written) and int(written) > 0:
            return str(int(written))
        raise PositionError(f"{text!r} is not a place in a list of loose vials; write 1, 2, …")
    found = re.fullmatch(r"([A-Z])0*([1-9][0-9]?)", written)
    if found:
        row, column = LETTERS.index(found[1]), int(found[2]) - 1
        if row < box.n_rows and column < box.n_columns:
            return well(row, column)
    last = well(box.n_rows - 1, box.n_columns - 1)
    raise PositionError(f"{text!r} is not a position of a {box.printed}; they run from A01 to {last}")


def positions(
    container_name: str, n_vials: int, order: str = BY_COLUMN, kept_free: Collection[str] = ()
) -> list[tuple[int, str]]:
    """Return (container number, position) for a number of vials, in filling order.

    kept_free
        positions that stay empty in every container, for the lab's controls.
    raises
        PositionError when nothing would be left to fill, or for a position that there is not.
    """
    free = {parse_position(container_name, text) for text in kept_free}
    capacity = container(container_name).capacity
    if capacity is None:
        places = (str(number) for number in range(1, n_vials + len(free) + 1))
        return [(1, name) for name in places if name not in free][:n_vials]
    each = [name for name in (place(container_name, i, order) for i in range(capacity)) if name not in free]
    if not each:
        raise PositionError("every position is kept free, so nothing can be packed; keep fewer free")
    return [(1 + i // len(each), each[i % len(each)]) for i in range(n_vials)]


def next_positions(
    container_name: str,
    n_vials: int,
    taken: Collection[tuple[int, str]],
    order: str = BY_COLUMN,
    kept_free: Collection[str] = (),
) -> list[tuple[int, str]]:
    """Return the next free places for a number of further vials, beside those that are taken already."""
    there = set(taken)
    run = positions(container_name, n_vials + len(there), order, kept_free)
    return [at for at in run if at not in there][:n_vials]


def sort_key(container_name: str, container_number: int, position: str, order: str) -> tuple[int, int, int]:
    """Return what sorts positions into filling order."""
    if container(container_name).capacity is None:
        return container_number, int(position), 0
    row, column = LETTERS.index(position[0]), int(position[1:])
    return (container_number, row, column) if order == BY_ROW else (container_number, column, row)
