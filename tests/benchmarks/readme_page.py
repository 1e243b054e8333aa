"""Put what the demo says at its end, and its figure, into the README: run it after a change of the demo or the report.

python tests/benchmarks/readme_page.py
"""

from __future__ import annotations

import re
import shutil
import tempfile
import textwrap
from pathlib import Path

from click.testing import CliRunner

from geneticlog.faces.app.cli import cli

ROOT = Path(__file__).parent.parent.parent
QUESTIONS = ("How much?", "In which sizes?", "Is it changing, and in whom?", "How sure?", "What next?")


def main() -> None:
    folder = Path(tempfile.mkdtemp()) / "demo"
    told = CliRunner().invoke(cli, ["demo", str(folder)])
    assert told.exit_code == 0, told.output
    said = " ".join(told.output[told.output.rindex(QUESTIONS[0]) :].split("Wrote ")[0].split())
    starts = [said.index(question) for question in QUESTIONS]
    lines = [said[a:b].strip() for a, b in zip(starts, [*starts[1:], len(said)], strict=True)]
    answer = "\n".join(textwrap.fill(line, 100, subsequent_indent="  ") for line in lines)
    readme = ROOT / "README.md"
    text = readme.read_text(encoding="utf-8")
    text, n = re.subn(
        r"(```text\n)(?:@ANSWER@|How much\?.*?)(\n```)",
        lambda found: found[1] + answer + found[2],
        text,
        count=1,
        flags=re.DOTALL,
    )
    assert n == 1
    readme.write_text(text, encoding="utf-8")
    shutil.copy(folder / "report" / "heron_sizes.png", ROOT / "demo_data" / "heron_sizes.png")
    print(answer)


if __name__ == "__main__":
    main()
