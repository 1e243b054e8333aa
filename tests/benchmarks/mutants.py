"""How many small faults in rules/ and work/ the tests notice: 40 seeded mutants against the tests that reach them.

    TMPDIR=/dev/shm nice -n 10 python tests/benchmarks/mutants.py [--n 40] [--seed 1] [--write]

A mutant is one changed operator, comparison, number or condition in a copy of the repository. It is killed when a test
fails or hangs. Which tests reach which line is measured once (`--reach FILE`, made where it is missing) and kept; what
has changed since is looked up by its module. The tests of the mutant's own room come first, then the quickest of every
other file, on SQLite alone, for at most --seconds, and four times as many where these were too few: a mutant that
outlives them counts as not killed. One that no test can kill, because it changes nothing a caller sees, is named in
equivalent_mutants.toml with its reason.
"""

from __future__ import annotations

import argparse
import ast
import contextlib
import hashlib
import importlib
import os
import pickle
import random
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import tomllib
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence, Set
from dataclasses import dataclass
from pathlib import Path
from typing import Any, NoReturn

from results import save

ROOT = Path(__file__).resolve().parents[2]
HERE = Path(__file__).parent
NO_TESTS = 5  # what pytest returns where nothing was chosen
LEFT_OUT = (
    "not postgresql and not browser and not torture and not fuzz and not killed and not full_and_read_only"
)
SLOWER = 20  # a test may take so many times as long as measured, and half a minute, before it counts as hung
MOST_FILES = 25  # of tests of other rooms: those that reach most of the module
# what tests load beside the program, once for all mutants
LOADED_ONCE = (
    "pytest", "xdist", "hypothesis", "hypothesis.strategies", "numpy", "scipy.special", "scipy.stats",
    "sqlalchemy.orm", "sqlalchemy.dialects.sqlite", "sqlalchemy.dialects.postgresql.psycopg", "alembic.command",
    "click.testing", "rich.console", "openpyxl", "python_calamine", "jinja2", "PIL.Image", "pandas", "statsmodels.api",
)  # fmt: skip
COMPARED = {
    ast.Eq: ast.NotEq, ast.NotEq: ast.Eq, ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt,
    ast.In: ast.NotIn, ast.NotIn: ast.In, ast.Is: ast.IsNot, ast.IsNot: ast.Is,
}  # fmt: skip
COUNTED = {ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult}


@dataclass(frozen=True)
class Mutant:
    """One changed place: the file, the line, the lines of its statement, what it was and what it is."""

    file: Path
    line: int
    lines: range
    words: str
    source: str

    @property
    def name(self) -> str:
        return self.file.relative_to(ROOT).as_posix()


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


def statement_lines(tree: ast.AST, at: ast.AST) -> range:
    """Return the lines of the innermost statement that holds a node; of a compound one, its header alone."""
    lines = range(at.lineno, (at.end_lineno or at.lineno) + 1)  # type: ignore[attr-defined]
    for node in ast.walk(tree):
        if isinstance(node, ast.stmt) and any(each is at for each in ast.walk(node)):
            body = getattr(node, "body", None)  # the last one found is the innermost
            last = body[0].lineno - 1 if body else node.end_lineno or node.lineno
            lines = range(node.lineno, max(last, node.lineno) + 1)
    return lines


def sample(n: int, seed: int, rooms: Sequence[str] = ("rules", "work")) -> list[Mutant]:
    """Return n mutants, drawn over all places of these folders alike."""
    every = [
        (file, at)
        for room in rooms
        for file in sorted((ROOT / "geneticlog" / room).rglob("*.py"))
        for at in range(sum(1 for _ in places(ast.parse(file.read_text(encoding="utf-8")))))
    ]
    mutants = []
    for file, at in random.Random(seed).sample(every, n):
        tree = ast.parse(file.read_text(encoding="utf-8"))
        node, how = list(places(tree))[at]
        lines = statement_lines(tree, node)
        before = ast.unparse(node).splitlines()[0]
        change(node, how)
        after = ast.unparse(node).splitlines()[0]
        mutants.append(
            Mutant(file, getattr(node, "lineno", 0), lines, f"{before} -> {after}", ast.unparse(tree))
        )
    return mutants


