"""The answer: three to six plain sentences made from the numbers of a lake, none that the numbers do not carry.

"No difference seen" is never written as "no difference": an interval that holds zero is read by its width.
"""

from __future__ import annotations

from geneticlog.faces.app.numbers_in_words import (
    day,
    percent,
    percent_range,
    points,
    points_range,
    signed_points,
    species_said,
    tenth,
    two,
    two_range,
)
from geneticlog.faces.report.brood_words import brood_warning
from geneticlog.faces.report.change_words import ages_alone, could_be_missed, notes_of
from geneticlog.faces.report.fish_words import too_few_loci
from geneticlog.faces.report.site_words import alone_sentence, leading_mean, only_misread, site_warning
from geneticlog.faces.report.size_words import listed_words, too_few_in, which_are_young
from geneticlog.faces.report.year_words import years_sentence
from geneticlog.rules.genetics.lineage import BIMODAL
from geneticlog.rules.report.comparability import (
    chance_not_ruled_out,
    is_small,
    more_than_chance,
    nears_nothing,
)
from geneticlog.rules.sentences import n_of
from geneticlog.rules.statistics.estimates import LEAST_TO_READ, reaches_the_unseen, unseen_share
from geneticlog.work.report.facts import LakeFacts, SurveyFacts
from geneticlog.work.report.lake_catch import weighted_share
from geneticlog.work.report.lake_samples import OPEN
from geneticlog.work.report.lake_size_tests import WEIGHTED_SIDES
from geneticlog.work.report.number_facts import ClassRow, Contrast, Slope, WeightedNumber


def answer(lake: LakeFacts) -> list[str]:
    """Return the sentences, most important first."""
    if lake.main is None:
        return [f"{lake.name} has no survey yet, so there is nothing to say about its fish."]
    survey = lake.main
    if not survey.fish:
        return _nothing_yet(lake, survey)
    young_and_adult = _young_and_adult(lake, survey)
    sentences = [
        f"{_how_much(lake, survey)} {alone_sentence(survey)}".strip(),
        _which_sizes(lake, survey),
        f"{young_and_adult} {which_are_young(survey)}" if young_and_adult else "",
        f"{_since_the_last(lake)} {years_sentence(lake)}".strip(),
        f"{_how_sure(lake, survey)} {site_warning(survey)} {brood_warning(survey)}".strip(),
        _heterozygosity(lake, survey),
    ]
    return [sentence for sentence in sentences if sentence]


def of_another_survey(lake: LakeFacts) -> str:
    """Return the note that the answer is not about the latest survey, "" where it is."""
    latest = lake.surveys[-1] if lake.surveys else None
    if latest is None or lake.main is None or latest.survey == lake.main.survey:
        return ""
    fish = "no fish" if not latest.n_resulted else f"{latest.n_resulted} fish"
    return (
        f"The latest survey, {latest.survey} of {day(latest.surveyed_on)}, has {fish} with a result; this report is "
        f"about {lake.main.survey}."
    )


def _nothing_yet(lake: LakeFacts, survey: SurveyFacts) -> list[str]:
    were = "was" if survey.n_swabbed == 1 else "were"
    return [
        f"No fish of {lake.name} has a result yet, so its {lake.taxon} ancestry is not known.",
        f"On {day(survey.surveyed_on)} {survey.n_caught} fish were caught and {survey.n_swabbed} of them {were} "
        "swabbed.",
        f"State of the samples: {lake.progress.said}.",
    ]


