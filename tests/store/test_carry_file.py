"""A carry file resealed by somebody else: whatever stands in it, it is taken in or refused in a sentence."""

from __future__ import annotations

import hashlib
import json
import random
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from conftest import Runner
from survey_support import fish_of, prepared

from geneticlog.store.carry_file import CarryFileFault, verified_lines

WRONG: list[Any] = [
    None, "", "x",
    "\x1b[2J", "2026-13-45", 0, -1, 1e308, 10**30, True, [], {}, [1], {"a": 1}, "9" * 5000, 2.5, "\ud800",
]  # fmt: skip


def resealed(lines: list[Any]) -> bytes:
    body = "".join(json.dumps(line, separators=(",", ":")) + "\n" for line in lines).encode()
    seal = {"lines": len(lines), "sha256": hashlib.sha256(body).hexdigest()}
    return body + json.dumps(seal).encode() + b"\n"


def mutated(lines: list[dict[str, Any]], chosen: random.Random) -> list[Any]:
    """The file with one thing in it changed, taken out, doubled or moved."""
    out: list[Any] = [json.loads(json.dumps(line)) for line in lines]
    at = chosen.randrange(len(out))
    how = chosen.choice(["value", "value", "value", "key", "drop", "twice", "swap", "line"])
    line = out[at]
    if how in ("value", "key") and line:
        key = chosen.choice(sorted(line))
        if how == "key":
            line[chosen.choice([key + "x", "id", "table"])] = line.pop(key)
        else:
            line[key] = chosen.choice(WRONG)
    elif how == "drop":
        out.pop(at)
    elif how == "twice":
        out.insert(at, out[at])
    elif how == "swap":
        other = chosen.randrange(len(out))
        out[at], out[other] = out[other], out[at]
    else:
        out[at] = chosen.choice(WRONG)
    return out


def test_a_letter_changed_under_the_seal_is_found() -> None:
    whole = resealed([{"carries": "geneticlog surveys", "surveys": ["HERON-2026"]}])
    assert b"HERON" in whole
    with pytest.raises(CarryFileFault, match="damaged or cut short"):
        verified_lines(whole.replace(b"HERON", b"HERUN"), "changed.carry")


def test_a_resealed_file_is_taken_in_or_refused(tmp_path: Path, new_database: Callable[[Path], str]) -> None:
    boat = Runner(new_database(tmp_path / "boat.sqlite"))
    prepared(boat.database, n_vials=4, targets={"stock": 2})
    boat("fish", "log", "HERON-2026", "--yes", "--log", "b", input="BG000001J 16.5 in\n24 in 1 lb\n9 in\n")
    boat("carry", "out", "HERON-2026", tmp_path / "whole.carry")
    lines = [json.loads(line) for line in (tmp_path / "whole.carry").read_text().splitlines()[:-1]]
    office = Runner(new_database(tmp_path / "office.sqlite"))
    office("carry", "in", tmp_path / "whole.carry")
    chosen, taken = random.Random(20261129), 0
    file = tmp_path / "other.carry"
    for _ in range(30):  # many more are tried by tests/benchmarks/fuzz.py
        file.write_bytes(resealed(mutated(lines, chosen)))
        for run in (office,):
            result = run.tried("carry", "in", file)
            assert result.exit_code in (0, 3, 4, 5), result.output
            assert "fault of geneticlog" not in result.output
            assert "\x1b" not in result.output
            taken += result.exit_code == 0
    assert taken > 1
    office("database", "check")
    assert len(fish_of(office.database)) >= 3


def test_a_number_that_no_column_holds_is_refused(
    database: str, tmp_path: Path, new_database: Callable[[Path], str]
) -> None:
    boat, office = Runner(new_database(tmp_path / "boat.sqlite")), Runner(database)
    prepared(boat.database, n_vials=1, targets={"stock": 2})
    boat("fish", "log", "HERON-2026", "--yes", "--log", "b", input="BG000001J 24 in 1 lb\n")
    boat("carry", "out", "HERON-2026", tmp_path / "a.carry")
    lines = [json.loads(line) for line in (tmp_path / "a.carry").read_text().splitlines()[:-1]]
    first = {line.get("table"): at for at, line in reversed(list(enumerate(lines)))}
    spoilt = [(at, key) for at in first.values() for key in sorted(lines[at]) if key != "table"]
    office("carry", "in", tmp_path / "a.carry")
    met_a_column = 0
    for number, (at, key) in enumerate(spoilt):
        other = [line | {key: 10**30} if here == at else line for here, line in enumerate(lines)]
        (tmp_path / "b.carry").write_bytes(resealed(other))
        refused_early = False
        try:
            verified_lines((tmp_path / "b.carry").read_bytes(), "b.carry")
            met_a_column += 1
        except CarryFileFault:
            refused_early = True
        if (
            refused_early and number % 10
        ):  # before any database is asked; a tenth of these goes the whole way, too
            continue
        result = office.tried("carry", "in", tmp_path / "b.carry")
        assert result.exit_code in (0, 3, 4, 5), (lines[at].get("table"), key, result.output)
        assert "fault of geneticlog" not in result.output
    assert len(spoilt) > 50
    assert met_a_column


@pytest.mark.parametrize("text", ["\x1b[31m", "\x9b2J", "\x07"])
def test_no_control_character_comes_in_by_a_carry_file(
    text: str, run_on_sqlite: Runner, tmp_path: Path
) -> None:
    prepared(run_on_sqlite.database, n_vials=1)
    run_on_sqlite("carry", "out", "HERON-2026", tmp_path / "a.carry")
    lines = [json.loads(line) for line in (tmp_path / "a.carry").read_text().splitlines()[:-1]]
    for line in lines:
        if line.get("table") == "lake":
            line["name"] = f"Heron {text}"
    (tmp_path / "b.carry").write_bytes(resealed(lines))
    assert "control character" in run_on_sqlite("carry", "in", tmp_path / "b.carry", fails=5).stderr