def digest(file: Path) -> str:
    return hashlib.sha256(file.read_bytes()).hexdigest() if file.exists() else ""


class Reach:
    """Which tests reach which line, and how long each takes."""

    def __init__(self, kept: Mapping[str, Any]) -> None:
        self.seconds: dict[str, float] = kept["seconds"]
        self.lines: dict[str, dict[int, frozenset[str]]] = kept["lines"]
        self.digests: dict[str, str] = kept["digests"]

    def of(self, mutant: Mutant) -> set[str]:
        """Return the tests that reach a mutant: by line, or by module where that has changed since.

        A line that runs when its module is loaded is reached by the tests of all that import the module, too, and by
        those that look at the module itself.
        """
        by_line = self.lines.get(mutant.name, {})
        if self.digests.get(mutant.name) == digest(mutant.file) and (
            reached := {test for line in mutant.lines for test in by_line.get(line, ())}
        ):
            return reached
        named = naming(mutant)
        return (
            {test for tests in by_line.values() for test in tests}
            | self._of_importers(mutant)
            | {test for test in self.seconds if test.split("::")[0] in named}
        )

    def _of_importers(self, mutant: Mutant) -> set[str]:
        package, name = ".".join(mutant.file.relative_to(ROOT).parent.parts), mutant.file.stem
        imported = rf"from {re.escape(package)} import (?:\([^)]*|[^\n(]*)\b{name}\b"
        named = re.compile(rf"{re.escape(package)}\.{name}\b|{imported}")
        users = [
            other
            for other in sorted((ROOT / "geneticlog").rglob("*.py"))
            if named.search(other.read_text(encoding="utf-8"))
        ]
        return {
            test
            for user in users
            for tests in self.lines.get(user.relative_to(ROOT).as_posix(), {}).values()
            for test in tests
        }

    def in_order(self, mutant: Mutant) -> list[str]:
        """Return the tests to run: those of the mutant's own room, then of the files that reach most of its module."""
        reached = self.of(mutant)
        of_file: dict[str, list[str]] = defaultdict(list)
        for test in sorted(reached, key=lambda test: self.seconds.get(test, 1.0)):
            of_file[test.split("::")[0]].append(test)
        named = naming(mutant)
        touched = {file: sys.maxsize if file in named else 0 for file in of_file}
        for tests in self.lines.get(mutant.name, {}).values():
            for file in {test.split("::")[0] for test in tests} & touched.keys():
                touched[file] += 1
        own = [file for file in of_file if is_own(file, mutant)]
        others = sorted(set(of_file) - set(own), key=lambda file: -touched[file])[:MOST_FILES]
        rounds = max((len(of_file[file]) for file in others), default=0)
        turns = [of_file[file][at] for at in range(rounds) for file in others if at < len(of_file[file])]
        return [
            *sorted((test for file in own for test in of_file[file]), key=lambda t: self.seconds.get(t, 1.0)),
            *turns,
        ]


def naming(mutant: Mutant) -> set[str]:
    """Return the files of tests/rules that look at the mutant's module by its name, as those of chosen numbers do."""
    name = f'"{".".join(mutant.file.relative_to(ROOT / "geneticlog").with_suffix("").parts)}"'
    files = sorted((ROOT / "tests" / "rules").glob("test_*.py"))
    return {file.relative_to(ROOT).as_posix() for file in files if name in file.read_text(encoding="utf-8")}


def own_folder(mutant: Mutant) -> Path:
    """Return the folder of tests of a mutant's room: tests/ mirrors the rooms, and not always the parts of one."""
    folder = ROOT / "tests" / mutant.file.relative_to(ROOT / "geneticlog").parent
    return next(each for each in (folder, *folder.parents) if each.is_dir())


def own_files(mutant: Mutant) -> list[str]:
    folder = own_folder(mutant)
    files = folder.glob("test_*.py") if folder.parent == ROOT / "tests" else folder.rglob("test_*.py")
    return [path.relative_to(ROOT).as_posix() for path in files]


def is_own(test: str, mutant: Mutant) -> bool:
    return test.startswith(own_folder(mutant).relative_to(ROOT).as_posix() + "/")


