"""Keep what forty commands show with --json, and compare two versions of the program by it.

    python tests/benchmarks/json_of_commands.py keep DEMO_FOLDER OUT      run them on the demo's database
    python tests/benchmarks/json_of_commands.py compare BEFORE AFTER [--write]  say what is gone, changed and new

Run ``keep`` with the PYTHONPATH of the version that is looked at, on a demo folder that this version has made.
Sentences for people may change; they are counted apart. Moments, identities and digests are another in each run.
"""

from __future__ import annotations

import json
import math
import re
import sqlite3
import subprocess
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from results import save

MOMENT = re.compile(r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d.*")
IDENTITY = re.compile(r"[0-9a-f]{16,64}|.*[/\\].*")


def commands(database: Path) -> list[str]:
    """Return the commands, on the first lake, survey, shipment, vial and finding of a database."""
    held = sqlite3.connect(database)

    def first(question: str) -> str:
        return str(held.execute(question).fetchone()[0])

    lake = first(
        "SELECT lake.code FROM lake JOIN survey ON survey.lake_id = lake.id ORDER BY survey.id LIMIT 1"
    )
    survey = first("SELECT code FROM survey ORDER BY id LIMIT 1")
    last = first("SELECT code FROM survey ORDER BY surveyed_on DESC, id DESC LIMIT 1")
    shipment = first(
        "SELECT shipment.code FROM shipment JOIN return_file ON shipment_id = shipment.id LIMIT 1"
    )
    vial = first("SELECT vial.code FROM vial JOIN result ON vial_id = vial.id ORDER BY vial.id LIMIT 1")
    finding = first("SELECT 'F' || number FROM finding ORDER BY number LIMIT 1")
    panel = first("SELECT code FROM panel LIMIT 1")
    file = first("SELECT name FROM return_file ORDER BY id LIMIT 1")
    return [
        "lake list", f"lake show {lake}", "survey list", f"survey show {survey}",
        f"survey show {survey} --fish", f"survey show {last} --fish", f"coverage {survey}", f"coverage {last}",
        f"plan {lake} --look", f"plan {lake} --look --half-width 0.1", f"plan {lake} --look --carrier-frequency 0.05",
        f"plan {lake} --stored", "shipment list", f"shipment show {shipment}", "shipment resample", "return list",
        f"return show {file}",
        f"reconcile {shipment}", "finding list", "finding list --open",
        f"finding show {finding}",
        f"finding list --lake {lake}", f"finding list --shipment {shipment}", "inbox", "inbox --for lab",
        f"report lake {lake}", f"report lake {lake} --survey {survey}", "report lakes", "report list",
        f"report fish {survey}", "report decisions", f"history {vial}", f"history {finding}", f"history {shipment}",
        f"history {survey}", "status", "panel list", f"panel show {panel}", "ruleset show",
        "label stocks", "lab list",
    ]  # fmt: skip


def keep(demo: Path, out: Path) -> None:
    database = next(file for file in sorted(demo.rglob("*.sqlite")) if not file.name.endswith("-wal"))
    out.mkdir(parents=True, exist_ok=True)
    for command in commands(database):
        words = [sys.executable, "-m", "geneticlog", *command.split(), "--json", "--database", str(database)]
        done = subprocess.run(words, capture_output=True, text=True, cwd=out, check=False)
        name = re.sub(r"\W+", "_", command)
        shown = done.stdout if done.returncode == 0 else json.dumps({"exit": done.returncode})
        (out / f"{name}.json").write_text(shown, encoding="utf-8")
        print(f"{done.returncode} {command}" + (f": {done.stderr.strip()[:100]}" if done.returncode else ""))


def leaves(value: Any, path: str = "") -> Iterator[tuple[str, Any]]:
    """Every value with its path; an empty list or object is a value."""
    if isinstance(value, dict) and value:
        for key, item in value.items():
            yield from leaves(item, f"{path}.{key}")
    elif isinstance(value, list) and value:
        for at, item in enumerate(value):
            yield from leaves(item, f"{path}[{at}]")
    else:
        yield path, value


def compare(before: Path, after: Path) -> None:
    """Print, and keep with --write, a line for each command, and the paths whose values changed."""
    lines = [
        "| command | values | keys gone | values changed | sentences changed | keys new |",
        "|---|---|---|---|---|---|",
    ]
    changed_paths: dict[str, set[str]] = {}
    for file in sorted(before.glob("*.json")):
        old = dict(leaves(json.loads(file.read_text(encoding="utf-8"))))
        new = dict(leaves(json.loads((after / file.name).read_text(encoding="utf-8"))))
        if set(old) == {".exit"}:
            lines.append(f"| {file.stem} | it was no command yet | | | | {len(new)} values |")
            continue
        changed, sentences = set(), 0
        for path in old.keys() & new.keys():
            if (
                old[path] == new[path]
                or _of_this_run(old[path], new[path])
                or _as_good_as(old[path], new[path])
            ):
                continue
            if isinstance(old[path], str) and isinstance(new[path], str) and " " in old[path]:
                sentences += 1
            else:
                changed.add(path)
        gone, more = (_without_places(a.keys() - b.keys()) for a, b in ((old, new), (new, old)))
        lines.append(
            f"| {file.stem} | {len(old)} | {', '.join(sorted(gone)) or 'none'} | {len(changed)} | {sentences} |"
            f" {len(more)} |"
        )
        if changed:
            changed_paths[file.stem] = _without_places(changed)
    lines.append("")
    for command, paths in changed_paths.items():
        lines.append(f"- Values changed in {command}: {', '.join(sorted(paths))}")
    save("json_of_commands", lines)


def _without_places(paths: Iterable[str]) -> set[str]:
    return {re.sub(r"\[\d+\]", "[]", path) for path in paths}


def _as_good_as(old: Any, new: Any) -> bool:
    """Whether two numbers differ in their last digits only, as the order of a sum makes them."""
    both = (old, new)
    return all(isinstance(one, float) for one in both) and math.isclose(*both, rel_tol=1e-9, abs_tol=1e-12)


def _of_this_run(old: Any, new: Any) -> bool:
    """Whether two values are moments, identities or paths, which are another in each run."""
    return all(
        isinstance(one, str) and (MOMENT.fullmatch(one) is not None or IDENTITY.fullmatch(one) is not None)
        for one in (old, new)
    )


if __name__ == "__main__":
    verb, first_folder, second_folder = sys.argv[1:4]
    {"keep": keep, "compare": compare}[verb](Path(first_folder).resolve(), Path(second_folder).resolve())
