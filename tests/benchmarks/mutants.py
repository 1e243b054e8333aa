"""How many small faults in rules/ and work/ the tests notice: 40 seeded mutants, each run against its room's tests.

    TMPDIR=/dev/shm nice -n 10 python tests/benchmarks/mutants.py [--n 40] [--seed 1] [--minutes 25] [--write]

A mutant is one changed operator, comparison, number or condition in a copy of the repository. It is killed when a test
fails. Tests run on SQLite alone: first those of the module's own room; only where it survives them the tests that name
the module, and those of the faces that its room is tested through.
"""

from __future__ import annotations

import argparse
import ast
import os
import random
import re
import shutil
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from results import save

ROOT = Path(__file__).resolve().parents[2]
NO_TESTS = 5  # what pytest returns where nothing was chosen
COMPARED = {
    ast.Eq: ast.NotEq, ast.NotEq: ast.Eq, ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt,
    ast.In: ast.NotIn, ast.NotIn: ast.In, ast.Is: ast.IsNot, ast.IsNot: ast.Is,
}  # fmt: skip
COUNTED = {ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult}
# rooms that are tested through the faces, too
FACES = {
    "boat": ["boat", "commands"], "catalogue": ["commands"], "carry": ["commands"], "plan": ["commands"],
    "label": ["label", "commands"], "shipment": ["shipment"], "lab_return": ["lab_return"], "finding": ["lab_return"],
    "result": ["lab_return", "report"], "report": ["report"], "portfolio": ["report"], "lakes": ["report"],
}  # fmt: skip


@dataclass(frozen=True)
class Mutant:
    """One changed place: the file, the line, what it was and what it is."""

    file: Path
    line: int
    words: str
    source: str


