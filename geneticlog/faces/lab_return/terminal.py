"""What is said of a lab's file, before it is read and after, at the terminal and as a document."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby
from typing import TYPE_CHECKING, Any

import click

from geneticlog.faces.app.desk import say_table, say_wrapped
from geneticlog.rules.lab_return.sheet.sheet_rows import COLUMNS, called
from geneticlog.rules.result.result_states import Verdict
from geneticlog.rules.sentences import n_of
from geneticlog.settings import local_time

if TYPE_CHECKING:
    from geneticlog.rules.lab_return.sheet.account_items import Account, Item
    from geneticlog.rules.lab_return.sheet.reading import Column, Reading
    from geneticlog.rules.lab_return.sheet.sheet_rows import SheetRows
    from geneticlog.rules.lab_return.words.roles import ColumnRole
    from geneticlog.work.lab_return.preview_return import Preview
    from geneticlog.work.lab_return.read_return import ReturnRead

SHOWN_ROWS = 8
SHOWN_FINDINGS = 12
ACCOUNT_WORDS = {
    Verdict.USED: "used",
    Verdict.HARMLESS: "known to be harmless",
    Verdict.HELD: "held for a decision",
    Verdict.ASKED: "to be answered",
}
FEWEST_TOLD_TOGETHER = 4  # neighbouring columns of one kind


def _meaning(role: ColumnRole, reading: Reading) -> str:
    from geneticlog.rules.lab_return.words.roles import ROLES

    taxa = reading.layout.taxa
    return ROLES[role].format(taxon=taxa.taxon, other_taxon=taxa.other_taxon)


def sheets_document(numbering: SheetRows) -> list[dict[str, Any]]:
    """Return the sheets that are read as one return, and what is added to the row numbers of each; [] for one table."""
    return [
        {"sheet": name, "rows_from": numbering.number(place, 0)}
        for place, name in enumerate(numbering.sheets)
    ]


def say_account(account: Account, *, beside_columns: bool = False) -> None:
    """Say what became of everything in a file; ``beside_columns`` leaves out the columns, which are said otherwise."""
    for item in account.items:
        if beside_columns and (item.what in ("column", "line") or item.verdict == Verdict.ASKED):
            continue
        say_wrapped(item_in_words(item))
    if account.items:
        say_wrapped(account_in_words(account))


def item_in_words(item: Item) -> str:
    """Return what became of one thing in a file: where it is, what it says, and why."""
    where = {"sheet": f"sheet {item.where}", "comment": f"comment in {item.where}"}.get(item.what, item.where)
    if item.what == "sheet" and item.verdict != Verdict.USED:
        where += " is not read"
    text = "" if item.what in ("numbers", "rows", "sheet") else item.text[:60]
    if text:
        where += f", {text}" if item.what == "mark" else f", {text!r}"
    return f"{where[:1].upper()}{where[1:]}: {item.why}."


def account_in_words(account: Account) -> str:
    """Return how much of a file was used, is harmless, held or to be answered."""
    counts = [f"{account.count(word)} {said}" for word, said in ACCOUNT_WORDS.items() if account.count(word)]
    return f"Account of the file: {', '.join(counts)}."


def sheets_in_words(numbering: SheetRows) -> str:
    """Return how the rows of several sheets are numbered."""
    kind = "tables side by side" if numbering.sheets[1].startswith(COLUMNS) else "sheets of the same headings"
    return (
        f"{len(numbering.sheets)} {kind} are read as one return; row 7 of {called(numbering.sheets[1])} is counted as"
        f" {numbering.number(1, 7)}."
    )


def preview_document(seen: Preview) -> dict[str, Any]:
    from geneticlog.work.lab_return.return_findings import result_values

    reading = seen.reading
    return {
        "file": reading.file,
        "form": seen.form,
        "sheet": reading.sheet or None,
        "sheets": sheets_document(reading.sheet_rows),
        "heading_row": reading.heading_row or None,
        "heading_rows": reading.heading_rows,
        "decimal": reading.decimal,
        "columns": [
            {
                "column": column.letter,
                "heading": column.heading,
                "taken_for": column.role or None,
                "why": column.why or None,
                "unit": column.unit or None,
                "evidence": column.evidence or None,
            }
            for column in reading.columns
        ],
        "missing": [{"word": word, "meaning": meaning, "n": n} for word, meaning, n in reading.missing],
        "other_rows": [{"row": row, "text": text} for row, text in reading.other_rows],
        "questions": [{"text": question.text, "options": question.options} for question in reading.questions],
        "doubts": list(reading.doubts),
        "account": seen.account.as_plain(),
        "n_rows": len(reading.data_rows),
        "n_typed": seen.n_typed,
        "n_failed": seen.n_failed,
        "n_held": seen.n_held,
        "loci_from_panel": seen.loci_from_panel,
        "rows": [
            {
                "row": draft.row,
                "written": draft.written,
                "vial": draft.code,
                "held": draft.held,
                **result_values(draft),
            }
            for draft in seen.drafts[:50]
        ],
        "findings": [{"kind": kind, "text": text, "rows": rows} for kind, text, rows in seen.doubtful],
    }


def said_of_preview(seen: Preview) -> None:
    reading = seen.reading
    _say_file(seen)
    click.echo()
    for alike in _alike(reading.columns):
        _say_columns(alike, reading)
    click.echo()
    if any(column.unit for column in reading.columns):
        say_wrapped(f"Decimal mark {reading.decimal} ({reading.decimal_evidence}).")
    for word, meaning, n in reading.missing:
        rows = n_of(n, "row")
        say_wrapped(f"No result in {rows}: {word or 'left blank'} ({meaning}).")
    for row, text in reading.other_rows[:6]:
        say_wrapped(f"Row {reading.sheet_rows.words([row])} is not a sample: {text[:80]}")
    if len(reading.other_rows) > 6:
        click.echo(f"… and {len(reading.other_rows) - 6} more rows that are not samples.")
    for doubt in reading.doubts:
        say_wrapped(f"Note: {doubt}.")
    say_account(seen.account, beside_columns=True)
    for question in reading.questions:
        click.echo()
        say_wrapped(f"Question: {question.text}{'' if question.text.endswith('?') else '.'}")
        say_wrapped(f"  Say {question.options}", "    ")
    if reading.questions:
        click.echo("\nNothing can be read before that is answered.")
    else:
        _say_results(seen)


def _say_file(seen: Preview) -> None:
    reading = seen.reading
    where = f"sheet{'s' * bool(reading.sheet_rows.sheets)} {reading.sheet}, " if reading.sheet else ""
    head = f"heading in row {reading.heading_row}" if reading.heading_row else "no heading"
    if reading.heading_rows > 1:
        link = "and" if reading.heading_rows == 2 else "to"
        head = (
            f"heading in rows {reading.heading_row} {link} {reading.heading_row + reading.heading_rows - 1}"
        )
    say_wrapped(
        f"{reading.file}: {seen.form}; {where}{head}; {n_of(len(reading.data_rows), 'row')} of samples."
    )
    if reading.sheet_rows.sheets:
        say_wrapped(sheets_in_words(reading.sheet_rows))


def _say_columns(alike: Sequence[Column], reading: Reading) -> None:
    column, last = alike[0], alike[-1]
    if len(alike) < FEWEST_TOLD_TOGETHER:
        click.echo(f"  {column.letter:<3} {column.heading or '(no heading)'}")
    else:
        said = f"{column.letter} to {last.letter}, {len(alike)} columns: {column.heading} to {last.heading}"
        say_wrapped(f"  {said}", " " * 6)
    why = f"{_meaning(column.role, reading)}" + (f": {column.why}" if column.why else "")
    say_wrapped(f"      {why}", " " * 6)
    if column.unit:
        say_wrapped(f"      in {column.unit}: {column.evidence}", " " * 6)


def _say_results(seen: Preview) -> None:
    _say_drafts(seen)
    say_wrapped(f"{seen.n_typed} with a result, {seen.n_failed} without, {seen.n_held} held for a decision.")
    if seen.loci_from_panel:
        say_wrapped("Loci scored are not in the file; the panel's number fits every proportion and is taken.")
    texts = [text for _, text, _ in seen.doubtful]
    for text in texts[:SHOWN_FINDINGS]:
        say_wrapped(f"  - {text}", " " * 4)
    if len(texts) > SHOWN_FINDINGS:
        click.echo(f"  … and {len(texts) - SHOWN_FINDINGS} more (all with --json).")
    click.echo("Nothing was stored.")


def _alike(columns: Sequence[Column]) -> list[list[Column]]:
    """Neighbouring columns taken for the same thing for the same reason, such as the loci of a panel, stay together."""
    groups = [
        list(group)
        for _, group in groupby(columns, key=lambda one: (one.role, one.why, one.unit, one.evidence))
    ]
    return [
        part
        for group in groups
        for part in ([group] if len(group) >= FEWEST_TOLD_TOGETHER else [[one] for one in group])
    ]


def _say_drafts(seen: Preview) -> None:
    def short(value: float | None) -> str | None:
        return None if value is None else f"{value:.4g}"

    rows = [
        (
            draft.row,
            draft.code or draft.written,
            "held" if draft.held else draft.outcome,
            short(draft.q),
            short(draft.heterozygosity),
            draft.n_loci,
            draft.lab_class or draft.failure,
        )
        for draft in seen.drafts[:SHOWN_ROWS]
    ]
    columns = ("row", "vial", "outcome", "q", "H", "loci", "the lab says")
    say_table(columns, rows, title="First rows as they would be stored", numbers=("row", "q", "H", "loci"))


def read_document(done: ReturnRead) -> dict[str, Any]:
    return {
        "shipment": done.shipment,
        "file": done.file,
        "sha256": done.sha256,
        "already_read_at": done.already_read_at,
        "already_read_by": done.already_read_by,
        "sheets": sheets_document(done.sheet_rows),
        "n_rows": done.n_rows,
        "n_typed": done.n_typed,
        "n_failed": done.n_failed,
        "n_held": done.n_held,
        "n_unexpected": done.n_unexpected,
        "n_duplicate_rows": done.n_duplicate_rows,
        "n_superseded": done.n_superseded,
        "n_unchanged": done.n_unchanged,
        "doubts": list(done.doubts),
        "account": done.account.as_plain(),
        "findings": [{"finding": f"F{n}", "kind": kind, "text": text} for n, kind, text in done.findings],
    }


def reading_in_words(done: ReturnRead) -> list[str]:
    """Return what became of a file that was read, sentence by sentence: the terminal and the page say the same."""
    if done.already_read_at is not None:
        when = local_time(done.already_read_at)
        return [f"{done.file}: already read on {when} by {done.already_read_by}; nothing changed."]
    lines = [
        f"{done.file}: {n_of(done.n_rows, 'row')} for shipment {done.shipment}: {done.n_typed} with a result,"
        f" {done.n_failed} without, {done.n_held} held for a decision, {done.n_unexpected} not expected,"
        f" {done.n_duplicate_rows} repeated."
    ]
    if done.sheet_rows.sheets:
        lines.append(sheets_in_words(done.sheet_rows))
    if done.n_unchanged:
        same = n_of(done.n_unchanged, "row says", "rows say")
        lines.append(
            f"{same} what an earlier file said, at the precision written; decisions on them are kept."
        )
    if done.n_superseded:
        replaced = n_of(done.n_superseded, "earlier result was", "earlier results were")
        lines.append(f"{replaced} replaced; they are kept.")
    return [*lines, *(f"Note: {doubt}." for doubt in done.doubts)]


def said_of_reading(done: ReturnRead) -> None:
    for line in reading_in_words(done):
        say_wrapped(line)
    if done.already_read_at is not None:
        return
    say_wrapped(f"{account_in_words(done.account)} See it with: geneticlog return show {done.sha256[:10]}")
    for number, _, text in done.findings[:SHOWN_FINDINGS]:
        start = f"  F{number}  "
        say_wrapped(start + text, " " * len(start))
    if len(done.findings) > SHOWN_FINDINGS:
        click.echo(f"  … and {len(done.findings) - SHOWN_FINDINGS} more findings.")
    if done.findings:
        click.echo(f"See all with: geneticlog reconcile {done.shipment}")
