"""What is kept with a finding beside its sentence: the facts it was made of, and what decisions on it did."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, fields
from typing import Any

from geneticlog.rules.finding.finding_kinds import FindingKind
from geneticlog.rules.result.result_states import Outcome


@dataclass(frozen=True)
class Matched:
    """What a match made and changed, so that it can be taken back: ids, and what row and finding said before."""

    result: int
    vial: str
    row_vial: int | None
    row_outcome: Outcome
    finding_vial: int | None


@dataclass(frozen=True)
class FindingData:
    """The data of a finding.

    facts
        what its sentence is made of and what else was seen, by name.
    reason
        its own kind, where it is counted and decided as another.
    row, about
        which row of several a decision lets count, and which vials it is about.
    before
        the values that results held before the decision changed them, each with the result's id.
    replaced, brought_back
        ids of results that the decision let be replaced, or that stand again since.
    unmatched
        ids of results of matches that were taken back.
    answered, answered_by
        it closed itself, and the return (its id) for which it did.
    """

    facts: Mapping[str, Any] = field(default_factory=dict)
    reason: FindingKind | None = None
    row: int | None = None
    about: tuple[str, ...] = ()
    before: tuple[Mapping[str, Any], ...] = ()
    replaced: tuple[int, ...] = ()
    brought_back: tuple[int, ...] = ()
    matched: Matched | None = None
    unmatched: tuple[int, ...] = ()
    answered: bool = False
    answered_by: int | None = None

    def __post_init__(self) -> None:
        if taken := KEPT & self.facts.keys():
            raise ValueError(f"facts of a finding cannot be named {', '.join(sorted(taken))}")

    @property
    def vials(self) -> set[str]:
        """The codes of all vials that the facts name."""
        return vials_named(self.facts)

    def to_json(self) -> str:
        """Return the data as one line of JSON with sorted keys, what is absent left out; from_json reads it back."""
        kept = {name: value for name in KEPT if (value := getattr(self, name)) not in _ABSENT}
        if self.matched:
            kept["matched"] = asdict(self.matched)
        return json.dumps({**self.facts, **kept}, ensure_ascii=False, sort_keys=True, default=str)

    @staticmethod
    def from_json(text: str) -> FindingData:
        """Return the data in a JSON text."""
        values = json.loads(text)
        kept = {name: values.pop(name) for name in KEPT & values.keys()}
        about, reason, matched = (kept.get(name) for name in ("about", "reason", "matched"))
        lists = {
            name: tuple(kept.get(name) or ()) for name in ("before", "replaced", "brought_back", "unmatched")
        }
        return FindingData(
            facts=values,
            reason=FindingKind(reason) if reason else None,
            row=kept.get("row"),
            about=(about,) if isinstance(about, str) else tuple(about or ()),  # one vial was kept as its code
            matched=Matched(**matched | {"row_outcome": Outcome(matched["row_outcome"])})
            if matched
            else None,
            answered=bool(kept.get("answered")),
            answered_by=kept.get("answered_by"),
            **lists,
        )


KEPT = frozenset(one.name for one in fields(FindingData)) - {"facts"}
_ABSENT = (None, False, (), "")


def vials_named(facts: Mapping[str, Any]) -> set[str]:
    """Return the codes of all vials that the facts of a finding name."""
    return {facts[name] for name in ("vial", "other_vial") if facts.get(name)} | set(facts.get("vials", []))
