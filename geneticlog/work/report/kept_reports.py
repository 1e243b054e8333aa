"""Reports that were sent out: each kept with what it said and rested on, and looked at again when that changes."""

from __future__ import annotations

import json
from collections.abc import Collection, Sequence
from dataclasses import asdict, dataclass
from datetime import datetime

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from geneticlog.rules.report.outdated import Basis, Counted, verdict_on
from geneticlog.rules.stamp import Stamp
from geneticlog.store.chunks import in_chunks
from geneticlog.store.tables import Fish, KeptReport, Lake, Result, Survey, Vial
from geneticlog.work.events import fish_name, new_uid, record
from geneticlog.work.result.in_the_numbers import numbers_of_lakes, of_its_species


@dataclass(frozen=True)
class SentReport:
    """One report that was sent out, as ``report list`` shows it.

    told: its first line. outdated: what it rested on has changed, and ``changes`` says how. n_newer: results that came
    since. replaced: a later report of the lake went out. tell_again: outdated, and nothing later went out.
    """

    report: str
    lake: str
    lake_name: str
    survey: str | None
    written_at: datetime
    written_by: str
    fingerprint: str
    told: tuple[str, ...]
    outdated: bool
    changes: tuple[str, ...]
    n_newer: int
    replaced: bool

    @property
    def tell_again(self) -> bool:
        return self.outdated and not self.replaced


def keep_report(
    session: Session,
    lake_code: str,
    *,
    survey: str | None,
    fingerprint: str,
    lines: Sequence[str],
    stamp: Stamp,
) -> str:
    """Keep that a report was sent out; returns its name, R1, R2, …"""
    lake_id = session.scalars(select(Lake.id).where(Lake.code == lake_code)).one()
    basis = bases_of(session, [lake_id]).get(lake_id, Basis())
    kept = KeptReport(
        uid=new_uid(),
        lake_id=lake_id,
        survey=survey,
        written_at=stamp.now,
        written_by=stamp.by,
        fingerprint=fingerprint,
        told=json.dumps(list(lines), ensure_ascii=False),
        basis=json.dumps(_packed(basis), ensure_ascii=False, separators=(",", ":")),
    )
    session.add(kept)
    session.flush()
    name = f"R{kept.id}"
    record(
        session,
        "reported",
        "lake",
        lake_code,
        stamp=stamp,
        new={"report": name, "fingerprint": fingerprint},
    )
    return name


def sent_reports(session: Session, lake_code: str | None = None) -> list[SentReport]:
    """Return the reports that were sent out, the latest first; of one lake where it is named."""
    query = select(KeptReport, Lake).join(Lake, Lake.id == KeptReport.lake_id).order_by(KeptReport.id.desc())
    if lake_code is not None:
        query = query.where(Lake.code == lake_code)
    rows = [(held, lake) for held, lake in session.execute(query)]
    now = bases_of(session, {lake.id for _, lake in rows})
    seen: set[int] = set()
    reports = []
    for kept, lake in rows:
        verdict = verdict_on(_unpacked(kept.basis), now.get(lake.id, Basis()))
        reports.append(
            SentReport(
                report=f"R{kept.id}",
                lake=lake.code,
                lake_name=lake.name,
                survey=kept.survey,
                written_at=kept.written_at,
                written_by=kept.written_by,
                fingerprint=kept.fingerprint,
                told=tuple(json.loads(kept.told)),
                outdated=verdict.outdated,
                changes=verdict.changes,
                n_newer=verdict.n_newer,
                replaced=lake.id in seen,
            )
        )
        seen.add(lake.id)
    return reports


def bases_of(session: Session, lake_ids: Collection[int]) -> dict[int, Basis]:
    """Return what a report of each lake would rest on now, by the lake's id."""
    results: dict[int, dict[str, Counted]] = {}
    caught: dict[int, dict[str, dict[str, int]]] = {}
    for some in in_chunks(sorted(lake_ids)):
        ours = Survey.lake_id.in_(some)
        for lake_id, survey, number, size_class, vial, q, heterozygosity, n_loci in session.execute(
            select(
                Survey.lake_id, Survey.code, Fish.number, Fish.size_class, Vial.code, Result.q,
                Result.heterozygosity, Result.n_loci,
            )
            .join(Fish, Fish.survey_id == Survey.id)
            .join(Result, Result.fish_id == Fish.id)
            .join(Vial, Vial.id == Result.vial_id)
            .where(ours, numbers_of_lakes(session, ours))
        ):  # fmt: skip
            if q is not None:
                one = Counted(fish_name(survey, number), size_class, q, heterozygosity, n_loci)
                results.setdefault(lake_id, {})[vial] = one
        for lake_id, survey, size_class, n in session.execute(
            select(Survey.lake_id, Survey.code, Fish.size_class, func.sum(Fish.n_fish))
            .join(Fish, Fish.survey_id == Survey.id)
            .where(ours, of_its_species())
            .group_by(Survey.lake_id, Survey.code, Fish.size_class)
        ):
            caught.setdefault(lake_id, {}).setdefault(survey, {})[size_class or ""] = int(n)
    return {key: Basis(results.get(key, {}), caught.get(key, {})) for key in lake_ids}


def _packed(basis: Basis) -> dict[str, object]:
    return {"results": {vial: list(asdict(one).values()) for vial, one in basis.results.items()},
            "caught": basis.caught}  # fmt: skip


def _unpacked(text: str) -> Basis:
    held = json.loads(text)
    return Basis(
        {vial: Counted(*values) for vial, values in held.get("results", {}).items()}, held.get("caught", {})
    )
