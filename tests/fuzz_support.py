"""Random and hostile input over all readers and the command line: each ends in a result or in one sentence."""

from __future__ import annotations

import hashlib
import io
import json
import os
import re
import string
import zipfile
from collections import Counter
from collections.abc import Callable
from contextlib import chdir, suppress
from dataclasses import dataclass, field
from pathlib import Path
from random import Random
from typing import Any

import click
import xlsxwriter
from click.testing import CliRunner
from office_support import an_office
from openpyxl.comments import Comment
from openpyxl.styles import Font
from return_shapes import draw
from workbook_by_hand import changed_workbook

from geneticlog.errors import GeneticlogError
from geneticlog.faces.app.cli import COMMANDS, cli
from geneticlog.rules.boat.logline import read_line
from geneticlog.rules.lengths import parse_length, parse_weight
from geneticlog.rules.vialcode import mint, parse
from geneticlog.store.sheets import read_sheets

OURS = re.compile(r"fault of geneticlog itself|Traceback|sqlalchemy|sqlite3\.|psycopg|\bNone\b is not")
TOKENS = (
    "BG000001J", "bg 000 002 s", "16.5", "16 1/2", "0,45", "2 lb 5 oz", "x4", "second", "undo", "redo", "next", "done",
    "no", "-1", "1e308", "nan", "inf", "9" * 30, "\u00bd", "\u0661", "\x00", "\x1b[2J", "\ud800", "\u202e", "'", '"',
    ";", "\t", "#", "#@ log:main:x:1", "=1+1", "[", "{", "]]", "2026-02-30", "9999-12-31", "0000-00-00", "%s",
    "%", "../../x", "HERON", "HERON-2026", "SENT", "F1", "R1", "QUILL", "QB38", "failed",
    "*", "", " ", "\n", "\r", "\ufeff", "é", "鱼",
)  # fmt: skip
LEFT_OUT = {"serve", "demo", "completion"}  # a server, a minute of work, a program for the shell
HEAVY = {("report", "lake"), ("report", "lakes"), ("label", "print"), ("label", "reprint"), ("fieldsheet",)}
TOML = (
    'name = "strict"\ndated = 2026-06-01\npure = 0.02\nf1_q = [0.45, 0.55]\n',
    '[columns]\nvial = "Sample"\nq = "Florida"\nunit = "percent"\n[markers]\nM01 = "B"\n',
    '[mine]\npage = [215.9, 279.4]\ncolumns = 4\nrows = 8\nlike = "letter-wrap"\noffset_x = 0.3\nscale_y = 1.01\n',
    'order = "vial"\n[[column]]\nheading = "Tube"\nholds = "vial"\n',
)


@dataclass
class Fuzz:
    """One office to try things on, and what came of it: how often each kind ran, and what failed."""

    folder: Path
    database: str
    chosen: Random
    n: Counter[str] = field(default_factory=Counter)
    codes: Counter[tuple[str, int]] = field(default_factory=Counter)
    faults: list[str] = field(default_factory=list)
    wholes: dict[str, bytes] = field(default_factory=dict)
    vials: list[str] = field(default_factory=list)

    def run(self, kind: str, *words: str, given: str | bytes | None = None) -> None:
        """Run a command; anything but one of the seven exit codes and a sentence is a fault."""
        where = {
            "GENETICLOG_DATABASE": self.database,
            "GENETICLOG_PERSON": "Ada Test",
            "GENETICLOG_TRACEBACK": "",
        }
        with chdir(self.folder):
            result = CliRunner(env=where).invoke(cli, list(words), input=given)
        self.codes[kind, result.exit_code] += 1
        error = result.exception if not isinstance(result.exception, SystemExit) else None
        wrong = result.exit_code not in range(7) or OURS.search(result.output) or error is not None
        if wrong or (result.exit_code and not result.output.strip()):
            self.faults.append(
                f"{kind}: {words!r}: exit {result.exit_code}: {error!r} {result.output[-300:]!r}"
            )

    def call(self, kind: str, reader: Callable[..., Any], *given: Any) -> None:
        """Call a reader; it returns, or raises a fault of ours that is a sentence."""
        try:
            reader(*given)
        except GeneticlogError:
            self.codes[kind, 4] += 1
        except Exception as fault:
            self.faults.append(f"{kind}: {given!r:.300}: {fault!r:.200}")
        else:
            self.codes[kind, 0] += 1


