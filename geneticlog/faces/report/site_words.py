"""What fish caught together, and misread alleles, do to the numbers of a survey, in sentences and for --json."""

from __future__ import annotations

from typing import Any

from geneticlog.faces.app.numbers_in_words import percent, tenth, three
from geneticlog.faces.report.panel_words import carrier_sentence, error_document, error_sentences
from geneticlog.rules.sentences import n_of
from geneticlog.rules.statistics.clusters import LEAST_SITES
from geneticlog.work.report.facts import SurveyFacts

ALIKE_FROM = 1.5  # design effect from which the answer speaks of it


def alone_sentence(survey: SurveyFacts) -> str:
    """Return the sentence that misreading alone explains a mean, "" where it does not or nothing is read."""
    told = survey.misreading
    if told is None or not told.alone or survey.swabbed.mean in (None, 0.0, 1.0):
        return ""
    taxon = survey.taxon if (survey.swabbed.mean or 0.0) <= 0.5 else survey.other_taxon
    return (
        f"Misread alleles alone explain this: the panel may misread up to {_share(told.error.rate.high)} of them, and "
        f"these fish show no more {taxon} alleles than that."
    )


def misreading_sentences(survey: SurveyFacts) -> list[str]:
    """Return what the panel's error does to the numbers, for the appendix."""
    told = survey.misreading
    if told is None or not survey.fish:
        return []
    error = told.error
    loci = sorted(one.n_loci for one in survey.fish if one.n_loci)
    usual = loci[len(loci) // 2] if loci else None
    said = [
        f"Panel {error.panel or 'not named'}: " + error_sentences(error, survey.taxon, usual)[0],
        carrier_sentence(error, survey.taxon, usual),
        "The interval of the catch-weighted mean reaches as far as misreading at the upper limit of that rate could "
        f"have moved it. Corrected for the rate itself the mean is {three(told.corrected_mean)}"
        + (
            f" and mean heterozygosity {three(told.corrected_heterozygosity)}."
            if told.corrected_heterozygosity is not None
            else "."
        ),
    ]
    return [one for one in [*said, alone_sentence(survey)] if one]


def site_warning(survey: SurveyFacts) -> str:
    """Return what the answer has to say of fish caught together, "" where nothing."""
    told = survey.sites
    if told is None:
        return ""
    said = []
    if told.design_effect is not None and told.design_effect >= ALIKE_FROM:
        how = "the interval allows for it" if told.leads else "the interval does not allow for it"
        said.append(
            f"Fish of one site are alike (design effect {told.design_effect:.1f} over {told.n_sites} "
            f"site{'s' * (told.n_sites != 1)}); {how}."
        )
    if told.young_site is not None:
        said.append(
            f"{told.n_young_there} of {told.n_young} young fish are from one site, {told.young_site}: perhaps one "
            "brood, and then they tell of two parents, not of the lake."
        )
    return " ".join(said)


def site_sentences(survey: SurveyFacts) -> list[str]:
    """Return what is known of the sites, for the appendix."""
    told = survey.sites
    if told is None:
        if not survey.fish:
            return []
        return [
            "No site is logged with these fish, so nothing shows whether fish caught together are alike; young of one "
            "brood would look like many fish but show two parents."
        ]
    without = f", and {told.n_without} fish without a site" if told.n_without else ""
    said = f"The fish with a result are from {n_of(told.n_sites, 'site')}{without}."
    if told.design_effect is not None:
        said += (
            f" Design effect {told.design_effect:.2f}: the variance of the catch-weighted mean over sites is that many "
            "times that over single fish."
        )
    if told.leads:
        said += " The interval follows the sites where they make it wider."
    else:
        said += (
            f" From {LEAST_SITES} sites on the interval follows them; with fewer it stays that of single fish and may "
            "be too narrow."
        )
    return [said]


def misreading_document(survey: SurveyFacts) -> dict[str, Any] | None:
    """Return the panel's error and what it does, for --json."""
    told = survey.misreading
    if told is None:
        return None
    return {
        "panel": told.error.panel,
        **error_document(told.error),
        "explains_alone": told.alone,
        "corrected_mean": told.corrected_mean,
        "corrected_heterozygosity": told.corrected_heterozygosity,
    }


def _share(value: float) -> str:
    return percent(value) if value >= 0.001 else tenth(value)
