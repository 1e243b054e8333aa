"""The part of the lake report that holds the numbers of a whole survey, and the tests of size beside each other."""

from __future__ import annotations

from geneticlog.faces.app.numbers_in_words import (
    NONE,
    p_value,
    percent,
    percent_range,
    tenth,
    three,
    three_range,
    two,
)
from geneticlog.faces.report.blocks import Block, listed, table, text
from geneticlog.faces.report.brood_words import brood_sentences
from geneticlog.faces.report.site_words import misreading_sentences, site_sentences
from geneticlog.faces.report.size_words import which_are_young
from geneticlog.work.report.facts import LakeFacts, SurveyFacts
from geneticlog.work.report.number_facts import Contrast, Heterozygosity, TrendOfSizes

READ = "enough fish"
CAN_MISS = (
    "Could go undetected: the largest part of the catch that a kind of fish can make up and, with a chance of 1 in 20, "
    "be absent from the fish typed, in whatever sizes it lives; a size caught and not typed hides its fish entirely; "
    "an interval accounts for it only where it reaches as far."
)


ONE_STATISTIC = (
    "Interval and p come from one statistic (a stratified Welch test): p is below 0.05 exactly where the 95 % interval "
    "leaves 0 out."
)


WELL_TRIED = (
    8  # fish of a size class from which trials of the differences hold: tests/benchmarks/results/contrasts.md
)
COLUMNS = [("number", False), ("value", True), ("95 % interval", True), ("fish", True), ("p", True),
           ("p, Holm", True), ("could go\nundetected", True), ("reliability", False)]  # fmt: skip


def lake_numbers(lake: LakeFacts, survey: SurveyFacts) -> list[Block]:
    """Return means, contrasts and tests of one survey, each with its interval and the fish behind it."""
    tests = [
        name
        for name, p in (
            ("young minus adult", survey.young_minus_adult.p),
            ("trend over size classes", survey.trend.p),
            ("rank correlation with length", survey.rank_on_length.p),
        )
        if p is not None
    ]
    blocks = [
        table(
            "lake",
            f"{lake.name}, survey {survey.survey}",
            COLUMNS,
            _rows(survey),
            f"{CAN_MISS} {holm_note(len(tests), ', '.join(tests))} {_where_p_is_from(survey)}".strip(),
        )
    ]
    contrast, sign = survey.young_minus_adult, survey.heterozygosity
    if contrast.basis:
        blocks.append(text(f"{_young_and_adult(contrast)} {which_are_young(survey)}".strip()))
    if sign.flag:
        blocks.append(text(_lineage(lake, sign)))
    if few := _few_a_class(survey):
        blocks.append(text(few))
    if said := [*misreading_sentences(survey), *site_sentences(survey), *brood_sentences(survey)]:
        blocks.append(listed(said))
    return [*blocks, *_of_the_two_means(survey)]


def _few_a_class(survey: SurveyFacts) -> str:
    """Return how far differences with size classes of few fish can be relied on, "" without such a class."""
    few = [row.size_class for row in survey.classes if 1 < row.n_resulted < WELL_TRIED]
    p = [survey.young_minus_adult.p, *(one.p for one in survey.class_differences)]
    if not few or all(one is None for one in p):
        return ""
    return (
        f"Differences that rest on size classes of 2 to {WELL_TRIED - 1} fish ({', '.join(few)}) are less reliable. In "
        "trials over invented lakes with such classes alone, the 95 % interval held the truth in as few as 91 % of "
        "surveys, and up to 9 % showed a difference that was not there; with "
        f"{WELL_TRIED} fish or more a class it was 93 % and 6 %."
    )


def _rows(survey: SurveyFacts) -> list[list[str]]:
    swabbed, weighted = survey.swabbed, survey.catch_weighted
    contrast, trend, on_length = survey.young_minus_adult, survey.trend, survey.rank_on_length
    n, sign = survey.n_resulted, survey.heterozygosity
    carriers = survey.carriers
    return [
        ["mean of the swabbed fish", three(swabbed.mean), three_range(swabbed.low, swabbed.high), str(swabbed.n),
         NONE, NONE, percent(swabbed.unseen), swabbed.guard or READ],
        ["mean weighted to the catch", three(weighted.mean), three_range(weighted.low, weighted.high),
         str(weighted.n), NONE, NONE, percent(weighted.unseen), weighted.guard or READ],
        ["share of the catch it covers", percent(weighted.share_of_catch_covered), NONE, str(survey.n_caught), NONE,
         NONE, NONE, NONE],
        ["carriers among the fish typed", tenth(survey.n_carriers / n if n else None), NONE, str(n), NONE, NONE,
         percent(swabbed.unseen), "of the fish typed, not of the lake"],
        ["carriers weighted to the catch", tenth(carriers.mean),
         percent_range(carriers.low, carriers.high) if carriers.low is not None else NONE, str(carriers.n), NONE,
         NONE, percent(carriers.unseen), carriers.guard or READ],
        ["young minus adult", three(contrast.difference), three_range(contrast.low, contrast.high),
         f"{contrast.first.n} and {contrast.second.n}", p_value(contrast.p), p_value(contrast.p_holm),
         _of_either(contrast), _of_two(survey)],
        ["trend over size classes, of ranks", _trend(trend), NONE,
         str(trend.n), p_value(trend.p), p_value(trend.p_holm), NONE, trend.guard or READ],
        ["slope of the class means, a size class", three(trend.slope.per_class),
         three_range(trend.slope.low, trend.slope.high), str(trend.n), NONE, NONE, NONE, trend.slope.guard or READ],
        ["rank correlation with length", three(on_length.correlation), three_range(on_length.low, on_length.high),
         str(on_length.n), p_value(on_length.p), p_value(on_length.p_holm), NONE, on_length.guard or READ],
        ["mean heterozygosity", three(sign.mean), three_range(sign.mean_low, sign.mean_high), str(sign.n), NONE, NONE,
         NONE, sign.mean_guard or READ],
        ["heterozygote deficit, F", three(sign.deficit), three_range(sign.deficit_low, sign.deficit_high),
         str(sign.n), NONE, NONE, NONE, sign.flag_text or sign.guard or READ],
    ]  # fmt: skip