def prepared_for(folder: Path, database: str, seed: int) -> Fuzz:
    """An office with a shipment that was sent, and one whole file of every kind to be spoilt."""
    vials = an_office(database, n_fish=4, n_vials=9)
    fuzz = Fuzz(
        folder,
        database,
        Random(seed),
        vials=[*vials, *filter(None, (mint("BG", n) for n in range(700, 740)))],
    )
    fuzz.run(
        "setting up",
        "shipment",
        "pack",
        "SENT",
        *vials,
        "--lab",
        "QUILL",
        "--panel",
        "QB38",
        "--fill-ml",
        "1",
    )
    fuzz.run("setting up", "shipment", "send", "SENT")
    fuzz.run("setting up", "carry", "out", "HERON-2026", "whole.carry")
    rows = [["Sample", "Florida proportion", "Loci scored", "M01", "Note"]]
    rows += [[code, f"0.{i}5", "38", str(i % 3), ""] for i, code in enumerate(vials)]
    memory = io.BytesIO()
    book = xlsxwriter.Workbook(memory, {"in_memory": True})
    sheet = book.add_worksheet("Results")
    for number, row in enumerate(rows):
        sheet.write_row(number, 0, row)
    book.close()
    sheet_rows = [
        ["vial", "length (in)", "weight (lb)", "remarks"],
        ["", "16.5", "2.3", ""],
        ["", "9 x3", "", "dead"],
    ]
    fuzz.wholes = {
        "csv": "\n".join(",".join(row) for row in rows).encode(),
        "xlsx": memory.getvalue(),
        "sheet": "\n".join(",".join(row) for row in sheet_rows).encode(),
        "sheet.xlsx": changed_workbook(sheet_rows, _struck),
        "html": b"<html><table><tr><td>Sample<td>q</tr><tr><td colspan=2>BG000001J</tr></table>",
        "carry": (folder / "whole.carry").read_bytes(),
    }
    assert not fuzz.faults, fuzz.faults
    return fuzz


def _struck(workbook: Any) -> None:
    """Strike a row of a field sheet and hide another, as on paper."""
    sheet = workbook.active
    for cell in sheet[3]:
        cell.font = Font(strike=True)
    sheet["D2"].comment = Comment("read twice", "Ada")
    sheet.row_dimensions[2].hidden = True


def spoilt(content: bytes, chosen: Random) -> bytes:
    """Return bytes with a few things in them flipped, cut, doubled, or replaced by something hostile."""
    body = bytearray(content)
    for _ in range(chosen.choice((1, 1, 2, 5, 20))):
        at = chosen.randrange(len(body) + 1)
        to = min(len(body), at + chosen.choice((1, 2, 8, 200)))
        how = chosen.randrange(6)
        if how == 0 and at < len(body):
            body[at] ^= 1 << chosen.randrange(8)
        elif how == 1:
            del body[at:to]
        elif how == 2:
            body[at:at] = body[at:to] * chosen.choice((1, 3, 50))
        elif how == 3:
            body[at:to] = chosen.choice(TOKENS).encode(errors="surrogatepass")
        elif how == 4:
            body[at:at] = chosen.choice(TOKENS).encode(errors="surrogatepass")
        elif chosen.random() < 0.1:
            del body[at:]
    return bytes(body)


def spoilt_workbook(content: bytes, chosen: Random) -> bytes:
    """Return a workbook that is spoilt in one of its parts, so that the package itself still opens."""
    memory = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as old, zipfile.ZipFile(memory, "w") as new:
        name = chosen.choice(old.namelist())
        for part in old.namelist():
            new.writestr(part, spoilt(old.read(part), chosen) if part == name else old.read(part))
    return memory.getvalue()