def pytest_words(*chosen: str) -> list[str]:
    return [
        "-p", "reach", "-n", "0", "-q", "-x", "--tb=no", "-p", "no:cacheprovider", "-k", LEFT_OUT,
        "-W", "ignore::pytest.PytestAssertRewriteWarning", *chosen,
    ]  # fmt: skip


def measure(kept: Path, copy: Path) -> None:
    """Run the tests once and keep which of them reach which line: some ten minutes."""
    words = [word for word in pytest_words("tests") if word != "-x"]
    path = os.pathsep.join([str(copy), str(HERE)])
    environment = {**os.environ, "PYTHONPATH": path, "REACH_WRITE": str(kept)}
    subprocess.run([sys.executable, "-m", "pytest", *words], cwd=copy, env=environment, check=False)
    measured = pickle.loads(kept.read_bytes())
    measured["digests"] = {name: digest(copy / name) for name in measured["lines"]}
    kept.write_bytes(pickle.dumps(measured))


def kills(mutant: Mutant, copy: Path, reach: Reach, seconds: float) -> str | None:
    """Return the test that a mutant fails, "" where it outlives all of them, None where the seconds are too few."""
    target = copy / mutant.name
    before, stat = target.read_bytes(), target.stat()
    target.write_text(mutant.source, encoding="utf-8")
    chosen = reach.in_order(mutant)
    own = [test for test in chosen if is_own(test, mutant)]
    failed: list[str | None] = []
    try:
        for tests in (own, chosen[len(own) :]):
            files = {test.split("::")[0] for test in tests} | set(own_files(mutant) if tests is own else ())
            failed.append(first_failure(tests, files, copy, reach, seconds))
            if failed[-1]:
                return failed[-1]
    finally:
        target.write_bytes(before)
        os.utime(target, ns=(stat.st_atime_ns, stat.st_mtime_ns))
    return None if None in failed else ""


def first_failure(
    tests: Sequence[str], files: Set[str], copy: Path, reach: Reach, seconds: float
) -> str | None:
    """Run tests of these files, and what is new in them, until one fails; "" where none does, None without time."""
    present = sorted(file for file in files if (copy / file).exists())
    if not present:
        return ""
    listed, known = copy.parent / "chosen.txt", copy.parent / "known.txt"
    allowed = {test: 30 + SLOWER * reach.seconds.get(test, 1.0) for test in tests}
    listed.write_text("".join(f"{allowed[test]:.0f}\t{test}\n" for test in tests), encoding="utf-8")
    output = copy.parent / "output.txt"
    child = os.fork()
    if not child:
        run_tests(copy, present, output, {"REACH_RUN": str(listed), "REACH_KNOWN": str(known)})
    until = time.monotonic() + seconds
    while (ended := os.waitpid(child, os.WNOHANG))[0] == 0 and time.monotonic() < until:
        time.sleep(0.05)
    if ended[0] == 0:
        os.killpg(child, signal.SIGKILL)
        os.waitpid(child, 0)
        return None
    if os.waitstatus_to_exitcode(ended[1]) in (0, NO_TESTS):
        return ""
    failed = re.search(r"^(?:FAILED|ERROR) (\S+)", output.read_text(encoding="utf-8"), re.MULTILINE)
    return failed[1] if failed else "loading the tests"


