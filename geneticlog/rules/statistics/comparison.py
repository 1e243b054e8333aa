"""One survey against another of the same lake: by how much they differ, weighted to one length frequency."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from geneticlog.rules.arguments import NumberFault, count, counts_by_name
from geneticlog.rules.lengths import MM_PER
from geneticlog.rules.schemes import Scheme, SchemeError
from geneticlog.rules.statistics.contrast import Contrast, Side, contrasts
from geneticlog.rules.statistics.site_cells import AtSites, at_sites
from geneticlog.rules.statistics.sums import NO_SUMS, Sums, sums_of, together

WEIGHTED = "both weighted to one length frequency"
AS_SWABBED = "swabbed fish"


@dataclass(frozen=True, slots=True)
class SurveySums:
    """What of a survey enters a comparison.

    name
        How it is named in sentences.
    scheme
        Its size classes.
    n_caught, sums
        Size class -> fish caught; size class -> sums of the fish with a result.
    n_without_class, without_class
        Fish caught that have no size class, and the sums of those with a result; they count in the catch and are
        covered by no class.
    sites
        Where its fish were caught, where that is known of enough of them.
    """

    name: str
    scheme: Scheme
    n_caught: Mapping[str, int]
    sums: Mapping[str, Sums]
    n_without_class: int = 0
    without_class: Sums = NO_SUMS
    sites: AtSites | None = None

    @property
    def every(self) -> Sums:
        """The sums of all fish with a result, measured or not."""
        return together([*self.sums.values(), self.without_class])


@dataclass(frozen=True, slots=True)
class Comparison:
    """The later survey minus the earlier.

    whole
        All fish: both weighted to one length frequency, or the swabbed fish as they are; ``basis`` says which.
    young, adult
        The same of the young and of the adult size classes alone; None where the surveys share no such class with
        results.
    weights
        Size class -> share it has in both means; empty for swabbed fish.
    share_covered
        Share of each survey's catch in the classes that both have results for; None where sizes were not compared.
    """

    whole: Contrast
    young: Contrast | None
    adult: Contrast | None
    basis: str
    weights: dict[str, float]
    share_covered: tuple[float | None, float | None]


def compare_surveys(pairs: Sequence[tuple[SurveySums, SurveySums]], level: float = 0.95) -> list[Comparison]:
    """Return later minus earlier of each pair of surveys, with both weighted to the mean of their length frequencies.

    Only classes with results in both surveys enter; each gets the mean of its shares in the two catches, so that a
    change of sizes caught cannot pass for a change of ancestry. The weights are then given, so the variance is the
    within-class part alone. Where no class has results in both, or one survey has a single fish in each of them, the
    swabbed fish are compared as they are; ``share_covered`` then says how little the sizes have in common.

    pairs
        (earlier, later), both judged by the same size classes.
    returns
        One Comparison a pair, in order; the same to the last digit whatever the other pairs.
    raises
        NumberFault for two schemes in one pair, a class with results and no catch, or a negative catch.
    source
        Direct standardisation; the contrast as in `contrasts`.
    """
    asked: list[tuple[Side, Side]] = []
    places: list[tuple[dict[str, float], dict[str, int]]] = []
    for earlier, later in pairs:
        index_of: dict[str, int] = {}
        weights = common_weights(earlier, later)
        for part, classes in (
            ("whole", earlier.scheme.classes), ("young", earlier.scheme.young), ("adult", earlier.scheme.adult),
        ):  # fmt: skip
            of_part = weights if part == "whole" else _weights((earlier, later), classes)
            if of_part:
                index_of[part] = len(asked)
                asked.append(
                    (
                        Side(later.sums, of_part, sites=later.sites),
                        Side(earlier.sums, of_part, sites=earlier.sites),
                    )
                )
        places.append((weights, index_of))
    weighted = contrasts(asked, level)
    parts = [{part: weighted[at] for part, at in index_of.items()} for _, index_of in places]
    unsized = [at for at, of in enumerate(parts) if "whole" not in of or of["whole"].p is None]
    swabbed = contrasts([(_all_in_one(pairs[at][1]), _all_in_one(pairs[at][0])) for at in unsized], level)
    as_swabbed = dict(zip(unsized, swabbed, strict=True))
    return [
        _comparison(pair, weights, of, as_swabbed.get(at))
        for at, (pair, (weights, _), of) in enumerate(zip(pairs, places, parts, strict=True))
    ]


def _comparison(
    pair: tuple[SurveySums, SurveySums],
    weights: dict[str, float],
    contrasts_of: Mapping[str, Contrast],
    swabbed: Contrast | None,
) -> Comparison:
    earlier, later = pair
    sized = all(any(held.n for held in survey.sums.values()) for survey in pair)
    covered = (_share(earlier, weights), _share(later, weights)) if sized else (None, None)
    return Comparison(
        contrasts_of["whole"] if swabbed is None else swabbed,
        contrasts_of.get("young"),
        contrasts_of.get("adult"),
        WEIGHTED if swabbed is None else AS_SWABBED,
        weights if swabbed is None else {},
        covered,
    )


def _all_in_one(survey: SurveySums) -> Side:
    every = survey.every
    return Side({"all": every}, {"all": 1.0} if every.n else {})


def common_weights(
    earlier: SurveySums, later: SurveySums, classes: Collection[str] | None = None
) -> dict[str, float]:
    """Return `weights_of_all` of two surveys."""
    return weights_of_all((earlier, later), classes)


def weights_of_all(surveys: Sequence[SurveySums], classes: Collection[str] | None = None) -> dict[str, float]:
    """Return the weight of each size class with results in all of some surveys, together 1; empty without such a class.

    The mean of the shares that a class has in the catches of those classes.

    surveys
        One or more, judged by the same size classes.
    classes
        Those to choose among; None for all. Faults as for `compare_surveys`.
    """
    for survey in surveys:
        if not isinstance(survey, SurveySums):
            raise NumberFault(f"{survey!r} is not what of a survey enters a comparison")
        counts_by_name(survey.n_caught, f"fish caught in {{}} of {survey.name}")
        count(survey.n_without_class, f"fish caught without a class in {survey.name}")
        for name, held in survey.sums.items():
            if held.n and not survey.n_caught.get(name):
                raise NumberFault(f"{survey.name}: size class {name!r} has results and no number caught")
        if survey.scheme.classes != surveys[0].scheme.classes:
            raise NumberFault(
                f"{surveys[0].name} and {survey.name} have other size classes, which cannot be compared"
            )
    if not surveys:
        return {}
    return _weights(surveys, surveys[0].scheme.classes if classes is None else classes)


def _weights(surveys: Sequence[SurveySums], classes: Collection[str]) -> dict[str, float]:
    """Return `weights_of_all` of surveys that were looked at."""
    common = [
        name for name in classes if all(name in survey.sums and survey.sums[name].n for survey in surveys)
    ]
    totals = [sum(survey.n_caught[name] for name in common) for survey in surveys]
    return {
        name: sum(survey.n_caught[name] / total for survey, total in zip(surveys, totals, strict=True))
        / len(surveys)
        for name in common
    }


def _share(survey: SurveySums, common: Mapping[str, float]) -> float | None:
    total = sum(survey.n_caught.values()) + survey.n_without_class
    return sum(survey.n_caught[name] for name in common) / total if total else None


@dataclass(frozen=True, slots=True)
class TypedFish:
    """A fish with a result: its length as measured, with unit (None: not measured), q, loci scored and site."""

    length: tuple[float, str] | None
    q: float
    n_loci: int | None
    site: str | None = None


def sums_by_length(
    name: str,
    scheme: Scheme,
    unit: str,
    caught: Iterable[tuple[tuple[float, str] | None, int]],
    typed: Iterable[TypedFish],
) -> SurveySums:
    """Return a survey for comparison with every fish judged by its length, whatever class it was given when caught.

    So two surveys compare that were measured in inches and in millimetres, whose published limits were rounded apart,
    or under two schemes. A fish without a length has no class here.

    unit
        Unit in which all are judged: mm, cm or in.
    caught
        Length as measured, with its unit, and number of fish of each row of the catch.
    raises
        SchemeError for another unit, or a length that is not above zero; NumberFault for a q outside 0 to 1.
    """

    def judged(length: tuple[float, str] | None) -> str | None:
        if length is None:
            return None
        value, measured_in = length
        for named in (unit, measured_in):
            if named not in MM_PER:
                raise SchemeError(f"a length unit {named!r} is not one of mm, cm and in")
        return scheme.judge(float(Fraction(str(value)) * MM_PER[measured_in] / MM_PER[unit]), unit)

    n_caught = dict.fromkeys(scheme.classes, 0)
    n_without = 0
    for length, n_fish in caught:
        size = judged(length)
        if size is None:
            n_without += n_fish
        else:
            n_caught[size] += n_fish
    groups: dict[str | None, list[TypedFish]] = {}
    fish_typed = list(typed)
    for fish in fish_typed:
        groups.setdefault(judged(fish.length), []).append(fish)
    sums = {size: _sums_of_fish(group) for size, group in groups.items()}
    without = sums.pop(None, NO_SUMS)
    return SurveySums(
        name,
        scheme,
        n_caught,
        {size: held for size, held in sums.items() if size is not None},
        n_without,
        without,
        at_sites(name, [(judged(fish.length), fish.site, fish.q) for fish in fish_typed]),
    )


def _sums_of_fish(fish: Sequence[TypedFish]) -> Sums:
    loci = [one.n_loci for one in fish if one.n_loci is not None]
    return sums_of([one.q for one in fish], loci if len(loci) == len(fish) else None)
