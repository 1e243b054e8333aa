"""The house has four floors, and arrows point only downward."""

from __future__ import annotations

import ast
import re
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

import geneticlog

PACKAGE = Path(geneticlog.__file__).parent


def own_files() -> list[Path]:
    """Return every file of the four floors. An installed package also carries the migrations, which are SQL by date and
    have no length to keep to; a checkout keeps them beside it, and both must be judged alike.
    """
    return [file for file in PACKAGE.rglob("*.py") if file.relative_to(PACKAGE).parts[0] != "migrations"]


FLOORS = ["rules", "store", "work", "faces"]  # ground first
# What the ground floor may import beside the standard library.
GROUND = {"numpy", "scipy", "stdnum", "geneticlog"}


@cache
def imports(file: Path) -> tuple[str, ...]:
    """Every module and name that a file imports; read once, for many tests ask."""
    return tuple(imported(file))


def imported(file: Path) -> Iterator[str]:
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
    for file in (PACKAGE / "errors.py", PACKAGE / "settings.py", PACKAGE / "toml_text.py"):
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


@pytest.mark.parametrize("room", ["rules/lab_return", "work/lab_return"])
def test_no_two_folders_of_a_large_room_import_each_other(room: str) -> None:
    """A room of eighty rules has folders of its own; a rule is in one of them, and they build on one another."""
    used: dict[str, set[str]] = {}
    for file in (PACKAGE / room).rglob("*.py"):
        own = file.relative_to(PACKAGE).parent.as_posix()
        for name in imports(file):
            other = "/".join(name.split(".")[1:-1])
            if other != own and other.startswith(room) and (PACKAGE / other).is_dir():
                used.setdefault(own, set()).add(other)
    assert len(used) > 1
    assert not [(one, other) for one in used for other in used[one] if one in used.get(other, ())]


# --- states are said by their enums ---


# A fork reads a file in the process that called it, so the room where files are read knows its readers.
READS_APART = {f"geneticlog.store.{name}" for name in ("carry_file", "reading_room", "sheets")}


def run_imports(node: ast.AST) -> Iterator[ast.AST]:
    """Return every node but what only a checker of types runs."""
    for child in ast.iter_child_nodes(node):
        if isinstance(child, ast.If) and ast.unparse(child.test) == "TYPE_CHECKING":
            continue
        yield child
        yield from run_imports(child)


