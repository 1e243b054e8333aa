"""Where a measured table goes: printed, and with --write kept in results/ under its command, date and revision."""

from __future__ import annotations

import platform
import subprocess
import sys
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

FOLDER = Path(__file__).parent / "results"


def save(name: str, lines: Sequence[str], *, append: bool = False) -> None:
    """Print a table; with --write on the command line, keep it as results/NAME.md."""
    text = "\n".join(lines) + "\n"
    print(text)
    if "--write" not in sys.argv:
        return
    revision = subprocess.run(
        ["git", "rev-parse", "--short", "HEAD"],
        capture_output=True,
        text=True,
        cwd=Path(__file__).parent,
        check=False,
    ).stdout.strip()
    script = Path(sys.argv[0]).name
    words = " ".join(["python", f"tests/benchmarks/{script}", *sys.argv[1:]])
    head = (
        f"# {name}\n\n`{words}`, {datetime.now(UTC):%Y-%m-%d}, revision {revision},"
        f" Python {platform.python_version()}, {platform.machine()}\n\n"
    )
    FOLDER.mkdir(exist_ok=True)
    target = FOLDER / f"{name}.md"
    before = target.read_text(encoding="utf-8") + "\n" if append and target.exists() else ""
    target.write_text(before + head + text, encoding="utf-8")
