"""How sizes are named in sentences: which fish are young, and which classes have too few fish."""

from __future__ import annotations

from geneticlog.work.report.facts import SurveyFacts

MOST_NAMED = 3  # classes named one by one in a sentence; more are counted


def which_are_young(survey: SurveyFacts) -> str:
    """Return what the survey's size classes call young and adult, "" where they know one of them alone."""
    first = next((at for at, row in enumerate(survey.classes) if row.adult), 0)
    if not first:
        return ""
    length = f"{survey.class_limits[first]:g} {survey.unit}"
    return f"Young is under {length}, adult is {length} and over, by the size classes of this survey."


def too_few_in(names: list[str], n_classes: int) -> str:
    """Return the clause about the classes caught with too few results: named, or counted where they are many."""
    if not names:
        return ""
    if len(names) > MOST_NAMED:
        return f"; too few or none to say in {len(names)} of the {n_classes} size classes caught"
    return f"; too few or none to say in {listed_words(names)}"


def listed_words(names: list[str]) -> str:
    """Return names as people list them: a, b and c."""
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def length_range(survey: SurveyFacts, at: int) -> str:
    """Return the lengths of a size class as an owner would say them: under 8 in, 8–12 in, 25 in and over."""
    limits, unit = survey.class_limits, survey.unit
    if at == 0 and len(limits) > 1:
        return f"under {limits[1]:g} {unit}"
    if at + 1 < len(limits):
        return f"{limits[at]:g}–{limits[at + 1]:g} {unit}"
    return f"{limits[at]:g} {unit} and over"
