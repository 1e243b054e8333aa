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
