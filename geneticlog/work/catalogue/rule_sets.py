"""Rule sets that name ancestry classes: which there are, which is in force, and bringing one into force.

A rule set that is kept is never changed, since reports name it by name and date. The one in force is the one chosen
last; before any choice it is the house default, which needs no row.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.errors import NotFound, Refused
from geneticlog.rules.genetics.rule_set import DEFAULT_RULE_SET, RuleSet, RuleSetFault, rule_set_from_toml
from geneticlog.rules.stamp import Stamp
from geneticlog.store.tables import KeptRuleSet, RuleSetChoice
from geneticlog.work.events import record

IN_FORCE = "brought_into_force"


@dataclass(frozen=True)
class KnownRuleSet:
    """A rule set, whether it is in force, and who entered it; the house default came with the program."""

    rule_set: RuleSet
    in_force: bool
    content: str
    added_at: datetime | None = None
    added_by: str | None = None


def add_rule_set(session: Session, content: str, *, stamp: Stamp) -> tuple[RuleSet, bool]:
    """Keep a rule set written in TOML; returns it and whether it is new.

    The same cut-offs under the same name and date change nothing. Raises RuleSetFault for a text that is no rule
    set, Refused for other cut-offs under a name and date that are there already, and for the name of the house
    default.
    """
    rule_set = rule_set_from_toml(content)
    if rule_set.name.casefold() == DEFAULT_RULE_SET.name:
        raise Refused(
            f"{DEFAULT_RULE_SET.name!r} is the name of the rule set that comes with the program; give yours another"
        )
    for known in list_rule_sets(session):
        kept = known.rule_set
        if (kept.name.casefold(), kept.dated) != (rule_set.name.casefold(), rule_set.dated):
            continue
        if kept == rule_set:
            return kept, False
        raise Refused(
            f"there is a rule set {kept.label} with other cut-offs ({_differences(kept, rule_set)}); what reports"
            " have named is never changed, so give this one another date or name"
        )
    session.add(
        KeptRuleSet(
            name=rule_set.name,
            dated=date.fromisoformat(rule_set.dated),
            content=content,
            added_at=stamp.now,
            added_by=stamp.by,
        )
    )
    session.flush()
    record(session, "entered", "rule_set", rule_set.label, stamp=stamp, new=rule_set.cut_offs())
    return rule_set, True


def _differences(old: RuleSet, new: RuleSet) -> str:
    return ", ".join(
        f"{key} is {held!r} there" for key, held in old.cut_offs().items() if held != new.cut_offs()[key]
    )


def list_rule_sets(session: Session) -> list[KnownRuleSet]:
    """Return every rule set, the house default first, then by name, the newest date of a name first."""
    used = _in_force(session)
    rows = sorted(
        session.scalars(select(KeptRuleSet)), key=lambda row: (row.name.casefold(), -row.dated.toordinal())
    )
    default = KnownRuleSet(DEFAULT_RULE_SET, True, DEFAULT_RULE_SET.to_toml())
    kept = []
    for row in rows:
        held = _read(row)
        kept.append(KnownRuleSet(held, row is used, row.content, row.added_at, row.added_by))
    if any(known.in_force for known in kept):
        default = KnownRuleSet(DEFAULT_RULE_SET, False, default.content)
    return [default, *kept]


def find_rule_set(session: Session, named: str) -> KnownRuleSet:
    """Return a rule set by its name, in any case, the newest of that name; or by "name, date".

    Raises NotFound with the rule sets that are there.
    """
    wanted = " ".join(named.split()).casefold()
    known = list_rule_sets(session)
    for there in known:
        if wanted in (there.rule_set.name.casefold(), there.rule_set.label.casefold()):
            return there
    labels = "; ".join(there.rule_set.label for there in known[:6]) + ("; …" if len(known) > 6 else "")
    raise NotFound(f"no rule set {named!r}; there are: {labels} (see: geneticlog ruleset list)")


def use_rule_set(session: Session, named: str, *, stamp: Stamp) -> tuple[RuleSet, RuleSet]:
    """Bring a rule set into force; returns the one before and the one now. Raises NotFound."""
    before = rule_set_in_force(session)
    chosen = find_rule_set(session, named).rule_set
    if chosen != before:
        row = session.scalar(
            select(KeptRuleSet).where(
                KeptRuleSet.name == chosen.name, KeptRuleSet.dated == date.fromisoformat(chosen.dated)
            )
        )
        session.add(RuleSetChoice(rule_set=row, at=stamp.now, by=stamp.by))
        record(
            session, IN_FORCE, "rule_set", chosen.label, stamp=stamp,
            old={"name": before.name, "dated": before.dated}, new={"name": chosen.name, "dated": chosen.dated},
        )  # fmt: skip
        session.flush()
    return before, chosen


def rule_set_in_force(session: Session) -> RuleSet:
    """Return the rule set that names ancestry classes now."""
    row = _in_force(session)
    return DEFAULT_RULE_SET if row is None else _read(row)


def chosen_rule_set(session: Session, named: str | None) -> RuleSet:
    """Return the rule set named, or with no name the one in force. Raises NotFound."""
    return rule_set_in_force(session) if named is None else find_rule_set(session, named).rule_set


def _in_force(session: Session) -> KeptRuleSet | None:
    """Return the rule set chosen last; None for the house default."""
    last = session.scalar(select(RuleSetChoice).order_by(RuleSetChoice.id.desc()).limit(1))
    return None if last is None else last.rule_set


def _read(row: KeptRuleSet) -> RuleSet:
    try:
        return rule_set_from_toml(row.content)
    except RuleSetFault as fault:
        raise RuleSetFault(f"the rule set {row.name}, {row.dated} in the database: {fault}") from fault
