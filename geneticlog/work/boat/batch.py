"""What a survey holds, looked up once where many fish are stored one after the other in one transaction."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload

from geneticlog.rules.vialcode import VialCodeError, parse
from geneticlog.store.chunks import in_chunks
from geneticlog.store.tables import Fish, Survey, Vial

if TYPE_CHECKING:
    from geneticlog.work.boat.fish_doubts import Doubtful


@dataclass
class Batch:
    """The fish of a survey (number -> source), and the vials of the codes that are named.

    Only true within the write transaction that it was made in, which nobody else writes beside.
    """

    fish: dict[int, str | None]
    vials: dict[str, Vial] = field(default_factory=dict)
    doubtful: list[tuple[Fish, Doubtful]] = field(default_factory=list)  # findings to be opened in the end

    def __post_init__(self) -> None:
        self.sources = {source for source in self.fish.values() if source}
        self.last = max(self.fish, default=0)

    def add(self, number: int | None, source: str | None) -> int | None:
        """Note a fish that is stored now; return its number, the next one where none is wanted.

        None, and nothing noted, where the number is another fish's.
        """
        if number in self.fish:
            return None
        number = number or self.last + 1
        self.fish[number] = source
        self.last = max(self.last, number)
        if source:
            self.sources.add(source)
        return number


def batch_of(session: Session, survey: Survey, codes: Iterable[str]) -> Batch:
    """Look up what a survey holds, and the vials of codes as they are written; those that do not check are left out."""
    fish = session.execute(select(Fish.number, Fish.source).where(Fish.survey_id == survey.id))
    batch = Batch({one.number: one.source for one in fish})
    wanted = sorted({code for text in codes if (code := _parsed(text))})
    for some in in_chunks(wanted):
        question = select(Vial).where(Vial.code.in_(some))
        found = session.scalars(question.options(joinedload(Vial.fish), joinedload(Vial.print_run)))
        batch.vials |= {vial.code: vial for vial in found}
    return batch


def _parsed(text: str) -> str | None:
    try:
        return parse(text)
    except VialCodeError:
        return None
