"""Where a measured table goes: printed, and with --write kept in results/ under its command, date and revision."""

from __future__ import annotations

import contextlib
import platform
import subprocess
import sys
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from pathlib import Path

FOLDER = Path(__file__).parent / "results"


def save(name: str, lines: Sequence[str], *, append: bool = False) -> None:
    """Print a table; with --write on the command line, keep it as results/NAME.md."""
    text = "\n".join(lines) + "\n"
    print(text)
    if "--write" not in sys.argv:
        return
    target = FOLDER / f"{name}.md"
    _write(name, text, target.read_text(encoding="utf-8") + "\n" if append and target.exists() else "")


def _write(name: str, text: str, before: str) -> None:
    revision = subprocess.run(
        ["git", "rev-parse", "--short", "HEAD"],
        capture_output=True,
        text=True,
        cwd=Path(__file__).parent,
        check=False,
    ).stdout.strip()
    words = " ".join(["python", f"tests/benchmarks/{Path(sys.argv[0]).name}", *sys.argv[1:]])
    head = (
        f"# {name}\n\n`{words}`, {datetime.now(UTC):%Y-%m-%d}, revision {revision},"
        f" Python {platform.python_version()}, {platform.machine()}\n\n"
    )
    FOLDER.mkdir(exist_ok=True)
    (FOLDER / f"{name}.md").write_text(before + head + text, encoding="utf-8")


class _Both:
    """Writes to the screen and keeps what it wrote."""

    def __init__(self) -> None:
        self.said: list[str] = []
        self.screen = sys.stdout

    def write(self, text: str) -> int:
        self.said.append(text)
        return self.screen.write(text)

    def flush(self) -> None:
        self.screen.flush()


@contextlib.contextmanager
def kept(name: str) -> Iterator[None]:
    """Keep what a script prints as results/NAME.md, where it was called with --write; it prints it either way."""
    words = list(sys.argv)
    writes = "--write" in words
    sys.argv = [word for word in words if word != "--write"]
    both = _Both()
    with contextlib.redirect_stdout(both):  # type: ignore[type-var]
        yield
    sys.argv = words
    if writes:
        _write(name, "".join(both.said), "")