def _how_much(lake: LakeFacts, survey: SurveyFacts) -> str:
    number, when = survey.swabbed, day(survey.surveyed_on)
    assert number.mean is not None
    taxon = lake.taxon
    if number.n == 1:
        return (
            f"One fish of {lake.name} has a result, from {when}: {percent(number.mean)} {taxon} alleles; "
            "one fish says nothing about the lake."
        )
    if number.n < LEAST_TO_READ:
        return (
            f"Only {number.n} fish of {lake.name} have a result, from {when}: too few to read; their mean is "
            f"{tenth(number.mean)} {taxon} alleles, and the lake's may be {percent_range(number.low, number.high)}."
        )
    carry = "carries" if survey.n_carriers == 1 else "carry"
    by_catch = _of_the_catch(survey.carriers)
    carriers = f"{survey.n_carriers} of {number.n} fish {carry} more {taxon} alleles than misreading explains{by_catch}"
    weighted = survey.catch_weighted
    high, low = (number.high, number.low) if weighted.high is None else (weighted.high, weighted.low)
    whole = weighted.mean is not None and (weighted.share_of_catch_covered or 0) > 0.999
    whose = "the lake's mean" if whole or weighted.mean is None else "the mean of the sizes with a result"
    if number.mean == 0:
        some = percent(survey.carriers.high) if survey.carriers.high is not None else "some"
        whose_fish = "its" if weighted.mean is None or whole else "those"
        return (
            f"None of the {number.n} fish of {lake.name} with a result from {when} carries a {taxon} allele; {whose} "
            f"may still be as high as {percent(high)}, and {some} of {whose_fish} fish may carry some."
        )
    if number.mean == 1:
        return (
            f"All {number.n} fish of {lake.name} with a result from {when} are all {taxon}; {whose} may "
            f"still be as low as {percent(low)}."
        )
    over = "weighted to the sizes caught"
    if not whole:
        over = (
            f"weighted over the sizes with a result, {percent(weighted.share_of_catch_covered)} of the catch"
        )
    if weighted.mean is not None and weighted.low is None:
        text = (
            f"{lake.name} has {tenth(weighted.mean)} {taxon} alleles, {over}, from {number.n} fish of {when} "
            f"with a result, one of each size class, so that no interval can be given"
        )
    elif weighted.mean is None:
        text = (
            f"The {number.n} fish of {lake.name} with a result from {when} carry on average {tenth(number.mean)} "
            f"{taxon} alleles (95 % interval {percent_range(number.low, number.high)})"
        )
    else:
        text = (
            f"{lake.name} has {tenth(weighted.mean)} {taxon} alleles (95 % interval "
            f"{percent_range(weighted.low, weighted.high)}), {over}, from {number.n} fish of {when} with a result"
        )
    return f"{text}; {carriers}."


def _of_the_catch(weighted: WeightedNumber) -> str:
    """Tell the share of a kind in the catch: swabs are spread over sizes, so that of the fish typed is another."""
    if weighted.mean is None:
        return ""
    whole = (weighted.share_of_catch_covered or 0) > 0.999
    where = "weighted to the sizes caught" if whole else "weighted over the sizes with a result"
    return f" ({where}: {tenth(weighted.mean)} of the fish, 95 % interval {percent_range(weighted.low, weighted.high)})"


def _which_sizes(lake: LakeFacts, survey: SurveyFacts) -> str:
    with_result = [row for row in survey.classes if row.n_resulted]
    readable = [row for row in with_result if row.n_resulted >= LEAST_TO_READ]
    thin = [row.size_class for row in survey.classes if row.n_caught and row.n_resulted < LEAST_TO_READ]
    lacking = too_few_in(thin, sum(row.n_caught > 0 for row in survey.classes))
    if not with_result:
        return "None of these fish has a size class, so nothing can be said about sizes."
    if len(with_result) == 1:
        row = with_result[0]
        others = [name for name in thin if name != row.size_class]
        rest = f" (also caught: {listed_words(others)})" if others else ""
        return f"All results are from one size class, {row.size_class}, so nothing can be said about other sizes{rest}."
    if len(readable) < 2:
        return "Too few fish of each size have a result to compare sizes" + lacking + "."
    first, last = readable[0], readable[-1]
    if only_misread(leading_mean(survey)):
        return (
            "These fish do not show whether it changes with size, as misread alleles alone explain what they show"
            f"{lacking}."
        )
    p, means = survey.trend.p_holm, f"the mean is {_class_mean(first)} and {_class_mean(last)}"
    sentence = f"From the smallest to the largest size with enough fish {means}"
    if p is not None and not more_than_chance(p):
        sentence += "; these fish do not show whether it changes with size"
    elif p is not None:
        sentence = f"{_trend_of(lake, survey, p)}: {means}"
    return sentence + lacking + "."


