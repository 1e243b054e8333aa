"""Whether fish are of a few broods, in sentences."""

from __future__ import annotations

from typing import Any

from geneticlog.faces.app.numbers_in_words import p_value
from geneticlog.rules.genetics.broods import FEW_FISH, LEAST_FISH, LEAST_LOCI, BroodSign
from geneticlog.work.report.facts import SurveyFacts

TRIED = (
    "In trials (38 loci, 33 fish) at most 1 lake in 20 without broods is taken for one of broods. Of the broods found, "
    "at least 19 in 20 were no more in effect than is said here; where first crosses or backcrosses bred they were "
    "often many times fewer. Fish all of one brood, and broods of parents that are all alike, are not found."
)


def brood_warning(survey: SurveyFacts) -> str:
    """Return what the answer has to say of broods, "" where none are found."""
    broods = survey.broods
    if broods is None or not broods.sign.found:
        return ""
    whose = "young fish" if broods.of == "young" else "fish"
    return (
        f"By their genotypes the {whose} are of few broods ({_found(broods.sign)}); they show few parents, and the "
        "interval, which treats each fish as a sample of its own, is too narrow."
    )


def _found(sign: BroodSign) -> str:
    """Return how sure the broods are, and at most how many."""
    most = (
        ""
        if sign.at_most is None
        else f"; in effect no more than about {sign.at_most:.0f}, perhaps far fewer"
    )
    return f"p {p_value(sign.p)}{most}"


def brood_sentences(survey: SurveyFacts) -> list[str]:
    """Return what genotypes say of broods, for the appendix; nothing without genotypes."""
    broods = survey.broods
    if broods is None:
        return []
    sign = broods.sign
    whose = f"{sign.n_fish} {'young fish' if broods.of == 'young' else 'fish'} with genotypes"
    if sign.guard == FEW_FISH:
        return [f"Broods were not looked for: {whose} are fewer than {LEAST_FISH}."]
    if sign.guard:
        return [
            f"Broods cannot be looked for: too few loci vary among the {whose} ({sign.n_loci:.0f} in effect; it takes "
            f"{LEAST_LOCI})."
        ]
    if not sign.found:
        return [f"No sign of broods among the {whose}. {TRIED}"]
    return [f"The {whose} are of few broods ({_found(sign)}). {TRIED}"]


def brood_document(survey: SurveyFacts) -> dict[str, Any] | None:
    """Return what genotypes say of broods, for --json; None without genotypes.

    effective_number, low and high are null: no number held the true one often enough; at_most is what can be said.
    """
    broods = survey.broods
    if broods is None:
        return None
    sign = broods.sign
    return {
        "of": broods.of, "n_fish": sign.n_fish, "n_loci": sign.n_loci, "guard": sign.guard, "p": sign.p,
        "found": sign.found, "at_most": sign.at_most, "effective_number": None, "low": None, "high": None,
    }  # fmt: skip
