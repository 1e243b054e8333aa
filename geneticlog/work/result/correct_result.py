"""Correct one value that a lab gave: the old one, who, when and why stay in the history of its vial."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.errors import NotFound, Refused
from geneticlog.rules.finding.finding_kinds import FINDINGS
from geneticlog.rules.lab_return.columns.value_checks import SUM_TOLERANCE, check_pair
from geneticlog.rules.result.result_states import UNDER_WAY, Outcome, ResultStanding
from geneticlog.rules.stamp import Stamp
from geneticlog.rules.vialcode import printed
from geneticlog.store.tables import Genotype, Result, Vial
from geneticlog.work.events import record, require_reason
from geneticlog.work.result.counted_result import settle

FIELDS = ("q", "heterozygosity", "n_loci", "failure")
OF_A_TYPED_ONE = ("q", "other_q", "third_q", "heterozygosity")


@dataclass(frozen=True)
class ResultCorrected:
    """A corrected result: what was changed, from and to, and its standing, which a correction leaves as it is."""

    vial: str
    changes: dict[str, tuple[Any, Any]]
    standing: ResultStanding


def correct_result(
    session: Session,
    vial: Vial,
    changes: Mapping[str, Any],
    *,
    why: str,
    stamp: Stamp,
    sure: bool = False,
) -> ResultCorrected:
    """Change what is stored of the result of a vial: q, heterozygosity (shares of one), n_loci, or failure.

    A failure takes the values away: the sample gave no result. A q on a failed sample makes it a typed one. Where the
    lab gave the other taxon's share too, that becomes what q leaves.

    sure
        values that are no whole number of alleles at the loci scored are meant so.
    raises
        NotFound for a vial without a result; Refused without a reason, for a value that cannot be, for one counted
        from genotypes, and while several rows contradict each other.
    """
    require_reason(why, "the correction")
    result = _the_result(session, vial)
    values = _values_after(result, changes)
    _check(session, result, values, sure)
    values |= _the_other_share(result, values)
    changed = {name: (getattr(result, name), value) for name, value in values.items()}
    changed = {name: pair for name, pair in changed.items() if pair[0] != pair[1]}
    for name, (_, value) in changed.items():
        setattr(result, name, value)
    if result.outcome == Outcome.FAILED or result.q is None:
        result.fish_id = None
    if changed:
        record(
            session, "result_corrected", "vial", vial.code, stamp=stamp, why=why.strip(),
            old={name: old for name, (old, _) in changed.items()},
            new={name: new for name, (_, new) in changed.items()},
        )  # fmt: skip
        settle(session, {vial.id})
    return ResultCorrected(vial.code, changed, result.standing)


def _the_result(session: Session, vial: Vial) -> Result:
    results = list(
        session.scalars(
            select(Result)
            .where(Result.vial_id == vial.id, Result.standing.in_(UNDER_WAY))
            .order_by(Result.id)
        )
    )
    current = [one for one in results if one.standing == ResultStanding.CURRENT]
    if not results:
        raise NotFound(
            f"{printed(vial.code)} has no result to correct; see its life: geneticlog history {vial.code}"
        )
    if not current and len(results) > 1:
        raise Refused(
            f"{printed(vial.code)} has {len(results)} contradictory results; first decide which one is right:"
            f" geneticlog finding list --shipment SHIPMENT --open"
        )
    return (current or results)[0]


def _values_after(result: Result, changes: Mapping[str, Any]) -> dict[str, Any]:
    if unknown := sorted(set(changes) - set(FIELDS)):
        raise Refused(f"a result has no {', '.join(unknown)} to correct; it has {', '.join(FIELDS)}")
    values = dict(changes)
    if values.get("failure") is not None:
        if len(values) > 1:
            raise Refused("a failed sample has no value; give --failed alone")
        return values | {"outcome": Outcome.FAILED} | dict.fromkeys(OF_A_TYPED_ONE)
    if result.outcome == Outcome.FAILED:
        if values.get("q") is None:
            raise Refused(f"{printed(result.vial.code)} failed; give its --q to make it a result")
        values |= {"outcome": Outcome.TYPED, "failure": None}
    return values


def _the_other_share(result: Result, values: Mapping[str, Any]) -> dict[str, float]:
    """The other taxon's share that a corrected q leaves, where the lab gave one that does not."""
    q, third = values.get("q"), result.third_q or 0.0
    if q is None or result.other_q is None or abs(q + result.other_q + third - 1) <= SUM_TOLERANCE:
        return {}
    return {"other_q": max(1.0 - q - third, 0.0)}


def _check(session: Session, result: Result, values: Mapping[str, Any], sure: bool) -> None:
    code = printed(result.vial.code)
    for name in ("q", "heterozygosity"):
        value = values.get(name)
        if value is not None and not 0 <= value <= 1:
            raise Refused(f"{name} {value:g} cannot be: it is a share from 0 to 1 (write 21 % or 0.21)")
    n_loci = values.get("n_loci", result.n_loci)
    if n_loci is not None and not n_loci > 0:
        raise Refused(f"{n_loci} loci is not possible; the number of loci scored must be above 0")
    if values.get("outcome") == Outcome.FAILED:
        return
    if session.scalar(select(Genotype.marker).where(Genotype.result_id == result.id).limit(1)) is not None:
        raise Refused(
            f"{code} has its genotypes, which a value typed by hand would contradict; decide with recount where the two"
            " differ, or withdraw the return and read a corrected file"
        )
    third = result.third_q or 0.0
    if values.get("q") is not None and values["q"] + third > 1 + SUM_TOLERANCE:
        raise Refused(
            f"{code} has {third:.4g} of a third lineage, and with q {values['q']:g} the shares pass 1"
        )
    q, h = values.get("q", result.q), values.get("heterozygosity", result.heterozygosity)
    if q is None:
        return
    for noted in check_pair(q, h, n_loci, 0.5e-3, 0.5e-3):
        sentence = FINDINGS[noted.kind].single or FINDINGS[noted.kind].sentence
        text = sentence.format(**{**noted.facts, "vial": code, "row": "as corrected", "rows": "as corrected"})
        text = text.replace(", row as corrected", " as corrected")
        if FINDINGS[noted.kind].holds:
            raise Refused(text)
        if not sure:
            raise Refused(f"{text} If that is right, confirm it with --yes")
