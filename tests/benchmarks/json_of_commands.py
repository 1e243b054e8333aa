"""Keep what forty commands show with --json, and compare two versions of the program by it.

    python tests/benchmarks/json_of_commands.py keep DEMO_FOLDER OUT      run them on the demo's database
    python tests/benchmarks/json_of_commands.py compare BEFORE AFTER      say every key that is gone or changed

Run ``keep`` with the PYTHONPATH of the version that is looked at, on a demo folder that this version has made.
Sentences for people may change; they are counted apart. Moments, identities and digests are another in each run.
"""

from __future__ import annotations

import json
import re
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

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
    for file in sorted(before.glob("*.json")):
        old = dict(leaves(json.loads(file.read_text(encoding="utf-8"))))
        new = dict(leaves(json.loads((after / file.name).read_text(encoding="utf-8"))))
        gone = sorted({re.sub(r"\[\d+\]", "[]", path) for path in old.keys() - new.keys()})
        more = sorted({re.sub(r"\[\d+\]", "[]", path) for path in new.keys() - old.keys()})
        changed, sentences = [], 0
        for path in old.keys() & new.keys():
            if old[path] == new[path] or _of_this_run(old[path], new[path]):
                continue
            if isinstance(old[path], str) and isinstance(new[path], str) and " " in old[path]:
                sentences += 1
            else:
                changed.append(f"{path}: {old[path]!r} -> {new[path]!r}")
        if gone or changed or more or sentences:
            print(f"{file.stem}: {len(old)} values, {sentences} sentences changed")
        for what, paths in (("gone", gone), ("changed", sorted(changed)), ("new", more)):
            for path in paths[:12]:
                print(f"  {what} {path}")
            if len(paths) > 12:
                print(f"  {what} … and {len(paths) - 12} more")


def _of_this_run(old: Any, new: Any) -> bool:
    """Whether two values are moments, identities or paths, which are another in each run."""
    return all(
        isinstance(one, str) and (MOMENT.fullmatch(one) is not None or IDENTITY.fullmatch(one) is not None)
        for one in (old, new)
    )


if __name__ == "__main__":
    verb, first_folder, second_folder = sys.argv[1:4]
    {"keep": keep, "compare": compare}[verb](Path(first_folder).resolve(), Path(second_folder).resolve())