def run_tests(copy: Path, files: Sequence[str], output: Path, chosen: Mapping[str, str]) -> NoReturn:
    """Run pytest in a process that is forked from one that has loaded everything but the program: a start is dear."""
    import pytest

    os.setsid()
    os.chdir(copy)
    os.environ.update(chosen)
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)  # forty loads of the same modules
    sys.dont_write_bytecode = False
    sys.path[:0] = [str(copy)]
    written = os.open(output, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
    os.dup2(written, 1)
    os.dup2(written, 2)
    code = 70
    try:
        code = int(pytest.main(pytest_words(*files)))
    finally:
        sys.stdout.flush()
        os._exit(code)


def equivalent() -> dict[tuple[str, str], str]:
    """Return the mutants that change nothing a caller sees: (module, change) -> why."""
    listed = tomllib.loads((HERE / "equivalent_mutants.toml").read_text(encoding="utf-8"))
    return {(each["module"], each["change"]): each["why"] for each in listed.get("equivalent", [])}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--n", type=int, default=40)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument(
        "--seconds", type=float, default=60, help="for the tests of a mutant's own room, and of others"
    )
    parser.add_argument(
        "--rooms", nargs="+", default=["rules", "work"], help="folders to change, as rules/genetics"
    )
    parser.add_argument(
        "--reach", type=Path, default=ROOT / ".reach.pickle", help="which test reaches which line"
    )
    parser.add_argument("--minutes", type=float, default=600, help="no further mutant is tried after so many")
    parser.add_argument("--write", action="store_true")
    given = parser.parse_args()
    for name in LOADED_ONCE:
        with contextlib.suppress(ImportError):
            importlib.import_module(name)
    with tempfile.TemporaryDirectory(prefix="geneticlog-mutants-") as folder:
        copy = Path(folder) / "copy"
        shutil.copytree(ROOT, copy, ignore=shutil.ignore_patterns(".git", ".venv", "results", ".*_cache"))
        if not given.reach.exists():
            measure(given.reach.absolute(), copy)
        reach = Reach(pickle.loads(given.reach.read_bytes()))
        (copy.parent / "known.txt").write_text("\n".join(reach.seconds), encoding="utf-8")
        mutants = sample(given.n, given.seed, given.rooms)
        tried = try_all(mutants, copy, reach, given.seconds, time.monotonic() + 60 * given.minutes)
    save("mutation", table(mutants, tried, given))


def try_all(
    mutants: Sequence[Mutant], copy: Path, reach: Reach, seconds: float, until: float
) -> dict[Mutant, str | None]:
    """Try each mutant, and those that had too little time once more, with four times as much, while any is left."""
    known = equivalent()
    tried: dict[Mutant, str | None] = {}
    for more in (1, 4):
        for number, mutant in enumerate(mutants, 1):
            same = (mutant.name, mutant.words) in known
            if same or tried.get(mutant) is not None or time.monotonic() > until:
                continue
            tried[mutant] = test = kills(mutant, copy, reach, more * seconds)
            word = "killed" if test else "no time" if test is None else "SURVIVED"
            print(
                f"{number:3} {word:8} {mutant.name}:{mutant.line}  {mutant.words}  {test or ''}", flush=True
            )
    return tried


def table(
    mutants: Sequence[Mutant], tried: Mapping[Mutant, str | None], given: argparse.Namespace
) -> list[str]:
    """Return the figure, and the mutants that are not killed, each with its change."""
    known = equivalent()
    killed = [mutant for mutant, test in tried.items() if test]
    own = sum(is_own(tried[mutant] or "", mutant) for mutant in killed)
    lines = [
        f"{len(killed)} of {len(tried)} mutants killed ({100 * len(killed) / max(len(tried), 1):.0f} %),"
        f" seed {given.seed}: {own} by the tests of their own room, {len(killed) - own} by others."
    ]
    if undecided := sum(test is None for test in tried.values()):
        share = 100 * len(killed) / (len(tried) - undecided or 1)
        lines += [
            f"{undecided} of the others were not decided in the seconds given, which a busy machine makes too few;"
            f" of the decided, {share:.0f} % were killed."
        ]
    if given.rooms != ["rules", "work"]:
        lines.append(f"Drawn from {', '.join(given.rooms)} alone.")
    for title, chosen in (
        ("survived", [mutant for mutant, test in tried.items() if test == ""]),
        ("not killed in the time given", [mutant for mutant, test in tried.items() if test is None]),
        (
            "changes nothing, not counted",
            [mutant for mutant in mutants if (mutant.name, mutant.words) in known],
        ),
        (
            "not tried within the minutes",
            [one for one in mutants if one not in tried and (one.name, one.words) not in known],
        ),
    ):
        if chosen:
            lines += ["", f"| {title} | change |", "| --- | --- |"]
            lines += [
                f"| {mutant.name}:{mutant.line} | `{mutant.words}` {known.get((mutant.name, mutant.words), '')} |"
                for mutant in chosen
            ]
    return lines


if __name__ == "__main__":
    main()