def resealed(content: bytes, chosen: Random) -> bytes:
    """Return a carry file of which one line is spoilt, under a seal that holds."""
    lines = content.splitlines()[:-1]
    at = chosen.randrange(len(lines))
    line = json.loads(lines[at])
    if chosen.random() < 0.6:
        wrong: list[Any] = [*TOKENS[:30], None, 0, -1, 10**30, 1e308, True, [], {}, [1]]
        line[chosen.choice(sorted(line))] = chosen.choice(wrong)
        lines[at] = json.dumps(line, separators=(",", ":")).encode()
    elif chosen.random() < 0.5:
        lines[at] = spoilt(lines[at], chosen).replace(b"\n", b"")
    else:
        lines.insert(chosen.randrange(len(lines)), lines.pop(at))
    body = b"\n".join(lines) + b"\n"
    return (
        body + json.dumps({"lines": len(lines), "sha256": hashlib.sha256(body).hexdigest()}).encode() + b"\n"
    )


def words_of(chosen: Random, most: int = 6) -> str:
    """Return some tokens and random letters in a row."""
    parts = [
        chosen.choice(TOKENS) if chosen.random() < 0.8 else "".join(chosen.choices(string.printable, k=5))
        for _ in range(chosen.randrange(1, most))
    ]
    return chosen.choice((" ", "", " ", ",")).join(parts)


# --- kinds of input: each tries one ---


def a_word(fuzz: Fuzz) -> None:
    text = words_of(fuzz.chosen)
    reader: Callable[..., Any] = fuzz.chosen.choice((parse_length, parse_weight, parse))
    fuzz.call("words", reader, text)


def a_line(fuzz: Fuzz) -> None:
    fuzz.call("lines of the log", read_line, words_of(fuzz.chosen), "in", "lb")


def a_table(fuzz: Fuzz) -> None:
    content = spoilt(fuzz.wholes[fuzz.chosen.choice(("csv", "sheet"))], fuzz.chosen)
    fuzz.call("tables", read_sheets, content, "lab.csv")


def a_workbook(fuzz: Fuzz) -> None:
    kind = fuzz.chosen.choice(("xlsx", "xlsx", "html"))
    spoil = spoilt_workbook if kind == "xlsx" and fuzz.chosen.random() < 0.8 else spoilt
    fuzz.call("workbooks", read_sheets, spoil(fuzz.wholes[kind], fuzz.chosen), "lab.xlsx")


def _file(fuzz: Fuzz, name: str, content: bytes) -> str:
    (fuzz.folder / name).write_bytes(content)
    return name


def a_return(fuzz: Fuzz) -> None:
    kind = fuzz.chosen.choice(("csv", "csv", "csv", "xlsx"))
    content = (spoilt_workbook if kind == "xlsx" else spoilt)(fuzz.wholes[kind], fuzz.chosen)
    more = fuzz.chosen.choice(
        ([], ["--column", words_of(fuzz.chosen, 3)], ["--hold", words_of(fuzz.chosen, 2)])
    )
    fuzz.run("returns", "return", "preview", _file(fuzz, f"lab.{kind}", content), *more)


def a_drawn_return(fuzz: Fuzz) -> None:
    """A return of any shape and any kind of file that the tests draw: as it is, or spoilt."""
    made = draw(fuzz.chosen.randrange(10**6), fuzz.vials)
    content = made.content
    if fuzz.chosen.random() < 0.8:
        spoil = spoilt_workbook if content[:2] == b"PK" and fuzz.chosen.random() < 0.8 else spoilt
        content = spoil(content, fuzz.chosen)
    name = _file(fuzz, made.name, content)
    if fuzz.chosen.random() < 0.8:
        fuzz.run("drawn returns", "return", "preview", name)
    else:
        fuzz.run("drawn returns", "return", "read", name, "--shipment", "SENT")


def a_field_sheet(fuzz: Fuzz) -> None:
    if fuzz.chosen.random() < 0.3:
        name = _file(fuzz, "sheet.xlsx", spoilt_workbook(fuzz.wholes["sheet.xlsx"], fuzz.chosen))
    else:
        name = _file(fuzz, "sheet.csv", spoilt(fuzz.wholes["sheet"], fuzz.chosen))
    fuzz.run("field sheets", "fish", "read", "HERON-2026", name, "--look-only")


def a_pipe(fuzz: Fuzz) -> None:
    lines = "\n".join(words_of(fuzz.chosen) for _ in range(fuzz.chosen.randrange(1, 6)))
    given = lines.encode(errors="surrogatepass")
    fuzz.run("pipes", "fish", "log", "HERON-2026", "--mend", "mend.txt", "--log", "f", given=given)


