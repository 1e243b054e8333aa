"""Find fish that look like one fish twice: the same genotype under two vials of a survey, earlier returns too."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.rules.finding.decision import Decision
from geneticlog.rules.finding.finding_kinds import FindingKind
from geneticlog.rules.lab_return.doubts_of_files.same_genotypes import SamePair, same_genotypes
from geneticlog.rules.lab_return.sheet.sheet_rows import SheetRows
from geneticlog.rules.result.result_states import UNDER_WAY
from geneticlog.store.chunks import in_chunks
from geneticlog.store.tables import Finding, Fish, Genotype, Result, ReturnFile, ReturnRow, Vial
from geneticlog.work.finding.open_findings import Found
from geneticlog.work.result.kept_reading import sheet_rows_of

if TYPE_CHECKING:
    from geneticlog.work.lab_return.place_rows import PlacedRow

MOST_IN_PAIRS = 4  # fish alike up to which each is told against another; beyond, all of them in one finding


@dataclass(frozen=True)
class Genotyped:
    """One vial with its genotypes; ``file`` is the name of the earlier file it came in, "" for the one at hand."""

    vial_id: int
    vial: str
    fish_id: int
    survey: str
    row: int
    calls: Mapping[str, int | None]
    sheet_rows: SheetRows
    file: str = ""


def find_same_fish(
    session: Session, placed: Sequence[PlacedRow], return_file_id: int, sheet_rows: SheetRows
) -> list[Found]:
    """Return a finding for each fish of a file that looks like another of its survey.

    Every typed vial is compared with every other one of its survey, whichever return brought it. Two vials of one
    fish are known to be alike, and so is a pair that has a finding already. Of more than ``MOST_IN_PAIRS`` fish alike
    one finding tells them all. Rows are those of the file at hand.
    """
    lots: dict[int, list[Genotyped]] = defaultdict(list)
    for each in placed:
        vial, draft = each.vial, each.draft
        if vial and each.standing and draft.genotypes and vial.fish_id and vial.survey_id:
            lots[vial.survey_id].append(
                Genotyped(
                    vial.id,
                    vial.code,
                    vial.fish_id,
                    vial.survey or "",
                    draft.row,
                    draft.genotypes,
                    sheet_rows,
                )
            )
    with_more = _surveys_with_more(session, lots, return_file_id)
    findings = []
    for survey_id, lot in lots.items():
        earlier = _earlier(session, survey_id, return_file_id) if survey_id in with_more else []
        findings += _of_survey(session, [*earlier, *lot])
    return findings


def _surveys_with_more(session: Session, surveys: Iterable[int], return_file_id: int) -> set[int]:
    surveys_with_more: set[int] = set()
    for chunk in in_chunks(surveys):
        surveys_with_more |= set(
            session.scalars(
                select(Fish.survey_id)
                .join(Vial, Vial.fish_id == Fish.id)
                .join(Result, Result.vial_id == Vial.id)
                .join(ReturnRow, ReturnRow.id == Result.return_row_id)
                .where(
                    Fish.survey_id.in_(chunk),
                    Result.standing.in_(UNDER_WAY),
                    ReturnRow.return_file_id != return_file_id,
                    select(Genotype.result_id).where(Genotype.result_id == Result.id).exists(),
                )
                .distinct()
            )
        )
    return surveys_with_more


def _earlier(session: Session, survey_id: int, return_file_id: int) -> list[Genotyped]:
    """The genotypes of a survey's vials that other files brought and no later one replaced."""
    results = session.execute(
        select(Result.id, Vial.id, Vial.code, Fish.id, ReturnRow.row_number, ReturnFile)
        .join(Vial, Vial.id == Result.vial_id)
        .join(Fish, Fish.id == Vial.fish_id)
        .join(ReturnRow, ReturnRow.id == Result.return_row_id)
        .join(ReturnFile, ReturnFile.id == ReturnRow.return_file_id)
        .where(
            Fish.survey_id == survey_id,
            Result.standing.in_(UNDER_WAY),
            ReturnRow.return_file_id != return_file_id,
        )
        .order_by(Result.id)
    ).all()
    calls: dict[int, dict[str, int | None]] = defaultdict(dict)
    for chunk in in_chunks(row[0] for row in results):
        for result_id, marker, n_alleles in session.execute(
            select(Genotype.result_id, Genotype.marker, Genotype.n_alleles).where(
                Genotype.result_id.in_(chunk)
            )
        ):
            calls[result_id][marker] = n_alleles
    return [
        Genotyped(vial_id, code, fish_id, "", row, calls[result_id], sheet_rows_of(file), file.name)
        for result_id, vial_id, code, fish_id, row, file in results
        if calls[result_id]
    ]


def alike(lot: Sequence[Genotyped]) -> list[tuple[Genotyped, Genotyped, SamePair]]:
    """Return the pairs of different fish whose genotypes agree more than chance allows, the likest first."""
    if len(lot) < 2:
        return []
    markers = list(dict.fromkeys(marker for one in lot for marker in one.calls))
    x = np.array(
        [[-1 if (n := one.calls.get(marker)) is None else n for marker in markers] for one in lot],
        dtype=np.int8,
    )
    pairs = same_genotypes(x, [str(i) for i in range(len(lot))])
    both = [(lot[int(pair.first)], lot[int(pair.second)], pair) for pair in pairs]
    return sorted(
        (triple for triple in both if triple[0].fish_id != triple[1].fish_id),
        key=lambda triple: triple[2].n_different / triple[2].n_loci,
    )


