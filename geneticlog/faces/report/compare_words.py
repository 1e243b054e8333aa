"""Lakes against each other, in words for a person."""

from __future__ import annotations

from geneticlog.faces.app.numbers_in_words import (
    day,
    p_value,
    percent_range,
    points,
    points_range,
    species_said,
    tenth,
)
from geneticlog.faces.report.change_words import ages_alone, could_be_missed
from geneticlog.faces.report.site_words import only_misread, rare_taxon
from geneticlog.rules.report.comparability import Aspect, chance_not_ruled_out, is_small, nears_nothing
from geneticlog.rules.sentences import listed
from geneticlog.rules.statistics.estimates import LEAST_TO_READ
from geneticlog.work.report.compare_lakes import OWN_CATCH, ComparedLake, ComparedLakes, LakePair

ONE_STATISTIC = (
    "Interval and p of a difference come from one statistic (a stratified Welch test): p is below 0.05 exactly where "
    "the 95 % interval leaves 0 out."
)


def lake_row(compared: ComparedLake) -> list[str]:
    """Return the row of one lake: code, name, survey, fish, share, interval, share of the catch covered."""
    weighted = compared.catch_weighted
    covered = weighted.share_of_catch_covered
    return [
        compared.lake,
        compared.name,
        compared.survey,
        str(compared.n_resulted),
        tenth(weighted.mean),
        percent_range(weighted.low, weighted.high),
        "all" if covered is not None and covered > 0.999 else tenth(covered),
    ]


def misread_sentences(compared: ComparedLakes) -> list[str]:
    """Return of which lakes misread alleles alone explain the share."""
    return [
        f"{lake.lake} shows no {rare_taxon(lake.catch_weighted.mean, lake.taxon, lake.other_taxon)}: misread alleles "
        "alone explain its share."
        for lake in compared.lakes
        if only_misread(lake.catch_weighted)
    ]


def pair_sentences(pair: LakePair, taxon: str, matters: float, *, several: bool) -> list[str]:
    """Return what is said of two lakes: their difference, the same at one length frequency, and what to mind."""
    sentences = [_whole(pair, taxon, matters, several=several)]
    same = _at_same_sizes(pair, matters)
    if same:
        sentences.append(same)
    of_ages = ages_alone(pair.young, pair.adult)
    if of_ages:
        sentences.append(f"Of these alone: {of_ages}.")
    if pair.differs:
        sentences.append(f"Compare with care: not alike in {listed([_plain(one) for one in pair.differs])}.")
    return sentences


def _whole(pair: LakePair, taxon: str, matters: float, *, several: bool) -> str:
    if pair.difference is None:
        return f"{pair.second} and {pair.first} could not be compared."
    if pair.low is None or pair.high is None:
        told = points(pair.difference)
        return f"{pair.second} minus {pair.first}: {told} {taxon}, without an interval ({pair.guard})."
    numbers = f"95 % interval {points_range(pair.low, pair.high)}; p {p_value(pair.p)}"
    if several:
        numbers += f", after Holm {p_value(pair.p_holm)}"
    basis = "" if pair.basis == OWN_CATCH else f", {pair.basis}"
    few = ", too few fish to rely on" if min(pair.n_first, pair.n_second) < LEAST_TO_READ else ""
    if pair.misreading_alone:
        return (
            f"{pair.second} and {pair.first} differ by {points(abs(pair.difference))} ({numbers}{basis}{few}), but "
            "misread alleles alone may explain it."
        )
    if pair.low > 0 or pair.high < 0:
        way = "more" if pair.low > 0 else "less"
        chance = ""
        if chance_not_ruled_out(pair.low, pair.high, pair.p_holm):
            chance = "; with this many pairs it may be chance"
        return (
            f"{pair.second} has {points(abs(pair.difference))} {way} {taxon} than {pair.first} "
            f"({numbers}{basis}{few}){chance}."
        )
    if is_small(pair.low, pair.high, pair.missed, matters):
        return f"{pair.second} and {pair.first} differ by less than {matters * 100:g} points ({numbers}{basis}{few})."
    if nears_nothing(pair.low, pair.high, matters):
        missed = could_be_missed(pair.missed, f"fish of {pair.second}", f"fish of {pair.first}")
        return f"No difference seen between {pair.second} and {pair.first} ({numbers}{basis}{few}); {missed}."
    return f"No clear difference between {pair.second} and {pair.first} ({numbers}{basis}{few})."


def _at_same_sizes(pair: LakePair, matters: float) -> str:
    same = pair.same_sizes
    if (
        same.difference is None
        or same.low is None
        or same.high is None
        or pair.low is None
        or pair.high is None
    ):
        return ""
    numbers = (
        f"{points(same.difference).replace('-', '−')}, 95 % interval {points_range(same.low, same.high)}"
    )
    clear, was = same.low > 0 or same.high < 0, pair.low > 0 or pair.high < 0
    if was and not clear:
        return (
            f"At the same sizes of fish no clear difference is left ({numbers}): the sizes caught differ too."
        )
    if clear and not was:
        return f"At the same sizes of fish they differ ({numbers})."
    return f"At the same sizes of fish: {numbers}."


def _plain(aspect: Aspect) -> str:
    return "sizes with a result" if aspect is Aspect.SIZES_TYPED else str(aspect)


def heading(compared: ComparedLakes) -> str:
    """Return the line above the table."""
    first = compared.lakes[0]
    species = species_said(first.species)
    days = ", ".join(f"{one.lake} {day(one.surveyed_on)}" for one in compared.lakes)
    return f"{first.taxon} share of {species}, weighted to the catch of each lake ({days}):"
