"""What an installation weighs: each part that geneticlog needs, and what each optional part adds.

python tests/benchmarks/weight.py [--write]   (in an environment where geneticlog and its extras are installed)
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable
from importlib.metadata import PackageNotFoundError, distribution
from pathlib import Path

from packaging.requirements import Requirement
from results import save

PROJECT = tomllib.loads((Path(__file__).parents[2] / "pyproject.toml").read_text(encoding="utf-8"))["project"]
SHOWN = 12


def megabytes(name: str) -> float:
    """Return the size of a distribution's files on disk, compiled modules left out, 10^6 bytes."""
    files = distribution(name).files or []
    places = {Path(str(file.locate())).resolve() for file in files if file.suffix != ".pyc"}
    return sum(place.stat().st_size for place in places if place.is_file()) / 1e6


def needed(requirements: Iterable[str], held: dict[str, float] | None = None) -> dict[str, float]:
    """Return every distribution that requirements lead to, and its size; those not installed are left out."""
    found = {} if held is None else held
    for text in requirements:
        requirement = Requirement(text)
        name = re.sub(r"[-_.]+", "-", requirement.name).lower()
        extras = requirement.extras or {""}
        if requirement.marker and not any(requirement.marker.evaluate({"extra": extra}) for extra in extras):
            continue
        if name in found:
            continue
        try:
            found[name] = megabytes(name)
        except PackageNotFoundError:
            continue
        wanted = [Requirement(one) for one in distribution(name).requires or []]
        needed(
            [
                str(one).partition(";")[0]
                for one in wanted
                if one.marker is None or any(one.marker.evaluate({"extra": extra}) for extra in extras)
            ],
            found,
        )
    return found


def main() -> None:
    own = PROJECT["dependencies"]
    base = needed(own)
    total = sum(base.values())
    lines = [
        f"Files on disk of what `pip install geneticlog` brings: {len(base)} parts, {total:.0f} MB (10^6 bytes).",
        "",
        "| part | MB | gone with it, MB |",
        "|---|---|---|",
    ]
    for name, size in sorted(base.items(), key=lambda pair: -pair[1])[:SHOWN]:
        without = needed([one for one in own if Requirement(one).name.lower() != name])
        lines.append(f"| {name} | {size:.1f} | {total - sum(without.values()):.1f} |")
    lines += ["", "| extra | adds MB |", "|---|---|"]
    for extra, asked in PROJECT["optional-dependencies"].items():
        if extra != "test":
            more = sum(needed([*own, *asked]).values()) - total
            lines.append(f"| {extra} | {more:.1f} |")
    lines += [
        "",
        "Decided by these figures: scipy stays, for every interval of a report needs its special functions (incomplete"
        " beta, t, normal, gamma) and numpy has none of them; written by hand they would be a second, untested copy of"
        " a kept library. pandas stays, for it is the data door. matplotlib stays, for every report has figures."
        " The pages, PostgreSQL and Parquet are extras.",
    ]
    save("weight", lines)


if __name__ == "__main__":
    main()
