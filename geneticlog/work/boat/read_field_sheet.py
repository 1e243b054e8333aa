"""Read a filled field sheet: every row judged, then all of it stored or nothing; read again, it changes its fish."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.errors import Refused
from geneticlog.rules.boat.doing import Doing
from geneticlog.rules.boat.logline import LogLine
from geneticlog.rules.stamp import Stamp
from geneticlog.store.sheets import Sheet
from geneticlog.store.tables import Fish, Survey
from geneticlog.work.boat.batch import batch_of
from geneticlog.work.boat.complete_fish import complete_fish
from geneticlog.work.boat.fish_doubts import FishDoubted, FishRefused, keep_doubts
from geneticlog.work.boat.log_fish import Given, Usual, log_fish
from geneticlog.work.boat.logged import as_logged
from geneticlog.work.boat.sheet_again import (
    ASKING,
    Again,
    Earlier,
    How,
    Reading,
    by_text,
    change_fish,
    read_before,
)
from geneticlog.work.boat.sheet_layout import Faults
from geneticlog.work.boat.sheet_rows import FishRow
from geneticlog.work.boat.understand_sheet import SheetRow, Understood, read_by, understand_sheet


@dataclass(frozen=True)
class SheetRead:
    """What a field sheet said. Nothing was stored where any row was at fault: SheetFault was raised."""

    survey: str
    rows: tuple[SheetRow, ...]
    columns: dict[str, str]  # our word -> the heading in the sheet
    n_unused: int  # rows with a printed vial and nothing beside it
    not_used: tuple[str, ...] = ()  # columns of words that nothing takes
    notes: tuple[str, ...] = ()  # what is no longer in the sheet

    @property
    def n_stored(self) -> int:
        return sum(row.doing in (Doing.STORED, Doing.COMPLETED) for row in self.rows)

    @property
    def n_changed(self) -> int:
        return sum(row.doing == Doing.CHANGED for row in self.rows)

    @property
    def n_already(self) -> int:
        return sum(row.doing == Doing.ALREADY for row in self.rows)


@dataclass
class _Reading(Reading):
    """One reading under way, and what has become of the rows."""

    faults: Faults = field(default_factory=Faults)
    done: list[SheetRow] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    sources: list[tuple[int, str]] = field(default_factory=list)  # fish number and what it came from


def read_field_sheet(
    session: Session,
    survey: Survey,
    sheets: list[Sheet],
    *,
    file: str,
    stamp: Stamp,
    understood: Understood | None = None,
    how: How = ASKING,
) -> SheetRead:
    """Store every filled row of a field sheet as a fish of this survey.

    sheets: as store/sheets.py reads them; every tab with a heading is read
    understood: what they say, worked out before; else, or where the survey has changed since, it is worked out here

    A row with a printed vial and nothing beside it is an unused label; with a fish number or a class it is asked
    about. "16.5 -> 15.6" and "~~16.5~~ 15.6" are a value that was struck and rewritten: the last counts, the first is
    kept in the remarks. A row whose remark begins with "struck", or whose cells are all struck through in a
    workbook, is left out and said to be; a single cell struck through is a fault. A row without a length but with a
    size class and a number of fish is a tally box.

    A row is known by its vial, else by its fish number, else by the rows around it: a sheet read again changes the
    fish it made (a correction each), and asks where it is doubtful which is which.

    Raises SheetFault with every fault, one a line with its row and column; the caller then rolls back.
    """
    if understood is None or understood.of != read_by(survey):
        understood = understand_sheet(survey, sheets, file=file, ignore=how.ignore)
    batch = batch_of(session, survey, _codes(understood))
    reading = _Reading(session, survey, file, stamp, how, batch, done=list(understood.left_out))
    several = len(understood.tabs) > 1
    for tab in understood.tabs:
        before = len(reading.faults.texts)
        reading.faults.texts += tab.faults.texts
        _store_rows(reading, tab.rows, tab.tab.sheet.name if several else "")
        if several:
            reading.faults.texts[before:] = [
                f"tab {tab.tab.sheet.name}, {text}" for text in reading.faults.texts[before:]
            ]
    reading.faults.raise_if_any(file, understood.tabs[0].tab.sheet.name or None if not several else None)
    _keep_sources(reading)
    keep_doubts(session, survey, reading.batch.doubtful, stamp=stamp)
    return SheetRead(
        survey.code,
        tuple(reading.done),
        {name: title for one in understood.tabs for name, (_, title) in one.tab.columns.items()},
        understood.n_unused,
        tuple(name for one in understood.tabs for name in one.tab.not_used),
        tuple(reading.notes),
    )


def _codes(understood: Understood) -> Iterator[str]:
    """Give the codes of vials that the rows name."""
    for one in understood.tabs:
        for row in one.rows:
            yield from filter(None, (row.line.vial, row.line.second))


def _store_rows(reading: _Reading, rows: list[FishRow], tab: str) -> None:
    """Store or change the fish of one tab's rows; say which fish are no longer in it."""
    again = read_before(reading.session, reading.survey, rows, file=reading.file, tab=tab)
    texts, others = by_text(reading.session, reading.survey, rows)
    for at, row in enumerate(rows):
        if at in texts and at not in again.same.same:
            again.same.same[at] = len(again.earlier)
            again.same.doubtful.pop(at, None)
            again.earlier.append(Earlier(row.row, row.said, texts[at]))
        elif texts and others and at in again.same.added and not row.is_new:
            again.same.doubtful[at] = []
        _store(reading, again, at, row)
    for place in again.same.gone:
        _say_gone(reading, again.earlier[place])


