"""Plain current English in all that a person reads: messages, help, headings, pages, papers; plurals; local time."""

from __future__ import annotations

import ast
import re
import time
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import click
import pytest
from conftest import Runner

import geneticlog
from geneticlog.faces.app.cli import cli
from geneticlog.faces.app.desk import in_brackets
from geneticlog.rules.sentences import n_of, nearest_names
from geneticlog.settings import local_time

PACKAGE = Path(geneticlog.__file__).parent
# words that went out of use, or that only this program used -> what to write
REFUSED = {
    r"\bnought\b": "zero",
    r"\bso many\b": "that many, or the number",
    r"\banew\b": "again",
    r"\bmend(s|ed|ing)?\b": "correct",
    r"\bstands? in\b": "is in, appears in",
    r"\bstands? (again|for)\b": "counts again; means",
    r"\bcannot be told\b": "cannot tell",
    r"\bset against\b": "compared with",
    r"\bparted (by|into|at|evenly)\b": "separated by, split into",
    r"\bbroken number": "decimals, a number that is not whole",
    r"\bspoke of\b": "was about",
    r"\bmust be told\b": "must be declared, must be informed",
    r"\bfor want of\b": "because … is missing",
    r"\bas the case may be\b": "(leave it out)",
    r"\b(lest|hither|thither|whence|thereof|herein|hitherto|forthwith|amidst|whilst)\b": "a current word",
    r"\bhow far (it|its \w+) carr": "reliability",
    r"\bspeaks? (for|against|of)\b": "represents; casts doubt on; is about",
    r"\bof another hand\b": "that geneticlog did not write",
    r"\bwent out\b": "was sent out",
    r"[\[(]else\b": "(default: …)",
    r"\bmay be given again\b": "may be repeated",
    r"\b(is|are) owed\b": "must be sampled again",
    r"\bas (it|they) came\b": "as the lab wrote it",
    r"\b1 (labels|lakes|surveys|vials|findings|rows|lines|results|samples|stockings|shipments)\b": "n_of()",
}
# where a refused word is right: the old word of a prompt's command, an option and its file that scripts know
ALLOWED = {
    ("boat/prompt.py", "mend"),
    ("commands/fish.py", "mend"),
    ("commands/fish.py", ".mend.txt"),
    ("commands/demo.py", "a field sheet as it came back filled in"),
}


def shown(file: Path) -> Iterator[tuple[int, str]]:
    """Yield the texts of a module that a person may read: all but docstrings, and the docstrings of commands."""
    tree = ast.parse(file.read_text(encoding="utf-8"))
    silent: set[int] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.JoinedStr):
            silent |= {id(part) for part in node.values}
        elif isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef) and ast.get_docstring(node):
            words = " ".join(ast.unparse(one) for one in getattr(node, "decorator_list", []))
            if "command" not in words and "group" not in words:
                silent.add(id(node.body[0].value))  # type: ignore[attr-defined]
    for node in ast.walk(tree):
        if isinstance(node, ast.JoinedStr):
            parts = (part.value if isinstance(part, ast.Constant) else "{}" for part in node.values)
            yield node.lineno, "".join(map(str, parts))
        elif isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in silent:
            yield node.lineno, node.value


def test_no_text_that_a_person_reads_holds_a_word_out_of_use() -> None:
    texts = [
        (file, line, text)
        for file in PACKAGE.rglob("*.py")
        if "migrations" not in file.parts
        for line, text in shown(file)
    ]
    texts += [
        (file, 0, re.sub(r"<[^>]*>|//.*|\{#.*?#\}", " ", file.read_text(encoding="utf-8")))
        for ending in ("*.j2", "*.typ", "*.html")
        for file in PACKAGE.rglob(ending)
    ]
    assert len(texts) > 3000
    found = [
        f"{file.relative_to(PACKAGE)}:{line}: {hit[0]!r} ({better}) in {text[max(0, hit.start() - 40) :][:90]!r}"
        for file, line, text in texts
        for word, better in REFUSED.items()
        for hit in re.finditer(word, text, flags=re.IGNORECASE)
        if not any(str(file).endswith(place) and part in text for place, part in ALLOWED)
    ]
    assert not found, "\n".join(found)


def test_every_default_in_the_help_is_written_alike() -> None:
    def walk(command: click.Command, path: str) -> Iterator[tuple[str, click.Option]]:
        if isinstance(command, click.Group):
            context = click.Context(command)
            for name in command.list_commands(context):
                inner = command.get_command(context, name)
                assert inner is not None
                yield from walk(inner, f"{path} {name}")
        else:
            yield from ((path, one) for one in command.params if isinstance(one, click.Option))

    options = list(walk(cli, "geneticlog"))
    assert len(options) > 150
    for path, option in options:
        record = option.get_help_record(click.Context(click.Command("x")))
        words = in_brackets(record[1]) if record else ""
        assert option.help or option.hidden, f"{path} {option.opts} has no help"
        assert not re.search(r"\[[^\]]*\]$|<=x|x>=", words), f"{path} {option.opts}: {words}"
        assert not re.search(r"(?<!\()\bdefault:|[Dd]efault\b(?!:)(?! is)", words), (
            f"{path} {option.opts}: {words}"
        )


def test_one_thing_is_singular() -> None:
    assert [n_of(n, "label") for n in (0, 1, 2)] == ["0 labels", "1 label", "2 labels"]
    assert n_of(1, "fish", "fish") == "1 fish"
    assert n_of(2, "class", "classes") == "2 classes"


def test_the_nearest_names_come_first() -> None:
    assert nearest_names("heorn", ["OTTER", "HERON"]) == ["HERON"]
    assert nearest_names("zzz", ["OTTER", "HERON"]) == []


@pytest.mark.skipif(not hasattr(time, "tzset"), reason="Windows has no tzset")
def test_times_are_shown_to_the_local_minute(run_on_sqlite: Runner, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TZ", "America/Chicago")
    time.tzset()
    try:
        at = datetime(2026, 5, 12, 3, 4, 59, tzinfo=UTC)
        assert local_time(at) == "2026-05-11 22:04"
        assert local_time(at, with_offset=True) == "2026-05-11 22:04 (UTC-0500)"
        run_on_sqlite("office", "add", "TH")
        run_on_sqlite("lake", "add", "HERON", "Heron Lake (invented)")
        run_on_sqlite("survey", "open", "HERON", "2026-05-12", "--code", "ONE")
        said = run_on_sqlite("history", "ONE").stdout
        assert "UTC" not in said
        assert local_time(datetime.now(UTC))[:13] in said
    finally:
        monkeypatch.undo()
        time.tzset()
