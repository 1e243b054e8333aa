"""From a strange file to stored results in a real terminal: the preview asks, and so does the reading."""

from __future__ import annotations

import os
import re
import shlex
import sys
from pathlib import Path
from typing import Any

import pexpect
import pytest
from conftest import Runner
from return_support import a_shipment, csv_file
from sqlalchemy.orm import Session

from geneticlog.store.engine import open_engine

COMMAND = "import sys; from geneticlog.faces.app.cli import main; sys.exit(main())"
ALLELES = (3, 9, 20, 41, 60, 76)


def strange(codes: list[str], line: str) -> bytes:
    """A file whose column Zeta, word XQ2, line and share nobody explains."""
    rows: list[list[Any]] = [
        ["Quillback Genotyping"],
        [line],
        ["Tube", "q", "Zeta", "Flag", "Loci scored"],
        *[[code, f"{k / 76:.4f}", k + 0.5, "XQ2" if k == 9 else "ok", 38]
          for code, k in zip(codes, ALLELES, strict=True)],
    ]  # fmt: skip
    return csv_file(rows)


class Terminal:
    """A command in a terminal of so many columns; each question is answered by what its text says."""

    def __init__(self, database: str, folder: Path, columns: int, *arguments: str) -> None:
        environment = {
            **os.environ, "GENETICLOG_DATABASE": database, "GENETICLOG_PERSON": "Ada Test", "TERM": "xterm",
            "NO_COLOR": "1", "COLUMNS": str(columns),
        }  # fmt: skip
        self.child = pexpect.spawn(
            sys.executable, ["-c", COMMAND, *arguments], env=environment, cwd=str(folder), encoding="utf-8",
            dimensions=(60, columns), timeout=90,
        )  # fmt: skip
        self.columns, self.said = columns, ""

    def answer(self, by: dict[str, str], last: str = "") -> str:
        """Answer each question by the first key that it says, up to the prompt ``last`` or the end."""
        ends = [re.escape(last)] if last else [pexpect.EOF]
        while self.child.expect([r"Which \([^)]*\): ", *ends]) == 0:
            asked = self._more(self.child.before + self.child.after)
            words = " ".join(asked.split())
            choice = next((wanted for key, wanted in by.items() if key in words), None)
            assert choice, words
            number = re.findall(rf"(\d)  [^\d]*?{re.escape(choice)}", asked)
            assert number, (choice, asked)
            self.child.sendline(number[-1])
        return self._more(self.child.before)

    def _more(self, text: str) -> str:
        text = re.sub(r"\x1b\[[0-9;?]*[a-zA-Z]", "", text)
        self.said += text
        for line in text.splitlines():
            assert len(line) <= self.columns or "geneticlog return read" in line, line
        return text


ANSWERS = {
    "whose alleles": "Florida alleles",
    "Zeta": "it changes nothing",
    "XQ2": "hold the values",
    "checked against run": "it changes nothing",
}


@pytest.mark.parametrize("columns", [80, 60])
def test_a_person_answers_at_the_terminal_until_the_results_are_stored(
    columns: int, run_on_sqlite: Runner, sqlite_database: str, tmp_path: Path
) -> None:
    engine = open_engine(f"sqlite:///{sqlite_database}")
    with Session(engine) as session:
        codes = a_shipment(session, 12)
        session.commit()
    engine.dispose()
    (tmp_path / "first.csv").write_bytes(strange(codes[:6], "Values checked against run 7"))
    (tmp_path / "next.csv").write_bytes(strange(codes[6:], "Values checked against run 7"))
    preview = Terminal(
        sqlite_database, tmp_path, columns, "return", "preview", "first.csv", "--shipment", "SH-1"
    )
    end = preview.answer(ANSWERS)
    assert "4 questions to answer first." in preview.said
    assert "Nothing was stored." in end
    # the flags that it names store the file
    named = re.search(r"geneticlog (return read first\.csv .*)", end)
    assert named, end
    if columns == 80:
        said = run_on_sqlite(*_as_typed(named[1], tmp_path), "--json").stdout
        assert '"n_typed": 5' in said
        assert '"n_held": 1' in said
        run_on_sqlite("return", "withdraw", "first.csv", "--why", "to be read at the terminal")
    read = Terminal(sqlite_database, tmp_path, columns, "return", "read", "first.csv", "--shipment", "SH-1")
    read.answer(ANSWERS, "next files? [y/N]: ")
    read.child.sendline("y")
    end = read.answer({})
    assert "5 with a result, 0" in " ".join(end.split())
    assert "Layout kept for lab LABSH-1." in end
    # what was kept is asked about no more; whose alleles q counts is asked of each file
    again = Terminal(sqlite_database, tmp_path, columns, "return", "read", "next.csv", "--shipment", "SH-1")
    again.answer({"whose alleles": "Florida alleles"}, "next files? [y/N]: ")
    again.child.sendline("n")
    end = again.answer({})
    assert "1 question to answer first." in again.said
    assert "5 with a result, 0 without, 1 held" in " ".join(end.split())


def _as_typed(command: str, folder: Path) -> list[str]:
    """The words of a command as a shell takes them, its file in a folder."""
    words = shlex.split(command)
    return [str(folder / word) if word.endswith(".csv") else word for word in words]


def test_a_preview_with_its_answers_ends_with_the_command_that_stores_it(
    run_on_sqlite: Runner, sqlite_database: str, tmp_path: Path
) -> None:
    engine = open_engine(f"sqlite:///{sqlite_database}")
    with Session(engine) as session:
        codes = a_shipment(session, len(ALLELES))
        session.commit()
    engine.dispose()
    file = tmp_path / "a return.csv"
    file.write_bytes(strange(codes, "made in May"))
    answers = [
        "--taxon", "Florida", "--harmless", "Zeta", "--hold", "XQ2", "--harmless", "made in May",
    ]  # fmt: skip
    said = run_on_sqlite("return", "preview", file, "--shipment", "SH-1", *answers).stderr
    command = next(line.strip() for line in said.splitlines() if line.strip().startswith("geneticlog return"))
    assert "Store it with these answers" in said
    run_on_sqlite(*shlex.split(command)[1:])
    assert "Store it" not in run_on_sqlite("return", "preview", file, "--shipment", "SH-1").stderr
    unnamed = run_on_sqlite("return", "preview", file, *answers).stderr
    assert "Its vials went with SH-1: a preview with --shipment SH-1 also asks" in unnamed
    assert command in unnamed
    nowhere = run_on_sqlite(
        "return", "preview", file, *answers, "--database", tmp_path / "none.sqlite"
    ).stderr
    assert "--shipment CODE" in nowhere
