"""Hostile and broken workbooks: each ends in one sentence, soon and in bounded memory, and the program goes on."""

from __future__ import annotations

import hashlib
import io
import json
import threading
import zipfile
from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path

import pytest
import xlsxwriter

from geneticlog.errors import GeneticlogError, SheetFault
from geneticlog.store.carry_file import unpack
from geneticlog.store.reading_room import limits
from geneticlog.store.sheets import read_bytes, read_sheets


def a_workbook(fill: Callable[[xlsxwriter.worksheet.Worksheet], None]) -> bytes:
    memory = io.BytesIO()
    book = xlsxwriter.Workbook(memory, {"in_memory": True})
    sheet = book.add_worksheet("Results")
    sheet.write_row(0, 0, ["Sample", "Florida", 0.25])
    fill(sheet)
    book.close()
    return memory.getvalue()


def with_part(content: bytes, name: str, change: Callable[[bytes], bytes]) -> bytes:
    memory = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(content)) as old,
        zipfile.ZipFile(memory, "w", zipfile.ZIP_DEFLATED) as new,
    ):
        for part in old.namelist():
            new.writestr(part, change(old.read(part)) if part == name else old.read(part))
    return memory.getvalue()


def an_ods(body: str) -> bytes:
    memory = io.BytesIO()
    with zipfile.ZipFile(memory, "w", zipfile.ZIP_DEFLATED) as package:
        package.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        package.writestr(
            "META-INF/manifest.xml",
            '<manifest:manifest xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0"/>',
        )
        package.writestr(
            "content.xml",
            '<office:document-content xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0"'
            ' xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0"'
            ' xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0"><office:body><office:spreadsheet>'
            f'<table:table table:name="S">{body}',
        )
    return memory.getvalue()


SHEET = "xl/worksheets/sheet1.xml"
CELL = '<table:table-cell office:value-type="string"><text:p>x</text:p></table:table-cell>'
REPEATED = CELL.replace("cell ", 'cell table:number-columns-repeated="16000" ', 1)
END = "</table:table></office:spreadsheet></office:body></office:document-content>"
BOMB = (
    b'<!DOCTYPE s [<!ENTITY a "aaaaaaaaaa">'
    + b"".join(b'<!ENTITY %c "%s">' % (c, b"&%c;" % (c - 1) * 10) for c in b"bcdefghi")
    + b"]>"
)
HOSTILE: dict[str, Callable[[], bytes]] = {
    "a cell at the far corner": lambda: a_workbook(lambda sheet: sheet.write(1_048_575, 16_383, "x") and None),
    "a million filled rows of nothing": lambda: a_workbook(lambda sheet: sheet.write(1_048_575, 30, "x") and None),
    "2,000 columns": lambda: a_workbook(lambda sheet: sheet.write_row(1, 0, range(2_000)) and None),
    "rows that never end": lambda: with_part(
        a_workbook(lambda sheet: None), SHEET,
        lambda part: part.replace(b"<sheetData>", b"<sheetData>" + b"<row " * 40_000),
    ),
    "a bomb of entities": lambda: with_part(
        a_workbook(lambda sheet: None), SHEET,
        lambda part: part.replace(b"<worksheet", BOMB + b"<worksheet", 1),
    ),
    "an ODS that repeats itself": lambda: an_ods(
        f'<table:table-row table:number-rows-repeated="1000000">{REPEATED}</table:table-row>{END}'
    ),
    "an ODS that is not closed": lambda: an_ods(f"<table:table-row>{CELL}"),
    "an ODS tag that is not closed": lambda: an_ods("<table:table-row><table:table-cell><text:p>x"),
    "a million columns of text": lambda: b"Sample,q\n" + b"," * 1_000_000 + b"\n",
    "cells that span millions": lambda: (
        b"<html><table><tr>" + b"<td rowspan=1000 colspan=1000>x</td>" * 50 + b"</tr></table>"
    ),
    "three million cells of text": lambda: b"Sample,q\n" + b"1,2,3,4,5,6\n" * 500_000,
}  # fmt: skip


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_file_ends_in_a_sentence(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GENETICLOG_READ_SECONDS", "5")
    monkeypatch.setenv("GENETICLOG_READ_CELLS", "200000")  # a tenth, so that the limit is met the sooner
    with pytest.raises(SheetFault) as said:
        read_sheets(HOSTILE[name](), "lab.xlsx")
    text = str(said.value)
    assert text.startswith("lab.xlsx")
    assert "Error" not in text, text
    assert len(text) < 400
    assert name != "cells that span millions" or "cells span more than 200,000 places" in text


def test_a_file_without_an_end_and_a_carry_file_of_brackets(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("GENETICLOG_READ_FILE_MB", "1")
    (tmp_path / "large").write_bytes(bytes((1 << 20) + 1))
    for endless in (Path("/dev/zero"), tmp_path / "large"):
        with pytest.raises(SheetFault, match=r"larger than 1 MB.*GENETICLOG_READ_FILE_MB"):
            read_bytes(endless)
    body = b'{"carries":"geneticlog surveys","form":1,"surveys":[]}\n' + b"[" * 200_000 + b"\n"
    sealed = body + json.dumps({"lines": 2, "sha256": hashlib.sha256(body).hexdigest()}).encode() + b"\n"
    with pytest.raises(SheetFault, match=r"a\.carry: it was not written by carry out"):
        unpack(sealed, "a.carry")
    with pytest.raises(SheetFault, match=r"a\.carry: the file is damaged \(RecursionError\)"):
        unpack(body, "a.carry")  # the brackets are where the seal should be
    monkeypatch.setenv("GENETICLOG_READ_MEMORY_MB", "30")
    with pytest.raises(SheetFault, match="needs more than 30 MB"):
        unpack(body[:55] + b"[0,0,0]\n" * 10_000_000, "a.carry")


def test_what_it_reads_is_the_same_in_a_fork_and_in_a_new_process() -> None:
    content = a_workbook(lambda sheet: sheet.write_row(1, 0, ["BG000001J", "", 1.5]) and None)
    long = b"Sample;q\n" + b"BG000001J;0,25\n" * 20_000
    here = read_sheets(content, "lab.xlsx") + read_sheets(long, "lab.csv")
    done: list[object] = []
    stop = threading.Event()
    other = threading.Thread(target=stop.wait)  # a second thread: now it may not fork
    other.start()
    done = read_sheets(content, "lab.xlsx") + read_sheets(long, "lab.csv")
    stop.set()
    other.join()
    assert [asdict(one) for one in here] == [asdict(one) for one in done]  # type: ignore[call-overload]
    assert [cell.text for cell in here[0].rows[1]] == ["BG000001J", "", "1.5"]


def test_the_limits_can_be_moved_and_are_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GENETICLOG_READ_CELLS", "5")
    for content in (b"a,b,c\n1,2,3\n", a_workbook(lambda sheet: sheet.write_row(1, 0, [1, 2, 3]) and None)):
        with pytest.raises(SheetFault, match=r"at most 5 are read.*GENETICLOG_READ_CELLS"):
            read_sheets(content, "lab.csv")
    monkeypatch.setenv("GENETICLOG_READ_CELLS", "6")
    assert len(read_sheets(b"a,b,c\n1,2,3\n", "lab.csv")[0].rows) == 2
    monkeypatch.setenv("GENETICLOG_READ_CELLS", "many")
    with pytest.raises(GeneticlogError, match="give a whole number above 0"):
        limits()