def module_imports() -> dict[str, set[str]]:
    """Return the modules of ours that each module imports, at its top or in a function."""
    name_of = {
        file: ".".join(("geneticlog", *file.relative_to(PACKAGE).with_suffix("").parts)).removesuffix(
            ".__init__"
        )
        for file in own_files()
    }
    ours = set(name_of.values())
    used: dict[str, set[str]] = {}
    for file, module in name_of.items():
        names: set[str] = set()
        for node in run_imports(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                names |= {alias.name for alias in node.names}
            elif isinstance(node, ast.ImportFrom):
                names |= {f"{node.module}.{alias.name}" for alias in node.names} | {node.module or ""}
        used[module] = (names & ours) - {module}
    return used


def test_no_modules_import_each_other_in_a_circle() -> None:
    left = module_imports()
    for module in READS_APART:
        left[module] -= READS_APART
    while free := {module for module, used in left.items() if not used & set(left)}:
        left = {module: used for module, used in left.items() if module not in free}
    circles = {module: sorted(used & set(left)) for module, used in left.items()}
    # what only leads to a circle is not in it
    while ends := {module for module in circles if not any(module in used for used in circles.values())}:
        circles = {module: used for module, used in circles.items() if module not in ends}
    assert not circles


def states() -> dict[str, set[str]]:
    """Name of a state -> its words, from the columns of the tables; what a card or row came to; a lab's columns."""
    from geneticlog.rules.boat.class_standing import ClassStanding
    from geneticlog.rules.boat.doing import Doing
    from geneticlog.rules.lab_return.words.roles import ColumnRole
    from geneticlog.rules.result.result_states import Verdict
    from geneticlog.store.columns import Word
    from geneticlog.store.tables import Table

    words: dict[str, set[str]] = {
        "doing": set(Doing),
        "verdict": set(Verdict),
        "standing": set(ClassStanding),
    }
    for table in Table.metadata.tables.values():
        for column in table.columns:
            if isinstance(column.type, Word):
                words.setdefault(column.name, set()).update(column.type.states)
    words["role"] |= set(ColumnRole) - {""}
    return words | {"action": words["decision"], "roles": words["role"]}


def name_of(node: ast.expr | None) -> str | None:
    """What an expression is named by: x.standing, standing, row["standing"] and row.get("standing") alike."""
    if isinstance(node, ast.Call):
        node = node.args[0] if node.args and getattr(node.func, "attr", "") == "get" else None
    if isinstance(node, ast.Subscript):
        node = node.slice
    if isinstance(node, ast.Constant):
        return str(node.value)
    return getattr(node, "attr", None) or getattr(node, "id", None)


# what the first argument of these calls is
FIRST = {
    "Noted": "kind",
    "Found": "kind",
    "note": "kind",
    "waits_for": "kind",
    "Said": "role",
    "column": "role",
}


def pairs(tree: ast.AST) -> Iterator[tuple[str | None, ast.expr]]:
    """Every name with what it is compared to, set to, or given as."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Compare):
            sides = [node.left, *node.comparators]
            yield from ((name_of(one), other) for one in sides for other in sides if other is not one)
        elif isinstance(node, ast.Call):
            yield from ((each.arg, each.value) for each in node.keywords)
            if node.args and (first := FIRST.get(name_of(node.func) or "")):
                yield first, node.args[0]
            if isinstance(node.func, ast.Attribute) and node.func.attr in {"in_", "not_in"}:
                yield name_of(node.func.value), node.args[0]
        elif isinstance(node, ast.Assign):
            for target in node.targets:
                both = isinstance(target, ast.Tuple) and isinstance(node.value, ast.Tuple)
                names, values = (target.elts, node.value.elts) if both else ([target], [node.value])
                yield from ((name_of(name), value) for name, value in zip(names, values, strict=False))
        elif isinstance(node, ast.Dict):
            yield from ((name_of(key), value) for key, value in zip(node.keys, node.values, strict=True))


def bare_words(node: ast.expr) -> Iterator[ast.Constant]:
    if isinstance(node, ast.Constant):
        yield node
    elif isinstance(node, ast.Tuple | ast.List | ast.Set):
        for each in node.elts:
            yield from bare_words(each)
    elif isinstance(node, ast.IfExp):
        yield from bare_words(node.body)
        yield from bare_words(node.orelse)


def test_a_state_is_said_by_its_enum_and_never_by_a_bare_word() -> None:
    words = states()
    assert words.keys() >= {"standing", "role", "outcome", "arrival", "decision", "kind"}
    found = []
    for file in own_files():
        for name, value in pairs(ast.parse(file.read_text(encoding="utf-8"))):
            if name in words:
                found += [
                    f"{file.relative_to(PACKAGE)}:{one.lineno} {name} {one.value!r}"
                    for one in bare_words(value)
                    if one.value in words[name]
                ]
    assert not found, "\n".join(found)


# --- functions that a person can read ---

MOST_LINES = 60
# functions whose docstring gives the reason why they are longer; each is a decision
MAY_BE_LONGER: set[str] = set()


def test_no_function_is_longer_than_a_page() -> None:
    """Lines of the body count, from the first statement after the docstring: the options of a command fill its
    signature, and what a docstring explains is no work to read.
    """
    too_long = {}
    for file in own_files():
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                explained = ast.get_docstring(node) is not None and len(node.body) > 1
                first = node.body[1 if explained else 0]
                n = (node.end_lineno or 0) - first.lineno + 1
                if n > MOST_LINES:
                    too_long[f"{file.relative_to(PACKAGE)} {node.name}"] = n
    assert too_long.keys() == MAY_BE_LONGER, too_long


# --- a name says what it holds ---

SAYS_NOTHING = {"told", "found", "said", "held", "one", "there"}
MOST_LINES_UNNAMED = 3  # of a short loop or a comprehension, whose reader sees the whole of it
SCOPES = (ast.FunctionDef, ast.AsyncFunctionDef, ast.Lambda)
COMPREHENSIONS = (ast.ListComp, ast.SetComp, ast.DictComp, ast.GeneratorExp)


def bound_in(scope: ast.AST) -> set[str]:
    """The names that say nothing and that a function or a comprehension binds itself."""
    nodes: Iterator[ast.AST]
    if isinstance(scope, COMPREHENSIONS):
        nodes = (node for part in scope.generators for node in ast.walk(part.target))
    else:
        nodes = inside(scope, set())
    return {
        node.arg if isinstance(node, ast.arg) else node.id
        for node in nodes
        if isinstance(node, ast.arg) or (isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store))
    } & SAYS_NOTHING


def inside(scope: ast.AST, names: set[str]) -> Iterator[ast.AST]:
    """The nodes of a scope, without those of functions in it and of comprehensions that bind one of the names, or of
    any comprehension where none is given.
    """
    for node in ast.iter_child_nodes(scope):
        if isinstance(node, SCOPES):
            continue
        if isinstance(node, COMPREHENSIONS) and (not names or bound_in(node) & names):
            continue
        yield node
        yield from inside(node, names)


def test_a_name_says_what_it_holds() -> None:
    """A name such as ``found`` is for a loop of a few lines; what lives longer is named by what it is."""
    unnamed = []
    for file in own_files():
        for scope in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if not isinstance(scope, SCOPES + COMPREHENSIONS):
                continue
            for name in bound_in(scope):
                lines = [
                    node.lineno
                    for node in inside(scope, {name})
                    if (isinstance(node, ast.Name) and node.id == name)
                    or (isinstance(node, ast.arg) and node.arg == name)
                ]
                if max(lines) - min(lines) >= MOST_LINES_UNNAMED:
                    unnamed.append(f"{file.relative_to(PACKAGE)}:{min(lines)} {name}")
    assert not unnamed, "\n".join(unnamed)


def test_every_seed_is_named_in_one_place() -> None:
    """A number drawn by chance is drawn from a seed of rules/seeds.py, or of one that a caller gives."""
    seed = re.compile(
        r"^\w*SEED\w*\b.* = .*\d|\bseed: int = \d|(?:default_rng|Random|RandomState|seeded)\(\[?\d",
        re.MULTILINE,
    )
    files = {path for path in PACKAGE.rglob("*.py") if seed.search(path.read_text(encoding="utf-8"))}
    assert files == {PACKAGE / "rules" / "seeds.py"}


def test_no_ten_lines_are_in_two_places() -> None:
    """Ten lines of code that are written twice are one rule with two places to change it in."""
    seen: dict[tuple[str, ...], str] = {}
    twice = []
    for file in own_files():
        lines = [
            (number, line.strip())
            for number, line in enumerate(file.read_text(encoding="utf-8").splitlines(), start=1)
            if line.strip() and not line.strip().startswith(("#", "from ", "import "))
        ]
        for at in range(len(lines) - 9):
            ten = tuple(line for _, line in lines[at : at + 10])
            here = f"{file.relative_to(PACKAGE)}:{lines[at][0]}"
            if seen.setdefault(ten, here) != here:
                twice.append(f"{here} as {seen[ten]}")
    assert twice == []