def _trend_of(lake: LakeFacts, survey: SurveyFacts, p: float) -> str:
    """Tell a small p of the test of ranks as one of ranks, beside the slope of the class means."""
    slope, tests = survey.trend.slope, _holm(_n_size_tests(survey))
    more = "more" if survey.trend.rising else "fewer"
    ranks = f"larger fish tend to carry {more} {lake.taxon} alleles (a test of ranks, {_p(p)}{tests})"
    if slope.per_class is None or slope.low is None or slope.high is None:
        return ranks[0].upper() + ranks[1:]
    spread = f"95 % interval {points_range(slope.low, slope.high)}"
    if slope.low <= 0 <= slope.high or (slope.low > 0) != bool(survey.trend.rising):
        return f"{ranks[0].upper() + ranks[1:]}, {_slope_beside_ranks(lake, survey, slope, spread)}"
    way = "rises" if slope.low > 0 else "falls"
    return (
        f"The share of {lake.taxon} alleles {way} with size, by {points(abs(slope.per_class))} a size class "
        f"({spread}; ranks agree, {_p(p)}{tests})"
    )


def _slope_beside_ranks(lake: LakeFacts, survey: SurveyFacts, slope: Slope, spread: str) -> str:
    """Tell the slope of the class means where it does not show what the ranks show.

    That the sizes differ in shape follows only where the slope is shown to be another one or to be small: an interval
    that holds 0 leaves that open.
    """
    assert slope.per_class is not None
    assert slope.low is not None
    assert slope.high is not None
    places = [at for at, row in enumerate(survey.classes) if row.n_resulted]
    steps = places[-1] - places[0]
    if not slope.low <= 0 <= slope.high or nears_nothing(steps * slope.low, steps * slope.high, lake.matters):
        return (
            f"but the class means, weighted to the catch, do not go with it ({spread} a size class): the sizes differ "
            "in how their ancestry is distributed"
        )
    same = (slope.per_class > 0) == bool(survey.trend.rising)
    lean = f"lean the {'same' if same else 'other'} way, {signed_points(slope.per_class)} a size class"
    return f"but the class means, weighted to the catch, do not settle it: they {lean} ({spread})"


def _class_mean(row: ClassRow) -> str:
    interval = f"95 % interval {percent_range(row.low, row.high)}, " if row.low is not None else ""
    return f"{tenth(row.mean)} in {row.size_class} ({interval}{row.n_resulted} fish)"


def _n_size_tests(survey: SurveyFacts) -> int:
    return sum(p is not None for p in (survey.young_minus_adult.p, survey.trend.p, survey.rank_on_length.p))


def _holm(n_tests: int) -> str:
    return f" after Holm for {n_tests} tests" if n_tests > 1 else ""


def _young_and_adult(lake: LakeFacts, survey: SurveyFacts) -> str:
    contrast = survey.young_minus_adult
    young, adult = contrast.first, contrast.second
    if young.n == 0 or adult.n == 0:
        if survey.n_unmeasured and not young.n and not adult.n:
            return ""
        missing = "young" if young.n == 0 else "adult"
        return f"No {missing} fish has a result, so young and adult fish cannot be compared."
    if contrast.difference is None or contrast.low is None or contrast.high is None:
        return f"We cannot tell whether young and adult fish differ from {young.n} young and {adult.n} adult fish."
    spread = points_range(contrast.low, contrast.high)
    n = f"{young.n} young and {adult.n} adult fish{_footing(contrast)}"
    if contrast.low > 0 or contrast.high < 0:
        size = f"{points(abs(contrast.difference))} {'more' if contrast.low > 0 else 'fewer'}"
        n_tests = _n_size_tests(survey)
        if only_misread(leading_mean(survey)):
            return (
                f"Young and adult fish differ by {spread} (95 % interval; {n}), but misread alleles alone explain what "
                "they show."
            )
        if chance_not_ruled_out(contrast.low, contrast.high, contrast.p_holm):
            return (
                f"Young fish may carry {size} {lake.taxon} alleles than adults (95 % interval {spread}; {n}), but "
                f"chance is not ruled out ({_p(contrast.p_holm or 0.0)}{_holm(n_tests)})."
            )
        return f"Young fish carry {size} {lake.taxon} alleles than adults (95 % interval {spread}; {n})."
    if is_small(contrast.low, contrast.high, contrast.missed, lake.matters):
        if brood_warning(survey):
            return (
                f"No difference between young and adult fish was seen: {spread}, young minus adult ({n}); fish of few "
                "broods cannot show that it is small."
            )
        return (
            f"Any difference between young and adult fish is small, under the {lake.matters * 100:g} points that "
            f"matter: {spread}, young minus adult ({n})."
        )
    if nears_nothing(contrast.low, contrast.high, lake.matters):
        missed = could_be_missed(contrast.missed, "young", "adult fish")
        return f"No difference between young and adult fish was seen: {spread}, young minus adult ({n}); {missed}."
    return f"We cannot tell whether young and adult fish differ: young minus adult is {spread} (95 % interval; {n})."