def _store(reading: _Reading, again: Again, at: int, row: FishRow) -> None:
    """Store, change or ask about one row; what is at fault is added to the faults."""
    if at in again.same.doubtful:
        fish = [again.earlier[place].fish for place in again.same.doubtful[at]]
        names = (
            " or ".join(f"fish {one.number}" for one in fish if one is not None) or "a fish taken out since"
        )
        reading.faults.add(
            row.row, row.heading.get("fish"),
            f"this row and those around it changed since the sheet was read before: is it {names}, or another fish? "
            "Write its number, or new, in the column fish",
        )  # fmt: skip
        return
    try:
        done = _change_or_log(reading, again, at, row)
    except FishDoubted as doubt:
        for question in doubt.questions:
            reading.faults.add(
                row.row, None, f"{question}; if that is right, read the sheet again with --yes"
            )
    except FishRefused as fault:
        reading.faults.add(row.row, row.heading.get(fault.about or ""), str(fault))
    except Refused as fault:
        reading.faults.add(row.row, None, str(fault))
    else:
        reading.done.append(done)
        if done.logged is not None and (done.doing != Doing.ALREADY or at in again.same.same):
            number, source = done.logged.number, again.source_of(row)
            if reading.batch.fish.get(number) != source:
                reading.sources.append((number, source))


def _change_or_log(reading: _Reading, again: Again, at: int, row: FishRow) -> SheetRow:
    session, survey = reading.session, reading.survey
    if at in again.same.same:
        earlier = again.earlier[again.same.same[at]]
        if earlier.fish is None:
            return SheetRow(row.row, Doing.LEFT_OUT, None, "its fish was taken out of the log since")
        logged, changed = change_fish(
            reading, earlier, row
        )  # fmt: skip
        return SheetRow(row.row, Doing.CHANGED if changed else Doing.ALREADY, logged)
    line, stored = row.line, None
    if row.number is not None and line.vial is None and row.number in reading.batch.fish:
        numbered = session.scalar(select(Fish).where(Fish.survey_id == survey.id, Fish.number == row.number))
        if numbered is not None and not _same_measures(numbered, line, row.size_class):
            raise FishRefused(
                f"fish {row.number} is stored with other values ({as_logged(survey, numbered).words}); "
                f"correct it with: geneticlog correct fish {survey.code} {row.number}"
            )
        stored = replace(as_logged(survey, numbered), already=True) if numbered is not None else None
    source = again.source_of(row)
    usual = Usual(medium=reading.how.medium, site=row.site)
    given = Given(
        row.number, None if source in reading.batch.sources else source, row.size_class, usual=usual,
        batch=reading.batch,
    )  # fmt: skip
    logged = stored or log_fish(
        session, survey, line if line.vial else replace(line, second=None), stamp=reading.stamp,
        sure=reading.how.sure, given=given,
    )  # fmt: skip
    if line.second is not None and (logged.already or line.vial is None):
        extra = complete_fish(
            session, survey, logged.number, LogLine(second=line.second), stamp=reading.stamp,
            sure=reading.how.sure, given=Given(usual=usual, batch=reading.batch),
        )  # fmt: skip
        logged = replace(extra, already=extra.already and logged.already)
    return SheetRow(row.row, Doing.ALREADY if logged.already else Doing.STORED, logged)


def _say_gone(reading: _Reading, earlier: Earlier) -> None:
    if earlier.fish is not None:
        code, number = reading.survey.code, earlier.fish.number
        reading.notes.append(
            f"fish {number} is no longer in the sheet (it was row {earlier.row}) and stays in the log; take it out "
            f"with: geneticlog correct fish {code} {number} --remove --why TEXT"
        )


def _keep_sources(reading: _Reading) -> None:
    """Keep what each row says now; two rows may have changed places, so all are cleared before any is set."""
    numbers = dict(reading.sources)
    numbered = (
        reading.session.scalars(
            select(Fish).where(Fish.survey_id == reading.survey.id, Fish.number.in_(numbers))
        )
        .unique()
        .all()
    )
    changing = [
        fish for fish in numbered
        if fish.source != numbers[fish.number] and (fish.source is None or fish.source.startswith("sheet:"))
    ]  # fmt: skip
    for fish in changing:
        fish.source = None
    reading.session.flush()
    for fish in changing:
        fish.source = numbers[fish.number]
    reading.session.flush()


def _same_measures(fish: Fish, line: LogLine, size_class: str | None) -> bool:
    length = (line.length.value, line.length.unit) if line.length else (None, None)
    weight = (line.weight.value, line.weight.unit) if line.weight else (None, None)
    return (
        (fish.length, fish.length_unit) == length
        and (fish.weight, fish.weight_unit) == weight
        and fish.n_fish == line.n_fish
        and (size_class is None or fish.size_class == size_class)
    )
