"""What makes two surveys hard to compare, in words: one sentence part for each code."""

from __future__ import annotations

from geneticlog.faces.app.numbers_in_words import p_value, percent, points, points_range
from geneticlog.rules.report.comparability import Aspect, Footing, chance_not_ruled_out, too_little_in_common
from geneticlog.rules.statistics.missed_kind import MissedKind
from geneticlog.work.report.facts import Change
from geneticlog.work.report.number_facts import Difference


def notes_of(change: Change) -> tuple[str, ...]:
    """Return what differs between the two surveys of a change, and which sizes it leaves out, in a few words each."""
    notes = [_difference(one, *change.footing) for one in change.differs if one is not Aspect.SIZES_TYPED]
    if change.only_one_typed:
        notes.append(f"only one of the two surveys has results in: {', '.join(change.only_one_typed)}")
    if Aspect.SIZES_TYPED in change.differs:
        shares = ((change.earlier, change.earlier_covered), (change.later, change.later_covered))
        notes += [
            f"the size classes with results in both make up only {share * 100:.0f} % of the catch of {survey}"
            for survey, share in shares
            if share is not None and too_little_in_common(share)
        ]
    return tuple(notes)


def could_be_missed(missed: MissedKind | None, first: str, second: str) -> str:
    """Return which fish a difference that looks like none may have missed, as a clause; the groups named in words."""
    if missed is None:
        return "too few fish to call it small"
    whose = first if missed.of_first else second
    return (
        f"a kind of fish making up as much as {percent(missed.share)} of the {whose} could have been missed"
    )


def ages_alone(young: Difference, adult: Difference) -> str:
    """Return the change, or difference, of the young and of the adult fish alone, "" where neither has an interval."""
    parts = []
    for name, age in (("young", young), ("adults", adult)):
        if age.difference is None or age.low is None or age.high is None:
            continue
        p = f"p {p_value(age.p)}"
        if age.p_holm != age.p:
            p += f", after Holm {p_value(age.p_holm)}"
        chance = ": chance is not ruled out" if chance_not_ruled_out(age.low, age.high, age.p_holm) else ""
        chance = ": misreading alone may explain it" if age.misreading_alone else chance
        parts.append(
            f"{name} {points(age.difference).replace('-', '−')} (95 % interval {points_range(age.low, age.high)}; "
            f"{age.n_earlier} and {age.n_later} fish; {p}{chance})"
        )
    return "; ".join(parts)


def _difference(aspect: Aspect, earlier: Footing, later: Footing) -> str:
    if aspect is Aspect.GEAR:
        return f"the gear differs: {earlier.gear} and {later.gear}"
    if aspect is Aspect.PANEL:
        before, after = (", ".join(sorted(one.panels)) or "not known" for one in (earlier, later))
        return f"the panel differs: {before} and {after}"
    if aspect is Aspect.LOCI:
        return f"the loci scored differ: {_range(earlier.loci)} and {_range(later.loci)}"
    if aspect is Aspect.SEASON:
        return f"the season differs: {earlier.on:%B} and {later.on:%B}"
    if earlier.scheme.name == later.scheme.name and earlier.unit != later.unit:
        return f"sizes were measured in {earlier.unit} and in {later.unit}, whose class limits were rounded apart"
    return f"the size classes differ: {earlier.scheme.name} and {later.scheme.name}"


def _range(loci: tuple[int, int] | None) -> str:
    if loci is None:
        return "not stated"
    return str(loci[0]) if loci[0] == loci[1] else f"{loci[0]} to {loci[1]}"