def _of_the_two_means(survey: SurveyFacts) -> list[Block]:
    """Return what part of the catch the weighted mean represents, or why it differs from that of the swabbed fish."""
    swabbed, weighted = survey.swabbed, survey.catch_weighted
    share = weighted.share_of_catch_covered
    if share is not None and share <= 0.999:
        lacking = [row.size_class for row in survey.classes if row.n_caught and not row.n_resulted]
        if survey.n_unmeasured:
            lacking.append(f"{survey.n_unmeasured} fish caught without a size class")
        return [
            text(
                f"Not in the weighted mean: {', '.join(lacking)}. There is no mean of the whole catch, and the "
                f"weighted mean represents {percent(share)} of the fish caught."
            )
        ]
    if weighted.mean is not None and swabbed.mean is not None and abs(weighted.mean - swabbed.mean) > 0.0005:
        return [
            text(
                "The two means differ because swabs are spread over the sizes to see each of them, while the weighted "
                "mean gives every size class its part in the measured catch."
            )
        ]
    return []


def _lineage(lake: LakeFacts, sign: Heterozygosity) -> str:
    """Return the flag's sentence, what single fish look like, and the second sign."""
    words = (
        f"Flag: {sign.flag_text}. The {sign.n} fish with q and H show a heterozygote deficit F of {two(sign.deficit)}, "
        f"over 0.5, and {sign.hint}."
    )
    if sign.variance is not None and sign.marker_variance is not None:
        spread = f"variance {sign.variance:.2g}; by the markers alone {sign.marker_variance:.2g}"
        if sign.below_marker_variance:
            words += f" A second sign: q varies less over fish than the markers alone would make it vary ({spread})."
        else:
            words += f" The second sign, q varying less than the markers alone would make it, is not there ({spread})."
    if sign.flag == "mixture":
        return f"{words} Nothing need be wrong with the samples: two kinds may live here that have not interbred yet."
    words += (
        f" Until it is settled the {lake.taxon} share may not be what it seems; ask the lab for its clusters"
    )
    if {lake.taxon, lake.other_taxon} == {"Florida", "northern"}:
        words += ", and in waters of the Gulf coast think of the third lineage that lives there"
    return f"{words}."


def holm_note(n_tests: int, which: str) -> str:
    """Return the line that says which tests stand together, "" where one p stands alone."""
    if n_tests < 2:
        return ""
    return (
        f"p, Holm: p after Holm for {n_tests} tests, {which}; so that one of several is not taken for "
        "more than chance."
    )


def _young_and_adult(contrast: Contrast) -> str:
    """Return how young and adults are compared, their means, and what share of their catch is covered."""
    sides = [
        f"{name} {three(one.mean)} ({one.n} fish; {percent(share)} of the {name} fish caught are in size classes with "
        "a result)"
        for name, one, share in (
            ("young", contrast.first, contrast.first_covered),
            ("adult", contrast.second, contrast.second_covered),
        )
    ]
    return f"Young minus adult, {contrast.basis}: {' and '.join(sides)}. {ONE_STATISTIC}"


def _of_either(contrast: Contrast) -> str:
    unseen = [one.unseen for one in (contrast.first, contrast.second)]
    return NONE if None in unseen else " and ".join(percent(value) for value in unseen)


def _trend(trend: TrendOfSizes) -> str:
    """Return J beside what it would be without a trend, and the way these fish lean."""
    if trend.statistic is None or trend.expected is None:
        return NONE
    lean = "larger" if trend.statistic > trend.expected else "smaller"
    way = (
        f"q is higher in {lean} fish" if trend.statistic != trend.expected else "q does not change with size"
    )
    return f"J {trend.statistic:g}, {trend.expected:g} if none;\n{way}"


def _where_p_is_from(survey: SurveyFacts) -> str:
    """Return how the p of the trend and of the rank correlation were found."""
    words = {"exact": "exact, over all arrangements of the fish"}
    tests = [
        f"of the {name} {words.get(method, method)}"
        for name, method, p in (
            ("trend", survey.trend.method, survey.trend.p),
            ("rank correlation", survey.rank_on_length.method, survey.rank_on_length.p),
        )
        if p is not None and method
    ]
    if not tests:
        return ""
    beside = (
        "Slope: of the class means, each weighted by its share of the catch, read by its interval beside the test of "
        "ranks. J: Jonckheere-Terpstra, and its mean if q were unrelated to size"
    )
    return f"{beside}. p, two-sided: {', '.join(tests)}."


def _of_two(survey: SurveyFacts) -> str:
    young, adult = survey.young_minus_adult.first, survey.young_minus_adult.second
    said = [f"{name}: {one.guard}" for name, one in (("young", young), ("adult", adult)) if one.guard]
    return "; ".join(said) or READ