def a_carry_file(fuzz: Fuzz) -> None:
    spoil = resealed if fuzz.chosen.random() < 0.9 else spoilt
    name = _file(fuzz, "other.carry", spoil(fuzz.wholes["carry"], fuzz.chosen))
    fuzz.run("carry files", "carry", "in", name)


def a_toml(fuzz: Fuzz) -> None:
    name = _file(fuzz, "f.toml", spoilt(fuzz.chosen.choice(TOML).encode(), fuzz.chosen))
    for words in fuzz.chosen.sample(
        (
            ["lab", "change", "QUILL", "--layout", name], ["lab", "change", "QUILL", "--manifest", name],
            ["label", "stocks", "--stocks", name], ["ruleset", "add", name],
            ["panel", "change", "QB38", "--markers", name],
        ),
        1,
    ):  # fmt: skip
        fuzz.run("TOML files", *words)


def a_command(fuzz: Fuzz) -> None:
    words = _some_command(fuzz.chosen)
    if tuple(words) in HEAVY and fuzz.chosen.random() < 0.98:
        return
    command: click.Command = cli
    with click.Context(cli) as context:
        for word in words:
            assert isinstance(command, click.Group)
            found = command.get_command(context, word)
            assert found is not None
            command = found
    for parameter in command.params:
        if isinstance(parameter, click.Argument):
            words += [_value(fuzz, parameter) for _ in range(max(1, parameter.nargs))]
        elif parameter.name not in ("database", "help") and fuzz.chosen.random() < 0.25:
            words.append(parameter.opts[0])
            if not getattr(parameter, "is_flag", False):
                words.append(_value(fuzz, parameter))
    if fuzz.chosen.random() < 0.1:
        words[fuzz.chosen.randrange(len(words))] = words_of(fuzz.chosen, 2)
    if LEFT_OUT & set(words):
        return
    with suppress(ValueError):
        fuzz.run("command line", *words, given="")


def _some_command(chosen: Random) -> list[str]:
    words: list[str] = []
    command: Any = cli
    with click.Context(cli) as context:
        while isinstance(command, click.Group):
            names = [name for name in command.list_commands(context) if name not in LEFT_OUT]
            words.append(chosen.choice(names))
            command = command.get_command(context, words[-1])
    return words


def _value(fuzz: Fuzz, parameter: click.Parameter) -> str:
    kind = parameter.type
    if fuzz.chosen.random() < 0.25:
        return words_of(fuzz.chosen, 3)
    if isinstance(kind, click.Choice):
        return str(fuzz.chosen.choice(list(kind.choices)))
    if isinstance(kind, click.Path):
        return fuzz.chosen.choice(
            ["lab.csv", "f.toml", "other.carry", "none.csv", ".", "", "/dev/null", "new.out"]
        )
    if "int" in kind.name or "float" in kind.name:
        return fuzz.chosen.choice(["0", "1", "3", "-1", "2147483648", "1e400", "nan", "0.5", "-0", "1_0"])
    known = {
        "lake": "HERON", "survey": "HERON-2026", "shipment": "SENT", "vial": "BG000001J", "finding": "F1",
        "lab": "QUILL", "panel": "QB38", "office": "BG", "surveyed_on": "2026-06-01", "length": "16.5 in",
    }  # fmt: skip
    return known.get(str(parameter.name), fuzz.chosen.choice(TOKENS))


KINDS: dict[Callable[[Fuzz], None], int] = {  # how many of a hundred inputs are of each kind
    a_word: 24, a_line: 26, a_drawn_return: 4, a_table: 16, a_workbook: 4, a_return: 6, a_field_sheet: 4, a_pipe: 4,
    a_carry_file: 4, a_toml: 3, a_command: 5,
}  # fmt: skip


def try_inputs(fuzz: Fuzz, n: int, *, enough: int = 20) -> None:
    """Try n inputs of all kinds; stop early where so many faults were found."""
    os.environ.pop("GENETICLOG_READ_SECONDS", None)
    assert COMMANDS
    for kind in fuzz.chosen.choices(list(KINDS), list(KINDS.values()), k=n):
        kind(fuzz)
        fuzz.n[kind.__name__] += 1
        if len(fuzz.faults) >= enough:
            return