def _footing(contrast: Contrast) -> str:
    """Say that each side is weighted to its catch, and how much of that catch has no result."""
    footing = ", each weighted to the sizes caught" if contrast.basis == WEIGHTED_SIDES else ""
    for side, share in (("young", contrast.first_covered), ("adult", contrast.second_covered)):
        if share is not None and share < 0.9995:
            footing += f"; of the {side} fish caught {percent(share)} are in sizes with a result"
    return footing


def _since_the_last(lake: LakeFacts) -> str:
    assert lake.main is not None
    change = next((one for one in reversed(lake.changes) if one.later == lake.main.survey), None)
    if change is None:
        if any(one.fish and one.surveyed_on < lake.main.surveyed_on for one in lake.surveys):
            return (
                f"No earlier survey of {species_said(lake.main.species)} has results, so no change can be given; other "
                "species are not compared with it."
            )
        return "There is no earlier survey with results, so no change can be given."
    since, notes = f"since {day(change.earlier_on)}", notes_of(change)
    warning = f"; compare with care: {'; '.join(notes)}" if notes else ""
    if change.difference is None or change.low is None or change.high is None:
        return f"We cannot tell whether anything changed {since}: too few fish{warning}."
    fish = f"{change.n_earlier} and {change.n_later} fish"
    spread = f"95 % interval {points_range(change.low, change.high)}; {change.basis}; {fish}"
    n_tests = sum(one.p is not None for one in lake.changes)
    if change.misreading_alone:
        sentence = (
            f"The share of {lake.taxon} alleles differs by {points(abs(change.difference))} {since} ({spread}), but "
            "misread alleles alone may explain it"
        )
    elif chance_not_ruled_out(change.low, change.high, change.p_holm):
        sentence = (
            f"The share of {lake.taxon} alleles may have {'risen' if change.low > 0 else 'fallen'} by "
            f"{points(abs(change.difference))} {since} ({spread}), but chance is not ruled out "
            f"({_p(change.p_holm or 0.0)}{_holm(n_tests)})"
        )
    elif change.low > 0:
        sentence = f"The share of {lake.taxon} alleles rose by {points(change.difference)} {since} ({spread})"
    elif change.high < 0:
        sentence = (
            f"The share of {lake.taxon} alleles fell by {points(-change.difference)} {since} ({spread})"
        )
    elif is_small(change.low, change.high, change.missed, lake.matters):
        sentence = (
            f"Any change {since} is small, under the {lake.matters * 100:g} points that matter ({spread})"
        )
    elif nears_nothing(change.low, change.high, lake.matters):
        missed = could_be_missed(change.missed, "later fish", "earlier fish")
        sentence = f"No change was seen {since} ({spread}); {missed}"
    else:
        sentence = (
            f"We cannot tell whether it changed {since}: the data are consistent with any change from "
            f"{points_range(change.low, change.high)} ({change.basis}; {fish})"
        )
    of_ages = ages_alone(change.young, change.adult)
    if change.difference in (
        change.young.difference,
        change.adult.difference,
    ):  # of one age only, and said already
        of_ages = ""
    return f"{sentence}{warning}." + f" Of these alone: {of_ages}." * bool(of_ages)


