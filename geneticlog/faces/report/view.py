"""The lake report as headings, sentences, tables and figures, once, for HTML and for paper alike.

A block is a plain mapping: text, list, table (columns: label, is a number) or figure; so both templates are
short, and what one shows the other shows.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from geneticlog import __version__
from geneticlog.faces.app.numbers_in_words import (
    NONE,
    day,
    one,
    p_value,
    percent,
    percent_range,
    species_said,
    three,
    three_range,
)
from geneticlog.faces.figures.style import Drawing
from geneticlog.faces.report.answer_sentences import answer, of_another_survey
from geneticlog.faces.report.blocks import Block, listed, table, text
from geneticlog.faces.report.change_words import notes_of
from geneticlog.faces.report.class_words import class_difference_blocks
from geneticlog.faces.report.every_fish import every_fish_blocks
from geneticlog.faces.report.fish_words import SOURCE_OF_CLASSES
from geneticlog.faces.report.glossary import glossary_blocks
from geneticlog.faces.report.loci import loci_blocks
from geneticlog.faces.report.next_time import next_blocks
from geneticlog.faces.report.numbers import CAN_MISS, ONE_STATISTIC, holm_note, lake_numbers
from geneticlog.faces.report.owner import LEGEND, owner_lines
from geneticlog.faces.report.sections import growth_blocks, kinds_table, size_structure_blocks
from geneticlog.faces.report.year_words import years_sentences, years_table
from geneticlog.rules.sentences import n_of
from geneticlog.rules.statistics.estimates import LEAST_TO_READ
from geneticlog.settings import local_time
from geneticlog.work.report.facts import Change, LakeFacts, SurveyFacts
from geneticlog.work.report.lake_samples import OPEN
from geneticlog.work.report.number_facts import ClassRow, Number

MOST_STOCKINGS = 4  # named under the figure; all are in the table
CAUTIONS = (
    "A survey is a snapshot: other fish, another day or another shore may give another answer.",
    "Electrofishing and angling catch some sizes more readily than others, so the catch is not the lake.",
    "A change after a stocking is not by itself an effect of the stocking.",
    "Moving or stocking live bass is controlled by state law, and permits are needed for stocking and for transport. "
    "Ask the state agency; local rules and licensed practice come before anything written here.",
    "Electrofishing can kill. Follow your agency or company safety plan; this report gives no safety clearance.",
)

SOURCES = (
    "Interval of a mean: Korn EL, Graubard BI (1998) Survey Methodology 24:193-201, the fish as sampling unit, "
    "guarded by a fiftieth of a fish at either end in the variance (the project's own extension).",
    "Share of fish: Wilson EB (1927) Journal of the American Statistical Association 22:209-212.",
    "Difference: Welch BL (1947) Biometrika 34:28-35, stratified by size class, Satterthwaite's degrees of freedom, "
    "guarded class variances (the project's own); young and adult fish each weighted to their own catch, two "
    "surveys both weighted to one length frequency (direct standardisation).",
    "Share of carriers weighted to the catch: Zou GY, Huang W, Zhang X (2009) Computational Statistics and Data "
    "Analysis 53:1080-1085, over Clopper-Pearson limits of the size classes, with the sampling of the catch added.",
    "Weighting to the catch: double sampling, Cochran WG (1977) Sampling Techniques, 3rd ed.; its interval is the "
    "project's own: Korn and Graubard's on class variances with a guard, no wider than as many fish drawn at random "
    "would give.",
    "Trend over size classes: Jonckheere-Terpstra, Hollander, Wolfe and Chicken, Nonparametric Statistical Methods, "
    "3rd ed., chapter 6; p two-sided, exact where that can be counted, otherwise by permuting fish.",
    SOURCE_OF_CLASSES,
    "Size classes: Gabelhouse DW (1984) North American Journal of Fisheries Management 4:273-285; there is no row for "
    "Florida bass or hybrids, so the largemouth row serves all.",
    "Size structure: Neumann RM, Allen MS (2007) in Guy and Brown, Analysis and Interpretation of Freshwater Fisheries "
    "Data; terms after Guy CS et al. (2007) Fisheries 32:348; be wary of fewer than 20 fish of stock length.",
    "Several tests shown together: Holm S (1979) Scandinavian Journal of Statistics 6:65-70. Rank correlation with "
    "length: Spearman; limits by Bonett DG, Wright TA (2000) Psychometrika 65:23-28; p exact up to 8 fish.",
    "Heterozygote deficit: Wahlund (1928); the rule of the flag is the project's own; limits by leaving out one fish "
    "at a time, rough where few fish carry.",
    "Loci: exact Hardy-Weinberg test, Wigginton JE, Cutler DJ, Abecasis GR (2005) American Journal of Human Genetics "
    "76:887-893; at the deficit of the other loci, Rohlfs RV, Weir BS (2008) Genetics 180:1609-1616.",
    "Relative weight: standard weight of the species as tabled in the R package FSA 0.10.0; small Florida-type fish "
    "can weigh less without being in poor condition (Maceina and Murphy 1988).",
    "Ancestry against length and condition: least squares within size classes with t limits; rank correlation by "
    "Bonett DG, Wright TA (2000) Psychometrika 65:23-28; Maceina MJ, Murphy BR (1988) Transactions of the American "
    "Fisheries Society 117:232-237.",
    "Names: Kim, Taylor and Near (2022) Scientific Reports 12:9113 gave the Latin names a new meaning; this report "
    "writes Florida and northern.",
)


def first_page(lake: LakeFacts, drawings: Sequence[Drawing]) -> dict[str, Any]:
    """Return what an owner sees: the five lines, the one figure, how to read them, and a note where one is due."""
    figures = {drawing.name: drawing for drawing in drawings}
    return {
        "lines": [{"question": line.question, "text": _unbroken(line.text)} for line in owner_lines(lake)],
        "figure": next(iter(_figure(figures, "sizes")), None),
        "legend": LEGEND if "sizes" in figures else "",
        "note": of_another_survey(lake),
    }


def sections(lake: LakeFacts, drawings: Sequence[Drawing]) -> list[dict[str, Any]]:
    """Return the sections for the biologist: identity, heading, blocks. Figures first, then sentences, then tables."""
    figures = {drawing.name: drawing for drawing in drawings}
    survey = lake.main
    parts: list[tuple[str, str, list[Block]]] = []
    if survey is not None and survey.fish:
        parts.append(("fish-drawn", "Every fish, and the surveys", _drawn(lake, survey, figures)))
    parts.append(("sentences", "In sentences", [listed([_unbroken(one) for one in answer(lake)])]))
    if survey is not None:
        parts += [
            ("classes", "Size classes", _classes(lake, survey)),
            ("kinds", "Kinds of fish", _kinds(lake, survey, figures)),
            ("growth", "Ancestry, length and condition", growth_blocks(lake, survey)),
            ("lake", "The lake in numbers", [*lake_numbers(lake, survey), *class_difference_blocks(survey)]),
        ]
        if any(one.markers is not None for one in lake.surveys):
            parts.append(("loci", "Loci", loci_blocks(lake, survey)))
    parts.append(("history", "History", _history(lake)))
    if survey is not None:
        parts += [
            ("samples", "Samples", _samples(lake, survey)),
            ("next", "Next time", next_blocks(lake)),
        ]
        parts.append(("fish", "Every fish", every_fish_blocks(lake, survey)))
    parts.append(("methods", "Methods, sources and cautions", _methods(lake)))
    parts.append(("words", "Ten words explained", glossary_blocks(lake)))
    return [{"id": name, "heading": heading, "blocks": blocks} for name, heading, blocks in parts]


def _unbroken(sentence: str) -> str:
    return sentence.replace(" %", "\u00a0%")  # no line starts with %


def _drawn(lake: LakeFacts, survey: SurveyFacts, figures: dict[str, Drawing]) -> list[Block]:
    """Return the figures of fish and of surveys, and a sentence in place of each that would have nothing to say."""
    blocks = _figure(figures, "length")
    if not blocks:
        blocks.append(text("No fish with a result was measured, so ancestry is not drawn against length."))
    if "history" in figures:
        blocks += _figure(figures, "history")
        if lake.stockings:
            stocked = [
                f"{day(one.stocked_on)}, {f'{one.n_fish:,} ' if one.n_fish else ''}{one.taxon}"
                for one in lake.stockings[-MOST_STOCKINGS:]
            ]
            more = len(lake.stockings) - len(stocked)
            before = f"{n_of(more, 'earlier stocking')}; " if more else ""
            blocks.append(text(f"\u25bc Stocked: {before}{'; '.join(stocked)}.", "note"))
    else:
        blocks.append(text("One survey has results, so there is no history to draw."))
    return blocks


def heading(lake: LakeFacts) -> dict[str, str]:
    """Return title, line under it and foot of the report."""
    under = f"Lake {lake.lake}"
    if lake.area_ha is not None:
        under += f" · {lake.area_ha:g} ha"
    if lake.main is not None:
        under += f" · survey {lake.main.survey} of {day(lake.main.surveyed_on)}"
    return {
        "title": f"{lake.name}: {lake.taxon} bass ancestry",
        "under": under,
        "foot": f"geneticlog {__version__} · data {lake.fingerprint} · "
        f"made {local_time(lake.made_at, with_offset=True)} by {lake.made_by}",
    }


def _figure(figures: dict[str, Drawing], name: str) -> list[Block]:
    drawing = figures.get(name)
    if drawing is None:
        return []
    return [{"kind": "figure", "name": name, "title": drawing.title, "alternative": drawing.alternative}]


def _classes(lake: LakeFacts, survey: SurveyFacts) -> list[Block]:
    columns = [
        ("size class", False), ("caught", True), ("swabbed", True), ("result", True), ("mean q", True),
        ("95 % interval", True), ("could go\nundetected", True), ("carriers", True), ("Wr", True),
        ("reliability", False),
    ]  # fmt: skip
    rows = [
        [
            row.label.replace(" (", "\n(").replace(f" {survey.unit})", f"\u00a0{survey.unit})"),
            str(row.n_caught),
            str(row.n_swabbed),
            str(row.n_resulted),
            three(row.mean),
            three_range(row.low, row.high),
            percent(row.unseen),
            _carriers(row),
            _relative_weight(row),
            row.guard or "enough fish",
        ]
        for row in survey.classes
    ]
    note = (
        f"q: {lake.taxon} allele proportion of a fish. Could go undetected: a kind of fish that makes up as much of "
        "the class may be absent from so few fish; the interval accounts for it only where it reaches as far, "
        "and leaves misreading aside. Carriers: fish with more "
        f"{lake.taxon} alleles than misreading explains, with the 95 % Wilson interval of their share in the class. "
        "Wr: mean relative weight of the fish caught and weighed, with its 95 % t interval. "
        f"Scheme: {survey.scheme}, judged in the unit measured."
    )
    if survey.n_unmeasured:
        note += f" {survey.n_unmeasured} fish caught have no size class and are in no row."
    if survey.n_other_species:
        note += f" {survey.n_other_species} fish of other species are not counted."
    return [
        table("classes", f"Survey {survey.survey} by size class", columns, rows, note),
        *size_structure_blocks(survey),
    ]


def _carriers(row: ClassRow) -> str:
    if not row.n_resulted:
        return NONE
    return f"{row.n_carriers} of {row.n_resulted}\n({percent_range(row.carriers_low, row.carriers_high)})"


def _relative_weight(row: ClassRow) -> str:
    """Return the mean relative weight with its interval, or that so few fish carry none."""
    if not row.n_weighed:
        return NONE
    mean, n = one(row.mean_relative_weight), f"n\u00a0{row.n_weighed}"
    if row.n_weighed < LEAST_TO_READ or row.relative_weight_low is None:
        return f"{mean}\n({n}: {'too few' if row.n_weighed < LEAST_TO_READ else 'all alike'})"
    return f"{mean}\n({one(row.relative_weight_low)} to {one(row.relative_weight_high)}; {n})"


def _kinds(lake: LakeFacts, survey: SurveyFacts, figures: dict[str, Drawing]) -> list[Block]:
    blocks = [*_figure(figures, "composition"), *_figure(figures, "cross")]
    kinds = {fish.ancestry_class for fish in survey.fish}
    if len(kinds) == 1:
        blocks.append(
            text(f"All {survey.n_resulted} fish with a result are {kinds.pop()}, so kinds are not drawn.")
        )
    if survey.fish:
        blocks.append(kinds_table(lake, survey))
    if survey.fish and all(fish.heterozygosity is None for fish in survey.fish):
        blocks.append(
            text(
                "The lab gave no heterozygosity, so the figure of q against heterozygosity is not drawn and no F1 is "
                "named: from q alone nobody can tell a first-generation cross from later ones."
            )
        )
    if not survey.fish:
        blocks.append(text("No fish has a result yet."))
    return blocks


def _history(lake: LakeFacts) -> list[Block]:
    blocks: list[Block] = []
    several = len({survey.species for survey in lake.surveys}) > 1
    rows = [
        [survey.survey, survey.surveyed_on.isoformat(), *[species_said(survey.species)] * several, survey.gear,
         str(survey.n_caught), str(survey.n_resulted),
         three(survey.catch_weighted.mean), three_range(survey.catch_weighted.low, survey.catch_weighted.high),
         percent(survey.catch_weighted.share_of_catch_covered), _with_interval(survey.swabbed),
         percent(survey.swabbed.unseen), _guard_of(survey) or "enough fish"]
        for survey in lake.surveys
    ]  # fmt: skip
    columns = [("survey", False), ("date", False), *[("species", False)] * several, ("gear", False), ("caught", True),
               ("result", True), ("mean q of\nthe catch", True), ("95 % interval", True), ("covers", True),
               ("of the fish\nswabbed (95 %)", True), ("could go\nundetected", True),
               ("reliability", False)]  # fmt: skip
    if several and lake.main is not None:
        blocks.append(
            text(
                f"The figures show {species_said(lake.main.species)} alone. Each species is compared with its own "
                "earlier surveys, never with another species."
            )
        )
    if rows:
        blocks.append(table("surveys", "All surveys", columns, rows, CAN_MISS))
    if lake.changes:
        blocks.append(_changes(lake))
    if said := years_sentences(lake):
        blocks += [listed(said), *years_table(lake)]
    if lake.stockings:
        blocks.append(
            table(
                "stockings",
                "Stockings on record",
                [("date", False), ("taxon", False), ("fish", True), ("size", False), ("source", False)],
                [
                    [one.stocked_on.isoformat(), one.taxon, f"{one.n_fish:,}" if one.n_fish else NONE,
                     one.size or NONE, one.source or NONE]
                    for one in lake.stockings
                ],
            )
        )  # fmt: skip
    else:
        blocks.append(text("No stocking is on record for this lake."))
    return blocks


def _guard_of(survey: SurveyFacts) -> str:
    """Return what to mind of the mean that leads: of the catch, or of the fish swabbed where there is none."""
    return survey.swabbed.guard if survey.catch_weighted.mean is None else survey.catch_weighted.guard


def _with_interval(number: Number) -> str:
    interval = "" if number.low is None else f" ({three_range(number.low, number.high)})"
    return f"{three(number.mean)}{interval}"


def _changes(lake: LakeFacts) -> Block:
    several = len(lake.changes) > 1
    columns = [("from", False), ("to", False), ("change of q", True), ("95 % interval", True), ("fish", True),
               ("p", True), *[("p, Holm", True)] * several, ("of", False), ("compare with care", False)]  # fmt: skip
    rows = [
        [change.earlier, change.later, three(change.difference), three_range(change.low, change.high),
         f"{change.n_earlier} and {change.n_later}", p_value(change.p), *[p_value(change.p_holm)] * several,
         change.basis, _care(change)]
        for change in lake.changes
    ]  # fmt: skip
    note = (
        "One length frequency: each size class with results in both surveys has the same weight in both, the "
        "mean of its shares of the two catches, so that other sizes caught cannot pass for a change. "
        "An interval that holds 0 leaves open whether anything changed; it does not show that nothing did. "
        f"{ONE_STATISTIC}"
    )
    n_tests = sum(change.p is not None for change in lake.changes)
    note = f"{note} {holm_note(n_tests, 'the changes of this table')}".rstrip()
    return table("changes", "From one survey to the next", columns, rows, note)


def _care(change: Change) -> str:
    same = f"alike in {', '.join(change.alike)}" if change.alike else ""
    return "; ".join(part for part in (*notes_of(change), same) if part) or "nothing noted"


def _samples(lake: LakeFacts, survey: SurveyFacts) -> list[Block]:
    sentences = (
        f"{survey.n_swabbed} fish were swabbed; {survey.n_resulted} have a result in the numbers. "
        "Every other sample is named here."
    )
    if lake.n_left_out:
        others = n_of(lake.n_left_out, "result of this lake was", "results of this lake were")
        sentences += f" {others} typed for another pair of taxa and left out."
    here = sum(note.standing == OPEN for note in survey.samples)
    if lake.n_open_findings > here:
        elsewhere = n_of(lake.n_open_findings - here, "open finding")
        sentences += f" The lake has {elsewhere} about its other surveys, not listed here."
    blocks = [text(sentences)]
    doubtful = [fish for fish in survey.fish if fish.doubtful]
    if doubtful:
        told = ", ".join(f"{fish.vial} (fish {fish.number}, q {fish.q:.3f})" for fish in doubtful)
        blocks.append(text(f"In the numbers, but doubtful until its finding is decided: {told}."))
    if not survey.samples:
        blocks.append(text("No sample failed, none is missing, and there is no finding."))
        return blocks
    rows = [
        [note.vial or NONE, note.fish or NONE, note.text, note.standing,
         f"{note.decision} by {note.decided_by}, {note.decided_at:%Y-%m-%d}: {note.why}" if note.decision else NONE]
        for note in survey.samples
    ]  # fmt: skip
    columns = [("vial", False), ("fish", False), ("what", False), ("standing", False), ("decision", False)]
    blocks.append(
        table("samples", "Samples that are not plainly in the numbers, and decisions", columns, rows)
    )
    return blocks


def _methods(lake: LakeFacts) -> list[Block]:
    facts = [
        lake.rule_set.sentence(lake.taxon, lake.other_taxon),
        f"Software: geneticlog {__version__}. Data fingerprint: {lake.fingerprint}.",
    ]
    if lake.journal_head:
        facts.append(
            f"Head of the database's journal when this was read: {lake.journal_head}. As long as geneticlog database"
            f" check --head {lake.journal_head} finds it, nothing up to then was rewritten."
        )
    for survey in lake.surveys:
        if survey.panels:
            loci = f", {_range(survey.loci)} loci scored a fish" if survey.loci else ""
            facts.append(f"Survey {survey.survey}: panel {', '.join(survey.panels)}{loci}.")
    if lake.main is not None:
        effort = f", {lake.main.effort_minutes:g} minutes" if lake.main.effort_minutes else ""
        facts.append(f"Species {species_said(lake.main.species)}; gear {lake.main.gear}{effort}.")
    facts += [f"Return {name}, SHA-256 {digest}." for name, digest in lake.return_files]
    return [listed(facts), text("Sources", "sub"), listed(SOURCES), text("Cautions", "sub"), listed(CAUTIONS)]


def _range(numbers: Sequence[int]) -> str:
    return str(numbers[0]) if len(numbers) == 1 else f"{numbers[0]} to {numbers[-1]}"
