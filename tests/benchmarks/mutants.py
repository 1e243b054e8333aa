"""How many small faults in rules/ and work/ the tests notice: 40 seeded mutants, each run against its room's tests.

    python tests/benchmarks/mutants.py [--n 40] [--seed 1] [--write]

A mutant is one changed operator, comparison, number or condition in a copy of the repository. It is killed when a test
fails. Tests run on SQLite alone: the tests of the module's room, and those that name the module.
"""

from __future__ import annotations

import argparse
import ast
import os
import random
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from results import save

ROOT = Path(__file__).resolve().parents[2]
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


def sample(n: int, seed: int) -> list[Mutant]:
    """Return n mutants, drawn over all places of rules/ and work/ alike."""
    every = [
        (file, at)
        for floor in ("rules", "work")
        for file in sorted((ROOT / "geneticlog" / floor).rglob("*.py"))
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


def tests_of(file: Path) -> list[str]:
    """Return the tests a change of a module can touch."""
    floor, *room = file.relative_to(ROOT / "geneticlog").parent.parts
    dotted = ".".join(file.relative_to(ROOT).with_suffix("").parts)
    folders = [ROOT / "tests" / floor / Path(*room)]
    for name in FACES.get(room[0] if room else "", ["commands"] if floor == "work" else []):
        folders.append(ROOT / "tests" / "faces" / name)
    chosen = {path for folder in folders if folder.is_dir() for path in folder.rglob("test_*.py")}
    chosen |= {
        path for path in (ROOT / "tests").rglob("test_*.py") if dotted in path.read_text(encoding="utf-8")
    }
    own = folders[0]
    first = sorted(chosen, key=lambda path: (own not in path.parents, "faces" in path.parts, path))
    return [str(path.relative_to(ROOT)) for path in first if "torture" not in path.name]


def killed(mutant: Mutant, copy: Path, seconds: int) -> bool | None:
    """Return whether a test fails with the mutant in place of the module; None where time ran out before."""
    target = copy / mutant.file.relative_to(ROOT)
    before = target.read_bytes()
    target.write_text(mutant.source, encoding="utf-8")
    try:
        done = subprocess.run(
            [sys.executable, "-m", "pytest", "-n", "0", "-q", "-x", "-p", "no:cacheprovider", "-k",
             "not postgresql and not browser", *tests_of(mutant.file)],
            cwd=copy, env={**os.environ, "PYTHONPATH": str(copy)}, capture_output=True, timeout=seconds, check=False,
        )  # fmt: skip
    except subprocess.TimeoutExpired:
        return None
    finally:
        target.write_bytes(before)
    return done.returncode != 0


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--n", type=int, default=40)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument(
        "--seconds", type=int, default=600, help="a run longer than this is counted by itself"
    )
    parser.add_argument("--write", action="store_true")
    given = parser.parse_args()
    mutants = sample(given.n, given.seed)
    survivors, undecided = [], 0
    with tempfile.TemporaryDirectory(prefix="geneticlog-mutants-") as folder:
        copy = Path(folder) / "copy"
        shutil.copytree(ROOT, copy, ignore=shutil.ignore_patterns(".git", ".venv", "__pycache__", "results"))
        for number, mutant in enumerate(mutants, 1):
            dead = killed(mutant, copy, given.seconds)
            where = f"{mutant.file.relative_to(ROOT)}:{mutant.line}"
            word = {True: "killed", False: "SURVIVED", None: "no time"}[dead]
            print(f"{number:3} {word:8} {where}  {mutant.words}", flush=True)
            undecided += dead is None
            if dead is False:
                survivors.append((where, mutant.words))
    n = len(mutants) - undecided
    n_killed = n - len(survivors)
    lines = [f"{n_killed} of {n} mutants killed ({100 * n_killed / max(n, 1):.0f} %), seed {given.seed}."]
    if undecided:
        lines.append(f"{undecided} more ran out of time.")
    if survivors:
        lines += ["", "| survived | change |", "| --- | --- |"]
        lines += [f"| {where} | `{words}` |" for where, words in survivors]
    save("mutants", lines)


if __name__ == "__main__":
    main()