def _how_sure(lake: LakeFacts, survey: SurveyFacts) -> str:
    n = survey.n_resulted
    unmeasured = f" or among the {survey.n_unmeasured} caught without a size" if survey.n_unmeasured else ""
    sizes = f", where its sizes are those of which few were typed{unmeasured}" if _unevenly(survey) else ""
    text = (
        f"{n} fish could miss entirely a kind that makes up as much as {percent(survey.swabbed.unseen)} of the "
        f"catch{sizes}. The interval {_accounts(survey)}"
    )
    if "wide" in (survey.swabbed if survey.catch_weighted.low is None else survey.catch_weighted).guard:
        text += ", and it is wide"
    n_failed = sum(note.text.startswith("failed") for note in survey.samples)
    n_open = lake.n_open_findings
    if n_failed or n_open:
        parts = [f"{n_of(n_failed, 'sample')} failed"] * bool(n_failed)
        parts += [f"{n_open} finding{'s are' if n_open != 1 else ' is'} undecided"] * bool(n_open)
        text += f". {' and '.join(parts)}"
    return f"{text}.{_doubtful(lake, survey)}"


def _accounts(survey: SurveyFacts) -> str:
    """Return whether the interval of the leading mean reaches as far as fish that were missed could move it."""
    number = leading_mean(survey)
    seen = number.mean or 0.0
    if number.misreading_alone:  # then the fish may all be of one kind
        seen = float(seen > 0.5)
    reaches = reaches_the_unseen(number.low, number.high, seen, survey.swabbed.unseen)
    return "accounts for it" if reaches else "does not account for it"


def _doubtful(lake: LakeFacts, survey: SurveyFacts) -> str:
    """Say how many of the fish in the mean a finding doubts, and which, and how many have too few loci."""
    n = survey.n_resulted
    doubted = {fish.vial for fish in survey.fish if fish.doubtful}
    doubts = ""
    if doubted:
        waiting = [
            note.text.split(":")[0]
            for note in survey.samples
            if note.standing == OPEN and note.vial in doubted
        ]
        which = waiting if len(waiting) <= 4 else [*waiting[:3], f"{len(waiting) - 3} more"]
        are = "is" if len(doubted) == 1 else "are"
        doubts += (
            f" Of the {n} fish in the mean {len(doubted)} {are} doubtful until "
            f"{listed_words(which)} {'is' if len(waiting) == 1 else 'are'} decided."
        )
    few = len(too_few_loci(survey.fish, lake.rule_set))
    if few:
        were, least = "was" if few == 1 else "were", lake.rule_set.least_loci
        doubts += f" {few} of the {n} fish {were} scored at under {least} loci."
    return doubts


def _unevenly(survey: SurveyFacts) -> bool:
    """Tell whether a kind of fish hides better than it would from as many fish met at random."""
    return (survey.swabbed.unseen or 0) > unseen_share(survey.n_resulted) + 0.0005


def _heterozygosity(lake: LakeFacts, survey: SurveyFacts) -> str:
    sign = survey.heterozygosity
    if sign.flag:
        interval = (
            f", 95 % interval {two_range(sign.deficit_low, sign.deficit_high)}"
            if sign.deficit_low is not None
            else ""
        )
        how_far = f"(deficit F {two(sign.deficit)}{interval}, {sign.n} fish)"
    if sign.flag == "mixture":
        looks = "most fish are nearly pure: two kinds living side by side, not yet mixed, would look so"
        if sign.hint != BIMODAL:
            looks = (
                "single fish have what their own ancestry calls for: kinds living side by side would look so"
            )
        return f"Heterozygosity is far below what one interbreeding stock would show {how_far}, and {looks}."
    if sign.flag:
        return (
            f"Heterozygosity is far below what these proportions should show {how_far}: a third lineage, another "
            f"species or a failed assay is possible ({sign.hint}), and the {lake.taxon} share is then not what it "
            "seems; ask the lab first."
        )
    if sign.mean is None:
        return "The lab gave no heterozygosity, so first-generation crosses cannot be distinguished from later ones."
    n_first = sum(fish.ancestry_class == "F1" for fish in survey.fish)
    if not n_first:
        return ""
    look = "looks" if n_first == 1 else "look"
    of_class = {row.size_class: row.composition.get("F1", 0) for row in survey.classes}
    share = _of_the_catch(
        weighted_share(survey.classes, of_class, survey.n_unmeasured, survey.swabbed.unseen)
    )
    return f"{n_first} of {survey.n_resulted} fish {look} like a first-generation cross, F1{share}."


def _p(p: float) -> str:
    return "p below 0.001" if p < 0.001 else f"p {p:.3f}"
