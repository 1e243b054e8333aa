"""The rule set that names a fish: named, dated and printed with every report, since no standard was found."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass, fields
from datetime import date, datetime, time

from geneticlog.errors import GeneticlogError
from geneticlog.toml_text import TomlSyntax, TomlText


class RuleSetFault(GeneticlogError, ValueError):
    """A rule set that cannot be; the sentence names the key and its value."""


LONGEST_NAME = 60
_KINDS: dict[str, type | tuple[type, ...]] = {
    "name": str,
    "dated": str,
    "pure": (int, float),
    "f1_low": (int, float),
    "f1_high": (int, float),
    "f1_least_h": (int, float),
    "least_loci": int,
}
_WANTED = {
    "name": "a text in quotes",
    "dated": "a date YYYY-MM-DD",
    "pure": "a number",
    "f1_low": "a number",
    "f1_high": "a number",
    "f1_least_h": "a number",
    "least_loci": "a whole number",
}


@dataclass(frozen=True, slots=True)
class RuleSet:
    """Cut-offs that turn q, H and the loci scored into an ancestry class.

    name, dated
        What a report prints beside every class; dated as YYYY-MM-DD.
    pure
        A fish with q up to this is one taxon, from 1 - pure the other.
    f1_low, f1_high, f1_least_h
        An F1 has q within these limits and at least this share of heterozygous loci.
    least_loci
        Below this number of scored loci a fish stays "undetermined".
    raises
        RuleSetFault when these contradict each other.
    """

    name: str
    dated: str
    pure: float
    f1_low: float
    f1_high: float
    f1_least_h: float
    least_loci: int

    def __post_init__(self) -> None:
        for field in fields(self):
            value = getattr(self, field.name)
            if isinstance(value, bool) or not isinstance(value, _KINDS[field.name]):
                raise RuleSetFault(f"rule set: {field.name} is {value!r}; {_WANTED[field.name]} is wanted")
        if not self.name.strip():
            raise RuleSetFault("a rule set needs a name, so that a report can say which one it used")
        if self.name != " ".join(self.name.split()) or not self.name.isprintable():
            raise RuleSetFault(
                f"rule set: name is {self.name!r}; one line is wanted, without blanks at its ends"
            )
        if len(self.name) > LONGEST_NAME:
            raise RuleSetFault(
                f"rule set: name has {len(self.name)} characters; at most {LONGEST_NAME} can be printed"
            )
        try:
            if date.fromisoformat(self.dated).isoformat() != self.dated:
                raise ValueError
        except ValueError as fault:
            raise RuleSetFault(
                f"rule set {self.name!r}: dated {self.dated!r} is not a date YYYY-MM-DD"
            ) from fault
        if not 0 <= self.pure < 0.5:
            raise RuleSetFault(f"rule set {self.name!r}: pure is {self.pure!r}; a number from 0 to below 0.5")
        if not self.pure < self.f1_low <= 0.5 <= self.f1_high < 1 - self.pure:
            raise RuleSetFault(
                f"rule set {self.name!r}: f1_low and f1_high are {self.f1_low!r} to {self.f1_high!r}; they must hold"
                f" 0.5 between them and stay clear of pure ({self.pure!r})"
            )
        if not 0 < self.f1_least_h <= 1:
            raise RuleSetFault(
                f"rule set {self.name!r}: f1_least_h is {self.f1_least_h!r}; above 0, at most 1"
            )
        if self.least_loci < 1:
            raise RuleSetFault(f"rule set {self.name!r}: least_loci is {self.least_loci!r}; at least 1")

    @property
    def label(self) -> str:
        """Name and date, as a report prints them and a person may type them: ``strict, 2026-06-01``."""
        return f"{self.name}, {self.dated}"

    def cut_offs(self) -> dict[str, str | float | int]:
        """Return the seven values by key."""
        return asdict(self)

    def to_toml(self) -> str:
        """Return the rule set as the TOML text that `rule_set_from_toml` reads."""
        cut_offs = self.cut_offs()
        return "".join(
            f"{key} = {value if key == 'dated' else json.dumps(value, ensure_ascii=False)}\n"
            for key, value in cut_offs.items()
        )

    def sentence(self, taxon: str = "Florida", other_taxon: str = "northern") -> str:
        """Return the rule set in plain sentences, for print."""
        return (
            f"Classes by the rule set “{self.name}” of {self.dated}: {other_taxon} at q ≤ {self.pure:g}, {taxon} at"
            f" q ≥ {1 - self.pure:g}, F1 at q {self.f1_low:g} to {self.f1_high:g} with at least"
            f" {100 * self.f1_least_h:g} % of loci heterozygous, otherwise intergrade; undetermined below"
            f" {self.least_loci} loci, or where an F1 cannot be named because heterozygosity is missing."
            " Where the loci of a fish are not stated, the least number of loci is not tested."
        )


# Own proposal: no single published standard was found; 0.95/0.05 and 0.90/0.10 are both in use [from memory].
# At 35 loci the 0.05 rule passes 2e-7 of first and .014 of second backcrosses; at 12 loci .003 and .158, so
# fewer than 12 loci name nothing.
DEFAULT_RULE_SET = RuleSet("house default", "2026-05-01", 0.05, 0.45, 0.55, 0.90, 12)


def rule_set_from_toml(text: str) -> RuleSet:
    """Return the rule set written in a TOML text: the seven keys of RuleSet at its top level, no others.

    raises
        RuleSetFault for text that is not TOML, a missing, unknown or mistyped key, or cut-offs that contradict.
    """
    try:
        toml = TomlText(text)
    except TomlSyntax as fault:
        raise RuleSetFault(f"this rule set is not TOML: {fault}") from None
    table = toml.table
    for key in table:
        if key not in _KINDS:
            raise RuleSetFault(
                f"rule set, line {toml.line_of('', key)}: {key!r} is not a key of a rule set; they are"
                f" {', '.join(_KINDS)}"
            )
    for key in _KINDS:
        if key not in table:
            raise RuleSetFault(f"rule set: the key {key!r} is missing")
    dated = table["dated"]
    if isinstance(dated, datetime | time):
        raise RuleSetFault(
            f"rule set: dated is {dated.isoformat()}; a date YYYY-MM-DD without a time of day is wanted"
        )
    if isinstance(dated, date):
        table["dated"] = dated.isoformat()
    for key in ("pure", "f1_low", "f1_high", "f1_least_h"):
        if isinstance(table[key], int) and not isinstance(table[key], bool):
            table[key] = float(table[key])
    return RuleSet(**table)
