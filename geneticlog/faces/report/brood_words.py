"""Whether fish are of a few broods, in sentences."""

from __future__ import annotations

from typing import Any

from geneticlog.rules.genetics.broods import FEW_FISH, LEAST_FISH, LEAST_LOCI
from geneticlog.work.report.facts import SurveyFacts

FEW_BROODS = 10.0  # from more in effect fish tell of the lake nearly as single ones do
TRIED = (
    "In trials (38 loci, 33 fish) at most 1 lake in 20 without broods is taken for one of broods; where second "
    "crosses or a swarm bred, 9 in 10 numbers from four broods on lie within half and twice the true one, and where "
    "first crosses or backcrosses did the number told is three to six times too great. Fish all of one brood, and "
    "broods of parents that are all alike, are not found."
)


def brood_warning(survey: SurveyFacts) -> str:
    """Return what the answer has to say of broods, "" where no few are found."""
    broods = survey.broods
    if (
        broods is None
        or not broods.sign.found
        or broods.sign.n_broods is None
        or broods.sign.n_broods > FEW_BROODS
    ):
        return ""
    whose = "young fish" if broods.of == "young" else "fish"
    return (
        f"By their genotypes the {whose} come in effect from about {broods.sign.n_broods:.0f} broods or fewer; they "
        "tell of so few parents, and the interval, which takes fish as single, is too narrow."
    )


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
    upper = "no limit" if sign.high is None else f"{sign.high:.0f}"
    number = "" if sign.n_broods is None or sign.low is None else (
        f": in effect about {sign.n_broods:.0f} or fewer (95 % interval {sign.low:.0f} to {upper})"
    )  # fmt: skip
    return [f"The {whose} are of few broods{number}. {TRIED}"]


def brood_document(survey: SurveyFacts) -> dict[str, Any] | None:
    """Return what genotypes say of broods, for --json; None without genotypes."""
    broods = survey.broods
    if broods is None:
        return None
    sign = broods.sign
    return {
        "of": broods.of, "n_fish": sign.n_fish, "n_loci": sign.n_loci, "guard": sign.guard, "p": sign.p,
        "found": sign.found, "effective_number": sign.n_broods, "low": sign.low, "high": sign.high,
    }  # fmt: skip
