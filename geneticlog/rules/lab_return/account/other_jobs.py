"""Signs that a lab's file is of another job: another shipment, a panel of other loci, work before the vials came."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import median_low

from geneticlog.rules.lab_return.account.doubtful_texts import rows_in_doubt
from geneticlog.rules.lab_return.doubts_of_rows.odd_rows import LEAST_ROWS, MOST_ODD, MOST_ODD_SHARE
from geneticlog.rules.lab_return.sheet.reading import Column, Reading, Row
from geneticlog.rules.lab_return.words.headings import plain

_LAB_WORK = re.compile(
    r"\b(analy[sz]ed|analysis|genotyped|genotyping|typed|sequenced|assayed|extracted|extraction|amplified|run|received"
    r"|reported|completed|processed|pcr|assay|scored)\b|\breport date\b"
)
_ISO = re.compile(r"(?<!\d)(\d{4})-(\d{1,2})-(\d{1,2})(?!\d)")
_YET_TO_COME = re.compile(
    r"\b(until|till|valid|validity|expir\w*|keep|kept|retain\w*|stored?|storage|discard\w*|due|next|planned|scheduled"
    r"|accredit\w*|review|licen[cs]e|best before|use by|will|deadline|payable|payment)\b"
)
_ITS_DATE = re.compile(r"^(date|dated|issued?|issue date)\b|\b(reported|report|issued) (?:on|date|dated)\b")
_OTHER = re.compile(r"(?<!\d)(\d{1,2})([/.\-])(\d{1,2})\2(\d{4}|\d{2})(?![\d/.\-])")
_MONTHS = ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"]
_MONTH = rf"(?P<m>{'|'.join(_MONTHS)})[a-z]*"
_NAMED = re.compile(rf"\b(?P<d>\d{{1,2}})[ .\-]+{_MONTH}[ .,\-]+(?P<y>\d{{4}}|\d{{2}})\b", re.IGNORECASE)
_NAMED_FIRST = re.compile(
    rf"\b{_MONTH}[ .]+(?P<d>\d{{1,2}})(?:st|nd|rd|th)?,? +(?P<y>\d{{4}})\b", re.IGNORECASE
)
_SERIAL = re.compile(r"[45]\d{4}")  # of a spreadsheet, from 2009 to 2064
_PANEL = re.compile(r"panel\b")
_COLLECTED = re.compile(
    r"^(?!.*\b(time|by|who|site|method)\b).*\b(collected|collection|sampled|sampling|captured?|caught|catch|survey)\b"
)
_SHIPMENT = re.compile(r"\b(shipment|submission|consignment|order|job)\b")
DAYS_ROOM, DAYS_APART, DAYS_ODD = 2, 30, 180
DAYS_AHEAD = 1  # of a lab whose day begins before ours
MOST_OTHER_DAYS, LEAST_DATED = 0.25, 4  # of the rows with a day
SHORTEST_CODE = 6  # of a survey, with letters and digits, that says nothing else
LEAST_LOCI = 5  # a smaller number beside the word panel is a version


@dataclass(frozen=True)
class Job:
    """What a shipment is called, the codes of all others, its panel with its loci, its first day of catching,
    and the day of sending.

    together
        codes of further shipments that the same file is about; they are among no others.
    surveys, other_surveys
        codes of the surveys of its fish, and of all others of the office.
    today
        the day on which the file is read; None where that does not matter.
    """

    shipment: str = ""
    others: frozenset[str] = frozenset()
    panel: tuple[str, ...] = ()
    panel_loci: int | None = None
    caught_from: date | None = None
    sent_on: date | None = None
    together: frozenset[str] = frozenset()
    surveys: frozenset[str] = frozenset()
    other_surveys: frozenset[str] = frozenset()
    today: date | None = None

    def doubt_in(self, text: str) -> str:
        """Return what a line says that is not of this job, in words, or the empty text."""
        plain_text = text.casefold()
        if self.another_shipment(plain_text):
            return "names another shipment than that of these vials"
        if self.another_survey(plain_text):
            return "names another survey than that of these fish"
        if self._another_panel(text):
            return f"names another panel than that of these vials, which has {self.panel_loci} loci"
        beyond = self.too_early(text) or self.too_late(text)
        return f"gives a date {beyond}" if beyond else ""

    def too_early(self, text: str, heading: str = "") -> str:
        """Return the limit before which a text dates work of the lab, in words, or the empty text."""
        if self.caught_from is None or not _LAB_WORK.search(plain(f"{heading} {text}")):
            return ""
        days = list(_dates(text))
        if "date" in plain(heading).split():
            days += _serial(text)
        if days and max(days) < self.caught_from:
            return f"before the fish were caught ({self.caught_from})"
        if days and self.sent_on is not None and max(days) < self.sent_on:
            return f"{_BEFORE_SENDING} ({self.sent_on})"
        return ""

    def too_late(self, text: str, heading: str = "") -> str:
        """Return that a text dates work or a report of the lab after the day of reading, in words, or the empty text.

        What the lab is yet to do, or how long it keeps something, may well be later.
        """
        words = plain(f"{heading} {text}")
        if self.today is None or _YET_TO_COME.search(words):
            return ""
        if not (_LAB_WORK.search(words) or _ITS_DATE.search(words)):
            return ""
        days = [*_dates(text), *(_serial(text) if "date" in plain(heading).split() else ())]
        late = bool(days) and min(days) > self.today + timedelta(DAYS_AHEAD)
        return f"after the day on which the file is read ({self.today})" if late else ""

    def another_shipment(self, plain_text: str) -> bool:
        own = self.shipment.casefold()
        ours = (own, *(code.casefold() for code in self.together))
        if not re.search(r"[a-z]{2}", own) or any(
            re.search(_word(re.escape(code)), plain_text) for code in ours
        ):
            return False
        shape = re.sub(r"\d+", lambda _: r"\d+", re.escape(own))
        known = [re.escape(code.casefold()) for code in self.others if len(code) >= 4]
        shapes = [*known, shape] if re.search(r"\d", own) else known
        return any(re.search(_word(one), plain_text) for one in shapes)

    def another_survey(self, plain_text: str) -> bool:
        """Whether a text in lower case names a survey of ours that the fish are not of, and none that they are of."""

        def named(codes: frozenset[str]) -> bool:
            return any(
                re.search(_word(re.escape(code.casefold())), plain_text)
                for code in codes
                if len(code) >= SHORTEST_CODE and re.search(r"[^\W\d_]", code) and re.search(r"\d", code)
            )

        return named(self.other_surveys) and not named(self.surveys)

    def _another_panel(self, text: str) -> bool:
        plain_text = plain(text)
        if (
            self.panel_loci is None
            or not _PANEL.match(plain_text)
            or any(plain(name) in plain_text for name in self.panel)
        ):
            return False
        numbers = {int(one) for one in re.findall(r"(?<![\d.])\d{1,3}(?![\d.])", _ISO.sub("", text))}
        return bool(large := {n for n in numbers if n >= LEAST_LOCI}) and self.panel_loci not in large


def rows_too_early(reading: Reading, rows: Sequence[Row], job: Job) -> dict[int, list[str]]:
    """Return, by row, the date of the lab's work that is before the fish were caught or the vials were sent, or is
    yet to come.

    Where few rows have one, they are told though a person calls the column harmless.
    """

    def early(column: Column, text: str) -> str:
        return job.too_early(text, column.heading) or job.too_late(text, column.heading)

    every = rows_in_doubt(reading, rows, early, whatever_its_role=True)
    few = len(every) <= MOST_OTHER_DAYS * len(reading.data_rows)
    return every if few else rows_in_doubt(reading, rows, early)


def rows_of_other_shipments(reading: Reading, rows: Sequence[Row], job: Job) -> dict[int, list[str]]:
    """Return, by row, which column of shipments names another one, where these are more than ``odd_rows`` tells."""
    doubts = rows_in_doubt(
        reading,
        rows,
        lambda column, text: (
            "another shipment than that of these vials"
            if _SHIPMENT.search(plain(column.heading)) and job.another_shipment(text.casefold())
            else ""
        ),
        whatever_its_role=True,
    )
    return doubts if len(doubts) > max(MOST_ODD, MOST_ODD_SHARE * len(reading.data_rows)) else {}


def rows_of_odd_dates(reading: Reading, rows: Sequence[Row]) -> dict[int, list[str]]:
    """Return, by row, a date that is half a year and more from those of nearly all other rows, in words."""
    doubts: dict[int, list[str]] = {}
    for column in reading.columns:
        if column.role or "date" not in plain(column.heading).split():
            continue
        days = {
            n: [one.toordinal() for one in each]
            for text, its_rows in reading.rows_by_text(rows, column).items()
            if (each := [*_dates(text), *_serial(text)])
            for n in its_rows
        }
        usual = median_low([each[0] for each in days.values()]) if days else 0
        odd = [n for n, each in days.items() if min(abs(day - usual) for day in each) > DAYS_ODD]
        if len(days) < LEAST_ROWS or len(odd) > max(MOST_ODD, MOST_ODD_SHARE * len(days)):
            continue
        for n in odd:
            text = f"column {column.named} says {column.text_in(rows[n - 1])[:40]!r}"
            doubts.setdefault(n, []).append(
                f"{text}, and nearly all others are about {date.fromordinal(usual)}"
            )
    return doubts


_BEFORE_SENDING = "before the vials were sent"
MOST_EARLY = (
    0.5  # of the rows; where more are dated before the sending, that was entered late, or the file is another
)


def mostly_before_sending(early: Mapping[int, Sequence[str]], n_rows: int, job: Job) -> str:
    """Return in words that most rows are dated before their vials were sent, or the empty text."""
    if len(early) <= max(1, MOST_EARLY * n_rows) or not all(
        _BEFORE_SENDING in said[0] for said in early.values()
    ):
        return ""
    return (
        f"{len(early)} of {n_rows} rows are dated before the day on which the shipment was entered as sent"
        f" ({job.sent_on}): was that entered late (geneticlog correct shipment {job.shipment} --sent-at), or is the"
        " file about other vials?"
    )


def rows_of_other_days(
    reading: Reading, rows: Sequence[Row], known: Callable[[], Mapping[int, date]]
) -> dict[int, list[str]]:
    """Return, by row, a day of collecting that is not the day on which its fish was caught, give or take two.

    Where a few rows differ they are of other fish; where all do, and by a month or more, so is the file. A lab that
    writes some other day for all of them, such as that of a visit, says nothing.

    known
        gives the day of the survey of each row's fish.
    """
    doubts: dict[int, list[str]] = {}
    for column in reading.columns:
        heading = plain(column.heading)
        if column.role or not _COLLECTED.search(heading) or reading.layout.silences(column.heading):
            continue
        apart: dict[int, int] = {}
        caught_on = known()
        for text, its_rows in reading.rows_by_text(rows, column).items():
            days = [*_dates(text), *_serial(text)]
            for n in its_rows if days else ():
                if n in caught_on:
                    apart[n] = min(abs((day - caught_on[n]).days) for day in days)
        other = [n for n, days in apart.items() if days > DAYS_ROOM]
        few = len(other) <= MOST_OTHER_DAYS * len(apart)
        if len(apart) < LEAST_DATED or not (few or min(apart.values()) >= DAYS_APART):
            continue
        for n in other:
            text = f"column {column.named} says {column.text_in(rows[n - 1])[:40]!r}"
            doubts.setdefault(n, []).append(f"{text}, and its fish was caught on {caught_on[n]}")
    return doubts


def days_of_file(lines: Iterable[str]) -> tuple[date, date] | None:
    """Return the first and the last day on which a file may be dated by its lines; None where none dates it.

    A date of slashes counts in each of its readings.
    """
    days = [day for line in lines if _ITS_DATE.search(plain(line)) and not _YET_TO_COME.search(plain(line))
            for day in _dates(line)]  # fmt: skip
    return (min(days), max(days)) if days else None


def older_than_before(lines: Iterable[str], n_changed: int, before: date | None) -> str:
    """Return in words that a file that changes values is dated before the one that gave them, or the empty text.

    n_changed
        vials with another share than the earlier file gave.
    before
        the day of the earlier file.
    """
    days = days_of_file(lines)
    if days is None or before is None or not n_changed or days[1] >= before:
        return ""
    vials = "1 vial has" if n_changed == 1 else f"{n_changed} vials have"
    return (
        f"{vials} another share than in a file that was read before; that one is dated {before}, and this one"
        f" {days[1]}: are these the older values?"
    )


def _serial(text: str) -> list[date]:
    """The day that a spreadsheet's number is."""
    return [date(1899, 12, 30) + timedelta(int(text))] if _SERIAL.fullmatch(text.strip()) else []


def _word(pattern: str) -> str:
    return rf"(?<![\w-]){pattern}(?![\w-])"


def _dates(text: str) -> Iterator[date]:
    """Yield the dates in a text; one of slashes is yielded in each of its readings."""
    numbers = [(int(y), int(m), int(d)) for y, m, d in _ISO.findall(text)]
    for a, _, b, y in _OTHER.findall(text):
        numbers += [(_year(y), int(a), int(b)), (_year(y), int(b), int(a))]
        if len(y) == 2:
            numbers.append((_year(a), int(b), int(y)))
    for match in (*_NAMED.finditer(text), *_NAMED_FIRST.finditer(text)):
        numbers.append((_year(match["y"]), _MONTHS.index(match["m"].lower()) + 1, int(match["d"])))
    for y, m, d in numbers:
        try:
            yield date(y, m, d)
        except ValueError:
            continue


def _year(written: str) -> int:
    return int(written) + 2000 * (len(written) == 2)