class _Groups:
    """Fish joined into groups; ``joined`` says whether two were apart before."""

    def __init__(self) -> None:
        self._of: dict[int, int] = {}

    def root(self, fish_id: int) -> int:
        while (up := self._of.setdefault(fish_id, fish_id)) != fish_id:
            fish_id = up
        return fish_id

    def joined(self, one: int, other: int) -> bool:
        a, b = self.root(one), self.root(other)
        self._of[a] = b
        return a != b


def _of_survey(session: Session, lot: Sequence[Genotyped]) -> list[Found]:
    pairs = alike(lot)
    if not any(not second.file for _, second, _ in pairs):
        return []
    known = _known(session, {one.vial_id for first, second, _ in pairs for one in (first, second)})
    groups, links = _Groups(), []
    # Pairs that are told already, or were in earlier files, come first: what they join needs no finding of its own.
    old = [(f, s, p) for f, s, p in pairs if (f.file and s.file) or frozenset((f.vial, s.vial)) in known]
    for first, second, _ in old:
        groups.joined(first.fish_id, second.fish_id)
    for first, second, pair in pairs:
        if groups.joined(first.fish_id, second.fish_id):
            links.append((first, second, pair))
    fish_of: dict[int, dict[int, Genotyped]] = defaultdict(dict)
    for first, second, _ in pairs:
        for one in (first, second):
            fish_of[groups.root(one.fish_id)][one.vial_id] = one
    n_fish = Counter({root: len({one.fish_id for one in there.values()}) for root, there in fish_of.items()})
    few = [link for link in links if n_fish[groups.root(link[0].fish_id)] <= MOST_IN_PAIRS]
    named = _fish_in_words(session, {one.fish_id for link in few for one in link[:2]})
    findings = [_pair(first, second, pair, named) for first, second, pair in few]
    for root in dict.fromkeys(groups.root(link[0].fish_id) for link in links):
        if n_fish[root] > MOST_IN_PAIRS:
            findings.append(_many(list(fish_of[root].values()), n_fish[root]))
    return findings


def _pair(first: Genotyped, second: Genotyped, pair: SamePair, named: Mapping[int, str]) -> Found:
    here = [one.row for one in (first, second) if not one.file]
    where = _where([first, second])
    facts: dict[str, object] = {
        "vial": second.vial, "fish": named[second.fish_id], "other_vial": first.vial,
        "other_fish": named[first.fish_id], "n_same": pair.n_loci - pair.n_different, "n_loci": pair.n_loci,
        "chance": pair.chance, "where": where,
    }  # fmt: skip
    return Found(FindingKind.SAME_GENOTYPE, facts, here, second.vial_id)


def _many(fish: Sequence[Genotyped], n_fish: int) -> Found:
    here = [one.row for one in fish if not one.file]
    survey = next(one.survey for one in fish if one.survey)
    facts: dict[str, object] = {
        "n_fish": n_fish, "survey": survey, "where": _where(fish), "vials": [one.vial for one in fish],
    }  # fmt: skip
    return Found(FindingKind.SAME_GENOTYPE_MANY, facts, sorted(here))


def _where(fish: Iterable[Genotyped]) -> str:
    rows: dict[tuple[str, SheetRows], list[int]] = defaultdict(list)
    for one in fish:
        rows[one.file, one.sheet_rows].append(one.row)
    parts = []
    for (file, sheet_rows), numbers in rows.items():
        parts.append(
            f"{'row' if len(numbers) == 1 else 'rows'} {sheet_rows.words(numbers)}"
            + (f" of {file}" if file else "")
        )
    return "; ".join(parts)


def _known(session: Session, vials: Iterable[int]) -> set[frozenset[str]]:
    """The pairs that have a finding which is open, or was accepted or closed."""
    pairs = set()
    for chunk in in_chunks(vials):
        for data in session.scalars(
            select(Finding.data).where(
                Finding.kind == FindingKind.SAME_GENOTYPE,
                Finding.vial_id.in_(chunk),
                Finding.decision.is_(None) | Finding.decision.in_([Decision.ACCEPT, Decision.CLOSE]),
            )
        ):
            pairs.add(frozenset((data.facts["vial"], data.facts["other_vial"])))
    return pairs


def _fish_in_words(session: Session, fish_ids: Iterable[int]) -> dict[int, str]:
    """Each fish as its number and length, which say at a glance whether it may be the same one."""
    words = {}
    for chunk in in_chunks(fish_ids):
        for fish_id, number, length, unit in session.execute(
            select(Fish.id, Fish.number, Fish.length, Fish.length_unit).where(Fish.id.in_(chunk))
        ):
            words[fish_id] = f"fish {number}" + (f", {length:.10g} {unit}" if length is not None else "")
    return words