def places(tree: ast.AST) -> Iterator[tuple[ast.AST, str]]:
    """Yield each node that can be changed, with how it is changed."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Compare) and type(node.ops[0]) in COMPARED:
            yield node, "comparison"
        elif isinstance(node, ast.BoolOp):
            yield node, "and or or"
        elif isinstance(node, ast.BinOp) and type(node.op) in COUNTED and not _words(node):
            yield node, "operator"
        elif isinstance(node, ast.If | ast.IfExp):
            yield node, "condition"
        elif isinstance(node, ast.Constant) and type(node.value) in (int, float) and node.value not in (0, 1):
            yield node, "number"


def _words(node: ast.BinOp) -> bool:
    return any(
        isinstance(side, ast.JoinedStr | ast.List | ast.Tuple)
        or (isinstance(side, ast.Constant) and isinstance(side.value, str))
        for side in (node.left, node.right)
    )


def change(node: ast.AST, how: str) -> None:
    if isinstance(node, ast.Compare):
        node.ops[0] = COMPARED[type(node.ops[0])]()
    elif isinstance(node, ast.BoolOp):
        node.op = ast.Or() if isinstance(node.op, ast.And) else ast.And()
    elif isinstance(node, ast.BinOp):
        node.op = COUNTED[type(node.op)]()
    elif isinstance(node, ast.If | ast.IfExp):
        node.test = ast.UnaryOp(ast.Not(), node.test)
    elif isinstance(node, ast.Constant) and isinstance(node.value, int | float):
        node.value = node.value + 1


def sample(n: int, seed: int, rooms: Sequence[str] = ("rules", "work")) -> list[Mutant]:
    """Return n mutants, drawn over all places of these folders alike."""
    every = [
        (file, at)
        for room in rooms
        for file in sorted((ROOT / "geneticlog" / room).rglob("*.py"))
        for at in range(sum(1 for _ in places(ast.parse(file.read_text(encoding="utf-8")))))
    ]
    found = []
    for file, at in random.Random(seed).sample(every, n):
        tree = ast.parse(file.read_text(encoding="utf-8"))
        node, how = list(places(tree))[at]
        before = ast.unparse(node).splitlines()[0]
        change(node, how)
        after = ast.unparse(node).splitlines()[0]
        found.append(Mutant(file, getattr(node, "lineno", 0), f"{before} -> {after}", ast.unparse(tree)))
    return found


def tests_of(file: Path) -> Iterator[list[str]]:
    """Yield the tests a change of a module can touch: those of its room, then the others."""
    floor, *room = file.relative_to(ROOT / "geneticlog").parent.parts
    package, name = ".".join(file.relative_to(ROOT).parent.parts), file.stem
    imported = rf"from {re.escape(package)} import (?:\([^)]*|[^\n(]*)\b{name}\b"
    named = re.compile(rf"{re.escape(package)}\.{name}\b|{imported}")
    own = ROOT / "tests" / floor / Path(*room)
    names = {
        path for path in (ROOT / "tests").rglob("test_*.py") if named.search(path.read_text(encoding="utf-8"))
    }
    first = set(own.rglob("test_*.py") if room else ())
    first |= {path for path in names if {floor, "published"} & set(path.parts)}
    then = names - first
    for face in FACES.get(room[0] if room else "", ["commands"] if floor == "work" else []):
        then |= set((ROOT / "tests" / "faces" / face).rglob("test_*.py"))
    for chosen in (first, then - first):
        yield [str(path.relative_to(ROOT)) for path in sorted(chosen) if "torture" not in path.name]


def killed(mutant: Mutant, copy: Path, seconds: int, *, own: bool = False) -> str:
    """Return which tests fail with the mutant in its place: "room", "others", "" for none; "?" without time."""
    target = copy / mutant.file.relative_to(ROOT)
    before = target.read_bytes()
    target.write_text(mutant.source, encoding="utf-8")
    environment = {**os.environ, "PYTHONPATH": str(copy)}
    environment.pop("PYTHONDONTWRITEBYTECODE", None)  # forty starts of the same modules
    try:
        for whose, chosen in zip(("room", "others"), tests_of(mutant.file), strict=True):
            if own and whose == "others":
                break
            if chosen and subprocess.run(
                [sys.executable, "-m", "pytest", "-n", "0", "-q", "-x", "-p", "no:cacheprovider", "-k",
                 "not postgresql and not browser", *chosen],
                cwd=copy, env=environment, capture_output=True, timeout=seconds, check=False,
            ).returncode not in (0, NO_TESTS):  # fmt: skip
                return whose
    except subprocess.TimeoutExpired:
        return "?"
    finally:
        target.write_bytes(before)
    return ""


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--n", type=int, default=40)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument(
        "--seconds", type=int, default=600, help="a run longer than this is counted by itself"
    )
    parser.add_argument(
        "--rooms", nargs="+", default=["rules", "work"], help="folders to change, as rules/genetics"
    )
    parser.add_argument("--own", action="store_true", help="try the tests of the module's own room alone")
    parser.add_argument("--minutes", type=float, default=600, help="no further mutant is tried after so many")
    parser.add_argument("--write", action="store_true")
    given = parser.parse_args()
    until = time.monotonic() + 60 * given.minutes
    found: Counter[str] = Counter()
    survivors = []
    with tempfile.TemporaryDirectory(prefix="geneticlog-mutants-") as folder:
        copy = Path(folder) / "copy"
        shutil.copytree(ROOT, copy, ignore=shutil.ignore_patterns(".git", ".venv", "__pycache__", "results"))
        for number, mutant in enumerate(sample(given.n, given.seed, given.rooms), 1):
            if time.monotonic() > until:
                break
            whose = killed(mutant, copy, given.seconds, own=given.own)
            found[whose] += 1
            where = f"{mutant.file.relative_to(ROOT)}:{mutant.line}"
            word = {
                "room": "killed by its room",
                "others": "killed by others",
                "": "SURVIVED",
                "?": "no time",
            }[whose]
            print(f"{number:3} {word:18} {where}  {mutant.words}", flush=True)
            if not whose:
                survivors.append((where, mutant.words))
    n_killed = found["room"] + found["others"]
    n = n_killed + found[""]
    lines = [
        f"{n_killed} of {n} mutants killed ({100 * n_killed / max(n, 1):.0f} %), seed {given.seed}:"
        f" {found['room']} by the tests of their own room, {found['others']} by others."
    ]
    if given.rooms != ["rules", "work"]:
        lines.append(f"Drawn from {', '.join(given.rooms)} alone.")
    if given.own:
        lines.append("The tests of other rooms, which may kill those that survived, were not run.")
    if found["?"]:
        lines.append(f"{found['?']} more ran out of time.")
    if survivors:
        lines += ["", "| survived | change |", "| --- | --- |"]
        lines += [f"| {where} | `{words}` |" for where, words in survivors]
    save("mutation", lines)


if __name__ == "__main__":
    main()
