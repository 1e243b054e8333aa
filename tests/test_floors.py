"""The house has four floors, and arrows point only downward."""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

import geneticlog

PACKAGE = Path(geneticlog.__file__).parent
FLOORS = ["rules", "store", "work", "faces"]  # ground first
# What the ground floor may import beside the standard library.
GROUND = {"numpy", "scipy", "stdnum", "geneticlog"}


def imports(file: Path) -> Iterator[str]:
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{file}: relative import"
            yield node.module or ""
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


@pytest.mark.parametrize("floor", FLOORS)
def test_no_floor_reaches_up(floor: str) -> None:
    above = FLOORS[FLOORS.index(floor) + 1 :]
    files = list((PACKAGE / floor).rglob("*.py"))
    assert files
    for file in files:
        for name in imports(file):
            for up in above:
                assert not name.startswith(f"geneticlog.{up}"), f"{file} imports {name}"


def test_the_foundation_imports_nothing_of_ours_but_itself() -> None:
    for file in (PACKAGE / "errors.py", PACKAGE / "settings.py"):
        if file.exists():
            for name in imports(file):
                assert not any(name.startswith(f"geneticlog.{floor}") for floor in FLOORS), name


def test_the_ground_floor_needs_only_the_standard_library_numpy_and_scipy() -> None:
    for file in (PACKAGE / "rules").rglob("*.py"):
        for name in imports(file):
            top = name.split(".")[0]
            assert top in GROUND or top in sys.stdlib_module_names, f"{file} imports {name}"


@pytest.mark.parametrize("floor", ["rules", "store", "work"])
def test_no_click_below_the_faces(floor: str) -> None:
    for file in (PACKAGE / floor).rglob("*.py"):
        for name in imports(file):
            top = name.split(".")[0]
            assert top not in {"click", "rich", "jinja2", "typst", "matplotlib"}, f"{file} imports {name}"


# modules of the contract that keep their place at the top of the ground floor, and the room they belong to
AT_THE_TOP = {
    "intervals": "statistics",
    "strata": "statistics",
    "trend": "statistics",
    "sampling": "statistics",
    "ancestry": "genetics",
}


def room_of(parts: tuple[str, ...]) -> str:
    """The room of a module given by the parts of its name below its floor: its folder, or itself where it has none."""
    return parts[0] if len(parts) > 1 else AT_THE_TOP.get(parts[0], parts[0])


def rooms_used(floor: str) -> dict[str, dict[str, str]]:
    """Room -> the rooms of the same floor that it imports, each with one line that does."""
    found: dict[str, dict[str, str]] = {}
    here = PACKAGE / floor
    for file in here.rglob("*.py"):
        own = room_of(file.relative_to(here).with_suffix("").parts)
        for name in imports(file):
            parts = tuple(name.split(".")[2:])
            module = here.joinpath(*parts)
            if name.startswith(f"geneticlog.{floor}.") and module.with_suffix(".py").exists():
                found.setdefault(own, {}).setdefault(room_of(parts), f"{file.relative_to(PACKAGE)}: {name}")
    return found


@pytest.mark.parametrize("floor", ["rules", "work", "faces"])
def test_no_two_rooms_of_a_floor_import_each_other(floor: str) -> None:
    used = rooms_used(floor)
    assert used
    mutual = [
        f"{used[one][other]} and {used[other][one]}"
        for one in used
        for other in used[one]
        if one < other and one in used.get(other, {})
    ]
    assert not mutual, "\n".join(mutual)
