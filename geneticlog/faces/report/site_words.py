"""What fish caught together, and misread alleles, do to the numbers of a survey, in sentences and for --json."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from geneticlog.faces.app.numbers_in_words import percent, tenth, three
from geneticlog.faces.report.panel_words import carrier_sentence, error_document, error_sentences
from geneticlog.rules.sentences import n_of
from geneticlog.rules.statistics.clusters import LEAST_SITES, LEAST_SITES_TO_SAY
from geneticlog.rules.statistics.site_cells import ALIKE_FROM
from geneticlog.work.report.facts import SurveyFacts
from geneticlog.work.report.lake_sites import Sites
from geneticlog.work.report.number_facts import Number, WeightedNumber

if TYPE_CHECKING:
    from geneticlog.work.portfolio.gather import LakeLine


def alone_sentence(survey: SurveyFacts) -> str:
    """Return the sentence that misreading alone explains a mean, "" where it does not or nothing is read."""
    misreading = survey.misreading
    if misreading is None or not only_misread(leading_mean(survey)):
        return ""
    taxon = rare_taxon(survey.swabbed.mean, survey.taxon, survey.other_taxon)
    passing = ""
    if taxon == survey.taxon and survey.n_carriers:
        carriers = "a carrier" if survey.n_carriers == 1 else "carriers"
        passing = f"; of {survey.n_resulted} pure fish {survey.n_carriers} may pass for {carriers} by chance"
    return (
        f"Misread alleles alone explain this: the panel may misread up to {_share(misreading.error.rate.high)} of them,"
        f" and these fish show no more {taxon} alleles than that{passing}."
    )


def leading_mean(survey: SurveyFacts) -> Number | WeightedNumber:
    """Return the mean that a survey is told by: of its catch, or of the fish swabbed where no length is known."""
    return survey.swabbed if survey.catch_weighted.mean is None else survey.catch_weighted


def only_misread(number: Number | WeightedNumber | LakeLine) -> bool:
    """Return whether a mean is to be told as misreading alone: some alleles were read, and no more than it explains."""
    return number.misreading_alone and number.mean not in (0.0, 1.0)


def rare_taxon(mean: float | None, taxon: str, other_taxon: str) -> str:
    """Return the taxon that fewer of the alleles are of: what misreading alone can explain is of that one."""
    return taxon if (mean or 0.0) <= 0.5 else other_taxon


def misreading_sentences(survey: SurveyFacts) -> list[str]:
    """Return what the panel's error does to the numbers, for the appendix."""
    misreading = survey.misreading
    if misreading is None or not survey.fish:
        return []
    error = misreading.error
    loci = sorted(one.n_loci for one in survey.fish if one.n_loci)
    usual = loci[len(loci) // 2] if loci else None
    sentences = [
        f"Panel {error.panel or 'not named'}: " + error_sentences(error, survey.taxon, usual)[0],
        carrier_sentence(error, survey.taxon, usual),
        "The intervals of the lake's two means reach as far as misreading at the upper limit of that rate could have "
        "moved them; those of size classes, and of young and adult fish, leave it aside. "
        f"Corrected for the rate itself the leading mean is {three(misreading.corrected_mean)}"
        + (
            f" and mean heterozygosity {three(misreading.corrected_heterozygosity)}."
            if misreading.corrected_heterozygosity is not None
            else "."
        ),
    ]
    return [one for one in [*sentences, alone_sentence(survey)] if one]


def not_allowed_for(survey: SurveyFacts) -> bool:
    """Return whether fish of one site are alike and the interval, of too few sites, does not allow for it."""
    sites = survey.sites
    return (
        sites is not None
        and sites.design_effect is not None
        and sites.design_effect >= ALIKE_FROM
        and not sites.leads
    )


def site_warning(survey: SurveyFacts) -> str:
    """Return what the answer has to say of fish caught together, "" where nothing."""
    sites = survey.sites
    if sites is None:
        return ""
    warnings = []
    if sites.design_effect is not None and sites.design_effect >= ALIKE_FROM:
        how = "the interval does not allow for it"
        if not not_allowed_for(survey):
            how = "the intervals of the mean and of differences allow for it"
        warnings.append(
            f"Fish of one site are alike (design effect {sites.design_effect:.1f} over {sites.n_sites} "
            f"site{'s' * (sites.n_sites != 1)}); {how}."
        )
    if sites.young_site is not None:
        warnings.append(
            f"{sites.n_young_there} of {sites.n_young} young fish are from one site, {sites.young_site}: perhaps one "
            "brood, and then they represent two parents, not the lake."
        )
    return " ".join(warnings)


def site_sentences(survey: SurveyFacts) -> list[str]:
    """Return what is known of the sites, for the appendix."""
    sites = survey.sites
    if sites is None:
        if not survey.fish:
            return []
        return [
            "No site is logged with these fish, so nothing shows whether fish caught together are alike; young of one "
            "brood would look like many fish but show two parents."
        ]
    without = f", and {sites.n_without} fish without a site" if sites.n_without else ""
    return [f"The fish with a result are from {n_of(sites.n_sites, 'site')}{without}. {_how_alike(sites)}"]


def _how_alike(sites: Sites) -> str:
    """Return how alike the fish of one site are and what the interval does about it, or why that cannot be told."""
    if sites.design_effect is None:
        why = "single fish show no spread"
        if sites.n_sites < LEAST_SITES_TO_SAY:
            why = f"that takes {LEAST_SITES_TO_SAY} sites"
        elif sites.n_logged < sites.n_without:
            why = f"only {sites.n_logged} of {sites.n_logged + sites.n_without} fish have a site logged"
        return (
            f"It is not clear whether fish of one site are alike ({why}); the interval is that of single fish and may "
            "be too narrow."
        )
    effect = (
        f"Design effect {sites.design_effect:.2f} (95 % interval {sites.design_effect_low:.2f} to "
        f"{sites.design_effect_high:.2f}): the variance of the catch-weighted mean over sites is that many times that "
        "over single fish."
    )
    if sites.leads:
        return f"{effect} The interval follows the sites where they make it wider."
    return (
        f"{effect} From {LEAST_SITES} sites on the interval follows them; with fewer it stays that of single fish and "
        "may be too narrow."
    )


def misreading_document(survey: SurveyFacts) -> dict[str, Any] | None:
    """Return the panel's error and what it does, for --json."""
    misreading = survey.misreading
    if misreading is None:
        return None
    return {
        "panel": misreading.error.panel,
        **error_document(misreading.error),
        "explains_alone": misreading.alone,
        "corrected_mean": misreading.corrected_mean,
        "corrected_heterozygosity": misreading.corrected_heterozygosity,
    }


def _share(value: float) -> str:
    return percent(value) if value >= 0.001 else tenth(value)
