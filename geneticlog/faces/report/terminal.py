"""``report fish`` on a screen and as JSON: every fish of a survey with all that its loci carry."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

import click

from geneticlog.faces.app.desk import say_table, say_wrapped
from geneticlog.faces.app.numbers_in_words import NONE, three
from geneticlog.faces.report.fish_words import generation_words, length_in, notes, too_few_loci
from geneticlog.rules.ancestry import HYBRID_INDEX_DROP
from geneticlog.rules.genetics.hybrid_classes import LEAST_MARGIN, MISCALL_RATE, class_names
from geneticlog.work.events import fish_name
from geneticlog.work.report.every_fish import EveryFish
from geneticlog.work.report.facts import FishResult


def say_every_fish(listed: EveryFish) -> None:
    """Print the fish of a survey: one table of 80 columns, the six log-likelihoods, and how far both carry."""
    click.echo(
        f"{listed.lake_name}, survey {listed.survey} of {listed.surveyed_on}: {len(listed.fish)} fish with a result"
    )
    if not listed.fish:
        were = "was" if listed.n_swabbed == 1 else "were"
        click.echo(f"{listed.n_swabbed} fish {were} swabbed; none has a result in the numbers yet.")
        _say_left_out(listed)
        return
    called = any(fish.call_rate is not None for fish in listed.fish)
    lengths, calls = f"TL\n{listed.unit}", ["call\n%"] if called else []
    columns = ["fish", lengths, "size\nclass", "q", "interval", "H", "loci", *calls, "class", "generation"]
    rows = [
        [fish.number, length_in(fish, listed.unit), (fish.size_class or NONE).replace(" to ", "–"), three(fish.q),
         _interval(fish),
         NONE if fish.heterozygosity is None else f"{fish.heterozygosity:.2f}", fish.n_loci or NONE,
         *([NONE if fish.call_rate is None else f"{100 * fish.call_rate:.0f}"] if called else []),
         fish.ancestry_class, _broken(generation_words(fish))]
        for fish in listed.fish
    ]  # fmt: skip
    say_table(
        columns,
        rows,
        numbers=["fish", lengths, "q", "interval", "H", "loci", *calls],
        within=80,
    )
    classed = [fish for fish in listed.fish if fish.generation.likelihoods is not None]
    if classed:
        names = [_broken(name) for name in class_names(listed.taxon, listed.other_taxon)]
        lines = [
            [fish.number, *(f"{value:.1f}" for value in (fish.generation.likelihoods or {}).values()),
             f"{fish.generation.margin:.1f}", f"{fish.generation.aic_difference:+.1f}"]
            for fish in classed
        ]  # fmt: skip
        columns = ["fish", *names, "margin", "AIC"]
        say_table(
            columns,
            [[str(cell).replace("-", "−") for cell in line] for line in lines],
            title="Log-likelihoods of the six classes; AIC: against free q and H",
            numbers=columns,
            within=80,
        )
    for sentence in notes(listed.fish, listed.rule_set, listed.taxon, listed.other_taxon):
        say_wrapped(sentence)
    without = listed.n_swabbed - len(listed.fish)
    if without > 0:
        have, are = ("has", "is") if without == 1 else ("have", "are")
        click.echo(f"{without} swabbed fish {have} no counted result and {are} not shown.")
    _say_left_out(listed)


def _say_left_out(listed: EveryFish) -> None:
    if listed.n_left_out:
        said = "result was typed" if listed.n_left_out == 1 else "results were typed"
        click.echo(f"{listed.n_left_out} {said} for another pair of taxa; left out here.")


def _interval(fish: FishResult) -> str:
    low, high = fish.generation.low, fish.generation.high
    return NONE if low is None or high is None else f"{low:.2f}–{high:.2f}"


def _broken(name: str) -> str:
    """Return a class over two lines, so that the table keeps to 80 columns."""
    for two_lines in ("backcross to ", "too few ", "loci not "):
        name = name.replace(two_lines, f"{two_lines.rstrip()}\n")
    return name


def every_fish_document(listed: EveryFish) -> dict[str, Any]:
    """Return what ``report fish --json`` prints: nothing rounded, absent is None."""
    return {
        "survey": listed.survey,
        "surveyed_on": listed.surveyed_on,
        "lake": listed.lake,
        "taxon": listed.taxon,
        "other_taxon": listed.other_taxon,
        "rule_set": listed.rule_set.label,
        "rule_set_cut_offs": listed.rule_set.cut_offs(),
        "interval_drop": HYBRID_INDEX_DROP,
        "miscall_rate": MISCALL_RATE,
        "least_margin": LEAST_MARGIN,
        "classes": class_names(listed.taxon, listed.other_taxon),
        "n_swabbed": listed.n_swabbed,
        "n_resulted": len(listed.fish),
        "n_left_out": listed.n_left_out,
        "fish": [fish_document(fish) for fish in listed.fish],
        "too_few_loci": [fish.number for fish in too_few_loci(listed.fish, listed.rule_set)],
        "notes": notes(listed.fish, listed.rule_set, listed.taxon, listed.other_taxon),
    }


def fish_document(fish: FishResult) -> dict[str, Any]:
    """Return one fish with what its loci carry, flat, nothing rounded."""
    values = asdict(fish)
    generation = values.pop("generation")
    number = values.pop("number")
    return {"fish": fish_name(fish.survey, number), "number": number, **values, **generation}
