"""What the database knows of a panel's misreadings: blind duplicates, known fish, blanks, or what its source states."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any, TypeVar

from sqlalchemy import ColumnElement, Select, case, func, literal_column, select
from sqlalchemy.orm import Session, aliased

from geneticlog.errors import Refused
from geneticlog.rules.genetics.miscalls import (
    ASSUMED_RATE,
    MiscallRate,
    measured_rate,
    rate_in_use,
    stated_rate,
)
from geneticlog.rules.lab_return.doubts_of_rows.known_fish import F1, contradicts_kind, misread_of_known
from geneticlog.rules.lab_return.words.headings import Taxa
from geneticlog.rules.label.vial_states import VialRole, VialStanding
from geneticlog.rules.result.result_states import Outcome, ResultStanding
from geneticlog.rules.stamp import Stamp
from geneticlog.store.tables import Genotype, KnownVial, Panel, Result, Vial
from geneticlog.work.events import record
from geneticlog.work.result.in_the_numbers import in_force, usable

Key = TypeVar("Key", int, str)


@dataclass(frozen=True)
class PanelError:
    """The miscall rate of a panel and what it rests on.

    n_pairs: blind duplicates with genotypes in both vials; n_known: fish of known kind; n_blanks, n_blanks_typed:
    blanks with a result, and those of them that gave a genotype. A blank shows DNA carried from well to well, not
    of misread alleles, so it is in no rate.
    """

    panel: str | None
    rate: MiscallRate
    n_pairs: int = 0
    n_known: int = 0
    n_blanks: int = 0
    n_blanks_typed: int = 0


NO_PANEL = PanelError(None, ASSUMED_RATE)


def panel_errors(session: Session) -> dict[int, PanelError]:
    """Return the error of every panel by its id: measured where duplicates or known fish say more than is stated, else
    as stated, else assumed (`rate_in_use`).
    """
    pairs, known, blanks = _pairs(session), _known(session), _blanks(session)
    errors = {}
    for panel in session.scalars(select(Panel)):
        n_pairs, compared, different = pairs.get(panel.id, (0, 0, 0))
        of_known = known.get(panel.id, [])
        otherwise = ASSUMED_RATE
        if panel.miscall_rate is not None:
            otherwise = stated_rate(panel.miscall_rate, panel.miscall_high)
        rate = rate_in_use(measured_rate([(compared, different)] if compared else [], of_known), otherwise)
        n_blanks, typed = blanks.get(panel.id, (0, 0))
        errors[panel.id] = PanelError(panel.code, rate, n_pairs, len(of_known), n_blanks, typed)
    return errors


def highest(errors: Mapping[Key, PanelError], panels: Iterable[Key | None]) -> PanelError:
    """Return the error of the panel that may misread most among some, by its upper limit; without one the assumed.

    errors, panels
        By the panel's id, or by its code.
    """
    used = [errors.get(panel, NO_PANEL) if panel is not None else NO_PANEL for panel in set(panels)]
    return max(used, key=lambda one: (one.rate.high, one.panel or ""), default=NO_PANEL)


def say_known(session: Session, vial: Vial, kind: str | None, why: str, *, stamp: Stamp) -> str | None:
    """Keep that a vial is of a fish of a known kind, one of a panel's taxa or F1; None takes it back.

    Returns the kind as it is kept. Raises Refused for an unknown kind, a blank, no reason, or a result that says
    otherwise.
    """
    if not why.strip():
        raise Refused("a reason is needed: how is the kind of this fish known without its genotype?")
    if vial.standing != VialStanding.FILLED:
        raise Refused(
            f"vial {vial.code} is {vial.standing}; only a vial filled from a fish can be of a known kind"
        )
    known = session.get(KnownVial, vial.id)
    old = {"kind": known.kind} if known else None
    if kind is None:
        if known is None:
            raise Refused(f"vial {vial.code} is not among the known fish")
        session.delete(known)
        record(session, "unknown", "vial", vial.code, stamp=stamp, old=old, why=why)
        return None
    taxa = {F1.casefold(): F1}
    for panel in session.scalars(select(Panel)):
        taxa |= {name.casefold(): name for name in (panel.taxon, panel.other_taxon)}
    word = taxa.get(kind.strip().casefold())
    if word is None:
        raise Refused(
            f"{kind!r} is not a kind of fish that a panel can tell; they are {', '.join(sorted(taxa.values()))}"
        )
    _refuse_a_kind_that_its_result_contradicts(session, vial, word)
    if known is None:
        session.add(KnownVial(vial_id=vial.id, kind=word, why=why, said_at=stamp.now, said_by=stamp.by))
    else:
        known.kind, known.why, known.said_at, known.said_by = word, why, stamp.now, stamp.by
    record(session, "known", "vial", vial.code, stamp=stamp, old=old, new={"kind": word}, why=why)
    return word


def _refuse_a_kind_that_its_result_contradicts(session: Session, vial: Vial, kind: str) -> None:
    """Raise Refused where the counted result of a vial is not explained by the kind that its fish is said to be."""
    row = session.execute(
        select(Panel, Result.q, Result.heterozygosity, Result.n_loci)
        .select_from(Result)
        .join(Panel, Panel.id == Result.panel_id)
        .where(Result.vial_id == vial.id, usable())
    ).first()
    if row is None:
        return
    panel, q, heterozygosity, n_loci = row
    taxa = Taxa(panel.taxon, panel.other_taxon)
    if q is not None and contradicts_kind(kind, taxa, q, heterozygosity, n_loci or panel.n_loci):
        raise Refused(
            f"vial {vial.code} has a result of q {q:.3g}, which no misreading makes of a fish that is {kind}; if the"
            " kind is right, first take the result out: geneticlog correct result VIAL --failed WORD --why TEXT"
        )


def _pairs(session: Session) -> dict[int, tuple[int, int, int]]:
    """Of each panel: duplicates with genotypes, alleles compared, and alleles that differ."""
    rows = session.execute(_pairs_of_panels())
    return {panel: (int(n), int(compared), int(different)) for panel, n, compared, different in rows}


@cache
def _pairs_of_panels() -> Select[int | None, int, int, Any]:
    """A report asks this for every survey and plan; to write the question takes longer than to answer it."""
    first, second = aliased(Result), aliased(Result)
    vial, duplicate = aliased(Vial), aliased(Vial)
    call, other = aliased(Genotype), aliased(Genotype)
    return (
        select(
            first.panel_id,
            func.count(duplicate.id.distinct()),
            2 * func.count(),
            func.sum(func.abs(call.n_alleles - other.n_alleles)),
        )
        .select_from(duplicate)
        .join(second, second.vial_id == duplicate.id)
        .join(vial, (vial.fish_id == duplicate.fish_id) & (vial.role == VialRole.SAMPLE))
        .join(first, (first.vial_id == vial.id) & (first.panel_id == second.panel_id))
        .join(call, call.result_id == first.id)
        .join(other, (other.result_id == second.id) & (other.marker == call.marker))
        .where(
            duplicate.role == VialRole.BLIND_DUPLICATE,
            _for_the_lab_alone(duplicate),
            first.standing == ResultStanding.CURRENT,
            second.standing == ResultStanding.CURRENT,
            call.n_alleles.is_not(None),
            other.n_alleles.is_not(None),
        )
        .group_by(first.panel_id)
    )


def _for_the_lab_alone(vial: type[Vial]) -> ColumnElement[bool]:
    """Return the condition that a vial is a duplicate or a blank, as the index of these few writes it."""
    return vial.role != literal_column("'sample'")


def _known(session: Session) -> dict[int, list[tuple[int, int]]]:
    """Of each panel: alleles read and misread of each fish of known kind, from q, H and the loci scored."""
    by_panel: dict[int, list[tuple[int, int]]] = defaultdict(list)
    if session.scalar(select(KnownVial.vial_id).limit(1)) is None:
        return by_panel
    rows = session.execute(
        select(KnownVial.kind, Panel, Result.q, Result.heterozygosity, Result.n_loci)
        .join(Result, Result.vial_id == KnownVial.vial_id)
        .join(Panel, Panel.id == Result.panel_id)
        .where(usable())
    )
    for kind, panel, q, heterozygosity, n_loci in rows:
        if q is None or n_loci is None:
            continue
        counts = misread_of_known(kind, Taxa(panel.taxon, panel.other_taxon), q, heterozygosity, n_loci)
        if counts:
            by_panel[panel.id].append(counts)
    return by_panel


def _blanks(session: Session) -> dict[int, tuple[int, int]]:
    """Of each panel: blanks with a result, and those that gave a genotype."""
    rows = session.execute(
        select(
            Result.panel_id,
            func.count(),
            func.sum(case((Result.outcome == Outcome.TYPED, 1), else_=0)),
        )
        .join(Vial, Vial.id == Result.vial_id)
        .where(
            Vial.role == VialRole.BLANK,
            _for_the_lab_alone(Vial),
            in_force(),
            Result.panel_id.is_not(None),
        )
        .group_by(Result.panel_id)
    )
    return {panel: (int(n), int(typed or 0)) for panel, n, typed in rows}
